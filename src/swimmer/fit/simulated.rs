//! Simulated swimmers with known parameters, for the tests: what they swim, and what is counted of it.

use super::counts::{Condition, CountedAt, LengthCount};
use super::lengths::StrokesBefore;
use crate::chance::SplitMix;
use crate::swimmer::model::StrokeModel;
use crate::units::swim::{Distance, PoolLength, PoolUnit};
use crate::units::time::{Seconds, Tempo};

/// The share of counts that are miscounted, by 1 to 3 strokes more or fewer.
const MISCOUNTED: f64 = 0.05;
/// Standard deviation of a time read from a clock.
const CLOCK: f64 = 0.2;

/// Somebody whose parameters are known.
#[derive(Clone, Copy, Debug)]
pub(super) struct Simulated {
    /// Metres per stroke at rate 0, and what each stroke a second takes.
    pub free: f64,
    pub k: f64,
    /// What the end of a set takes from a stroke, in metres.
    pub tired: f64,
    pub wall: f64,
    /// Standard deviation of the strokes of like lengths.
    pub scatter: f64,
    /// Strokes more in each length of the day.
    pub form: f64,
    /// The tempo beyond which the line is left, and what each stroke a second beyond it takes.
    pub breaks: Option<(f64, f64)>,
}

/// 25 m.
pub(super) fn m25() -> PoolLength {
    PoolLength::new(Distance::new(25, PoolUnit::Metre).unwrap()).unwrap()
}

/// What a profile says that states 20 strokes at 1.20 s.
pub(super) fn stated() -> StrokesBefore {
    let model = StrokeModel::through(25.0, &[(1.2, 20.0)], 4.0, 5.0).unwrap();
    StrokesBefore { model, usual: Tempo::from_centis(120), width: 0.15 }
}

impl Simulated {
    /// Somebody of whom `before` is as good a guess as it says.
    pub fn new(before: &StrokesBefore, dice: &mut SplitMix) -> Self {
        let middle = 1.0 / before.usual.as_f64();
        let stroke = before.model.stroke_length(middle) * (1.0 + before.width * dice.normal()).max(0.5);
        let k = stroke * dice.within(0.15, 1.0);
        Self {
            free: stroke + k * middle,
            k,
            tired: stroke * dice.within(0.0, 0.08),
            wall: before.model.wall() + 0.7 * dice.normal(),
            scatter: dice.within(0.2, 0.6),
            form: 0.0,
            breaks: None,
        }
    }

    /// The strokes of a length, not rounded, without scatter.
    pub fn expected(&self, tempo: f64, condition: Condition) -> f64 {
        let rate = 1.0 / tempo;
        let beyond = self.breaks.map_or(0.0, |(at, each)| each * (rate - 1.0 / at).max(0.0));
        20.0 / (self.free - self.k * rate - condition.tired() * self.tired - beyond).max(0.3)
    }

    /// One length: its strokes, not rounded, and its time as read from a clock.
    pub fn swim(&self, tempo: f64, condition: Condition, dice: &mut SplitMix) -> (f64, f64) {
        let strokes = self.expected(tempo, condition) + self.form + self.scatter * dice.normal();
        (strokes, self.wall + strokes * tempo + CLOCK * dice.normal())
    }

    /// One length as it is counted: in whole strokes, now and then wrong.
    pub fn counted(
        &self,
        days_ago: f64,
        centis: u64,
        condition: Condition,
        timed: bool,
        dice: &mut SplitMix,
    ) -> LengthCount {
        let tempo = Tempo::from_centis(centis);
        let (strokes, time) = self.swim(tempo.as_f64(), condition, dice);
        let wrong = if dice.even() < MISCOUNTED { dice.one(&[-3.0, -2.0, -1.0, 1.0, 2.0, 3.0]) } else { 0.0 };
        let at = match timed {
            true => CountedAt::Both(tempo, Seconds::from_estimate(time)),
            false => CountedAt::Tempo(tempo),
        };
        LengthCount::new(days_ago, m25(), libm::round(strokes) + wrong, at, condition).unwrap()
    }
}
