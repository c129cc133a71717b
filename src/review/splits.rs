//! Times against those that were planned, set by set.

use crate::notebook::entry::{LoggedPractice, LoggedSet, Measure};
use crate::units::calendar::Day;

/// One set whose repeats were timed.
#[derive(Clone, Debug, PartialEq)]
pub struct SplitRow {
    /// The day.
    pub day: Day,
    /// The title of the set.
    pub set: String,
    /// How many of its repeats were timed.
    pub timed: usize,
    /// Their planned seconds, in the mean.
    pub planned: f64,
    /// Their seconds as swum, in the mean.
    pub swum: f64,
    /// How much slower the second half of the timed repeats was than the first, as a share; from four of one distance on.
    pub faded: Option<f64>,
    /// The repeat from which the swimmer said it fell apart.
    pub apart: Option<u32>,
    /// Whether the stroke held in it, where the swimmer said so or named other sets alone.
    pub held: Option<bool>,
}

/// The sets with times, in their order.
pub fn splits(practices: &[LoggedPractice]) -> Vec<SplitRow> {
    let rows = |practice: &LoggedPractice| -> Vec<SplitRow> {
        practice.sets.iter().filter_map(|set| row(practice, set)).collect()
    };
    practices.iter().flat_map(rows).collect()
}

fn row(practice: &LoggedPractice, set: &LoggedSet) -> Option<SplitRow> {
    let timed: Vec<(f64, f64, f64)> = set
        .repeats
        .iter()
        .filter_map(|repeat| Some((repeat.metres, repeat.predicted?, repeat.value(Measure::Time, None)?)))
        .collect();
    let mean = |of: fn(&(f64, f64, f64)) -> f64| timed.iter().map(of).sum::<f64>() / timed.len() as f64;
    (!timed.is_empty()).then(|| SplitRow {
        day: practice.day,
        set: set.title.clone(),
        timed: timed.len(),
        planned: mean(|(_, planned, _)| *planned),
        swum: mean(|(_, _, swum)| *swum),
        faded: faded(&timed),
        apart: set.apart,
        held: practice.held(set),
    })
}

/// The middle one of an odd number belongs to neither half. Repeats that were planned to be quicker later are held against
/// their plan.
fn faded(timed: &[(f64, f64, f64)]) -> Option<f64> {
    let alike = timed.iter().all(|(metres, ..)| (metres - timed[0].0).abs() < 0.5);
    let half = timed.len() / 2;
    let share = |part: &[(f64, f64, f64)]| {
        part.iter().map(|(_, _, swum)| swum).sum::<f64>() / part.iter().map(|(_, planned, _)| planned).sum::<f64>()
    };
    (alike && half >= 2).then(|| share(&timed[timed.len() - half..]) / share(&timed[..half]) - 1.0)
}
