//! Listening to a microphone: what it hears, as blocks of one channel. What becomes of them is the recording's job.
//!
//! The audio thread copies each sample into a block and gives the block to a bounded queue. It allocates nothing, waits for
//! nobody, and counts what finds no room.

use super::health::Health;
use super::settled::{Settled, of_format};
use super::{BUILD, Closing, Direction, Pending, Wish};
use crate::units::time::SampleRate;
use cpal::traits::{DeviceTrait, StreamTrait};
use cpal::{FromSample, SizedSample};
use crossbeam_channel::{Receiver, Sender, bounded};
use std::fmt;
use std::sync::Arc;

/// Frames of a block: 5 ms at 48 kHz, so that a meter moves smoothly and a queue holds little.
const BLOCK: usize = 256;

/// Blocks that may wait: over two seconds at 48 kHz, for a computer that is busy elsewhere.
const WAITING: usize = 512;

/// What a microphone heard in a moment: samples of one channel, full scale 1.
#[derive(Clone, Copy, Debug)]
pub struct Block {
    samples: [f32; BLOCK],
    len: usize,
}

impl Block {
    const EMPTY: Self = Self { samples: [0.0; BLOCK], len: 0 };

    /// The samples in it, at most some milliseconds of them.
    pub fn samples(&self) -> &[f32] {
        self.samples.get(..self.len).unwrap_or(&self.samples)
    }
}

/// What the audio thread does with what a microphone hears: the mean of its channels, in blocks.
pub struct Ear {
    to: Sender<Block>,
    block: Block,
    channels: usize,
    taken: u64,
    health: Arc<Health>,
}

impl Ear {
    /// For a device of so many channels, and where its blocks come out.
    pub fn new(channels: usize, health: Arc<Health>) -> (Self, Receiver<Block>) {
        let (to, from) = bounded(WAITING);
        (Self { to, block: Block::EMPTY, channels: channels.max(1), taken: 0, health }, from)
    }

    /// Takes interleaved frames. A block goes on when it is full, however many calls that takes. What finds no room is lost and
    /// counted.
    pub fn take<T: Copy>(&mut self, heard: &[T])
    where
        f32: FromSample<T>,
    {
        if self.health.is_silenced() {
            return;
        }
        let share = 1.0 / self.channels as f32;
        for frame in heard.chunks_exact(self.channels) {
            let sum: f32 = frame.iter().map(|sample| f32::from_sample_(*sample)).sum();
            if let Some(place) = self.block.samples.get_mut(self.block.len) {
                *place = sum * share;
                self.block.len += 1;
            }
            if self.block.len == BLOCK {
                self.give();
            }
        }
        let frames = (heard.len() / self.channels) as u64;
        self.taken += frames;
        self.health.moved(self.taken, frames);
    }

    fn give(&mut self) {
        if self.to.try_send(self.block).is_err() {
            self.health.count_underrun();
        }
        self.block.len = 0;
    }
}

impl fmt::Debug for Ear {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.health.fmt(f)
    }
}

/// A microphone that was found and asked how it runs, not yet listening.
#[derive(Clone, Debug)]
pub struct FoundInput(Settled);

/// Looks for a microphone.
pub fn find(wish: &Wish) -> Pending<FoundInput> {
    let wish = wish.clone();
    Pending::begin(Direction::In, move || Settled::find(Direction::In, &wish).map(FoundInput))
}

impl FoundInput {
    /// What people call it.
    pub fn name(&self) -> &str {
        &self.0.name
    }

    /// Frames a second it will run at.
    pub const fn rate(&self) -> SampleRate {
        self.0.rate
    }

    /// Opens it and begins to listen.
    pub fn listen(self) -> Pending<Listening> {
        Pending::begin(Direction::In, move || {
            let health = Arc::new(Health::default());
            let (ear, heard) = Ear::new(usize::from(self.0.config.channels), Arc::clone(&health));
            let stream = of_format!(self.build_as(ear, &health))?;
            stream.play()?;
            Ok(Listening { heard, rate: self.rate(), _stream: Closing::of(stream, &health), health })
        })
    }

    fn build_as<T: SizedSample>(&self, mut ear: Ear, health: &Arc<Health>) -> Result<cpal::Stream, cpal::Error>
    where
        f32: FromSample<T>,
    {
        let told = Arc::clone(health);
        self.0.device.build_input_stream(
            self.0.config,
            move |heard: &[T], _: &cpal::InputCallbackInfo| ear.take(heard),
            move |error| told.hear(error.kind()),
            Some(BUILD),
        )
    }
}

/// A microphone that is listened to, until this is dropped.
#[derive(Debug)]
pub struct Listening {
    heard: Receiver<Block>,
    rate: SampleRate,
    _stream: Closing,
    health: Arc<Health>,
}

impl Listening {
    /// What it hears, block after block.
    pub const fn heard(&self) -> &Receiver<Block> {
        &self.heard
    }

    /// Frames a second.
    pub const fn rate(&self) -> SampleRate {
        self.rate
    }

    /// How it is; its underruns count what was lost.
    pub fn health(&self) -> &Health {
        &self.health
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(from: &Receiver<Block>) -> Vec<f32> {
        from.try_iter().flat_map(|block| block.samples().to_vec()).collect()
    }

    #[test]
    fn every_format_is_one_channel_of_full_scale_one() {
        let health = Arc::new(Health::default());
        let (mut ear, from) = Ear::new(2, Arc::clone(&health));
        ear.take::<i16>(&[16_384, 0, -32_768, -32_768, 0]);
        ear.take::<f32>(&[0.5, 0.25]);
        ear.take::<u8>(&[128, 192]);
        assert_eq!(from.len(), 0, "a block goes on when it is full");
        ear.take(&[0.0_f32; 2 * (BLOCK - 4)]);
        assert_eq!(heard(&from)[..5], [0.25, -1.0, 0.375, 0.25, 0.0], "half a frame at the end is none");
        assert_eq!((health.frames(), health.largest(), health.underruns()), (BLOCK as u64, BLOCK as u32 - 4, 0));
    }

    #[test]
    fn nothing_is_lost_until_the_queue_is_full_and_then_it_is_reported() {
        let health = Arc::new(Health::default());
        let (mut ear, from) = Ear::new(1, Arc::clone(&health));
        let all: Vec<f32> = (0..10 * BLOCK).map(|i| i as f32 / 4096.0).collect();
        for part in all.chunks(700) {
            ear.take(part);
        }
        assert_eq!(heard(&from), all);
        for _ in 0..=WAITING {
            ear.take(&[0.0_f32; BLOCK]);
        }
        assert_eq!((from.len(), health.underruns()), (WAITING, 1));
        health.silence();
        ear.take(&[1.0_f32]);
        assert_eq!(health.underruns(), 1);
    }
}
