//! The swimmer: how long a length takes and how many strokes it needs, from what is known of them.
//!
//! What is not known is assumed, and every assumption has a sentence in [`Swimmer::assumptions`] so that
//! no output can pass a guess off as a measurement.

pub mod model;
pub mod profile;

use crate::script::Effort;
use crate::units::swim::{Distance, Pace, PoolLength, PoolUnit};
use crate::units::time::{Seconds, Tempo};
use model::StrokeModel;

/// The normal quantile of 0.9: half-width of the 80 % interval in standard deviations.
const Z90: f64 = 1.281_551_565_544_600_4;

/// How much longer a drilled length takes than an easy one. An assumption; common practice, no source.
pub const DRILL_FACTOR: f64 = 1.25;

/// The side a swimmer turns to for air.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// To the left.
    Left,
    /// To the right.
    Right,
}

/// How a length is swum, as far as it decides the time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Manner {
    /// At a stroke tempo.
    Tempo(Tempo),
    /// At a pace.
    Pace(Pace),
    /// By feel.
    Effort(Effort),
    /// A drill.
    Drill,
}

/// What is expected of one length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prediction {
    /// Time of one length, a whole number of milliseconds.
    pub time: Seconds,
    /// Strokes of one length, not rounded; absent where strokes are not countable (drills).
    pub count: Option<f64>,
    /// The stroke tempo: the one asked for, or the one the model expects at this speed.
    pub tempo: Option<Tempo>,
}

/// A swimmer with their stroke model.
#[derive(Clone, Debug, PartialEq)]
pub struct Swimmer {
    /// Name, if given.
    pub name: Option<String>,
    /// The stroke model.
    pub model: StrokeModel,
    /// The tempo at which they swim by feel without effort: the slowest one stated.
    pub usual: Tempo,
    /// Stated paces by effort, in the unit of `pace_unit`.
    pub paces: Vec<(Effort, Pace)>,
    /// The unit that the stated paces are per 100 of.
    pub pace_unit: PoolUnit,
    /// Standard deviation of a predicted time, as a share of it.
    pub spread: f64,
    /// The side of the first breath where a script does not say.
    pub side: Side,
    /// What was assumed, one sentence each.
    pub assumptions: Vec<String>,
}

impl Swimmer {
    /// Nobody in particular: an adult who has learnt the crawl lately.
    ///
    /// Documented defaults, not data: in 25 m, 19 strokes at 1.30 s and 22 at 1.00 s, 4.0 s and 5 m without
    /// strokes on each length (push-off, glide and turn), times ±5 %.
    pub fn assumed() -> Self {
        let pool = StrokeModel::assumed_pool();
        Self {
            name: None,
            model: StrokeModel::assumed(),
            usual: Tempo::from_centis(130),
            paces: Vec::new(),
            pace_unit: pool.unit(),
            spread: 0.05,
            side: Side::Right,
            assumptions: vec![
                {
                    let [(slow, few), (quick, many)] = StrokeModel::ASSUMED_POINTS;
                    let (wall, glide) = (StrokeModel::ASSUMED_WALL, StrokeModel::ASSUMED_GLIDE);
                    format!(
                        "no swimmer given: assuming {few} strokes at {slow:.2} s and {many} at {quick:.2} s in {pool}, \
                         {wall:.1} s and {glide:.0} m of each length without strokes"
                    )
                },
                Self::effort_assumption(),
            ],
        }
    }

    /// The sentence on how efforts become times where no pace is stated.
    pub fn effort_assumption() -> String {
        "efforts: steady is the usual tempo; easy takes 1.15, brisk 0.95, fast 0.90, build 1.02 of that time; a drill 1.25 of easy".into()
    }

    /// The factor on the steady time. Assumptions; common practice, no source.
    const fn effort_factor(effort: Effort) -> f64 {
        match effort {
            Effort::Easy => 1.15,
            Effort::Steady => 1.0,
            Effort::Brisk => 0.95,
            Effort::Fast => 0.90,
            Effort::Build => 1.02,
        }
    }

    /// What to expect of one length of a pool.
    pub fn predict(&self, pool: PoolLength, manner: Manner) -> Prediction {
        let metres = pool.metres();
        match manner {
            Manner::Tempo(tempo) => Prediction {
                time: Seconds::from_estimate(self.model.length_time(metres, tempo.as_f64())),
                count: Some(self.model.count(metres, tempo.as_f64())),
                tempo: Some(tempo),
            },
            Manner::Pace(pace) => self.at_time(metres, pace.time_for(pool.distance().count()).as_f64()),
            Manner::Effort(effort) => self.at_time(metres, self.effort_time(pool, effort)),
            Manner::Drill => Prediction {
                time: Seconds::from_estimate(self.effort_time(pool, Effort::Easy) * DRILL_FACTOR),
                count: None,
                tempo: None,
            },
        }
    }

