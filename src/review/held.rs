//! Whether the stroke held, as far as swimmers said where it fell apart. Practices of which nobody said anything count for nothing.

use crate::notebook::entry::LoggedPractice;
use crate::units::calendar::Day;

/// What was said of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct HeldTotals {
    /// Practices of which somebody said where the stroke fell apart, or that it held.
    pub told: usize,
    /// Those in which it held throughout.
    pub held: usize,
    /// The last place where it fell apart.
    pub last: Option<FellApart>,
}

/// A place where the stroke fell apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FellApart {
    /// The day.
    pub day: Day,
    /// The title of the set.
    pub set: String,
    /// From this repeat on, from 1.
    pub repeat: u32,
}

/// Of practices, the oldest first.
pub fn held<'a>(practices: impl IntoIterator<Item = &'a LoggedPractice>) -> HeldTotals {
    let mut totals = HeldTotals::default();
    for practice in practices {
        let apart = |set: &crate::notebook::entry::LoggedSet| {
            Some(FellApart { day: practice.day, set: set.title.clone(), repeat: set.apart? })
        };
        let place = practice.sets.iter().find_map(apart);
        totals.told += usize::from(practice.said.held || place.is_some());
        totals.held += usize::from(practice.said.held);
        totals.last = place.or(totals.last);
    }
    totals
}
