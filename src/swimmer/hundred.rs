//! A swimmer from what nearly everybody knows: the time of 100. How many strokes a length takes is assumed by it, and the
//! tempo follows, so that nobody has to know a tempo before a beat was ever heard.

use super::model::StrokeModel;
use super::{Swimmer, UsualSource};
use crate::diag::Code;
use crate::script::quantity::{Misread, Read, time};
use crate::units::swim::{Pace, PoolLength, Side};
use crate::units::time::{Seconds, Tempo};
use std::ops::RangeInclusive;

/// What the time of 100 may be.
pub const HUNDRED: RangeInclusive<Seconds> = Seconds::from_secs(45)..=Seconds::from_secs(300);
/// The strokes in 25 m of somebody new to crawl, who swims 100 m in 2:30, and how many more or fewer each second makes.
/// Common practice, no source.
const STROKES: (f64, f64, f64) = (25.0, 150.0, 0.14);
/// No more and no fewer strokes are assumed in 25 m. Common practice, no source.
const STROKES_WITHIN: RangeInclusive<f64> = 10.0..=34.0;

/// The time of 100, of the pool's unit: `1:50`.
pub fn hundred(text: &str) -> Read<Pace> {
    let pace = time::pace(text)?;
    if HUNDRED.contains(&pace.per_hundred()) {
        return Ok(pace);
    }
    let (found, least, most) = (pace.per_hundred(), HUNDRED.start(), HUNDRED.end());
    let message = format!("a time of {found} for 100; {least} to {most} is allowed");
    Err(Misread::new(Code::OutOfRange, text, message).hint("as in training, not in a race"))
}

/// A length that takes so long, with its strokes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct StrokesOfLength {
    /// Seconds a stroke.
    pub tempo: Tempo,
    /// Strokes, not rounded.
    pub count: f64,
}

impl StrokesOfLength {
    /// Of a length in `pool`, swum as 100 in `hundred`; `wall` seconds and `glide` metres of it without strokes. The strokes
    /// are assumed, or follow from the `usual` tempo. `None` where no time is left for them.
    pub(super) fn of(hundred: Pace, pool: PoolLength, wall: f64, glide: f64, usual: Option<Tempo>) -> Option<Self> {
        let per_hundred = hundred.per_hundred().as_f64();
        let left = per_hundred * f64::from(pool.distance().count()) / 100.0 - wall;
        let assumed = || {
            let (strokes, at, each) = STROKES;
            let in_25 = strokes + each * (per_hundred / pool.unit().metres() - at);
            let in_25 = in_25.clamp(*STROKES_WITHIN.start(), *STROKES_WITHIN.end());
            let tempo = left / (in_25 * (pool.metres() - glide) / (25.0 - StrokeModel::ASSUMED_GLIDE));
            Tempo::from_millis(libm::round(tempo.clamp(0.4, 2.5) * 1000.0) as u64)
        };
        (left > 0.0).then(|| {
            let tempo = usual.unwrap_or_else(assumed);
            // The count makes the time whole again, from which the rounded tempo took a little.
            Self { tempo, count: left / tempo.as_f64() }
        })
    }

    /// What was assumed, in words.
    pub(super) fn assumption(self, hundred: Pace, pool: PoolLength) -> String {
        let (Self { tempo, count }, time, unit) = (self, hundred.per_hundred(), pool.unit().sign());
        format!("about {count:.0} strokes at {:.2} s in {pool}, from {time} for 100 {unit}", tempo.as_f64())
    }
}

impl Swimmer {
    /// Nobody in particular: an adult new to crawl, who swims 100 m in 2:30. Common practice, no source.
    #[expect(clippy::expect_used, reason = "two and a half minutes are more than the walls of four lengths take")]
    pub fn assumed() -> Self {
        let hundred = Pace::new(Seconds::from_secs(150)).expect("a pace");
        let why = "no swimmer given (--swimmer): assuming somebody new to crawl,";
        let somebody = Self::following(hundred, StrokeModel::assumed_pool(), why).expect("a swimmer");
        Self { usual_source: UsualSource::Nothing, ..somebody }
    }

