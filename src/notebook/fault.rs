//! Why the notebook cannot be used, each with what to do.

use crate::diag::shown::ShownPath;
use std::fmt;
use std::path::PathBuf;

/// What went wrong with the notebook.
#[derive(Debug)]
pub enum NotebookFault {
    /// The file is something else.
    Foreign(PathBuf),
    /// It was written by a newer program: its version, and the newest that is known here.
    Newer {
        /// The file.
        path: PathBuf,
        /// Its version.
        version: usize,
        /// The newest of this program.
        known: usize,
    },
    /// SQLite finds it damaged.
    Damaged {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        why: String,
    },
    /// Another program writes to it and does not end.
    Busy(PathBuf),
    /// The system refuses.
    World {
        /// The file.
        path: PathBuf,
        /// What it says.
        why: String,
    },
    /// A value that the tables refuse.
    Refused(String),
}

impl NotebookFault {
    /// What SQLite's error means for the notebook at `path`.
    pub(super) fn of(path: &std::path::Path, error: &rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        let (path, why) = (path.to_owned(), error.to_string());
        match error.sqlite_error_code() {
            Some(Code::DatabaseCorrupt) => Self::Damaged { path, why },
            Some(Code::NotADatabase) => Self::Foreign(path),
            Some(Code::DatabaseBusy | Code::DatabaseLocked) => Self::Busy(path),
            Some(Code::ConstraintViolation | Code::TypeMismatch) => Self::Refused(why),
            _ => Self::World { path, why },
        }
    }
}

impl fmt::Display for NotebookFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Foreign(path) => {
                write!(f, "{} is no notebook of this program: name another file with --notebook", path.shown())
            }
            Self::Newer { path, version, known } => write!(
                f,
                "the notebook {} is of version {version}, and this program knows up to {known}: take the program that wrote it",
                path.shown()
            ),
            Self::Damaged { path, why } => write!(
                f,
                "the notebook {} is damaged and stays as it is ({why}): move it away and copy your last backup to its place",
                path.shown()
            ),
            Self::Busy(path) => {
                write!(f, "another program is writing to the notebook {}: try again when it has ended", path.shown())
            }
            Self::World { path, why } => write!(f, "the notebook {} cannot be used: {why}", path.shown()),
            Self::Refused(why) => write!(f, "the notebook does not take this: {why}"),
        }
    }
}

impl std::error::Error for NotebookFault {}
