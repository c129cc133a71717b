//! The plan as a page of text that a coach can read at a glance, or tape to the wall.

use super::ui::Ui;
use crate::diag::shown::Shown;
use crate::plan::deck::{CARE, LineNumbers, OPEN_WATER_CARE, describe, far, focus, numbers, whole, word};
use crate::plan::{Plan, RepeatPlan, SetPlan, TrackPlan};
use crate::practice::Set;
use crate::prepare::Planned;
use crate::script::Phase;

/// Columns of the numbers behind each line of a set.
const NUMBERS: [(&str, usize); 5] = [("tempo", 12), ("count", 6), ("swim", 11), ("every", 10), ("rest", 6)];
/// Columns before a line of a set.
const INDENT: usize = 7;

/// The plan of a practice.
pub fn plan(planned: &Planned, ui: &Ui) -> Shown {
    let (plan, width) = (&planned.plan, ui.width().min(100));
    let mut page = TablePage { width, text: Shown::default() };
    page.heading(&plan.title);
    let strokes = format!("{} counted strokes", plan.strokes);
    let water = if plan.in_open_water() { plan.pool.clone() } else { format!("{} pool", plan.pool) };
    page.line(&format!(
        "{water} · {} · {} {} · {strokes}",
        whole(plan.duration),
        far(&plan.sets, plan.distance),
        plan.unit
    ));
    for assumption in &plan.assumptions {
        page.wrapped("", &format!("* {assumption}"), "  ");
    }
    page.line("");
    page.columns();
    for (set, set_plan) in planned.practice.sets().zip(&plan.sets) {
        page.set(set, set_plan, plan);
    }
    page.line("");
    page.totals(planned);
    page.text
}

struct TablePage {
    width: usize,
    text: Shown,
}

impl TablePage {
    fn line(&mut self, text: &str) {
        self.text.push(text.trim_end());
        self.text.push("\n");
    }

    fn heading(&mut self, text: &str) {
        self.text.push(Shown::heading(text) + "\n");
    }

    /// A text broken at spaces, every line but the first behind `indent`.
    fn wrapped(&mut self, label: &str, text: &str, indent: &str) {
        let mut line = label.to_owned();
        let mut empty = true;
        for word in text.split(' ') {
            if !empty && line.chars().count() + 1 + word.chars().count() > self.width {
                self.line(&line);
                line = indent.to_owned();
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
        self.line(&line);
    }

    /// The width left for what is swum.
    fn room(&self) -> usize {
        self.width.saturating_sub(INDENT + NUMBERS.iter().map(|(_, width)| width).sum::<usize>())
    }

    fn columns(&mut self) {
        let mut head = format!("{:>5}  {:<room$}", "start", "set", room = self.room());
        for (name, width) in NUMBERS {
            head.push_str(&format!("{name:>width$}"));
        }
        self.text.push(Shown::faint(&head) + "\n");
    }

    fn row(&mut self, what: &str, numbers: LineNumbers) {
        let room = self.room();
        let fits = what.chars().count() <= room;
        if !fits {
            self.wrapped(&" ".repeat(INDENT), what, &" ".repeat(INDENT + 2));
        }
        let mut row = format!("{:INDENT$}{:<room$}", "", if fits { what } else { "" });
        let LineNumbers { tempo, count, swim, every, rest } = numbers;
        for (number, (_, width)) in [tempo, count, swim, every, rest].iter().zip(NUMBERS) {
            row.push_str(&format!("{number:>width$}"));
        }
        self.line(&row);
    }

    fn set(&mut self, set: &Set, set_plan: &SetPlan, plan: &Plan) {
        let phase = set.phase.map_or(String::new(), |phase| format!(" · {}", word(&Phase::ALL, phase)));
        let rounds = if set.rounds > 1 { format!(" · {} rounds", set.rounds) } else { String::new() };
        let title = format!(
            "{:>5}  {}{phase}{rounds} · {} {}",
            set_plan.start.to_string(),
            set.title.text,
            far(std::slice::from_ref(set_plan), set_plan.distance),
            plan.unit
        );
        self.heading(&title);
        for (index, line) in set.lines.iter().enumerate() {
            let repeats: Vec<&RepeatPlan> = set_plan.repeats.iter().filter(|repeat| repeat.line == index).collect();
            self.row(&describe(line), numbers(line, &repeats));
            let label = format!("{:INDENT$}focus  ", "");
            if let Some(focus) = focus(line) {
                self.wrapped(&label, &focus, &" ".repeat(INDENT + 9));
            }
        }
    }

    fn totals(&mut self, planned: &Planned) {
        let plan = &planned.plan;
        if !plan.focus.is_empty() {
            self.heading("Strokes per focus");
            for focus in &plan.focus {
                let strokes = if focus.strokes == 0 { "drill".to_owned() } else { focus.strokes.to_string() };
                self.line(&format!("{strokes:>7}  {}", focus.text));
            }
        }
        if !plan.tracks.is_empty() {
            self.heading("Tracks for a player");
            for track in &plan.tracks {
                let set = track.set.and_then(|set| plan.sets.get(set));
                let of = set.map(|set| repeats(track, set.repeats.len())).unwrap_or_default();
                self.line(&format!("{:>7}  {:02}  {}{of}", whole(track.len), track.number, track.title));
            }
        }
        let breaths = plan.breaths;
        if breaths.left + breaths.right > 0 {
            self.text.push(Shown::heading("Breaths") + format!(" {} left, {} right\n", breaths.left, breaths.right));
        }
        if !plan.dropped.is_empty() {
            self.heading("Not heard");
            for dropped in &plan.dropped {
                self.line(&format!("{:>7}  {}", dropped.at.to_string(), dropped.text));
            }
        }
        if !plan.voiced.is_empty() {
            let texts: Vec<String> = plan.voiced.iter().map(|text| format!("\"{text}\"")).collect();
            self.heading("Spoken by the built-in voice, until somebody records them");
            self.wrapped("  ", &texts.join(", "), "  ");
        }
        self.wrapped("", CARE, "");
        if plan.in_open_water() {
            self.wrapped("", OPEN_WATER_CARE, "");
        }
    }
}

/// Which repeats of its set a track has, where they are not all.
fn repeats(track: &TrackPlan, all: usize) -> String {
    let (first, last) = (track.repeats.start + 1, track.repeats.end);
    match (first == 1 && last == all, first == last) {
        (true, _) => String::new(),
        (false, true) => format!(", repeat {first} of {all}"),
        (false, false) => format!(", repeats {first}-{last} of {all}"),
    }
}
