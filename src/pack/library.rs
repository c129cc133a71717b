//! The spoken texts, recordings and beat tracks of the packs in use, by what they are for.

use crate::audio::take::{LONGEST_PHRASE, LONGEST_SHORT};
use crate::pack::ClipId;
use crate::script::BeatTrack;
use crate::units::time::Seconds;
use std::borrow::Cow;
use std::collections::btree_map::Entry::{Occupied, Vacant};
use std::collections::{BTreeMap, BTreeSet, HashMap};
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
    /// A swimmer's name.
    Name,
}

impl Role {
    /// Every role with its key in a manifest, which is also its folder of clips.
    pub const ALL: [(&'static str, Self); 6] = [
        ("phrases", Self::Phrase),
        ("drills", Self::Drill),
        ("says", Self::Say),
        ("titles", Self::Title),
        ("words", Self::Word),
        ("names", Self::Name),
    ];

    /// Its key in a manifest, which is also its folder of clips.
    pub fn folder(self) -> &'static str {
        Self::ALL.iter().find(|(_, role)| *role == self).map_or("", |(folder, _)| folder)
    }

    /// How long a text of this role may last for its use, where that is known; `short` for the short form of a phrase.
    pub const fn longest(self, short: bool) -> Option<Seconds> {
        match (self, short) {
            (Self::Phrase, true) => Some(LONGEST_SHORT),
            (Self::Phrase, false) => Some(LONGEST_PHRASE),
            _ => None,
        }
    }
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

    /// Takes a recording of the same words where there is none.
    fn borrow(&mut self, other: &Self) {
        if self.clip.is_none() && self.text.eq_ignore_ascii_case(&other.text) {
            (self.clip, self.len) = (other.clip, other.len);
        }
    }
}

/// One entry of a pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackEntry {
    /// The whole text.
    pub full: Spoken,
    /// The short form, for under way; only phrases have one.
    pub short: Option<Spoken>,
}

