//! The conductor: lowers one leg after another and keeps the mixer supplied, for a file and live alike. It always plays a
//! course; what can be asked of that under way is in `command`.
//!
//! It never waits: what does not fit now is offered again at the next [`Conductor::pump`]. Threads and clocks are the
//! job of those who call it.

mod afresh;
pub mod command;
mod course;
pub mod doubt;
mod lane;
mod lineup;
mod nudge;
mod outbox;
mod shift;
pub mod situation;
mod steered;
mod turns;
mod undo;

pub use course::Score;
pub use lineup::LaneScore;

use crate::audio::bank::Bank;
use crate::mixer::{Controls, FADE, FromMixer, Mixer, Rings, SEGMENTS, ToMixer};
use crate::timeline::lower::{ATTACK, BankMismatch, Lowering};
use crate::timeline::segment::{DuckPoint, Segment, duck_at};
use crate::timeline::{Leg, Timeline};
use crate::units::frame::{OutputFrame, PracticeFrame};
use crate::units::time::{SampleRate, Seconds};
use command::{Acknowledged, Command, CommandId, CourseCommand, DeskCommand, Happened, Refused, Timing};
use course::Course;
use crossbeam_channel::TrySendError;
use outbox::Outbox;
use situation::Situation;
use std::collections::VecDeque;
use std::ops::Range;
use std::sync::Arc;
use steered::Moment;

/// How far ahead of the mixer legs are lowered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Supply {
    /// Legs in the mixer beyond the one being played, at least.
    pub legs: u64,
    /// Frames ahead of the mixer that are known to it, at least.
    pub frames: u64,
}

impl Supply {
    /// For a file, which is mixed in blocks of up to `block` frames.
    pub const fn file(block: u64) -> Self {
        Self { legs: 2, frames: block }
    }

    /// For a device: two legs and ten seconds, so that a busy machine cannot starve the callback.
    pub fn live(rate: SampleRate) -> Self {
        Self { legs: 2, frames: rate.frames(Seconds::from_secs(10)) }
    }
}

/// Lowers the course of a practice and keeps a mixer supplied with it.
#[derive(Debug)]
pub struct Conductor<'a> {
    timeline: &'a Timeline,
    lowering: Lowering,
    supply: Supply,
    /// Frames of every voice of the practice, sorted: the beats step back before a voice of the next leg.
    voices: Vec<Range<u64>>,
    next_leg: usize,
    next_id: u32,
    /// Starts of the legs that were sent and not yet begun when last pumped.
    ahead: VecDeque<u64>,
    in_mixer: usize,
    /// A segment that found no room.
    kept: Option<Box<Segment>>,
    outbox: Outbox,
    course: Course<'a>,
    /// Nothing before this frame is lowered.
    entry: PracticeFrame,
    /// Rises with each change of course.
    epoch: u32,
    /// The ducking of the segments that were sent last, each with its start.
    drawn: Vec<(u64, Box<[DuckPoint]>)>,
    /// Of a pause how far the clocks were apart when it began; and how far they were when last pumped.
    apart: (Option<Seconds>, Seconds),
}

/// Frames of every voice of a practice, sorted.
fn voices(legs: &[Leg], lowering: &Lowering) -> Vec<Range<u64>> {
    let mut voices: Vec<_> = legs.iter().flat_map(|leg| lowering.voices(leg, leg.origin)).collect();
    voices.sort_by_key(|voice| (voice.start, voice.end));
    voices
}

impl<'a> Conductor<'a> {
    /// For sound that nobody steers, from the first leg on.
    ///
    /// # Errors
    /// Where the bank was not made for the timeline.
    pub fn new(timeline: &'a Timeline, bank: Arc<Bank>, supply: Supply) -> Result<Self, BankMismatch> {
        Self::with(timeline, Course::of(timeline), bank, supply)
    }

    /// For a practice that can be steered. The timeline, and so the bank, must hold every sound that may come to be used
    /// ([`with_vocabulary`](crate::timeline::vocabulary::with_vocabulary)).
    ///
    /// # Errors
    /// Where the bank was not made for the timeline.
    pub fn steered(
        timeline: &'a Timeline,
        score: &Score<'a>,
        bank: Arc<Bank>,
        supply: Supply,
    ) -> Result<Self, BankMismatch> {
        Self::with(timeline, Course::planned(timeline, score), bank, supply)
    }

