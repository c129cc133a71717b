//! A practice being played, whatever plays it: what conductor, record and whoever watches have to do with each other.
//!
//! It knows no device and no clock: whoever owns the mixer tells the frame.

use super::input;
use super::record::{Head, RecordEvent, RecordLine, Recorder};
use super::snapshot::{DeviceState, Snapshot, Split};
use crate::audio::bank::Bank;
use crate::conductor::command::{Command, CommandId, CourseCommand, DeskCommand, Happened, Timing};
use crate::conductor::{Conductor, Score, Supply};
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

/// Splits that are shown.
const SHOWN: usize = 5;

/// A command that was taken and not yet answered.
struct Waiting {
    id: CommandId,
    /// Its words, if somebody waits for the answer.
    words: Option<String>,
    /// The repeats that are lost by it.
    without: String,
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
    /// Whether what the mixer gives is heard by anybody.
    pub(super) audible: bool,
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
            audible: true,
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
            swimmer: programme.swimmer.map(str::to_owned),
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
            if let Some(Waiting { words: Some(words), without, .. }) = found {
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
            let (at, event) = RecordEvent::of(happened);
            let frame = at.map_or(self.heard(position), |at| PracticeFrame::at(at, self.rate));
            self.report(frame, happened);
            self.note_at(at.unwrap_or_else(|| frame.time(self.rate)), frame, event);
        }
        self.recorder.tick();
        if let (Some(why), false) = (self.recorder.failed(), self.failure_said) {
            let said = format!("the session record is no longer written: {why}");
            self.failure_said = true;
            self.say(self.heard(position), &said);
            self.last = Some(said);
        }
    }

    fn report(&mut self, frame: PracticeFrame, happened: Happened) {
        let name = |set: usize, repeat: usize| {
            let title = self.programme.plan.sets.get(set).map_or("", |set| set.title.as_str());
            let of = self.programme.plan.sets.get(set).map_or(0, |set| set.repeats.len());
            format!("{title}, {} of {of}", repeat + 1)
        };
        let said = match happened {
            Happened::Go { set, repeat, .. } => format!("go: {}", name(set, repeat)),
            Happened::Touch { set, repeat, split, predicted, .. } => {
                self.splits.push(Split { set, repeat, split, predicted });
                if self.splits.len() > SHOWN {
                    self.splits.remove(0);
                }
                format!("touch: {} in {} (expected {predicted})", name(set, repeat), input::clock(split))
            }
            Happened::Unheard { set, repeat, .. } => format!("go not heard: {}", name(set, repeat)),
            Happened::Missed { set, repeat } => format!("missed: {}", name(set, repeat)),
            Happened::Skipped { set, repeat } => {
                let left_out = name(set, repeat);
                // Whoever asked for it is told what is lost by it.
                if let Some(waiting) = self.waiting.last_mut() {
                    waiting.without.push_str(&format!(", without {left_out}"));
                }
                format!("skipped: {left_out}")
            }
            Happened::Undone { command } => {
                if command == CourseCommand::Touch {
                    self.splits.pop();
                }
                format!("taken back: {}", input::words(command.into()))
            }
            Happened::Tempo { tempo, .. } => format!("tempo: {tempo}"),
        };
        self.say(frame, &said);
    }

    /// A go without sound was no go.
    fn as_heard(&self, happened: Happened) -> Happened {
        match happened {
            Happened::Go { set, repeat, at } if !self.audible => Happened::Unheard { set, repeat, at },
            as_it_was => as_it_was,
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
                let (said, without) = (asked.then_some(words.clone()), String::new());
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

    pub(super) fn note(&mut self, frame: PracticeFrame, event: RecordEvent) {
        self.note_at(frame.time(self.rate), frame, event);
    }

    fn note_at(&mut self, at: Seconds, frame: PracticeFrame, event: RecordEvent) {
        self.recorder.line(&RecordLine { time: at.nanos(), frame: frame.number(), event });
    }

    /// Says something at a frame of the practice.
    pub(super) fn say(&mut self, frame: PracticeFrame, words: &str) {
        self.lines.push(format!("{} {words}", input::clock(frame.time(self.rate))));
    }

    /// What there is to say since it was last asked.
    pub(super) fn take_lines(&mut self) -> Vec<String> {
        std::mem::take(&mut self.lines)
    }

    /// The end of the session.
    pub(super) fn end(&mut self, position: PracticeFrame, reason: &str) {
        let frame = self.heard(position);
        self.say(frame, reason);
        self.note(frame, RecordEvent::End { reason: reason.to_owned() });
        self.recorder.sync();
    }

    /// How it ended, at a frame that the mixer would mix next.
    pub(super) fn ended(&self, position: PracticeFrame, interrupted: bool, missed_blocks: u64) -> SessionEnd {
        SessionEnd {
            interrupted,
            record: self.recorder.path().map(PathBuf::from),
            record_failed: self.recorder.failed().map(str::to_owned),
            at: self.heard(position).time(self.rate),
            missed_blocks,
            missed_cues: u64::from(self.controls.figures.missed()),
        }
    }

    /// What is to be seen now.
    pub(super) fn snapshot(&self, position: PracticeFrame, device: DeviceState, missed_blocks: u64) -> Snapshot {
        let frame = self.heard(position);
        let situation = self.conductor.situation(frame);
        let plan = self.programme.plan;
        let set = plan.sets.get(situation.set);
        let line = |set: usize, repeat: usize| {
            let plan = plan.sets.get(set)?;
            let repeat = plan.repeats.get(repeat)?;
            let practice = self.programme.score.practice.sets().nth(set)?;
            let times = practice.lines.get(repeat.line).map_or(1, |line| line.repeats);
            let leave = repeat.send_off.map_or(String::new(), |every| format!(", every {every}"));
            Some(format!("{times} x {} {}{leave}", repeat.distance, self.programme.plan.unit))
        };
        let in_set = set.map_or(0, |set| set.repeats.len());
        let next = if situation.repeat + 1 < in_set {
            line(situation.set, situation.repeat + 1)
        } else {
            let next = plan.sets.get(situation.set + 1);
            next.map(|set| format!("{}: {}", set.title, line(situation.set + 1, 0).unwrap_or_default()))
        };
        Snapshot {
            title: plan.title.clone(),
            elapsed: frame.time(self.rate),
            total: self.programme.timeline.len(),
            paused: self.paused,
            now: line(situation.set, situation.repeat).unwrap_or_default(),
            set_title: set.map_or_else(String::new, |set| set.title.clone()),
            set_of: (situation.set + 1, plan.sets.len()),
            repeat_of: (situation.repeat + 1, in_set),
            next,
            behind: None,
            level: self.controls.figures.take_peak(),
            device,
            missed_blocks,
            missed_cues: u64::from(self.controls.figures.missed()),
            last: self.last.clone(),
            splits: self.splits.clone(),
            situation,
        }
    }
}
