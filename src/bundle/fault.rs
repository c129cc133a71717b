//! How large a bundle may be, what can be wrong with one, and what can go wrong on the way.

use super::name::shown;
use crate::diag::shown::ShownPath;
use crate::diag::{Code, Diagnostic, Sources};
use crate::sink::file::FileError;
use std::fmt;
use std::io;
use std::path::PathBuf;

/// The most entries of a bundle: no voice has said as much.
pub const MOST_ENTRIES: usize = 4_000;

/// The most bytes that may come out of a bundle, and that a bundle may have.
pub const MOST_BYTES: u64 = 1 << 30;

/// What is wrong with a bundle or a pack, with the texts that it points into.
#[derive(Debug, Default)]
pub struct Refusal {
    /// Every problem found, at least one of them an error.
    pub diagnostics: Vec<Diagnostic>,
    /// The manifests and scripts that were read.
    pub sources: Sources,
}

impl Refusal {
    fn one(problem: Diagnostic) -> Self {
        Self { diagnostics: vec![problem], sources: Sources::new() }
    }
}

/// Why a pack was not bundled, or a bundle not opened.
#[derive(Debug)]
pub enum BundleError {
    /// It is wrong in itself.
    Refused(Box<Refusal>),
    /// A file cannot be written.
    File(FileError),
    /// A file cannot be read.
    Read {
        /// Which.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The user or the system asked to stop. Nothing was changed.
    Stopped,
    /// The file that a bundle would be written to holds something else.
    Taken {
        /// Which.
        path: PathBuf,
        /// What it holds and what to do, as the end of a sentence that begins with its name.
        why: String,
    },
    /// Somebody else put a pack into the place since it was looked at. Nothing was changed.
    Meanwhile {
        /// Where.
        path: PathBuf,
    },
    /// The folder that a pack would take the place of is none.
    NotAPack {
        /// Which.
        path: PathBuf,
    },
}

impl BundleError {
    pub(super) fn refused(problem: Diagnostic) -> Self {
        Self::Refused(Box::new(Refusal::one(problem)))
    }

    pub(super) fn read(path: impl Into<PathBuf>) -> impl FnOnce(io::Error) -> Self {
        let path = path.into();
        move |source| Self::Read { path, source }
    }
}

impl From<FileError> for BundleError {
    fn from(error: FileError) -> Self {
        Self::File(error)
    }
}

impl fmt::Display for BundleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Refused(refusal) => match refusal.diagnostics.first() {
                Some(problem) => f.write_str(&problem.message),
                None => f.write_str("it cannot be used"),
            },
            Self::File(error) => error.fmt(f),
            Self::Read { path, source } => write!(f, "cannot read {}: {source}", path.shown()),
            Self::Stopped => f.write_str("stopped; nothing was changed"),
            Self::Taken { path, why } => write!(f, "{} {why}", path.shown()),
            Self::Meanwhile { path } => {
                write!(f, "{} appeared while the bundle was checked; nothing was changed, open it again", path.shown())
            }
            Self::NotAPack { path } => {
                write!(f, "{} is there and is no cue pack; move it away, or choose another folder", path.shown())
            }
        }
    }
}

impl std::error::Error for BundleError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::File(error) => Some(error),
            Self::Read { source, .. } => Some(source),
            Self::Refused(_) | Self::Stopped | Self::Taken { .. } | Self::Meanwhile { .. } | Self::NotAPack { .. } => {
                None
            }
        }
    }
}

/// What a file that came from elsewhere does wrong, and in which of its entries.
#[derive(Debug)]
pub(super) enum BundleFault {
    /// The file itself is wrong.
    Wrong {
        /// The entry, ready to be shown.
        entry: Option<String>,
        /// Why, as the end of a sentence that begins with the entry's name.
        why: String,
    },
    /// It cannot be read.
    Read(io::Error),
    /// What came out of it cannot be written.
    Write(FileError),
    /// It was asked to stop.
    Stopped,
}

impl BundleFault {
    pub(super) fn whole(why: impl Into<String>) -> Self {
        Self::Wrong { entry: None, why: why.into() }
    }

    pub(super) fn entry(entry: &[u8], why: impl Into<String>) -> Self {
        Self::Wrong { entry: Some(shown(&String::from_utf8_lossy(entry))), why: why.into() }
    }

    /// The error for the user. `shown` is the bundle's name.
    pub(super) fn error(self, shown: &str) -> BundleError {
        match self {
            Self::Wrong { entry, why } => {
                let message = match entry {
                    Some(entry) => format!("the bundle {shown} is refused: its entry `{entry}` {why}"),
                    None => format!("the bundle {shown} is refused: it {why}"),
                };
                let hint =
                    "nothing was changed; ask whoever made it to send it again, made by `lengthwise pack bundle`";
                BundleError::refused(Diagnostic::whole(Code::PackBroken, message).hint(hint))
            }
            Self::Read(source) => BundleError::Read { path: shown.into(), source },
            Self::Write(error) => BundleError::File(error),
            Self::Stopped => BundleError::Stopped,
        }
    }
}
