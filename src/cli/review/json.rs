//! The review as JSON, for other programs. The records here are the format: fields are added, never renamed.

use crate::diag::shown::Shown;
use crate::review::counts::{CountReview, TempoCount};
use crate::review::sides::Compared;
use crate::review::splits::SplitRow;
use crate::review::whole::Review;
use crate::swimmer::fit::breaking::{Breaking, CountsWanted};
use crate::swimmer::fit::compare::{CueVerdict, Cueing};
use crate::swimmer::fit::difference::Difference;
use serde::Serialize;

#[derive(Serialize)]
struct ReviewRecord<'a> {
    swimmer: &'a str,
    day: String,
    practices: usize,
    practices_four_weeks: usize,
    metres_four_weeks: f64,
    last: Option<String>,
    counts: Vec<CountRecord>,
    speeds: Vec<SpeedRecord>,
    critical: Option<CriticalRecord>,
    splits: Vec<SplitRecord<'a>>,
    focus: Vec<FocusHistoryRecord<'a>>,
    held: HeldRecord<'a>,
    breaths_left: u64,
    breaths_right: u64,
    left_against_right: Option<ComparedRecord>,
    silent_against_cued: Vec<CueRecord<'a>>,
    words: Option<WordsRecord<'a>>,
    weeks: Vec<WeekRecord>,
}

#[derive(Serialize)]
struct CountRecord {
    pool: String,
    counts: usize,
    counts_four_weeks: usize,
    trend: &'static str,
    change: Option<DifferenceRecord>,
    relaxed: TempoCountRecord,
    quickest_held: Option<TempoCountRecord>,
    quickest_held_then: Option<TempoCountRecord>,
    breaking: Option<BreakingRecord>,
    tempos: Vec<TempoRecord>,
}

#[derive(Serialize)]
struct DifferenceRecord {
    mean: f64,
    low: f64,
    high: f64,
}

#[derive(Serialize)]
struct TempoCountRecord {
    tempo_s: f64,
    count: f64,
}

#[derive(Serialize)]
struct TempoRecord {
    tempo_s: f64,
    counts: usize,
    count: f64,
    low: f64,
    high: f64,
    count_then: Option<f64>,
    best: Option<f64>,
    best_day: Option<String>,
}

#[derive(Serialize)]
struct SpeedRecord {
    day: String,
    tempo_s: f64,
    speed_m_s: f64,
    per_stroke_m: f64,
    stroke_index: f64,
}

#[derive(Serialize)]
struct CriticalRecord {
    speed_m_s: f64,
    speed_error_m_s: Option<f64>,
    reserve_m: f64,
    tests: usize,
}

#[derive(Serialize)]
struct SplitRecord<'a> {
    day: String,
    set: &'a str,
    timed: usize,
    planned_s: f64,
    swum_s: f64,
    second_half: Option<f64>,
    apart: Option<u32>,
    held: Option<bool>,
}

#[derive(Serialize)]
struct HeldRecord<'a> {
    practices: usize,
    held: usize,
    last_apart: Option<ApartRecord<'a>>,
}

#[derive(Serialize)]
struct ApartRecord<'a> {
    day: String,
    set: &'a str,
    repeat: u32,
}

#[derive(Serialize)]
struct FocusHistoryRecord<'a> {
    phrase: &'a str,
    strokes_by_week: &'a [u64],
    practices: usize,
    last: String,
    days_ago: i32,
    untouched: bool,
}

#[derive(Serialize)]
struct ComparedRecord {
    counts: [usize; 2],
    practices: [u32; 2],
    verdict: &'static str,
    /// Practices that it may still take.
    more: Option<u32>,
    difference: Option<DifferenceRecord>,
}

#[derive(Serialize)]
struct WordsRecord<'a> {
    first: &'a str,
    second: &'a str,
    since: String,
    #[serde(flatten)]
    compared: ComparedRecord,
}

/// Where the count leaves its line: one of the three.
#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
enum BreakingRecord {
    At { tempo_s: f64, from_s: f64, to_s: f64, more: Option<WantedRecord> },
    HoldsTo { tempo_s: f64, next: WantedRecord },
    NotEnough { more: WantedRecord },
}

#[derive(Serialize)]
struct WantedRecord {
    counts: u32,
    tempo_s: f64,
}

#[derive(Serialize)]
struct CueRecord<'a> {
    phrase: &'a str,
    #[serde(flatten)]
    compared: ComparedRecord,
}

#[derive(Serialize)]
struct WeekRecord {
    monday: String,
    practices: usize,
    metres: f64,
    minutes: f64,
    load: f64,
    monotony: Option<f64>,
    strain: Option<f64>,
    unrated: usize,
}

/// One swimmer.
pub(super) fn one(review: &Review) -> Shown {
    Shown::json(&record(review))
}

/// A squad: a list.
pub(super) fn squad(reviews: &[Review]) -> Shown {
    Shown::json(&reviews.iter().map(record).collect::<Vec<_>>())
}

