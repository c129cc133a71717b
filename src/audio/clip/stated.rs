//! What a recording states of itself, and why it cannot be used.

use std::fmt;

/// The longest recording accepted, in seconds. Cues are a few seconds long; this bounds memory against hostile files.
pub const LONGEST_SECONDS: u64 = 60;

/// Why a recording cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DecodeError {
    /// Neither WAV, Ogg Vorbis, FLAC nor MP3.
    NotAudio,
    /// It has a known format, but cannot be read.
    Broken(String),
    /// It ends before the length that it states.
    Truncated,
    /// A rate outside 8,000 to 192,000 Hz.
    Rate(u32),
    /// No sound at all.
    Empty,
    /// Longer than [`LONGEST_SECONDS`].
    TooLong,
}

impl fmt::Display for DecodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAudio => f.write_str("is not WAV, Ogg Vorbis, FLAC or MP3"),
            Self::Broken(why) => write!(f, "cannot be decoded: {why}"),
            Self::Truncated => f.write_str("ends before the length that it states: copy it again, whole"),
            Self::Rate(hertz) => write!(f, "has a sample rate of {hertz} Hz; 8000 to 192000 Hz can be used"),
            Self::Empty => f.write_str("holds no sound"),
            Self::TooLong => write!(f, "is longer than {LONGEST_SECONDS} s"),
        }
    }
}

impl std::error::Error for DecodeError {}

/// What a header says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stated {
    pub rate: u32,
    pub frames: u64,
}

impl Stated {
    /// The same, if it can be used.
    pub fn checked(self) -> Result<Self, DecodeError> {
        match self {
            Self { rate, .. } if !(8_000..=192_000).contains(&rate) => Err(DecodeError::Rate(rate)),
            Self { frames: 0, .. } => Err(DecodeError::Empty),
            Self { rate, frames } if frames > u64::from(rate) * LONGEST_SECONDS => Err(DecodeError::TooLong),
            stated => Ok(stated),
        }
    }
}
