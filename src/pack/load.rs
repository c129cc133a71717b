//! Finding packs and reading them into a library.
//!
//! Recordings are only measured here, from their headers; decoding waits until it is known which are heard.

use crate::audio::clip::{self, DecodeError};
use crate::diag::shown::ShownPath;
use crate::diag::{Code, Diagnostic, Sources, Span, Spanned, nearest};
use crate::disk;
use crate::pack::builtin;
use crate::pack::inventory::{Inventory, RecordingFile, RecordingKey};
use crate::pack::library::{Library, PackEntry, PackInfo, Spoken};
use crate::pack::manifest::{self, DrillPair, Manifest, ManifestText};
use crate::pack::place::{LinkOut, PackPlace};
use crate::pack::recorded::{Provenance, Recording};
use crate::pack::role::Role;
use std::ffi::OsString;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// The pack whose words the program itself speaks; always in use, behind all others.
pub const ANNOUNCER: &str = "announcer";

/// Where packs are looked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Search {
    /// The script's file.
    pub script: Option<PathBuf>,
    /// The pack in the binary that the script was taken from, if it is not a file.
    pub built_in: Option<String>,
    /// Folders of packs given by `--packs`, the first one first.
    pub extra: Vec<PathBuf>,
    /// The user's folder of packs.
    pub user: Option<PathBuf>,
    /// The pack whose recordings win over all others, by its name or its folder.
    pub voice: Option<String>,
}

/// The user's folder of packs, from the values of `XDG_DATA_HOME` and `HOME`.
pub fn user_folder(data_home: Option<OsString>, home: Option<OsString>) -> Option<PathBuf> {
    Some(disk::own_folder(data_home, home, ".local/share")?.join("packs"))
}

/// Opens the pack a script asks for (`wanted`, or the one the script lies in), the packs that it uses, and the
/// announcer. The library holds what could be read; the problems say what could not.
pub fn open(search: &Search, wanted: Option<&Spanned<String>>, sources: &mut Sources) -> (Library, Vec<Diagnostic>) {
    let mut opening = Opening { search, sources, problems: Vec::new(), opened: Vec::new() };
    for folder in search.extra.iter().filter(|folder| !folder.is_dir()) {
        let message = format!("there is no folder {} to look for packs in", folder.shown());
        opening.problems.push(Diagnostic::whole(Code::PackBroken, message));
    }
    let first = match wanted {
        Some(name) => opening.find(&name.value, Some(name.span), None),
        None => search.home(),
    };
    if let Some(place) = first {
        opening.read(place, wanted.map(|name| name.span), &mut Vec::new());
    }
    let announcer = search.places(ANNOUNCER, None).into_iter().next();
    if let Some(place) = announcer.filter(|place| opening.opened.iter().all(|(opened, _)| opened != place)) {
        opening.read(place, None, &mut Vec::new());
    }
    // Stable: all others keep their order.
    opening.opened.sort_by_key(|(place, _)| place.name() == ANNOUNCER);
    let mut library = Library::new();
    let Opening { mut problems, opened, .. } = opening;
    let mut pairs = Vec::new();
    for (place, mut manifest) in opened {
        pairs.append(&mut manifest.pairs);
        fill(&mut library, &place, manifest, &mut problems);
    }
    // A phrase may be in a pack that comes later.
    for DrillPair { drill, phrase } in pairs {
        if library.entry(Role::Phrase, &phrase.value).is_some() {
            library.add_pair(drill, phrase.value);
        } else {
            let message =
                format!("`{drill}` is for `{}`, which is no phrase of its pack or those that it uses", phrase.value);
            problems.push(Diagnostic::at(Code::UnknownName, phrase.span, message));
        }
    }
    if let Some(name) = &search.voice {
        let (voice, found) = voice(search, name, sources);
        problems.extend(found);
        voice.into_iter().for_each(|voice| library.speak_with(voice));
    }
    problems.sort_by_key(|problem| problem.span);
    (library, problems)
}

/// Opens a pack whose recordings shall win over all others (see [`Library::speak_with`]), by its name or its folder. What it
/// uses is not looked at.
pub fn voice(search: &Search, name: &str, sources: &mut Sources) -> (Option<Library>, Vec<Diagnostic>) {
    let mut opening = Opening { search, sources, problems: Vec::new(), opened: Vec::new() };
    let found = opening.find(name, None, None).and_then(|place| {
        let manifest = opening.manifest(&place, None)?;
        Some((place, manifest))
    });
    let mut problems = opening.problems;
    let library = found.map(|(place, manifest)| {
        let mut library = Library::new();
        fill(&mut library, &place, manifest, &mut problems);
        library
    });
    (library, problems)
}

