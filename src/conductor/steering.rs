//! Commands on their way to the mixer, their answers, and going on with another mixer.

use super::command::{Acknowledged, Command, CommandId, Happened, Refused};
use super::{Conductor, Score};
use crate::audio::bank::Bank;
use crate::mixer::{Controls, FromMixer, ToMixer};
use crate::timeline::lower::{BankMismatch, Lowering};
use crate::timeline::segment::Bus;
use crate::units::level::{Decibels, Gain};
use crate::units::time::Seconds;
use crossbeam_channel::TrySendError;
use std::collections::VecDeque;
use std::sync::Arc;

/// The least and the most that faders change in total, in dB.
const FADERS: (f64, f64) = (-40.0, 6.0);

/// What is left to send and to tell, and how the faders stand.
#[derive(Debug)]
pub(super) struct Steering {
    next: u32,
    outgoing: VecDeque<ToMixer>,
    unanswered: Vec<u32>,
    acknowledged: VecDeque<Acknowledged>,
    happened: VecDeque<Happened>,
    /// Gos told.
    told: usize,
    paused: bool,
    pub(super) voice: Decibels,
    pub(super) beats: Decibels,
    pub(super) muted: bool,
    /// Nothing before this frame is lowered.
    pub(super) entry: u64,
}

impl Steering {
    pub(super) const fn new() -> Self {
        Self {
            next: 0,
            outgoing: VecDeque::new(),
            unanswered: Vec::new(),
            acknowledged: VecDeque::new(),
            happened: VecDeque::new(),
            told: 0,
            paused: false,
            voice: Decibels::ZERO,
            beats: Decibels::ZERO,
            muted: false,
            entry: 0,
        }
    }

    /// Hears an answer of the mixer to a command.
    pub(super) fn answered(&mut self, answer: &FromMixer) {
        let (id, frame, late) = match answer {
            FromMixer::Applied { id, frame } => (*id, *frame, false),
            FromMixer::Late { id, frame } => (*id, *frame, true),
            FromMixer::Retired(_) | FromMixer::Refused(_) => return,
        };
        // Those that put a new mixer into the old one's state have no number of their own.
        if id != SILENTLY {
            self.unanswered.retain(|other| *other != id);
            self.acknowledged.push_back(Acknowledged { id: CommandId(id), frame, late });
        }
    }

    /// Sends what there is room for.
    pub(super) fn send(&mut self, controls: &Controls) {
        while let Some(message) = self.outgoing.pop_front() {
            if let Err(TrySendError::Full(message) | TrySendError::Disconnected(message)) =
                controls.to.try_send(message)
            {
                self.outgoing.push_front(message);
                break;
            }
        }
    }

    fn gain(&self, bus: Bus) -> Gain {
        match bus {
            Bus::Voice => self.voice.gain(),
            Bus::Beats if self.muted => Decibels::of(-120.0).gain(),
            Bus::Beats => self.beats.gain(),
            Bus::Signals => Gain::UNITY,
        }
    }
}

/// The number of commands that are nobody's.
const SILENTLY: u32 = u32::MAX;

impl<'a> Conductor<'a> {
    /// With what is needed to say where the practice is, and to steer it.
    pub fn with_score(mut self, score: Score<'a>) -> Self {
        self.score = Some(score);
        self
    }

