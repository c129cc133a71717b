//! The packs there are, and one of them opened to be looked at: every text with where its recording comes from, its scripts,
//! and what lies in its folder without belonging to it.
//!
//! How recordings sound is not looked at here, and nothing is changed.

use crate::diag::{Diagnostic, Sources, Span, nearest};
use crate::pack::builtin;
use crate::pack::library::{Bytes, Library, Recording, Role};
use crate::pack::load::{self, Search};
use crate::pack::manifest::{self, Manifest};
use crate::pack::place::{Encoded, Place, rank};
use crate::units::time::Seconds;
use std::collections::{BTreeMap, BTreeSet};
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
    /// The name of its recording without the format's extension, from the pack's folder: `clips/phrases/look-down.short`.
    pub fn file(&self) -> String {
        let folder = self.role.folder();
        format!("clips/{folder}/{}", manifest::stem(&self.id, self.short))
    }
}

/// A file among the recordings that is not used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stray {
    /// No text has this id.
    NoText(String),
    /// Another format of the same recording is taken: this file, and that one.
    Twice(String, String),
    /// In a format that is not read.
    Format(String),
    /// In a folder that is none of recordings.
    Folder(String),
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
        let line = |place: Place| {
            let name = place.name();
            let hidden = !seen.insert(name.clone());
            Standing { name, place: place.to_string(), says: says(&place), hidden }
        };
        self.places().into_iter().map(line).collect()
    }

    fn places(&self) -> Vec<Place> {
        let mut found: Vec<Place> = Vec::new();
        for folder in self.extra.iter().chain(&self.user) {
            let mut inside: Vec<PathBuf> =
                folder.read_dir().into_iter().flatten().flatten().map(|entry| entry.path()).collect();
            // Hidden entries are skipped: they are being made, or gave way.
            inside.retain(|path| path.file_name().is_some_and(|name| !name.to_string_lossy().starts_with('.')));
            inside.sort();
            for place in Place::folder(folder).into_iter().chain(inside.iter().filter_map(|path| Place::folder(path))) {
                if !found.contains(&place) {
                    found.push(place);
                }
            }
        }
        found.extend(builtin::packs().iter().map(Place::BuiltIn));
        found
    }

    /// The pack in a folder, or of a name.
    ///
    /// # Errors
    /// Where there is none.
    pub fn open(&self, wanted: &str) -> Result<OpenedPack, NoPack> {
        let by_name = || self.places().into_iter().find(|place| place.name() == wanted);
        match Place::folder(Path::new(wanted)).filter(|_| !wanted.is_empty()).or_else(by_name) {
            Some(place) => Ok(self.opened(&place)),
            None => {
                let mut known: Vec<String> = self.places().iter().map(Place::name).collect();
                known.sort();
                known.dedup();
                let near = nearest(wanted, known.iter().map(String::as_str)).map(str::to_owned);
                Err(NoPack { name: wanted.to_owned(), near, known })
            }
        }
    }

    fn opened(&self, place: &Place) -> OpenedPack {
        let (folder, built_in) = match place {
            Place::Folder { shown, .. } => (Some(shown.clone()), None),
            Place::BuiltIn(pack) => (None, Some(pack.name.to_owned())),
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
        let files = files(place);
        let lines = manifest.iter().flat_map(|manifest| lines(manifest, &files, &library)).collect();
        OpenedPack {
            name: place.name(),
            place: place.to_string(),
            strays: strays(manifest.as_ref(), &files),
            scripts: scripts(place),
            folder,
            manifest,
            lines,
            library,
            problems,
            sources,
        }
    }
}

fn says(place: &Place) -> Option<Says> {
    let (name, text) = place.manifest();
    let mut sources = Sources::new();
    let source = sources.add(name, text.ok()?);
    let manifest = manifest::parse(source, &sources).0?;
    let files = files(place);
    let texts = || manifest.entries.iter().flat_map(forms);
    Some(Says {
        texts: texts().count(),
        recordings: texts().filter(|(role, name, ..)| files.taken.contains_key(&(*role, name.clone()))).count(),
        scripts: scripts(place).len(),
        version: manifest.version(),
        title: manifest.title,
        voice: manifest.voice,
        language: manifest.language,
    })
}

/// A text's role, the name of its recording, its words, and whether it is a short form.
fn forms(text: &manifest::ManifestText) -> impl Iterator<Item = (Role, String, &str, bool)> {
    let form = |words, short| (text.role, manifest::stem(&text.id.value, short), words, short);
    std::iter::once(form(text.full.as_str(), false)).chain(text.short.as_deref().map(|words| form(words, true)))
}

