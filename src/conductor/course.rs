//! The course: a practice as it really goes. It begins as planned; commands move its starts (`turns`), and what is heard
//! from then on is laid again and cut into legs. Without a command it is the file's.

use super::command::{CourseCommand, Happened, Refused};
use super::lineup::{LaneScore, LaneUnderWay};
use super::shift::at_once;
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
    /// Who shares a lane, where several do: the practice is then the lane's as a whole, and its starts are the lane's clock.
    pub lane: Option<LaneScore<'a>>,
}

/// Everything on one clock: what is heard from the last command on, and the swimmers whose starts it is made of.
#[derive(Debug)]
pub(super) struct Course<'a> {
    legs: Cow<'a, [Leg]>,
    end: Option<Seconds>,
    /// The starts that commands move: one swimmer's, or a lane's as a whole. None where there is sound only.
    steered: Option<Steered<'a>>,
    /// The swimmers of a lane.
    lane: Option<LaneUnderWay<'a>>,
}

impl<'a> Course<'a> {
    /// Sound that nobody steers.
    pub(super) fn of(timeline: &'a Timeline) -> Self {
        Self { legs: Cow::Borrowed(&timeline.legs), end: Some(timeline.len()), steered: None, lane: None }
    }

    /// A practice as planned; `timeline` has all the sounds that may come to be used.
    pub(super) fn planned(timeline: &'a Timeline, score: &Score<'a>) -> Self {
        let Score { practice, strand, library, swimmer, lane } = *score;
        let steered = Steered {
            layer: Layer::under_way(practice, library, &timeline.sounds),
            swimmer,
            plan: &strand.starts,
            recorded: vec![false; strand.starts.len()],
            nudges: vec![0; practice.sets().count()],
            kept: VecDeque::new(),
            pauses: Vec::new(),
            strand: strand.clone(),
        };
        let lane = lane.map(|lane| LaneUnderWay::planned(lane, &strand.starts));
        Self { steered: Some(steered), lane, ..Self::of(timeline) }
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
        let Some(steered) = &mut self.steered else { return Vec::new() };
        let goes = steered.goes(position, rate);
        match &mut self.lane {
            // The lane's go is that of whoever leaves on it.
            Some(lane) => lane.goes(steered, position, rate),
            None => goes,
        }
    }

    /// Takes a command.
    pub(super) fn turn(&mut self, command: CourseCommand, moment: &Moment) -> Result<Turn, Refused> {
        if self.over(moment.frame, moment.rate) {
            return Err(Refused("the practice is over".to_owned()));
        }
        let Some(steered) = &mut self.steered else {
            return Err(Refused("this practice cannot be steered".to_owned()));
        };
        let turn = match &mut self.lane {
            Some(lane) => lane.turn(steered, command, moment)?,
            None => steered.turn(command, moment)?,
        };
        if turn.rings.is_some() {
            let calls = self.lane.as_ref().map(|lane| lane.calls(steered));
            let strands: Vec<&Strand> = std::iter::once(&steered.strand).chain(&calls).collect();
            let held = steered.strand.held.is_some();
            let (legs, end) = strand::legs(&strands, moment.now);
            (self.legs, self.end) = (Cow::Owned(legs), (!held).then_some(end));
        }
        Ok(turn)
    }

    /// The practice's clock has stood still at a moment, for so long by now.
    pub(super) fn stood(&mut self, at: Seconds, long: Seconds) {
        self.steered.iter_mut().for_each(|steered| steered.stood(at, long));
    }

    /// Whether all of it may be put on, or back, by so much at a frame.
    pub(super) fn may_shift(&self, from: PracticeFrame, by: Seconds, rate: SampleRate) -> bool {
        let at = from.time(rate);
        let calls = |steered: &Steered<'_>| {
            self.lane.as_ref().is_some_and(|lane| lane.calls_within(steered, at.min(at + by), at.max(at + by)))
        };
        let may = |steered: &Steered<'_>| steered.may_shift(at, by) && (at_once(by) || !calls(steered));
        !self.over(from, rate) && self.steered.as_ref().is_none_or(may)
    }

    /// From a moment in a countdown back to where a whole one can begin.
    pub(super) fn to_countdown(&self, at: Seconds) -> Option<Seconds> {
        self.steered.as_ref().and_then(|steered| steered.to_countdown(at))
    }

    /// Fills in where the practice is.
    pub(super) fn fill(&self, situation: &mut Situation, position: PracticeFrame, rate: SampleRate) {
        let now = position.time(rate);
        if let Some(steered) = &self.steered {
            steered.fill(situation, now);
            self.lane.iter().for_each(|lane| lane.fill(steered, situation, now));
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
