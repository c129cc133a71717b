//! Whatever is written, nobody starts into a swim without having heard what is new in it: properties over generated scripts,
//! with a reading of their own of what is new.

use crate::anything::{Anything, anything};
use crate::generate::{Generated, script};
use crate::plan::{Planned, Row, SECOND, hold_for, nanos, plan_for, rows, swims};
use crate::whole;
use lengthwise::practice::{Audience, FocusFrom, FocusPoint, Line, Repeat, Set, Text};
use lengthwise::script::{Breathe, CountOn, Far, Test};
use lengthwise::units::time::Seconds;
use proptest::prelude::*;
use std::collections::BTreeMap;

/// A thing that must be heard: by which names it goes, and what it says, as far as that is a number.
#[derive(Clone, Debug, PartialEq)]
struct Told {
    ids: Vec<String>,
    number: Option<i64>,
}

fn told(ids: &[&str], number: Option<i64>) -> Told {
    Told { ids: ids.iter().map(|id| (*id).to_owned()).collect(), number }
}

/// The beat that is heard, to a tenth of a millisecond: the same one in the other unit is nothing new.
fn beat(repeat: &Repeat, line: &Line, audience: Audience) -> Option<i64> {
    let beats = line.beats.is_some() && (audience != Audience::Speaker || line.beats_asked);
    repeat.tempo.filter(|_| beats).map(|tempo| (tempo.as_f64() * 1e4).round() as i64)
}

/// What a swimmer is to know of a repeat: what it is, and what is to be held in it, each with its name.
fn facts(repeat: &Repeat, line: &Line, audience: Audience) -> BTreeMap<&'static str, Told> {
    let mut facts = BTreeMap::new();
    let beats = line.beats.is_some() && (audience != Audience::Speaker || line.beats_asked);
    if let Some(tempo) = repeat.tempo.filter(|_| beats) {
        // Said in the unit written: hundredths of a second, or tenths of a stroke a minute.
        // An exact half goes up; as a float it can lie just below.
        let rounded = |value: f64| (value + 1e-9).round() as i64;
        let number = if line.per_minute { -rounded(tempo.rate() * 10.0) } else { rounded(tempo.as_f64() * 100.0) };
        facts.insert("tempo", told(&["tempo"], Some(number)));
    }
    if let Some(most) = line.at_most {
        facts.insert("count", told(&["at-most"], Some(i64::from(most))));
    }
    if !line.paces.is_empty() {
        facts.insert("due", told(&["due"], Some(repeat.predicted.as_f64().round() as i64)));
    }
    let breathe = match line.breathe {
        None => None,
        Some(Breathe::Every(n, None)) => Some(format!("breathe-every-{n}")),
        Some(Breathe::Every(n, Some(side))) => Some(format!("breathe-every-{n}-{}", side.word())),
        Some(Breathe::Sides { .. }) => Some("breathe-sides".to_owned()),
        Some(Breathe::ByLength) => Some("breathe-by-length".to_owned()),
        Some(Breathe::ByRepeat) => Some("breathe-by-repeat".to_owned()),
    };
    facts.extend(breathe.map(|id| ("breathing", told(&[&id], None))));
    if let Some(every) = line.sight {
        facts.insert("looks", told(&[&format!("sight-every-{every}")], None));
    }
    match line.count {
        // Which one to count is told as it begins, to whoever hears it there.
        Some(CountOn::LastLength) if audience.in_ear() => {}
        Some(CountOn::LastLength) => drop(facts.insert("to count", told(&["count-last-length"], None))),
        Some(CountOn::EachLength) => drop(facts.insert("to count", told(&["count-each-length"], None))),
        None => {}
    }
    if let Some(test) = line.test {
        let id = if test == Test::Time { "test-time" } else { "test-count" };
        facts.insert("test", told(&[id], None));
    }
    if let Some(half) = line.second_half {
        let id = if half > Seconds::ZERO { "second-half-faster" } else { "second-half-slower" };
        facts.insert("second half", told(&[id], None));
    }
    if let Some(drill) = &line.drill {
        facts.insert("drill", told(&[&format!("drill-{}", drill.how.id)], None));
    }
    facts
}

/// How a line is swum, beside its drill: another line that differs in it is a part of its own.
fn manner(repeat: &Repeat, line: &Line) -> impl PartialEq {
    let far = if matches!(line.far, Far::Distances(_)) { Some(repeat.distance) } else { None };
    let time = if let Far::Time(time) = line.far { time } else { Seconds::ZERO };
    (far, time, line.part, line.stroke, line.effort)
}

/// Whether the lengths of a line differ in what is swum, not only in the focus.
fn parts_differ(line: &Line) -> bool {
    let own = (&line.drill.as_ref().map(|drill| &drill.how.id), line.part, line.stroke, line.effort);
    line.kinds.iter().any(|kind| {
        let drill = kind.drill.as_ref().or(line.drill.as_ref()).map(|drill| &drill.how.id);
        let part = kind.part.unwrap_or(line.part);
        (&drill, part, kind.stroke.or(line.stroke), kind.effort.or(line.effort)) != own
    })
}

