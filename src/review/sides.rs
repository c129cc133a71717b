//! What a side, or a cue, makes of the count: lengths with it against lengths without, each as it lies above the line.

use crate::notebook::evidence::NotedCount;
use crate::swimmer::fit::difference::Difference;
use crate::swimmer::fit::lengths::FittedStrokes;

/// One side has so many breaths for each of the other where it counts as the side of a repeat.
const MOSTLY: u32 = 2;

/// Two kinds of lengths, compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// How many counts there are of each.
    pub counts: [usize; 2],
    /// How many strokes more the first kind has; none with fewer than two counts of a kind.
    pub difference: Option<Difference>,
}

/// Lengths with breaths to the left against those with breaths to the right.
pub fn left_against_right(noted: &[&NotedCount], fitted: &FittedStrokes) -> Compared {
    let mostly = |one: u32, other: u32| one > 0 && one >= MOSTLY * other;
    compare(noted, fitted, |noted| {
        let (left, right) = noted.breaths;
        if mostly(left, right) { Some(true) } else { mostly(right, left).then_some(false) }
    })
}

/// Lengths of test swims, on which nothing is heard, against those on which a phrase was: both with the focus in force.
pub fn silent_against_cued(noted: &[&NotedCount], fitted: &FittedStrokes, phrase: &str) -> Compared {
    compare(noted, fitted, |noted| noted.phrases.iter().any(|known| known == phrase).then_some(noted.test))
}

fn compare(noted: &[&NotedCount], fitted: &FittedStrokes, first: impl Fn(&NotedCount) -> Option<bool>) -> Compared {
    let of = |wanted: bool| {
        let chosen = noted.iter().filter(|noted| first(noted) == Some(wanted));
        chosen.map(|noted| fitted.residual(&noted.count)).collect::<Vec<f64>>()
    };
    let (one, other) = (of(true), of(false));
    Compared { counts: [one.len(), other.len()], difference: Difference::of(&one, &other) }
}