impl PackEntry {
    fn forms(&mut self) -> impl Iterator<Item = &mut Spoken> {
        std::iter::once(&mut self.full).chain(&mut self.short)
    }
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

/// Everything that the packs in use offer. Where two packs have the same entry, the one added first wins; one that it has
/// not recorded is heard from the other if it has the same words.
#[derive(Clone, Debug, Default)]
pub struct Library {
    entries: BTreeMap<(Role, String), PackEntry>,
    beats: BTreeMap<String, BeatTrack>,
    recordings: Vec<Recording>,
    packs: Vec<PackInfo>,
    /// What the built-in voice has said, by its words.
    voiced: BTreeMap<String, Spoken>,
    voiced_clips: BTreeSet<ClipId>,
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
    #[expect(
        clippy::expect_used,
        reason = "two sounds never share an id; each takes memory of its own long before that"
    )]
    pub fn add_recording(&mut self, recording: Recording) -> ClipId {
        self.recordings.push(recording);
        ClipId(u32::try_from(self.recordings.len() - 1).expect("under 2^32 recordings"))
    }

    /// Adds an entry unless an earlier pack has it; see [`Library`].
    pub fn add(&mut self, role: Role, id: impl Into<String>, entry: PackEntry) {
        match self.entries.entry((role, id.into())) {
            Vacant(place) => {
                place.insert(entry);
            }
            Occupied(known) => {
                let known = known.into_mut();
                known.full.borrow(&entry.full);
                if let (Some(known), Some(short)) = (&mut known.short, &entry.short) {
                    known.borrow(short);
                }
            }
        }
    }

    /// Lets the recordings of another pack win over all others that say the same words for the same purpose. What it has
    /// recorded beyond that is added.
    #[expect(clippy::expect_used, reason = "as where they are added one by one")]
    pub fn speak_with(&mut self, voice: Self) {
        let before = u32::try_from(self.recordings.len()).expect("under 2^32 recordings");
        self.recordings.extend(voice.recordings);
        self.packs.extend(voice.packs);
        let mut said: HashMap<(Role, String), Spoken> = HashMap::new();
        for ((role, id), mut entry) in voice.entries {
            for form in entry.forms() {
                form.clip = form.clip.map(|clip| ClipId(clip.0.saturating_add(before)));
                if form.clip.is_some() {
                    said.entry((role, form.text.to_lowercase())).or_insert_with(|| form.clone());
                }
            }
            if entry.full.clip.is_some() {
                self.add(role, id, entry);
            }
        }
        for ((role, _), entry) in &mut self.entries {
            for form in entry.forms() {
                if let Some(said) = said.get(&(*role, form.text.to_lowercase())) {
                    (form.clip, form.len) = (said.clip, said.len);
                }
            }
        }
    }

    /// Adds what the built-in voice says for a text, wherever the text has no recording.
    pub fn voice(&mut self, text: &str, recording: Recording) {
        let len = recording.len;
        let clip = Some(self.add_recording(recording));
        let spoken = Spoken { text: text.to_owned(), clip, len };
        for form in self.entries.values_mut().flat_map(PackEntry::forms).filter(|form| form.text == text) {
            form.borrow(&spoken);
        }
        self.voiced_clips.extend(clip);
        self.voiced.insert(text.to_owned(), spoken);
    }

    /// Gives every form of an entry a recording of its own that cannot be read, but lasts as its words should: so that it can be
    /// seen in a timeline where the entry would be heard. The entry's id has to be known.
    pub fn stand_in(&mut self, role: Role, id: &str) -> Vec<ClipId> {
        let Some(mut entry) = self.entries.remove(&(role, id.to_owned())) else { return Vec::new() };
        let mut marks = Vec::new();
        for form in entry.forms() {
            let len = Spoken::unrecorded(form.text.as_str()).len;
            let name = format!("a recording to be made: {}", form.text);
            let mark = self.add_recording(Recording { name, bytes: Bytes::Static(&[]), len });
            (form.clip, form.len) = (Some(mark), len);
            marks.push(mark);
        }
        self.entries.insert((role, id.to_owned()), entry);
        marks
    }

    /// Whether a recording is the built-in voice's.
    pub fn is_voiced(&self, clip: ClipId) -> bool {
        self.voiced_clips.contains(&clip)
    }

    /// A text that is in no pack: as the built-in voice says it, if it has, else without a recording.
    pub fn text(&self, text: &str) -> Spoken {
        self.voiced.get(text).cloned().unwrap_or_else(|| Spoken::unrecorded(text))
    }

    /// Adds a beat track unless an earlier pack has it.
    pub fn add_beats(&mut self, id: impl Into<String>, track: BeatTrack) {
        self.beats.entry(id.into()).or_insert(track);
    }

    /// The entry of a role by its id.
    pub fn entry(&self, role: Role, id: &str) -> Option<&PackEntry> {
        self.entries.get(&(role, id.to_owned()))
    }

    /// The entry of a role whose text is this one, ignoring case.
    pub fn by_text(&self, role: Role, text: &str) -> Option<(&str, &PackEntry)> {
        self.of(role).find(|(_, entry)| entry.full.text.eq_ignore_ascii_case(text))
    }

    /// The recorded name of a swimmer: their whole name, else their first one, ignoring case. What the built-in voice would
    /// make of a name is not it.
    pub fn name(&self, name: &str) -> Option<(&str, &PackEntry)> {
        let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        let whole = plain(name);
        let recorded = |wanted: &str| {
            self.of(Role::Name).find(|(_, entry)| {
                entry.full.clip.is_some_and(|clip| !self.is_voiced(clip)) && plain(&entry.full.text) == wanted
            })
        };
        recorded(&whole).or_else(|| recorded(whole.split(' ').next().filter(|first| !first.is_empty())?))
    }

    /// All entries of a role, by id.
    pub fn of(&self, role: Role) -> impl Iterator<Item = (&str, &PackEntry)> {
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
            library.add(Role::Phrase, "reach", PackEntry { full: Spoken::unrecorded(text), short: None });
        }
        assert_eq!(library.entry(Role::Phrase, "reach").unwrap().full.text, "reach");
        assert!(library.entry(Role::Say, "reach").is_none());
        assert_eq!(library.by_text(Role::Phrase, "Reach").unwrap().0, "reach");
    }

    fn recorded(library: &mut Library, text: &str, from: &str, seconds: i64) -> Spoken {
        let len = Seconds::from_secs(seconds);
        let recording = Recording { name: from.to_owned(), bytes: Bytes::Static(&[]), len };
        Spoken { text: text.to_owned(), clip: Some(library.add_recording(recording)), len }
    }

    fn heard<'a>(library: &'a Library, spoken: &Spoken) -> Option<&'a str> {
        Some(&library.recording(spoken.clip?)?.name)
    }

    #[test]
    fn the_chosen_voice_wins_then_packs_then_the_built_in_one() {
        let mut library = Library::new();
        let texts = ["reach", "soft hand", "long neck", "head still", "breathe out"];
        let add = |library: &mut Library, text: &str, full: Spoken| {
            let short = Some(Spoken::unrecorded(format!("{text}, short")));
            library.add(Role::Phrase, text.replace(' ', "-"), PackEntry { full, short });
        };
        // The first pack has recorded only the first text, the second all but the last.
        for text in texts {
            let full =
                if text == "reach" { recorded(&mut library, text, "first", 1) } else { Spoken::unrecorded(text) };
            add(&mut library, text, full);
        }
        for text in ["reach", "soft hand", "long neck"] {
            let full = recorded(&mut library, &text.to_uppercase(), "second", 2);
            add(&mut library, text, full);
        }
        // Another meaning under the same id is not borrowed.
        let other = recorded(&mut library, "something else", "second", 2);
        add(&mut library, "head still", other);
        let mut coach = Library::new();
        let long_neck = recorded(&mut coach, "Long neck", "coach", 3);
        let more = recorded(&mut coach, "seventeen", "coach", 1);
        coach.add(Role::Phrase, "of-my-own", PackEntry { full: long_neck, short: None });
        coach.add(Role::Word, "n-17", PackEntry { full: more, short: None });
        coach.add(Role::Say, "reach", PackEntry { full: Spoken::unrecorded("reach"), short: None });
        library.speak_with(coach);
        for text in ["head still", "long neck", "soft hand", "seventeen metres"] {
            let len = Seconds::from_millis(700);
            library.voice(text, Recording { name: "built in".to_owned(), bytes: Bytes::Static(&[]), len });
        }
        let of = |id: &str| heard(&library, &library.entry(Role::Phrase, id).unwrap().full);
        let expected = ["first", "second", "coach", "built in"].map(Some);
        assert_eq!(["reach", "soft-hand", "long-neck", "head-still"].map(of), expected);
        assert_eq!(of("breathe-out"), None);
        assert_eq!(heard(&library, &library.entry(Role::Word, "n-17").unwrap().full), Some("coach"));
        assert!(library.entry(Role::Say, "reach").is_none());
        let voiced = library.text("seventeen metres");
        assert!(library.is_voiced(voiced.clip.unwrap()) && voiced.len == Seconds::from_millis(700));
        let long_neck = &library.entry(Role::Phrase, "long-neck").unwrap().full;
        assert!(!library.is_voiced(long_neck.clip.unwrap()) && long_neck.len == Seconds::from_secs(3));
        assert_eq!(library.text("never said"), Spoken::unrecorded("never said"));
    }

    #[test]
    fn a_name_is_found_whole_or_by_its_first_word_where_it_is_recorded() {
        let mut library = Library::new();
        for text in ["Ida", "Ida Berg", "Mary-Ann  Øst"] {
            let full = recorded(&mut library, text, text, 1);
            library.add(Role::Name, text.to_lowercase(), PackEntry { full, short: None });
        }
        for text in ["Bo Lind", "Cy"] {
            library.add(Role::Name, text.to_lowercase(), PackEntry { full: Spoken::unrecorded(text), short: None });
        }
        library.voice("Cy", Recording { name: "built in".into(), bytes: Bytes::Static(&[]), len: Seconds::ZERO });
        let found = |name: &str| library.name(name).map(|(_, entry)| entry.full.text.as_str());
        assert_eq!(
            ["ida", "IDA  berg", "Ida Lind", "mary-ann øst"].map(found),
            [Some("Ida"), Some("Ida Berg"), Some("Ida"), Some("Mary-Ann  Øst")]
        );
        assert_eq!(["Bo Lind", "Bo", "Cy", "Berg", "Mary-Ann", ""].map(found), [None; 6]);
    }

    #[test]
    fn unrecorded_speech_takes_time() {
        // About 150 words a minute: several sources.
        assert_eq!(Spoken::unrecorded("go in ten").len, Seconds::from_millis(1200));
    }
}
