//! The mixer: pulled for frames by a device's callback or by a file's loop, fed with segments and commands by queue.
//!
//! It mixes quanta of 64 frames on a fixed grid, so how the output is cut into blocks changes nothing. In [`Mixer::render`]
//! and all below it nothing allocates, frees, locks, waits, panics, or asks the time or the system for anything: what it
//! needs comes by a bounded queue and goes back by another. It knows neither files nor devices nor wall clocks.

mod control;
mod desk;
mod level;
mod limit;
mod queue;
pub mod sample;
mod voice;

pub use control::{ANSWERS, Controls, Effect, Figures, FromMixer, MESSAGES, Rings, ToMixer};
pub use desk::VOICES;
pub use queue::SEGMENTS;
pub use sample::QUANTUM;

use crate::timeline::segment::{Bus, Segment};
use crate::units::frame::{OutputFrame, PracticeFrame};
use crate::units::level::Gain;
use crate::units::time::{SampleRate, Seconds};
use crossbeam_channel::{Receiver, Sender, bounded};
use desk::Desk;
use limit::{Limiter, Slot, SlotKind};
use std::sync::Arc;
use voice::Voice;

/// Commands that can wait for their frame, with the answers that can wait for room.
const PENDING: usize = 32;
/// Messages read in one block.
const PER_BLOCK: usize = 32;
/// How long faders, pauses and voices whose course is left fade.
pub const FADE: Seconds = Seconds::from_millis(10);

/// Mixes what it is sent, on the frames that it is told.
#[derive(Debug)]
pub struct Mixer {
    desk: Desk,
    limiter: Limiter,
    /// The quantum being mixed.
    work: Box<Slot>,
    inbox: Receiver<ToMixer>,
    outbox: Sender<FromMixer>,
    figures: Arc<Figures>,
    /// Commands that wait for their frame of the practice, sorted by it; equal frames in the order of arrival.
    waiting: Vec<(PracticeFrame, Due)>,
    /// The same for frames put out.
    resumes: Vec<(OutputFrame, Due)>,
    /// Answers that found no room.
    answers: Vec<FromMixer>,
    motion: Motion,
    /// Frames mixed since the mixer was made.
    put_out: u64,
    fade: u32,
    latency: u64,
    /// The quantum that `render` is giving out, interleaved, and how many samples of it are gone.
    ready: [f32; 2 * QUANTUM],
    gone: usize,
}

/// Whether the practice's clock runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Motion {
    Running,
    /// Fading out; stands still from this frame on.
    Stopping(u64),
    Stopped,
}

/// A command that waits for its frame.
#[derive(Debug)]
struct Due {
    id: u32,
    late: bool,
    act: Act,
}

#[derive(Debug)]
enum Act {
    Cut { skip: i64, epoch: u32, rings: Rings, next: Box<Segment> },
    Gain { bus: Bus, gain: Gain },
    Pause,
    Resume,
}

/// The next frames of the output.
#[derive(Debug)]
pub enum Stretch<'a> {
    /// So many frames of silence, a multiple of [`QUANTUM`].
    Silence(u64),
    /// One quantum.
    Sound {
        /// The left channel.
        left: &'a [f32; QUANTUM],
        /// The right channel; the very same array where both channels are alike.
        right: &'a [f32; QUANTUM],
    },
}

impl Mixer {
    /// A mixer at rest at frame 0, and what is needed to feed it. All segments must have banks of this rate.
    pub fn new(rate: SampleRate) -> (Self, Controls) {
        let (to, inbox) = bounded(MESSAGES);
        let (outbox, from) = bounded(ANSWERS);
        let figures = Arc::new(Figures::default());
        let mixer = Self {
            desk: Desk::new(),
            limiter: Limiter::new(rate),
            work: Box::new(Slot::EMPTY),
            inbox,
            outbox,
            figures: Arc::clone(&figures),
            waiting: Vec::with_capacity(PENDING),
            resumes: Vec::with_capacity(PENDING),
            answers: Vec::with_capacity(2 * PENDING),
            motion: Motion::Running,
            put_out: 0,
            fade: rate.frames(FADE) as u32,
            latency: limit::look_ahead(rate) as u64,
            ready: [0.0; 2 * QUANTUM],
            gone: 2 * QUANTUM,
        };
        (mixer, Controls { to, from, figures })
    }

    /// A mixer at rest at a frame of the practice that is under way.
    pub fn starting_at(rate: SampleRate, frame: PracticeFrame) -> (Self, Controls) {
        let (mut mixer, controls) = Self::new(rate);
        mixer.desk.position = frame.number();
        mixer.publish();
        (mixer, controls)
    }

    /// Frames by which the output is behind the mix: the limiter's look-ahead, a multiple of [`QUANTUM`].
    pub fn latency(&self) -> u64 {
        self.latency
    }

