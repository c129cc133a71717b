//! What belongs to a pack in its folder, and whether it is good: the same for a folder that is to be shared and for one
//! that has just been unpacked.
//!
//! Nothing is written here. Which files a pack has is for `pack::inventory` to say.

use super::fault::{BundleError, MOST_BYTES, MOST_ENTRIES, Refusal};
use super::name::{self, EntryKind, EntryName, EntryRefused, SUMS};
use super::sums::Sum;
use crate::audio::clip;
use crate::cores;
use crate::diag::shown::ShownPath;
use crate::diag::{Code, Diagnostic, Sources, has_errors};
use crate::disk;
use crate::pack::inventory::{Inventory, Other, OtherKind, RecordingKey, Unlisted, texts};
use crate::pack::manifest::{self, Manifest};
use crate::pack::place::LinkOut;
use crate::pack::role::Role;
use crate::script::parse::parse;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// What a pack says of itself, and how much is in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct About {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: u32,
    /// `title`
    pub title: String,
    /// `language`
    pub language: String,
    /// `speaker.voice`
    pub voice: String,
    /// `speaker.agreed`
    pub agreed: String,
    /// `licence`
    pub licence: String,
    /// `uses`
    pub uses: Vec<String>,
    /// The names of its scripts, without the extension.
    pub scripts: Vec<String>,
    /// How many focus phrases it has.
    pub phrases: usize,
    /// How many recordings.
    pub recordings: usize,
}

/// A file of a pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BundleFile {
    /// Its path below the pack's folder, with slashes.
    pub path: String,
    /// Its SHA-256.
    pub sum: Sum,
    pub(super) from: BytesFrom,
}

/// Where the bytes of a file are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum BytesFrom {
    File(PathBuf),
    Text(String),
}

/// A pack that is good in all its parts.
#[derive(Clone, Debug)]
pub struct Content {
    /// What it says of itself.
    pub about: About,
    /// Its files in the order of their paths.
    pub pieces: Vec<BundleFile>,
    /// What else lies in the folder, as paths below it; of a folder only its own.
    pub left_out: Vec<String>,
}

impl Content {
    /// Whether both are made of the same files with the same bytes.
    pub fn same(&self, other: &Self) -> bool {
        let files = |content: &Self| -> Vec<_> { content.pieces.iter().map(|p| (p.path.clone(), p.sum)).collect() };
        files(self) == files(other)
    }
}

/// Reads the pack called `name` in a folder. `manifest` is the text to take instead of its manifest's, if there is one.
///
/// # Errors
/// Where it is wrong in any part, with every problem found, or cannot be read.
pub fn read(folder: &Path, name: &str, manifest: Option<String>) -> Result<Content, BundleError> {
    let folder = folder.canonicalize().map_err(BundleError::read(folder))?;
    let mut reading = ContentReader { folder, name, problems: Vec::new(), sources: Sources::new(), bytes: 0 };
    let content = reading.all(manifest)?;
    match content {
        Some(content) if !has_errors(&reading.problems) => Ok(content),
        _ => {
            let ContentReader { problems: diagnostics, sources, .. } = reading;
            Err(BundleError::Refused(Box::new(Refusal { diagnostics, sources })))
        }
    }
}

struct ContentReader<'a> {
    /// Free of links.
    folder: PathBuf,
    name: &'a str,
    problems: Vec<Diagnostic>,
    sources: Sources,
    bytes: u64,
}

