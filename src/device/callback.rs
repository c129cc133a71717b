//! What the audio thread does for one block: drain, render, convert, publish. And the figures by which others see it.
//!
//! Nothing here allocates, frees, locks, waits, logs, or asks the time or the system for anything. It knows no device.
//! Denormals are left alone: the mixer has no feedback in which they could live on, its limiter's gain snaps to 1.

use super::health::{Health, Reason};
use crate::mixer::Mixer;
use crate::mixer::sample::{to_i16, to_mono};
use crossbeam_channel::Receiver;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

/// Frames that are rendered at a time, so that the room for them is fixed.
const CHUNK: usize = 512;

/// A sample as a device takes it, made of the mix. Sixteen bits are those of the file renderer.
pub trait StreamSample: Copy + Send + 'static {
    /// No sound.
    const SILENCE: Self;
    /// One channel.
    fn of(sample: f32) -> Self;
    /// Two channels as one.
    fn mean(left: f32, right: f32) -> Self;
}

macro_rules! shape {
    ($($sample:ty),+) => {$(
        impl StreamSample for $sample {
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

impl StreamSample for i16 {
    const SILENCE: Self = 0;
    fn of(sample: f32) -> Self {
        to_i16(sample)
    }
    fn mean(left: f32, right: f32) -> Self {
        to_mono([to_i16(left), to_i16(right)])
    }
}

/// What the audio thread owns: the mixer, and the block it renders into.
pub struct Callback {
    starts: Receiver<Mixer>,
    mixer: Option<Mixer>,
    mix: [f32; 2 * CHUNK],
    channels: usize,
    given: u64,
    health: Arc<Health>,
}

impl Callback {
    /// For a device of so many channels: silence until a mixer comes, with its look-ahead drained.
    pub fn new(starts: Receiver<Mixer>, channels: usize, health: Arc<Health>) -> Self {
        let mix = [0.0; 2 * CHUNK];
        Self { starts, mixer: None, mix, channels: channels.max(1), given: 0, health }
    }

    /// Fills one block of interleaved frames.
    pub fn fill<T: StreamSample>(&mut self, out: &mut [T]) {
        let frames = (out.len() / self.channels) as u64;
        let broken = self.health.failure() == Some(Reason::Broken);
        if broken || self.health.is_silenced() {
            out.fill(T::SILENCE);
        } else if catch_unwind(AssertUnwindSafe(|| self.play(out))).is_err() {
            // A mistake in the mixer must not take the system's audio thread with it; the session hears of it.
            out.fill(T::SILENCE);
            self.health.fail(Reason::Broken);
        }
        self.given += frames;
        self.health.moved(self.given, frames);
    }

    fn play<T: StreamSample>(&mut self, out: &mut [T]) {
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

impl std::fmt::Debug for Callback {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.health.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::bank::{Bank, BankClip};
    use crate::mixer::{Controls, ToMixer};
    use crate::timeline::segment::{Bus, Event, Segment};
    use crate::units::time::SampleRate;
    use crossbeam_channel::bounded;

    /// A mixer whose output is a step of the left and of the right from its first frame on, ready to be handed over.
    fn mixer(left: f32, right: f32) -> (Mixer, Controls) {
        let rate = SampleRate::new(8_000).unwrap();
        let clip = BankClip { samples: vec![16_384; 9_000].into(), gain: 1.0, true_peak: 0.5 };
        let bank = Arc::new(Bank { rate, clips: vec![clip] });
        let event = Event { frame: 0, id: 0, clip: 0, offset: 0, gain: [left, right], bus: Bus::Voice };
        let segment = Segment { epoch: 0, start: 0, events: [event].into(), duck: [].into(), bank };
        let (mut mixer, controls) = Mixer::new(rate);
        controls.to.send(ToMixer::Append(Box::new(segment))).unwrap();
        mixer.render(&mut vec![0.0; 2 * mixer.latency() as usize]);
        (mixer, controls)
    }

    fn filled<T: StreamSample>(channels: usize, frames: usize) -> Vec<T> {
        let (mixer, _controls) = mixer(1.0, 0.5);
        let (to, starts) = bounded(1);
        let health = Arc::new(Health::default());
        let mut callback = Callback::new(starts, channels, Arc::clone(&health));
        let mut out = vec![T::SILENCE; channels * frames];
        callback.fill(&mut out);
        assert_eq!(health.frames(), frames as u64);
        to.send(mixer).unwrap();
        callback.fill(&mut out);
        assert_eq!((health.frames(), health.largest()), (2 * frames as u64, frames as u32));
        out
    }

    #[test]
    fn every_device_gets_its_channels_and_format() {
        assert_eq!(filled::<i16>(2, 700)[..4], [16_384, 8_192, 16_384, 8_192]);
        assert!(filled::<i16>(2, 700).chunks(2).all(|frame| frame == [16_384, 8_192]));
        assert!(filled::<i16>(1, 700).iter().all(|sample| *sample == 12_288), "one channel is the mean of both");
        assert!(filled::<f32>(2, 700).chunks(2).all(|frame| frame == [0.5, 0.25]));
        assert!(filled::<f32>(6, 700).chunks(6).all(|frame| frame == [0.5, 0.25, 0.0, 0.0, 0.0, 0.0]));
        assert!(filled::<u8>(2, 700).chunks(2).all(|frame| frame == [192, 160]));
        assert!(filled::<u16>(4, 700).chunks(4).all(|frame| frame == [49_152, 40_960, 32_768, 32_768]));
        assert!(filled::<i32>(2, 700).chunks(2).all(|frame| frame == [1 << 30, 1 << 29]));
    }

    #[test]
    fn a_stream_that_is_given_up_is_silent_at_once() {
        let (mixer, _controls) = mixer(1.0, 1.0);
        let (to, starts) = bounded(1);
        let health = Arc::new(Health::default());
        let mut callback = Callback::new(starts, 2, Arc::clone(&health));
        to.send(mixer).unwrap();
        let mut out = [0_i16; 128];
        callback.fill(&mut out);
        assert_eq!(out, [16_384; 128]);
        health.silence();
        callback.fill(&mut out);
        assert_eq!(out, [0; 128]);
        assert_eq!(health.failure(), None);
        health.fail(Reason::ServerGone);
        health.fail(Reason::Failed);
        assert_eq!(health.failure(), Some(Reason::ServerGone), "the first reason stays");
    }
}
