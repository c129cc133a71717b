//! Commands on their way to the mixer, their answers, and going on with another mixer.

use super::command::{Acknowledged, Command, CommandId, Happened, Refused};
use super::course::{Course, Moment};
use super::{Conductor, Score};
use crate::audio::bank::Bank;
use crate::mixer::{Controls, FromMixer, SEGMENTS, ToMixer};
use crate::pack::library::Library;
use crate::swimmer::Swimmer;
use crate::timeline::lower::{ATTACK, BankMismatch, Lowering};
use crate::timeline::segment::{Bus, DuckPoint};
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

    /// Whether the mixer has been told of everything.
    pub(super) fn all_sent(&self) -> bool {
        self.outgoing.is_empty()
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

/// How fast what is left fades.
const FADE: Seconds = Seconds::from_millis(10);

/// The number of commands that are nobody's.
const SILENTLY: u32 = u32::MAX;

impl<'a> Conductor<'a> {
    /// With what is needed to say where the practice is, and to steer it.
    pub fn with_score(mut self, score: Score<'a>) -> Self {
        self.score = Some(score);
        self
    }

    /// With what steering takes besides the score: the words and the swimmer's model. The bank must hold every sound that
    /// may be needed (`timeline::live::with_every_sound`).
    pub fn steered(mut self, library: &'a Library, swimmer: &'a Swimmer) -> Self {
        self.means = Some((library, swimmer));
        self
    }

    /// Takes a command. `pressed` is the practice frame at which somebody asked for it; from `effect` on the sound may
    /// change: a frame of the practice, for `Resume` one of those put out. It goes to the mixer at the next pump.
    ///
    /// # Errors
    /// Where it makes no sense now.
    pub fn command(&mut self, command: Command, pressed: u64, effect: u64) -> Result<CommandId, Refused> {
        let refused = |why: &str| Err(Refused(why.to_owned()));
        let (id, at) = (self.steering.next, effect);
        if !matches!(command, Command::Pause | Command::Resume | Command::Level(..) | Command::Mute(_)) {
            self.steer(id, command, pressed, effect)?;
            self.steering.next += 1;
            return Ok(CommandId(id));
        }
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
            | Command::Again => {}
        }
        self.steering.next += 1;
        self.steering.unanswered.push(id);
        Ok(CommandId(id))
    }

    /// Takes a command that changes the course: from `effect` on another one is played.
    fn steer(&mut self, id: u32, command: Command, pressed: u64, effect: u64) -> Result<(), Refused> {
        let Some((score, (library, swimmer))) = self.score.zip(self.means) else {
            return Err(Refused("this practice cannot be steered".to_owned()));
        };
        if self.in_mixer + 1 >= SEGMENTS {
            return Err(Refused("too much at once; once more, please".to_owned()));
        }
        let rate = self.lowering.rate();
        // What was taken before holds from its frame on, and nothing changes before that.
        let frame = effect.max(self.steering.entry);
        let moment = Moment { pressed: rate.time(pressed), now: rate.time(frame), frame, rate };
        let (timeline, told) = (self.timeline, self.steering.told);
        let course =
            self.course.get_or_insert_with(|| Course::new(score.practice, library, swimmer, &timeline.sounds, told));
        // A go that is heard before the command takes effect has been, wherever the command leads.
        self.steering.happened.extend(course.goes(frame, rate));
        let turn = course.turn(command, &moment)?;
        if turn.heard {
            self.change(id, frame, turn.rings);
            self.steering.unanswered.push(id);
        } else {
            self.steering.acknowledged.push_back(Acknowledged { id: CommandId(id), frame, late: false });
        }
        self.steering.happened.extend(turn.happened);
        Ok(())
    }

    /// Sends the course as it is from a frame on, in place of what was sent.
    fn change(&mut self, id: u32, at: u64, rings: [bool; Bus::COUNT]) {
        let before = self.drawn.iter().rposition(|(start, _)| *start <= at);
        let carried = before.and_then(|place| self.drawn.get(place)).map_or(1.0, |(_, duck)| duck_at(duck, at));
        self.drawn.truncate(before.map_or(0, |place| place + 1));
        (self.epoch, self.next_leg, self.kept) = (self.epoch + 1, 0, None);
        self.ahead.clear();
        self.steering.entry = at;
        self.voices = super::voices(self.legs(), &self.lowering);
        let Some(mut next) = self.lower_next() else { return };
        next.duck = carry(&next.duck, carried, at, self.lowering.rate().frames(ATTACK));
        if let Some((_, drawn)) = self.drawn.last_mut() {
            drawn.clone_from(&next.duck);
        }
        let fade = u32::try_from(self.lowering.rate().frames(FADE)).unwrap_or(u32::MAX);
        self.in_mixer += 1;
        self.steering.outgoing.push_back(ToMixer::Cut { id, at, epoch: self.epoch, fade, rings, next });
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
        let rate = self.lowering.rate();
        if let Some(course) = &mut self.course {
            self.steering.happened.extend(course.goes(position, rate));
            return;
        }
        let Some(score) = self.score else { return };
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
        self.voices = super::voices(self.legs(), &self.lowering);
        (self.in_mixer, self.kept, self.next_id) = (0, None, 0);
        self.ahead.clear();
        self.drawn.clear();
        self.next_leg = self.legs().partition_point(|leg| leg.origin <= position).saturating_sub(1);
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

/// The value of a ducking curve.
fn duck_at(points: &[DuckPoint], frame: u64) -> f32 {
    let next = points.partition_point(|point| point.frame <= frame);
    match (next.checked_sub(1).and_then(|before| points.get(before)), points.get(next)) {
        (Some(a), Some(b)) => a.gain + (b.gain - a.gain) * ((frame - a.frame) as f32 / (b.frame - a.frame) as f32),
        (Some(point), None) | (None, Some(point)) => point.gain,
        (None, None) => 1.0,
    }
}

/// A curve that begins where another one was left.
fn carry(points: &[DuckPoint], carried: f32, at: u64, attack: u64) -> Box<[DuckPoint]> {
    let own = duck_at(points, at);
    if (own - carried).abs() < 1e-6 {
        return points.into();
    }
    let joined = at + attack;
    let ramp = [DuckPoint { frame: at, gain: carried }, DuckPoint { frame: joined, gain: duck_at(points, joined) }];
    ramp.into_iter().chain(points.iter().filter(|point| point.frame > joined).copied()).collect()
}
