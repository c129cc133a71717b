//! What goes to the mixer besides segments, what it has answered, what there is for the record; and how the faders stand.

use super::command::{Acknowledged, CommandId, DeskCommand, Happened, Refused, Timing};
use super::situation::Situation;
use crate::mixer::{Controls, Effect, ToMixer};
use crate::timeline::segment::Bus;
use crate::units::frame::PracticeFrame;
use crate::units::level::{Decibels, Gain};
use crossbeam_channel::TrySendError;
use std::collections::VecDeque;

/// The least and the most that faders change in total, in dB.
const FADERS: (f64, f64) = (-40.0, 6.0);

/// The number of commands that are nobody's.
const SILENTLY: u32 = u32::MAX;

/// What is left to send and to report, and how the faders stand.
#[derive(Debug)]
pub(super) struct Outbox {
    next: u32,
    outgoing: VecDeque<ToMixer>,
    unanswered: Vec<CommandId>,
    pub(super) acknowledged: VecDeque<Acknowledged>,
    pub(super) reports: VecDeque<Happened>,
    /// Where the practice stands still, if it does.
    stands: Option<PracticeFrame>,
    voice: Decibels,
    beats: Decibels,
    muted: bool,
}

impl Outbox {
    /// With nothing to send, all faders where they are in a file.
    pub(super) const fn new() -> Self {
        Self {
            next: 0,
            outgoing: VecDeque::new(),
            unanswered: Vec::new(),
            acknowledged: VecDeque::new(),
            reports: VecDeque::new(),
            stands: None,
            voice: Decibels::ZERO,
            beats: Decibels::ZERO,
            muted: false,
        }
    }

    /// The number of the next command, which is taken only if the command is.
    pub(super) fn next_id(&self) -> CommandId {
        CommandId(self.next)
    }

    /// Hears that the mixer has obeyed a command.
    pub(super) fn answered(&mut self, id: u32, effect: Effect, at: PracticeFrame, late: bool) {
        // Those that put a new mixer into the old one's state have no number of their own.
        if id != SILENTLY {
            self.unanswered.retain(|other| other.0 != id);
            self.acknowledged.push_back(Acknowledged { id: CommandId(id), effect, at, late });
        }
    }

    /// From where on the practice fades out and stands still, if it is paused.
    pub(super) fn stands(&self) -> Option<PracticeFrame> {
        self.stands
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

    /// Whether the mixer knows of everything.
    pub(super) fn all_sent(&self) -> bool {
        self.outgoing.is_empty()
    }

    /// Keeps what the record is to hear.
    pub(super) fn report(&mut self, happened: Vec<Happened>) {
        self.reports.extend(happened);
    }

    fn gain(&self, bus: Bus) -> Gain {
        match bus {
            Bus::Voice => self.voice.gain(),
            Bus::Beats if self.muted => Decibels::of(-120.0).gain(),
            Bus::Beats => self.beats.gain(),
            Bus::Signals => Gain::UNITY,
        }
    }

    /// Takes a command of the desk.
    pub(super) fn desk(&mut self, command: DeskCommand, timing: Timing) -> Result<(), Refused> {
        let refused = |why: &str| Err(Refused(why.to_owned()));
        let (id, at) = (self.next, timing.practice);
        let message = match command {
            DeskCommand::Pause if self.stands.is_some() => return refused("it is paused already"),
            DeskCommand::Pause => {
                self.stands = Some(at);
                ToMixer::Pause { id, at }
            }
            DeskCommand::Resume if self.stands.is_none() => return refused("nothing is paused"),
            DeskCommand::Resume => {
                self.stands = None;
                ToMixer::Resume { id, at: timing.output }
            }
            DeskCommand::Level(bus, change) => {
                let fader = match bus {
                    Bus::Voice => &mut self.voice,
                    Bus::Beats => &mut self.beats,
                    Bus::Signals => return refused("the countdown and the go stay as they are"),
                };
                let level = Decibels::of((fader.db() + change.db()).clamp(FADERS.0, FADERS.1));
                if level == *fader {
                    return refused("it is as far as it goes");
                }
                *fader = level;
                ToMixer::Gain { id, at, bus, gain: self.gain(bus) }
            }
            DeskCommand::Mute(muted) if self.muted == muted => {
                return refused(if muted { "the beats are off already" } else { "the beats are on" });
            }
            DeskCommand::Mute(muted) => {
                self.muted = muted;
                ToMixer::Gain { id, at, bus: Bus::Beats, gain: self.gain(Bus::Beats) }
            }
        };
        self.outgoing.push_back(message);
        self.unanswered.push(CommandId(id));
        self.next += 1;
        Ok(())
    }

    /// Leaves the course for another one by a message that bears its number.
    pub(super) fn cut(&mut self, id: CommandId, cut: ToMixer) {
        self.outgoing.push_back(cut);
        self.unanswered.push(id);
        self.next += 1;
    }

    /// A command that changes nothing that is heard is obeyed as it is taken.
    pub(super) fn unheard(&mut self, id: CommandId, at: PracticeFrame) {
        self.acknowledged.push_back(Acknowledged { id, effect: Effect::Practice(at), at, late: false });
        self.next += 1;
    }

    /// Puts a new mixer, which starts at a frame, into the state of the one before.
    pub(super) fn reseat(&mut self, at: PracticeFrame) {
        // A command that the old mixer never answered takes effect with the new one.
        for id in self.unanswered.drain(..) {
            self.acknowledged.push_back(Acknowledged { id, effect: Effect::Practice(at), at, late: true });
        }
        self.outgoing.clear();
        for bus in [Bus::Voice, Bus::Beats] {
            let gain = self.gain(bus);
            if gain != Gain::UNITY {
                self.outgoing.push_back(ToMixer::Gain { id: SILENTLY, at, bus, gain });
            }
        }
        if self.stands.is_some() {
            self.stands = Some(at);
            self.outgoing.push_back(ToMixer::Pause { id: SILENTLY, at });
        }
    }

    /// Where the faders are; all else is left open.
    pub(super) fn situation(&self) -> Situation {
        let (voice_db, beats_db) = (self.voice.db(), self.beats.db());
        Situation { voice_db, beats_db, muted: self.muted, ..Situation::default() }
    }
}
