//! What goes into the mixer and what comes back: messages, answers, figures. Plain data over bounded queues.
//!
//! While the practice stands still only the frames put out go on, so a pause is ended by that clock; all else goes by the
//! practice's.

use crate::timeline::segment::{Bus, Segment};
use crate::units::frame::{OutputFrame, PracticeFrame};
use crate::units::level::Gain;
use crossbeam_channel::{Receiver, Sender};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, AtomicU64, Ordering};

/// Messages that can wait for the mixer.
pub const MESSAGES: usize = 64;
/// Answers that can wait for the conductor.
pub const ANSWERS: usize = 128;

/// A message to the mixer. A command whose frame has passed is obeyed at once, and answered as late.
#[derive(Debug)]
pub enum ToMixer {
    /// Play this after what is already there. Segments come in the order of their starts.
    Append(Box<Segment>),
    /// Leave the course: voices of segments older than `epoch` fade out, what they had still to play is dropped.
    Cut {
        /// Comes back with the answer.
        id: u32,
        /// When.
        at: PracticeFrame,
        /// The frame of the practice that comes in its place: the same one, or another where the practice is put to the clock
        /// of the pool. What sounds goes on from there.
        to: PracticeFrame,
        /// Everything with a lower epoch goes.
        epoch: u32,
        /// What may ring out instead.
        rings: Rings,
        /// What is played instead.
        next: Box<Segment>,
    },
    /// Move a fader, over 10 ms.
    Gain {
        /// Comes back with the answer.
        id: u32,
        /// When.
        at: PracticeFrame,
        /// Which fader.
        bus: Bus,
        /// Where to.
        gain: Gain,
    },
    /// Fade out over 10 ms, then stand still: the practice's clock stops and goes on from there.
    Pause {
        /// Comes back with the answer.
        id: u32,
        /// When the fade begins.
        at: PracticeFrame,
    },
    /// Go on after a pause, fading in over 10 ms. Without a pause it changes nothing.
    Resume {
        /// Comes back with the answer.
        id: u32,
        /// When.
        at: OutputFrame,
    },
}

/// What the mixer gives back.
#[derive(Debug)]
pub enum FromMixer {
    /// Played or cut; to be freed by the receiver.
    Retired(Box<Segment>),
    /// There was no room for it; to be sent again after another has retired.
    Refused(Box<Segment>),
    /// A command took effect.
    Obeyed {
        /// Of the command.
        id: u32,
        /// When.
        effect: Effect,
        /// Where the practice was then.
        at: PracticeFrame,
        /// Whether that was later than asked for, which had passed.
        late: bool,
    },
}

/// A frame on which a command took effect, on the clock of the command.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Of the practice.
    Practice(PracticeFrame),
    /// Of those put out: the end of a pause.
    Output(OutputFrame),
}

impl Effect {
    /// The number of the frame.
    pub const fn number(self) -> u64 {
        match self {
            Self::Practice(frame) => frame.number(),
            Self::Output(frame) => frame.number(),
        }
    }
}

/// Which voices ring out when their course is left, by their fader; the others fade.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rings([bool; Bus::COUNT]);

impl Rings {
    /// Everything that has begun.
    pub const ALL: Self = Self([true; Bus::COUNT]);
    /// Nothing.
    pub const NONE: Self = Self([false; Bus::COUNT]);
    /// Words and signals.
    pub const ALL_BUT_BEATS: Self = Self::ALL.but(Bus::Beats);
    /// Countdown and go.
    pub const SIGNALS: Self = Self::ALL_BUT_BEATS.but(Bus::Voice);

    const fn but(mut self, bus: Bus) -> Self {
        self.0[bus.index()] = false;
        self
    }

    /// Whether a voice at the fader of this place rings out.
    pub(super) fn at(self, fader: usize) -> bool {
        self.0.get(fader).copied().unwrap_or(false)
    }
}

/// The ends of the queues that stay outside the audio thread, and the mixer's figures.
#[derive(Debug)]
pub struct Controls {
    /// Messages to the mixer; a full queue is the sender's error, never a wait.
    pub to: Sender<ToMixer>,
    /// Its answers, to be read often enough that [`ANSWERS`] suffice.
    pub from: Receiver<FromMixer>,
    /// Its figures.
    pub figures: Arc<Figures>,
}

/// Figures that the mixer publishes once a block. Each stands alone, so all accesses are relaxed: a reader may see one a
/// block newer than another.
#[derive(Debug, Default)]
pub struct Figures {
    position: AtomicU64,
    put_out: AtomicU64,
    voices: AtomicU32,
    missed: AtomicU32,
    stolen: AtomicU32,
    peak: AtomicU32,
}

impl Figures {
    /// The next frame of the practice that will be mixed; at the output it is heard a look-ahead later.
    pub fn position(&self) -> PracticeFrame {
        PracticeFrame::new(self.position.load(Ordering::Relaxed))
    }

    /// Frames mixed since the mixer was made, pauses included.
    pub fn put_out(&self) -> OutputFrame {
        OutputFrame::new(self.put_out.load(Ordering::Relaxed))
    }

    /// Voices that sound.
    pub fn voices(&self) -> u32 {
        self.voices.load(Ordering::Relaxed)
    }

    /// Events that could not be played at all: they came after their frame, or name no clip.
    pub fn missed(&self) -> u32 {
        self.missed.load(Ordering::Relaxed)
    }

    /// Voices ended early because more sounded at once than the mixer can hold.
    pub fn stolen(&self) -> u32 {
        self.stolen.load(Ordering::Relaxed)
    }

    /// The highest sample peak since it was last taken, linear, after the limiter.
    pub fn take_peak(&self) -> f32 {
        f32::from_bits(self.peak.swap(0, Ordering::Relaxed))
    }

    pub(super) fn publish(&self, position: u64, put_out: u64, voices: u32, missed: u32, stolen: u32) {
        self.position.store(position, Ordering::Relaxed);
        self.put_out.store(put_out, Ordering::Relaxed);
        self.voices.store(voices, Ordering::Relaxed);
        self.missed.store(missed, Ordering::Relaxed);
        self.stolen.store(stolen, Ordering::Relaxed);
    }

    /// The bits of floats that are not negative are ordered like the floats.
    pub(super) fn publish_peak(&self, peak: f32) {
        self.peak.fetch_max(peak.abs().to_bits(), Ordering::Relaxed);
    }
}
