//! Session load by week: session RPE × minutes (Foster 2001), and how much of it is left in a week.
//!
//! That a bound on it keeps anybody sound is weakly supported: it is a brake on eagerness, and no more.

use super::past;
use crate::notebook::entry::LoggedPractice;
use crate::units::calendar::Day;

/// So many weeks before this one are its measure. Our choice.
pub const WEEKS: i32 = 4;
/// A week has at most so much of their mean. Common practice; the evidence is weak.
pub const MOST: f64 = 1.10;
/// So many of them must have loads that are known. Our choice: one week says nothing.
pub const ENOUGH: usize = 2;
/// The effort that is expected where nobody said any: "somewhat hard". Our choice.
const EFFORT: f64 = 4.0;
/// The last practices whose hardest is what is expected of the next. Our choice: a bound is to be kept on a hard day too.
const OF_LATE: usize = 4;
/// The effort that is expected of a practice in which nothing is quick: "moderate". Our choice.
const EASY: f64 = 3.0;

/// How much of a week's load is left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadBound {
    /// The mean of the weeks before.
    pub mean: f64,
    /// The load of this week up to now; a practice of which it is not known counts as those of late.
    pub so_far: f64,
    /// The effort that is expected of the next practice.
    pub effort: f64,
}

impl LoadBound {
    /// The most that this week may have.
    pub fn most(&self) -> f64 {
        MOST * self.mean
    }

    /// The same for a practice in which nothing is quick.
    pub const fn easy(self) -> Self {
        Self { effort: EASY, ..self }
    }

    /// Minutes of the expected effort that are left.
    pub fn minutes_left(&self) -> f64 {
        ((self.most() - self.so_far) / self.effort).max(0.0)
    }
}

/// The bound that follows from the weeks before; none where too few of them are known. Weeks without a practice do not count: the
/// rule for a time away does. `easy` where nothing will be quick.
pub fn bound(practices: &[LoggedPractice], today: Day, easy: bool) -> Option<LoadBound> {
    let monday = today.monday();
    let week = |back: i32| practices.iter().filter(move |one| monday.days_since(one.day.monday()) == 7 * back);
    let known = |back: i32| week(back).map(LoggedPractice::load).sum::<Option<f64>>().filter(|load| *load > 0.0);
    let weeks: Vec<f64> = (1..=WEEKS).filter_map(known).collect();
    let mean = past::mean(weeks.iter().copied()).filter(|_| weeks.len() >= ENOUGH)?;
    let of_late = past::mean(past::last(practices, OF_LATE).iter().filter_map(LoggedPractice::load)).unwrap_or(0.0);
    let so_far = week(0).map(|practice| practice.load().unwrap_or(of_late)).sum();
    let effort = if easy { EASY } else { expected(practices) };
    Some(LoadBound { mean, so_far, effort })
}

/// The effort that is expected of the next practice: the hardest of late.
fn expected(practices: &[LoggedPractice]) -> f64 {
    let of_late = past::last(practices, OF_LATE).iter().filter_map(|practice| practice.said.effort);
    of_late.max().map_or(EFFORT, |effort| f64::from(effort.max(1)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next::tests::{Swum, day};

    #[test]
    fn a_week_is_held_against_the_four_before() {
        let on = |on: u8, effort: u8| Swum::on(on).said(effort, 3).minutes(40.0).done();
        // Mondays are the 1st, the 8th, the 15th and the 22nd.
        let practices = [on(1, 5), on(3, 5), on(8, 5), on(10, 5), on(12, 5), on(16, 4)];
        let found = bound(&practices, day(18), false).unwrap();
        assert_eq!((found.mean, found.so_far, found.effort), (500.0, 160.0, 5.0));
        assert!((found.most() - 550.0).abs() < 1e-9 && (found.minutes_left() - 78.0).abs() < 1e-9);
        assert_eq!(bound(&practices, day(18), true).unwrap().effort, 3.0);
        // One week alone says nothing, nor does one of which a part is not known.
        assert_eq!(bound(&practices[..2], day(9), false), None);
        let mut unrated = practices.to_vec();
        unrated[0].minutes = None;
        assert_eq!(bound(&unrated, day(18), false), None);
        // This week's unrated ones count as those of late.
        let mut unrated = practices.to_vec();
        unrated[5].minutes = None;
        assert_eq!(bound(&unrated, day(18), false).unwrap().so_far, 200.0);
    }
}
