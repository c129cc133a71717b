//! What somebody said of a practice, and how it enters what is kept of it. How it is written, by flags, at questions or in a
//! table, is read elsewhere.

use super::entry::{LoggedPractice, Measure, Observation, SwimState, ValueSource};
use super::outline::AskedSwim;
use super::place::WrongAnswer;

/// What was said. What is not there was not said, and leaves things as they are.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Answers {
    /// The repeats that were left out; an empty list says that all was swum.
    pub missed: Option<Vec<AskedSwim>>,
    /// Values that were observed.
    pub values: Vec<SaidValue>,
    /// From where the stroke fell apart, at most one repeat of a set; an empty list says that it held.
    pub apart: Option<Vec<AskedSwim>>,
    /// How good the stroke felt, 1 to 5.
    pub feel: Option<u8>,
    /// Session RPE, 0 to 10.
    pub effort: Option<u8>,
    /// How long it took.
    pub minutes: Option<f64>,
    /// Where it hurt; an empty text says that nothing did.
    pub pain: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

/// What is said of a repeat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SaidValue {
    /// The repeat.
    pub swim: AskedSwim,
    /// What.
    pub measure: Measure,
    /// Of which length, from 1; of the whole repeat where there is none.
    pub length: Option<u32>,
    /// The value and how it is known; none says that there is none, and one that is there goes.
    pub value: Option<(f64, ValueSource)>,
}

impl Answers {
    /// Whether nothing was said.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Takes over what was said later.
    pub fn absorb(&mut self, later: Self) {
        self.missed = later.missed.or_else(|| self.missed.take());
        self.apart = later.apart.or_else(|| self.apart.take());
        self.values.extend(later.values);
        self.feel = later.feel.or(self.feel);
        self.effort = later.effort.or(self.effort);
        self.minutes = later.minutes.or(self.minutes);
        self.pain = later.pain.or_else(|| self.pain.take());
        self.note = later.note.or_else(|| self.note.take());
    }

    /// Enters it into a practice.
    ///
    /// # Errors
    /// Where a repeat is said to be left out and has values all the same. The practice is of no use then.
    pub fn apply(self, practice: &mut LoggedPractice) -> Result<(), WrongAnswer> {
        if let Some(missed) = &self.missed {
            for set in &mut practice.sets {
                for repeat in &mut set.repeats {
                    let swim = AskedSwim { set: set.number, repeat: repeat.number };
                    repeat.state = match (missed.contains(&swim), repeat.state) {
                        (true, SwimState::Unknown | SwimState::Swum | SwimState::Missed) => SwimState::Missed,
                        (false, SwimState::Unknown | SwimState::Swum | SwimState::Missed) => SwimState::Swum,
                        // What a session record says of its gos is not for memory to change.
                        (_, told @ (SwimState::Skipped | SwimState::Unheard)) => told,
                    };
                }
            }
        }
        for SaidValue { swim, measure, length, value } in self.values {
            let set = practice.sets.iter_mut().find(|set| set.number == swim.set);
            let repeat = set.and_then(|set| set.repeats.iter_mut().find(|repeat| repeat.number == swim.repeat));
            let Some(repeat) = repeat else { return Err(WrongAnswer(format!("there is no repeat {swim}"))) };
            let same =
                |old: &Observation| (old.measure, old.length) == (measure, length) && old.source != ValueSource::Tapped;
            repeat.observations.retain(|old| !same(old));
            let Some((value, source)) = value else { continue };
            repeat.observations.push(Observation { measure, length, value, source });
            if repeat.state != SwimState::Missed {
                repeat.state = SwimState::Swum;
            }
        }
        for (set, repeat) in practice.repeats() {
            let said = |observed: &Observation| observed.source != ValueSource::Tapped;
            if repeat.state == SwimState::Missed && repeat.observations.iter().any(said) {
                let swim = AskedSwim { set: set.number, repeat: repeat.number };
                let what = if repeat.observations.iter().any(|observed| observed.measure == Measure::Count) {
                    "a count"
                } else {
                    "a value"
                };
                return Err(WrongAnswer(format!("{swim} was left out and has {what}: one of the two is wrong")));
            }
        }
        if let Some(apart) = &self.apart {
            for set in &mut practice.sets {
                set.apart = apart.iter().find(|swim| swim.set == set.number).map(|swim| swim.repeat);
            }
            practice.said.held = apart.is_empty();
        }
        practice.minutes = self.minutes.or(practice.minutes);
        let said = &mut practice.said;
        said.feel = self.feel.or(said.feel);
        said.effort = self.effort.or(said.effort);
        said.pain = self.pain.or_else(|| said.pain.take());
        said.note = self.note.or_else(|| said.note.take());
        Ok(())
    }
}
