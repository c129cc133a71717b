//! The sets of a script, one for each part of a practice.

use super::edge;
use super::manuscript::{Manuscript, PartBreaths, breaths};
use super::parts::{PartKind, PracticePart};
use super::state::PracticeKind;
use crate::units::swim::Side;

/// One set, as YAML.
pub fn set(of: &Manuscript<'_>, part: &PracticePart, side: Side) -> String {
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
