//! Bundles for the fuzzer: any bytes, or a ZIP made after a recipe whose sums are right, so that what lies behind them is
//! reached too. Whatever is fed, nothing but a good pack comes into the folder of packs, and nothing else changes.

use crate::zip::{Entry, Zip, sum, wav};
use lengthwise::bundle::BundleError;
use lengthwise::bundle::install::{InstallOutcome, InstallRequest, open_from};
use lengthwise::diag::render::render;
use lengthwise::diag::shown::is_harmful;
use lengthwise::pack::manifest;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use tempfile::TempDir;

const NAMES: [&str; 7] = [
    "pack.yaml",
    "tuesday.yaml",
    "clips/phrases/look-down.wav",
    "clips/phrases/look-down.short.ogg",
    "clips/phrases/long-neck.mp3",
    "clips/phrases/long-neck.flac",
    "clips/",
];
const MANIFEST: &str = "lengthwise-pack: 1\nversion: 2\ntitle: T\nlanguage: en\nspeaker: { voice: V, made-with: M, agreed: A }\n\
    licence: L\nphrases:\n  look-down: { full: look down, short: down }\n  long-neck: { full: long neck }\n";
const SCRIPT: &str = "lengthwise: 1\ntitle: T\npool: 25 m\npractice:\n  - { set: S, swim: 4 x 50 m on 1:40 }\n";
/// No recipe has more entries.
const MOST: usize = 12;

/// How far a bundle came.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Came {
    /// Its ZIP is refused.
    Zip,
    /// What is in it is refused.
    Content,
    /// It was opened.
    Open,
}

/// Bytes as a bundle if they begin with a `Z`, else as a recipe.
pub fn bundle(bytes: &[u8]) -> Came {
    match bytes.split_first() {
        Some((b'Z', rest)) => opened(rest.to_vec()),
        _ => opened(recipe(&mut Taken(bytes))),
    }
}

/// A folder of packs in a folder with other things, made once.
fn tree() -> &'static TempDir {
    static TREE: OnceLock<TempDir> = OnceLock::new();
    TREE.get_or_init(|| {
        let tree = tempfile::tempdir().unwrap();
        fs::create_dir_all(tree.path().join("a/packs/good")).unwrap();
        fs::write(tree.path().join("a/packs/good/pack.yaml"), MANIFEST).unwrap();
        for name in ["x.yaml", "a/x.yaml", "a/packs/x.wav"] {
            fs::write(tree.path().join(name), name).unwrap();
        }
        tree
    })
}

fn opened(bytes: Vec<u8>) -> Came {
    let folder = tree().path().join("a/packs");
    let before = snapshot(tree().path());
    let request = InstallRequest {
        bundle: PathBuf::new(),
        folder: folder.clone(),
        chosen: true,
        replace: true,
        stop: Arc::default(),
    };
    let len = bytes.len() as u64;
    let came = match open_from(bytes, len, "fed", &request) {
        Ok(opened) => {
            assert!(manifest::is_id(&opened.about.name) && opened.place == folder.join(&opened.about.name));
            // What was there already came from no bundle.
            if opened.outcome != InstallOutcome::Same {
                good(&opened.place, opened.about.recordings + opened.about.scripts.len() + 2);
            }
            if opened.outcome == InstallOutcome::New {
                fs::remove_dir_all(&opened.place).unwrap();
            } else if let InstallOutcome::Replaced { before, .. } = &opened.outcome {
                fs::remove_dir_all(&opened.place).unwrap();
                fs::rename(before, &opened.place).unwrap();
                fs::remove_dir(folder.join(".before")).unwrap();
            }
            Came::Open
        }
        Err(BundleError::Refused(refusal)) => {
            let shown = render(&refusal.diagnostics, &refusal.sources, false, 100).text(false);
            assert!(!shown.contains(|c| c != '\n' && is_harmful(c)), "{shown:?}");
            let first = refusal.diagnostics.first().unwrap();
            if first.message.starts_with("the bundle fed is refused: ") { Came::Zip } else { Came::Content }
        }
        Err(BundleError::NotAPack { .. }) => Came::Content,
        Err(error) => panic!("{error}"),
    };
    assert!(snapshot(tree().path()) == before, "something else was changed");
    came
}

