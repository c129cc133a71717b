//! A practice in the words of a deck: what each line is, and its numbers as short texts.

use super::{RepeatPlan, SetPlan};
use crate::practice::{Leave, LengthKind, Line};
use crate::script::{BodyPart, Breathe, CallOut, Change, CountOn, Effort, Far, Gear, Stroke, Test};
use crate::units::time::{Seconds, Tempo};

/// What everybody who swims is reminded of.
pub const CARE: &str = "Never swim alone: a lifeguard or a responsible watcher sees you. Staff, whistle and alarm come first. Breathe whenever you need to; stop for pain, dizziness or shivering.";
/// And who swims where there are no walls.
pub const OPEN_WATER_CARE: &str = "In open water: a permitted place, conditions checked, a bright cap and a tow float, a companion who is not listening, ears open; turn back when cold. Local rules and qualified people decide.";

/// A line's numbers, each the value of all its repeats or the least and the greatest of them; empty where there is none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LineNumbers {
    /// Stroke tempo, with its unit.
    pub tempo: String,
    /// Predicted strokes in a length.
    pub count: String,
    /// Predicted time.
    pub swim: String,
    /// From one start to the next.
    pub every: String,
    /// The least predicted rest: it decides whether the swimmer makes it.
    pub rest: String,
}

/// A distance, shown as an estimate where swims by time are in it.
pub fn far(sets: &[SetPlan], distance: u32) -> String {
    let estimated = sets.iter().flat_map(|set| &set.repeats).any(|repeat| repeat.estimated);
    format!("{}{distance}", if estimated { "about " } else { "" })
}

/// What a line is, in the words of a deck.
pub fn describe(line: &Line) -> String {
    let each = match &line.far {
        Far::Distances(each) => each.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
        Far::Time(time) if *time == time.ceil_to(Seconds::from_secs(60)) => format!("{:.0} min", time.as_f64() / 60.0),
        Far::Time(time) => format!("{time} min:s"),
        Far::Course { lap, laps } => format!("{laps} laps of {lap}"),
    };
    let listed = matches!(&line.far, Far::Distances(each) if each.len() > 1);
    let mut text = if line.repeats > 1 && !listed { format!("{} x {each}", line.repeats) } else { each };
    if line.part != BodyPart::Swim {
        text.push_str(&format!(" {}", word(&BodyPart::ALL, line.part)));
    }
    text.extend(line.stroke.map(|stroke| format!(" {}", word(&Stroke::ALL, stroke))));
    text.extend(line.effort.map(|effort| format!(" {}", word(&Effort::ALL, effort))));
    let mut more: Vec<String> = Vec::new();
    more.extend(line.drill.as_ref().map(|drill| format!("{} drill", drill.how.id.replace('-', " "))));
    if !line.gear.is_empty() {
        more.push(line.gear.iter().map(|gear| word(&Gear::ALL, *gear)).collect::<Vec<_>>().join(" and "));
    }
    more.extend(line.kinds.iter().zip(1..).map(|(kind, number)| format!("{number}: {}", kind_text(kind, line))));
    more.extend(line.breathe.map(breathe));
    more.extend(line.sight.map(|n| format!("look ahead every {n}")));
    more.extend(line.calls.iter().map(|call| match call {
        CallOut::Strokes(n) => format!("count called every {n}"),
        CallOut::Lengths => "lengths called".into(),
        CallOut::EachRepeat => "each repeat called".into(),
    }));
    more.extend(line.marks.then(|| "walls marked".to_owned()));
    more.extend(line.at_most.map(|n| format!("at most {n} strokes")));
    more.extend(line.count.map(|count| format!("count {}", word(&CountOn::ALL, count))));
    more.extend(line.test.map(|test| format!("test: {}", word(&Test::ALL, test))));
    more.extend(line.second_half.map(|faster| {
        let way = if faster > Seconds::ZERO { "faster" } else { "slower" };
        format!("second half {:.0} s {way}", faster.as_f64().abs())
    }));
    for part in more {
        text.push_str(", ");
        text.push_str(&part);
    }
    text
}

fn breathe(breathe: Breathe) -> String {
    match breathe {
        Breathe::Every(n, None) => format!("breathe every {n}"),
        Breathe::Every(n, Some(side)) => format!("breathe every {n} {}", side.word()),
        Breathe::Sides { right, left } => format!("breathe right {right}, left {left}"),
        Breathe::ByLength => "breathing side by length".into(),
        Breathe::ByRepeat => "breathing side by repeat".into(),
    }
}