/// The files below a pack's `clips`.
struct Files {
    /// What is taken, by role and name without the extension.
    taken: BTreeMap<(Role, String), Encoded>,
    /// All names, from the pack's folder: the folder of the role, and the file.
    all: Vec<(String, String)>,
}

fn files(place: &Place) -> Files {
    let mut taken = BTreeMap::new();
    for (folder, role) in Role::ALL {
        // A folder that cannot be listed is among the problems.
        let found = place.recordings(folder).unwrap_or_default();
        taken.extend(found.into_iter().map(|(name, encoded)| ((role, name), encoded)));
    }
    Files { taken, all: place.clip_files() }
}

fn lines(manifest: &Manifest, files: &Files, library: &Library) -> Vec<PackLine> {
    let of = |text: &manifest::ManifestText| -> Vec<PackLine> {
        let entry = library.entry(text.role, &text.id.value);
        forms(text)
            .map(|(role, name, words, short)| {
                let spoken = entry.and_then(|entry| if short { entry.short.as_ref() } else { Some(&entry.full) });
                let heard = spoken.and_then(|spoken| library.recording(spoken.clip?));
                let source = match (files.taken.get(&(role, name)), heard) {
                    (Some(own), Some(heard)) if own.name == heard.name => HeardFrom::Own(heard.clone()),
                    (Some(own), _) => HeardFrom::Broken(own.name.clone()),
                    (None, Some(heard)) => HeardFrom::Borrowed(owner(library, heard), heard.len),
                    (None, None) => HeardFrom::Missing,
                };
                PackLine { role, id: text.id.value.clone(), short, text: words.to_owned(), span: text.id.span, source }
            })
            .collect()
    };
    manifest.entries.iter().flat_map(of).collect()
}

/// The name of the pack that a recording lies in.
fn owner(library: &Library, recording: &Recording) -> String {
    let lies_in = |place: &str, name: &str| match recording.bytes {
        Bytes::File(_) => Path::new(&recording.name).starts_with(place),
        _ => recording.name.starts_with(&format!("built in: {name}/")),
    };
    let pack = library.packs().iter().find(|pack| lies_in(&pack.place, &pack.name));
    pack.map_or_else(|| recording.name.clone(), |pack| pack.name.clone())
}

fn strays(manifest: Option<&Manifest>, files: &Files) -> Vec<Stray> {
    let Some(manifest) = manifest else { return Vec::new() };
    let known: BTreeSet<(Role, String)> =
        manifest.entries.iter().flat_map(forms).map(|(role, name, ..)| (role, name)).collect();
    let mut found = Vec::new();
    for (folder, file) in &files.all {
        let path = format!("clips/{folder}/{file}");
        let role = Role::ALL.iter().find(|(name, _)| name == folder).map(|(_, role)| *role);
        let stem = Path::new(file).file_stem().and_then(|stem| stem.to_str()).unwrap_or(file).to_owned();
        let Some(role) = role else {
            found.push(Stray::Folder(path));
            continue;
        };
        let taken = files.taken.get(&(role, stem.clone())).and_then(|own| Path::new(&own.name).file_name()?.to_str());
        match taken {
            _ if rank(Path::new(file)).is_none() => found.push(Stray::Format(path)),
            _ if !known.contains(&(role, stem)) => found.push(Stray::NoText(path)),
            Some(taken) if taken != file => found.push(Stray::Twice(path, format!("clips/{folder}/{taken}"))),
            _ => {}
        }
    }
    found
}

