//! All answers for one swimmer.

use super::breaths::{BreathTotals, breaths};
use super::counts::{CountReview, WINDOW, counts};
use super::focus::{FocusRow, focus};
use super::held::{HeldTotals, held};
use super::sides::{Compared, first_against_second, left_against_right, silent_against_cued};
use super::speed::{SpeedRow, speeds};
use super::splits::{SplitRow, splits};
use super::week::{WeekRow, weeks};
use crate::notebook::PhrasePair;
use crate::notebook::entry::LoggedPractice;
use crate::notebook::evidence::{self, NotedCount};
use crate::notebook::known::critical;
use crate::swimmer::fit::critical::{CriticalSpeed, NoCriticalSpeed};
use crate::swimmer::fit::lengths::{FittedStrokes, StrokesBefore};
use crate::swimmer::fit::load::WeekLoad;
use crate::units::calendar::Day;
use crate::units::swim::PoolLength;

/// What the notebook says of a swimmer.
#[derive(Clone, Debug, PartialEq)]
pub struct Review {
    /// The name.
    pub swimmer: String,
    /// As seen on this day.
    pub today: Day,
    /// All practices.
    pub practices: usize,
    /// Those of the last four weeks.
    pub recent: usize,
    /// The metres of those.
    pub metres: f64,
    /// The day of the last one.
    pub last: Option<Day>,
    /// Counts, for each pool that was counted in; the one counted in last comes first.
    pub counts: Vec<CountReview>,
    /// Lengths with both count and time.
    pub speeds: Vec<SpeedRow>,
    /// The critical speed of the last three months' tests, or why there is none.
    pub critical: Result<CriticalSpeed, NoCriticalSpeed>,
    /// Timed sets.
    pub splits: Vec<SplitRow>,
    /// Focus phrases.
    pub focus: Vec<FocusRow>,
    /// Whether the stroke held in the last four weeks.
    pub held: HeldTotals,
    /// Breaths of the last four weeks.
    pub breaths: BreathTotals,
    /// Counts with breaths to the left against those to the right.
    pub sides: Option<Compared>,
    /// For each phrase: counts without its cue against those with it.
    pub cues: Vec<(String, Compared)>,
    /// Two phrases that take turns, and which holds the count.
    pub words: Option<(PhrasePair, Compared)>,
    /// Weeks, with what each asked for.
    pub weeks: Vec<(WeekRow, WeekLoad)>,
}

impl Review {
    /// Of a swimmer's practices, the oldest first, over so many weeks. `before` is what is known without the notebook.
    pub fn of(swimmer: &str, practices: &[LoggedPractice], before: &StrokesBefore, today: Day, shown: usize) -> Self {
        Self::comparing(swimmer, practices, before, today, shown, None)
    }

    /// The same of somebody who compares two phrases.
    pub fn comparing(
        swimmer: &str,
        practices: &[LoggedPractice],
        before: &StrokesBefore,
        today: Day,
        shown: usize,
        pair: Option<PhrasePair>,
    ) -> Self {
        let noted = evidence::counts(practices, today);
        let recent: Vec<&LoggedPractice> =
            practices.iter().filter(|practice| today.days_since(practice.day) < WINDOW).collect();
        let all: Vec<_> = noted.iter().map(|noted| noted.count).collect();
        let fits: Vec<FittedStrokes> =
            pools(&noted).into_iter().filter_map(|pool| FittedStrokes::fit(before, pool, &all)).collect();
        let fitted = fits.first();
        let pool = fitted.map(FittedStrokes::pool);
        let here: Vec<&NotedCount> = noted.iter().filter(|noted| Some(noted.count.pool()) == pool).collect();
        let focus = focus(practices, today, shown);
        let cue = |row: &FocusRow| Some((row.phrase.clone(), silent_against_cued(&here, fitted?, &row.phrase)));
        Self {
            swimmer: swimmer.to_owned(),
            today,
            practices: practices.len(),
            recent: recent.len(),
            metres: recent.iter().map(|practice| practice.metres()).sum(),
            last: practices.last().map(|practice| practice.day),
            counts: fits.iter().filter_map(|fitted| counts(&noted, fitted, before, today)).collect(),
            speeds: speeds(&noted),
            critical: critical(practices, today),
            splits: splits(practices),
            held: held(recent.iter().copied()),
            breaths: breaths(recent),
            sides: fitted.map(|fitted| left_against_right(&here, fitted)),
            cues: focus.iter().filter_map(cue).filter(|(_, compared)| !compared.counts.contains(&0)).collect(),
            focus,
            words: pair.zip(fitted).map(|(pair, fitted)| {
                let compared = first_against_second(&here, fitted, &pair);
                (pair, compared)
            }),
            weeks: weeks(practices, today, shown)
                .into_iter()
                .map(|week| (week.clone(), WeekLoad::of(&week.loads)))
                .collect(),
        }
    }
}

/// The pools that were counted in, the latest first.
fn pools(noted: &[NotedCount]) -> Vec<PoolLength> {
    let mut pools = Vec::new();
    for noted in noted.iter().rev() {
        if !pools.contains(&noted.count.pool()) {
            pools.push(noted.count.pool());
        }
    }
    pools
}
