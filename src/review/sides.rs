//! What a side, a cue, or one of two phrases makes of the count: lengths with it against lengths without, each as it lies above the line.

use crate::notebook::PhrasePair;
use crate::notebook::evidence::NotedCount;
use crate::swimmer::fit::compare::{CueComparison, CueDesign, CuedCount, Cueing};
use crate::swimmer::fit::lengths::FittedStrokes;

/// One side has so many breaths for each of the other where it counts as the side of a repeat.
const MOSTLY: u32 = 2;

/// Two kinds of lengths, compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// How many counts there are of each.
    pub counts: [usize; 2],
    /// How many strokes more the first kind has, in an interval that holds for all looks together: a review is looked at again and
    /// again.
    pub found: CueComparison,
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

/// Lengths with the one phrase of a pair against lengths with the other, from the day on which they began to take turns.
pub fn first_against_second(noted: &[&NotedCount], fitted: &FittedStrokes, pair: &PhrasePair) -> Compared {
    let since: Vec<&NotedCount> = noted.iter().copied().filter(|noted| noted.day >= pair.begun).collect();
    compare(&since, fitted, |noted| {
        let has = |phrase: &str| noted.phrases.iter().any(|known| known == phrase);
        match (has(&pair.first), has(&pair.second)) {
            (true, false) => Some(true),
            (false, true) => Some(false),
            _ => None,
        }
    })
}

fn compare(noted: &[&NotedCount], fitted: &FittedStrokes, first: impl Fn(&NotedCount) -> Option<bool>) -> Compared {
    let day = |noted: &NotedCount| noted.count.days_ago() as u32;
    let cued = |noted: &&NotedCount| {
        let cueing = if first(noted)? { Cueing::First } else { Cueing::Second };
        Some(CuedCount { practice: day(noted), cueing, off: fitted.residual(&noted.count) })
    };
    let counts: Vec<CuedCount> = noted.iter().filter_map(cued).collect();
    let (one, other): (Vec<&CuedCount>, Vec<&CuedCount>) =
        counts.iter().partition(|count| count.cueing == Cueing::First);
    // A day that has both tells most; where no day has, days are compared.
    let on_one_day = one.iter().any(|count| other.iter().any(|other| other.practice == count.practice));
    let design = if on_one_day { CueDesign::WithinPractice } else { CueDesign::ByPractice };
    Compared { counts: [one.len(), other.len()], found: CueComparison::of(design, &counts) }
}
