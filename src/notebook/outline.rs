//! A planned practice as the notebook keeps it before anybody has said how it went, and what its script asks of the log.

use super::entry::{Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, ScriptCopy, SwimState, ValueSource};
use super::lengths::LengthRuns;
use crate::practice::{Breaths, Line, Practice, Repeat, Set, strokes};
use crate::script::{BodyPart, CountOn, Stroke, Test, Water};
use crate::session::swim::SwimFacts;
use crate::units::calendar::Day;

/// What is planned, and what the log is to ask.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// The practice, with nothing observed.
    pub practice: LoggedPractice,
    /// The lengths whose strokes the script has counted, in the order swum.
    pub counts: Vec<AskedLength>,
    /// The swims whose time the script asks for.
    pub times: Vec<AskedSwim>,
}

/// A repeat of which something is asked: both numbers from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct AskedSwim {
    /// The set.
    pub set: u32,
    /// The repeat of the set.
    pub repeat: u32,
}

/// A length whose strokes are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct AskedLength {
    /// Of which repeat.
    pub swim: AskedSwim,
    /// Which length of it, from 1.
    pub length: u32,
}

impl Outline {
    /// Of a practice that `swimmer` swam on that day.
    pub fn of(practice: &Practice, script: ScriptCopy, swimmer: &str, day: Day) -> Self {
        let sets: Vec<LoggedSet> =
            practice.sets().enumerate().map(|(index, set)| outline(practice, index, set)).collect();
        let mut asked = (Vec::new(), Vec::new());
        for (number, set) in (1..).zip(practice.sets()) {
            for (index, repeat) in (1..).zip(&set.repeats) {
                let Some(line) = set.lines.get(repeat.line) else { continue };
                let swim = AskedSwim { set: number, repeat: index };
                let lengths = counted_lengths(line, repeat);
                asked.0.extend(lengths.map(|length| AskedLength { swim, length }));
                asked.1.extend((line.test == Some(Test::Time)).then_some(swim));
            }
        }
        let practice = LoggedPractice {
            swimmer: swimmer.to_owned(),
            script: Some(script),
            title: practice.title.clone(),
            day,
            begun: None,
            pool: match practice.water {
                Water::Pool(pool) => pool.to_string(),
                Water::Open => "open water".into(),
            },
            minutes: None,
            said: Impressions::default(),
            record: None,
            sets,
        };
        Self { practice, counts: asked.0, times: asked.1 }
    }

    /// Of a practice that is in the notebook: what was counted and timed then is asked again.
    pub fn of_kept(practice: LoggedPractice) -> Self {
        let (mut counts, mut times) = (Vec::new(), Vec::new());
        for (set, repeat) in practice.repeats() {
            let swim = AskedSwim { set: set.number, repeat: repeat.number };
            for observed in &repeat.observations {
                match (observed.measure, observed.length) {
                    (Measure::Count, length) => counts.push(AskedLength { swim, length: length.unwrap_or(1) }),
                    (Measure::Time, None) if observed.source != ValueSource::Tapped => times.push(swim),
                    _ => {}
                }
            }
        }
        counts.sort_unstable();
        counts.dedup();
        times.dedup();
        Self { practice, counts, times }
    }
}

/// The lengths of a repeat whose strokes the script has counted.
fn counted_lengths(line: &Line, repeat: &Repeat) -> impl Iterator<Item = u32> + use<> {
    let last = repeat.count_lengths();
    let from = match (line.count, line.test) {
        (Some(CountOn::EachLength), _) => 1,
        (Some(CountOn::LastLength), _) | (None, Some(Test::Count)) => last,
        (None, _) => last + 1,
    };
    from..=last
}

fn outline(practice: &Practice, index: usize, set: &Set) -> LoggedSet {
    let repeat = |(number, repeat): (usize, &Repeat)| planned(practice, (index, set), number, repeat);
    LoggedSet {
        number: index as u32 + 1,
        title: set.title.text.clone(),
        apart: None,
        repeats: set.repeats.iter().enumerate().filter_map(repeat).collect(),
    }
}

fn planned(practice: &Practice, (index, set): (usize, &Set), number: usize, repeat: &Repeat) -> Option<LoggedRepeat> {
    let line = set.lines.get(repeat.line)?;
    let breaths = line.breathe.map(|breathe| Breaths::of_repeat(repeat, breathe, number, practice.side));
    let phrase = |(phrase, strokes): (usize, u32)| Some((line.focus.get(phrase)?.id.to_string(), strokes));
    Some(LoggedRepeat {
        number: number as u32 + 1,
        round: repeat.round + 1,
        metres: f64::from(repeat.distance.count()) * practice.unit().metres(),
        lengths: if practice.water == Water::Open { 0 } else { repeat.count_lengths() },
        swim: SwimFacts::of(practice, index, number)?.what(),
        plain: LengthRuns::of((1..=repeat.count_lengths()).filter(|length| is_plain(line, length - 1))),
        test: line.test.is_some(),
        tempo: repeat.tempo.map(|tempo| tempo.as_f64()),
        predicted: Some(repeat.predicted.as_f64()),
        breaths: breaths.map_or((0, 0), |breaths| (breaths.left, breaths.right)),
        state: SwimState::Unknown,
        observations: Vec::new(),
        rehearsed: strokes::rehearsed(repeat).into_iter().filter_map(phrase).collect(),
    })
}

/// Whether the strokes of a length, from 0, tell of the whole stroke.
fn is_plain(line: &Line, length: u32) -> bool {
    let crawl = |stroke: Option<Stroke>| matches!(stroke, None | Some(Stroke::Crawl));
    let own = (length as usize).checked_rem(line.kinds.len()).and_then(|kind| line.kinds.get(kind));
    let (drill, part, stroke) = own.map_or((None, None, None), |kind| (kind.drill.as_ref(), kind.part, kind.stroke));
    drill.or(line.drill.as_ref()).is_none()
        && part.unwrap_or(line.part) == BodyPart::Swim
        && crawl(stroke.or(line.stroke))
        && line.gear.is_empty()
}
