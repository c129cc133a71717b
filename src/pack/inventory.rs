//! What lies in a pack's folder, by what it is to the pack: its scripts, its recordings with the one of each text that is
//! taken, and what belongs to nothing. Opening, checking, showing and bundling a pack all ask here.
//!
//! Only folders are read, no file. Whether a recording has a text is for the manifest to say.

use crate::pack::manifest::{self, Manifest};
use crate::pack::place::{LinkOut, Lying, PackPlace};
use crate::pack::recorded::Bytes;
use crate::pack::role::Role;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::io;
use std::path::Path;

/// The folder of recordings in a pack's folder.
pub const CLIPS: &str = "clips";

/// What the names of recordings end in, what is taken first before the others. Which sound may be in a file, and that a name is
/// not believed, is the decoder's (`audio::clip`).
const FORMATS: [&str; 9] = ["wav", "flac", "ogg", "oga", "opus", "m4a", "mp4", "aac", "mp3"];

/// Which recording of a pack.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct RecordingKey {
    /// What for, which is also its folder.
    pub role: Role,
    /// The name of its file without the extension, such as `reach-forward.short`.
    pub stem: String,
}

impl RecordingKey {
    /// That of a text; `short` for the short form of a phrase.
    pub fn new(role: Role, id: &str, short: bool) -> Self {
        Self { role, stem: if short { format!("{id}.short") } else { id.to_owned() } }
    }
}

/// Its path from the pack's folder, without an extension: `clips/phrases/look-down.short`.
impl fmt::Display for RecordingKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{CLIPS}/{}/{}", self.role.folder(), self.stem)
    }
}

/// Which of two recordings of a text is taken: the lesser one. By the format, then of two spellings of its extension that
/// which is later in the order of bytes: `x.WAV` gives way to `x.wav`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Rank(usize, Reverse<String>);

impl Rank {
    fn of(file: &str) -> Option<Self> {
        let extension = Path::new(file).extension()?.to_str()?;
        let format = FORMATS.iter().position(|format| extension.eq_ignore_ascii_case(format))?;
        Some(Self(format, Reverse(extension.to_owned())))
    }
}

/// What the names of recordings end in, for messages.
pub fn recording_endings() -> String {
    FORMATS.join(", ")
}

/// Whether a file's name has the extension of a format of recordings that can be read.
pub fn is_recording(file: &str) -> bool {
    Rank::of(file).is_some()
}

/// A file with a recording in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordingFile {
    /// Its path from the pack's folder, with slashes.
    pub path: String,
    /// The same for messages: as the user knows the folder, or `built in: announcer/clips/words/next.ogg`.
    pub shown: String,
    /// Its bytes; absent where it is a link that is not followed.
    pub bytes: Result<Bytes, LinkOut>,
}

/// What lies in a pack's folder without being a manifest, a script or a recording.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Other {
    /// Its path from the pack's folder, with slashes.
    pub path: String,
    /// What it is.
    pub kind: OtherKind,
}

/// What something in a pack's folder is that no pack is made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OtherKind {
    /// A file beside the manifest or beside the folders of recordings.
    Note,
    /// Among the recordings, but none by its name.
    NoRecording,
    /// A folder. Of one beside the folders of recordings the files in it; of others nothing is listed.
    Folder(Vec<String>),
    /// A link where a part of the pack could be.
    LinkOut,
    /// Neither file nor folder, or its name is not UTF-8.
    Strange,
}

/// A folder of the pack that cannot be listed.
#[derive(Debug)]
pub struct Unlisted {
    /// Its path from the pack's folder, with slashes.
    pub path: String,
    /// What the system says.
    pub error: io::Error,
}

/// A file below `clips` that is not used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stray {
    /// No text has this id.
    NoText(String),
    /// Another format of the same recording is taken.
    Twice {
        /// This file.
        path: String,
        /// The one that is taken.
        taken: String,
    },
    /// In a format that is not read.
    Format(String),
    /// In a folder that is none of recordings.
    Folder(String),
}

impl Stray {
    /// The file.
    pub fn path(&self) -> &str {
        match self {
            Self::NoText(path) | Self::Twice { path, .. } | Self::Format(path) | Self::Folder(path) => path,
        }
    }
}

