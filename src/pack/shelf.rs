//! The packs there are, and one of them opened to be looked at: every text with where its recording comes from, its scripts,
//! and what lies in its folder without belonging to it.
//!
//! How recordings sound is not looked at here, and nothing is changed.

use crate::diag::{Diagnostic, Sources, Span, nearest};
use crate::pack::builtin;
use crate::pack::inventory::{Inventory, RecordingKey, Stray, TextForm, texts};
use crate::pack::library::Library;
use crate::pack::load::{self, Search};
use crate::pack::manifest::{self, Manifest, ManifestText};
use crate::pack::place::PackPlace;
use crate::pack::recorded::{Provenance, Recording};
use crate::pack::role::Role;
use crate::units::time::Seconds;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Where packs stand.
#[derive(Clone, Debug, Default)]
pub struct Shelf {
    /// Folders of packs, or packs, given by `--packs`.
    pub extra: Vec<PathBuf>,
    /// The user's folder of packs.
    pub user: Option<PathBuf>,
}

/// A pack in one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    /// Its name.
    pub name: String,
    /// Where it lies: a path, or `built in`.
    pub place: String,
    /// What it says of itself; `None` where its manifest cannot be read.
    pub says: Option<Says>,
    /// Whether an earlier pack of the list has its name, so that it is not found by it.
    pub hidden: bool,
}

/// What a pack says of itself, and how much is in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Says {
    /// `title`
    pub title: String,
    /// `speaker.voice`
    pub voice: String,
    /// `language`
    pub language: String,
    /// `version`, 1 where none is written.
    pub version: u32,
    /// Texts, short forms counted too.
    pub texts: usize,
    /// Those with a recording of its own.
    pub recordings: usize,
    /// Scripts.
    pub scripts: usize,
}

/// Where a text's recording comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HeardFrom {
    /// The pack itself.
    Own(Recording),
    /// A recording of its own that cannot be used; which one. The problems say why.
    Broken(String),
    /// Another pack, by its name, that says the same words.
    Borrowed(String, Seconds),
    /// Nowhere: the built-in voice says it, or a tone stands for it.
    Missing,
}

/// One text of a pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackLine {
    /// What for.
    pub role: Role,
    /// Its id.
    pub id: String,
    /// Whether it is the short form of that id.
    pub short: bool,
    /// The words.
    pub text: String,
    /// Where it is written.
    pub span: Span,
    /// Where it is heard from.
    pub source: HeardFrom,
}

impl PackLine {
    /// Which recording says it.
    pub fn key(&self) -> RecordingKey {
        RecordingKey::new(self.role, &self.id, self.short)
    }
}

/// A pack opened.
#[derive(Debug)]
pub struct OpenedPack {
    /// Its name.
    pub name: String,
    /// Where it lies: a path, or `built in`.
    pub place: String,
    /// Its folder, if it is in one.
    pub folder: Option<PathBuf>,
    /// Its manifest, as far as it can be read.
    pub manifest: Option<Manifest>,
    /// Its texts, in the order written, each short form behind its whole one.
    pub lines: Vec<PackLine>,
    /// Everything that it offers together with the packs that it uses.
    pub library: Library,
    /// What names its scripts in a request: paths, or `pack/name`.
    pub scripts: Vec<PathBuf>,
    /// Files that are not used.
    pub strays: Vec<Stray>,
    /// What is wrong with it and with the packs that it uses.
    pub problems: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// There is no such pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoPack {
    name: String,
    near: Option<String>,
    known: Vec<String>,
}

impl std::fmt::Display for NoPack {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { name, near, known } = self;
        write!(f, "there is no pack `{name}`, and no folder of that name with a {} in it; ", manifest::FILE)?;
        match near {
            Some(near) => write!(f, "did you mean `{near}`?"),
            None => write!(f, "known: {}", known.join(", ")),
        }
    }
}

impl std::error::Error for NoPack {}

impl Shelf {
    /// Every pack: those of `--packs`, the user's, those built in; in this order a name is looked for.
    pub fn list(&self) -> Vec<Standing> {
        let mut seen = BTreeSet::new();
        let line = |place: PackPlace| {
            let name = place.name();
            let hidden = !seen.insert(name.clone());
            Standing { name, place: place.to_string(), says: says(&place), hidden }
        };
        self.places().into_iter().map(line).collect()
    }

    fn places(&self) -> Vec<PackPlace> {
        let mut found: Vec<PackPlace> = Vec::new();
        for folder in self.extra.iter().chain(&self.user) {
            let mut inside: Vec<PathBuf> =
                folder.read_dir().into_iter().flatten().flatten().map(|entry| entry.path()).collect();
            // Hidden entries are skipped: they are being made, or gave way.
            inside.retain(|path| path.file_name().is_some_and(|name| !name.to_string_lossy().starts_with('.')));
            inside.sort();
            for place in
                PackPlace::folder(folder).into_iter().chain(inside.iter().filter_map(|path| PackPlace::folder(path)))
            {
                if !found.contains(&place) {
                    found.push(place);
                }
            }
        }
        found.extend(builtin::packs().iter().map(PackPlace::BuiltIn));
        found
    }

