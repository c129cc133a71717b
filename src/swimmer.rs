//! The swimmer: how long a length takes and how many strokes it needs, from what is known of them.
//!
//! What is not known is assumed, and every assumption has a sentence in [`Swimmer::assumptions`] so that
//! no output can pass a guess off as a measurement.

pub mod fit;
mod fitted;
mod hundred;
pub mod lanes;
pub mod model;
pub mod profile;
pub mod roster;

pub use hundred::{HUNDRED, hundred};

use crate::script::movement::DrillMovement;
use crate::script::{BodyPart, Effort, PaceBase, Stroke};
use crate::units::level::SoundLevel;
use crate::units::swim::{Pace, PoolLength, PoolUnit, Side};
use crate::units::time::{Seconds, Tempo};
use model::StrokeModel;

/// The normal quantile of 0.9: half-width of the 80 % interval in standard deviations.
const Z90: f64 = 1.281_551_565_544_600_4;

/// How much of its time a kicked length takes with fins. An assumption; common practice, no source.
const FINS_FACTOR: f64 = 0.7;

/// What sets the speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SpeedTarget {
    /// A stroke tempo.
    Tempo(Tempo),
    /// A pace.
    Pace(Pace),
    /// A feeling.
    Effort(Effort),
}

/// How a stretch is swum, as far as it decides the time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct How {
    /// What sets the speed.
    pub manner: SpeedTarget,
    /// What moves the swimmer.
    pub part: BodyPart,
    /// The stroke.
    pub stroke: Stroke,
    /// The drill, if it is one.
    pub drill: Option<DrillMovement>,
    /// Whether fins are worn.
    pub fins: bool,
}

impl How {
    /// What is moved where it is not the whole stroke. A drill says so itself, and a slower part that is asked for with it goes
    /// before.
    fn movement(&self) -> Option<DrillMovement> {
        let part = matches!(self.part, BodyPart::Kick | BodyPart::Scull).then(|| DrillMovement::of(self.part));
        self.drill.into_iter().chain(part).max_by_key(|movement| movement.time)
    }

    /// The whole crawl in some manner.
    pub const fn crawl(manner: SpeedTarget) -> Self {
        Self { manner, part: BodyPart::Swim, stroke: Stroke::Crawl, drill: None, fins: false }
    }
}

/// What is swum without a stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SwimStretch {
    /// One length of a pool, with its push-off.
    Length(PoolLength),
    /// So many metres with no wall.
    Open(f64),
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

/// Where somebody's usual tempo is known from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UsualSource {
    /// It was stated, or is that of a stated count.
    Stated,
    /// It follows from a time and from strokes that were assumed.
    Time,
    /// Nothing is known of them.
    Nothing,
}

/// A swimmer with their stroke model.
#[derive(Clone, Debug, PartialEq)]
pub struct Swimmer {
    /// Name, if given.
    pub name: Option<String>,
    /// The stroke model.
    pub model: StrokeModel,
    /// The tempo at which they swim by feel without effort: the one stated as such, or the slowest one stated.
    pub usual: Tempo,
    /// Where that is known from.
    pub usual_source: UsualSource,
    /// Stated paces by effort, in the unit of `pace_unit`.
    pub paces: Vec<(Effort, Pace)>,
    /// The pace of their critical speed, in that unit; the brisk pace is assumed where it is not known.
    pub critical: Option<Pace>,
    /// The pace at which they drill, in that unit; a factor of easy is assumed where it is not known.
    pub drill: Option<Pace>,
    /// The pace at which they kick likewise.
    pub kick: Option<Pace>,
    /// The unit that the stated paces are per 100 of.
    pub pace_unit: PoolUnit,
    /// Standard deviation of a predicted time, as a share of it.
    pub spread: f64,
    /// The side of the first breath where a script does not say.
    pub side: Side,
    /// What their player gives at the ear at most, if it is known.
    pub loudest: Option<SoundLevel>,
    /// What was assumed, one sentence each.
    pub assumptions: Vec<String>,
}

impl Swimmer {
    /// The standard deviation of times that follow from assumed strokes, as a share: an assumption, no source.
    const ASSUMED_SPREAD: f64 = 0.05;

    /// How messages call them.
    pub fn called(&self) -> &str {
        self.name.as_deref().unwrap_or("the assumed swimmer")
    }

