//! A device that was found and asked how it runs, whichever way its sound goes.

use super::choice::name;
use super::{DeviceProblem, Direction, SAFE_BUFFER, Wish, none, rate, wanted};
use crate::units::time::SampleRate;
use cpal::traits::DeviceTrait;
use cpal::{BufferSize, SampleFormat, StreamConfig, SupportedBufferSize};
use std::fmt;

/// A device with the form in which its sound will go.
#[derive(Clone)]
pub(super) struct Settled {
    pub device: cpal::Device,
    pub name: String,
    pub config: StreamConfig,
    pub format: SampleFormat,
    pub rate: SampleRate,
    pub buffer: u32,
}

impl fmt::Debug for Settled {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { name, rate, config, format, buffer, .. } = self;
        write!(f, "{name}: {} Hz, {} x {format}, {buffer} frames", rate.hertz(), config.channels)
    }
}

impl Settled {
    /// Looks for a device, through a connection to the system of its own: one that has failed once may never work again. It is to
    /// run as it does by itself, so that nothing between us and it converts, as far as that can be played.
    pub fn find(way: Direction, wish: &Wish) -> Result<Self, DeviceProblem> {
        let device = wanted(way, wish.name.as_deref())?;
        let own = match way {
            Direction::Out => device.default_output_config(),
            Direction::In => device.default_input_config(),
        };
        // ALSA has a default where there is no device at all.
        let own =
            own.map_err(|error| if wish.name.is_none() && none(way) { DeviceProblem::NoDevice } else { error.into() })?;
        let rate = rate(way, &device, own.sample_rate())?;
        let asked = wish.buffer.unwrap_or(SAFE_BUFFER);
        let buffer = match own.buffer_size() {
            SupportedBufferSize::Range { min, max } => asked.clamp(*min, (*max).max(*min)),
            SupportedBufferSize::Unknown => asked,
        };
        let config = StreamConfig {
            channels: own.channels(),
            sample_rate: rate.hertz(),
            buffer_size: BufferSize::Fixed(buffer),
        };
        Ok(Self { name: name(&device), config, format: own.sample_format(), rate, buffer, device })
    }
}

/// Calls a method that is generic over the type of samples with the type that a device has.
macro_rules! of_format {
    ($this:ident.$build:ident($($argument:expr),*)) => {
        match $this.0.format {
            cpal::SampleFormat::I8 => $this.$build::<i8>($($argument),*),
            cpal::SampleFormat::I16 => $this.$build::<i16>($($argument),*),
            cpal::SampleFormat::I24 => $this.$build::<cpal::I24>($($argument),*),
            cpal::SampleFormat::I32 => $this.$build::<i32>($($argument),*),
            cpal::SampleFormat::U8 => $this.$build::<u8>($($argument),*),
            cpal::SampleFormat::U16 => $this.$build::<u16>($($argument),*),
            cpal::SampleFormat::U32 => $this.$build::<u32>($($argument),*),
            cpal::SampleFormat::F32 => $this.$build::<f32>($($argument),*),
            cpal::SampleFormat::F64 => $this.$build::<f64>($($argument),*),
            _ => Err(cpal::Error::with_message(
                cpal::ErrorKind::UnsupportedConfig,
                "a sample format that is not known here",
            )),
        }
    };
}
pub(super) use of_format;
