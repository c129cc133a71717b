//! A practice being played, whatever plays it: what conductor, record and whoever watches have to do with each other.
//!
//! It knows no device and no clock: whoever owns the mixer tells the frame.

use super::input;
use super::record::{Event, Head, Line, Recorder};
use super::snapshot::{DeviceState, Snapshot, Split};
use crate::audio::bank::Bank;
use crate::conductor::command::{Command, CommandId, Happened};
use crate::conductor::{Conductor, Score, Supply};
use crate::mixer::{Controls, Mixer};
use crate::pack::library::Library;
use crate::plan::Plan;
use crate::swimmer::Swimmer;
use crate::timeline::Timeline;
use crate::timeline::lower::BankMismatch;
use crate::units::time::{SampleRate, Seconds};
use std::sync::Arc;

/// Makes a bank of the practice at a rate; on any thread.
pub type MakeBank<'a> = dyn Fn(SampleRate) -> Result<Bank, String> + Sync + 'a;

/// What is to be played.
#[derive(Clone, Copy)]
pub struct Piece<'a> {
    /// What is heard, and when.
    pub timeline: &'a Timeline,
    /// What is swum.
    pub score: Score<'a>,
    /// The words that can be said.
    pub library: &'a Library,
    /// How the swimmer swims.
    pub model: &'a Swimmer,
    /// The numbers.
    pub plan: &'a Plan,
    /// The clips.
    pub banks: &'a MakeBank<'a>,
    /// What tells the script from others.
    pub script: &'a str,
    /// The swimmer's name.
    pub swimmer: Option<&'a str>,
}

/// Splits that are shown.
const SHOWN: usize = 5;

/// See the head of this file.
pub(super) struct Course<'a> {
    pub(super) piece: Piece<'a>,
    pub(super) conductor: Conductor<'a>,
    pub(super) controls: Controls,
    pub(super) rate: SampleRate,
    /// Frames of the limiter's look-ahead at this rate.
    pub(super) latency: u64,
    pub(super) recorder: Recorder,
    pub(super) paused: bool,
    /// Commands that were taken and not yet answered, with their words.
    waiting: Vec<(CommandId, String)>,
    last: Option<String>,
    splits: Vec<Split>,
    record_told: bool,
    /// What there is to say, a line each.
    told: Vec<String>,
}

impl<'a> Course<'a> {
    /// From the beginning, with the mixer to be played: its first legs are in it, its look-ahead is drained.
    pub(super) fn begin(piece: Piece<'a>, bank: Arc<Bank>, recorder: Recorder) -> Result<(Self, Mixer), BankMismatch> {
        let rate = bank.rate;
        let conductor = Conductor::new(piece.timeline, bank, Supply::live(rate))?
            .with_score(piece.score)
            .steered(piece.library, piece.model);
        let (mixer, controls) = Mixer::new(rate);
        let mut course = Self {
            piece,
            conductor,
            controls,
            rate,
            latency: mixer.latency(),
            recorder,
            paused: false,
            waiting: Vec::new(),
            last: None,
            splits: Vec::new(),
            record_told: false,
            told: Vec::new(),
        };
        let mixer = course.prime(mixer);
        Ok((course, mixer))
    }

    /// The head of a record of this practice.
    pub(super) fn head(piece: &Piece<'_>, device: &str, rate: SampleRate, started: String) -> Head {
        Head {
            version: super::record::VERSION,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            started,
            script: piece.script.to_owned(),
            title: piece.plan.title.clone(),
            swimmer: piece.swimmer.map(str::to_owned),
            device: device.to_owned(),
            rate: rate.hertz(),
        }
    }

    fn prime(&mut self, mut mixer: Mixer) -> Mixer {
        self.conductor.pump(&self.controls, mixer.position());
        // What comes out first is the limiter's look-ahead.
        mixer.render(&mut vec![0.0; 2 * self.latency as usize]);
        self.conductor.pump(&self.controls, mixer.position());
        mixer
    }

    /// Goes on with another mixer from a moment of the practice.
    pub(super) fn reseat(&mut self, bank: Arc<Bank>, at: Seconds) -> Result<Mixer, BankMismatch> {
        self.rate = bank.rate;
        self.conductor.reseat(bank, at)?;
        let (mixer, controls) = Mixer::starting_at(self.rate, self.rate.frames(at));
        self.controls = controls;
        self.latency = mixer.latency();
        Ok(self.prime(mixer))
    }

    /// The frame of the practice that comes out of a mixer that mixes `position` next.
    pub(super) fn heard(&self, position: u64) -> u64 {
        position.saturating_sub(self.latency)
    }