/// What lies in a pack's folder.
#[derive(Debug, Default)]
pub struct Inventory {
    /// Whether there is a manifest.
    pub has_manifest: bool,
    /// The names of its scripts' files, sorted.
    pub scripts: Vec<String>,
    /// Of each recording its files, the one that is taken first.
    recordings: BTreeMap<RecordingKey, Vec<RecordingFile>>,
    /// What else lies there, by path.
    pub others: Vec<Other>,
    /// What could not be looked into.
    pub unlisted: Vec<Unlisted>,
}

impl Inventory {
    /// Of a folder, whatever its name; the folder's own path is free of links.
    pub fn of_folder(real: &Path) -> Self {
        Self::of(&PackPlace::Folder { shown: real.to_owned(), real: real.to_owned() })
    }

    /// Of a pack.
    pub fn of(place: &PackPlace) -> Self {
        let mut found = Self::default();
        for (name, lying) in found.list(place, "") {
            match lying {
                Lying::File(_) if name == manifest::FILE => found.has_manifest = true,
                Lying::File(_) if is_script(&name) => found.scripts.push(name),
                Lying::File(_) => found.other(name, OtherKind::Note),
                Lying::Folder if name == CLIPS => found.clips(place),
                Lying::Folder => found.other(name, OtherKind::Folder(Vec::new())),
                Lying::LinkOut => found.other(name, OtherKind::LinkOut),
                Lying::Strange => found.other(name, OtherKind::Strange),
            }
        }
        for files in found.recordings.values_mut().filter(|files| files.len() > 1) {
            files.sort_by_cached_key(|file| Rank::of(&file.path));
        }
        found.scripts.sort();
        found.others.sort_by(|a, b| a.path.cmp(&b.path));
        found
    }

    fn clips(&mut self, place: &PackPlace) {
        for (name, lying) in self.list(place, CLIPS) {
            let path = format!("{CLIPS}/{name}");
            let role = Role::ALL.into_iter().find(|(folder, _)| *folder == name);
            match (lying, role) {
                (Lying::Folder, Some((_, role))) => self.role(place, role),
                (Lying::Folder, None) => {
                    let files = self.list(place, &path).into_iter().map(|(file, _)| file).collect();
                    self.other(path, OtherKind::Folder(files));
                }
                (Lying::File(_), _) => self.other(path, OtherKind::Note),
                (Lying::LinkOut, _) => self.other(path, OtherKind::LinkOut),
                (Lying::Strange, _) => self.other(path, OtherKind::Strange),
            }
        }
    }

    fn role(&mut self, place: &PackPlace, role: Role) {
        for (name, lying) in self.list(place, &format!("{CLIPS}/{}", role.folder())) {
            let path = format!("{CLIPS}/{}/{name}", role.folder());
            let bytes = match lying {
                Lying::File(bytes) => Ok(bytes),
                Lying::LinkOut => Err(LinkOut),
                Lying::Folder => {
                    self.other(path, OtherKind::Folder(Vec::new()));
                    continue;
                }
                Lying::Strange => {
                    self.other(path, OtherKind::Strange);
                    continue;
                }
            };
            match Path::new(&name).file_stem().and_then(|stem| stem.to_str()).filter(|_| is_recording(&name)) {
                Some(stem) => {
                    let key = RecordingKey { role, stem: stem.to_owned() };
                    let shown = place.shown(&path);
                    self.recordings.entry(key).or_default().push(RecordingFile { path, shown, bytes });
                }
                None => self.other(path, OtherKind::NoRecording),
            }
        }
    }

    fn list(&mut self, place: &PackPlace, path: &str) -> Vec<(String, Lying)> {
        place.list(path).unwrap_or_else(|error| {
            self.unlisted.push(Unlisted { path: path.to_owned(), error });
            Vec::new()
        })
    }

    fn other(&mut self, path: String, kind: OtherKind) {
        self.others.push(Other { path, kind });
    }

    /// The file of a recording that is taken, if there is one.
    pub fn taken(&self, key: &RecordingKey) -> Option<&RecordingFile> {
        self.recordings.get(key)?.first()
    }