impl Search {
    /// The pack that the script lies in.
    fn home(&self) -> Option<PackPlace> {
        match (&self.script, &self.built_in) {
            (Some(script), _) => PackPlace::folder(script.parent()?),
            (None, Some(name)) => builtin::pack(name).map(PackPlace::BuiltIn),
            (None, None) => None,
        }
    }

    /// Every place that holds a pack of that name, best first. `user` is the pack that uses it, if one does.
    fn places(&self, name: &str, user: Option<&PackPlace>) -> Vec<PackPlace> {
        let mut found: Vec<_> =
            self.folders(user).iter().filter_map(|folder| PackPlace::folder(&folder.join(name))).collect();
        // `--packs` may also name a pack itself.
        found.extend(
            self.extra.iter().filter_map(|folder| PackPlace::folder(folder)).filter(|place| place.name() == name),
        );
        found.extend(builtin::pack(name).map(PackPlace::BuiltIn));
        found
    }

    /// The folders whose sub-folders are packs, in the order of the search.
    fn folders(&self, user: Option<&PackPlace>) -> Vec<PathBuf> {
        let mut folders = Vec::new();
        if let Some(around) = user.and_then(PackPlace::around) {
            folders.push(around.to_owned());
        }
        if let Some(folder) = self.script.as_deref().and_then(Path::parent) {
            folders.push(folder.to_owned());
            folders.push(folder.join(".."));
        }
        folders.extend(self.extra.iter().cloned());
        folders.extend(self.user.clone());
        folders
    }

    /// The names of all packs that could be asked for.
    fn names(&self) -> Vec<String> {
        let listed = self.folders(None).into_iter().filter_map(|folder| folder.read_dir().ok());
        let folders = listed.flatten().flatten().filter(|entry| entry.path().join(manifest::FILE).is_file());
        let mut names: Vec<_> = folders.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
        names.extend(builtin::packs().iter().map(|pack| pack.name.to_owned()));
        names.sort();
        names.dedup();
        names
    }
}

/// The work in hand: packs in the order in which the library takes them.
struct Opening<'a> {
    search: &'a Search,
    sources: &'a mut Sources,
    problems: Vec<Diagnostic>,
    opened: Vec<(PackPlace, Manifest)>,
}

impl Opening<'_> {
    /// The place of a pack asked for by name or, in a script, by a path.
    fn find(&mut self, name: &str, asked: Option<Span>, user: Option<&PackPlace>) -> Option<PackPlace> {
        let found = if manifest::is_id(name) {
            self.search.places(name, user).into_iter().next()
        } else {
            // A path in a script begins where the script lies, one of the command line where the user is.
            let base = self.search.script.as_deref().and_then(Path::parent).filter(|_| asked.is_some());
            PackPlace::folder(&base.unwrap_or_else(|| Path::new("")).join(name))
        };
        if found.is_none() {
            let message = format!("there is no pack `{name}`");
            let mut problem = match asked {
                Some(span) => Diagnostic::at(Code::UnknownName, span, message),
                None => Diagnostic::whole(Code::PackBroken, message),
            };
            let names = self.search.names();
            let folders = self.search.folders(user);
            let shown = |folder: &PathBuf| {
                if folder.as_os_str().is_empty() { ".".into() } else { folder.shown() }
            };
            let mut searched: Vec<String> = folders.iter().map(shown).collect();
            searched.push("the packs built in".to_owned());
            let searched = searched.join(", ");
            problem = match nearest(name, names.iter().map(String::as_str)) {
                Some(near) => problem.hint(format!("did you mean `{near}`? Searched: {searched}")),
                None => problem.hint(format!("known: {}. Searched: {searched}", names.join(", "))),
            };
            self.problems.push(problem);
        }
        found
    }

    /// Reads a pack, then those that it uses. `path` holds the packs whose `uses` led here.
    fn read(&mut self, place: PackPlace, asked: Option<Span>, path: &mut Vec<PackPlace>) {
        if path.contains(&place) {
            let mut names: Vec<_> = path.iter().skip_while(|p| **p != place).map(PackPlace::name).collect();
            names.push(place.name());
            let message = format!("packs use each other in a circle: {}", names.join(" > "));
            self.problems.push(problem_at(asked, message).hint("take one of the names out of its `uses`"));
            return;
        }
        if self.opened.iter().any(|(opened, _)| *opened == place) {
            return;
        }
        let Some(manifest) = self.manifest(&place, asked) else { return };
        let uses = manifest.uses.clone();
        self.opened.push((place.clone(), manifest));
        path.push(place.clone());
        for used in uses {
            if let Some(next) = self.find(&used.value, Some(used.span), Some(&place)) {
                self.read(next, Some(used.span), path);
            }
        }
        path.pop();
    }

    fn manifest(&mut self, place: &PackPlace, asked: Option<Span>) -> Option<Manifest> {
        let (name, text) = place.manifest();
        match text {
            Ok(text) => {
                let source = self.sources.add(name, text);
                let (manifest, problems) = manifest::parse(source, self.sources);
                self.problems.extend(problems);
                manifest
            }
            Err(error) => {
                self.problems.push(problem_at(asked, format!("{name} cannot be read: {error}")));
                None
            }
        }
    }
}