    /// The half-width of the 80 % interval of a predicted time, which is also its 90th percentile's distance.
    pub fn uncertainty(&self, predicted: Seconds) -> Seconds {
        Seconds::from_estimate(predicted.as_f64() * self.spread * Z90)
    }

    fn effort_time(&self, pool: PoolLength, effort: Effort) -> f64 {
        let stated = |wanted| self.paces.iter().find(|(e, _)| *e == wanted).map(|(_, pace)| *pace);
        if let Some(pace) = stated(effort) {
            return self.pace_time(pool, pace);
        }
        // One stated pace anchors all other efforts; the model does where there is none.
        let anchored = self.paces.first().map(|(e, pace)| self.pace_time(pool, *pace) / Self::effort_factor(*e));
        let steady = anchored.unwrap_or_else(|| self.model.length_time(pool.metres(), self.usual.as_f64()));
        steady * Self::effort_factor(effort)
    }

    fn pace_time(&self, pool: PoolLength, pace: Pace) -> f64 {
        let hundred = Distance::new(100, self.pace_unit).map_or(100.0, Distance::metres);
        pace.per_hundred().as_f64() * pool.metres() / hundred
    }

    /// The model run backwards: at which tempo a length takes this time.
    fn at_time(&self, metres: f64, time: f64) -> Prediction {
        let tempo = self.model.tempo_for(metres, time);
        Prediction {
            time: Seconds::from_estimate(time),
            count: Some(self.model.count(metres, tempo)),
            tempo: Some(Tempo::from_millis(libm::round(tempo * 1000.0) as u64)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pool(count: u32, unit: PoolUnit) -> PoolLength {
        PoolLength::new(Distance::new(count, unit).unwrap()).unwrap()
    }

    #[test]
    fn predictions_by_hand() {
        let swimmer = Swimmer::assumed();
        let m25 = pool(25, PoolUnit::Metre);
        // 4.0 s + 19 × 1.30 s = 28.7 s at the stated point, by arithmetic.
        let at = swimmer.predict(m25, Manner::Tempo(Tempo::from_ratio(13, 10).unwrap()));
        assert_eq!(at.time, Seconds::from_millis(28_700));
        assert!((at.count.unwrap() - 19.0).abs() < 1e-9);
        // easy = 1.15 × 28.7 = 33.005 s; drill = 1.25 × that = 41.256 s.
        assert_eq!(swimmer.predict(m25, Manner::Effort(Effort::Easy)).time, Seconds::from_millis(33_005));
        assert_eq!(swimmer.predict(m25, Manner::Drill).time, Seconds::from_millis(41_256));
        // 2:00 per 100 is 30 s in 25.
        let pace = swimmer.predict(m25, Manner::Pace(Pace::new(Seconds::from_secs(120)).unwrap()));
        assert_eq!(pace.time, Seconds::from_secs(30));
        // The expected tempo at that time reproduces the time.
        let back = swimmer.model.length_time(25.0, pace.tempo.unwrap().as_f64());
        assert!((back - 30.0).abs() < 0.05, "{back}");
    }

    #[test]
    fn a_stated_pace_wins_and_anchors() {
        let mut swimmer = Swimmer::assumed();
        swimmer.paces = vec![(Effort::Easy, Pace::new(Seconds::from_secs(138)).unwrap())];
        let m25 = pool(25, PoolUnit::Metre);
        assert_eq!(swimmer.predict(m25, Manner::Effort(Effort::Easy)).time, Seconds::from_millis(34_500));
        assert_eq!(swimmer.predict(m25, Manner::Effort(Effort::Steady)).time, Seconds::from_millis(30_000));
        // The same pace per 100 m in 25 yd: 34.5 × 0.9144.
        let yards = swimmer.predict(pool(25, PoolUnit::Yard), Manner::Effort(Effort::Easy)).time;
        assert_eq!(yards, Seconds::from_millis(31_547));
    }

    #[test]
    fn ninetieth_percentile() {
        // 5 % of 100 s is 5 s; z(0.9) = 1.2816 (standard normal tables).
        assert_eq!(Swimmer::assumed().uncertainty(Seconds::from_secs(100)), Seconds::from_millis(6_408));
    }
}