    /// Keeps the mixer supplied, and hears what has come of what.
    pub(super) fn pump(&mut self, position: u64) {
        self.conductor.pump(&self.controls, position);
        while let Some(answer) = self.conductor.acknowledged() {
            let found = self.waiting.iter().position(|(id, _)| *id == answer.id);
            let words = found.map_or_else(String::new, |place| self.waiting.remove(place).1);
            let late = if answer.late { ", late" } else { "" };
            let said = format!("{words}: taken at frame {}{late}", answer.frame);
            self.tell(answer.frame, &said);
            self.last = Some(format!("{words}, taken"));
            let event = Event::Taken { id: answer.id.0, effect: answer.frame, late: answer.late };
            self.note(self.heard(position), event);
        }
        while let Some(happened) = self.conductor.happened() {
            let (at, event) = Event::of(happened);
            let frame = at.map_or(self.heard(position), |at| self.rate.frames(at));
            self.say(frame, happened);
            self.note_at(at.unwrap_or_else(|| self.rate.time(frame)), frame, event);
        }
        self.recorder.tick();
        if let (Some(why), false) = (self.recorder.failed(), self.record_told) {
            let said = format!("the session record is no longer written: {why}");
            self.record_told = true;
            self.tell(self.heard(position), &said);
            self.last = Some(said);
        }
    }

    fn say(&mut self, frame: u64, happened: Happened) {
        let name = |set: usize, repeat: usize| {
            let title = self.piece.plan.sets.get(set).map_or("", |set| set.title.as_str());
            let of = self.piece.plan.sets.get(set).map_or(0, |set| set.repeats.len());
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
            Happened::Missed { set, repeat } => format!("missed: {}", name(set, repeat)),
            Happened::Skipped { set, repeat } => format!("skipped: {}", name(set, repeat)),
            Happened::Tempo { tempo, .. } => format!("tempo: {tempo}"),
        };
        self.tell(frame, &said);
    }

    /// Gives a command to the conductor.
    pub(super) fn command(&mut self, command: Command, pressed: u64, effect: u64) {
        let output = self.controls.figures.put_out();
        let words = input::words(command);
        match self.conductor.command(command, pressed, effect) {
            Ok(id) => {
                match command {
                    Command::Pause => self.paused = true,
                    Command::Resume => self.paused = false,
                    _ => {}
                }
                self.note(pressed, Event::command(id.0, command, effect, output));
                self.last = Some(words.clone());
                self.waiting.push((id, words));
            }
            Err(refused) => {
                let said = format!("{words}: {refused}");
                self.tell(pressed, &said);
                self.last = Some(said);
                self.note(pressed, Event::Refused { command: words, why: refused.to_string() });
            }
        }
    }

    /// Whether everything has been heard.
    pub(super) fn over(&self, position: u64) -> bool {
        self.conductor.over(self.heard(position))
    }

    pub(super) fn note(&mut self, frame: u64, event: Event) {
        self.note_at(self.rate.time(frame), frame, event);
    }

    fn note_at(&mut self, at: Seconds, frame: u64, event: Event) {
        self.recorder.line(&Line { time: at.nanos(), frame, event });
    }

    /// Says something at a frame of the practice.
    pub(super) fn tell(&mut self, frame: u64, words: &str) {
        self.told.push(format!("{} {words}", input::clock(self.rate.time(frame))));
    }

    /// What there is to say since it was last asked.
    pub(super) fn take_told(&mut self) -> Vec<String> {
        std::mem::take(&mut self.told)
    }

    /// The end of the session.
    pub(super) fn end(&mut self, position: u64, reason: &str) {
        let frame = self.heard(position);
        self.tell(frame, reason);
        self.note(frame, Event::End { reason: reason.to_owned() });
        self.recorder.sync();
    }

    /// What is to be seen now.
    pub(super) fn snapshot(&self, position: u64, device: DeviceState, missed_blocks: u64) -> Snapshot {
        let frame = self.heard(position);
        let situation = self.conductor.situation(frame);
        let plan = self.piece.plan;
        let set = plan.sets.get(situation.set);
        let line = |set: usize, repeat: usize| {
            let plan = plan.sets.get(set)?;
            let repeat = plan.repeats.get(repeat)?;
            let practice = self.piece.score.practice.sets().nth(set)?;
            let times = practice.lines.get(repeat.line).map_or(1, |line| line.repeats);
            let leave = repeat.send_off.map_or(String::new(), |every| format!(", every {every}"));
            Some(format!("{times} x {} {}{leave}", repeat.distance, self.piece.plan.unit))
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
            elapsed: self.rate.time(frame),
            total: self.piece.timeline.len(),
            paused: self.paused,
            now: line(situation.set, situation.repeat).unwrap_or_default(),
            set_title: set.map_or_else(String::new, |set| set.title.clone()),
            set_of: (situation.set + 1, plan.sets.len()),
            repeat_of: (situation.repeat + 1, in_set),
            next,
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