fn record(review: &Review) -> ReviewRecord<'_> {
    ReviewRecord {
        swimmer: &review.swimmer,
        day: review.today.to_string(),
        practices: review.practices,
        practices_four_weeks: review.recent,
        metres_four_weeks: review.metres,
        last: review.last.map(|day| day.to_string()),
        counts: review.counts.iter().map(count).collect(),
        speeds: review
            .speeds
            .iter()
            .map(|row| SpeedRecord {
                day: row.day.to_string(),
                tempo_s: row.tempo,
                speed_m_s: row.speed,
                per_stroke_m: row.per_stroke,
                stroke_index: row.index(),
            })
            .collect(),
        critical: review.critical.as_ref().ok().map(|critical| CriticalRecord {
            speed_m_s: critical.speed,
            speed_error_m_s: critical.speed_error,
            reserve_m: critical.reserve,
            tests: critical.trials,
        }),
        splits: review.splits.iter().map(split).collect(),
        focus: review
            .focus
            .iter()
            .map(|row| FocusHistoryRecord {
                phrase: &row.phrase,
                strokes_by_week: &row.weeks,
                practices: row.practices,
                last: row.last.to_string(),
                days_ago: row.days,
                untouched: row.is_untouched(),
            })
            .collect(),
        held: HeldRecord {
            practices: review.held.told,
            held: review.held.held,
            last_apart: review.held.last.as_ref().map(|last| ApartRecord {
                day: last.day.to_string(),
                set: &last.set,
                repeat: last.repeat,
            }),
        },
        breaths_left: review.breaths.left,
        breaths_right: review.breaths.right,
        left_against_right: review.sides.as_ref().map(compared),
        silent_against_cued: review
            .cues
            .iter()
            .map(|(phrase, of)| CueRecord { phrase, compared: compared(of) })
            .collect(),
        words: review.words.as_ref().map(|(pair, of)| WordsRecord {
            first: &pair.first,
            second: &pair.second,
            since: pair.begun.to_string(),
            compared: compared(of),
        }),
        weeks: review
            .weeks
            .iter()
            .map(|(week, load)| WeekRecord {
                monday: week.monday.to_string(),
                practices: week.practices,
                metres: week.metres,
                minutes: week.minutes,
                load: load.total,
                monotony: load.monotony,
                strain: load.strain,
                unrated: week.unrated,
            })
            .collect(),
    }
}

fn split(row: &SplitRow) -> SplitRecord<'_> {
    SplitRecord {
        day: row.day.to_string(),
        set: &row.set,
        timed: row.timed,
        planned_s: row.planned,
        swum_s: row.swum,
        second_half: row.faded,
        apart: row.apart,
        held: row.held,
    }
}

fn count(review: &CountReview) -> CountRecord {
    let [counts, counts_four_weeks] = review.counts;
    CountRecord {
        pool: review.pool.to_string(),
        counts,
        counts_four_weeks,
        trend: review.trend().words(),
        change: review.change.as_ref().map(difference),
        relaxed: tempo_count(review.relaxed),
        quickest_held: review.quickest.map(tempo_count),
        quickest_held_then: review.quickest_then.map(tempo_count),
        breaking: review.breaking.as_ref().map(breaking),
        tempos: review
            .rows
            .iter()
            .map(|row| TempoRecord {
                tempo_s: row.tempo.as_f64(),
                counts: row.counts,
                count: row.now.count,
                low: row.now.low,
                high: row.now.high,
                count_then: row.then,
                best: row.best.map(|(count, _)| count),
                best_day: row.best.map(|(_, day)| day.to_string()),
            })
            .collect(),
    }
}

fn tempo_count(of: TempoCount) -> TempoCountRecord {
    TempoCountRecord { tempo_s: of.tempo.as_f64(), count: of.count }
}

fn difference(of: &Difference) -> DifferenceRecord {
    DifferenceRecord { mean: of.mean, low: of.low, high: of.high }
}

fn compared(of: &Compared) -> ComparedRecord {
    let found = &of.found;
    let (verdict, more) = match found.verdict {
        CueVerdict::Lower(Cueing::First) => ("first-lower", None),
        CueVerdict::Lower(Cueing::Second) => ("second-lower", None),
        CueVerdict::Same => ("same", None),
        CueVerdict::CannotTell { more } => ("cannot-tell", more),
    };
    let bounded = found.difference.filter(|_| found.low.is_finite() && found.high.is_finite());
    let difference = bounded.map(|mean| DifferenceRecord { mean, low: found.low, high: found.high });
    ComparedRecord { counts: of.counts, practices: found.practices.into(), verdict, more, difference }
}

fn breaking(of: &Breaking) -> BreakingRecord {
    let wanted = |of: &CountsWanted| WantedRecord { counts: of.counts, tempo_s: of.tempo.as_f64() };
    match *of {
        Breaking::At { tempo, low, high, more } => {
            BreakingRecord::At { tempo_s: tempo, from_s: low, to_s: high, more: more.as_ref().map(wanted) }
        }
        Breaking::HoldsTo { tempo, next } => BreakingRecord::HoldsTo { tempo_s: tempo, next: wanted(&next) },
        Breaking::NotEnough(more) => BreakingRecord::NotEnough { more: wanted(&more) },
    }
}
