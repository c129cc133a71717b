//! A practice being played, whatever plays it: what conductor, record and whoever watches have to do with each other.
//!
//! It knows no device and no clock: whoever owns the mixer tells the frame. How it is told to people and to the record is in
//! `telling`.

mod telling;

use super::faults::{FaultKind, Faults};
use super::input;
use super::record::{Head, HeadLane, RecordEvent, Recorder};
use super::silence::{Silence, ToldGos};
use super::snapshot::Split;
use crate::audio::bank::Bank;
use crate::conductor::command::{Command, CommandId, CourseCommand, DeskCommand, Timing};
use crate::conductor::doubt::{Doubt, TouchQuestion};
use crate::conductor::situation::LateTouch;
use crate::conductor::{Conductor, LaneScore, Score, Supply};
use crate::mixer::{Controls, Mixer};
use crate::plan::Plan;
use crate::timeline::Timeline;
use crate::timeline::bank::BankError;
use crate::timeline::lower::BankMismatch;
use crate::units::frame::PracticeFrame;
use crate::units::time::{SampleRate, Seconds};
use std::path::PathBuf;
use std::sync::Arc;

/// Makes a bank of the practice at a rate; on any thread.
pub type MakeBank<'a> = dyn Fn(SampleRate) -> Result<Bank, BankError> + Sync + 'a;

/// What is to be played.
#[derive(Clone, Copy)]
pub struct Programme<'a> {
    /// What is heard, and when.
    pub timeline: &'a Timeline,
    /// What is swum, and what steering takes.
    pub score: Score<'a>,
    /// The numbers.
    pub plan: &'a Plan,
    /// The clips.
    pub banks: &'a MakeBank<'a>,
    /// What tells the script from others.
    pub script: &'a str,
    /// The swimmer's name.
    pub swimmer: Option<&'a str>,
}

/// How a session ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SessionEnd {
    /// Whether a signal ended it.
    pub interrupted: bool,
    /// Where the record is.
    pub record: Option<PathBuf>,
    /// Why the record is not whole, if so.
    pub record_failed: Option<String>,
    /// How long the practice went.
    pub at: Seconds,
    /// Blocks that the device did not get in time.
    pub missed_blocks: u64,
    /// Cues that could not be played.
    pub missed_cues: u64,
}

/// A command that was taken and not yet answered.
struct Waiting {
    id: CommandId,
    /// Its words, if somebody waits for the answer.
    words: Option<String>,
    /// The repeats that are lost by it.
    without: Vec<String>,
}

impl Waiting {
    /// The repeats that are lost by it, by their names where they are few.
    fn without(&self) -> String {
        match self.without.as_slice() {
            few @ ([] | [_] | [_, _]) => few.iter().map(|left_out| format!(", without {left_out}")).collect(),
            many => format!(", without {} repeats", many.len()),
        }
    }
}

/// One practice being played.
pub(super) struct Performance<'a> {
    pub(super) programme: Programme<'a>,
    pub(super) conductor: Conductor<'a>,
    pub(super) controls: Controls,
    pub(super) rate: SampleRate,
    /// Frames of the limiter's look-ahead at this rate.
    pub(super) latency: u64,
    pub(super) recorder: Recorder,
    pub(super) paused: bool,
    pub(super) silence: Silence,
    pub(super) faults: Faults,
    /// Gos that nobody heard.
    lost_goes: u32,
    /// The last gos that were told.
    told_gos: ToldGos,
    question: TouchQuestion,
    waiting: Vec<Waiting>,
    last: Option<String>,
    splits: Vec<Split>,
    /// Whether somebody has been shown that the record has failed.
    failure_said: bool,
    /// What there is to say, a line each.
    lines: Vec<String>,
}

impl<'a> Performance<'a> {
    /// From the beginning, with the mixer to be played: its first legs are in it, its look-ahead is drained.
    pub(super) fn begin(
        programme: Programme<'a>,
        bank: Arc<Bank>,
        recorder: Recorder,
    ) -> Result<(Self, Mixer), BankMismatch> {
        let rate = bank.rate;
        let conductor = Conductor::steered(programme.timeline, &programme.score, bank, Supply::live(rate))?;
        let (mixer, controls) = Mixer::new(rate);
        let mut performance = Self {
            programme,
            conductor,
            controls,
            rate,
            latency: mixer.latency(),
            recorder,
            paused: false,
            silence: Silence::default(),
            faults: Faults::default(),
            lost_goes: 0,
            told_gos: ToldGos::default(),
            question: TouchQuestion::default(),
            waiting: Vec::new(),
            last: None,
            splits: Vec::new(),
            failure_said: false,
            lines: Vec::new(),
        };
        let mixer = performance.prime(mixer);
        Ok((performance, mixer))
    }

    /// The head of a record of this practice.
    pub(super) fn head(programme: &Programme<'_>, device: &str, rate: SampleRate, started: String) -> Head {
        Head {
            version: super::record::VERSION,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            started,
            script: programme.script.to_owned(),
            title: programme.plan.title.clone(),
            pool: programme.plan.pool.clone(),
            swimmer: programme.swimmer.map(str::to_owned),
            lane: programme.score.lane.map(|LaneScore { lane, .. }| HeadLane {
                name: lane.name.clone(),
                swimmers: lane.swimmers.iter().map(|who| who.name.clone()).collect(),
                gap: lane.gap,
            }),
            device: device.to_owned(),
            rate: rate.hertz(),
        }
    }

