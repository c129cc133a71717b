//! The one place that asks the machine which day it is.

use crate::units::calendar::{Day, TimeOfDay};
use jiff::{Timestamp, Zoned};

/// A moment where the machine is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct LocalTime {
    /// The day.
    pub day: Day,
    /// The time of the day.
    pub time: TimeOfDay,
}

impl LocalTime {
    fn of(moment: &Zoned) -> Self {
        Self { day: Day::of(moment), time: TimeOfDay::of(moment) }
    }

    /// This one.
    pub(super) fn now() -> Self {
        Self::of(&Zoned::now())
    }

    /// Of a moment in UTC as RFC 3339 has it.
    pub(super) fn parse(text: &str) -> Option<Self> {
        let moment: Timestamp = text.parse().ok()?;
        Some(Self::of(&moment.to_zoned(jiff::tz::TimeZone::system())))
    }

    /// As the notebook notes when something was changed.
    pub(super) fn note(self) -> String {
        format!("{} {}", self.day, self.time)
    }
}
