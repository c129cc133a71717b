//! A recorded text as a file: one channel, 24 bits, at the rate it was recorded at, as WAV or FLAC.
//!
//! Short and kept as it was spoken: making it louder or clearer is done again at each use. Where it lies, and what becomes of
//! the one before, is the recording's job.

use hound::{SampleFormat, WavSpec, WavWriter};
use std::fmt::Display;
use std::io::{self, Cursor};

/// The formats of a take.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TakeFormat {
    /// Opens everywhere.
    #[default]
    Wav,
    /// The same samples in about half the room.
    Flac,
}

/// The largest sample of 24 bits, and one step below the smallest.
const FULL: f32 = 8_388_608.0;

impl TakeFormat {
    /// The extension of its files.
    pub const fn extension(self) -> &'static str {
        match self {
            Self::Wav => "wav",
            Self::Flac => "flac",
        }
    }

    /// The bytes of a file with these samples, full scale ±1, at `rate` frames a second.
    ///
    /// # Errors
    /// Where the format cannot hold them: no samples, or a rate it does not know.
    pub fn encode(self, samples: &[f32], rate: u32) -> io::Result<Vec<u8>> {
        // `as` saturates: what lies above full scale was clipped by the device already.
        let whole = |sample: &f32| (libm::rintf(sample * FULL) as i32).clamp(-8_388_608, 8_388_607);
        let samples: Vec<i32> = samples.iter().map(whole).collect();
        match self {
            Self::Wav => wav(&samples, rate),
            Self::Flac => flac(&samples, rate),
        }
    }
}

fn wav(samples: &[i32], rate: u32) -> io::Result<Vec<u8>> {
    let spec = WavSpec { channels: 1, sample_rate: rate, bits_per_sample: 24, sample_format: SampleFormat::Int };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = WavWriter::new(&mut bytes, spec).map_err(other)?;
    for sample in samples {
        writer.write_sample(*sample).map_err(other)?;
    }
    writer.finalize().map_err(other)?;
    Ok(bytes.into_inner())
}

fn flac(samples: &[i32], rate: u32) -> io::Result<Vec<u8>> {
    use flacenc::component::BitRepr;
    use flacenc::error::Verify;
    /// Frames in a block: what every decoder takes at any rate.
    const BLOCK: usize = 4096;
    let config = flacenc::config::Encoder::default().into_verified().map_err(|(_, error)| other(error))?;
    let source = flacenc::source::MemSource::from_samples(samples, 1, 24, rate as usize);
    let stream =
        flacenc::encode_with_fixed_block_size(&config, source, BLOCK).map_err(|error| other(format!("{error:?}")))?;
    let mut sink = flacenc::bitsink::ByteSink::new();
    stream.write(&mut sink).map_err(|error| other(format!("{error:?}")))?;
    let mut bytes = sink.into_inner();
    // The encoder counts the short last block as the smallest, which decoders refuse: only the blocks before it count.
    if let Some(smallest) = bytes.get_mut(8..10) {
        smallest.copy_from_slice(&(BLOCK as u16).to_be_bytes());
    }
    Ok(bytes)
}

fn other(error: impl Display) -> io::Error {
    io::Error::other(error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::clip;

    #[test]
    fn both_formats_hold_every_sample_at_every_rate() {
        for (format, rate) in [
            (TakeFormat::Wav, 44_100),
            (TakeFormat::Flac, 48_000),
            (TakeFormat::Flac, 16_000),
            (TakeFormat::Wav, 96_000),
        ] {
            // Values that 16 bits, to which clips are decoded, hold exactly.
            let wave: Vec<i16> = (0..10_001_i32).map(|i| (i * 7_919 % 65_536 - 32_768) as i16).collect();
            let samples: Vec<f32> = wave.iter().map(|x| f32::from(*x) / 32_768.0).collect();
            let pcm = clip::decode(&format.encode(&samples, rate).unwrap()).unwrap();
            assert_eq!((pcm.rate, pcm.samples), (rate, wave), "{format:?}");
        }
    }

    #[test]
    fn twenty_four_bits_are_kept_and_what_is_beyond_them_is_cut() {
        let samples = [1.0 / FULL, -3.0 / FULL, 2.0, -2.0];
        let bytes = TakeFormat::Wav.encode(&samples, 48_000).unwrap();
        let read: Vec<i32> = hound::WavReader::new(&bytes[..]).unwrap().samples().map(Result::unwrap).collect();
        assert_eq!(read, [1, -3, 8_388_607, -8_388_608]);
    }
}
