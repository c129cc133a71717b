//! Sound devices: which there are, and finding one by its name.
//!
//! Everything that asks a device or a sound server runs on a thread of its own, because a server that hangs answers
//! nothing: the caller waits as long as it likes. Playing is in `output`, recording in `input`.

pub mod callback;
mod choice;
pub mod health;
pub mod input;
pub mod output;
mod settled;

use crate::units::time::SampleRate;
use choice::{choices, id, name};
use cpal::ErrorKind;
use cpal::traits::{DeviceTrait, HostTrait};
use crossbeam_channel::{Receiver, RecvTimeoutError, TryRecvError, bounded};
use health::Health;
use std::fmt;
use std::sync::Arc;
use std::time::Duration;

/// Frames that a device is asked for at a time: 43 to 46 ms at the usual rates. Long enough for a busy machine: measured
/// without a dropout on two loaded cores, where 512 frames already had some.
pub const SAFE_BUFFER: u32 = 2048;

/// How long a stream may take to be built before the device counts as not there.
const BUILD: Duration = Duration::from_secs(3);

/// Which way sound goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Out of a device that plays.
    Out,
    /// Into a microphone, or whatever records.
    In,
}

impl Direction {
    /// What people call such a device.
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Out => "sound output",
            Self::In => "microphone",
        }
    }
}

/// Which device is wanted.
#[derive(Clone, Debug, Default)]
pub struct Wish {
    /// Its name or id, or a part of either that only one device has; the system's default where not given.
    pub name: Option<String>,
    /// Frames asked for at a time; [`SAFE_BUFFER`] where not given.
    pub buffer: Option<u32>,
}

/// One device, as `devices` lists it.
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
pub struct DeviceError {
    /// For which way it was wanted.
    pub way: Direction,
    /// What is wrong with it.
    pub why: DeviceProblem,
}

/// What is wrong with a device.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DeviceProblem {
    /// The system has none at all.
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
    /// No rate from 8,000 to 192,000 Hz, or no format that is known here.
    Unsuitable(String),
    /// The system's own words.
    System(String),
    /// It does not answer.
    Silent,
}

impl fmt::Display for DeviceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let noun = self.way.noun();
        match &self.why {
            DeviceProblem::NoDevice => write!(f, "there is no {noun}; plug one in, or start the sound server"),
            DeviceProblem::Unknown { name, known } if known.is_empty() => {
                write!(f, "there is no {noun} `{name}`, nor any other")
            }
            DeviceProblem::Unknown { name, known } => {
                write!(f, "there is no {noun} `{name}`; there are: {}", known.join(", "))
            }
            DeviceProblem::Several { name, known } => {
                write!(f, "`{name}` could be any of: {}; name more of it", known.join(", "))
            }
            DeviceProblem::Unsuitable(why) => write!(f, "the {noun} cannot be used: {why}"),
            DeviceProblem::System(why) => write!(f, "the {noun} failed: {why}"),
            DeviceProblem::Silent => write!(f, "the {noun} does not answer"),
        }
    }
}

impl std::error::Error for DeviceError {}

impl From<cpal::Error> for DeviceProblem {
    fn from(error: cpal::Error) -> Self {
        match error.kind() {
            ErrorKind::UnsupportedConfig => Self::Unsuitable(error.to_string()),
            _ => Self::System(error.to_string()),
        }
    }
}

/// Work on a thread of its own that may never end.
#[derive(Debug)]
pub struct Pending<T> {
    way: Direction,
    result: Receiver<Result<T, DeviceProblem>>,
}

impl<T: Send + 'static> Pending<T> {
    fn begin(way: Direction, work: impl FnOnce() -> Result<T, DeviceProblem> + Send + 'static) -> Self {
        let (to, result) = bounded(1);
        let thread = std::thread::Builder::new().name("device".to_owned());
        // Where there is no thread to be had, the channel closes and reads as a failure.
        let _ = thread.spawn(move || {
            // Nobody waits any more: what was opened is closed here.
            let _ = to.send(work());
        });
        Self { way, result }
    }

    /// What came of it, if anything has yet.
    pub fn poll(&self) -> Option<Result<T, DeviceError>> {
        match self.result.try_recv() {
            Ok(result) => Some(result.map_err(|why| self.error(why))),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => Some(Err(self.no_thread())),
        }
    }

    /// Waits so long.
    ///
    /// # Errors
    /// [`DeviceProblem::Silent`] after that time, or what went wrong.
    pub fn wait(&self, patience: Duration) -> Result<T, DeviceError> {
        match self.result.recv_timeout(patience) {
            Ok(result) => result.map_err(|why| self.error(why)),
            Err(RecvTimeoutError::Timeout) => Err(self.error(DeviceProblem::Silent)),
            Err(RecvTimeoutError::Disconnected) => Err(self.no_thread()),
        }
    }

    const fn error(&self, why: DeviceProblem) -> DeviceError {
        DeviceError { way: self.way, why }
    }

    fn no_thread(&self) -> DeviceError {
        self.error(DeviceProblem::System("no thread can be started".to_owned()))
    }
}

/// Lists the devices of a way that a person chooses among, the default first.
pub fn list(way: Direction) -> Pending<Vec<Listed>> {
    Pending::begin(way, move || {
        let host = cpal::default_host();
        let default = default(way, &host).and_then(|device| device.id().ok()).map(|id| id.to_string());
        let chosen = choices(all(way, &host)?, |device| answers(way, device));
        let mut found: Vec<Listed> = chosen.iter().map(|device| describe(way, device, default.as_deref())).collect();
        found.sort_by_key(|device| !device.default);
        Ok(found)
    })
}

