//! What is counted: the strokes of one length, and how it was swum. Which counts feed the model (whole crawl, no gear, no guess)
//! is decided by whoever brings them.

use crate::units::swim::PoolLength;
use crate::units::time::{Seconds, Tempo};
use std::ops::RangeInclusive;

/// Days by which a count is older than the newest when it weighs half of that. Our choice: of 1,000 simulated swimmers who gain half
/// a stroke in four weeks, counted four times a week, the prediction lags 0.33 strokes behind (0.50 with 28 days); of those who stay
/// as they are it is off by 0.12 (0.10).
pub const HALF_LIFE: f64 = 14.0;
/// The strokes that a length can have, as in a profile.
const STROKES: RangeInclusive<f64> = 4.0..=200.0;
/// How long a length may take, as in a profile.
const LENGTH_TIME: RangeInclusive<Seconds> = Seconds::from_secs(5)..=Seconds::from_secs(600);

/// Where in a set a length was counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Condition {
    /// Rested, or early in a set.
    Fresh,
    /// The last length of a set.
    EndOfSet,
}

impl Condition {
    /// How tired it is: 0 or 1.
    pub(super) fn tired(self) -> f64 {
        match self {
            Self::Fresh => 0.0,
            Self::EndOfSet => 1.0,
        }
    }
}

/// What is known of a counted length's speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CountedAt {
    /// Its tempo: swum to a beat, or tapped.
    Tempo(Tempo),
    /// Its time alone; the tempo follows.
    Time(Seconds),
    /// Both, which also tells how long the wall takes.
    Both(Tempo, Seconds),
}

/// The strokes of one length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LengthCount {
    days_ago: f64,
    pool: PoolLength,
    count: f64,
    at: CountedAt,
    condition: Condition,
}

impl LengthCount {
    /// A count of 4 to 200 strokes, made `days_ago` (0 or more), in a length of 5 s to 10 min whose strokes have room in its
    /// time: at least 0.4 s each. `None` for everything else.
    pub fn new(days_ago: f64, pool: PoolLength, count: f64, at: CountedAt, condition: Condition) -> Option<Self> {
        let timed = match at {
            CountedAt::Tempo(_) => true,
            CountedAt::Time(time) | CountedAt::Both(_, time) => {
                LENGTH_TIME.contains(&time) && time.as_f64() >= 0.4 * count
            }
        };
        let valid = days_ago >= 0.0 && days_ago.is_finite() && STROKES.contains(&count) && timed;
        valid.then_some(Self { days_ago, pool, count, at, condition })
    }

    /// The same as it was seen `days` earlier; `None` where it was made since.
    pub fn as_of(self, days: f64) -> Option<Self> {
        let days_ago = self.days_ago - days;
        (days_ago >= 0.0).then_some(Self { days_ago, ..self })
    }

    /// Days since it was made.
    pub fn days_ago(&self) -> f64 {
        self.days_ago
    }

    /// The pool.
    pub fn pool(&self) -> PoolLength {
        self.pool
    }

    /// The strokes.
    pub fn count(&self) -> f64 {
        self.count
    }

    /// What is known of its speed.
    pub fn at(&self) -> CountedAt {
        self.at
    }

    /// Where in a set it was counted.
    pub const fn condition(&self) -> Condition {
        self.condition
    }

    /// How much it weighs beside the newest, made `newest` days ago: half for each [`HALF_LIFE`] between them. After a pause old counts
    /// are still what is known best.
    pub(super) fn weight(&self, newest: f64) -> f64 {
        libm::exp2(-(self.days_ago - newest) / HALF_LIFE)
    }

    /// How tired it was swum: 0 or 1.
    pub(super) fn tired(&self) -> f64 {
        self.condition.tired()
    }

    /// Seconds a stroke where `wall` seconds of the length had none: within 0.4 to 2.5 s, as every tempo.
    pub fn tempo(&self, wall: f64) -> f64 {
        match self.at {
            CountedAt::Tempo(tempo) | CountedAt::Both(tempo, _) => tempo.as_f64(),
            CountedAt::Time(time) => ((time.as_f64() - wall) / self.count).clamp(0.4, 2.5),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::swim::{Distance, PoolUnit};

    #[test]
    fn impossible_counts_are_refused() {
        let pool = PoolLength::new(Distance::new(25, PoolUnit::Metre).unwrap()).unwrap();
        let tempo = CountedAt::Tempo(Tempo::from_centis(120));
        let time = |secs| CountedAt::Time(Seconds::from_secs(secs));
        for (days, count, at, good) in [
            (0.0, 19.0, tempo, true),
            (400.0, 19.5, time(27), true),
            (-1.0, 19.0, tempo, false),
            (f64::NAN, 19.0, tempo, false),
            (0.0, 3.0, tempo, false),
            (0.0, f64::NAN, tempo, false),
            (0.0, 19.0, time(700), false),
            // 80 strokes in 27 s are 0.34 s each.
            (0.0, 80.0, time(27), false),
        ] {
            let made = LengthCount::new(days, pool, count, at, Condition::Fresh);
            assert_eq!(made.is_some(), good, "{days} {count} {at:?}");
        }
    }

    #[test]
    fn a_count_that_is_two_weeks_older_weighs_half() {
        let pool = PoolLength::new(Distance::new(25, PoolUnit::Metre).unwrap()).unwrap();
        let at = CountedAt::Time(Seconds::from_secs(28));
        let count = LengthCount::new(28.0, pool, 20.0, at, Condition::Fresh).unwrap();
        assert!((count.weight(14.0) - 0.5).abs() < 1e-15 && (count.weight(28.0) - 1.0).abs() < 1e-15);
        // 24 s for 20 strokes.
        assert!((count.tempo(4.0) - 1.2).abs() < 1e-12);
    }
}