impl ContentReader<'_> {
    fn all(&mut self, given: Option<String>) -> Result<Option<Content>, BundleError> {
        let mut inventory = Inventory::of_folder(&self.folder);
        if let Some(Unlisted { path, error }) = inventory.unlisted.pop() {
            return Err(BundleError::read(self.folder.join(path))(error));
        }
        let mut left_out = self.others(&inventory.others);
        let from = match given {
            Some(text) => BytesFrom::Text(text),
            None if inventory.has_manifest => self.from(manifest::FILE),
            None => {
                let message = format!("{} is no cue pack: it has no {}", self.folder.shown(), manifest::FILE);
                self.problems.push(Diagnostic::whole(Code::PackBroken, message));
                return Ok(None);
            }
        };
        let mut pieces = Vec::new();
        let manifest = self.manifest(from, &mut pieces)?;
        if let Some(manifest) = manifest.as_ref().filter(|own| own.is_spoken() && !manifest::is_word(&own.agreed)) {
            let message = format!("the pack does not say that {} agreed to be heard in it", manifest.voice);
            let hint = "write their word under `speaker: agreed`, a guardian's for a child";
            self.problems.push(Diagnostic::whole(Code::PackBroken, message).hint(hint));
        }
        let mut scripts = Vec::new();
        for file in &inventory.scripts {
            if self.check_name(file) {
                scripts.extend(self.script(file, &mut pieces)?);
            }
        }
        let mut recordings = 0;
        if let Some(manifest) = &manifest {
            recordings = self.clips(manifest, &inventory, &mut pieces, &mut left_out)?;
        }
        if pieces.len() >= MOST_ENTRIES || self.bytes > MOST_BYTES {
            let message = format!(
                "the pack has {} files with {} MiB; at most {MOST_ENTRIES} with {} MiB can be shared as one",
                pieces.len(),
                self.bytes >> 20,
                MOST_BYTES >> 20
            );
            self.problems.push(Diagnostic::whole(Code::PackBroken, message).hint("make two packs of it"));
        }
        pieces.sort_by(|a, b| a.path.cmp(&b.path));
        left_out.sort();
        Ok(manifest.map(|manifest| {
            let about = self.about(manifest, scripts, recordings);
            Content { about, pieces, left_out }
        }))
    }

    fn about(&self, manifest: Manifest, mut scripts: Vec<String>, recordings: usize) -> About {
        scripts.sort();
        About {
            name: self.name.to_owned(),
            version: manifest.version(),
            phrases: manifest.entries.iter().filter(|entry| entry.role == Role::Phrase).count(),
            title: manifest.title,
            language: manifest.language,
            voice: manifest.voice,
            agreed: manifest.agreed,
            licence: manifest.licence,
            uses: manifest.uses.into_iter().map(|name| name.value).collect(),
            scripts,
            recordings,
        }
    }

    fn manifest(&mut self, from: BytesFrom, pieces: &mut Vec<BundleFile>) -> Result<Option<Manifest>, BundleError> {
        let Some(text) = self.text(manifest::FILE, EntryKind::Manifest, &from, pieces)? else { return Ok(None) };
        let source = self.sources.add(format!("{}/{}", self.name, manifest::FILE), text);
        let (manifest, problems) = manifest::parse(source, &self.sources);
        self.problems.extend(problems);
        Ok(manifest)
    }

    /// Reads a script, and gives its name if it is one.
    fn script(&mut self, file: &str, pieces: &mut Vec<BundleFile>) -> Result<Option<String>, BundleError> {
        let Some(text) = self.text(file, EntryKind::Script, &self.from(file), pieces)? else { return Ok(None) };
        let source = self.sources.add(format!("{}/{file}", self.name), text);
        let (script, problems) = parse(source, &self.sources);
        self.problems.extend(problems);
        Ok(script.and_then(|_| Some(file.strip_suffix(".yaml")?.to_owned())))
    }

    /// The text of a file, which becomes a piece too; `None` where it is not text, which is reported.
    fn text(
        &mut self,
        path: &str,
        kind: EntryKind,
        from: &BytesFrom,
        pieces: &mut Vec<BundleFile>,
    ) -> Result<Option<String>, BundleError> {
        let Some(bytes) = self.bytes_of(path, kind, from)? else { return Ok(None) };
        let sum = Sha256::digest(&bytes).into();
        pieces.push(BundleFile { path: path.to_owned(), sum, from: from.clone() });
        let text = String::from_utf8(bytes);
        if text.is_err() {
            self.wrong(path, "is no UTF-8 text");
        }
        Ok(text.ok())
    }

    /// What belongs to no pack, as paths below the folder. A link in the place of something that does is a problem too.
    fn others(&mut self, others: &[Other]) -> Vec<String> {
        let mut left_out = Vec::new();
        for Other { path, kind } in others {
            match kind {
                OtherKind::Note if path == SUMS => {}
                OtherKind::Folder(_) => left_out.push(format!("{path}/")),
                OtherKind::LinkOut => {
                    self.link_out(path);
                    left_out.push(path.clone());
                }
                OtherKind::Note | OtherKind::NoRecording | OtherKind::Strange => left_out.push(path.clone()),
            }
        }
        left_out
    }

    /// Reports a link that stands where a part of the pack could.
    fn link_out(&mut self, path: &str) {
        let whole = format!("{}/{path}", self.name);
        if [whole.clone(), whole + "/"].iter().any(|name| EntryName::parse(name.as_bytes()).is_ok()) {
            self.wrong(path, LinkOut);
        }
    }

    /// The recordings that the manifest's texts have: of several of one text the one that is heard. Gives their count.
    fn clips(
        &mut self,
        manifest: &Manifest,
        inventory: &Inventory,
        pieces: &mut Vec<BundleFile>,
        left_out: &mut Vec<String>,
    ) -> Result<usize, BundleError> {
        let known: BTreeSet<RecordingKey> = manifest.entries.iter().flat_map(texts).map(|text| text.key).collect();
        let mut wanted = Vec::new();
        for (key, files) in inventory.recordings() {
            for (place, file) in files.iter().enumerate() {
                if file.bytes.is_err() {
                    self.link_out(&file.path);
                }
                let heard = place == 0 && file.bytes.is_ok() && known.contains(key);
                if heard { &mut wanted } else { &mut *left_out }.push(file.path.clone());
            }
        }
        wanted.retain(|path| self.check_name(path));
        let read = |path: &String| -> Result<(Sum, u64, Option<String>), BundleError> {
            let from = self.from(path);
            let bytes = match bytes(&from, EntryKind::Clip.most()).map_err(BundleError::read(self.folder.join(path)))? {
                Ok(bytes) => bytes,
                Err(why) => return Ok(([0; 32], 0, Some(why.into()))),
            };
            let why = clip::decode(&bytes).err().map(|error| error.to_string());
            Ok((Sha256::digest(&bytes).into(), bytes.len() as u64, why))
        };
        let found = cores::share(cores::count(), &wanted, || (), |(), path| read(path));
        let count = wanted.len();
        for (path, found) in wanted.into_iter().zip(found) {
            let (sum, size, why) = found?;
            self.bytes += size;
            if let Some(why) = why {
                self.wrong(&path, why);
            }
            pieces.push(BundleFile { from: self.from(&path), path, sum });
        }
        Ok(count)
    }

    fn from(&self, path: &str) -> BytesFrom {
        BytesFrom::File(self.folder.join(path))
    }

    fn bytes_of(&mut self, path: &str, kind: EntryKind, from: &BytesFrom) -> Result<Option<Vec<u8>>, BundleError> {
        match bytes(from, kind.most()).map_err(BundleError::read(self.folder.join(path)))? {
            Ok(bytes) => {
                self.bytes += bytes.len() as u64;
                Ok(Some(bytes))
            }
            Err(why) => {
                self.wrong(path, why);
                Ok(None)
            }
        }
    }

    /// Whether every system takes the name of a file; tells where not.
    fn check_name(&mut self, path: &str) -> bool {
        let why = EntryName::parse(format!("{}/{path}", self.name).as_bytes()).err();
        if let Some(why) = &why {
            let message = format!("`{}/{}` {why}", self.name, name::shown(path));
            self.problems.push(Diagnostic::whole(Code::PackBroken, message).hint("give the file another name"));
        }
        why.is_none()
    }

    fn wrong(&mut self, path: &str, why: impl fmt::Display) {
        let message = format!("`{}/{}` {why}", self.name, name::shown(path));
        self.problems.push(Diagnostic::whole(Code::PackBroken, message));
    }
}

/// The bytes of a file, or why it is too large.
pub(super) fn bytes(from: &BytesFrom, most: u64) -> io::Result<Result<Vec<u8>, EntryRefused>> {
    let path = match from {
        BytesFrom::Text(text) => return Ok(Ok(text.clone().into_bytes())),
        BytesFrom::File(path) => path,
    };
    match disk::read(path, most) {
        Ok(bytes) => Ok(Ok(bytes)),
        Err(error) if error.kind() == io::ErrorKind::FileTooLarge => {
            Ok(Err(format!("is larger than {} MiB", most >> 20).into()))
        }
        Err(error) => Err(error),
    }
}