    fn with(timeline: &'a Timeline, course: Course<'a>, bank: Arc<Bank>, supply: Supply) -> Result<Self, BankMismatch> {
        let lowering = Lowering::new(timeline, bank)?;
        let voices = voices(course.legs(), &lowering);
        Ok(Self {
            timeline,
            lowering,
            supply,
            voices,
            next_leg: 0,
            next_id: 0,
            ahead: VecDeque::new(),
            in_mixer: 0,
            kept: None,
            outbox: Outbox::new(),
            course,
            entry: PracticeFrame::ZERO,
            epoch: 0,
            drawn: Vec::new(),
            apart: (None, Seconds::ZERO),
        })
    }

    /// Frees what the mixer has given back and sends what it needs, given the practice frame that it will mix next.
    pub fn pump(&mut self, controls: &Controls, position: PracticeFrame) {
        while let Ok(answer) = controls.from.try_recv() {
            match answer {
                FromMixer::Retired(segment) => {
                    self.in_mixer = self.in_mixer.saturating_sub(1);
                    drop(segment);
                }
                FromMixer::Refused(segment) => {
                    self.in_mixer = self.in_mixer.saturating_sub(1);
                    // What a change of course has made void is not offered again.
                    self.kept = self.kept.take().or(Some(segment).filter(|segment| segment.epoch == self.epoch));
                }
                FromMixer::Obeyed { id, effect, at, late } => self.outbox.answered(id, effect, at, late),
            }
        }
        let rate = self.lowering.rate();
        self.apart.1 = rate.time(controls.figures.put_out().number()) - position.time(rate);
        self.outbox.report(self.course.goes(position, rate));
        self.outbox.send(controls);
        while self.ahead.front().is_some_and(|start| *start <= position.number()) {
            self.ahead.pop_front();
        }
        while self.outbox.all_sent() && self.wants_more(position) && self.in_mixer < SEGMENTS - 1 {
            let Some(segment) = self.kept.take().or_else(|| self.lower_next()) else { break };
            match controls.to.try_send(ToMixer::Append(segment)) {
                Ok(()) => self.in_mixer += 1,
                Err(
                    TrySendError::Full(ToMixer::Append(segment)) | TrySendError::Disconnected(ToMixer::Append(segment)),
                ) => {
                    self.kept = Some(segment);
                    break;
                }
                Err(_) => break,
            }
        }
    }

    /// Tells a mixer that has not begun what comes first, and takes the limiter's look-ahead out of it: the next frame that it
    /// gives is the practice's own.
    pub fn prime(&mut self, mixer: &mut Mixer, controls: &Controls) {
        self.pump(controls, mixer.position());
        mixer.render(&mut vec![0.0; 2 * mixer.latency() as usize]);
        self.pump(controls, mixer.position());
    }

    /// Keeps a mixer supplied and takes a block of interleaved frames from it.
    pub fn pull(&mut self, mixer: &mut Mixer, controls: &Controls, block: &mut [f32]) {
        self.pump(controls, mixer.position());
        mixer.render(block);
    }

    /// The practice frame up to which the mixer knows everything; never once the last leg is sent.
    pub fn covered(&self) -> PracticeFrame {
        if let Some(segment) = &self.kept {
            return PracticeFrame::new(segment.start);
        }
        let next = self.legs().get(self.next_leg);
        next.map_or(PracticeFrame::NEVER, |leg| PracticeFrame::at(leg.origin, self.lowering.rate()))
    }

    /// What is heard as things stand: all of it as planned, or from the last change of course on.
    pub fn legs(&self) -> &[Leg] {
        self.course.legs()
    }

    fn wants_more(&self, position: PracticeFrame) -> bool {
        self.kept.is_some()
            || (self.ahead.len() as u64) < self.supply.legs
            || self.covered() < position.plus(self.supply.frames)
    }

