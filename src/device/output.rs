//! Playing a mixer through an output device. What the audio thread does is in `callback`; when to open a device again, and
//! what is played, is the session's business.

use super::callback::{Callback, Shape};
use super::health::Health;
use super::{BUILD, Closing, Pending, SAFE_BUFFER, Way, Why, Wish, name, rate, wanted};
use crate::mixer::Mixer;
use crate::units::time::SampleRate;
use cpal::traits::{DeviceTrait, StreamTrait};
use cpal::{BufferSize, ErrorKind, SampleFormat, StreamConfig, SupportedBufferSize};
use crossbeam_channel::Receiver;
use std::fmt;
use std::sync::Arc;

/// A device that was found and asked how it runs, not yet playing.
#[derive(Clone)]
pub struct Found {
    device: cpal::Device,
    name: String,
    config: StreamConfig,
    format: SampleFormat,
    rate: SampleRate,
    buffer: u32,
}

impl fmt::Debug for Found {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { name, rate, config, format, buffer, .. } = self;
        write!(f, "{name}: {} Hz, {} x {format}, {buffer} frames", rate.hertz(), config.channels)
    }
}

/// Looks for an output, through a connection to the system of its own: one that has failed once may never work again.
pub fn find(wish: &Wish) -> Pending<Found> {
    let wish = wish.clone();
    Pending::begin(Way::Out, move || settle(wanted(Way::Out, wish.name.as_deref())?, wish.buffer))
}

/// How a device is to run: as it does by itself, so that nothing between us and it converts, as far as that can be played.
fn settle(device: cpal::Device, buffer: Option<u32>) -> Result<Found, Why> {
    let own = device.default_output_config()?;
    let rate = rate(Way::Out, &device, own.sample_rate())?;
    let asked = buffer.unwrap_or(SAFE_BUFFER);
    let buffer = match own.buffer_size() {
        SupportedBufferSize::Range { min, max } => asked.clamp(*min, (*max).max(*min)),
        SupportedBufferSize::Unknown => asked,
    };
    Ok(Found {
        name: name(&device),
        config: StreamConfig {
            channels: own.channels(),
            sample_rate: rate.hertz(),
            buffer_size: BufferSize::Fixed(buffer),
        },
        format: own.sample_format(),
        rate,
        buffer,
        device,
    })
}

impl Found {
    /// What people call it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Frames a second it will run at.
    pub const fn rate(&self) -> SampleRate {
        self.rate
    }

    /// Channels it will be given.
    pub const fn channels(&self) -> u16 {
        self.config.channels
    }

    /// Frames it will ask for at a time, if it does as it is asked.
    pub const fn buffer(&self) -> u32 {
        self.buffer
    }

    /// Opens the device and lets it run: it plays silence until a mixer comes by `starts`, with its first segments in it and
    /// its look-ahead drained.
    pub fn play(self, starts: Receiver<Mixer>) -> Pending<Playing> {
        Pending::begin(Way::Out, move || {
            let health = Arc::new(Health::default());
            let callback = Callback::new(starts, usize::from(self.config.channels), Arc::clone(&health));
            let stream = match self.build(self.config, callback, &health) {
                // A device that will not be told how much to ask for may still play.
                Err(error) if error.kind() == ErrorKind::UnsupportedConfig => {
                    return Err(Why::Unsuitable(format!("{error} ({self:?})")));
                }
                other => other?,
            };
            stream.play()?;
            Ok(Playing { _stream: Closing::of(stream, &health), health })
        })
    }

    fn build(
        &self,
        config: StreamConfig,
        callback: Callback,
        health: &Arc<Health>,
    ) -> Result<cpal::Stream, cpal::Error> {
        match self.format {
            SampleFormat::I8 => self.build_as::<i8>(config, callback, health),
            SampleFormat::I16 => self.build_as::<i16>(config, callback, health),
            SampleFormat::I24 => self.build_as::<cpal::I24>(config, callback, health),
            SampleFormat::I32 => self.build_as::<i32>(config, callback, health),
            SampleFormat::U8 => self.build_as::<u8>(config, callback, health),
            SampleFormat::U16 => self.build_as::<u16>(config, callback, health),
            SampleFormat::U32 => self.build_as::<u32>(config, callback, health),
            SampleFormat::F32 => self.build_as::<f32>(config, callback, health),
            SampleFormat::F64 => self.build_as::<f64>(config, callback, health),
            _ => Err(cpal::Error::with_message(ErrorKind::UnsupportedConfig, "a sample format that is not known here")),
        }
    }

    fn build_as<T: Shape + cpal::SizedSample>(
        &self,
        config: StreamConfig,
        mut callback: Callback,
        health: &Arc<Health>,
    ) -> Result<cpal::Stream, cpal::Error> {
        let told = Arc::clone(health);
        self.device.build_output_stream(
            config,
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
