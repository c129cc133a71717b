//! Why, in words: one sentence of the whole, and one at each choice.

use super::decide::{Choices, OneChange};
use super::edge::{ENOUGH_HELD, ENOUGH_LOST, EdgeMove, HELD, LOST, WhyLimit};
use super::focus::{PRACTICES, WhyFocus};
use super::load;
use super::shape::{PracticeShape, WhyShape};
use super::state::PracticeKind;
use super::verdict::{JudgedPair, PairVerdict};
use super::volume::{self, VolumeBound};
use crate::notebook::PhrasePair;
use crate::units::time::Tempo;

fn seconds(tempo: Tempo) -> String {
    format!("{:.2} s", tempo.as_f64())
}

/// One sentence for the head of the script. `words` are those of the focus and of the one that is kept alive.
pub fn sentence(of: &Choices, words: &(Option<String>, Option<String>)) -> String {
    let focus = words.0.as_ref().map_or_else(|| "the whole stroke".to_owned(), |words| format!("\"{words}\""));
    match of.kind {
        PracticeKind::Baseline => format!(
            "A first practice to find out where you are: the count at an easy tempo and at a quicker one, a timed swim, and {focus}."
        ),
        PracticeKind::Sore => format!(
            "Something hurts ({}), so half the distance, nothing quick, nothing worn, and any stroke that does not hurt.",
            of.pain.as_deref().unwrap_or_default()
        ),
        PracticeKind::Return => format!(
            "Back after {} days, with {:.0} % of the distance of before, counts, and a timed swim.",
            of.away.unwrap_or_default(),
            100.0 * volume::LESS
        ),
        PracticeKind::Easier if of.spared => {
            format!("An easy one with {focus}: this week's load leaves no room for another.")
        }
        PracticeKind::Easier => format!(
            "An easier one: the last two were as hard, or felt as bad, as can be; {:.0} % of the distance, nothing at the edge.",
            100.0 * volume::LESS
        ),
        PracticeKind::Ordinary => match of.change {
            OneChange::Focus => format!("{}; all else stays as it was.", focus_clause(of, &focus)),
            OneChange::Tempo => format!("{}, and {} stays the focus.", edge_clause(of), focus),
            OneChange::Side => side_clause(of, &focus),
            OneChange::Relaxed => format!(
                "The tempo without effort moves from {} to {}, nearer to your own, which is {} by now; as before: {}.",
                seconds(of.ease.stays()),
                seconds(of.ease.to),
                seconds(of.ease.own),
                and_edge(of, &focus)
            ),
            OneChange::Volume => {
                format!(
                    "A little further than last time, and nothing else changes: {} as before.",
                    and_edge(of, &focus)
                )
            }
            OneChange::Nothing if of.focus.as_ref().is_some_and(|chosen| chosen.why == WhyFocus::Compared) => {
                let stays = if has_edge(of) {
                    format!(", and an edge of {} stays", seconds(of.edge.to))
                } else {
                    String::new()
                };
                format!("Of the two phrases that are compared it is the turn of {focus}{stays}.")
            }
            OneChange::Nothing if has_edge(of) => {
                format!("The same once more, {focus} and an edge of {}: {}.", seconds(of.edge.to), stays(of))
            }
            OneChange::Nothing => format!("{} stays the focus, in another kind of practice.", capital(&focus)),
        },
    }
}

/// Whether the practice goes to the edge at all.
fn has_edge(of: &Choices) -> bool {
    of.shape.shape == PracticeShape::Tempos
}

/// The focus, and the edge where there is one.
fn and_edge(of: &Choices, focus: &str) -> String {
    if has_edge(of) { format!("{focus} and an edge of {}", seconds(of.edge.to)) } else { focus.to_owned() }
}

/// A first letter in upper case, also within quotation marks.
fn capital(text: &str) -> String {
    let mut done = false;
    let raise = |letter: char| {
        if done || !letter.is_alphabetic() {
            return letter.to_string();
        }
        done = true;
        letter.to_uppercase().collect()
    };
    text.chars().map(raise).collect()
}

