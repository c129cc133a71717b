//! Sound files of every format behind one door, and what is there already of that name.
//!
//! Which format: by the file's name. How each is written: in its own file.

use super::Sink;
use super::file::{FileError, Fresh, Replace, is_stdout};
use super::flac::{Flac, comments};
#[cfg(feature = "mp3")]
use super::mp3::encoder::Mp3;
use super::mp3::tag;
use super::spec::Spec;
use super::wav::{self, Wav};
use crate::disk;
use crate::mixer::sample::Frame;
use crate::timeline::captions;
use std::fmt;
use std::io::{self, BufReader, Read, Seek};
use std::path::{Path, PathBuf};

/// A format of sound files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Format {
    /// 16-bit PCM: plays wherever anything plays.
    Wav,
    /// The same samples in less room.
    Flac,
    /// Less room still, for small players; not the same samples, but as many.
    Mp3,
}

impl Format {
    /// All of them, the plainest first.
    pub const ALL: &[Self] = &[Self::Wav, Self::Flac, Self::Mp3];

    /// Whether this build can write it: MP3 takes the feature `mp3`.
    pub const fn is_built_in(self) -> bool {
        !matches!(self, Self::Mp3) || cfg!(feature = "mp3")
    }

    /// The extension of its files, without the dot.
    pub const fn extension(self) -> &'static str {
        match self {
            Self::Wav => "wav",
            Self::Flac => "flac",
            Self::Mp3 => "mp3",
        }
    }

    /// The format that a file's name says, if it says one.
    pub fn of(path: &Path) -> Option<Self> {
        let extension = path.extension()?;
        Self::ALL.iter().copied().find(|format| extension.eq_ignore_ascii_case(format.extension()))
    }
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Wav => "WAV",
            Self::Flac => "FLAC",
            Self::Mp3 => "MP3",
        })
    }
}

/// A sound file under way. It gets its name when it is finished; dropped before, nothing is left of it.
#[derive(Debug)]
pub struct FileOutput {
    path: PathBuf,
    encoder: Encoder,
}

#[derive(Debug)]
enum Encoder {
    Wav(Wav<Fresh>),
    Flac(Box<Flac<Fresh>>),
    #[cfg(feature = "mp3")]
    Mp3(Box<Mp3<Fresh>>),
}

impl FileOutput {
    /// Begins a file; see [`Fresh::create`] and [`Fresh::to_stdout`].
    ///
    /// # Errors
    /// Where it cannot be made or written to.
    pub fn create(path: &Path, format: Format, spec: &Spec, replace: Replace) -> Result<Self, FileError> {
        let fresh = if is_stdout(path) { Fresh::to_stdout()? } else { Fresh::create(path, replace)? };
        let path = fresh.target().to_owned();
        let encoder = match format {
            Format::Wav => Wav::begin(fresh, spec).map(Encoder::Wav),
            Format::Flac => Flac::begin(fresh, spec).map(|flac| Encoder::Flac(Box::new(flac))),
            #[cfg(feature = "mp3")]
            Format::Mp3 => Mp3::begin(fresh, spec).map(|mp3| Encoder::Mp3(Box::new(mp3))),
            #[cfg(not(feature = "mp3"))]
            Format::Mp3 => Err(io::Error::new(io::ErrorKind::Unsupported, "this build has no MP3")),
        };
        match encoder {
            Ok(encoder) => Ok(Self { path, encoder }),
            Err(source) => Err(FileError::System { doing: "write", path, source }),
        }
    }

    /// Completes the file and gives it its name.
    ///
    /// # Errors
    /// Where it cannot be written or renamed, or not all its frames came; nothing is left of it then.
    pub fn finish(self) -> Result<(), FileError> {
        let fresh = match self.encoder {
            Encoder::Wav(wav) => wav.finish(),
            Encoder::Flac(flac) => flac.finish(),
            #[cfg(feature = "mp3")]
            Encoder::Mp3(mp3) => mp3.finish(),
        };
        fresh.map_err(|source| FileError::System { doing: "write", path: self.path, source })?.commit()
    }

    fn written(&self, result: io::Result<()>) -> Result<(), FileError> {
        result.map_err(|source| FileError::System { doing: "write", path: self.path.clone(), source })
    }
}

impl Sink for FileOutput {
    type Error = FileError;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), FileError> {
        let result = match &mut self.encoder {
            Encoder::Wav(wav) => wav.sound(frames),
            Encoder::Flac(flac) => flac.sound(frames),
            #[cfg(feature = "mp3")]
            Encoder::Mp3(mp3) => mp3.sound(frames),
        };
        self.written(result)
    }

    fn silence(&mut self, frames: u64) -> Result<(), FileError> {
        let result = match &mut self.encoder {
            Encoder::Wav(wav) => wav.silence(frames),
            Encoder::Flac(flac) => flac.silence(frames),
            #[cfg(feature = "mp3")]
            Encoder::Mp3(mp3) => mp3.silence(frames),
        };
        self.written(result)
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
    match disk::open(path) {
        _ if is_stdout(path) => Existing::Absent,
        Err(error) if matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory) => {
            Existing::Absent
        }
        // Where nobody may even look, making the file says more than this could.
        Err(_) if path.symlink_metadata().is_err() => Existing::Absent,
        Err(_) => Existing::Other,
        Ok(file) => match identity(BufReader::new(file)) {
            Ok(Some(identity)) => Existing::OurRender { identity },
            Ok(None) | Err(_) => Existing::Other,
        },
    }
}

fn identity(mut file: impl Read + Seek) -> io::Result<Option<String>> {
    let mut word = [0; 4];
    file.read_exact(&mut word)?;
    file.rewind()?;
    match &word {
        b"fLaC" => comments::identity(file),
        [b'I', b'D', b'3', _] => tag::identity(file),
        b"WEBV" => {
            let mut head = Vec::new();
            file.take(1 << 12).read_to_end(&mut head)?;
            Ok(captions::source(&String::from_utf8_lossy(&head)).map(str::to_owned))
        }
        _ => wav::identity(file),
    }
}