fn kind_text(kind: &LengthKind, line: &Line) -> String {
    let drill = kind.drill.as_ref().map(|drill| format!("{} drill", drill.how.id.replace('-', " ")));
    let part = kind.part.map(|part| word(&BodyPart::ALL, part).to_owned());
    let stroke = kind.stroke.map(|stroke| word(&Stroke::ALL, stroke).to_owned());
    let effort = kind.effort.map(|effort| word(&Effort::ALL, effort).to_owned());
    let focus = kind.focus.and_then(|focus| Some(line.focus.get(focus)?.full.text.clone()));
    [drill, part, stroke, effort, focus].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// The numbers of a line, which has these repeats.
pub fn numbers(line: &Line, repeats: &[&RepeatPlan]) -> LineNumbers {
    let tempo = span(repeats.iter().filter_map(|repeat| repeat.tempo), Tempo::as_f64, |tempo: Tempo| {
        // As it is spoken: 1.545 s is 1.55.
        let centis = tempo.centis();
        if line.per_minute { format!("{:.1}", tempo.rate()) } else { format!("{}.{:02}", centis / 100, centis % 100) }
    });
    let tempo = match tempo {
        Some(tempo) => format!("{tempo} {}", if line.per_minute { "/min" } else { "s" }),
        None => String::new(),
    };
    let count = span(repeats.iter().filter_map(|repeat| repeat.count), |count| count, |count| format!("{count:.0}"));
    let swim = span(repeats.iter().map(|repeat| repeat.predicted), Seconds::as_f64, whole);
    // The last interval of a set includes the talk before the next: what was asked for is in the others.
    let inner = repeats.len().saturating_sub(1).max(1);
    let every = span(repeats.iter().take(inner).filter_map(|repeat| repeat.send_off), Seconds::as_f64, whole);
    let rest = repeats.iter().take(inner).filter_map(|repeat| repeat.rest).min().map(whole);
    let every = if line.leave == Leave::Open { None } else { every };
    let rest = if line.leave == Leave::Open { None } else { rest };
    LineNumbers {
        tempo,
        count: count.unwrap_or_default(),
        swim: swim.unwrap_or_default(),
        every: every.unwrap_or_default(),
        rest: rest.unwrap_or_default(),
    }
}

/// The least and the greatest of a line's values in the order they come, or the one that they all are: a pyramid's times
/// go from its shortest to its longest, though it ends as it begins.
fn span<T: Copy>(
    values: impl Iterator<Item = T>,
    size: impl Fn(T) -> f64,
    show: impl Fn(T) -> String,
) -> Option<String> {
    let values: Vec<T> = values.collect();
    let by_size = |a: &(usize, &T), b: &(usize, &T)| size(*a.1).total_cmp(&size(*b.1));
    let (least, low) = values.iter().enumerate().min_by(by_size)?;
    // The last of equals is the first from behind.
    let (greatest, high) = values.iter().enumerate().rev().max_by(by_size)?;
    let (low, high) = (show(*low), show(*high));
    let (from, to) = if least <= greatest { (low, high) } else { (high, low) };
    Some(if from == to { from } else { format!("{from}-{to}") })
}

/// A time to the whole second.
pub fn whole(time: Seconds) -> String {
    Seconds::from_secs(libm::round(time.as_f64()) as i64).to_string()
}

/// A line's phrases and when they change.
pub fn focus(line: &Line) -> Option<String> {
    let phrases: Vec<&str> = line.focus.iter().map(|phrase| phrase.full.text.as_str()).collect();
    let change = match line.change {
        Some(Change::Length | Change::Repeat) if line.blocked => " (one after the other)".to_owned(),
        Some(Change::Length) => " (new each length)".to_owned(),
        Some(Change::Repeat) => " (new each repeat)".to_owned(),
        Some(Change::Round) => " (new each round)".to_owned(),
        Some(Change::Strokes(n)) => format!(" (new every {n} strokes)"),
        Some(Change::Set) | None => String::new(),
    };
    (!phrases.is_empty()).then(|| format!("{}{change}", phrases.join(" / ")))
}

/// The word of a value in a table of words.
pub fn word<T: Copy + PartialEq>(words: &[(&'static str, T)], value: T) -> &'static str {
    words.iter().find(|(_, known)| *known == value).map_or("", |(word, _)| word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_that_turn_back_show_how_far_they_go() {
        let shown = |values: &[i32]| span(values.iter().copied(), f64::from, |value| value.to_string());
        assert_eq!(shown(&[]), None);
        assert_eq!(shown(&[7, 7]), Some("7".into()));
        assert_eq!(shown(&[130, 120, 95]), Some("130-95".into()));
        assert_eq!(shown(&[130, 90, 130]), Some("130-90".into()));
        assert_eq!(shown(&[1, 4, 2]), Some("1-4".into()));
    }
}
