//! Playing a mixer through an output device. What the audio thread does is in `callback`; when to open a device again, and
//! what is played, is the session's job.

use super::callback::{Callback, StreamSample};
use super::health::Health;
use super::settled::{Settled, of_format};
use super::{BUILD, Closing, Direction, Pending, Wish};
use crate::mixer::Mixer;
use crate::units::time::SampleRate;
use cpal::traits::{DeviceTrait, StreamTrait};
use crossbeam_channel::Receiver;
use std::sync::Arc;

/// An output that was found and asked how it runs, not yet playing.
#[derive(Clone, Debug)]
pub struct FoundOutput(Settled);

/// Looks for an output.
pub fn find(wish: &Wish) -> Pending<FoundOutput> {
    let wish = wish.clone();
    Pending::begin(Direction::Out, move || Settled::find(Direction::Out, &wish).map(FoundOutput))
}

impl FoundOutput {
    /// What people call it.
    pub fn name(&self) -> &str {
        &self.0.name
    }

    /// Frames a second it will run at.
    pub const fn rate(&self) -> SampleRate {
        self.0.rate
    }

    /// Channels it will be given.
    pub const fn channels(&self) -> u16 {
        self.0.config.channels
    }

    /// Frames it will ask for at a time, if it does as it is asked.
    pub const fn buffer(&self) -> u32 {
        self.0.buffer
    }

    /// Opens the device and lets it run: it plays silence until a mixer comes by `starts`, with its first segments in it and
    /// its look-ahead drained.
    pub fn play(self, starts: Receiver<Mixer>) -> Pending<Playing> {
        Pending::begin(Direction::Out, move || {
            let health = Arc::new(Health::default());
            let callback = Callback::new(starts, usize::from(self.channels()), Arc::clone(&health));
            let stream = of_format!(self.build_as(callback, &health))?;
            stream.play()?;
            Ok(Playing { _stream: Closing::of(stream, &health), health })
        })
    }

    fn build_as<T: StreamSample + cpal::SizedSample>(
        &self,
        mut callback: Callback,
        health: &Arc<Health>,
    ) -> Result<cpal::Stream, cpal::Error> {
        let told = Arc::clone(health);
        self.0.device.build_output_stream(
            self.0.config,
            move |out: &mut [T], _: &cpal::OutputCallbackInfo| callback.fill(out),
            move |error| told.hear(error.kind()),
            Some(BUILD),
        )
    }
}

/// A device that plays.
#[derive(Debug)]
pub struct Playing {
    health: Arc<Health>,
    _stream: Closing,
}

impl Playing {
    /// How it is.
    pub fn health(&self) -> &Health {
        &self.health
    }
}