/// A pack that was opened: plain files only, at least so many, with the sums that its list says.
fn good(place: &Path, least: usize) {
    let found = snapshot(place);
    let files: BTreeMap<_, _> = found.iter().filter_map(|(path, bytes)| Some((path, bytes.as_ref()?))).collect();
    assert!(files.len() >= least, "{} of {least} files", files.len());
    let sums = String::from_utf8(files[&place.join("SHA256SUMS")].clone()).unwrap();
    for (path, bytes) in files.iter().filter(|(path, _)| !path.ends_with("SHA256SUMS")) {
        let line = format!("{}  {}\n", sum(bytes), path.strip_prefix(place).unwrap().display());
        assert!(sums.contains(&line), "{line}");
    }
}

fn snapshot(root: &Path) -> BTreeMap<PathBuf, Option<Vec<u8>>> {
    let (mut folders, mut found) = (vec![root.to_owned()], BTreeMap::new());
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let entry = entry.unwrap();
            let (path, kind) = (entry.path(), entry.file_type().unwrap());
            assert!(kind.is_dir() || kind.is_file(), "{} is neither", path.display());
            if kind.is_dir() {
                folders.push(path.clone());
            }
            found.insert(path.clone(), kind.is_file().then(|| fs::read(&path).unwrap()));
        }
    }
    found
}

/// Bytes taken one after another; zeros when there are no more.
struct Taken<'a>(&'a [u8]);

impl Taken<'_> {
    fn byte(&mut self) -> u8 {
        self.some(1).first().copied().unwrap_or(0)
    }

    fn number(&mut self) -> usize {
        usize::from(self.byte()) | usize::from(self.byte()) << 8
    }

    fn some(&mut self, len: usize) -> Vec<u8> {
        let (some, rest) = self.0.split_at(len.min(self.0.len()));
        self.0 = rest;
        some.to_vec()
    }

    /// Bytes with some of them changed, as the next ones say.
    fn turned(&mut self, mut bytes: Vec<u8>, times: u8) -> Vec<u8> {
        for _ in 0..times {
            let (at, turn) = (self.number(), self.byte());
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= turn;
            }
        }
        bytes
    }
}

/// A recipe: how many bytes of the finished file are turned and which pack it is; then entry by entry its name, how it is
/// packed, what is in it, and whether the sums have it.
fn recipe(taken: &mut Taken<'_>) -> Vec<u8> {
    let head = taken.byte();
    let pack = if head & 0x10 == 0 { "new" } else { "good" };
    let (mut zip, mut sums) = (Zip::default(), String::new());
    while !taken.0.is_empty() && zip.entries.len() < MOST {
        let how = taken.byte();
        let known = NAMES.get(usize::from(how & 7));
        let name = match known {
            Some(name) => name.as_bytes().to_vec(),
            None => {
                let len = usize::from(taken.byte() & 63);
                taken.some(len)
            }
        };
        let usual = usual(known.copied().unwrap_or_default());
        let bytes = match how >> 4 & 3 {
            0 => usual,
            1 => {
                let len = taken.number();
                taken.some(len)
            }
            2 => {
                let times = taken.byte() & 15;
                taken.turned(usual, times)
            }
            _ => Vec::new(),
        };
        let path = String::from_utf8_lossy(&name).into_owned();
        if how & 0x40 == 0 && !path.ends_with('/') {
            sums.push_str(&format!("{}  {path}\n", sum(&bytes)));
        }
        let whole = [pack.as_bytes(), b"/", &name].concat();
        let mut entry = if how & 8 == 0 { Entry::stored(whole, bytes) } else { Entry::deflated(whole, bytes) };
        if how & 0x80 != 0 {
            entry.flags = 8;
            entry.behind = [entry.crc, entry.packed.len() as u32, entry.size].map(u32::to_le_bytes).concat();
        }
        if entry.name.ends_with(b"/") {
            entry.attributes = 0o40_755 << 16;
        }
        zip.entries.push(entry);
    }
    zip.entries.push(Entry::deflated(format!("{pack}/SHA256SUMS"), sums));
    taken.turned(zip.bytes(), head & 15)
}

/// What a file of a name holds in an honest pack.
fn usual(name: &str) -> Vec<u8> {
    match name {
        "pack.yaml" => MANIFEST.into(),
        "tuesday.yaml" => SCRIPT.into(),
        "clips/phrases/look-down.short.ogg" => {
            include_bytes!("../../cue-packs/first-lengths/clips/phrases/push-back.short.ogg").to_vec()
        }
        "clips/" => Vec::new(),
        _ => wav(400, 210.0),
    }
}
