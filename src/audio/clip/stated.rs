//! What a recording states of itself, and why it cannot be used.

use std::fmt;

/// The longest recording accepted, in seconds. Cues are a few seconds long; this bounds memory against hostile files.
pub const LONGEST_SECONDS: u64 = 60;

/// What is read, for messages.
pub const READ: &str = "WAV, FLAC, Ogg Vorbis, Opus, AAC or ALAC in MP4 (m4a), MP3";

/// Why a recording cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DecodeError {
    /// In none of the formats that are read.
    NotAudio,
    /// It has a known format, but cannot be read.
    Broken(String),
    /// It ends before the length that it states.
    Truncated,
    /// A rate outside 8,000 to 192,000 Hz.
    Rate(u32),
    /// No sound at all.
    Empty,
    /// Longer than so many seconds.
    TooLong(u64),
}

impl fmt::Display for DecodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAudio => write!(f, "is none of what is read: {READ}"),
            Self::Broken(why) => write!(f, "cannot be decoded: {why}"),
            Self::Truncated => f.write_str("ends before the length that it states: copy it again, whole"),
            Self::Rate(hertz) => write!(f, "has a sample rate of {hertz} Hz; 8000 to 192000 Hz can be used"),
            Self::Empty => f.write_str("holds no sound"),
            Self::TooLong(seconds) => write!(f, "is longer than {seconds} s"),
        }
    }
}

impl std::error::Error for DecodeError {}

/// What a header says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stated {
    pub rate: u32,
    pub frames: u64,
    /// How many frames the decoder gives before the first one of these.
    pub skip: u64,
}

impl Stated {
    /// Frames from the first one that the decoder gives.
    pub const fn new(rate: u32, frames: u64) -> Self {
        Self { rate, frames, skip: 0 }
    }

    /// The same, if it can be used and is no longer than so many seconds.
    pub fn checked(self, longest: u64) -> Result<Self, DecodeError> {
        match self {
            Self { rate, .. } if !(8_000..=192_000).contains(&rate) => Err(DecodeError::Rate(rate)),
            Self { frames: 0, .. } => Err(DecodeError::Empty),
            Self { rate, frames, .. } if frames > u64::from(rate) * longest => Err(DecodeError::TooLong(longest)),
            stated => Ok(stated),
        }
    }
}
