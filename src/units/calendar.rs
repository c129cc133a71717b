//! Days of the calendar and times of the day, as people write them down. No clock is read here: what day it is today a face
//! asks.

use jiff::civil::{Date, Time};
use std::fmt;

/// A day of the calendar where the swimmer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(Date);

impl Day {
    /// A day by its numbers; `None` where the calendar has none like that.
    pub fn new(year: i16, month: i8, day: i8) -> Option<Self> {
        Date::new(year, month, day).ok().map(Self)
    }

    /// Reads `2026-11-29` (ISO 8601); years 1900 to 2999.
    pub fn parse(text: &str) -> Option<Self> {
        let shaped = text.len() == 10
            && text.bytes().enumerate().all(|(at, byte)| match at {
                4 | 7 => byte == b'-',
                _ => byte.is_ascii_digit(),
            });
        let date: Date = shaped.then(|| text.parse().ok())??;
        (1900..3000).contains(&date.year()).then_some(Self(date))
    }

    /// Days from an earlier day to this one; negative where that is later.
    pub fn days_since(self, earlier: Self) -> i32 {
        // Both are within 1,100 years.
        (self.0 - earlier.0).get_days()
    }

    /// So many days later; `None` beyond the calendar.
    pub fn plus_days(self, days: i32) -> Option<Self> {
        self.0.checked_add(jiff::Span::new().try_days(days).ok()?).ok().map(Self)
    }

    /// The Monday of its week (ISO 8601: weeks begin on Monday).
    #[must_use]
    pub fn monday(self) -> Self {
        let back = i32::from(self.0.weekday().to_monday_zero_offset());
        self.plus_days(-back).unwrap_or(self)
    }

    /// The day that a moment lies on, at the place whose calendar the machine keeps.
    pub fn of(moment: &jiff::Zoned) -> Self {
        Self(moment.date())
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A time of the day to the minute.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TimeOfDay(Time);

impl TimeOfDay {
    /// Reads `18:05`.
    pub fn parse(text: &str) -> Option<Self> {
        let (hour, minute) = text.split_once(':')?;
        let number = |text: &str| (text.len() == 2).then(|| text.parse().ok())?;
        Time::new(number(hour)?, number(minute)?, 0, 0).ok().map(Self)
    }

    /// That of a moment, where the swimmer is.
    pub fn of(moment: &jiff::Zoned) -> Self {
        Self(Time::constant(moment.hour(), moment.minute(), 0, 0))
    }
}

impl fmt::Display for TimeOfDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}", self.0.hour(), self.0.minute())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_iso_8601() {
        let day = Day::parse("2026-11-29").unwrap();
        assert_eq!((day, day.to_string()), (Day::new(2026, 11, 29).unwrap(), "2026-11-29".to_owned()));
        for wrong in
            ["", "2026-11-31", "29.11.2026", "2026-1-2", "1226-11-29", "2026-11-29T10", "+026-11-29", "２０２６-11-29"]
        {
            assert_eq!(Day::parse(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn weeks_begin_on_monday() {
        // 1969-07-20 was a Sunday; the week before 1970-01-01, a Thursday, began in 1969 (both from memory).
        assert_eq!(Day::parse("1969-07-20").unwrap().monday().to_string(), "1969-07-14");
        assert_eq!(Day::parse("1970-01-01").unwrap().monday().to_string(), "1969-12-29");
        let (first, last) = (Day::parse("2024-02-28").unwrap(), Day::parse("2024-03-01").unwrap());
        assert_eq!((last.days_since(first), first.days_since(last)), (2, -2));
        assert_eq!(first.plus_days(2), Some(last));
    }

    #[test]
    fn times_have_two_digits() {
        assert_eq!(TimeOfDay::parse("07:05").unwrap().to_string(), "07:05");
        for wrong in ["7:05", "24:00", "07:60", "07", "07:05:00", "-1:05"] {
            assert_eq!(TimeOfDay::parse(wrong), None, "{wrong}");
        }
    }
}
