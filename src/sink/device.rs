//! Output devices: which there are, and playing a mixer through one of them.
//!
//! Everything that asks a device or a sound server runs on a thread of its own, because a server that hangs answers
//! nothing: the caller waits as long as it likes. What the audio thread does is in `callback`; when to open a device
//! again, and what is played, is the session's business.

mod callback;

pub use callback::{Callback, Health, Reason, Shape};

use crate::mixer::Mixer;
use crate::units::time::SampleRate;
use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{BufferSize, ErrorKind, SampleFormat, StreamConfig, SupportedBufferSize};
use crossbeam_channel::{Receiver, RecvTimeoutError, TryRecvError, bounded};
use std::fmt;
use std::sync::Arc;
use std::time::Duration;

/// Frames that a device is asked for at a time: 43 to 46 ms at the usual rates. Long enough for a busy machine: measured
/// without a dropout on two loaded cores, where 512 frames already had some.
pub const SAFE_BUFFER: u32 = 2048;

/// How long a stream may take to be built before the device counts as not there.
const BUILD: Duration = Duration::from_secs(3);

/// Which device is wanted.
#[derive(Clone, Debug, Default)]
pub struct Wish {
    /// Its name or id, or a part of either that only one device has; the system's default where not given.
    pub name: Option<String>,
    /// Frames asked for at a time; [`SAFE_BUFFER`] where not given.
    pub buffer: Option<u32>,
}

/// One output device, as `devices` lists it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// What people call it.
    pub name: String,
    /// What the system calls it.
    pub id: String,
    /// Whether it is the system's default.
    pub default: bool,
    /// Frames a second it runs at by itself.
    pub rate: Option<u32>,
    /// The lowest and the highest rate it takes.
    pub rates: Option<(u32, u32)>,
    /// Channels it has by itself.
    pub channels: Option<u16>,
}

/// Why a device cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DeviceError {
    /// The system has no output at all.
    NoDevice,
    /// None of this name; those there are.
    Unknown {
        /// The name looked for.
        name: String,
        /// The names there are.
        known: Vec<String>,
    },
    /// Several of this name.
    Several {
        /// The name looked for.
        name: String,
        /// Those that have it.
        known: Vec<String>,
    },
    /// No rate from 8,000 to 192,000 Hz, or no format that can be written.
    Unsuitable(String),
    /// The system's own words.
    System(String),
    /// It does not answer.
    Silent,
}

impl fmt::Display for DeviceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoDevice => f.write_str("there is no sound output; plug one in, or start the sound server"),
            Self::Unknown { name, known } if known.is_empty() => {
                write!(f, "there is no sound output `{name}`, nor any other")
            }
            Self::Unknown { name, known } => {
                write!(f, "there is no sound output `{name}`; there are: {}", known.join(", "))
            }
            Self::Several { name, known } => {
                write!(f, "`{name}` could be any of: {}; name more of it", known.join(", "))
            }
            Self::Unsuitable(why) => write!(f, "the sound output cannot be used: {why}"),
            Self::System(why) => write!(f, "the sound output failed: {why}"),
            Self::Silent => f.write_str("the sound output does not answer"),
        }
    }
}

impl std::error::Error for DeviceError {}

impl From<cpal::Error> for DeviceError {
    fn from(error: cpal::Error) -> Self {
        Self::System(error.to_string())
    }
}

/// Work on a thread of its own that may never end.
#[derive(Debug)]
pub struct Pending<T>(Receiver<Result<T, DeviceError>>);

impl<T: Send + 'static> Pending<T> {
    fn begin(work: impl FnOnce() -> Result<T, DeviceError> + Send + 'static) -> Self {
        let (to, from) = bounded(1);
        let thread = std::thread::Builder::new().name("device".to_owned());
        // Where there is no thread to be had, the channel closes and reads as a failure.
        let _ = thread.spawn(move || {
            // Nobody waits any more: what was opened is closed here.
            let _ = to.send(work());
        });
        Self(from)
    }

    /// What came of it, if anything has yet.
    pub fn poll(&self) -> Option<Result<T, DeviceError>> {
        match self.0.try_recv() {
            Ok(result) => Some(result),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => Some(Err(DeviceError::System("no thread can be started".to_owned()))),
        }
    }

    /// Waits so long.
    ///
    /// # Errors
    /// [`DeviceError::Silent`] after that time, or what went wrong.
    pub fn wait(&self, patience: Duration) -> Result<T, DeviceError> {
        match self.0.recv_timeout(patience) {
            Ok(result) => result,
            Err(RecvTimeoutError::Timeout) => Err(DeviceError::Silent),
            Err(RecvTimeoutError::Disconnected) => Err(DeviceError::System("no thread can be started".to_owned())),
        }
    }
}

/// Lists all outputs, the default first.
pub fn list() -> Pending<Vec<Listed>> {
    Pending::begin(|| {
        let host = cpal::default_host();
        let default = host.default_output_device().and_then(|device| device.id().ok()).map(|id| id.to_string());
        let mut found: Vec<Listed> =
            host.output_devices()?.map(|device| describe(&device, default.as_deref())).collect();
        found.sort_by_key(|device| !device.default);
        Ok(found)
    })
}

fn describe(device: &cpal::Device, default: Option<&str>) -> Listed {
    let id = id(device);
    let own = device.default_output_config().ok();
    let ranges = device.supported_output_configs().map(Iterator::collect::<Vec<_>>).unwrap_or_default();
    let lowest = ranges.iter().map(|range| range.min_sample_rate()).min();
    let highest = ranges.iter().map(|range| range.max_sample_rate()).max();
    Listed {
        name: name(device),
        default: default == Some(id.as_str()),
        id,
        rate: own.as_ref().map(|own| own.sample_rate()),
        rates: lowest.zip(highest),
        channels: own.map(|own| own.channels()),
    }
}

