//! Recordings decoded: WAV by hound, Opus by a decoder of its own, all others by rodio, always to mono 16 bit at their own rate.
//!
//! Resampling and treatment are not here. A recording that says it is longer than what can be decoded is refused:
//! a phrase that breaks off would be heard as a mistake of the program.

mod header;
mod mono;
mod mp4;
mod ogg;
mod opus;
mod stated;

pub use stated::{DecodeError, LONGEST_SECONDS, READ};

use crate::messages::unheard;
use crate::units::time::{NANOS, Seconds};
use mono::Mono;
use opus::OpusStream;
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
/// machine that decodes to the same numbers. At most [`LONGEST_SECONDS`].
pub fn decode(bytes: &[u8]) -> Result<Pcm, DecodeError> {
    decode_within(bytes, LONGEST_SECONDS)
}

/// The same of a recording of up to so many seconds.
pub fn decode_within(bytes: &[u8], longest: u64) -> Result<Pcm, DecodeError> {
    let kind = header::kind(bytes);
    if matches!(kind, header::Container::Opus) {
        // Its length is known only when its packets have been put together: that is done once.
        let stream = OpusStream::open(bytes)?;
        let stated = stream.stated.checked(longest)?;
        return part(Pcm { rate: stated.rate, samples: caught(|| stream.decode())? }, stated);
    }
    let stated = stated(bytes)?.map(|stated| stated.checked(longest)).transpose()?;
    let pcm = match kind {
        header::Container::Wav => wav(bytes)?,
        _ => {
            let most = stated.map_or(u64::MAX, |stated| stated.skip + stated.frames);
            let pcm = caught(|| through_rodio(bytes.into(), most, longest))?;
            match stated {
                Some(stated) => part(pcm, stated)?,
                None => pcm,
            }
        }
    };
    Stated::new(pcm.rate, pcm.samples.len() as u64).checked(longest)?;
    Ok(pcm)
}

/// The length of a recording, rounded up to a nanosecond, from its headers alone (what states no length that could be trusted is
/// decoded: MP3, AAC without a container, FLAC and MP4 out of a pipe). Equals the length of what [`decode`] gives, if that succeeds.
pub fn probe(bytes: &[u8]) -> Result<Seconds, DecodeError> {
    match stated(bytes)? {
        Some(stated) => stated.checked(LONGEST_SECONDS).map(|stated| length(stated.frames, stated.rate)),
        None => decode(bytes).map(|pcm| pcm.len()),
    }
}

/// What the headers say, where they say how long it is.
fn stated(bytes: &[u8]) -> Result<Option<Stated>, DecodeError> {
    let stated = match header::kind(bytes) {
        header::Container::Wav => {
            let reader = hound::WavReader::new(bytes).map_err(wav_error)?;
            return Ok(Some(Stated::new(reader.spec().sample_rate, u64::from(reader.duration()))));
        }
        header::Container::Vorbis => return ogg::vorbis(bytes).map(Some),
        header::Container::Opus => return OpusStream::open(bytes).map(|stream| Some(stream.stated)),
        header::Container::Flac => header::flac(bytes)?,
        header::Container::Mp4 => mp4::stated(bytes)?,
        header::Container::Adts | header::Container::Mpeg => return Ok(None),
        header::Container::Ogg => {
            let why = "it is Ogg with neither Vorbis nor Opus in it: convert it to WAV";
            return Err(DecodeError::Broken(why.to_owned()));
        }
        header::Container::Other => return Err(DecodeError::NotAudio),
    };
    Ok((stated.frames > 0).then_some(stated))
}

/// `frames / rate`, rounded up to a nanosecond: what is placed by it never overlaps what follows.
fn length(frames: u64, rate: u32) -> Seconds {
    Seconds::from_nanos((u128::from(frames) * NANOS as u128).div_ceil(u128::from(rate.max(1))) as i64)
}

fn wav(bytes: &[u8]) -> Result<Pcm, DecodeError> {
    let reader = hound::WavReader::new(bytes).map_err(wav_error)?;
    let spec = reader.spec();
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

/// What a decoder makes of a recording. Some answer what is malformed with a panic; a bad file of a user must not end the program.
fn caught<T>(decode: impl FnOnce() -> Result<T, DecodeError> + std::panic::UnwindSafe) -> Result<T, DecodeError> {
    let damaged = || Err(DecodeError::Broken("it is damaged; copy it again, whole".to_owned()));
    unheard(decode).unwrap_or_else(damaged)
}

/// Of what was decoded the part that was recorded.
fn part(mut pcm: Pcm, stated: Stated) -> Result<Pcm, DecodeError> {
    if pcm.rate != stated.rate {
        let why = format!("its headers disagree on the rate: {} and {} Hz", stated.rate, pcm.rate);
        return Err(DecodeError::Broken(why));
    }
    // No more was asked for than `usize` can count.
    let (skip, end) = (stated.skip as usize, (stated.skip + stated.frames) as usize);
    if pcm.samples.len() < end {
        return Err(DecodeError::Truncated);
    }
    pcm.samples.truncate(end);
    pcm.samples.drain(..skip);
    Ok(pcm)
}

/// Decodes by rodio: at most so many frames, and where no length is stated one more than may be.
fn through_rodio(bytes: Box<[u8]>, most: u64, longest: u64) -> Result<Pcm, DecodeError> {
    use rodio::Source;
    let len = bytes.len() as u64;
    let source = rodio::Decoder::builder()
        .with_data(Cursor::new(bytes))
        .with_byte_len(len)
        .with_gapless(true)
        .build()
        .map_err(|error| DecodeError::Broken(error.to_string()))?;
    let (rate, channels) = (source.sample_rate().get(), source.channels().get());
    Stated::new(rate, 1).checked(longest)?;
    let most = if most == u64::MAX { u64::from(rate) * longest + 1 } else { most };
    let mut mono = Mono::new(channels);
    for sample in source {
        if mono.samples.len() as u64 == most {
            break;
        }
        mono.push(f64::from(finite(sample)?));
    }
    Ok(Pcm { rate, samples: mono.samples })
}

/// A sample, which must be a number: others are no sound, and would become silence or the loudest there is.
fn finite(sample: f32) -> Result<f32, DecodeError> {
    if sample.is_finite() {
        Ok(sample)
    } else {
        Err(DecodeError::Broken("it holds values that are not numbers".to_owned()))
    }
}

#[cfg(test)]
mod tests;
