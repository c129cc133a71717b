//! The spoken texts, recordings and beat tracks of the packs in use, by what they are for.

use crate::pack::ClipId;
use crate::script::BeatTrack;
use crate::units::time::Seconds;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What a spoken text is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// A focus phrase.
    Phrase,
    /// How to swim a drill.
    Drill,
    /// A text that a script says by name.
    Say,
    /// The title of a set.
    Title,
    /// A word or phrase of the announcer.
    Word,
}

impl Role {
    /// Every role with its key in a manifest, which is also its folder of clips.
    pub const ALL: [(&'static str, Self); 5] = [
        ("phrases", Self::Phrase),
        ("drills", Self::Drill),
        ("says", Self::Say),
        ("titles", Self::Title),
        ("words", Self::Word),
    ];
}

/// A text with its recording.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spoken {
    /// The words.
    pub text: String,
    /// The recording, if there is one.
    pub clip: Option<ClipId>,
    /// How long the recording lasts, rounded up to a nanosecond; an estimate from the words where there is none.
    pub len: Seconds,
}

impl Spoken {
    /// A text with no recording: its length is estimated at 150 words a minute, at least 0.4 s.
    pub fn unrecorded(text: impl Into<String>) -> Self {
        let text = text.into();
        let words = text.split_whitespace().count().max(1) as i64;
        Self { len: Seconds::from_millis(words * 400), text, clip: None }
    }
}

/// One entry of a pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The whole text.
    pub full: Spoken,
    /// The short form, for under way; only phrases have one.
    pub short: Option<Spoken>,
}

/// Where a recording comes from, still encoded. Nothing is kept in memory before it is needed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recording {
    /// The name that messages show: a path, or `built in: announcer/clips/words/next.ogg`.
    pub name: String,
    /// The encoded bytes.
    pub bytes: Bytes,
    /// How long it lasts, as measured when its pack was opened.
    pub len: Seconds,
}

impl Recording {
    /// The encoded bytes, read from disk if they lie there.
    pub fn read(&self) -> io::Result<Cow<'_, [u8]>> {
        self.bytes.read()
    }
}

/// The largest recording read from disk, in bytes: a minute of 192 kHz stereo in 32 bit.
pub const LARGEST_RECORDING: u64 = 100 << 20;

/// Reads a file unless it is larger than `most` bytes.
pub(in crate::pack) fn read_at_most(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    let file = File::open(path)?;
    // Knowing the size saves growing the buffer; the limit holds whatever the size is said to be.
    let size = file.metadata()?.len().min(most) as usize;
    let mut bytes = Vec::with_capacity(size + 1);
    let read = file.take(most + 1).read_to_end(&mut bytes)? as u64;
    if read > most {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, format!("it is larger than {} MiB", most >> 20)));
    }
    Ok(bytes)
}

/// Where encoded bytes are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Bytes {
    /// In the binary.
    Static(&'static [u8]),
    /// In memory.
    Given(Arc<[u8]>),
    /// On disk.
    File(PathBuf),
}

impl Bytes {
    /// The bytes themselves, read from disk if they lie there.
    pub fn read(&self) -> io::Result<Cow<'_, [u8]>> {
        match self {
            Self::Static(bytes) => Ok(Cow::Borrowed(bytes)),
            Self::Given(bytes) => Ok(Cow::Borrowed(bytes)),
            Self::File(path) => read_at_most(path, LARGEST_RECORDING).map(Cow::Owned),
        }
    }
}

/// What a pack says of itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackInfo {
    /// The name by which scripts and packs refer to it.
    pub name: String,
    /// Where it lies: a path, or `built in`.
    pub place: String,
    /// `title`
    pub title: String,
    /// `language`, such as `en-GB`.
    pub language: String,
    /// `speaker.voice`: a name, or `synthetic`.
    pub voice: String,
    /// `licence`
    pub licence: String,
}

/// Everything that the packs in use offer. Where two packs have the same entry, the one added first wins.
#[derive(Clone, Debug, Default)]
pub struct Library {
    entries: BTreeMap<(Role, String), Entry>,
    beats: BTreeMap<String, BeatTrack>,
    recordings: Vec<Recording>,
    packs: Vec<PackInfo>,
}

impl Library {
    /// A library with nothing in it.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds what a pack says of itself.
    pub fn add_pack(&mut self, info: PackInfo) {
        self.packs.push(info);
    }

    /// The packs in use, the first one first.
    pub fn packs(&self) -> &[PackInfo] {
        &self.packs
    }

    /// Adds a recording.
    pub fn add_recording(&mut self, recording: Recording) -> ClipId {
        self.recordings.push(recording);
        ClipId(u32::try_from(self.recordings.len() - 1).unwrap_or(u32::MAX))
    }

    /// Adds an entry unless an earlier pack has it.
    pub fn add(&mut self, role: Role, id: impl Into<String>, entry: Entry) {
        self.entries.entry((role, id.into())).or_insert(entry);
    }

    /// Adds a beat track unless an earlier pack has it.
    pub fn add_beats(&mut self, id: impl Into<String>, track: BeatTrack) {
        self.beats.entry(id.into()).or_insert(track);
    }

    /// The entry of a role by its id.
    pub fn entry(&self, role: Role, id: &str) -> Option<&Entry> {
        self.entries.get(&(role, id.to_owned()))
    }

    /// The entry of a role whose text is this one, ignoring case.
    pub fn by_text(&self, role: Role, text: &str) -> Option<(&str, &Entry)> {
        self.of(role).find(|(_, entry)| entry.full.text.eq_ignore_ascii_case(text))
    }

    /// All entries of a role, by id.
    pub fn of(&self, role: Role) -> impl Iterator<Item = (&str, &Entry)> {
        self.entries.iter().filter(move |((r, _), _)| *r == role).map(|((_, id), entry)| (id.as_str(), entry))
    }

    /// A beat track by its name.
    pub fn beats(&self, id: &str) -> Option<&BeatTrack> {
        self.beats.get(id)
    }

    /// The names of all beat tracks.
    pub fn beat_names(&self) -> impl Iterator<Item = &str> {
        self.beats.keys().map(String::as_str)
    }

    /// A recording.
    pub fn recording(&self, clip: ClipId) -> Option<&Recording> {
        self.recordings.get(clip.0 as usize)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_pack_wins() {
        let mut library = Library::new();
        for text in ["reach", "stretch"] {
            library.add(Role::Phrase, "reach", Entry { full: Spoken::unrecorded(text), short: None });
        }
        assert_eq!(library.entry(Role::Phrase, "reach").unwrap().full.text, "reach");
        assert!(library.entry(Role::Say, "reach").is_none());
        assert_eq!(library.by_text(Role::Phrase, "Reach").unwrap().0, "reach");
    }

    #[test]
    fn unrecorded_speech_takes_time() {
        // About 150 words a minute: several sources.
        assert_eq!(Spoken::unrecorded("go in ten").len, Seconds::from_millis(1200));
    }
}
