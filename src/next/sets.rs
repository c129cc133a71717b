//! The sets of a script, one for each part of a practice.

use super::edge;
use super::focus::WhyFocus;
use super::manuscript::{Manuscript, PartBreaths, breaths};
use super::parts::{Distances, PartKind, PracticePart};
use super::sore::Aside;
use super::state::PracticeKind;
use crate::units::swim::Side;

/// So many seconds more rest after a fast swim. Our choice.
const AFTER_FAST: u32 = 15;

/// One set, as YAML.
pub fn set(of: &Manuscript<'_>, part: &PracticePart, side: Side) -> String {
    let Manuscript { choices, far, .. } = of;
    if choices.kind == PracticeKind::Sore {
        return sore(of, part, side);
    }
    let focus = choices.focus.as_ref().map(|chosen| chosen.focus.phrase.as_str());
    let kept = choices.focus.as_ref().and_then(|chosen| chosen.kept.as_deref()).or(focus);
    let drill = choices.focus.as_ref().and_then(|chosen| chosen.focus.drill.as_deref());
    let keys = SetKeys { part, side, of, focus: None, breathes: true };
    let (short, long, end) = (far.far(far.short), far.far(far.long), far.end(far.short));
    let (rest, tail) = (format!("rest: {} s", part.rest), far_end(far, far.short));
    let count = part.count;
    match part.kind {
        PartKind::Start => SetKeys { focus: kept, ..keys }
            .set(("Easy start", "warm-up"), &[&format!("swim: {}", times(count, &short)), end, &rest, "effort: easy"]),
        PartKind::End => SetKeys { focus: kept, ..keys }
            .set(("Easy end", "cool-down"), &[&format!("swim: {}", times(count, &short)), end, &rest, "effort: easy"]),
        // Of a sore practice alone.
        PartKind::Spared | PartKind::Free => String::new(),
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
            // Two phrases are told apart by counts alone.
            let compared = choices.focus.as_ref().is_some_and(|chosen| chosen.why == WhyFocus::Compared);
            let counted = if compared { 2.min(count) } else { 1 };
            let lines = [
                rest,
                format!("tempo: {:.2} s", choices.relaxed.as_f64()),
                "do:".to_owned(),
                format!("  - {{ swim: {}{tail} }}", times(count + 1 - counted, &short)),
                format!("  - {{ swim: {}{tail}, count: last length }}", times(counted, &short)),
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
        PartKind::Fade => {
            let drill = drill.unwrap_or_default();
            let breathe = keys.breathe().map_or_else(String::new, |breathe| format!(", {breathe}"));
            let lines = [
                format!("rounds: {count}"),
                rest,
                "do:".to_owned(),
                format!("  - {{ swim: {short}{tail}, drill: {drill} }}"),
                format!("  - {{ swim: {long}{}, effort: easy{breathe} }}", far_end(far, far.long)),
            ];
            SetKeys { focus, breathes: false, ..keys }.listed(("Less drill, more swim", "main"), &lines)
        }
        PartKind::Build => {
            let longer = part.rest + AFTER_FAST;
            let lines = [
                format!("rounds: {count}"),
                rest,
                "do:".to_owned(),
                format!("  - {{ swim: {short}{tail}, effort: easy }}"),
                format!("  - {{ swim: {short}{tail}, effort: brisk }}"),
                format!("  - {{ swim: {short}{tail}, effort: fast, rest: {longer} s }}"),
            ];
            SetKeys { focus, ..keys }.listed(("Easy to fast", "main"), &lines)
        }
        PartKind::Pace => SetKeys { focus, ..keys }.set(
            ("Find the pace", "main"),
            &[&format!("swim: {}", times(count, &long)), far.end(far.long), &rest, "pace: { from: steady, to: brisk }"],
        ),
        PartKind::Long => {
            let swim = format!("swim: {}", times(count, &far.far(far.timed)));
            let remind = if focus.is_some() { "remind: every 2 lengths" } else { "" };
            SetKeys { focus, ..keys }
                .set(("Long swims", "main"), &[&swim, far.end(far.timed), &rest, "effort: steady", remind])
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

/// What follows a distance inside braces.
fn far_end(far: &Distances, distance: u32) -> &'static str {
    if far.end(distance).is_empty() { "" } else { ", end: far" }
}

/// A set where something hurts: no stroke is prescribed, nothing is quick, nothing worn; there is something to think about.
fn sore(of: &Manuscript<'_>, part: &PracticePart, side: Side) -> String {
    let (far, count) = (of.far, part.count);
    let (short, rest, end) = (far.far(far.short), format!("rest: {} s", part.rest), far_end(&far, far.short));
    let [first, last] = [of.spared.thoughts.first(), of.spared.thoughts.last()].map(|id| id.map(String::as_str));
    let keys = SetKeys { part, side, of, focus: None, breathes: true };
    let any = |head, focus| {
        let swim = format!("swim: {}", times(count, &short));
        SetKeys { focus, ..keys }.set(head, &[&swim, far.end(far.short), &rest, "effort: easy", "stroke: choice"])
    };
    match part.kind {
        PartKind::Start => any(("Easy start", "warm-up"), first),
        PartKind::End => any(("Easy end", "cool-down"), last),
        PartKind::Spared => {
            let aside = match &of.spared.aside {
                Some(Aside::BackKick) => "stroke: back, part: kick".to_owned(),
                Some(Aside::Kick(drill) | Aside::Scull(drill)) => format!("drill: {drill}"),
                None => "stroke: choice".to_owned(),
            };
            let lines = [
                format!("rounds: {count}"),
                rest,
                "effort: easy".to_owned(),
                "do:".to_owned(),
                format!("  - {{ swim: {short}{end}, {aside} }}"),
                format!("  - {{ swim: {short}{end}, stroke: choice }}"),
            ];
            keys.listed(("Turn and turn about", "build"), &lines)
        }
        _ => any(("Any stroke", "main"), last),
    }
}

/// What sets have in common.
struct SetKeys<'k> {
    part: &'k PracticePart,
    side: Side,
    of: &'k Manuscript<'k>,
    focus: Option<&'k str>,
    /// Whether all its swims breathe alike.
    breathes: bool,
}

impl SetKeys<'_> {
    fn head(&self, (title, phase): (&str, &str)) -> String {
        format!("  - set: {title}\n    phase: {phase}\n")
    }

    fn breathe(&self) -> Option<String> {
        let of = self.of;
        match breaths(self.part.kind, &of.far, of.choices) {
            PartBreaths::Free => None,
            PartBreaths::OneSide => Some(format!("breathe: every 2 {}", self.side.word())),
            PartBreaths::To(side) => Some(format!("breathe: every 2 {}", side.word())),
            PartBreaths::EveryThree => Some(format!("breathe: every 3 {}", self.side.word())),
            PartBreaths::ByLength => Some("breathe: by length".to_owned()),
            PartBreaths::ByRepeat => Some("breathe: by repeat".to_owned()),
        }
    }

    fn common(&self) -> String {
        let focus = self.focus.map(|focus| format!("focus: {focus}"));
        self.breathe().filter(|_| self.breathes).into_iter().chain(focus).map(|line| format!("    {line}\n")).collect()
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
