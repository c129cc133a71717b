//! The script of a practice: as a coach would write it, with a comment at each choice.

use super::decide::Choices;
use super::edge::{self, HELD};
use super::fit::Extent;
use super::parts::{Distances, PartKind, PracticePart};
use super::reason;
use super::state::PracticeKind;
use crate::units::calendar::Day;
use crate::units::swim::Side;

/// Everything that is written but the sizes of the parts.
#[derive(Clone, Debug)]
pub struct Manuscript<'a> {
    /// Who swims.
    pub swimmer: &'a str,
    /// The day.
    pub day: Day,
    /// How many practices it follows from.
    pub practices: usize,
    /// The pool, as scripts have it.
    pub pool: String,
    /// The pack.
    pub pack: &'a str,
    /// What was chosen.
    pub choices: &'a Choices,
    /// How far repeats are.
    pub far: Distances,
    /// The words of the focus, and of the one that is kept alive.
    pub words: (Option<String>, Option<String>),
    /// What the pack says at the end, by its id.
    pub closing: Option<&'a str>,
    /// A target of strokes at the edge.
    pub at_most: Option<u32>,
    /// What it comes to, once that is known.
    pub extent: Option<Extent>,
}

/// The breaths of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartBreaths {
    /// None are asked for.
    Free,
    /// To the side that the part begins on, all of them.
    OneSide,
    /// To both in turn, from the side that the part begins on.
    EveryThree,
    /// A side for each repeat.
    ByRepeat,
    /// To one side, whatever the others do.
    To(Side),
}

/// How a part breathes. `side` gets more breaths in this practice.
pub fn breaths(kind: PartKind, slow: bool, practice: PracticeKind, side: Option<Side>) -> PartBreaths {
    if practice == PracticeKind::Sore {
        return PartBreaths::Free;
    }
    match (kind, side) {
        (PartKind::Drill | PartKind::Timed | PartKind::Free, _) => PartBreaths::Free,
        (PartKind::Start | PartKind::End | PartKind::Unbeaten, Some(side)) => PartBreaths::To(side),
        (PartKind::Start | PartKind::End, None) => PartBreaths::OneSide,
        _ if slow => PartBreaths::ByRepeat,
        _ => PartBreaths::EveryThree,
    }
}

/// The whole script. `sides` are the sides on which the parts begin.
pub fn script(of: &Manuscript<'_>, parts: &[PracticePart], sides: &[Side]) -> String {
    let mut text = String::new();
    for line in wrapped(&reason::sentence(of.choices, &of.words)) {
        text.push_str(&format!("# {line}\n"));
    }
    let from = match of.practices {
        0 => "the first practice of all".to_owned(),
        1 => "from 1 practice of the notebook".to_owned(),
        count => format!("from {count} practices of the notebook"),
    };
    text.push_str(&format!("# For {} on {}, {from}. It is yours to change.\n", of.swimmer, of.day));
    if let Some(Extent { seconds, metres }) = of.extent {
        let late = reason::volume(of.choices);
        text.push_str(&format!("# About {:.0} minutes, {metres:.0} m{late}.\n", seconds / 60.0));
    }
    for caution in reason::cautions(of.choices) {
        wrapped(&caution).iter().for_each(|line| text.push_str(&format!("# {line}\n")));
    }
    text.push_str(&format!("lengthwise: 1\ntitle: {}\npool: {}\npack: {}\n", quoted(&title(of)), of.pool, of.pack));
    if of.practices >= KNOWS_THE_REST {
        text.push_str("settings: { opening: short }\n");
    }
    text.push_str("practice:\n");
    for (part, side) in parts.iter().zip(sides).filter(|(part, _)| part.is_swum()) {
        for line in comment(of, part).iter().flat_map(|comment| wrapped(comment)) {
            text.push_str(&format!("  # {line}\n"));
        }
        text.push_str(&set(of, part, *side));
        text.push('\n');
    }
    match of.closing {
        Some(closing) => text.push_str(&format!("  - say: {closing}\n")),
        None => text.truncate(text.trim_end().len()),
    }
    if !text.ends_with('\n') {
        text.push('\n');
    }
    text
}