fn name(device: &cpal::Device) -> String {
    device.description().map_or_else(|_| "unnamed".to_owned(), |description| description.name().to_owned())
}

fn id(device: &cpal::Device) -> String {
    device.id().map(|id| id.to_string()).unwrap_or_default()
}

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

/// Looks for a device, through a connection to the system of its own: one that has failed once may never work again.
pub fn find(wish: &Wish) -> Pending<Found> {
    let wish = wish.clone();
    Pending::begin(move || {
        let host = cpal::default_host();
        let device = match &wish.name {
            None => host.default_output_device().ok_or(DeviceError::NoDevice)?,
            Some(wanted) => by_name(host.output_devices()?.collect(), wanted)?,
        };
        settle(device, wish.buffer)
    })
}

/// The one device whose name or id is the wanted one, or else has it as a part, whatever its case.
fn by_name(devices: Vec<cpal::Device>, wanted: &str) -> Result<cpal::Device, DeviceError> {
    let names: Vec<[String; 2]> = devices.iter().map(|device| [name(device), id(device)]).collect();
    let known = |keep: &dyn Fn(&[String; 2]) -> bool| -> Vec<String> {
        names.iter().filter(|names| keep(names)).map(|[name, _]| name.clone()).collect()
    };
    let low = wanted.to_lowercase();
    let exact = |names: &[String; 2]| names.iter().any(|name| name == wanted);
    let part = |names: &[String; 2]| names.iter().any(|name| name.to_lowercase().contains(&low));
    let pick = |test: &dyn Fn(&[String; 2]) -> bool| {
        let mut places = names.iter().enumerate().filter(|(_, names)| test(names)).map(|(place, _)| place);
        places.next().map(|first| (first, places.next().is_some()))
    };
    let name = wanted.to_owned();
    let place = match (pick(&exact), pick(&part)) {
        (Some((place, _)), _) | (None, Some((place, false))) => place,
        (None, Some((_, true))) => return Err(DeviceError::Several { name, known: known(&part) }),
        (None, None) => return Err(DeviceError::Unknown { name, known: known(&|_| true) }),
    };
    devices.into_iter().nth(place).ok_or(DeviceError::NoDevice)
}

/// How a device is to run: as it does by itself, so that nothing between us and it converts, as far as that can be played.
fn settle(device: cpal::Device, buffer: Option<u32>) -> Result<Found, DeviceError> {
    let own = device.default_output_config()?;
    let mut hertz = own.sample_rate();
    if SampleRate::new(hertz).is_none() {
        let ranges: Vec<_> = device.supported_output_configs()?.collect();
        let takes = |hertz: &u32| ranges.iter().any(|r| (r.min_sample_rate()..=r.max_sample_rate()).contains(hertz));
        hertz = [48_000, 44_100, 32_000, 22_050, 16_000, 8_000].into_iter().find(takes).unwrap_or(hertz);
    }
    let rate = SampleRate::new(hertz).ok_or_else(|| DeviceError::Unsuitable(format!("it runs at {hertz} Hz")))?;
    let wanted = buffer.unwrap_or(SAFE_BUFFER);
    let buffer = match own.buffer_size() {
        SupportedBufferSize::Range { min, max } => wanted.clamp(*min, (*max).max(*min)),
        SupportedBufferSize::Unknown => wanted,
    };
    Ok(Found {
        name: name(&device),
        config: StreamConfig { channels: own.channels(), sample_rate: hertz, buffer_size: BufferSize::Fixed(buffer) },
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
        Pending::begin(move || {
            let health = Arc::new(Health::default());
            let callback = Callback::new(starts, usize::from(self.config.channels), Arc::clone(&health));
            let stream = match self.build(self.config, callback, &health) {
                // A device that will not be told how much to ask for may still play.
                Err(error) if error.kind() == ErrorKind::UnsupportedConfig => {
                    return Err(DeviceError::Unsuitable(format!("{error} ({self:?})")));
                }
                other => other?,
            };
            stream.play()?;
            Ok(Playing { stream: Some(stream), health })
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
            // Some hosts call this from the audio thread, and a million times a second: it only sets figures.
            move |error| match error.kind() {
                ErrorKind::Xrun => told.count_underrun(),
                ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied | ErrorKind::DeviceBusy => {}
                kind => told.fail(reason(kind)),
            },
            Some(BUILD),
        )
    }
}

/// Why a stream ended, as the audio side can say it without allocating.
const fn reason(kind: ErrorKind) -> Reason {
    match kind {
        ErrorKind::DeviceNotAvailable => Reason::Removed,
        ErrorKind::StreamInvalidated | ErrorKind::HostUnavailable => Reason::ServerGone,
        _ => Reason::Failed,
    }
}

/// A device that plays.
pub struct Playing {
    /// Always there until it is dropped.
    stream: Option<cpal::Stream>,
    health: Arc<Health>,
}

impl fmt::Debug for Playing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.health.fmt(f)
    }
}

impl Playing {
    /// How it is.
    pub fn health(&self) -> &Health {
        &self.health
    }
}

impl Drop for Playing {
    /// From now on it is silent. The stream is closed on a thread of its own: closing one whose device is gone can take for
    /// ever (measured with a sound server whose last output was removed).
    fn drop(&mut self) {
        self.health.silence();
        let stream = self.stream.take();
        let thread = std::thread::Builder::new().name("closing".to_owned());
        // Where no thread can be started the closure comes back and is dropped here: then it is closed here.
        let _ = thread.spawn(move || drop(stream));
    }
}
