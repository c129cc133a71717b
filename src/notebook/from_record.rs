//! From the record of a live session to what was swum: gos and touches, what was left out, tempos that were changed. What a key
//! took back is as if it had never been. Of a lane's record each swimmer takes what is theirs.

use super::entry::{Measure, Observation, SwimState, ValueSource};
use super::outline::{AskedSwim, Outline};
use super::place;
use crate::practice::Practice;
use crate::session::record::{RecordEvent, RecordLine, RepeatNote};
use crate::units::time::Seconds;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Why a record is not of a practice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OtherPractice {
    /// A repeat of the record is not in the practice.
    Unknown(AskedSwim),
    /// A repeat is another swim in each of the two.
    Different {
        /// Which.
        swim: AskedSwim,
        /// What the record says.
        record: String,
        /// What the practice says.
        practice: String,
    },
}

impl fmt::Display for OtherPractice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown(swim) => {
                write!(f, "the record has repeat {} of set {}, the script has none", swim.repeat, swim.set)
            }
            Self::Different { swim, record, practice } => write!(
                f,
                "repeat {} of set {} is `{record}` in the record and `{practice}` in the script",
                swim.repeat, swim.set
            ),
        }
    }
}

impl std::error::Error for OtherPractice {}

/// What became of a repeat.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct RepeatFate {
    state: Option<SwimState>,
    /// Its go was given, or it was joined.
    begun: bool,
    /// Seconds from the go to the touch.
    split: Option<Seconds>,
}

/// Something that a command did, so that it can be taken back: what was before.
#[derive(Debug)]
struct CommandDone {
    command: String,
    before: Vec<(AskedSwim, RepeatFate)>,
    tempos: Option<BTreeMap<AskedSwim, f64>>,
}

#[derive(Debug, Default)]
struct Telling {
    fates: BTreeMap<AskedSwim, RepeatFate>,
    done: Vec<CommandDone>,
    /// The last repeat that began.
    under_way: Option<AskedSwim>,
    last: Seconds,
    seat: Option<LaneSeat>,
}

/// Whose lines of a lane's record are meant.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LaneSeat {
    /// The swimmer's number.
    pub number: u32,
    /// Their repeats that go on from the one before without a stop: a lane's record has no line for them but at the touch.
    pub joined: BTreeSet<AskedSwim>,
}

impl LaneSeat {
    /// The swimmer of a number, with a practice of their own.
    pub fn of(number: u32, practice: &Practice) -> Self {
        let swims = (1..).zip(practice.sets()).flat_map(|(set, within)| {
            let joined = (1..).zip(&within.repeats).filter(|(_, repeat)| repeat.joined);
            joined.map(move |(repeat, _)| AskedSwim { set, repeat })
        });
        Self { number, joined: swims.collect() }
    }

    /// Whether they left the wall, or would have if they had heard their go. Who sat out the whole did not.
    pub fn took_part(&self, lines: &[RecordLine]) -> bool {
        let theirs = |line: &&RecordLine| noted(&line.event).is_some_and(|note| note.swimmer == Some(self.number));
        lines.iter().filter(theirs).any(Self::leaves)
    }

    /// Whether a line is somebody's go.
    pub const fn leaves(line: &RecordLine) -> bool {
        matches!(line.event, RecordEvent::Go { .. } | RecordEvent::Unheard { .. })
    }

    /// Their repeat and those that are swum with it without a stop.
    fn with_joined(&self, first: AskedSwim) -> impl Iterator<Item = AskedSwim> {
        let next = |before: &AskedSwim| {
            let next = AskedSwim { repeat: before.repeat.saturating_add(1), ..*before };
            self.joined.contains(&next).then_some(next)
        };
        std::iter::successors(Some(first), next)
    }
}