/// After so many practices a swimmer knows what the opening says. Our choice.
const KNOWS_THE_REST: usize = 3;
/// The width of comments.
const WIDTH: usize = 110;

fn wrapped(text: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let full =
            lines.last().is_some_and(|line| !line.is_empty() && line.chars().count() + word.chars().count() >= WIDTH);
        if full {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

/// A text that YAML may take for something else stands in quotes.
fn quoted(text: &str) -> String {
    let plain =
        text.chars().all(|c| c.is_alphanumeric() || c == ' ' || c == '\'') && text.starts_with(char::is_alphabetic);
    if plain { text.to_owned() } else { format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"")) }
}

fn title(of: &Manuscript<'_>) -> String {
    let focus = of.words.0.as_deref().map(capital);
    match of.choices.kind {
        PracticeKind::Baseline => "Find the count".to_owned(),
        PracticeKind::Return => "Back in the water".to_owned(),
        PracticeKind::Easier => "An easier day".to_owned(),
        PracticeKind::Sore => "Nothing that hurts".to_owned(),
        PracticeKind::Ordinary => focus.unwrap_or_else(|| "Up to the edge".to_owned()),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What a coach would say of a part.
fn comment(of: &Manuscript<'_>, part: &PracticePart) -> Option<String> {
    let Choices { edge, relaxed, kind, side, .. } = of.choices;
    let seconds = |tempo: crate::units::time::Tempo| format!("{:.2} s", tempo.as_f64());
    let is_set = |wanted| part.kind == wanted;
    if is_set(PartKind::Start) {
        let breathing = side.map(|side| {
            format!("The easy swims breathe {0}: over four weeks the {0} side has had fewer breaths.", side.word())
        });
        let kept =
            of.words.1.as_ref().map(|words| format!("\"{}\" stays alive here: it has waited longest.", capital(words)));
        let both: Vec<String> = kept.into_iter().chain(breathing).collect();
        return (!both.is_empty()).then(|| both.join(" "));
    }
    match (part.kind, kind) {
        (PartKind::Drill, _) => Some(reason::focus(of.choices, of.words.0.as_deref())),
        (PartKind::Relaxed, PracticeKind::Easier) => {
            Some(format!("The one tempo of the day, {}, without effort.", seconds(*relaxed)))
        }
        (PartKind::Relaxed, _) => Some(format!(
            "The tempo without effort, {}. The count of the last length is what the quicker ones are held against.",
            seconds(*relaxed)
        )),
        (PartKind::Ladder, _) => {
            let (_, step) = edge::ladder(edge.to, part.count);
            Some(format!(
                "Up to the edge at {} in steps of {:.2} s, each of which can be heard.",
                seconds(edge.to),
                step
            ))
        }
        (PartKind::Edge, _) => Some(reason::tempo(of.choices)),
        (PartKind::Unbeaten, PracticeKind::Easier) => Some("Nothing to hold on to, and nothing to prove.".to_owned()),
        (PartKind::Unbeaten, _) => Some("The beat is gone: what has stayed of it?".to_owned()),
        (PartKind::Timed, PracticeKind::Return) => {
            Some("The same distance as ever, as evenly as you can: where are you after the time away?".to_owned())
        }
        (PartKind::Timed, _) => Some("As evenly as you can; the time goes into the log.".to_owned()),
        (PartKind::Free, _) => Some("Any stroke that does not hurt. Stop if one does.".to_owned()),
        _ => None,
    }
}

/// One set, as YAML.
fn set(of: &Manuscript<'_>, part: &PracticePart, side: Side) -> String {
    let Manuscript { choices, far, .. } = of;
    let (focus, kept) = match &choices.focus {
        Some(chosen) if choices.kind != PracticeKind::Sore => {
            (Some(chosen.focus.phrase.as_str()), Some(chosen.kept.as_deref().unwrap_or(&chosen.focus.phrase)))
        }
        _ => (None, None),
    };
    let drill = choices.focus.as_ref().and_then(|chosen| chosen.focus.drill.as_deref());
    let keys = SetKeys { part, side, of, focus: None };
    let (short, long, end) = (far.far(far.short), far.far(far.long), far.end(far.short));
    let rest = format!("rest: {} s", part.rest);
    let count = part.count;
    match part.kind {
        PartKind::Start => SetKeys { focus: kept, ..keys }.set(
            ("Easy start", "warm-up"),
            &[&format!("swim: {}", times(count, &short)), end, &rest, easy(choices.kind)],
        ),
        PartKind::End => SetKeys { focus: kept, ..keys }.set(
            ("Easy end", "cool-down"),
            &[&format!("swim: {}", times(count, &short)), end, &rest, easy(choices.kind)],
        ),
        PartKind::Free => keys.set(
            ("Any stroke", "main"),
            &[&format!("swim: {}", times(count, &short)), end, &rest, "effort: easy", "stroke: choice"],
        ),
        PartKind::Drill => {
            let (drill, focus) = (drill.unwrap_or_default(), focus.unwrap_or_default());
            if far.slow {
                let tail = if end.is_empty() { String::new() } else { format!("{end}, ") };
                let lines = [
                    format!("rounds: {count}"),
                    "do:".to_owned(),
                    format!("  - {{ swim: {short}, {tail}drill: {drill}, {rest} }}"),
                    format!("  - {{ swim: {short}, {tail}effort: easy, {rest} }}"),
                ];
                SetKeys { focus: Some(focus), ..keys }.listed(("Drill and swim", "build"), &lines)
            } else {
                let swim = format!("swim: {}", times(count, &far.far(2 * far.length)));
                let lengths = format!("lengths: [{{ drill: {drill} }}, {{ focus: {focus} }}]");
                keys.set(("Drill and swim", "build"), &[&swim, &rest, "effort: easy", &lengths])
            }
        }
        PartKind::Relaxed => {
            let tail = if end.is_empty() { String::new() } else { format!(", {end}") };
            let lines = [
                rest,
                format!("tempo: {:.2} s", choices.relaxed.as_f64()),
                "do:".to_owned(),
                format!("  - {{ swim: {}{tail} }}", times(count, &short)),
                format!("  - {{ swim: {short}{tail}, count: last length }}"),
            ];
            SetKeys { focus, ..keys }.listed(("Without effort", "build"), &lines)
        }
        PartKind::Ladder => {
            let (first, step) = edge::ladder(choices.edge.to, count);
            let (first, last) = (first.as_f64(), choices.edge.to.as_f64());
            let keys = SetKeys { focus, ..keys };
            let head = ("Up the tempos", "main");
            if choices.kind == PracticeKind::Ordinary {
                let tempo = format!("tempo: {{ from: {first:.2} s, to: {last:.2} s, step: {step:.2} s }}");
                return keys.set(head, &[&format!("swim: {}", times(count, &short)), end, &rest, &tempo]);
            }
            // Without a set at the edge the last one is counted here.
            let tail = if end.is_empty() { String::new() } else { format!(", {end}") };
            let before = last + step;
            let lines = [
                rest,
                "do:".to_owned(),
                format!(
                    "  - {{ swim: {}{tail}, tempo: {{ from: {first:.2} s, to: {before:.2} s, step: {step:.2} s }} }}",
                    times(count - 1, &short)
                ),
                format!("  - {{ swim: {short}{tail}, tempo: {last:.2} s, count: last length }}"),
            ];
            keys.listed(head, &lines)
        }
        PartKind::Edge => {
            let tail = if end.is_empty() { String::new() } else { format!(", {end}") };
            let tempo = format!("tempo: {:.2} s", choices.edge.to.as_f64());
            let target = of.at_most.map_or_else(String::new, |most| format!(", strokes: {{ at-most: {most} }}"));
            let mut lines = vec!["rounds: 2".to_owned(), rest, "do:".to_owned()];
            if count > 0 {
                lines.push(format!("  - {{ swim: {}{tail}, {tempo} }}", times(count, &short)));
            }
            lines.push(format!("  - {{ swim: {short}{tail}, {tempo}{target}, count: last length }}"));
            lines.push(format!("  - {{ swim: {short}{tail}, effort: easy }}"));
            SetKeys { focus, ..keys }.listed(("Hold the count", "main"), &lines)
        }
        PartKind::Unbeaten => {
            let effort = if choices.kind == PracticeKind::Easier { "effort: easy" } else { "effort: steady" };
            SetKeys { focus, ..keys }.set(
                ("By feel", "main"),
                &[&format!("swim: {}", times(count, &long)), far.end(far.long), &rest, effort],
            )
        }
        PartKind::Timed => keys.set(
            ("Timed swim", "main"),
            &[&format!("swim: {}", far.far(far.timed)), far.end(far.timed), "rest: 1:00", "test: time"],
        ),
    }
}

/// So many of a distance.
fn times(count: u32, far: &str) -> String {
    if count == 1 { far.to_owned() } else { format!("{count} x {far}") }
}

/// Where something hurts, no stroke is prescribed.
const fn easy(kind: PracticeKind) -> &'static str {
    match kind {
        PracticeKind::Sore => "effort: easy\n    stroke: choice",
        _ => "effort: easy",
    }
}

/// What sets have in common.
struct SetKeys<'k> {
    part: &'k PracticePart,
    side: Side,
    of: &'k Manuscript<'k>,
    focus: Option<&'k str>,
}