    fn lower_next(&mut self) -> Option<Box<Segment>> {
        let leg = self.legs().get(self.next_leg)?;
        let mut segment =
            self.lowering.segment(leg, leg.origin, self.epoch, self.next_id, self.near(leg.origin, leg.len));
        let entry = self.entry.number();
        if segment.start < entry {
            segment.events = segment.events.iter().filter(|event| event.frame >= entry).copied().collect();
            segment.start = entry;
        }
        self.next_leg += 1;
        // Only the order of the ids in the mixer at one time counts.
        self.next_id = self.next_id.wrapping_add(segment.events.len() as u32);
        self.ahead.push_back(segment.start);
        self.drawn.push((segment.start, segment.duck.clone()));
        let old = self.drawn.len().saturating_sub(2 * SEGMENTS);
        self.drawn.drain(..old);
        Some(Box::new(segment))
    }

    /// The voices that can shape the ducking of a leg. Voices do not overlap, so their ends are sorted like their starts.
    fn near(&self, origin: Seconds, len: Seconds) -> &[Range<u64>] {
        let rate = self.lowering.rate();
        let margin = rate.frames(Seconds::from_secs(2));
        let from = rate.frames(origin).saturating_sub(margin);
        let until = rate.frames(origin + len) + margin;
        let first = self.voices.partition_point(|voice| voice.end < from);
        let last = self.voices.partition_point(|voice| voice.start <= until);
        self.voices.get(first..last).unwrap_or_default()
    }

    /// Takes a command. It goes to the mixer at the next pump.
    ///
    /// # Errors
    /// Where it makes no sense now.
    pub fn command(&mut self, command: Command, timing: Timing) -> Result<CommandId, Refused> {
        let id = self.outbox.next_id();
        match command {
            Command::Desk(command) => {
                let stood = self.outbox.stands();
                self.outbox.desk(command, timing)?;
                if command == DeskCommand::Pause {
                    self.apart.0 = Some(timing.apart(self.lowering.rate()));
                }
                if let (DeskCommand::Resume, Some(stood)) = (command, stood) {
                    let practice = stood.plus(self.lowering.rate().frames(FADE));
                    self.stood(Timing { practice, ..timing }, stood);
                    self.apart.0 = None;
                    self.count_again(stood);
                }
            }
            Command::Course(command) => self.steer(id, command, timing)?,
        }
        Ok(id)
    }

    /// The practice has stood still from a frame on, up to now. Who swims meanwhile is swimming all the same.
    fn stood(&mut self, timing: Timing, from: PracticeFrame) {
        let rate = self.lowering.rate();
        if let Some(apart) = self.apart.0 {
            let long = timing.apart(rate) - apart;
            self.course.stood(from.time(rate), long.max(Seconds::ZERO));
        }
    }

    /// A pause that ends in a countdown ends before it instead: nobody leaves on half of one.
    fn count_again(&mut self, paused: PracticeFrame) {
        let rate = self.lowering.rate();
        let at = paused.plus(rate.frames(FADE)).max(self.entry);
        if let Some(by) = self.course.to_countdown(at.time(rate)) {
            let timing = Timing { pressed: at, practice: at, output: OutputFrame::ZERO };
            // Where there is no room for it now the countdown goes on where it was.
            if self.steer(self.outbox.next_id(), CourseCommand::Shift(by), timing).is_ok() {
                // What comes again is time in the water too.
                self.course.stood(at.time(rate), Seconds::ZERO - by);
            }
        }
    }

    /// Takes a command that changes the course: from its effect on another one is played.
    fn steer(&mut self, id: CommandId, command: CourseCommand, timing: Timing) -> Result<(), Refused> {
        if self.in_mixer + 1 >= SEGMENTS {
            return Err(Refused("too much at once: press the key again".to_owned()));
        }
        let rate = self.lowering.rate();
        // What was taken before holds from its frame on, and nothing changes before that.
        let left = timing.practice.max(self.entry);
        let (pressed, frame) = match command {
            CourseCommand::Shift(by) => (left, PracticeFrame::at(left.time(rate) + by, rate)),
            _ => (timing.pressed, left),
        };
        let moment = Moment { pressed: pressed.time(rate), now: frame.time(rate), frame, rate };
        if let Some(stands) = self.outbox.stands() {
            self.stood(timing, stands);
        }
        // A go that is heard before the command takes effect has been, wherever the command leads.
        self.outbox.report(self.course.goes(left, rate));
        let turn = self.course.turn(command, &moment)?;
        match turn.rings {
            Some(rings) => self.change(id, left, frame, rings),
            None => self.outbox.unheard(id, frame),
        }
        self.outbox.report(turn.happened);
        Ok(())
    }