    /// Somebody of whom the time of 100 is known and nothing else; `pool` is where it was swum. `None` where its walls leave no
    /// time for strokes.
    pub fn of_hundred(hundred: Pace, pool: PoolLength) -> Option<Self> {
        Self::following(hundred, pool, "only a time for 100 is known: assuming")
    }

    /// Somebody of whom all follows from a time of 100; `why` begins the sentence that says so.
    fn following(hundred: Pace, pool: PoolLength, why: &str) -> Option<Self> {
        let (wall, glide) = (StrokeModel::ASSUMED_WALL, StrokeModel::ASSUMED_GLIDE);
        let strokes = StrokesOfLength::of(hundred, pool, wall, glide, None)?;
        let model = StrokeModel::through(pool.metres(), &[(strokes.tempo.as_f64(), strokes.count)], wall, glide)?;
        let assumed = format!(
            "{why} {}, {wall:.1} s and {glide:.0} m of each length without strokes",
            strokes.assumption(hundred, pool)
        );
        Some(Self {
            name: None,
            model,
            usual: strokes.tempo,
            usual_source: UsualSource::Time,
            paces: Vec::new(),
            critical: None,
            drill: None,
            kick: None,
            pace_unit: pool.unit(),
            spread: Self::ASSUMED_SPREAD,
            side: Side::Right,
            loudest: None,
            assumptions: vec![assumed, Self::effort_assumption()],
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::Effort;
    use crate::swimmer::{How, SpeedTarget, SwimStretch};
    use crate::units::swim::{Distance, PoolUnit};

    fn pool(count: u32, unit: PoolUnit) -> PoolLength {
        PoolLength::new(Distance::new(count, unit).unwrap()).unwrap()
    }

    fn pace(secs: i64) -> Pace {
        Pace::new(Seconds::from_secs(secs)).unwrap()
    }

    #[test]
    fn a_time_makes_strokes_that_make_the_time() {
        // Counts of 25 m as a coach expects them: new to crawl 24 to 26, improving about 19, a master about 15.
        // Common practice, no source.
        for (secs, fewest, most) in [(150, 24.0, 26.0), (110, 18.0, 21.0), (79, 14.0, 16.0)] {
            let m25 = pool(25, PoolUnit::Metre);
            let swimmer = Swimmer::of_hundred(pace(secs), m25).unwrap();
            let steady = How::crawl(SpeedTarget::Effort(Effort::Steady));
            let length = swimmer.predict(SwimStretch::Length(m25), &steady);
            assert!((4.0 * length.time.as_f64() - secs as f64).abs() < 0.005, "{secs}: {length:?}");
            assert!((fewest..=most).contains(&length.count.unwrap()), "{secs}: {length:?}");
        }
    }

    #[test]
    fn the_fastest_and_the_slowest_have_a_tempo() {
        for secs in [45, 300] {
            for (count, unit) in
                [(10, PoolUnit::Yard), (25, PoolUnit::Metre), (25, PoolUnit::Yard), (50, PoolUnit::Metre)]
            {
                let found = Swimmer::of_hundred(pace(secs), pool(count, unit)).unwrap();
                assert!((0.4..=2.5).contains(&found.usual.as_f64()), "{secs} s in {count} {unit:?}");
            }
        }
    }

    #[test]
    fn walls_leave_no_time_for_strokes() {
        // Ten metres at 0:30 for 100 are swum in 3 s, of which the walls take 4.
        assert!(Swimmer::of_hundred(pace(30), pool(10, PoolUnit::Metre)).is_none());
    }

    #[test]
    fn a_time_out_of_range_is_reported() {
        assert_eq!(hundred("1:50"), Ok(pace(110)));
        assert_eq!(hundred("0:40").unwrap_err().code, Code::OutOfRange);
        assert_eq!(hundred("6 min").unwrap_err().code, Code::OutOfRange);
        assert_eq!(hundred("110").unwrap_err().code, Code::UnitMissing);
    }
}