impl SetKeys<'_> {
    fn head(&self, (title, phase): (&str, &str)) -> String {
        format!("  - set: {title}\n    phase: {phase}\n")
    }

    fn breathe(&self) -> Option<String> {
        let of = self.of;
        match breaths(self.part.kind, of.far.slow, of.choices.kind, of.choices.side) {
            PartBreaths::Free => None,
            PartBreaths::OneSide => Some(format!("breathe: every 2 {}", self.side.word())),
            PartBreaths::To(side) => Some(format!("breathe: every 2 {}", side.word())),
            PartBreaths::EveryThree => Some(format!("breathe: every 3 {}", self.side.word())),
            PartBreaths::ByRepeat => Some("breathe: by repeat".to_owned()),
        }
    }

    fn common(&self) -> String {
        let focus = self.focus.map(|focus| format!("focus: {focus}"));
        self.breathe().into_iter().chain(focus).map(|line| format!("    {line}\n")).collect()
    }

    /// A set of one swim.
    fn set(&self, head: (&str, &str), lines: &[&str]) -> String {
        let lines: String = lines.iter().filter(|line| !line.is_empty()).map(|line| format!("    {line}\n")).collect();
        self.head(head) + &lines + &self.common()
    }

    /// A set with a list: what is common to its swims comes before it.
    fn listed(&self, head: (&str, &str), lines: &[String]) -> String {
        let at = lines.iter().position(|line| line == "do:").unwrap_or(lines.len());
        let (before, list) = lines.split_at(at);
        let shown = |lines: &[String]| lines.iter().map(|line| format!("    {line}\n")).collect::<String>();
        self.head(head) + &shown(before) + &self.common() + &shown(list)
    }
}

/// A target at the edge: a stroke over the relaxed count, and not further under what the model predicts there than anybody
/// would believe.
pub fn target(relaxed: Option<f64>, predicted: f64) -> Option<u32> {
    relaxed.map(|relaxed| (libm::round(relaxed + HELD).max(libm::round(predicted) - 1.0)) as u32)
}