    /// The pack in a folder, or of a name.
    ///
    /// # Errors
    /// Where there is none.
    pub fn open(&self, wanted: &str) -> Result<OpenedPack, NoPack> {
        let by_name = || self.places().into_iter().find(|place| place.name() == wanted);
        match PackPlace::folder(Path::new(wanted)).filter(|_| !wanted.is_empty()).or_else(by_name) {
            Some(place) => Ok(self.opened(&place)),
            None => {
                let mut known: Vec<String> = self.places().iter().map(PackPlace::name).collect();
                known.sort();
                known.dedup();
                let near = nearest(wanted, known.iter().map(String::as_str)).map(str::to_owned);
                Err(NoPack { name: wanted.to_owned(), near, known })
            }
        }
    }

    fn opened(&self, place: &PackPlace) -> OpenedPack {
        let (folder, built_in) = match place {
            PackPlace::Folder { shown, .. } => (Some(shown.clone()), None),
            PackPlace::BuiltIn(pack) => (None, Some(pack.name.to_owned())),
        };
        let search = Search {
            // As from a script in it.
            script: folder.as_ref().map(|folder| folder.join(manifest::FILE)),
            built_in,
            extra: self.extra.clone(),
            user: self.user.clone(),
            voice: None,
        };
        let mut sources = Sources::new();
        // Read for itself, so that there is something to look at whatever else is wrong; its problems come with the library.
        let (name, text) = place.manifest();
        let manifest = text.ok().and_then(|text| manifest::parse(sources.add(name, text), &sources).0);
        let (library, problems) = load::open(&search, None, &mut sources);
        let inventory = Inventory::of(place);
        let lines = manifest.iter().flat_map(|manifest| lines(manifest, place, &inventory, &library)).collect();
        OpenedPack {
            name: place.name(),
            place: place.to_string(),
            strays: manifest.as_ref().map_or_else(Vec::new, |manifest| inventory.strays(manifest)),
            scripts: scripts(place, &inventory),
            folder,
            manifest,
            lines,
            library,
            problems,
            sources,
        }
    }
}

fn says(place: &PackPlace) -> Option<Says> {
    let (name, text) = place.manifest();
    let mut sources = Sources::new();
    let source = sources.add(name, text.ok()?);
    let manifest = manifest::parse(source, &sources).0?;
    let inventory = Inventory::of(place);
    let all = || manifest.entries.iter().flat_map(texts);
    Some(Says {
        texts: all().count(),
        recordings: all().filter(|text| inventory.taken(&text.key).is_some()).count(),
        scripts: inventory.scripts.len(),
        version: manifest.version(),
        title: manifest.title,
        voice: manifest.voice,
        language: manifest.language,
    })
}

fn lines(manifest: &Manifest, place: &PackPlace, inventory: &Inventory, library: &Library) -> Vec<PackLine> {
    let this = library.pack_at(place).map(Provenance::Pack);
    let of = |text: &ManifestText| -> Vec<PackLine> {
        let entry = library.entry(text.role, &text.id.value);
        texts(text)
            .map(|TextForm { key, words, short }| {
                let spoken = entry.and_then(|entry| if short { entry.short.as_ref() } else { Some(&entry.full) });
                let heard = spoken.and_then(|spoken| library.recording(spoken.clip?));
                let source = match (inventory.taken(&key), heard) {
                    (Some(_), Some(heard)) if Some(heard.provenance) == this => HeardFrom::Own(heard.clone()),
                    (Some(own), _) => HeardFrom::Broken(own.shown.clone()),
                    (None, Some(heard)) => HeardFrom::Borrowed(owner(library, heard), heard.len),
                    (None, None) => HeardFrom::Missing,
                };
                let (role, id) = (text.role, text.id.value.clone());
                PackLine { role, id, short, text: words.to_owned(), span: text.id.span, source }
            })
            .collect()
    };
    manifest.entries.iter().flat_map(of).collect()
}

/// The name of the pack that a recording lies in; its own where it lies in none.
fn owner(library: &Library, recording: &Recording) -> String {
    match recording.provenance {
        Provenance::Pack(pack) => library.pack(pack).map(|pack| pack.name.clone()),
        Provenance::BuiltInVoice | Provenance::StandIn => None,
    }
    .unwrap_or_else(|| recording.name.clone())
}

/// What names a pack's scripts in a request.
fn scripts(place: &PackPlace, inventory: &Inventory) -> Vec<PathBuf> {
    let files = inventory.scripts.iter();
    match place {
        PackPlace::Folder { shown, .. } => files.map(|file| shown.join(file)).collect(),
        PackPlace::BuiltIn(pack) => {
            files.filter_map(|file| Some(format!("{}/{}", pack.name, file.strip_suffix(".yaml")?).into())).collect()
        }
    }
}

#[cfg(test)]
mod tests;