    /// The next frame of the practice to be mixed.
    pub fn position(&self) -> PracticeFrame {
        PracticeFrame::new(self.desk.position)
    }

    /// Events missed and voices stolen so far.
    pub fn losses(&self) -> (u32, u32) {
        (self.desk.missed, self.desk.stolen)
    }

    /// Fills `out` with interleaved stereo and publishes the figures. Messages are read at its beginning.
    pub fn render(&mut self, out: &mut [f32]) {
        self.receive();
        let mut rest = out;
        let mut peak = 0.0_f32;
        while !rest.is_empty() {
            if self.gone == self.ready.len() {
                peak = peak.max(self.refill());
            }
            let ready = self.ready.get(self.gone..).unwrap_or_default();
            let taken = ready.len().min(rest.len());
            let (now, later) = rest.split_at_mut(taken);
            now.iter_mut().zip(ready).for_each(|(out, sample)| *out = *sample);
            self.gone += taken;
            rest = later;
        }
        self.figures.publish_peak(peak);
        self.publish();
    }

    fn refill(&mut self) -> f32 {
        let mut ready = [0.0; 2 * QUANTUM];
        if let Stretch::Sound { left, right } = self.pull(1) {
            for ((frame, left), right) in ready.chunks_exact_mut(2).zip(left).zip(right) {
                frame.copy_from_slice(&[*left, *right]);
            }
        }
        (self.ready, self.gone) = (ready, 0);
        ready.iter().fold(0.0, |peak, sample| peak.max(sample.abs()))
    }

