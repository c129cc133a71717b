//! The spoken texts, recordings and beat tracks of the packs in use, by what they are for.

use crate::pack::ClipId;
use crate::pack::place::PackPlace;
use crate::pack::recorded::{Bytes, PackId, Provenance, Recording};
pub use crate::pack::role::Role;
use crate::script::movement::DrillMovement;
use crate::script::{BeatTrack, BodyPart};
use crate::units::time::Seconds;
use std::collections::btree_map::Entry::{Occupied, Vacant};
use std::collections::{BTreeMap, HashMap};
use std::path::PathBuf;

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
    /// The short form, for under way: phrases have one, and drills, whose name it is.
    pub short: Option<Spoken>,
}

impl PackEntry {
    fn forms(&mut self) -> impl Iterator<Item = &mut Spoken> {
        std::iter::once(&mut self.full).chain(&mut self.short)
    }
}

/// What a pack says of itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackInfo {
    /// The name by which scripts and packs refer to it.
    pub name: String,
    /// Where it lies.
    pub place: PackPlace,
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
    /// What drills move, where a pack says so.
    movements: BTreeMap<String, DrillMovement>,
    /// Drills and the phrases that they are for, the first pack's first.
    pairs: Vec<(String, String)>,
    beats: BTreeMap<String, BeatTrack>,
    recordings: Vec<Recording>,
    packs: Vec<PackInfo>,
    /// What the built-in voice has said, by its words.
    voiced: BTreeMap<String, Spoken>,
}

impl Library {
    /// A library with nothing in it.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds what a pack says of itself.
    pub fn add_pack(&mut self, info: PackInfo) -> PackId {
        let id = PackId::new(self.packs.len());
        self.packs.push(info);
        id
    }

    /// The packs in use, the first one first.
    pub fn packs(&self) -> &[PackInfo] {
        &self.packs
    }

    /// The pack in use that lies in a place.
    pub fn pack_at(&self, place: &PackPlace) -> Option<PackId> {
        self.packs.iter().position(|info| info.place == *place).map(PackId::new)
    }

    /// What a pack in use says of itself.
    pub fn pack(&self, id: PackId) -> Option<&PackInfo> {
        self.packs.get(id.index())
    }

    /// The files of the packs in use that were read, or will be: manifests and recordings.
    pub fn files(&self) -> impl Iterator<Item = PathBuf> {
        let recordings = self.recordings.iter().filter_map(|recording| match &recording.bytes {
            Bytes::File(path) => Some(path.clone()),
            Bytes::Static(_) | Bytes::Given(_) => None,
        });
        self.packs.iter().filter_map(|pack| pack.place.manifest_file()).chain(recordings)
    }

    /// Adds a recording.
    pub fn add_recording(&mut self, recording: Recording) -> ClipId {
        let id = ClipId::new(self.recordings.len());
        self.recordings.push(recording);
        id
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
    pub fn speak_with(&mut self, voice: Self) {
        let (packs, recordings) = (self.packs.len(), self.recordings.len());
        self.recordings.extend(voice.recordings.into_iter().map(|recording| recording.behind(packs)));
        self.packs.extend(voice.packs);
        let mut said: HashMap<(Role, String), Spoken> = HashMap::new();
        for ((role, id), mut entry) in voice.entries {
            for form in entry.forms() {
                form.clip = form.clip.map(|clip| clip.behind(recordings));
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
            let provenance = Provenance::StandIn;
            let mark = self.add_recording(Recording { name, bytes: Bytes::Static(&[]), len, provenance });
            (form.clip, form.len) = (Some(mark), len);
            marks.push(mark);
        }
        self.entries.insert((role, id.to_owned()), entry);
        marks
    }

    /// Whether a recording is the built-in voice's.
    pub fn is_voiced(&self, clip: ClipId) -> bool {
        self.recording(clip).is_some_and(|recording| recording.provenance == Provenance::BuiltInVoice)
    }

    /// Whether one recording may stand for several: not where it has none and they all do, nor where they are somebody's own
    /// and it is only what comes with the program, so that a sentence stays in one voice.
    pub fn stands_for(&self, whole: &Spoken, parts: &[Spoken]) -> bool {
        let own = |spoken: &Spoken| {
            let recording = spoken.clip.and_then(|clip| self.recording(clip));
            recording.is_some_and(|recording| match recording.provenance {
                Provenance::Pack(id) => {
                    self.pack(id).is_some_and(|pack| matches!(pack.place, PackPlace::Folder { .. }))
                }
                Provenance::BuiltInVoice | Provenance::StandIn => false,
            })
        };
        let recorded = |spoken: &Spoken| spoken.clip.is_some_and(|clip| !self.is_voiced(clip));
        (recorded(whole) || !parts.iter().all(recorded)) && (own(whole) || !parts.iter().any(own))
    }

    /// A text that is in no pack: as the built-in voice says it, if it has, else without a recording.
    pub fn text(&self, text: &str) -> Spoken {
        self.voiced.get(text).cloned().unwrap_or_else(|| Spoken::unrecorded(text))
    }

    /// Says what a drill moves, unless an earlier pack has.
    pub fn add_movement(&mut self, id: impl Into<String>, movement: DrillMovement) {
        self.movements.entry(id.into()).or_insert(movement);
    }

    /// What a drill moves; arms and legs where no pack says so.
    pub fn movement(&self, id: &str) -> DrillMovement {
        self.movements.get(id).copied().unwrap_or(DrillMovement::of(BodyPart::Swim))
    }

    /// Says which phrase a drill is for, unless an earlier pack has.
    pub fn add_pair(&mut self, drill: impl Into<String>, phrase: impl Into<String>) {
        let drill = drill.into();
        if self.pairs.iter().all(|(known, _)| *known != drill) {
            self.pairs.push((drill, phrase.into()));
        }
    }

    /// Drills and the phrase that each is for, in the packs' order, as written there.
    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.pairs.iter().map(|(drill, phrase)| (drill.as_str(), phrase.as_str()))
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
mod tests;
