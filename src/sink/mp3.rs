//! MP3: what the format can hold, and what a file says of itself (`mp3/tag`). The encoder (LAME) is in `mp3/encoder` and
//! what it is made of, which are there with the feature `mp3`; a file is known again without it too.

#[cfg(feature = "mp3")]
pub mod encoder;
#[cfg(feature = "mp3")]
mod info;
#[cfg(feature = "mp3")]
mod lame;
#[cfg(feature = "mp3")]
mod stretches;
pub mod tag;

use crate::units::time::SampleRate;
use std::fmt;

/// The sample rates of MPEG-2.5, MPEG-2 and MPEG-1 audio, layer III, in hertz.
pub const RATES: [u32; 9] = [8_000, 11_025, 12_000, 16_000, 22_050, 24_000, 32_000, 44_100, 48_000];
/// What is taken where nothing is asked for: more than enough for speech and beats.
const USUAL: u32 = 128;

/// What MP3 cannot do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnfitMp3 {
    /// A sample rate that it does not know.
    Rate(u32),
    /// A number of kilobits that it does not have at a sample rate.
    Kilobits {
        /// Asked for.
        asked: u32,
        /// At so many hertz.
        rate: u32,
    },
}

impl fmt::Display for UnfitMp3 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let list = |numbers: &[u32]| numbers.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
        match self {
            Self::Rate(rate) => {
                write!(f, "MP3 does not know {rate} frames a second; it knows {}", list(&RATES))
            }
            Self::Kilobits { asked, rate } => {
                write!(f, "MP3 at {rate} Hz does not have {asked} kbit/s; it has {}", list(ladder(*rate)))
            }
        }
    }
}

impl std::error::Error for UnfitMp3 {}

/// The kilobits a second for a sample rate: those asked for, or the usual ones as far as the rate has them.
///
/// # Errors
/// Where the format has no such rate or no such number.
pub fn kilobits(rate: SampleRate, asked: Option<u32>) -> Result<u32, UnfitMp3> {
    let rate = rate.hertz();
    if !RATES.contains(&rate) {
        return Err(UnfitMp3::Rate(rate));
    }
    let ladder = ladder(rate);
    match asked {
        Some(asked) if ladder.contains(&asked) => Ok(asked),
        Some(asked) => Err(UnfitMp3::Kilobits { asked, rate }),
        None => Ok(ladder.iter().copied().filter(|step| *step <= USUAL).max().unwrap_or(USUAL)),
    }
}

/// The bit rates from 64 kbit/s up that the format and the encoder share (ISO/IEC 11172-3 and 13818-3; for MPEG-2.5,
/// which no standard has, as LAME does it).
const fn ladder(rate: u32) -> &'static [u32] {
    match rate {
        0..=12_000 => &[64],
        12_001..=24_000 => &[64, 80, 96, 112, 128, 160],
        _ => &[64, 80, 96, 112, 128, 160, 192, 224, 256, 320],
    }
}

#[cfg(test)]
mod tests;