    /// The file that has a recording's name but an ending that is not read.
    pub fn untaken(&self, key: &RecordingKey) -> Option<&str> {
        let named = |other: &&Other| {
            let end = other.path.strip_prefix(&key.to_string()).and_then(|rest| rest.strip_prefix('.'));
            other.kind == OtherKind::NoRecording && end.is_some_and(|end| !end.contains('.'))
        };
        self.others.iter().find(named).map(|other| other.path.as_str())
    }

    /// Of each recording its files, the one that is taken first.
    pub fn recordings(&self) -> impl Iterator<Item = (&RecordingKey, &[RecordingFile])> {
        self.recordings.iter().map(|(key, files)| (key, files.as_slice()))
    }

    /// Why the recordings of a role cannot be looked at, if so, as the end of a sentence.
    pub fn hindrance(&self, role: Role) -> Option<String> {
        let folder = format!("{CLIPS}/{}", role.folder());
        let concerns = |path: &str| path.is_empty() || path == CLIPS || path == folder;
        let unlisted = self.unlisted.iter().find(|one| concerns(&one.path)).map(|one| one.error.to_string());
        unlisted.or_else(|| {
            let link = self.others.iter().find(|other| other.kind == OtherKind::LinkOut && concerns(&other.path))?;
            Some(format!("{} {LinkOut}", link.path))
        })
    }

    /// The files below `clips` that are not used, by path.
    pub fn strays(&self, manifest: &Manifest) -> Vec<Stray> {
        let texts: BTreeSet<RecordingKey> = manifest.entries.iter().flat_map(texts).map(|text| text.key).collect();
        let mut found = Vec::new();
        for (key, files) in &self.recordings {
            match files.as_slice() {
                files if !texts.contains(key) => {
                    found.extend(files.iter().map(|file| Stray::NoText(file.path.clone())));
                }
                [taken, rest @ ..] => found.extend(
                    rest.iter().map(|file| Stray::Twice { path: file.path.clone(), taken: taken.path.clone() }),
                ),
                [] => {}
            }
        }
        for Other { path, kind } in &self.others {
            // Only two levels down lies what looks like a recording in its folder.
            let among = path.strip_prefix(CLIPS).is_some_and(|inside| inside.matches('/').count() == 2);
            match kind {
                OtherKind::NoRecording | OtherKind::Strange if among => found.push(Stray::Format(path.clone())),
                OtherKind::Folder(_) if among => found.push(Stray::Folder(path.clone())),
                OtherKind::Folder(files) => {
                    found.extend(files.iter().map(|file| Stray::Folder(format!("{path}/{file}"))));
                }
                OtherKind::Note | OtherKind::NoRecording | OtherKind::Strange | OtherKind::LinkOut => {}
            }
        }
        found.retain(|stray| !stray.path().split('/').any(|part| part.starts_with('.')));
        found.sort_by(|a, b| a.path().cmp(b.path()));
        found
    }
}

/// Whether a file beside the manifest is a script by its name.
fn is_script(name: &str) -> bool {
    !name.starts_with('.') && Path::new(name).extension().is_some_and(|extension| extension == "yaml")
}

/// One form of a text of the manifest, and its recording.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextForm<'m> {
    /// Which recording says it.
    pub key: RecordingKey,
    /// The words.
    pub words: &'m str,
    /// Whether it is the short form.
    pub short: bool,
}

/// A text of the manifest as one or two recordings say it: whole, then short.
pub fn texts(text: &manifest::ManifestText) -> impl Iterator<Item = TextForm<'_>> {
    let form = |words, short| TextForm { key: RecordingKey::new(text.role, &text.id.value, short), words, short };
    std::iter::once(form(text.full.as_str(), false)).chain(text.short.as_deref().map(|words| form(words, true)))
}

/// The names of all files in a pack's folder that hold a recording, the one that is taken first.
///
/// # Errors
/// Where the folder cannot be listed.
pub fn alternatives(pack: &Path, key: &RecordingKey) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    for entry in pack.join(CLIPS).join(key.role.folder()).read_dir()? {
        let name = entry?.file_name();
        let stem = Path::new(&name).file_stem();
        if let (Some(name), true) = (name.to_str(), stem.is_some_and(|stem| *stem == *key.stem)) {
            found.extend(is_recording(name).then(|| name.to_owned()));
        }
    }
    found.sort_by_cached_key(|name| Rank::of(name));
    Ok(found)
}
