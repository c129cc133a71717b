//! Critical speed from timed swims: the slope of distance against time, with the reserve D' as what the line begins with
//! (definition: Wakayoshi and others 1992).
//!
//! Ordinary least squares, each trial with the same weight, errors in the distance that a time stands for. Its typical error
//! from week to week is up to 0.04 m/s, and D' varies by 13 to 45 % (J Hum Kinet 2024), whatever the line says of itself.

use statrs::distribution::{ContinuousCDF, StudentsT};

/// A timed swim, all out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeTrial {
    /// Metres.
    pub metres: f64,
    /// Seconds.
    pub seconds: f64,
}

/// What trials say. With two of them there are no errors: a line goes through any two points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CriticalSpeed {
    /// Metres a second.
    pub speed: f64,
    /// Standard error of the speed.
    pub speed_error: Option<f64>,
    /// D', metres.
    pub reserve: f64,
    /// Standard error of D'.
    pub reserve_error: Option<f64>,
    /// The trials.
    pub trials: usize,
}

/// Why trials make no critical speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoCriticalSpeed {
    /// Fewer than two distances.
    TooFew,
    /// A distance or a time that is none.
    NotANumber,
    /// The trial of this place, from 0, was not slower than a shorter one: a longer distance takes longer.
    TimesNotIncreasing(usize),
    /// The longer swims were as quick as the shorter, or quicker: one of them was not all out.
    NoReserve,
}

impl NoCriticalSpeed {
    /// Why, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::TooFew => "it takes timed tests of two distances",
            Self::NotANumber => "a distance or a time is none",
            Self::TimesNotIncreasing(_) => "a longer test took no longer than a shorter one",
            Self::NoReserve => "the longer test was as quick as the shorter: one of them was not all out",
        }
    }
}

impl CriticalSpeed {
    /// From two trials or more, in any order.
    ///
    /// # Errors
    /// Trials that make no critical speed, and why.
    pub fn of(trials: &[TimeTrial]) -> Result<Self, NoCriticalSpeed> {
        check(trials)?;
        let n = trials.len() as f64;
        let mean = |value: fn(&TimeTrial) -> f64| trials.iter().map(value).sum::<f64>() / n;
        let (seconds, metres) = (mean(|trial| trial.seconds), mean(|trial| trial.metres));
        let spread: f64 = trials.iter().map(|trial| square(trial.seconds - seconds)).sum();
        let together: f64 = trials.iter().map(|trial| (trial.seconds - seconds) * (trial.metres - metres)).sum();
        let speed = together / spread;
        let reserve = metres - speed * seconds;
        if reserve <= 0.0 {
            return Err(NoCriticalSpeed::NoReserve);
        }
        let off: f64 = trials.iter().map(|trial| square(trial.metres - reserve - speed * trial.seconds)).sum();
        let scatter = (trials.len() > 2).then(|| off / (n - 2.0));
        Ok(Self {
            speed,
            speed_error: scatter.map(|scatter| libm::sqrt(scatter / spread)),
            reserve,
            reserve_error: scatter.map(|scatter| libm::sqrt(scatter * (1.0 / n + seconds * seconds / spread))),
            trials: trials.len(),
        })
    }

    /// Seconds per 100 m.
    pub fn per_hundred(&self) -> f64 {
        100.0 / self.speed
    }

    /// The 80 % interval of the speed by Student's t, in metres a second; none with two trials.
    pub fn interval(&self) -> Option<(f64, f64)> {
        let freedom = self.trials.checked_sub(2).filter(|freedom| *freedom > 0)?;
        let half = StudentsT::new(0.0, 1.0, freedom as f64).ok()?.inverse_cdf(0.9) * self.speed_error?;
        Some((self.speed - half, self.speed + half))
    }
}

fn check(trials: &[TimeTrial]) -> Result<(), NoCriticalSpeed> {
    let good = |value: f64| value.is_finite() && value > 0.0;
    if !trials.iter().all(|trial| good(trial.metres) && good(trial.seconds)) {
        return Err(NoCriticalSpeed::NotANumber);
    }
    for (place, trial) in trials.iter().enumerate() {
        if trials.iter().any(|other| other.metres < trial.metres && other.seconds >= trial.seconds) {
            return Err(NoCriticalSpeed::TimesNotIncreasing(place));
        }
    }
    let first = trials.first().ok_or(NoCriticalSpeed::TooFew)?;
    let two = trials.iter().any(|trial| (trial.metres - first.metres).abs() > 0.5);
    if two { Ok(()) } else { Err(NoCriticalSpeed::TooFew) }
}

fn square(value: f64) -> f64 {
    value * value
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(trials: &[(f64, f64)]) -> Result<CriticalSpeed, NoCriticalSpeed> {
        let trials: Vec<_> = trials.iter().map(|&(metres, seconds)| TimeTrial { metres, seconds }).collect();
        CriticalSpeed::of(&trials)
    }

    #[test]
    fn two_trials_make_a_line_without_errors() {
        // Definition, Wakayoshi 1992: (400 − 200) / (300 − 140) = 1.25 m/s, 1:20 per 100, D' = 200 − 1.25 × 140 = 25 m.
        let found = of(&[(400.0, 300.0), (200.0, 140.0)]).unwrap();
        assert!((found.speed - 1.25).abs() < 1e-12 && (found.reserve - 25.0).abs() < 1e-9, "{found:?}");
        assert!((found.per_hundred() - 80.0).abs() < 1e-9);
        assert_eq!((found.speed_error, found.reserve_error, found.interval()), (None, None, None));
    }

    #[test]
    fn more_trials_by_least_squares() {
        // scipy 1.17.1, scipy.stats.linregress(times, distances), and stats.t.ppf(0.9, 2) for the interval.
        let found = of(&[(100.0, 62.0), (200.0, 134.0), (400.0, 285.0), (800.0, 600.0)]).unwrap();
        let interval = found.interval().unwrap();
        for (value, expected) in [
            (found.speed, 1.296_926_729_857),
            (found.reserve, 24.505_551_256_036),
            (found.speed_error.unwrap(), 0.014_168_964_770),
            (found.reserve_error.unwrap(), 4.820_702_658_944),
            (interval.0, 1.270_209_473_666),
            (interval.1, 1.323_643_986_048),
        ] {
            assert!((value - expected).abs() < 1e-9 * expected.abs(), "{value} for {expected}");
        }
    }

    #[test]
    fn nonsense_is_refused() {
        for (trials, why) in [
            (&[][..], NoCriticalSpeed::TooFew),
            (&[(400.0, 300.0)], NoCriticalSpeed::TooFew),
            (&[(400.0, 300.0), (400.0, 310.0)], NoCriticalSpeed::TooFew),
            (&[(200.0, 140.0), (400.0, f64::NAN)], NoCriticalSpeed::NotANumber),
            (&[(200.0, 140.0), (400.0, -300.0)], NoCriticalSpeed::NotANumber),
            (&[(200.0, 140.0), (400.0, 140.0)], NoCriticalSpeed::TimesNotIncreasing(1)),
            (&[(400.0, 130.0), (200.0, 140.0)], NoCriticalSpeed::TimesNotIncreasing(0)),
            // 400 m at 1:08 per 100 after 200 m at 1:10.
            (&[(200.0, 140.0), (400.0, 272.0)], NoCriticalSpeed::NoReserve),
        ] {
            assert_eq!(of(trials), Err(why), "{trials:?}");
        }
    }
}
