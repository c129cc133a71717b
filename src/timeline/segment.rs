//! A leg lowered to frames: what the mixer plays. Plain data, built outside the audio thread.

use crate::audio::bank::Bank;
use std::sync::Arc;

/// The faders of the mixer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Bus {
    /// Speech.
    Voice,
    /// Beats; they step back under the voice.
    Beats,
    /// Countdown and go.
    Signals,
}

impl Bus {
    /// How many there are.
    pub const COUNT: usize = 3;

    /// Its place among the faders.
    pub const fn index(self) -> usize {
        match self {
            Self::Voice => 0,
            Self::Beats => 1,
            Self::Signals => 2,
        }
    }
}

/// A clip that starts on a frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Event {
    /// The absolute frame on which it starts.
    pub frame: u64,
    /// Unique within a practice and rising in the order of the timeline; breaks ties of equal frames.
    pub id: u32,
    /// Which clip of the bank.
    pub clip: u32,
    /// The first frame of the clip that is played (0 unless a leg is entered in the middle).
    pub offset: u32,
    /// Linear gain of the left and the right channel.
    pub gain: [f32; 2],
    /// Which fader.
    pub bus: Bus,
}

/// A corner of the ducking curve: the curve runs straight between corners and keeps its value outside them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DuckPoint {
    /// Absolute frame.
    pub frame: u64,
    /// Linear gain of the beats there, 0 to 1.
    pub gain: f32,
}

/// One leg in frames.
#[derive(Clone, Debug)]
pub struct Segment {
    /// Rises with each change of course in a live run; events of an older epoch are faded out by a cut.
    pub epoch: u32,
    /// The first frame that belongs to it. It ends where the next segment starts.
    pub start: u64,
    /// Its events, sorted by (frame, id); none before `start`.
    pub events: Box<[Event]>,
    /// Its ducking curve, sorted by frame; empty means 1 throughout.
    pub duck: Box<[DuckPoint]>,
    /// The clips that its events name.
    pub bank: Arc<Bank>,
}

/// The value of a ducking curve at a frame.
pub fn duck_at(points: &[DuckPoint], frame: u64) -> f32 {
    duck_after(points, points.partition_point(|point| point.frame <= frame), frame)
}

/// The same where it is known how many points lie at or before the frame.
pub fn duck_after(points: &[DuckPoint], passed: usize, frame: u64) -> f32 {
    match (passed.checked_sub(1).and_then(|last| points.get(last)), points.get(passed)) {
        (Some(a), Some(b)) => a.gain + (b.gain - a.gain) * ((frame - a.frame) as f32 / (b.frame - a.frame) as f32),
        (Some(point), None) | (None, Some(point)) => point.gain,
        (None, None) => 1.0,
    }
}