fn scripts(place: &Place) -> Vec<PathBuf> {
    match place {
        Place::BuiltIn(pack) => pack.scripts().map(|script| format!("{}/{}", pack.name, script.name).into()).collect(),
        Place::Folder { shown, .. } => {
            let script = |path: &PathBuf| {
                path.extension().is_some_and(|extension| extension == "yaml")
                    && path.file_name().is_some_and(|name| name != manifest::FILE)
                    && path.is_file()
            };
            let listed = shown.read_dir().into_iter().flatten().flatten().map(|entry| entry.path());
            let mut found: Vec<PathBuf> = listed.filter(script).collect();
            found.sort();
            found
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    const PACK: &str = "lengthwise-pack: 1\ntitle: Mine\nlanguage: en-GB\n\
        speaker: { voice: Ada, made-with: a phone, agreed: yes }\nlicence: MIT\nuses: [first-lengths]\nphrases:\n  \
        look-down: { full: look down at the tiles, short: eyes down }\n  tall-spine: { full: tall spine }\nsays:\n  \
        hello: Good to see you\n";

    fn wav(path: &Path, seconds: f64) {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: 24_000,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut writer = hound::WavWriter::create(path, spec).unwrap();
        for frame in 0..(seconds * 24_000.0) as i32 {
            writer.write_sample((frame % 50 * 200) as i16).unwrap();
        }
        writer.finalize().unwrap();
    }

    #[test]
    fn each_text_knows_where_it_is_heard_from() {
        let folder = tempfile::tempdir().unwrap();
        let pack = folder.path().join("mine");
        let clips = pack.join("clips");
        wav(&clips.join("phrases/tall-spine.wav"), 1.5);
        fs::write(pack.join(manifest::FILE), PACK).unwrap();
        fs::write(pack.join("b.yaml"), "lengthwise: 1").unwrap();
        fs::write(pack.join("a.yaml"), "lengthwise: 1").unwrap();
        fs::write(clips.join("phrases/tall-spine.ogg"), "").unwrap();
        fs::write(clips.join("phrases/look-down.short.mp3"), "no sound").unwrap();
        fs::write(clips.join("phrases/gone.flac"), "").unwrap();
        fs::write(clips.join("phrases/memo.m4a"), "").unwrap();
        fs::create_dir(clips.join("phrase")).unwrap();
        fs::write(clips.join("phrase/x.wav"), "").unwrap();
        fs::write(clips.join("made.tsv"), "").unwrap();
        // What is being opened is no pack yet.
        fs::create_dir(folder.path().join(".mine.part")).unwrap();
        fs::write(folder.path().join(".mine.part/pack.yaml"), PACK).unwrap();
        let shelf = Shelf { extra: vec![folder.path().to_owned()], user: None };
        for wanted in ["mine", pack.to_str().unwrap()] {
            let opened = shelf.open(wanted).unwrap();
            assert_eq!(opened.name, "mine");
            let seen: Vec<(String, &HeardFrom)> = opened.lines.iter().map(|line| (line.file(), &line.source)).collect();
            assert_eq!(seen[0].0, "clips/phrases/look-down");
            assert!(
                matches!(seen[0].1, HeardFrom::Borrowed(pack, len) if pack == "first-lengths" && *len > Seconds::ZERO)
            );
            assert_eq!(seen[1].0, "clips/phrases/look-down.short");
            assert!(matches!(seen[1].1, HeardFrom::Broken(file) if file.ends_with("look-down.short.mp3")));
            assert!(matches!(seen[2].1, HeardFrom::Own(own) if own.len == Seconds::from_millis(1_500)));
            assert_eq!(seen[3], ("clips/says/hello".to_owned(), &HeardFrom::Missing));
            assert_eq!(opened.scripts.iter().filter_map(|path| path.file_stem()).collect::<Vec<_>>(), ["a", "b"]);
            assert_eq!(opened.problems.len(), 1, "{:?}", opened.problems);
            let strays = [
                Stray::Folder("clips/phrase/x.wav".into()),
                Stray::NoText("clips/phrases/gone.flac".into()),
                Stray::Format("clips/phrases/memo.m4a".into()),
                Stray::Twice("clips/phrases/tall-spine.ogg".into(), "clips/phrases/tall-spine.wav".into()),
            ];
            assert_eq!(opened.strays, strays);
        }
        let listed = shelf.list();
        assert_eq!(listed.iter().map(|one| one.name.as_str()).collect::<Vec<_>>()[..2], ["mine", "announcer"]);
        let mine = listed[0].says.as_ref().unwrap();
        assert_eq!((mine.texts, mine.recordings, mine.scripts, mine.voice.as_str()), (4, 2, 2, "Ada"));
        let unknown = shelf.open("mien").unwrap_err().to_string();
        assert!(unknown.contains("did you mean `mine`?"), "{unknown}");
    }

    #[test]
    fn every_shipped_pack_is_whole() {
        for pack in builtin::packs() {
            let opened = Shelf::default().open(pack.name).unwrap();
            assert_eq!((&opened.problems, &opened.strays), (&Vec::new(), &Vec::new()), "{}", pack.name);
            let silent: Vec<_> = opened.lines.iter().filter(|line| line.source == HeardFrom::Missing).collect();
            assert!(silent.is_empty() && opened.lines.len() > 40, "{silent:?}");
        }
    }

    #[test]
    fn a_broken_manifest_is_listed_too() {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in [("empty", ""), ("strange", "- 1\n- 2"), ("binary", "\u{0}\u{1}")] {
            fs::create_dir(folder.path().join(name)).unwrap();
            fs::write(folder.path().join(name).join(manifest::FILE), text).unwrap();
            let opened = Shelf::default().open(folder.path().join(name).to_str().unwrap()).unwrap();
            assert!(opened.manifest.is_none() && !opened.problems.is_empty() && opened.lines.is_empty());
        }
        let shelf = Shelf { extra: Vec::new(), user: Some(folder.path().to_owned()) };
        assert_eq!(shelf.list().iter().filter(|standing| standing.says.is_none()).count(), 3);
    }
}