/// Every repeat: what is new in it is heard between the touch before and its go, or within the first strokes where there was no
/// stop; or it is listed as dropped.
fn heard_or_dropped(planned: &Planned) -> Result<(), TestCaseError> {
    let audience = planned.practice.audience;
    let (swims, rows) = (swims(planned), rows(planned));
    let mut dropped: Vec<_> = planned.built.findings.dropped.iter().collect();
    // What a number sounds like, and what a sound means: each is one to one.
    let mut said: BTreeMap<(&str, i64), String> = BTreeMap::new();
    for (index, (set, repeat, go, _)) in swims.iter().enumerate() {
        let start = &planned.built.strand.starts[index];
        let line = &set.lines[repeat.line];
        let before = index.checked_sub(1).map(|index| &swims[index]).filter(|_| !start.opens);
        let known = before.map(|(set, repeat, ..)| (*repeat, &set.lines[repeat.line]));
        let touch = index.checked_sub(1).map_or(0, |index| swims[index].3);
        let joined = repeat.joined && audience != Audience::Speaker;
        let window =
            if joined { *go..go + (nanos(repeat.lengths[0].time) * 2 / 5).max(4 * SECOND) + 1 } else { touch..*go };
        let mut new = facts(repeat, line, audience);
        if let Some((then, other)) = known {
            let known = facts(then, other, audience);
            new.retain(|name, fact| known.get(name) != Some(fact));
            if beat(then, other, audience) == beat(repeat, line, audience) {
                new.remove("tempo");
            }
            if manner(then, other) != manner(repeat, line) {
                new.insert("part", told(&["swim"], None));
            }
            if other.drill.is_some() && line.drill.is_none() {
                new.insert("whole stroke", told(&["whole-stroke"], None));
            }
        } else {
            new.insert("part", told(&["swim"], None));
        }
        if joined {
            // The beats tell it.
            new.remove("tempo");
            new.remove("looks");
        }
        if parts_differ(line) {
            // What the lengths are is told before each go, wherever a set opens with the set.
            new.insert("lengths", told(&["in-turn", "lengths", "length-1"], None));
        }
        if repeat.joined && (audience == Audience::Speaker || line.test.is_some()) {
            // Nobody hears anything before the wall.
            continue;
        }
        for (name, fact) in new {
            let fits = |id: &str| fact.ids.iter().any(|known| known == id);
            let row = rows.iter().find(|row: &&Row| fits(&row.id) && window.contains(&row.at));
            if let Some(row) = row {
                // A range is announced as one before the first go.
                let Some(number) = fact.number.filter(|_| !start.opens) else { continue };
                let text = said.entry((name, number)).or_insert_with(|| row.text.clone()).clone();
                prop_assert_eq!(&text, &row.text, "{} {} before {}", name, number, go);
            } else {
                // A swimmer who touches just before the go listens only after it: that is where it is said to be missing.
                let missed = window.start..window.end + 2 * SECOND;
                let gone = dropped.iter().position(|drop| fits(&drop.id) && missed.contains(&nanos(drop.at)));
                prop_assert!(gone.is_some(), "{name} of repeat {index} at {go} is neither heard nor dropped: {fact:?}");
                gone.map(|place| dropped.remove(place));
                prop_assert!(!start.opens, "{name} of repeat {index} is dropped though the go waits for it");
            }
        }
    }
    let mut meant: BTreeMap<(&str, &str), i64> = BTreeMap::new();
    for ((name, number), text) in &said {
        let other = *meant.entry((name, text)).or_insert(*number);
        prop_assert_eq!(other, *number, "{} means two things", text);
    }
    Ok(())
}

/// Whether the repeat before, in the same set, began with this phrase.
pub fn known_from_before(planned: &Planned, index: usize, phrase: &Text) -> bool {
    let starts = &planned.built.strand.starts;
    let Some(before) = index.checked_sub(1).filter(|before| starts[*before].set == starts[index].set) else {
        return false;
    };
    let (set, repeat, ..) = swims(planned)[before];
    repeat.focus.first().is_some_and(|focus| set.lines[repeat.line].focus[focus.phrase].id == phrase.id)
}

/// Whether a cue is a phrase of a repeat in a pool said again in the fourth, eighth ... length after the one that it began with.
pub fn reminds((set, repeat, go, touch): &(&Set, &Repeat, i128, i128), row: &Row) -> bool {
    let time = nanos(repeat.lengths[0].time);
    let length = (row.at - go) / time.max(1);
    let in_glide = (2 * SECOND..=(time * 2 / 5).max(2 * SECOND)).contains(&(row.at - go - length * time));
    let begun = |focus: &&FocusFrom| match focus.from {
        FocusPoint::Length(first) => i128::from(first) <= length,
        FocusPoint::Stroke(_) => false,
    };
    let Some(focus) = repeat.focus.iter().rev().find(begun) else { return false };
    let FocusPoint::Length(since) = focus.from else { return false };
    let lone = repeat.focus.iter().all(|focus| matches!(focus.from, FocusPoint::Length(_)));
    let phrase = &set.lines[repeat.line].focus[focus.phrase];
    let said = phrase.short.as_ref().unwrap_or(&phrase.full).text == row.text;
    let passed = length - i128::from(since);
    said && lone && in_glide && (*go..*touch).contains(&row.at) && passed > 0 && passed % 4 == 0
}

#[test]
fn what_is_new_is_heard_or_listed_as_dropped_in_plain_scripts() {
    let plan = |generated: &Generated| plan_for(generated, Audience::Headphones);
    hold_for(&script(), |generated| &generated.yaml, plan, |_, planned| heard_or_dropped(planned));
}

#[test]
fn what_is_new_is_heard_or_listed_as_dropped_in_any_script() {
    hold_for(&anything(), |any: &Anything| &any.yaml, whole::plan, |_, planned| heard_or_dropped(planned));
}
