//! What tests begin with: a repeat and a practice of which nothing is known but what was planned.

use super::entry::{Impressions, LoggedPractice, LoggedRepeat, LoggedSet, SwimState};
use super::lengths::LengthRuns;
use crate::units::calendar::Day;

/// So many lengths of whole crawl in a pool of 25 m, as the repeat of that number.
pub(crate) fn repeat(number: u32, lengths: u32) -> LoggedRepeat {
    let metres = lengths * 25;
    LoggedRepeat {
        number,
        round: 1,
        metres: metres.into(),
        lengths,
        swim: format!("{metres} m swim"),
        plain: LengthRuns::of(1..=lengths),
        test: false,
        tempo: None,
        predicted: None,
        breaths: (0, 0),
        state: SwimState::Unknown,
        observations: Vec::new(),
        rehearsed: Vec::new(),
    }
}

/// A practice of these sets.
pub(crate) fn practice(sets: Vec<LoggedSet>) -> LoggedPractice {
    LoggedPractice {
        swimmer: "Ida".into(),
        script: None,
        title: "Tuesday".into(),
        day: Day::parse("2026-11-29").unwrap(),
        begun: None,
        pool: "25 m".into(),
        minutes: None,
        said: Impressions::default(),
        record: None,
        sets,
    }
}
