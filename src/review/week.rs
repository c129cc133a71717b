//! Practices by week: how far, how long, how hard.

use crate::notebook::entry::LoggedPractice;
use crate::units::calendar::Day;

/// One week, Monday to Sunday.
#[derive(Clone, Debug, PartialEq)]
pub struct WeekRow {
    /// Its Monday.
    pub monday: Day,
    /// How many practices.
    pub practices: usize,
    /// Metres that were swum.
    pub metres: f64,
    /// Minutes, of the practices that say so.
    pub minutes: f64,
    /// Session load on each of its seven days, for the practices that have both effort and minutes.
    pub loads: [f64; 7],
    /// How many practices lack one of the two.
    pub unrated: usize,
}

impl WeekRow {
    /// The load of the week.
    pub fn load(&self) -> f64 {
        self.loads.iter().sum()
    }
}

/// The last `weeks` weeks up to that of `today`, the earliest first; without practices too.
pub fn weeks(practices: &[LoggedPractice], today: Day, weeks: usize) -> Vec<WeekRow> {
    let first = |back: usize| today.monday().plus_days(-7 * i32::try_from(back).ok()?);
    let mut rows: Vec<WeekRow> = (0..weeks)
        .rev()
        .filter_map(first)
        .map(|monday| WeekRow { monday, practices: 0, metres: 0.0, minutes: 0.0, loads: [0.0; 7], unrated: 0 })
        .collect();
    for practice in practices {
        let monday = practice.day.monday();
        let Some(row) = rows.iter_mut().find(|row| row.monday == monday) else { continue };
        row.practices += 1;
        row.metres += practice.metres();
        row.minutes += practice.minutes.unwrap_or(0.0);
        let day = usize::try_from(practice.day.days_since(monday)).ok();
        match (practice.load(), day.and_then(|day| row.loads.get_mut(day))) {
            (Some(load), Some(day)) => *day += load,
            _ => row.unrated += 1,
        }
    }
    rows
}