    fn prime(&mut self, mut mixer: Mixer) -> Mixer {
        self.conductor.prime(&mut mixer, &self.controls);
        mixer
    }

    /// Takes a block of interleaved frames from the mixer, and hears what has come of what.
    pub(super) fn pull(&mut self, mixer: &mut Mixer, block: &mut [f32]) {
        self.conductor.pull(mixer, &self.controls, block);
        self.pump(mixer.position());
    }

    /// Goes on with another mixer from a moment of the practice.
    pub(super) fn reseat(&mut self, bank: Arc<Bank>, at: Seconds) -> Result<Mixer, BankMismatch> {
        self.rate = bank.rate;
        self.conductor.reseat(bank, at)?;
        let (mixer, controls) = Mixer::starting_at(self.rate, PracticeFrame::at(at, self.rate));
        self.controls = controls;
        self.latency = mixer.latency();
        Ok(self.prime(mixer))
    }

    /// The frame of the practice that comes out of a mixer that mixes `position` next.
    pub(super) fn heard(&self, position: PracticeFrame) -> PracticeFrame {
        position.minus(self.latency)
    }

    /// Keeps the mixer supplied, and hears what has come of what.
    pub(super) fn pump(&mut self, position: PracticeFrame) {
        self.conductor.pump(&self.controls, position);
        while let Some(answer) = self.conductor.acknowledged() {
            let found = self.waiting.iter().position(|waiting| waiting.id == answer.id);
            let found = found.map(|place| self.waiting.remove(place));
            if let Some((words, without)) = found.and_then(|waiting| Some((waiting.words.clone()?, waiting.without())))
            {
                let late = if answer.late { ", late" } else { "" };
                let said = format!("{words}: taken at frame {}{late}{without}", answer.effect.number());
                self.say(answer.at, &said);
                self.last = Some(format!("{words}, taken{without}"));
            }
            let event = RecordEvent::Taken { id: answer.id.0, effect: answer.effect.number(), late: answer.late };
            self.note(self.heard(position), event);
        }
        while let Some(happened) = self.conductor.happened() {
            let happened = self.as_heard(happened);
            let (at, event) = RecordEvent::of(happened, &self.notes());
            let frame = at.map_or(self.heard(position), |at| PracticeFrame::at(at, self.rate));
            self.report(frame, happened);
            self.note_at(at.unwrap_or_else(|| frame.time(self.rate)), frame, event);
        }
        self.recorder.tick();
        if let (Some(why), false) = (self.recorder.failed(), self.failure_said) {
            let said = format!("the session record is no longer written: {why}");
            self.failure_said = true;
            self.say(self.heard(position), &said);
            self.faults.add(FaultKind::Record, "no record", said.clone());
            self.last = Some(said);
        }
    }

    /// Takes what somebody asks for; a touch that comes too soon is asked about.
    pub(super) fn asked(&mut self, command: Command, timing: Timing) {
        let situation = self.conductor.situation(timing.pressed);
        match self.question.hear(command, &situation, timing.pressed.time(self.rate)) {
            Doubt::Meant => {
                self.command(command, timing);
            }
            Doubt::Asked(split) => {
                let late = match situation.late {
                    Some(LateTouch::Missed) => " for the repeat before; this one is then missed",
                    Some(LateTouch::Turn) | None => "",
                };
                let words = input::words(command);
                let said = format!("{words}: {} after the go? `{words}` again takes it{late}", input::clock(split));
                self.say(timing.pressed, &said);
                self.last = Some(format!("{words}: {split} after the go? once more takes it"));
            }
            Doubt::Withdrawn => {
                self.say(timing.pressed, "no touch was taken");
                self.last = Some("no touch was taken".to_owned());
            }
        }
    }

    /// Whether a command has not taken effect yet.
    pub(super) fn waits_for(&self, id: CommandId) -> bool {
        self.waiting.iter().any(|waiting| waiting.id == id)
    }

    /// Gives a command to the conductor; its number if it was taken.
    pub(super) fn command(&mut self, command: Command, timing: Timing) -> Option<CommandId> {
        let output = self.controls.figures.put_out();
        let words = input::words(command);
        match self.conductor.command(command, timing) {
            Ok(id) => {
                match command {
                    Command::Desk(DeskCommand::Pause) => self.paused = true,
                    Command::Desk(DeskCommand::Resume) => self.paused = false,
                    Command::Desk(_) | Command::Course(_) => {}
                }
                self.note(timing.pressed, RecordEvent::command(id.0, command, timing, output));
                let asked = !matches!(command, Command::Course(CourseCommand::Shift(_)));
                let (said, without) = (asked.then_some(words.clone()), Vec::new());
                self.waiting.push(Waiting { id, words: said, without });
                self.last = if asked { Some(words) } else { self.last.take() };
                Some(id)
            }
            Err(refused) => {
                let said = format!("{words}: {refused}");
                self.say(timing.pressed, &said);
                self.last = Some(said);
                self.note(timing.pressed, RecordEvent::Refused { command: words, why: refused.to_string() });
                None
            }
        }
    }

    /// Whether everything has been heard.
    pub(super) fn over(&self, position: PracticeFrame) -> bool {
        self.conductor.over(self.heard(position))
    }
}
