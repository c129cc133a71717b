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
/// The last practices of which the mean is expected where nothing is known.
const OF_LATE: usize = 4;
/// So many like practices whose mean is what is expected of the next. Our choice.
const ALIKE: usize = 3;
/// The effort that is expected of a practice in which nothing is quick: "moderate". Our choice.
const EASY: f64 = 3.0;
/// What is said afterwards may be so much harder than was expected: a bound is to be kept on a hard day too. Our choice, a step of the
/// scale: three swimmers who say 5, give or take 0.7, said still more up to four times in each of nine seasons of 60 practices. The
/// heaviest week of a season came to 107 to 121 % by that, and to 110 % without.
pub(super) const HARDER: f64 = 1.0;

/// How much of a week's load is left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadBound {
    /// The mean of the weeks before.
    pub mean: f64,
    /// The load of this week up to now; a practice of which it is not known counts as those of late.
    pub so_far: f64,
    /// The effort that is expected of the next practice.
    pub effort: f64,
    /// How many practices are to come in this week after it, as the weeks before had them.
    pub to_come: f64,
    /// The effort that is expected of each of those.
    pub usual: f64,
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

    /// Minutes of the expected effort that are left, if the practices to come are to be as long: what is too much is taken from
    /// all of them alike. The last one of a week keeps something in reserve.
    pub fn minutes_left(&self) -> f64 {
        let reserve = if self.to_come > 0.0 { 0.0 } else { HARDER };
        let each = self.effort + reserve + self.to_come * self.usual;
        ((self.most() - self.so_far) / each).max(0.0)
    }
}

/// The bound that follows from the weeks before; none where too few of them are known. Weeks without a practice do not count: the
/// rule for a time away does. `alike` says which practices are like the next one, whose effort is what theirs was; without it nothing
/// will be quick.
pub fn bound(
    practices: &[LoggedPractice],
    today: Day,
    alike: Option<&dyn Fn(&LoggedPractice) -> bool>,
) -> Option<LoadBound> {
    let monday = today.monday();
    let week = |back: i32| practices.iter().filter(move |one| monday.days_since(one.day.monday()) == 7 * back);
    let known = |back: i32| week(back).map(LoggedPractice::load).sum::<Option<f64>>().filter(|load| *load > 0.0);
    let weeks: Vec<f64> = (1..=WEEKS).filter_map(known).collect();
    let mean = past::mean(weeks.iter().copied()).filter(|_| weeks.len() >= ENOUGH)?;
    let of_late = past::mean(past::last(practices, OF_LATE).iter().filter_map(LoggedPractice::load)).unwrap_or(0.0);
    let so_far = week(0).map(|practice| practice.load().unwrap_or(of_late)).sum();
    let said = |practice: &LoggedPractice| Some(f64::from(practice.said.effort?.max(1)));
    let usual = past::mean(past::last(practices, OF_LATE).iter().filter_map(said)).unwrap_or(EFFORT);
    let theirs = |alike: &dyn Fn(&LoggedPractice) -> bool| {
        let like = practices.iter().rev().filter(|practice| alike(practice)).filter_map(said);
        past::mean(like.take(ALIKE)).unwrap_or(usual)
    };
    let effort = alike.map_or(EASY, theirs);
    let swum: Vec<f64> = (1..=WEEKS).map(|back| week(back).count() as f64).filter(|count| *count > 0.0).collect();
    let each_week = past::mean(swum).map_or(0.0, libm::round);
    let to_come = (each_week - week(0).count() as f64 - 1.0).max(0.0);
    Some(LoadBound { mean, so_far, effort, to_come, usual })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next::tests::{SwumPractice, day};

    #[test]
    fn a_week_is_held_against_the_four_before() {
        let on = |on: u8, effort: u8| SwumPractice::on(on).said(effort, 3).minutes(40.0).done();
        // Mondays are the 1st, the 8th, the 15th and the 22nd.
        let practices = [on(1, 5), on(3, 5), on(8, 5), on(10, 5), on(12, 5), on(16, 4)];
        let all = |_: &LoggedPractice| true;
        let found = bound(&practices, day(18), Some(&all)).unwrap();
        assert_eq!((found.mean, found.so_far), (500.0, 160.0));
        assert!((found.effort - 14.0 / 3.0).abs() < 1e-9, "of the last three");
        // Weeks of two and three practices: one is to come after this one, at 4.75 as the last four.
        assert_eq!((found.to_come, found.usual), (1.0, 4.75));
        assert!(
            (found.most() - 550.0).abs() < 1e-9 && (found.minutes_left() - 390.0 / (14.0 / 3.0 + 4.75)).abs() < 1e-9
        );
        // The last of a week has something in reserve.
        let last = LoadBound { to_come: 0.0, ..found };
        assert!((last.minutes_left() - 390.0 / (14.0 / 3.0 + 1.0)).abs() < 1e-9);
        let soft = |one: &LoggedPractice| one.said.effort == Some(4);
        assert_eq!(bound(&practices, day(18), Some(&soft)).unwrap().effort, 4.0);
        assert_eq!(bound(&practices, day(18), None).unwrap().effort, 3.0);
        // One week alone says nothing, nor does one of which a part is not known.
        assert_eq!(bound(&practices[..2], day(9), Some(&all)), None);
        let mut unrated = practices.to_vec();
        unrated[0].minutes = None;
        assert_eq!(bound(&unrated, day(18), Some(&all)), None);
        // This week's unrated ones count as those of late.
        let mut unrated = practices.to_vec();
        unrated[5].minutes = None;
        assert_eq!(bound(&unrated, day(18), Some(&all)).unwrap().so_far, 200.0);
    }
}
