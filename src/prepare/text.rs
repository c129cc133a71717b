//! Texts of the user's, read whole.

use crate::diag::shown::ShownPath;
use crate::disk;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// Scripts and profiles larger than this are refused: a practice of a day has some thousand lines.
const LARGEST_TEXT: u64 = 1 << 20;

/// A text that could not be read at all.
#[derive(Debug)]
pub struct Unreadable {
    /// Which file.
    pub path: PathBuf,
    /// Why.
    pub source: io::Error,
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "cannot read {}: {}", self.path.shown(), self.source)
    }
}

impl std::error::Error for Unreadable {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        Some(&self.source)
    }
}

/// Reads a text file.
///
/// # Errors
/// Where it cannot be read, is larger than 1 MiB, or is not UTF-8.
pub fn read(path: &Path) -> Result<String, Unreadable> {
    let fail = |source| Unreadable { path: path.to_owned(), source };
    if path.is_dir() {
        return Err(fail(io::Error::other("it is a folder; name a script in it")));
    }
    let bytes = disk::read(path, LARGEST_TEXT).map_err(|error| match error.kind() {
        io::ErrorKind::FileTooLarge => fail(io::Error::other("it is larger than 1 MiB, no script or profile is")),
        _ => fail(error),
    })?;
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        fail(io::Error::other(format!(
            "it is no UTF-8 text (byte {at}); save it as UTF-8 (a spreadsheet: as \"CSV UTF-8\")"
        )))
    })
}