/// Takes over what a record says into a practice as it was planned; of a lane's record what it says of the swimmer of a `seat`.
///
/// # Errors
/// Where the record is of another practice.
pub fn take_over(mut outline: Outline, lines: &[RecordLine], seat: Option<LaneSeat>) -> Result<Outline, OtherPractice> {
    // A lane's speaker plays no beats, so nobody swam to one.
    let mut tempos = if seat.is_some() { BTreeMap::new() } else { tempos(&outline) };
    let mut telling = Telling { seat, ..Telling::default() };
    let mut others_began = false;
    for line in lines {
        telling.last = line.time;
        if let Some(note) = noted(&line.event) {
            if telling.seat.as_ref().is_some_and(|seat| note.swimmer != Some(seat.number)) {
                others_began |= matches!(line.event, RecordEvent::Go { .. });
                continue;
            }
            is_of(note, &outline)?;
        }
        telling.hear(&line.event, &mut tempos);
    }
    let ended = others_began || telling.fates.values().any(|fate| fate.begun);
    for set in &mut outline.practice.sets {
        for repeat in &mut set.repeats {
            let swim = AskedSwim { set: set.number, repeat: repeat.number };
            let fate = telling.fates.get(&swim).copied().unwrap_or_default();
            repeat.state = match fate.state {
                Some(state) => state,
                None if fate.begun => SwimState::Unknown,
                // The session ended before its go.
                None if ended => SwimState::Skipped,
                None => SwimState::Unknown,
            };
            repeat.tempo = tempos.get(&swim).copied();
            repeat.observations.extend(fate.split.filter(|split| Measure::Time.range().contains(&split.as_f64())).map(
                |split| Observation {
                    measure: Measure::Time,
                    length: None,
                    value: split.as_f64(),
                    source: ValueSource::Tapped,
                },
            ));
        }
    }
    let minutes = telling.last.as_f64() / 60.0;
    outline.practice.minutes = (1.0..1440.0).contains(&minutes).then_some(minutes);
    Ok(outline)
}

fn tempos(outline: &Outline) -> BTreeMap<AskedSwim, f64> {
    let of = |(set, repeat): (&super::entry::LoggedSet, &super::entry::LoggedRepeat)| {
        Some((AskedSwim { set: set.number, repeat: repeat.number }, repeat.tempo?))
    };
    outline.practice.repeats().filter_map(of).collect()
}

/// The repeat that a line is about.
const fn noted(event: &RecordEvent) -> Option<&RepeatNote> {
    match event {
        RecordEvent::Go { which }
        | RecordEvent::Joined { which }
        | RecordEvent::Touch { which, .. }
        | RecordEvent::Late { which, .. }
        | RecordEvent::Missed { which }
        | RecordEvent::Unheard { which }
        | RecordEvent::Skipped { which } => Some(which),
        _ => None,
    }
}

fn swim_of(note: &RepeatNote) -> AskedSwim {
    let number = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
    AskedSwim { set: number(note.set), repeat: number(note.repeat) }
}

/// That the repeat of a record is that of the practice. Version 1 has its numbers alone.
fn is_of(note: &RepeatNote, outline: &Outline) -> Result<(), OtherPractice> {
    let swim = swim_of(note);
    let repeat = place::repeat(&outline.practice, swim).map_err(|_| OtherPractice::Unknown(swim))?;
    if note.swim.is_empty() || note.swim == repeat.swim {
        return Ok(());
    }
    Err(OtherPractice::Different { swim, record: note.swim.clone(), practice: repeat.swim.clone() })
}

