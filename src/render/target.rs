//! The form that sound files get, whatever is in them and wherever they go.

use crate::sink::mp3;
use crate::sink::output::Format;
use crate::sink::spec::{Spec, Tags};
use crate::units::time::SampleRate;
use std::fmt;

/// Format, rate, channels and quality of sound files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Target {
    /// Their format; one that this build can write.
    pub format: Format,
    /// Frames a second.
    pub rate: SampleRate,
    /// One channel instead of two.
    pub mono: bool,
    /// Kilobits a second of MP3; nothing for formats that lose nothing.
    pub kilobits: Option<u32>,
}

/// The highest rate of FLAC files, in frames a second: its encoder has no higher ones.
const MOST_FLAC: u32 = 96_000;

/// Why files of a form cannot be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnfitTarget {
    /// This build has no encoder for the format.
    NotBuiltIn(Format),
    /// MP3 has no such rate, or no such quality at this one.
    Mp3(mp3::UnfitMp3),
    /// FLAC is not written at such a rate.
    FlacRate(SampleRate),
    /// A quality was asked for of a format that loses nothing.
    Lossless(Format),
}

impl fmt::Display for UnfitTarget {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotBuiltIn(format) => {
                write!(f, "this build cannot write {format}: it was made without the feature `mp3`")
            }
            Self::Mp3(unfit) => unfit.fmt(f),
            Self::FlacRate(rate) => {
                write!(f, "FLAC is written up to {MOST_FLAC} frames a second, not at {}", rate.hertz())
            }
            Self::Lossless(format) => write!(f, "{format} loses nothing, so it has no quality to choose"),
        }
    }
}

impl std::error::Error for UnfitTarget {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Mp3(unfit) => Some(unfit),
            Self::NotBuiltIn(_) | Self::FlacRate(_) | Self::Lossless(_) => None,
        }
    }
}

impl Target {
    /// `quality` is in kilobits a second, of MP3 alone; without it MP3 gets its usual one.
    ///
    /// # Errors
    /// See [`UnfitTarget`].
    pub fn new(format: Format, rate: SampleRate, mono: bool, quality: Option<u32>) -> Result<Self, UnfitTarget> {
        if !format.is_built_in() {
            return Err(UnfitTarget::NotBuiltIn(format));
        }
        if format == Format::Flac && rate.hertz() > MOST_FLAC {
            return Err(UnfitTarget::FlacRate(rate));
        }
        let kilobits = match (format, quality) {
            (Format::Mp3, asked) => Some(mp3::kilobits(rate, asked).map_err(UnfitTarget::Mp3)?),
            (_, None) => None,
            (_, Some(_)) => return Err(UnfitTarget::Lossless(format)),
        };
        Ok(Self { format, rate, mono, kilobits })
    }

    /// What one file of this form is to be: so many frames without markers, encoded on one thread.
    pub(super) fn spec(self, frames: u64, identity: &str, tags: Tags) -> Spec {
        let Self { rate, mono, kilobits, .. } = self;
        Spec { mono, kilobits, identity: identity.to_owned(), tags, ..Spec::plain(rate, frames) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_can_be_written_becomes_a_target() {
        let target = |format, quality| Target::new(format, SampleRate::CD, true, quality);
        let wav = target(Format::Wav, None).unwrap();
        assert_eq!((wav.kilobits, wav.mono, wav.rate), (None, true, SampleRate::CD));
        assert_eq!(target(Format::Flac, Some(128)), Err(UnfitTarget::Lossless(Format::Flac)));
        let rate = |hertz| Target::new(Format::Flac, SampleRate::new(hertz).unwrap(), true, None);
        assert!(rate(96_000).is_ok() && matches!(rate(96_001), Err(UnfitTarget::FlacRate(_))));
        if Format::Mp3.is_built_in() {
            assert_eq!(target(Format::Mp3, None).unwrap().kilobits, Some(128));
            assert!(matches!(target(Format::Mp3, Some(100)), Err(UnfitTarget::Mp3(mp3::UnfitMp3::Kilobits { .. }))));
        } else {
            assert_eq!(target(Format::Mp3, None), Err(UnfitTarget::NotBuiltIn(Format::Mp3)));
        }
    }
}
