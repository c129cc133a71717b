//! What comes of a render: the figures of a file, the files of a practice, or why there are none.

use crate::diag::shown::ShownPath;
use crate::sink::file::FileError;
use crate::sink::meter::Measured;
use crate::sink::{RenderError, Rendered};
use crate::timeline::bank::BankError;
use crate::units::time::{SampleRate, Seconds};
use std::fmt;
use std::path::PathBuf;

/// The figures of one sound file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FileFigures {
    /// Frames written and events lost, if any.
    pub rendered: Rendered,
    /// Loudness and true peak of the file.
    pub measured: Measured,
    /// Frames a second.
    pub rate: SampleRate,
}

impl FileFigures {
    /// How long the file plays.
    pub fn len(&self) -> Seconds {
        self.rate.time(self.rendered.frames)
    }
}

/// One file that was made, of several.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeFile {
    /// Its name.
    pub name: String,
    /// Its title, as a player shows it.
    pub title: String,
    /// How long it is and how it sounds.
    pub figures: FileFigures,
}

/// The files of one practice.
#[derive(Clone, Debug, PartialEq)]
pub enum PracticeFiles {
    /// One file.
    One(FileFigures),
    /// Tracks for a player.
    Tracks(Vec<MadeFile>),
}

/// Why no file was made.
#[derive(Debug)]
pub enum NotRendered {
    /// A recording cannot be used.
    Recording(BankError),
    /// The file cannot be written.
    File(FileError),
    /// The mixer and the timeline disagree: a mistake of this program.
    Internal(String),
    /// The file there is a render of another script.
    Another(PathBuf),
    /// It would take the place of what it is made from.
    Input {
        /// The file to be written.
        output: PathBuf,
        /// The same file, as it is read.
        input: PathBuf,
    },
    /// The stop flag was set.
    Stopped,
}

impl fmt::Display for NotRendered {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Recording(error) => error.fmt(f),
            Self::File(error) => error.fmt(f),
            Self::Internal(why) => write!(f, "a mistake of this program, please report it: {why}"),
            Self::Another(path) => write!(
                f,
                "{} is a render of another script; choose another name or replace it with --force",
                path.shown()
            ),
            Self::Input { output, input } => {
                write!(f, "{} is not overwritten: the practice is made from it", output.shown())?;
                if output != input {
                    write!(f, " (it is {})", input.shown())?;
                }
                f.write_str("; choose another name")
            }
            Self::Stopped => f.write_str("stopped before the end"),
        }
    }
}

impl std::error::Error for NotRendered {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Recording(error) => Some(error),
            Self::File(error) => Some(error),
            Self::Internal(_) | Self::Another(_) | Self::Input { .. } | Self::Stopped => None,
        }
    }
}

impl NotRendered {
    /// A render that ended early, with the error of its sink as `of_sink` makes it one of these.
    pub(crate) fn of<E>(error: RenderError<E>, of_sink: impl FnOnce(E) -> Self) -> Self {
        match error {
            RenderError::Bank(mismatch) => Self::Internal(mismatch.to_string()),
            RenderError::Sink(error) => of_sink(error),
            RenderError::Stopped => Self::Stopped,
        }
    }
}
