//! Reads a session record back, also one whose last line was torn by a power cut.

use super::{Head, OLDEST, RecordLine, VERSION};
use std::fmt;

/// Why a text is not a session record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnreadableRecord {
    /// The first line is not a head.
    NoHead(String),
    /// It is of another version.
    Version(u32),
    /// A line before the last cannot be read.
    Line {
        /// Which, from 1.
        number: usize,
        /// Why.
        why: String,
    },
}

impl fmt::Display for UnreadableRecord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoHead(why) => write!(f, "it is no session record: its first line cannot be read ({why})"),
            Self::Version(version) => {
                let read = format!("this program reads versions {OLDEST} to {VERSION}");
                write!(f, "it is a session record of version {version}, and {read}: take the program that wrote it")
            }
            Self::Line { number, why } => write!(f, "line {number} of the session record cannot be read: {why}"),
        }
    }
}

impl std::error::Error for UnreadableRecord {}

/// Reads a record. The last line may be torn: it is left out then.
///
/// # Errors
/// See [`UnreadableRecord`].
pub fn read(text: &str) -> Result<(Head, Vec<RecordLine>), UnreadableRecord> {
    let mut lines = text.split_inclusive('\n').enumerate().peekable();
    let first = lines.next().map_or("", |(_, line)| line);
    let head: Head = serde_json::from_str(first).map_err(|error| UnreadableRecord::NoHead(error.to_string()))?;
    if !(OLDEST..=VERSION).contains(&head.version) {
        return Err(UnreadableRecord::Version(head.version));
    }
    let mut read = Vec::new();
    while let Some((index, line)) = lines.next() {
        match serde_json::from_str(line) {
            Ok(line) => read.push(line),
            Err(_) if lines.peek().is_none() && !line.ends_with('\n') => {}
            Err(error) => return Err(UnreadableRecord::Line { number: index + 1, why: error.to_string() }),
        }
    }
    Ok((head, read))
}