/// What kind of ordinary practice it is, and why; none for the others.
pub fn shape(of: &Choices) -> Option<String> {
    let what = match of.shape.shape {
        PracticeShape::Tempos => "up the tempos to the edge",
        PracticeShape::Pairs => "drill and swim, with less and less of the drill",
        PracticeShape::Paces => "from easy to fast, and even pace",
        PracticeShape::Long => "longer swims",
    };
    let why = match of.shape.why {
        WhyShape::NewFocus => "a new focus begins with its drill",
        WhyShape::SecondTime => "the second practice with a focus shows whether it holds as the tempo rises",
        WhyShape::ThirdTime if of.shape.shape == PracticeShape::Long => {
            "the third practice with a focus shows whether it holds over distance"
        }
        WhyShape::ThirdTime => "the third practice with a focus shows whether it holds at speed",
        WhyShape::Gentle => "nothing is quick in the first practices after pain or a time away",
        WhyShape::TemposAgain => "the last practice did not go to the edge",
        WhyShape::FurthestBack => "this kind of practice lies furthest back",
    };
    (of.kind == PracticeKind::Ordinary).then(|| format!("Today: {what}; {why}."))
}

fn focus_clause(of: &Choices, focus: &str) -> String {
    match of.focus.as_ref().map(|chosen| chosen.why) {
        Some(WhyFocus::Untouched(days)) => format!(
            "{PRACTICES} practices had one focus, so now comes one that has lain untouched for {days} days: {focus}"
        ),
        Some(WhyFocus::LongAgo(days)) => format!(
            "{PRACTICES} practices had one focus, so now comes the one whose turn is furthest back: {focus}, {days} days ago"
        ),
        Some(WhyFocus::Won(_)) => {
            format!("The focus is {focus}, which holds your count lower than the other phrase did")
        }
        Some(WhyFocus::New) => format!("{PRACTICES} practices had one focus, so now comes a new one: {focus}"),
        _ => format!("The focus is {focus}"),
    }
}

fn side_clause(of: &Choices, focus: &str) -> String {
    match of.side {
        Some(side) => format!(
            "More breaths to the {}, which has had fewer of them over four weeks; as before: {}.",
            side.word(),
            and_edge(of, focus)
        ),
        None => format!("Breaths to both sides alike again; as before: {}.", and_edge(of, focus)),
    }
}

fn edge_clause(of: &Choices) -> String {
    let edge = &of.edge;
    let from = edge.from.map(seconds).unwrap_or_default();
    let relaxed = edge.relaxed.unwrap_or_default();
    match edge.moved {
        EdgeMove::Quicker => {
            let held = edge.counts.iter().filter(|count| **count <= relaxed + HELD).count();
            format!(
                "The edge moves from {from} to {}, since {held} of the last {} counts there were within a stroke of the relaxed {}",
                seconds(edge.to),
                edge.counts.len(),
                strokes(relaxed)
            )
        }
        EdgeMove::Slower => {
            let lost = edge.counts.iter().filter(|count| **count > relaxed + LOST).count();
            format!(
                "The edge moves back from {from} to {}, since {lost} of the last {} counts there were more than {LOST:.0} strokes over the relaxed {}",
                seconds(edge.to),
                edge.counts.len(),
                strokes(relaxed)
            )
        }
        _ => format!("The edge stays at {}", seconds(edge.to)),
    }
}

fn strokes(count: f64) -> String {
    if count.fract() == 0.0 { format!("{count:.0}") } else { format!("{count:.1}") }
}

/// Why the edge stays.
fn stays(of: &Choices) -> String {
    let edge = &of.edge;
    let relaxed = edge.relaxed.unwrap_or_default();
    match edge.moved {
        EdgeMove::First => "there was no edge before".to_owned(),
        EdgeMove::Uncounted if edge.relaxed.is_none() => {
            format!("no count at {} yet to hold the others against", seconds(of.relaxed))
        }
        EdgeMove::Uncounted => match edge.counts.len() {
            0 => format!("no counts at {} yet", seconds(edge.to)),
            count => format!("{count} of {ENOUGH_HELD} counts at {} that it takes", seconds(edge.to)),
        },
        EdgeMove::Between => format!(
            "of the last {} counts at {} neither {ENOUGH_HELD} were within a stroke of the relaxed {} nor {ENOUGH_LOST} more than {LOST:.0} strokes over it",
            edge.counts.len(),
            seconds(edge.to),
            strokes(relaxed)
        ),
        EdgeMove::AtLimit => match edge.limit.why {
            WhyLimit::Model => "the counts hold, but quicker strokes would take more speed than they give".to_owned(),
            WhyLimit::Break { tempo, low, high } => format!(
                "the counts hold, but they leave their line at {tempo:.2} s (8 of 10: {low:.2} to {high:.2} s), and the edge goes no further than {}",
                seconds(edge.limit.tempo)
            ),
        },
        EdgeMove::AtNarrowest => {
            "the counts are far over the relaxed one, and the range is as narrow as it can be: the stroke comes first"
                .to_owned()
        }
        EdgeMove::Quicker | EdgeMove::Slower => "another change goes first".to_owned(),
    }
}