fn default(way: Direction, host: &cpal::Host) -> Option<cpal::Device> {
    match way {
        Direction::Out => host.default_output_device(),
        Direction::In => host.default_input_device(),
    }
}

fn all(way: Direction, host: &cpal::Host) -> Result<Vec<cpal::Device>, DeviceProblem> {
    Ok(match way {
        Direction::Out => host.output_devices()?.collect(),
        Direction::In => host.input_devices()?.collect(),
    })
}

/// Whether a device says how it would run.
fn answers(way: Direction, device: &cpal::Device) -> bool {
    match way {
        Direction::Out => device.default_output_config().is_ok(),
        Direction::In => device.default_input_config().is_ok(),
    }
}

/// Whether there is no device to choose.
fn none(way: Direction) -> bool {
    all(way, &cpal::default_host()).is_ok_and(|all| choices(all, |device| answers(way, device)).is_empty())
}

fn describe(way: Direction, device: &cpal::Device, default: Option<&str>) -> Listed {
    let id = id(device);
    let (own, ranges) = match way {
        Direction::Out => (device.default_output_config(), supported(device.supported_output_configs())),
        Direction::In => (device.default_input_config(), supported(device.supported_input_configs())),
    };
    let own = own.ok();
    Listed {
        name: name(device),
        default: default == Some(id.as_str()),
        id,
        rate: own.as_ref().map(|own| own.sample_rate()),
        rates: ranges.iter().map(|(low, _)| *low).min().zip(ranges.iter().map(|(_, high)| *high).max()).map(played),
        channels: own.map(|own| own.channels()),
    }
}

/// The ranges of rates that a device says it takes; none where it does not say.
fn supported(ranges: Result<impl Iterator<Item = cpal::SupportedStreamConfigRange>, cpal::Error>) -> Vec<(u32, u32)> {
    ranges.map_or_else(|_| Vec::new(), |ranges| ranges.map(|r| (r.min_sample_rate(), r.max_sample_rate())).collect())
}

/// The part of a range of rates that is played: some say that they take any.
fn played((low, high): (u32, u32)) -> (u32, u32) {
    let within = |hertz: u32| hertz.clamp(SampleRate::LOWEST, SampleRate::HIGHEST);
    (within(low), within(high))
}

/// The device of a name, or the system's default.
fn wanted(way: Direction, asked: Option<&str>) -> Result<cpal::Device, DeviceProblem> {
    let host = cpal::default_host();
    match asked {
        None => default(way, &host).ok_or(DeviceProblem::NoDevice),
        Some(wanted) => by_name(all(way, &host)?, wanted).map_err(|problem| match problem {
            // What is offered instead is what `devices` offers.
            DeviceProblem::Unknown { name: wanted, .. } => {
                let known = choices(all(way, &host).unwrap_or_default(), |device| answers(way, device))
                    .iter()
                    .map(name)
                    .collect();
                DeviceProblem::Unknown { name: wanted, known }
            }
            other => other,
        }),
    }
}

/// The one device whose name or id is the wanted one, or else has it as a part, whatever its case.
fn by_name(devices: Vec<cpal::Device>, wanted: &str) -> Result<cpal::Device, DeviceProblem> {
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
        (None, Some((_, true))) => return Err(DeviceProblem::Several { name, known: known(&part) }),
        (None, None) => return Err(DeviceProblem::Unknown { name, known: known(&|_| true) }),
    };
    devices.into_iter().nth(place).ok_or(DeviceProblem::NoDevice)
}

/// The rate a device is to run at: its own, or one it takes that can be played.
fn rate(way: Direction, device: &cpal::Device, own: u32) -> Result<SampleRate, DeviceProblem> {
    let hertz = if SampleRate::new(own).is_some() {
        own
    } else {
        let ranges = match way {
            Direction::Out => supported(device.supported_output_configs()),
            Direction::In => supported(device.supported_input_configs()),
        };
        let takes = |hertz: &u32| ranges.iter().any(|(low, high)| (low..=high).contains(&hertz));
        [48_000, 44_100, 32_000, 22_050, 16_000, 8_000].into_iter().find(takes).unwrap_or(own)
    };
    SampleRate::new(hertz).ok_or_else(|| DeviceProblem::Unsuitable(format!("it runs at {hertz} Hz")))
}

/// A stream that is closed on a thread of its own: closing one whose device is gone can take for ever (measured with a sound
/// server whose last output was removed).
struct Closing {
    /// Always there until it is dropped.
    stream: Option<cpal::Stream>,
    health: Arc<Health>,
}

impl Closing {
    fn of(stream: cpal::Stream, health: &Arc<Health>) -> Self {
        Self { stream: Some(stream), health: Arc::clone(health) }
    }
}

impl fmt::Debug for Closing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.health.fmt(f)
    }
}

impl Drop for Closing {
    /// From now on it is silent.
    fn drop(&mut self) {
        self.health.silence();
        let stream = self.stream.take();
        let thread = std::thread::Builder::new().name("closing".to_owned());
        // Where no thread can be started the closure comes back and is dropped here: then it is closed here.
        let _ = thread.spawn(move || drop(stream));
    }
}