    /// The sentence on how efforts become times where no pace is stated.
    pub fn effort_assumption() -> String {
        "efforts: steady is the usual tempo; easy takes 1.15, brisk 0.95, fast 0.90, build 1.02 of that time; of easy a drill takes 1.25 unless its pack says otherwise, kick 1.6 (0.7 of that with fins), scull 2.5; \
         of crawl back and fly take 1.1, medley and choice 1.15, breast 1.25; the critical pace is the brisk one".into()
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

    /// The factor on the crawl's time. Assumptions; common practice, no source.
    const fn stroke_factor(stroke: Stroke) -> f64 {
        match stroke {
            Stroke::Crawl => 1.0,
            Stroke::Back | Stroke::Fly => 1.1,
            Stroke::Medley | Stroke::Choice => 1.15,
            Stroke::Breast => 1.25,
        }
    }

    /// What to expect of a stretch.
    ///
    /// Strokes are expected of swimming and pulling crawl or backstroke only: the model knows no cycles, and a drill or
    /// a kick has no count to speak of. A pace is the time it says, per 100 of the stretch's unit, whatever is swum.
    pub fn predict(&self, stretch: SwimStretch, how: &How) -> Prediction {
        let countable = how.drill.is_none()
            && matches!(how.part, BodyPart::Swim | BodyPart::Pull)
            && matches!(how.stroke, Stroke::Crawl | Stroke::Back);
        let mut prediction = match how.manner {
            SpeedTarget::Pace(pace) => self.at_time(stretch, pace_time(stretch, pace, unit(stretch))),
            SpeedTarget::Tempo(tempo) if countable => Prediction {
                time: Seconds::from_estimate(self.model_time(stretch, tempo.as_f64())),
                count: Some(self.model_count(stretch, tempo.as_f64())),
                tempo: Some(tempo),
            },
            manner => {
                let effort = if let SpeedTarget::Effort(effort) = manner { effort } else { Effort::Steady };
                self.at_time(stretch, self.effort_time(stretch, effort, how))
            }
        };
        if !countable {
            (prediction.count, prediction.tempo) = (None, None);
        }
        prediction
    }

    /// Their pace of a base over such stretches of crawl, per 100 of the stretch's unit, to the whole second, as it is told.
    pub fn pace_of(&self, base: PaceBase, stretch: SwimStretch) -> Seconds {
        let time = match (base, self.critical) {
            (PaceBase::Critical, Some(pace)) => pace_time(stretch, pace, self.pace_unit),
            (PaceBase::Critical, None) => self.crawl_time(stretch, Effort::Brisk),
            (PaceBase::Effort(effort), _) => self.crawl_time(stretch, effort),
        };
        let per_hundred = time * 100.0 * unit(stretch).metres() / metres(stretch).max(1.0);
        Seconds::from_estimate(libm::round(per_hundred))
    }

    /// How far a swimmer gets in open water in so long, in metres.
    pub fn reach(&self, time: Seconds, how: &How) -> f64 {
        let kilometre = self.predict(SwimStretch::Open(1000.0), how).time;
        1000.0 * time.as_f64() / kilometre.as_f64().max(1.0)
    }

    /// Seconds of a stretch without strokes, from the push-off.
    pub fn wall(&self, stretch: SwimStretch) -> Seconds {
        match stretch {
            SwimStretch::Length(_) => Seconds::from_estimate(self.model.wall()),
            SwimStretch::Open(_) => Seconds::ZERO,
        }
    }

    fn model_time(&self, stretch: SwimStretch, tempo: f64) -> f64 {
        match stretch {
            SwimStretch::Length(pool) => self.model.length_time(pool.metres(), tempo),
            SwimStretch::Open(_) => self.model_count(stretch, tempo) * tempo,
        }
    }

    fn model_count(&self, stretch: SwimStretch, tempo: f64) -> f64 {
        match stretch {
            SwimStretch::Length(pool) => self.model.count(pool.metres(), tempo),
            SwimStretch::Open(metres) => metres / self.model.stroke_length(1.0 / tempo),
        }
    }

    /// The half-width of the 80 % interval of a predicted time, which is also its 90th percentile's distance.
    pub fn uncertainty(&self, predicted: Seconds) -> Seconds {
        Seconds::from_estimate(predicted.as_f64() * self.spread * Z90)
    }

    fn effort_time(&self, stretch: SwimStretch, effort: Effort, how: &How) -> f64 {
        let Some(DrillMovement { part, time }) = how.movement() else {
            return Self::stroke_factor(how.stroke) * self.crawl_time(stretch, effort);
        };
        // Drills, kick and scull are swum easily whatever the effort asked for.
        let usual = f64::from(DrillMovement::usual_time(part)) / 100.0;
        let stated = match (part, how.drill) {
            (BodyPart::Kick, _) => self.kick,
            (BodyPart::Swim | BodyPart::Pull, Some(_)) => self.drill,
            _ => None,
        };
        let of_usual = match stated {
            Some(pace) => pace_time(stretch, pace, self.pace_unit),
            None => usual * self.crawl_time(stretch, Effort::Easy),
        };
        let fins = if how.fins && part == BodyPart::Kick { FINS_FACTOR } else { 1.0 };
        fins * of_usual * (f64::from(time) / 100.0) / usual
    }

    fn crawl_time(&self, stretch: SwimStretch, effort: Effort) -> f64 {
        let stated = |wanted| self.paces.iter().find(|(e, _)| *e == wanted).map(|(_, pace)| *pace);
        if let Some(pace) = stated(effort) {
            return pace_time(stretch, pace, self.pace_unit);
        }
        // One stated pace anchors all other efforts; the model does where there is none.
        let anchored =
            self.paces.first().map(|(e, pace)| pace_time(stretch, *pace, self.pace_unit) / Self::effort_factor(*e));
        let steady = anchored.unwrap_or_else(|| self.model_time(stretch, self.usual.as_f64()));
        steady * Self::effort_factor(effort)
    }

    /// The model run backwards: at which tempo a stretch takes this time.
    fn at_time(&self, stretch: SwimStretch, time: f64) -> Prediction {
        let tempo = self.model.tempo_for(time, |tempo| self.model_time(stretch, tempo));
        Prediction {
            time: Seconds::from_estimate(time),
            count: Some(self.model_count(stretch, tempo)),
            tempo: Some(Tempo::from_millis(libm::round(tempo * 1000.0) as u64)),
        }
    }
}

/// The time of a stretch at a pace per 100 of a unit.
fn pace_time(stretch: SwimStretch, pace: Pace, per: PoolUnit) -> f64 {
    pace.per_hundred().as_f64() * metres(stretch) / (100.0 * per.metres())
}

/// The unit that paces over a stretch are per 100 of: the pool's; open water is measured in metres.
const fn unit(stretch: SwimStretch) -> PoolUnit {
    match stretch {
        SwimStretch::Length(pool) => pool.unit(),
        SwimStretch::Open(_) => PoolUnit::Metre,
    }
}

fn metres(stretch: SwimStretch) -> f64 {
    match stretch {
        SwimStretch::Length(pool) => pool.metres(),
        SwimStretch::Open(metres) => metres,
    }
}

#[cfg(test)]
mod tests;
