//! Practices as the notebook would have them, for the tests of the rules.

mod compared;
mod season;
mod swimmers;

use crate::notebook::entry::{LoggedPractice, LoggedRepeat, LoggedSet, Measure, Observation, ValueSource};
use crate::notebook::lengths::LengthRuns;
use crate::notebook::sample;
use crate::units::calendar::Day;

/// A day of a month that begins on a Monday.
pub fn day(day: u8) -> Day {
    Day::new(2026, 6, day as i8).unwrap()
}

/// A practice that is being made up.
pub struct SwumPractice(LoggedPractice);

impl SwumPractice {
    pub fn on(on: u8) -> Self {
        let set = LoggedSet { number: 1, title: "Set".into(), apart: None, repeats: Vec::new() };
        Self(LoggedPractice { title: "Practice".into(), day: day(on), ..sample::practice(vec![set]) })
    }

    fn repeat(mut self, change: impl FnOnce(&mut LoggedRepeat)) -> Self {
        let repeats = &mut self.0.sets[0].repeats;
        let mut repeat = LoggedRepeat { swim: "50 m".into(), ..sample::repeat(repeats.len() as u32 + 1, 2) };
        change(&mut repeat);
        repeats.push(repeat);
        self
    }

    pub fn tempo(self, tempo: f64) -> Self {
        self.repeat(|repeat| repeat.tempo = Some(tempo))
    }

    pub fn count(self, tempo: f64, value: f64) -> Self {
        self.repeat(|repeat| {
            repeat.tempo = Some(tempo);
            let (measure, source) = (Measure::Count, ValueSource::Counted);
            repeat.observations.push(Observation { measure, length: Some(2), value, source });
        })
    }

    pub fn counts(self, tempo: f64, values: &[f64]) -> Self {
        values.iter().fold(self, |swum, value| swum.count(tempo, *value))
    }

    pub fn rehearsed(self, phrase: &str, strokes: u32) -> Self {
        self.repeat(|repeat| repeat.rehearsed.push((phrase.into(), strokes)))
    }

    /// A repeat of half a drill, half whole, without a beat.
    pub fn drilled(self, metres: f64) -> Self {
        self.repeat(|repeat| {
            repeat.metres = metres;
            repeat.plain = LengthRuns::of([2]);
        })
    }

    /// A whole swim without a beat.
    pub fn whole(self, metres: f64) -> Self {
        self.repeat(|repeat| repeat.metres = metres)
    }

    /// A timed swim.
    pub fn timed(self, metres: f64) -> Self {
        self.repeat(|repeat| (repeat.metres, repeat.test) = (metres, true))
    }

    pub fn metres(self, metres: f64) -> Self {
        let before = self.0.metres();
        self.repeat(|repeat| repeat.metres = metres - before)
    }

    pub fn said(mut self, effort: u8, feel: u8) -> Self {
        (self.0.said.effort, self.0.said.feel) = (Some(effort), Some(feel));
        self
    }

    pub fn pain(mut self, pain: Option<&str>) -> Self {
        self.0.said.pain = pain.map(str::to_owned);
        self
    }

    pub fn minutes(mut self, minutes: f64) -> Self {
        self.0.minutes = Some(minutes);
        self
    }

    pub fn done(self) -> LoggedPractice {
        self.0
    }
}
