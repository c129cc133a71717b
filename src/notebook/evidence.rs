//! What a swimmer's practices prove: counts of whole crawl at a known speed, timed swims, and what each was swum with. A guess
//! proves nothing, and neither does a prediction.

use super::entry::{LoggedPractice, LoggedRepeat, LoggedSet, Measure};
use crate::script::quantity::swim;
use crate::swimmer::fit::counts::{Condition, CountedAt, LengthCount};
use crate::units::calendar::Day;
use crate::units::swim::PoolLength;
use crate::units::time::{Seconds, Tempo};

/// Sets of fewer repeats have no end that is unlike their beginning.
const LONG_SET: usize = 4;

/// One counted length with what is known of it.
#[derive(Clone, Debug, PartialEq)]
pub struct NotedCount {
    /// The day.
    pub day: Day,
    /// For the model.
    pub count: LengthCount,
    /// Seconds per stroke that were heard or tapped, where they are known.
    pub tempo: Option<f64>,
    /// The focus phrases in force in its repeat, by id.
    pub phrases: Vec<String>,
    /// Breaths of its repeat by the pattern, left and right.
    pub breaths: (u32, u32),
    /// Whether nothing was said or beaten while it was swum.
    pub test: bool,
}

/// A swim of whole crawl with its time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NotedTrial {
    /// The day.
    pub day: Day,
    /// How far, in metres.
    pub metres: f64,
    /// How long, in seconds.
    pub seconds: f64,
    /// Whether the script called it a test: swum as fast as it goes.
    pub test: bool,
}

/// The counts of a swimmer's practices, in their order, as seen on `today`.
pub fn counts(practices: &[LoggedPractice], today: Day) -> Vec<NotedCount> {
    let of = |practice: &LoggedPractice| {
        let Some(pool) = pool(practice) else { return Vec::new() };
        let days = f64::from(today.days_since(practice.day).max(0));
        let counted = practice.repeats().flat_map(|(set, repeat)| counted(pool, days, set, repeat));
        counted.map(|found| found.noted(practice.day)).collect()
    };
    practices.iter().flat_map(of).collect()
}

/// The swims of whole crawl whose time is known, in their order.
pub fn trials(practices: &[LoggedPractice]) -> Vec<NotedTrial> {
    let of = |practice: &LoggedPractice| {
        let day = practice.day;
        let timed = practice.repeats().filter(|(_, repeat)| is_whole(repeat)).filter_map(move |(_, repeat)| {
            let seconds = repeat.value(Measure::Time, None)?;
            Some(NotedTrial { day, metres: repeat.metres, seconds, test: repeat.test })
        });
        timed.collect::<Vec<_>>()
    };
    practices.iter().flat_map(of).collect()
}

/// The pool of a practice; none in open water.
pub fn pool(practice: &LoggedPractice) -> Option<PoolLength> {
    swim::pool(&practice.pool).ok()
}

/// Whether all of a repeat is whole crawl that was swum, or that nobody said was not.
fn is_whole(repeat: &LoggedRepeat) -> bool {
    repeat.plain.count() == repeat.lengths.max(1) && repeat.may_be_swum()
}

struct CountedLength<'p> {
    repeat: &'p LoggedRepeat,
    count: LengthCount,
    tempo: Option<f64>,
}

impl CountedLength<'_> {
    fn noted(self, day: Day) -> NotedCount {
        NotedCount {
            day,
            count: self.count,
            tempo: self.tempo,
            phrases: self.repeat.rehearsed.iter().map(|(phrase, _)| phrase.clone()).collect(),
            breaths: self.repeat.breaths,
            test: self.repeat.test,
        }
    }
}

fn counted<'p>(
    pool: PoolLength,
    days: f64,
    set: &LoggedSet,
    repeat: &'p LoggedRepeat,
) -> impl Iterator<Item = CountedLength<'p>> {
    let late = set.repeats.len() >= LONG_SET && (repeat.number as usize) * 4 > set.repeats.len() * 3;
    let condition = if late { Condition::EndOfSet } else { Condition::Fresh };
    let counts = repeat.proven().filter(|observed| observed.measure == Measure::Count);
    counts.filter_map(move |observed| {
        let (count, length) = match observed.length {
            Some(length) => (repeat.plain.contains(length).then_some(observed.value)?, Some(length)),
            // The strokes of the whole repeat, shared out.
            None => (is_whole(repeat).then(|| observed.value / f64::from(repeat.lengths.max(1)))?, None),
        };
        let tempo =
            repeat.value(Measure::Tempo, length).or_else(|| repeat.value(Measure::Tempo, None)).or(repeat.tempo);
        let at = speed(tempo, time(repeat, length))?;
        Some(CountedLength { repeat, count: LengthCount::new(days, pool, count, at, condition)?, tempo })
    })
}

/// The seconds of a length: its own, or its share of the repeat's where all its lengths are alike.
fn time(repeat: &LoggedRepeat, length: Option<u32>) -> Option<f64> {
    let own = length.and_then(|length| repeat.value(Measure::Time, Some(length)));
    let shared = || {
        let whole = is_whole(repeat).then(|| repeat.value(Measure::Time, None))?;
        whole.map(|time| time / f64::from(repeat.lengths.max(1)))
    };
    own.or_else(shared)
}

fn speed(tempo: Option<f64>, time: Option<f64>) -> Option<CountedAt> {
    let tempo = tempo.map(|tempo| Tempo::from_millis(libm::round(tempo * 1000.0) as u64));
    match (tempo, time.map(Seconds::from_estimate)) {
        (Some(tempo), Some(time)) => Some(CountedAt::Both(tempo, time)),
        (Some(tempo), None) => Some(CountedAt::Tempo(tempo)),
        (None, Some(time)) => Some(CountedAt::Time(time)),
        (None, None) => None,
    }
}
