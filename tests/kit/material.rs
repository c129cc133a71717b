//! What tests are made of: scripts, sounds, and what lies in files and folders.

#![allow(dead_code, reason = "each test binary uses its part")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// The names in a folder, sorted.
pub fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<_> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// The chunks of a RIFF file after its head: name and content.
pub fn chunks(mut bytes: &[u8]) -> Vec<(String, &[u8])> {
    let mut chunks = Vec::new();
    bytes = &bytes[12..];
    while let [a, b, c, d, e, f, g, h, rest @ ..] = bytes {
        let size = u32::from_le_bytes([*e, *f, *g, *h]) as usize;
        chunks.push((String::from_utf8(vec![*a, *b, *c, *d]).unwrap(), &rest[..size]));
        bytes = &rest[size + size % 2..];
    }
    assert!(bytes.is_empty());
    chunks
}

/// The samples of a WAV of 16 bits, all channels in turn. A reader that checks each sample would take longer than the
/// render.
pub fn samples(wav: &Path) -> Vec<i16> {
    let bytes = fs::read(wav).unwrap();
    let (_, data) = chunks(&bytes).into_iter().find(|(name, _)| name == "data").unwrap();
    data.chunks_exact(2).map(|sample| i16::from_le_bytes([sample[0], sample[1]])).collect()
}

/// A WAV of one channel and 16 bits.
pub fn wav(sample_rate: u32, samples: impl IntoIterator<Item = i16>) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let sample_format = hound::SampleFormat::Int;
    let spec = hound::WavSpec { channels: 1, sample_rate, bits_per_sample: 16, sample_format };
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    samples.into_iter().for_each(|sample| writer.write_sample(sample).unwrap());
    writer.finalize().unwrap();
    bytes.into_inner()
}

/// A script with these lines below `practice:`, in a pool of 25 m.
pub fn script(practice: &str) -> String {
    format!("lengthwise: 1\ntitle: Try\npool: 25 m\npack: first-lengths\npractice:\n{practice}")
}

/// Everything below a folder: what it is, and its bytes.
pub fn snapshot(root: &Path) -> BTreeMap<PathBuf, Option<Vec<u8>>> {
    let (mut folders, mut found) = (vec![root.to_owned()], BTreeMap::new());
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let entry = entry.unwrap();
            let (path, kind) = (entry.path(), entry.file_type().unwrap());
            if kind.is_dir() {
                folders.push(path.clone());
            }
            assert!(!kind.is_symlink(), "{} is a link", path.display());
            found.insert(path.clone(), kind.is_file().then(|| fs::read(&path).unwrap()));
        }
    }
    found
}
