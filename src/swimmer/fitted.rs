//! A swimmer whose strokes are those of their counts.

use super::fit::counts::LengthCount;
use super::fit::lengths::{FittedStrokes, StrokesBefore};
use super::{SwimStretch, Swimmer, UsualSource};
use crate::script::Effort;
use crate::units::swim::{Pace, PoolLength};
use crate::units::time::{Seconds, Tempo};

/// No prediction is surer or less sure than this, as a share of the time. Our choice: days differ by as much.
const SPREAD: (f64, f64) = (0.02, 0.06);

impl Swimmer {
    /// The same, swimming in `pool` as `counts` say. A usual tempo that followed from a time and from assumed strokes follows from
    /// that time and the counted strokes instead: the time was stated, the strokes were not. Where there are none, or they say nothing that anybody could swim, it is as
    /// before, and that is among the assumptions.
    #[must_use]
    pub fn with_counts(mut self, before: &StrokesBefore, pool: PoolLength, counts: &[LengthCount]) -> Self {
        let fitted = (!counts.is_empty()).then(|| FittedStrokes::fit(before, pool, counts)).flatten();
        let name = self.called().to_owned();
        let Some((fitted, model)) = fitted.and_then(|fitted| Some((fitted.clone(), fitted.model()?))) else {
            self.assumptions.insert(0, format!("the notebook has no counts of {name} yet"));
            return self;
        };
        if self.usual_source == UsualSource::Time {
            let steady = self.crawl_time(SwimStretch::Length(pool), Effort::Steady);
            let usual = model.tempo_for(steady, |tempo| model.length_time(pool.metres(), tempo));
            // Within 0.4 to 2.5 s, so that it has no sign.
            self.usual = Tempo::from_millis(libm::round(usual * 1000.0) as u64);
        }
        self.model = model;
        self.spread = fitted.spread(self.usual).clamp(SPREAD.0, SPREAD.1);
        let days = match fitted.latest().map(|days| days as u64) {
            None | Some(0) => "today".to_owned(),
            Some(1) => "yesterday".to_owned(),
            Some(days) => format!("{days} days ago"),
        };
        let counted = match counts.len() {
            1 => format!("1 count in the notebook, made {days}"),
            many => format!("{many} counts in the notebook, the last of them {days}"),
        };
        let strokes = model.count(pool.metres(), self.usual.as_f64());
        let sentence = format!(
            "{name} takes {strokes:.1} strokes a length at {:.2} s in {pool}, by {counted}",
            self.usual.as_f64()
        );
        self.assumptions.insert(0, sentence);
        self
    }

    /// The same with another tempo by feel.
    #[must_use]
    pub fn with_usual(self, usual: Tempo) -> Self {
        Self { usual, ..self }
    }

    /// The same with the critical speed that trials made, in metres a second; to the whole second of a pace.
    #[must_use]
    pub fn with_critical(mut self, speed: f64) -> Self {
        let pace = Pace::new(Seconds::from_estimate(libm::round(100.0 * self.pace_unit.metres() / speed)));
        if let Some(pace) = pace {
            self.critical = Some(pace);
            let sentence = format!("the critical pace is {} for 100, from timed tests", pace.per_hundred());
            self.assumptions.insert(0, sentence);
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::swimmer::fit::counts::{Condition, CountedAt};
    use crate::swimmer::model::StrokeModel;
    use crate::swimmer::{How, SpeedTarget, SwimStretch};

    #[test]
    fn counts_take_the_place_of_what_was_assumed() {
        let pool = StrokeModel::assumed_pool();
        let assumed = Swimmer::assumed();
        let before = StrokesBefore { model: assumed.model, usual: assumed.usual, width: 0.15 };
        let count = |centis: u64, count: f64| {
            let at = CountedAt::Tempo(Tempo::from_centis(centis));
            LengthCount::new(3.0, pool, count, at, Condition::Fresh).unwrap()
        };
        let counts: Vec<_> = (0..6).flat_map(|_| [count(130, 19.0), count(115, 20.0), count(100, 22.0)]).collect();
        let known = assumed.clone().with_usual(Tempo::from_centis(130)).with_counts(&before, pool, &counts);
        let predicted = |centis: u64| {
            let how = How::crawl(SpeedTarget::Tempo(Tempo::from_centis(centis)));
            known.predict(SwimStretch::Length(pool), &how).count.unwrap()
        };
        assert!((predicted(130) - 19.0).abs() < 0.5 && (predicted(100) - 22.0).abs() < 0.5, "{}", predicted(130));
        assert!(
            known.assumptions[0].contains("18 counts in the notebook, the last of them 3 days ago"),
            "{:?}",
            known.assumptions
        );
        assert!((0.02..=0.06).contains(&known.spread));
        let none = assumed.clone().with_counts(&before, pool, &[]);
        assert_eq!(
            (none.model, &none.assumptions[0][..]),
            (assumed.model, "the notebook has no counts of the assumed swimmer yet")
        );
    }

    #[test]
    fn a_stated_time_is_kept_and_its_tempo_follows_from_the_counts() {
        // 100 m in 1:50: 27.5 s a length, 23.5 s of them with strokes. Assumed are about 20 strokes at 1.19 s; 17 were counted
        // at 1.30 s.
        let pool = StrokeModel::assumed_pool();
        let stated = Swimmer::of_hundred(Pace::new(Seconds::from_secs(110)).unwrap(), pool).unwrap();
        let before = StrokesBefore { model: stated.model, usual: stated.usual, width: 0.15 };
        let at = CountedAt::Tempo(Tempo::from_centis(130));
        let counts = [LengthCount::new(1.0, pool, 17.0, at, Condition::Fresh).unwrap(); 8];
        let known = stated.clone().with_counts(&before, pool, &counts);
        let length = |swimmer: &Swimmer| {
            let steady = How::crawl(SpeedTarget::Effort(Effort::Steady));
            swimmer.predict(SwimStretch::Length(pool), &steady)
        };
        assert!((length(&known).time.as_f64() - length(&stated).time.as_f64()).abs() < 0.02);
        assert!((known.usual.as_f64() - 23.5 / length(&known).count.unwrap()).abs() < 0.002, "{:?}", known.usual);
        assert!(known.usual.as_f64() > stated.usual.as_f64() + 0.1, "{:?} {:?}", known.usual, stated.usual);
        // A tempo that was stated stays.
        let stated = Swimmer { usual_source: UsualSource::Stated, ..stated };
        assert_eq!(stated.clone().with_counts(&before, pool, &counts).usual, stated.usual);
    }

    #[test]
    fn trials_make_a_critical_pace() {
        // 1.25 m/s is 1:20 for 100 m (arithmetic).
        let known = Swimmer::assumed().with_critical(1.25);
        assert_eq!(known.critical.unwrap().per_hundred(), Seconds::from_secs(80));
    }
}