impl Telling {
    fn hear(&mut self, event: &RecordEvent, tempos: &mut BTreeMap<AskedSwim, f64>) {
        match event {
            RecordEvent::Go { which } | RecordEvent::Joined { which } => {
                let swim = swim_of(which);
                // A repeat that is swum once more is told by the last time.
                self.put_with_joined(swim, RepeatFate { begun: true, ..RepeatFate::default() });
                self.under_way = Some(swim);
            }
            RecordEvent::Unheard { which } => {
                let unheard = RepeatFate { state: Some(SwimState::Unheard), ..RepeatFate::default() };
                self.put_with_joined(swim_of(which), unheard);
            }
            // The go that was given was not theirs; the one that is has a line when it comes.
            RecordEvent::Late { which, .. } => self.by_command_with_joined(swim_of(which), RepeatFate::default()),
            RecordEvent::Touch { which, split, repeats, .. } => {
                // A time of several repeats is none of them.
                let split = Some(*split).filter(|_| *repeats == 1);
                let last = swim_of(which);
                for before in 0..u32::try_from(*repeats).unwrap_or(1) {
                    let touched = RepeatFate { state: Some(SwimState::Swum), begun: true, split };
                    self.by_command(AskedSwim { repeat: last.repeat.saturating_sub(before), ..last }, touched);
                }
            }
            RecordEvent::Missed { which } => {
                let missed = RepeatFate { state: Some(SwimState::Missed), ..RepeatFate::default() };
                self.by_command_with_joined(swim_of(which), missed);
            }
            RecordEvent::Skipped { which } => {
                self.by_command(
                    swim_of(which),
                    RepeatFate { state: Some(SwimState::Skipped), ..RepeatFate::default() },
                );
            }
            RecordEvent::Command { command, .. } => {
                self.done.push(CommandDone { command: command.clone(), before: Vec::new(), tempos: None });
            }
            RecordEvent::Tempo { set, tempo, .. } => {
                if let Some(done) = self.done.last_mut() {
                    done.tempos = Some(tempos.clone());
                }
                self.change_tempo(u32::try_from(*set).unwrap_or(u32::MAX), tempo, tempos);
            }
            RecordEvent::Undone { command } => {
                let Some(last) = self.done.iter().rposition(|done| done.command == *command) else { return };
                let CommandDone { before, tempos: old, .. } = self.done.remove(last);
                for (swim, before) in before.into_iter().rev() {
                    // A go that came meanwhile was given all the same.
                    let since = self.fates.get(&swim).is_some_and(|now| now.begun);
                    self.fates.insert(swim, RepeatFate { begun: before.begun || since, ..before });
                }
                if let Some(old) = old {
                    *tempos = old;
                }
            }
            RecordEvent::Taken { .. }
            | RecordEvent::Refused { .. }
            | RecordEvent::Device { .. }
            | RecordEvent::Gap { .. }
            | RecordEvent::Behind { .. }
            | RecordEvent::Underrun { .. }
            | RecordEvent::End { .. } => {}
        }
    }

    /// A repeat, and in a lane those that are swum with it without a stop.
    fn group(&self, first: AskedSwim) -> Vec<AskedSwim> {
        self.seat.as_ref().map_or_else(|| vec![first], |seat| seat.with_joined(first).collect())
    }

    fn put_with_joined(&mut self, first: AskedSwim, fate: RepeatFate) {
        self.fates.extend(self.group(first).into_iter().map(|swim| (swim, fate)));
    }

    fn by_command_with_joined(&mut self, first: AskedSwim, fate: RepeatFate) {
        self.group(first).into_iter().for_each(|swim| self.by_command(swim, fate));
    }

    /// What a command made of a repeat.
    fn by_command(&mut self, swim: AskedSwim, fate: RepeatFate) {
        let before = self.fates.insert(swim, fate).unwrap_or_default();
        if let Some(done) = self.done.last_mut() {
            done.before.push((swim, before));
        }
    }

    /// The tempo that is heard next in the set, and by as much every later one of it.
    fn change_tempo(&self, set: u32, written: &str, tempos: &mut BTreeMap<AskedSwim, f64>) {
        let Ok(new) = written.parse::<f64>() else { return };
        let swum = |swim: AskedSwim| self.fates.get(&swim).is_some_and(|fate| fate.split.is_some());
        // One that is under way, else the next of the set.
        let from = match self.under_way {
            Some(under_way) if under_way.set == set && !swum(under_way) => under_way,
            Some(under_way) if under_way.set == set => AskedSwim { set, repeat: under_way.repeat + 1 },
            _ => AskedSwim { set, repeat: 1 },
        };
        let beyond = AskedSwim { set: set.saturating_add(1), repeat: 0 };
        let Some(step) = tempos.range(from..beyond).next().map(|(_, old)| new - old) else { return };
        for (_, tempo) in tempos.range_mut(from..beyond) {
            // A sum of hundredths is a hundredth again.
            *tempo = libm::round((*tempo + step) * 1e9) / 1e9;
        }
    }
}

#[cfg(test)]
mod tests;