/// The comment at the edge.
pub fn tempo(of: &Choices) -> String {
    if of.edge_waits {
        let due = if of.edge.moved == EdgeMove::Quicker { "may get quicker" } else { "should get slower" };
        return format!(
            "The edge {due}, but one thing changes at a time: {} once more. Count both, and write them down.",
            seconds(of.edge.to)
        );
    }
    let why = match of.edge.moved {
        EdgeMove::Quicker | EdgeMove::Slower => edge_clause(of),
        _ => format!("The edge stays at {}: {}", seconds(of.edge.to), stays(of)),
    };
    format!("{why}. Count both, and write them down.")
}

/// The comment at the drill.
pub fn focus(of: &Choices, words: Option<&str>) -> String {
    let focus = words.map_or_else(|| "the focus".to_owned(), |words| format!("\"{words}\""));
    match of.focus.as_ref().map(|chosen| chosen.why) {
        Some(WhyFocus::GoesOn(times)) => {
            format!("The drill that goes with {focus}: practice {times} of {PRACTICES} with this focus.")
        }
        Some(WhyFocus::Untouched(days)) => {
            format!("The drill that goes with {focus}, untouched for {days} days.")
        }
        Some(WhyFocus::LongAgo(days)) => {
            format!("The drill that goes with {focus}, whose last turn was {days} days ago.")
        }
        Some(WhyFocus::Won(times)) => {
            format!(
                "The drill that goes with {focus}, which holds the count lower: practice {times} of {PRACTICES} with it since."
            )
        }
        Some(WhyFocus::Waits) => {
            format!("The drill that goes with {focus}. Another focus is due, and waits for what changes today.")
        }
        Some(WhyFocus::Compared) => {
            format!(
                "Today's phrase is {focus}: chance chose it, so that the two can be compared. The drill is the same with both."
            )
        }
        _ => format!("The drill that goes with {focus}."),
    }
}

/// What the distance is held against.
pub fn volume(of: &Choices) -> String {
    of.volume.map_or_else(String::new, |bound| {
        let VolumeBound { of_late, most, .. } = bound;
        match of.kind {
            PracticeKind::Ordinary | PracticeKind::Baseline => {
                format!("; {of_late:.0} m in the mean of late, so {most:.0} m at most")
            }
            _ => format!("; {of_late:.0} m in the mean of late"),
        }
    })
}

/// What came of two phrases that took turns, while that is news.
pub fn verdict(of: &Choices) -> Option<String> {
    let JudgedPair { pair: PhrasePair { first, second, .. }, verdict, after, .. } = of.judged.as_ref()?;
    let both = format!("{first} and {second}");
    Some(match verdict {
        PairVerdict::Turns => return None,
        PairVerdict::Lower { phrase, by: (low, high) } => format!(
            "Of {both}, {phrase} holds the count lower, by {low:.1} to {high:.1} strokes, after {after} practices: it goes on, and the other one is dropped."
        ),
        PairVerdict::Same { within } => format!(
            "{both} make no difference that matters, at most {within:.1} strokes, after {after} practices; they take turns no more."
        ),
        PairVerdict::CannotTell { seen: Some(seen) } => format!(
            "Which of {both} works cannot be told after {after} practices, and a difference of {:.1} strokes would have shown; they take turns no more.",
            libm::ceil(10.0 * seen) / 10.0
        ),
        PairVerdict::CannotTell { seen: None } => format!(
            "Which of {both} works cannot be told: in {after} practices there were too few counts; they take turns no more."
        ),
    })
}

/// What is to be read before anybody gets in.
pub fn cautions(of: &Choices) -> Vec<String> {
    let mut found = Vec::new();
    if of.kind == PracticeKind::Sore {
        found.push(
            "See a professional before you go on. Stop what hurts. It stays like this until the log has that nothing hurts."
                .to_owned(),
        );
    }
    if let Some(load) = of.load.filter(|load| load.minutes_left() < f64::INFINITY && load.so_far > 0.0) {
        found.push(format!(
            "This week's load so far is {:.0} of at most {:.0}, {:.0} % of the mean of the weeks before (effort x minutes; the evidence for such a bound is weak).",
            load.so_far,
            load.most(),
            100.0 * load::MOST
        ));
    }
    found
}