    /// Takes a command. `pressed` is the practice frame at which somebody asked for it; from `effect` on the sound may
    /// change: a frame of the practice, for `Resume` one of those put out. It goes to the mixer at the next pump.
    ///
    /// # Errors
    /// Where it makes no sense now.
    pub fn command(&mut self, command: Command, _pressed: u64, effect: u64) -> Result<CommandId, Refused> {
        let refused = |why: &str| Err(Refused(why.to_owned()));
        let (id, at) = (self.steering.next, effect);
        let steering = &mut self.steering;
        match command {
            Command::Pause if steering.paused => return refused("it is paused already"),
            Command::Pause => {
                steering.paused = true;
                steering.outgoing.push_back(ToMixer::Pause { id, at });
            }
            Command::Resume if !steering.paused => return refused("nothing is paused"),
            Command::Resume => {
                steering.paused = false;
                steering.outgoing.push_back(ToMixer::Resume { id, at });
            }
            Command::Level(bus, change) => {
                let fader = match bus {
                    Bus::Voice => &mut steering.voice,
                    Bus::Beats => &mut steering.beats,
                    Bus::Signals => return refused("the countdown and the go stay as they are"),
                };
                let level = Decibels::of((fader.db() + change.db()).clamp(FADERS.0, FADERS.1));
                if level == *fader {
                    return refused("it is as far as it goes");
                }
                *fader = level;
                let gain = steering.gain(bus);
                steering.outgoing.push_back(ToMixer::Gain { id, at, bus, gain });
            }
            Command::Mute(muted) if steering.muted == muted => {
                return refused(if muted { "the beats are off already" } else { "the beats are on" });
            }
            Command::Mute(muted) => {
                steering.muted = muted;
                let gain = steering.gain(Bus::Beats);
                steering.outgoing.push_back(ToMixer::Gain { id, at, bus: Bus::Beats, gain });
            }
            Command::Next(_)
            | Command::Back(_)
            | Command::Touch
            | Command::Hold
            | Command::Release
            | Command::Tempo(_)
            | Command::Again => return refused("this version cannot do that yet"),
        }
        self.steering.next += 1;
        self.steering.unanswered.push(id);
        Ok(CommandId(id))
    }

    /// The next command that has taken effect.
    pub fn acknowledged(&mut self) -> Option<Acknowledged> {
        self.steering.acknowledged.pop_front()
    }

    /// The next thing for the record.
    pub fn happened(&mut self) -> Option<Happened> {
        self.steering.happened.pop_front()
    }

    /// Notes what has happened up to a frame of the practice.
    pub(super) fn note(&mut self, position: u64) {
        let Some(score) = self.score else { return };
        let rate = self.lowering.rate();
        while let Some(swum) = score.swum.get(self.steering.told).filter(|swum| rate.frames(swum.go) < position) {
            self.steering.told += 1;
            self.steering.happened.push_back(Happened::Go { set: swum.set, repeat: swum.repeat, at: swum.go });
        }
    }

    /// Goes on from a moment of the practice with a new mixer that starts there, at the rate of `bank`: what is due from
    /// then on is lowered anew, what began before is not begun again, beats stay on their grid. Faders and a pause are as
    /// they were. The mixer before is not answered any more.
    ///
    /// # Errors
    /// Where the bank was not made for the timeline.
    pub fn reseat(&mut self, bank: Arc<Bank>, position: Seconds) -> Result<(), BankMismatch> {
        let lowering = Lowering::new(self.timeline, bank)?;
        self.lowering = lowering;
        self.voices = super::voices(self.timeline, &self.lowering);
        (self.in_mixer, self.kept, self.next_id) = (0, None, 0);
        self.ahead.clear();
        self.next_leg = self.timeline.legs.partition_point(|leg| leg.origin <= position).saturating_sub(1);
        let at = self.lowering.rate().frames(position);
        let steering = &mut self.steering;
        // A command that the old mixer never answered takes effect with the new one.
        for id in steering.unanswered.drain(..) {
            steering.acknowledged.push_back(Acknowledged { id: CommandId(id), frame: at, late: true });
        }
        steering.outgoing.clear();
        steering.entry = at;
        for bus in [Bus::Voice, Bus::Beats] {
            let gain = steering.gain(bus);
            if gain != Gain::UNITY {
                steering.outgoing.push_back(ToMixer::Gain { id: SILENTLY, at, bus, gain });
            }
        }
        if steering.paused {
            steering.outgoing.push_back(ToMixer::Pause { id: SILENTLY, at });
        }
        Ok(())
    }
}
