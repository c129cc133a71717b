//! How much a week asks: session load, monotony and strain (Foster 1998, Foster and others 2001).
//!
//! The evidence that these foretell injury or illness is weak; they describe a week and warn of nothing by themselves.

use std::ops::RangeInclusive;

/// What an effort can be.
const EFFORTS: RangeInclusive<f64> = 0.0..=10.0;

/// Session load: effort (session RPE, 0 to 10) times minutes. `None` outside that, and for minutes that are none.
pub fn session_load(effort: f64, minutes: f64) -> Option<f64> {
    (EFFORTS.contains(&effort) && minutes >= 0.0 && minutes.is_finite()).then_some(effort * minutes)
}

/// A week's load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeekLoad {
    /// The sum of its days.
    pub total: f64,
    /// The mean day over the standard deviation of the days; `None` where all days are alike, which has no such ratio.
    pub monotony: Option<f64>,
    /// Total times monotony.
    pub strain: Option<f64>,
}

impl WeekLoad {
    /// Of seven days; a day without a practice is 0.
    ///
    /// The deviation is the population's (divided by 7): these seven days are the whole week, not a sample of one. Sources
    /// differ; the sample's makes a monotony that is 0.926 of this one.
    pub fn of(days: &[f64; 7]) -> Self {
        let total: f64 = days.iter().sum();
        let mean = total / 7.0;
        let variance = days.iter().map(|day| (day - mean) * (day - mean)).sum::<f64>() / 7.0;
        let monotony = (variance > 0.0).then(|| mean / libm::sqrt(variance));
        Self { total, monotony, strain: monotony.map(|monotony| monotony * total) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_session_is_effort_times_minutes() {
        // Foster 2001: an effort of 7 for 60 minutes.
        assert_eq!(session_load(7.0, 60.0), Some(420.0));
        for (effort, minutes) in [(11.0, 60.0), (-1.0, 60.0), (7.0, -5.0), (f64::NAN, 60.0), (7.0, f64::INFINITY)] {
            assert_eq!(session_load(effort, minutes), None, "{effort} {minutes}");
        }
    }

    #[test]
    fn a_week_has_monotony_and_strain() {
        // Definition of Foster 1998, by numpy 2.4.6: mean / std(ddof=0) of the days, and that times their sum.
        let week = WeekLoad::of(&[300.0, 0.0, 450.0, 200.0, 500.0, 0.0, 600.0]);
        assert_eq!(week.total, 2050.0);
        assert!((week.monotony.unwrap() - 1.324_649_872_99).abs() < 1e-9, "{week:?}");
        assert!((week.strain.unwrap() - 2_715.532_239_63).abs() < 1e-6, "{week:?}");
    }

    #[test]
    fn days_that_are_alike_have_no_monotony() {
        assert_eq!(WeekLoad::of(&[100.0; 7]), WeekLoad { total: 700.0, monotony: None, strain: None });
        assert_eq!(WeekLoad::of(&[0.0; 7]).strain, None);
    }
}