    /// The next quantum, or up to `most` quanta (at least one) of silence at once. For a loop that wants whole quanta
    /// instead of [`render`](Self::render)'s blocks; it calls [`receive`](Self::receive) itself, and must not pull beyond
    /// the segments that it has sent.
    pub fn pull(&mut self, most: u64) -> Stretch<'_> {
        self.obey();
        let silent = self.silent_quanta().min(most);
        if silent > 0 {
            let frames = silent * QUANTUM as u64;
            self.put_out += frames;
            if self.motion != Motion::Stopped {
                self.desk.position += frames;
            }
            return Stretch::Silence(frames);
        }
        self.mix();
        let slot = self.limiter.advance(&mut self.work);
        match slot.kind {
            SlotKind::Silent => Stretch::Silence(QUANTUM as u64),
            SlotKind::Centred => Stretch::Sound { left: &slot.left, right: &slot.left },
            SlotKind::Stereo => Stretch::Sound { left: &slot.left, right: &slot.right },
        }
    }

    /// Whole quanta for which nothing can be heard and nothing happens.
    fn silent_quanta(&self) -> u64 {
        let frames = match self.motion {
            Motion::Stopping(_) => 0,
            _ if !self.limiter.is_empty() => 0,
            Motion::Stopped => self.next_resume().saturating_sub(self.put_out),
            Motion::Running if !self.desk.voices.is_empty() => 0,
            Motion::Running => {
                let next = self.desk.queue.next_event().min(self.next_command());
                let resume = self.next_resume().saturating_sub(self.put_out);
                next.saturating_sub(self.desk.position).min(resume)
            }
        };
        frames / QUANTUM as u64
    }

    /// Mixes one quantum, in runs between commands and starts of segments.
    fn mix(&mut self) {
        self.desk.begin(&mut self.work);
        let mut at = 0;
        while at < QUANTUM {
            // What is due is done, hence everything that still waits lies at least a frame ahead.
            self.obey();
            let mut run = (QUANTUM - at) as u64;
            if !matches!(self.motion, Motion::Stopping(_)) {
                run = run.min(self.next_resume() - self.put_out);
            }
            if self.motion != Motion::Stopped {
                let position = self.desk.position;
                run = run.min(self.next_command() - position).min(self.desk.queue.next_start(position) - position);
                if let Motion::Stopping(end) = self.motion {
                    run = run.min(end - position);
                }
                self.desk.run(&mut self.work, at, run as usize);
            }
            at += run as usize;
            self.put_out += run;
        }
        self.desk.end();
    }

    fn next_command(&self) -> u64 {
        self.waiting.first().map_or(u64::MAX, |(at, _)| at.number())
    }

    fn next_resume(&self) -> u64 {
        self.resumes.first().map_or(u64::MAX, |(at, _)| at.number())
    }

    /// Carries out what is due.
    fn obey(&mut self) {
        if let Motion::Stopping(end) = self.motion
            && self.desk.position >= end
        {
            self.motion = Motion::Stopped;
        }
        while self.next_command() <= self.desk.position {
            let (_, due) = self.waiting.remove(0);
            self.act(due, Effect::Practice(self.position()));
        }
        // A pause that is still fading ends before it is resumed.
        while self.next_resume() <= self.put_out && !matches!(self.motion, Motion::Stopping(_)) {
            let (_, due) = self.resumes.remove(0);
            self.act(due, Effect::Output(OutputFrame::new(self.put_out)));
        }
    }

    fn act(&mut self, Due { id, late, act }: Due, effect: Effect) {
        let position = self.desk.position;
        match act {
            Act::Cut { skip, epoch, rings, next } => {
                // What goes back a little must not find the old course there again.
                self.desk.queue.cut(position.min(position.saturating_add_signed(skip)), epoch);
                let ends = |v: &&mut Voice| v.epoch < epoch && !rings.at(v.bus);
                self.desk.voices.iter_mut().filter(ends).for_each(|v| v.fade(position, self.fade));
                self.desk.skip(skip);
                if let Motion::Stopping(end) = &mut self.motion {
                    *end = end.saturating_add_signed(skip);
                }
                if let Err(next) = self.desk.queue.append(next, SEGMENTS) {
                    self.answer(FromMixer::Refused(next));
                }
            }
            Act::Gain { bus, gain } => {
                if let Some(fader) = self.desk.faders.get_mut(bus.index()) {
                    fader.turn(gain.factor(), position, self.fade);
                }
            }
            Act::Pause => {
                if self.motion == Motion::Running {
                    self.desk.transport.turn(0.0, position, self.fade);
                    self.motion = Motion::Stopping(position + u64::from(self.fade));
                }
            }
            Act::Resume => {
                if self.motion == Motion::Stopped {
                    self.desk.transport.turn(1.0, position, self.fade);
                    self.motion = Motion::Running;
                }
            }
        }
        self.answer(FromMixer::Obeyed { id, effect, at: PracticeFrame::new(position), late });
    }

    /// Sends an answer, or keeps it until there is room.
    fn answer(&mut self, answer: FromMixer) {
        if let Err(error) = self.outbox.try_send(answer) {
            self.answers.push(error.into_inner());
        }
    }

    /// Reads messages, gives back what has been played. [`render`](Self::render) does this by itself.
    pub fn receive(&mut self) {
        while let Some(answer) = self.answers.pop() {
            if let Err(error) = self.outbox.try_send(answer) {
                self.answers.push(error.into_inner());
                break;
            }
        }
        let Self { desk, outbox, .. } = self;
        let give_back = |segment| match outbox.try_send(FromMixer::Retired(segment)) {
            Err(error) => match error.into_inner() {
                FromMixer::Retired(segment) => Err(segment),
                _ => Ok(()),
            },
            Ok(()) => Ok(()),
        };
        while desk.queue.retire(desk.position, &mut desk.voices, give_back) {}
        for _ in 0..PER_BLOCK {
            // A message may give rise to two answers; with those owed already, they must fit without allocating.
            let owed = 2 * (self.waiting.len() + self.resumes.len()) + self.answers.len();
            if owed + 2 > 2 * PENDING {
                break;
            }
            let Ok(message) = self.inbox.try_recv() else { break };
            self.accept(message);
        }
    }

    fn accept(&mut self, message: ToMixer) {
        let (id, at, act) = match message {
            ToMixer::Append(segment) => {
                if let Err(segment) = self.desk.queue.append(segment, SEGMENTS - 1) {
                    self.answer(FromMixer::Refused(segment));
                }
                return;
            }
            ToMixer::Cut { id, at, to, epoch, rings, next } => {
                let skip = to.since(at) as i64 - at.since(to) as i64;
                (id, at, Act::Cut { skip, epoch, rings, next })
            }
            ToMixer::Gain { id, at, bus, gain } => (id, at, Act::Gain { bus, gain }),
            ToMixer::Pause { id, at } => (id, at, Act::Pause),
            ToMixer::Resume { id, at } => {
                let due = Due { id, late: at.number() < self.put_out, act: Act::Resume };
                let place = self.resumes.partition_point(|(other, _)| *other <= at);
                self.resumes.insert(place, (at, due));
                return;
            }
        };
        let due = Due { id, late: at < self.position(), act };
        let place = self.waiting.partition_point(|(other, _)| *other <= at);
        self.waiting.insert(place, (at, due));
    }

    fn publish(&self) {
        let desk = &self.desk;
        self.figures.publish(desk.position, self.put_out, desk.voices.len() as u32, desk.missed, desk.stolen);
    }
}

impl Stretch<'_> {
    /// How many frames it lasts.
    pub fn frames(&self) -> u64 {
        match self {
            Self::Silence(frames) => *frames,
            Self::Sound { .. } => QUANTUM as u64,
        }
    }
}

#[cfg(test)]
mod tests;