    /// Sends the course as it is from the frame `to` on, in place of what was sent for `at` and later.
    fn change(&mut self, id: CommandId, at: PracticeFrame, to: PracticeFrame, rings: Rings) {
        let before = self.drawn.iter().rposition(|(start, _)| *start <= at.number());
        let carried =
            before.and_then(|place| self.drawn.get(place)).map_or(1.0, |(_, duck)| duck_at(duck, at.number()));
        self.drawn.truncate(before.map_or(0, |place| place + 1));
        (self.epoch, self.next_leg, self.kept) = (self.epoch + 1, 0, None);
        self.ahead.clear();
        self.entry = to;
        self.voices = voices(self.legs(), &self.lowering);
        let Some(mut next) = self.lower_next() else { return };
        next.duck = carry(&next.duck, carried, to.number(), self.lowering.rate().frames(ATTACK));
        if let Some((_, drawn)) = self.drawn.last_mut() {
            drawn.clone_from(&next.duck);
        }
        self.in_mixer += 1;
        self.outbox.cut(id, ToMixer::Cut { id: id.0, at, to, epoch: self.epoch, rings, next });
    }

    /// Whether a practice may be put on, or back, by so much at a frame: where it takes nothing from what is heard, or least.
    pub fn may_shift(&self, from: PracticeFrame, by: Seconds) -> bool {
        self.course.may_shift(from.max(self.entry), by, self.lowering.rate())
    }

    /// The next command that has taken effect.
    pub fn acknowledged(&mut self) -> Option<Acknowledged> {
        self.outbox.acknowledged.pop_front()
    }

    /// The next thing for the record.
    pub fn happened(&mut self) -> Option<Happened> {
        self.outbox.reports.pop_front()
    }

    /// Goes on from a moment of the practice with a new mixer that starts there, at the rate of `bank`: what is due from
    /// then on is lowered again, what began before is not begun again, beats stay on their grid. Faders and a pause are as
    /// they were. The mixer before is not answered any more.
    ///
    /// # Errors
    /// Where the bank was not made for the timeline.
    pub fn reseat(&mut self, bank: Arc<Bank>, position: Seconds) -> Result<(), BankMismatch> {
        let lowering = Lowering::new(self.timeline, bank)?;
        self.lowering = lowering;
        self.voices = voices(self.legs(), &self.lowering);
        (self.in_mixer, self.kept, self.next_id) = (0, None, 0);
        self.ahead.clear();
        self.drawn.clear();
        self.next_leg = self.legs().partition_point(|leg| leg.origin <= position).saturating_sub(1);
        self.entry = PracticeFrame::at(position, self.lowering.rate());
        // The new mixer's output begins at 0. How long there was none is not known here.
        let apart = Seconds::ZERO - position;
        self.apart = (self.apart.0.map(|begun| begun + apart - self.apart.1), apart);
        self.outbox.reseat(self.entry);
        Ok(())
    }

    /// Where the practice is at a frame of it.
    pub fn situation(&self, position: PracticeFrame) -> Situation {
        let mut situation = self.outbox.situation();
        self.course.fill(&mut situation, position, self.lowering.rate());
        situation
    }

    /// Whether everything has been heard at a frame of the practice.
    pub fn over(&self, position: PracticeFrame) -> bool {
        self.course.over(position, self.lowering.rate())
    }

    /// The ids of what could not be said so far because the bank has no sound for its words.
    pub fn unsayable(&self) -> impl Iterator<Item = &str> {
        self.course.unsayable()
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
