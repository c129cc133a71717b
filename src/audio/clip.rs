//! Recordings decoded: WAV by hound, Ogg Vorbis, FLAC and MP3 by rodio, always to mono 16 bit at their own rate.
//!
//! Resampling and treatment are not here. A recording that says it is longer than what can be decoded is refused:
//! a phrase that breaks off would be heard as a mistake of the program.

mod header;
mod stated;

pub use stated::{DecodeError, LONGEST_SECONDS};

use crate::messages::unheard;
use crate::units::time::{NANOS, Seconds};
use stated::Stated;
use std::io::Cursor;

/// Mono samples at the recording's own rate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pcm {
    /// Frames a second, 8,000 to 192,000.
    pub rate: u32,
    /// Samples, full scale ±32,768.
    pub samples: Vec<i16>,
}

impl Pcm {
    /// How long it lasts, rounded up to a nanosecond.
    pub fn len(&self) -> Seconds {
        length(self.samples.len() as u64, self.rate)
    }

    /// Whether it holds no sample; [`decode`] never gives such.
    pub fn is_empty(&self) -> bool {
        self.samples.is_empty()
    }
}

/// Decodes a recording: channels averaged, rounded to 16 bit at once, so that everything after is the same on every
/// machine that decodes to the same numbers.
pub fn decode(bytes: &[u8]) -> Result<Pcm, DecodeError> {
    let pcm = match header::kind(bytes) {
        header::Container::Wav => wav(bytes)?,
        header::Container::Ogg => compressed(bytes, Some(header::ogg(bytes)?.checked()?))?,
        header::Container::Flac => {
            let stated = header::flac(bytes)?;
            compressed(bytes, if stated.frames == 0 { None } else { Some(stated.checked()?) })?
        }
        header::Container::Mpeg => compressed(bytes, None)?,
        header::Container::Other => return Err(DecodeError::NotAudio),
    };
    Stated { rate: pcm.rate, frames: pcm.samples.len() as u64 }.checked()?;
    Ok(pcm)
}

/// The length of a recording, rounded up to a nanosecond, from its headers alone (MP3 and FLAC of unstated length are
/// decoded, having no header to be trusted). Equals the length of what [`decode`] gives, if that succeeds.
pub fn probe(bytes: &[u8]) -> Result<Seconds, DecodeError> {
    let stated = match header::kind(bytes) {
        header::Container::Wav => {
            let reader = hound::WavReader::new(bytes).map_err(wav_error)?;
            Stated { rate: reader.spec().sample_rate, frames: u64::from(reader.duration()) }
        }
        header::Container::Ogg => header::ogg(bytes)?,
        header::Container::Flac => match header::flac(bytes)? {
            Stated { frames: 0, .. } => return decode(bytes).map(|pcm| pcm.len()),
            stated => stated,
        },
        header::Container::Mpeg => return decode(bytes).map(|pcm| pcm.len()),
        header::Container::Other => return Err(DecodeError::NotAudio),
    };
    stated.checked().map(|stated| length(stated.frames, stated.rate))
}

/// `frames / rate`, rounded up to a nanosecond: what is placed by it never overlaps what follows.
fn length(frames: u64, rate: u32) -> Seconds {
    Seconds::from_nanos((u128::from(frames) * NANOS as u128).div_ceil(u128::from(rate.max(1))) as i64)
}

fn wav(bytes: &[u8]) -> Result<Pcm, DecodeError> {
    let reader = hound::WavReader::new(bytes).map_err(wav_error)?;
    let spec = reader.spec();
    Stated { rate: spec.sample_rate, frames: u64::from(reader.duration()) }.checked()?;
    let mut mono = Mono::new(spec.channels);
    match spec.sample_format {
        hound::SampleFormat::Float => {
            for sample in reader.into_samples::<f32>() {
                mono.push(f64::from(finite(sample.map_err(wav_error)?)?));
            }
        }
        hound::SampleFormat::Int => {
            let full = (1_u64 << (spec.bits_per_sample.clamp(1, 32) - 1)) as f64;
            for sample in reader.into_samples::<i32>() {
                mono.push(f64::from(sample.map_err(wav_error)?) / full);
            }
        }
    }
    Ok(Pcm { rate: spec.sample_rate, samples: mono.samples })
}

fn wav_error(error: hound::Error) -> DecodeError {
    match error {
        hound::Error::IoError(_) => DecodeError::Truncated,
        other => DecodeError::Broken(other.to_string()),
    }
}

/// Decodes by rodio, cut to the frames stated, if any are.
fn compressed(bytes: &[u8], stated: Option<Stated>) -> Result<Pcm, DecodeError> {
    // Its decoders answer some malformed recordings with a panic; a bad file of a user must not end the program.
    let damaged = || Err(DecodeError::Broken("it is damaged; copy it again, whole".to_owned()));
    unheard(|| through_rodio(bytes.into(), stated)).unwrap_or_else(damaged)
}

fn through_rodio(bytes: Box<[u8]>, stated: Option<Stated>) -> Result<Pcm, DecodeError> {
    use rodio::Source;
    let len = bytes.len() as u64;
    let source = rodio::Decoder::builder()
        .with_data(Cursor::new(bytes))
        .with_byte_len(len)
        .with_gapless(true)
        .build()
        .map_err(|error| DecodeError::Broken(error.to_string()))?;
    let (rate, channels) = (source.sample_rate().get(), source.channels().get());
    Stated { rate, frames: 1 }.checked()?;
    let most = stated.map_or(u64::from(rate) * LONGEST_SECONDS + 1, |stated| stated.frames);
    let mut mono = Mono::new(channels);
    for sample in source {
        if mono.samples.len() as u64 == most {
            break;
        }
        mono.push(f64::from(finite(sample)?));
    }
    match stated {
        Some(stated) if stated.rate != rate => Err(DecodeError::Broken("its headers disagree on the rate".to_owned())),
        Some(stated) if (mono.samples.len() as u64) < stated.frames => Err(DecodeError::Truncated),
        _ => Ok(Pcm { rate, samples: mono.samples }),
    }
}

/// A sample, which must be a number: others are no sound, and would become silence or the loudest there is.
fn finite(sample: f32) -> Result<f32, DecodeError> {
    if sample.is_finite() {
        Ok(sample)
    } else {
        Err(DecodeError::Broken("it holds values that are not numbers".to_owned()))
    }
}

/// Averages interleaved channels and rounds to 16 bit.
struct Mono {
    channels: u16,
    heard: u16,
    sum: f64,
    samples: Vec<i16>,
}

impl Mono {
    const fn new(channels: u16) -> Self {
        Self { channels: if channels == 0 { 1 } else { channels }, heard: 0, sum: 0.0, samples: Vec::new() }
    }

    fn push(&mut self, sample: f64) {
        self.sum += sample;
        self.heard += 1;
        if self.heard == self.channels {
            // `as` saturates.
            self.samples.push(libm::rint(self.sum / f64::from(self.channels) * 32_768.0) as i16);
            (self.heard, self.sum) = (0, 0.0);
        }
    }
}

#[cfg(test)]
mod tests;
