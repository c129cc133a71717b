//! Counts against tempo: now, and four weeks ago.

use super::trend::Trend;
use crate::notebook::evidence::NotedCount;
use crate::swimmer::fit::breaking::Breaking;
use crate::swimmer::fit::counts::{Condition, LengthCount};
use crate::swimmer::fit::difference::Difference;
use crate::swimmer::fit::lengths::{CountForecast, FittedStrokes, StrokesBefore};
use crate::units::calendar::Day;
use crate::units::swim::PoolLength;
use crate::units::time::Tempo;
use std::collections::BTreeMap;

/// "Now" and "then" are so many days each. Our choice: a stroke is expected to change over weeks.
pub const WINDOW: i32 = 28;
/// Tempos are looked at in steps of so many milliseconds, as people write them.
const STEP: u64 = 50;
/// With so many strokes more than relaxed it is still the same stroke. Common practice, no source.
pub const HELD: f64 = 1.0;

/// The counts of one pool.
#[derive(Clone, Debug, PartialEq)]
pub struct CountReview {
    /// The pool.
    pub pool: PoolLength,
    /// How many counts there are, and how many of them in the last four weeks.
    pub counts: [usize; 2],
    /// Each tempo that was counted, the slowest first.
    pub rows: Vec<TempoRow>,
    /// How many strokes more (below 0: fewer) a length has now at the same tempo; none without counts of two days
    /// in both windows.
    pub change: Option<Difference>,
    /// The tempo swum by feel, and its count.
    pub relaxed: TempoCount,
    /// The quickest tempo counted so far at which the count is held within [`HELD`] of the relaxed one.
    pub quickest: Option<TempoCount>,
    /// The same as it was four weeks ago.
    pub quickest_then: Option<TempoCount>,
    /// The tempo at which the count leaves its line, or what it would take to know.
    pub breaking: Option<Breaking>,
}

impl CountReview {
    /// How the count has changed.
    pub fn trend(&self) -> Trend {
        self.change.as_ref().map_or(Trend::Unclear, Trend::of_strokes)
    }
}

/// A tempo with its count.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TempoCount {
    /// Seconds per stroke.
    pub tempo: Tempo,
    /// Strokes of a length, not rounded.
    pub count: f64,
}

/// One tempo.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TempoRow {
    /// Seconds per stroke, to 0.05 s.
    pub tempo: Tempo,
    /// How many counts there are of it, in all.
    pub counts: usize,
    /// What is expected of a length now, with the interval that holds eight of ten.
    pub now: CountForecast,
    /// What was expected four weeks ago, where there were counts then.
    pub then: Option<f64>,
    /// The fewest strokes at it, and when.
    pub best: Option<(f64, Day)>,
}

/// Reviews the counts of the pool that the line through all counts was `fitted` for, as seen on `today`. `before` is what was known
/// without them. `None` without a count.
pub fn counts(noted: &[NotedCount], fitted: &FittedStrokes, before: &StrokesBefore, today: Day) -> Option<CountReview> {
    let pool = fitted.pool();
    let here: Vec<&NotedCount> = noted.iter().filter(|noted| noted.count.pool() == pool).collect();
    let earlier = then(noted, before, pool);
    let recent = |noted: &&&NotedCount| today.days_since(noted.day) < WINDOW;
    let rows: Vec<TempoRow> =
        tempos(&here).into_iter().map(|tempo| row(tempo, &here, fitted, earlier.as_ref())).collect();
    // Beyond the tempos that were counted the line is a guess.
    let (slow, quick) = (rows.first()?.tempo, rows.last()?.tempo);
    let usual = before.usual.as_f64();
    let tempo = if usual > slow.as_f64() {
        slow
    } else if usual < quick.as_f64() {
        quick
    } else {
        before.usual
    };
    let relaxed = |fitted: &FittedStrokes| TempoCount { tempo, count: fitted.predict(tempo, Condition::Fresh).count };
    let quickest = |fitted: &FittedStrokes| {
        let held = |tempo: &Tempo| fitted.predict(*tempo, Condition::Fresh).count <= relaxed(fitted).count + HELD;
        let tempo = finely(&rows).into_iter().take_while(held).last()?;
        Some(TempoCount { tempo, count: fitted.predict(tempo, Condition::Fresh).count })
    };
    Some(CountReview {
        pool,
        counts: [here.len(), here.iter().filter(recent).count()],
        change: change(&here, fitted, today),
        relaxed: relaxed(fitted),
        quickest: quickest(fitted),
        quickest_then: earlier.as_ref().and_then(quickest),
        breaking: Breaking::of(before, pool, &here.iter().map(|noted| noted.count).collect::<Vec<_>>()),
        rows,
    })
}

/// What was known four weeks ago: the counts until then, as old as they were.
fn then(noted: &[NotedCount], before: &StrokesBefore, pool: PoolLength) -> Option<FittedStrokes> {
    let counts: Vec<LengthCount> = noted.iter().filter_map(|noted| noted.count.as_of(f64::from(WINDOW))).collect();
    let here = counts.iter().any(|count| count.pool() == pool);
    here.then(|| FittedStrokes::fit(before, pool, &counts))?
}

/// The tempos that were counted, each to the nearest step, the slowest first.
fn tempos(noted: &[&NotedCount]) -> Vec<Tempo> {
    let mut steps: Vec<u64> = noted.iter().filter_map(|noted| Some(step(noted.tempo?))).collect();
    steps.sort_unstable_by(|a, b| b.cmp(a));
    steps.dedup();
    steps.into_iter().map(Tempo::from_millis).collect()
}

fn step(tempo: f64) -> u64 {
    libm::round(tempo * 1000.0 / STEP as f64) as u64 * STEP
}

/// Tempos from the slowest to the quickest row in hundredths, as a coach sets them.
fn finely(rows: &[TempoRow]) -> Vec<Tempo> {
    let millis = |row: Option<&TempoRow>| row.map_or(0, |row| libm::round(row.tempo.as_f64() * 100.0) as u64);
    let (slow, quick) = (millis(rows.first()), millis(rows.last()));
    (quick..=slow).rev().map(|centis| Tempo::from_millis(centis * 10)).collect()
}

fn row(tempo: Tempo, noted: &[&NotedCount], fitted: &FittedStrokes, then: Option<&FittedStrokes>) -> TempoRow {
    let millis = libm::round(tempo.as_f64() * 1000.0) as u64;
    let here: Vec<&&NotedCount> = noted.iter().filter(|noted| noted.tempo.map(step) == Some(millis)).collect();
    let fewest = here.iter().min_by(|a, b| a.count.count().total_cmp(&b.count.count()));
    TempoRow {
        tempo,
        counts: here.len(),
        now: fitted.predict(tempo, Condition::Fresh),
        then: then.map(|then| then.predict(tempo, Condition::Fresh).count),
        best: fewest.map(|noted| (noted.count.count(), noted.day)),
    }
}

/// The counts of the last four weeks against those of the four before, each as it lies above the line through all. A day is one value,
/// since all its counts share the day's form.
fn change(noted: &[&NotedCount], fitted: &FittedStrokes, today: Day) -> Option<Difference> {
    let within = |from: i32| {
        let mut days: BTreeMap<Day, Vec<f64>> = BTreeMap::new();
        for noted in noted.iter().filter(|noted| (from..from + WINDOW).contains(&today.days_since(noted.day))) {
            days.entry(noted.day).or_default().push(fitted.residual(&noted.count));
        }
        days.values().map(|day| day.iter().sum::<f64>() / day.len() as f64).collect::<Vec<f64>>()
    };
    Trend::change(&within(0), &within(WINDOW))
}
