//! A board in words, line by line, for the one who wrote it to compare.

use crate::diag::{Sources, Span};
use crate::script::Phase;
use crate::whiteboard::board::{Board, BoardEntry, BoardItem, BoardKey, BoardSwim, Reach, sorted};
use crate::whiteboard::context::BoardWater;

/// What was understood of an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Understood {
    /// The board's own words, blanks made one.
    pub board: String,
    /// What they mean, one line for each swim.
    pub means: Vec<String>,
    /// What was not on the board.
    pub assumed: Vec<String>,
}

/// Every entry in words.
pub fn explain(board: &Board, place: &BoardWater, sources: &Sources) -> Vec<Understood> {
    board.entries.iter().map(|entry| understood(entry, place, sources)).collect()
}

/// The board's own words on one line.
pub fn quoted(span: Span, sources: &Sources) -> String {
    sources.slice(span).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn understood(entry: &BoardEntry, place: &BoardWater, sources: &Sources) -> Understood {
    let mut assumed = Vec::new();
    let mut means = match &entry.item {
        BoardItem::LeftOut(_) => vec!["left out".to_owned()],
        BoardItem::Rest(rest) => vec![rest.words.clone()],
        BoardItem::Swim(swim) => vec![said(swim, place, &mut assumed)],
        BoardItem::Rounds { count, between, shared, swims, whole } => {
            let rounds = if *count == 1 { "once".to_owned() } else { format!("{count} rounds") };
            let mut head = whole.as_ref().map_or(rounds, |(repeats, reach)| far(*repeats, reach, place));
            for key in between.iter().chain(shared) {
                head = format!("{head}, {}", key.words);
                if key.assumed {
                    assumed.push(format!("{} between, as the board gives none", key.words));
                }
            }
            if whole.is_some() {
                head =
                    if *count == 1 { format!("{head}: one after another") } else { format!("{head}: {count} times") };
            }
            let swims = swims.iter().map(|swim| format!("  {}", said(swim, place, &mut assumed)));
            let of = if whole.is_some() { "" } else { ", of" };
            std::iter::once(format!("{head}{of}")).chain(swims).collect()
        }
    };
    if let (Some(phase), Some(first)) = (entry.phase, means.first_mut()) {
        let name = phase_word(phase);
        *first = format!("{first}; {name}");
        if entry.guessed {
            let place = if phase == Phase::WarmUp { "first" } else { "last" };
            assumed.push(format!("{name}, as it is {place} and easy"));
        }
    }
    assumed.dedup();
    Understood { board: quoted(entry.span, sources), means, assumed }
}

/// The word of a phase.
pub fn phase_word(phase: Phase) -> &'static str {
    Phase::ALL.iter().find(|(_, other)| *other == phase).map_or("", |(word, _)| word)
}

/// How many and how far: `4 x 50 m`, `50, 100, 50 m`, `10 min`.
pub fn far(repeats: u32, reach: &Reach, place: &BoardWater) -> String {
    let sign = place.unit.sign();
    let each = match reach {
        Reach::Minutes(minutes) => format!("{minutes} min"),
        Reach::Distances(each) => {
            let each: Vec<_> = each.iter().map(u32::to_string).collect();
            format!("{} {sign}", each.join(", "))
        }
    };
    if repeats > 1 { format!("{repeats} x {each}") } else { each }
}

/// One swim in words; what was assumed for it is added to a list.
fn said(swim: &BoardSwim, place: &BoardWater, assumed: &mut Vec<String>) -> String {
    let mut text = far(swim.repeats, &swim.reach, place);
    for key in sorted(&swim.keys) {
        text = format!("{text}, {}", key.words);
        if key.assumed {
            assumed.push(format!("{} between, as the board gives none", key.words));
        }
    }
    if !swim.lengths.is_empty() {
        text = format!("{text}; its lengths: {}", lengths(&swim.lengths).join(", then "));
        if swim.each_length {
            assumed.push("one length of each, as the board gives no distances".to_owned());
        }
    }
    text
}

/// Lengths in words, equal neighbours counted.
fn lengths(lengths: &[Vec<BoardKey>]) -> Vec<String> {
    let words = |keys: &[BoardKey]| keys.iter().map(|key| key.words.as_str()).collect::<Vec<_>>().join(" ");
    let mut runs: Vec<(usize, String)> = Vec::new();
    for length in lengths.iter().map(|keys| words(keys)) {
        match runs.last_mut() {
            Some((count, last)) if *last == length => *count += 1,
            _ => runs.push((1, length)),
        }
    }
    runs.into_iter().map(|(count, words)| if count > 1 { format!("{count} {words}") } else { words }).collect()
}
