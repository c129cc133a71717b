//! What a swimmer's folder knows of itself: a hidden file with what each practice was made of and how its files looked then.
//!
//! Each folder has its own, so that nobody waits for anybody. Without it, or where it cannot be understood, everything is
//! made again.

use crate::disk;
use crate::sink::file::{FileError, Fresh, Replace};
use serde::{Deserialize, Serialize};
use std::fs;
use std::io::Write;
use std::path::Path;
use std::time::UNIX_EPOCH;

/// Its name in the swimmer's folder.
const FILE: &str = ".lengthwise-made";
/// Raised when notes of before can no longer be understood.
const VERSION: u32 = 1;
/// Larger ones are not ours.
const LARGEST: u64 = 4 << 20;

/// What was made in a folder.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Note {
    version: u32,
    practices: Vec<NotedPractice>,
}

/// One practice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct NotedPractice {
    /// Its file, or the folder of its tracks, as seen from the note.
    output: String,
    /// What it was made of.
    print: String,
    files: Vec<NotedFile>,
}

/// A file as it was when it was made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct NotedFile {
    name: String,
    bytes: u64,
    /// Nanoseconds since 1970, as a text: a number of JSON need not be so exact.
    modified: String,
}

impl NotedFile {
    fn now(folder: &Path, name: &str) -> Option<Self> {
        let found = fs::metadata(folder.join(name)).ok().filter(fs::Metadata::is_file)?;
        let since = found.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
        Some(Self { name: name.to_owned(), bytes: found.len(), modified: since.as_nanos().to_string() })
    }
}

/// Whether a folder has a note.
pub(super) fn is_there(folder: &Path) -> bool {
    folder.join(FILE).is_file()
}

impl Note {
    /// The note of a folder, if it has one that can be understood.
    pub fn read(folder: &Path) -> Option<Self> {
        let text = disk::read(&folder.join(FILE), LARGEST).ok()?;
        serde_json::from_slice(&text).ok().filter(|note: &Self| note.version == VERSION)
    }

    /// A note that knows nothing.
    pub const fn new() -> Self {
        Self { version: VERSION, practices: Vec::new() }
    }

    fn practice(&self, output: &str) -> Option<&NotedPractice> {
        self.practices.iter().find(|practice| practice.output == output)
    }

    /// Whether a practice was made of this, and all its files still lie there as they were left.
    pub fn holds(&self, folder: &Path, output: &str, print: &str) -> bool {
        self.practice(output).is_some_and(|practice| {
            practice.print == print
                && practice.files.iter().all(|made| NotedFile::now(folder, &made.name).as_ref() == Some(made))
        })
    }

    /// The files of a practice as it was made last.
    pub fn files(&self, output: &str) -> Vec<String> {
        self.practice(output)
            .map_or_else(Vec::new, |practice| practice.files.iter().map(|made| made.name.clone()).collect())
    }

    /// How many files lie there of practices that are none of these.
    pub fn others(&self, folder: &Path, outputs: &[String]) -> usize {
        let others = self.practices.iter().filter(|practice| !outputs.contains(&practice.output));
        others.flat_map(|practice| &practice.files).filter(|made| folder.join(&made.name).is_file()).count()
    }

    /// Notes a practice that has just been made.
    ///
    /// # Errors
    /// Where the note cannot be written.
    pub fn put(&mut self, folder: &Path, output: &str, print: String, files: &[String]) -> Result<(), FileError> {
        self.practices.retain(|practice| practice.output != output && folder.join(&practice.output).exists());
        let files = files.iter().filter_map(|name| NotedFile::now(folder, name)).collect();
        self.practices.push(NotedPractice { output: output.to_owned(), print, files });
        let path = folder.join(FILE);
        let mut file = Fresh::create_private(&path, Replace::Yes)?;
        let text = serde_json::to_vec(self).map_err(std::io::Error::from);
        text.and_then(|text| file.write_all(&text)).map_err(|source| FileError::System {
            doing: "write",
            path,
            source,
        })?;
        file.commit()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_holds_until_a_file_is_touched() {
        let folder = tempfile::tempdir().unwrap();
        let folder = folder.path();
        for name in ["a.wav", "a.vtt", "b.wav"] {
            fs::write(folder.join(name), name).unwrap();
        }
        assert!(Note::read(folder).is_none());
        let mut note = Note::new();
        note.put(folder, "a.wav", "p".into(), &["a.wav".into(), "a.vtt".into()]).unwrap();
        note.put(folder, "b.wav", "q".into(), &["b.wav".into()]).unwrap();
        let holds = |output: &str, print: &str| Note::read(folder).unwrap().holds(folder, output, print);
        assert!(holds("a.wav", "p") && holds("b.wav", "q"));
        assert!(!holds("a.wav", "q") && !holds("c.wav", "p"));
        let note = Note::read(folder).unwrap();
        assert_eq!(
            (note.files("a.wav"), note.others(folder, &["a.wav".into()])),
            (vec!["a.wav".into(), "a.vtt".into()], 1)
        );
        // The same bytes at another time: somebody may have done anything.
        let later =
            fs::metadata(folder.join("a.vtt")).unwrap().modified().unwrap() + std::time::Duration::from_nanos(100);
        fs::File::options().write(true).open(folder.join("a.vtt")).unwrap().set_modified(later).unwrap();
        assert!(!holds("a.wav", "p") && holds("b.wav", "q"));
        fs::remove_file(folder.join("b.wav")).unwrap();
        assert!(!holds("b.wav", "q"));
        for text in ["", "{}", "[", "{\"version\":2,\"practices\":[]}", "\0"] {
            fs::write(folder.join(FILE), text).unwrap();
            assert!(Note::read(folder).is_none(), "{text}");
        }
    }
}
