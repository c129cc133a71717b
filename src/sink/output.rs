//! Sound files of every format behind one door, and what is there already of that name.
//!
//! Which format: by the file's name. How each is written: in its own file.

use super::Sink;
use super::file::{FileError, Replace};
use super::spec::Spec;
use super::wav::{self, WavFile};
use crate::mixer::sample::Frame;
use std::fs::File;
use std::io;
use std::path::Path;

/// A format of sound files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Format {
    /// 16-bit PCM: plays wherever anything plays.
    Wav,
}

impl Format {
    /// All of them, the plainest first.
    pub const ALL: [Self; 1] = [Self::Wav];

    /// What its files' names end in, without the dot.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Wav => "wav",
        }
    }

    /// The format that a file's name tells, if it tells one.
    pub fn of(path: &Path) -> Option<Self> {
        let ending = path.extension()?;
        Self::ALL.into_iter().find(|format| ending.eq_ignore_ascii_case(format.ending()))
    }
}

/// A sound file under way. It gets its name when it is finished; dropped before, nothing is left of it.
#[derive(Debug)]
pub enum Output {
    /// WAV.
    Wav(WavFile),
}

impl Output {
    /// Begins a file; see [`Fresh::create`](super::file::Fresh::create).
    ///
    /// # Errors
    /// Where it cannot be made or written to.
    pub fn create(path: &Path, format: Format, spec: &Spec, replace: Replace) -> Result<Self, FileError> {
        match format {
            Format::Wav => WavFile::create(path, spec, replace).map(Self::Wav),
        }
    }

    /// Completes the file and gives it its name.
    ///
    /// # Errors
    /// Where it cannot be written or renamed, or not all its frames came; nothing is left of it then.
    pub fn finish(self) -> Result<(), FileError> {
        match self {
            Self::Wav(file) => file.finish(),
        }
    }
}

impl Sink for Output {
    type Error = FileError;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), FileError> {
        match self {
            Self::Wav(file) => file.sound(frames),
        }
    }

    fn silence(&mut self, frames: u64) -> Result<(), FileError> {
        match self {
            Self::Wav(file) => file.silence(frames),
        }
    }
}

/// What a path holds, as far as replacing it goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Existing {
    /// Nothing.
    Absent,
    /// A render of this program, with the [`Spec::identity`] it was given.
    OurRender {
        /// Of the source.
        identity: String,
    },
    /// Something else, or something that cannot be read.
    Other,
}

/// Looks at what a path holds, whatever its name says; reads only what the file says of itself.
pub fn existing(path: &Path) -> Existing {
    match File::open(path) {
        Err(error) if matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory) => {
            Existing::Absent
        }
        Err(_) => Existing::Other,
        Ok(file) => match wav::identity(io::BufReader::new(file)) {
            Ok(Some(identity)) => Existing::OurRender { identity },
            Ok(None) | Err(_) => Existing::Other,
        },
    }
}
