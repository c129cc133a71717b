//! The course: a practice as it really goes. It begins as planned; commands move its starts (`turns`), and what is heard
//! from then on is laid again and cut into legs. Without a command it is the file's.

use super::command::{CourseCommand, Happened, Refused};
use super::situation::{Activity, Situation};
use super::steered::{Moment, Steered};
use super::turns::Turn;
use crate::pack::library::Library;
use crate::practice::Practice;
use crate::swimmer::Swimmer;
use crate::timeline::lay::Layer;
use crate::timeline::strand::{self, Strand};
use crate::timeline::{Leg, Timeline};
use crate::units::frame::PracticeFrame;
use crate::units::time::{SampleRate, Seconds};
use std::borrow::Cow;
use std::collections::VecDeque;

/// What steering takes besides the timeline.
#[derive(Clone, Copy, Debug)]
pub struct Score<'a> {
    /// The practice.
    pub practice: &'a Practice,
    /// Its starts as planned, and what is heard of them.
    pub strand: &'a Strand,
    /// The words.
    pub library: &'a Library,
    /// How the swimmer swims.
    pub swimmer: &'a Swimmer,
}

/// Everything on one clock: what is heard from the last command on, and the swimmers whose starts it is made of.
#[derive(Debug)]
pub(super) struct Course<'a> {
    legs: Cow<'a, [Leg]>,
    end: Option<Seconds>,
    /// One for each swimmer on the clock; none where there is sound only.
    steered: Vec<Steered<'a>>,
}

impl<'a> Course<'a> {
    /// Sound that nobody steers.
    pub(super) fn of(timeline: &'a Timeline) -> Self {
        Self { legs: Cow::Borrowed(&timeline.legs), end: Some(timeline.len()), steered: Vec::new() }
    }

    /// A practice as planned; `timeline` has all the sounds that may come to be used.
    pub(super) fn planned(timeline: &'a Timeline, score: &Score<'a>) -> Self {
        let Score { practice, strand, library, swimmer } = *score;
        let steered = Steered {
            layer: Layer::under_way(practice, library, &timeline.sounds),
            swimmer,
            plan: &strand.starts,
            recorded: vec![false; strand.starts.len()],
            nudges: vec![0; practice.sets().count()],
            kept: VecDeque::new(),
            strand: strand.clone(),
        };
        Self { steered: vec![steered], ..Self::of(timeline) }
    }

    /// What is heard as things stand: all of it as planned, or from the last change on.
    pub(super) fn legs(&self) -> &[Leg] {
        &self.legs
    }

    /// Whether everything has been heard.
    pub(super) fn over(&self, position: PracticeFrame, rate: SampleRate) -> bool {
        self.end.is_some_and(|end| position >= PracticeFrame::at(end, rate))
    }

    /// Gos that have come since the record last heard.
    pub(super) fn goes(&mut self, position: PracticeFrame, rate: SampleRate) -> Vec<Happened> {
        self.steered.iter_mut().flat_map(|steered| steered.goes(position, rate)).collect()
    }

    /// Takes a command.
    pub(super) fn turn(&mut self, command: CourseCommand, moment: &Moment) -> Result<Turn, Refused> {
        if self.over(moment.frame, moment.rate) {
            return Err(Refused("the practice is over".to_owned()));
        }
        let Some(steered) = self.steered.first_mut() else {
            return Err(Refused("this practice cannot be steered".to_owned()));
        };
        let turn = steered.turn(command, moment)?;
        if turn.rings.is_some() {
            let strands: Vec<&Strand> = self.steered.iter().map(|steered| &steered.strand).collect();
            let held = strands.iter().any(|strand| strand.held.is_some());
            let (legs, end) = strand::legs(&strands, moment.now);
            (self.legs, self.end) = (Cow::Owned(legs), (!held).then_some(end));
        }
        Ok(turn)
    }

    /// Whether all of it may be put on, or back, by so much at a frame.
    pub(super) fn may_shift(&self, from: PracticeFrame, by: Seconds, rate: SampleRate) -> bool {
        !self.over(from, rate) && self.steered.iter().all(|steered| steered.may_shift(from.time(rate), by))
    }

    /// From a moment in a countdown back to where a whole one can begin.
    pub(super) fn to_countdown(&self, at: Seconds) -> Option<Seconds> {
        self.steered.first().and_then(|steered| steered.to_countdown(at))
    }

    /// Fills in where the practice is.
    pub(super) fn fill(&self, situation: &mut Situation, position: PracticeFrame, rate: SampleRate) {
        if let Some(steered) = self.steered.first() {
            steered.fill(situation, position.time(rate));
        }
        if self.over(position, rate) {
            situation.phase = Activity::Over;
        }
    }

    /// The ids of what could not be said for lack of a sound.
    pub(super) fn unsayable(&self) -> impl Iterator<Item = &str> {
        self.steered.iter().flat_map(|steered| steered.layer.unsayable())
    }
}