fn problem_at(span: Option<Span>, message: String) -> Diagnostic {
    match span {
        Some(span) => Diagnostic::at(Code::PackBroken, span, message),
        None => Diagnostic::whole(Code::PackBroken, message),
    }
}

/// Puts a pack's entries into the library, each with its recording.
fn fill(library: &mut Library, place: &PackPlace, manifest: Manifest, problems: &mut Vec<Diagnostic>) {
    let pack = library.add_pack(PackInfo {
        name: place.name(),
        place: place.clone(),
        title: manifest.title,
        language: manifest.language,
        voice: manifest.voice,
        licence: manifest.licence,
    });
    let inventory = Inventory::of(place);
    for (folder, role) in Role::ALL {
        if manifest.entries.iter().any(|entry| entry.role == role)
            && let Some(why) = inventory.hindrance(role)
        {
            let message = format!("the recordings of {place}/clips/{folder} cannot be listed: {why}");
            problems.push(Diagnostic::whole(Code::PackBroken, message));
        }
    }
    for ManifestText { role, id, full, short } in manifest.entries {
        let mut spoken = |text: String, short: bool| {
            let key = RecordingKey::new(role, &id.value, short);
            let mut unread = |shown: &str, why: &dyn fmt::Display| {
                let message = format!("the recording {shown} {why}");
                let problem = Diagnostic::at(Code::RecordingUnread, id.span, message);
                problems.push(problem.hint(
                    "record it again, convert it, or take the file away; until then it is as if it were not there",
                ));
            };
            let Some(file) = inventory.taken(&key) else {
                if let Some(other) = inventory.untaken(&key) {
                    unread(&place.shown(other), &DecodeError::NotAudio);
                }
                return Spoken::unrecorded(text);
            };
            match measured(file, Provenance::Pack(pack)) {
                Ok(recording) => {
                    let len = recording.len;
                    Spoken { text, len, clip: Some(library.add_recording(recording)) }
                }
                Err(why) => {
                    unread(&file.shown, &why);
                    Spoken::unrecorded(text)
                }
            }
        };
        let entry = PackEntry { full: spoken(full, false), short: short.map(|short| spoken(short, true)) };
        library.add(role, id.value, entry);
    }
    for (id, movement) in manifest.movements {
        library.add_movement(id, movement);
    }
    for (id, track) in manifest.beats {
        library.add_beats(id.value, track);
    }
}

/// A recording with its length, or why it cannot be used, as the end of a sentence that begins with its name.
fn measured(file: &RecordingFile, provenance: Provenance) -> Result<Recording, UnusableRecording> {
    let bytes = file.bytes.clone().map_err(UnusableRecording::Link)?;
    let len = clip::probe(&bytes.read().map_err(UnusableRecording::Read)?).map_err(UnusableRecording::Clip)?;
    Ok(Recording { name: file.shown.clone(), bytes, len, provenance })
}

/// Why a recording cannot be used.
enum UnusableRecording {
    Link(LinkOut),
    Read(io::Error),
    Clip(DecodeError),
}

impl fmt::Display for UnusableRecording {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Link(error) => error.fmt(f),
            Self::Read(error) => write!(f, "cannot be read: {error}"),
            Self::Clip(error) => error.fmt(f),
        }
    }
}

#[cfg(test)]
mod tests;
