//! What the audio thread does for one block: drain, render, convert, publish. And the figures by which others see it.
//!
//! Nothing here allocates, frees, locks, waits, logs, or asks the time or the system for anything. It knows no device.
//! Denormals are left alone: the mixer has no feedback in which they could live on, its limiter's gain snaps to 1.

use crate::mixer::Mixer;
use crate::mixer::sample::{to_i16, to_mono};
use crossbeam_channel::Receiver;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU8, AtomicU32, AtomicU64, Ordering};

/// Frames that are rendered at a time, so that the room for them is fixed.
const CHUNK: usize = 512;

/// Why a stream plays no more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// The device is gone.
    Removed,
    /// The sound server is gone.
    ServerGone,
    /// Anything else that the system reports.
    Failed,
    /// The mixer failed: a mistake of this program.
    Broken,
}

impl Reason {
    /// For the screen and the record.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Removed => "the device is gone",
            Self::ServerGone => "the sound server is gone",
            Self::Failed => "the device failed",
            Self::Broken => "the mixer failed",
        }
    }

    const fn code(self) -> u8 {
        match self {
            Self::Removed => 1,
            Self::ServerGone => 2,
            Self::Failed => 3,
            Self::Broken => 4,
        }
    }
}

/// The figures of one stream. Each stands alone, so all accesses are relaxed.
#[derive(Debug, Default)]
pub struct Health {
    frames: AtomicU64,
    largest: AtomicU32,
    underruns: AtomicU32,
    reason: AtomicU8,
    silent: AtomicBool,
}

impl Health {
    /// Frames given to the device since it was opened.
    pub fn frames(&self) -> u64 {
        self.frames.load(Ordering::Relaxed)
    }

    /// The most frames it has asked for at once.
    pub fn largest(&self) -> u32 {
        self.largest.load(Ordering::Relaxed)
    }

    /// How often it reported that frames came too late.
    pub fn underruns(&self) -> u32 {
        self.underruns.load(Ordering::Relaxed)
    }

    /// Why it plays no more, if so.
    pub fn failure(&self) -> Option<Reason> {
        let code = self.reason.load(Ordering::Relaxed);
        [Reason::Removed, Reason::ServerGone, Reason::Failed, Reason::Broken].into_iter().find(|r| r.code() == code)
    }

    pub(super) fn fail(&self, reason: Reason) {
        // The first reason is the true one: the others follow from it.
        let _ = self.reason.compare_exchange(0, reason.code(), Ordering::Relaxed, Ordering::Relaxed);
    }

    pub(super) fn count_underrun(&self) {
        self.underruns.fetch_add(1, Ordering::Relaxed);
    }

    /// The callback gives silence from its next block on, whoever still calls it.
    pub(super) fn silence(&self) {
        self.silent.store(true, Ordering::Relaxed);
    }
}

/// A sample as a device takes it, made of the mix. Sixteen bits are those of the file renderer.
pub trait Shape: Copy + Send + 'static {
    /// No sound.
    const SILENCE: Self;
    /// One channel.
    fn of(sample: f32) -> Self;
    /// Two channels as one.
    fn mean(left: f32, right: f32) -> Self;
}

macro_rules! shape {
    ($($sample:ty),+) => {$(
        impl Shape for $sample {
            const SILENCE: Self = <$sample as cpal::Sample>::EQUILIBRIUM;
            fn of(sample: f32) -> Self {
                cpal::Sample::from_sample(sample.clamp(-1.0, 1.0))
            }
            fn mean(left: f32, right: f32) -> Self {
                Self::of(0.5 * (left + right))
            }
        }
    )+};
}

shape!(i8, cpal::I24, i32, u8, u16, u32, f32, f64);

impl Shape for i16 {
    const SILENCE: Self = 0;
    fn of(sample: f32) -> Self {
        to_i16(sample)
    }
    fn mean(left: f32, right: f32) -> Self {
        to_mono([to_i16(left), to_i16(right)])
    }
}

/// See the head of this file.
pub(super) struct Callback {
    starts: Receiver<Mixer>,
    mixer: Option<Mixer>,
    mix: [f32; 2 * CHUNK],
    channels: usize,
    given: u64,
    health: Arc<Health>,
}

impl Callback {
    pub(super) fn new(starts: Receiver<Mixer>, channels: usize, health: Arc<Health>) -> Self {
        let mix = [0.0; 2 * CHUNK];
        Self { starts, mixer: None, mix, channels: channels.max(1), given: 0, health }
    }

    /// Fills one block of interleaved frames.
    pub(super) fn fill<T: Shape>(&mut self, out: &mut [T]) {
        let frames = (out.len() / self.channels) as u64;
        let broken = self.health.failure() == Some(Reason::Broken);
        if broken || self.health.silent.load(Ordering::Relaxed) {
            out.fill(T::SILENCE);
        } else if catch_unwind(AssertUnwindSafe(|| self.play(out))).is_err() {
            // A mistake in the mixer must not take the system's audio thread with it; the session hears of it.
            out.fill(T::SILENCE);
            self.health.fail(Reason::Broken);
        }
        self.given += frames;
        self.health.frames.store(self.given, Ordering::Relaxed);
        self.health.largest.fetch_max(u32::try_from(frames).unwrap_or(u32::MAX), Ordering::Relaxed);
    }

    fn play<T: Shape>(&mut self, out: &mut [T]) {
        if self.mixer.is_none() {
            self.mixer = self.starts.try_recv().ok();
        }
        let Some(mixer) = &mut self.mixer else { return out.fill(T::SILENCE) };
        for chunk in out.chunks_mut(CHUNK * self.channels) {
            let frames = chunk.len() / self.channels;
            let Some(mix) = self.mix.get_mut(..2 * frames) else { return };
            mixer.render(mix);
            for (frame, sides) in chunk.chunks_mut(self.channels).zip(mix.chunks_exact(2)) {
                let &[left, right] = sides else { continue };
                match frame {
                    [one] => *one = T::mean(left, right),
                    [first, second, others @ ..] => {
                        (*first, *second) = (T::of(left), T::of(right));
                        others.fill(T::SILENCE);
                    }
                    [] => {}
                }
            }
        }
    }
}
