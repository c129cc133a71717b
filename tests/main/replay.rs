//! The fuzzers' seeds through the fuzzers' own checks: what was found once stays found, without a fuzzer at hand.
//!
//! A seed is any text or bytes; most are wrong on purpose. `tests/fuzz/feed.rs` says what must hold of all of them.

use crate::feed::{self, Reached};
use crate::open::{Came, bundle};
use crate::tables::{EXCHANGE, SHEET, roster_or_tables};
use std::fs;
use std::path::{Path, PathBuf};

/// All seeds together stay small enough for a repository.
const MOST_BYTES: usize = 300_000;

/// The seeds of one kind, each with its name.
fn seeds(kind: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/seeds").join(kind);
    let mut paths: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.into_iter().map(|path| (path.clone(), fs::read(path).unwrap())).collect()
}

/// Feeds every seed of a kind; a panic is told with the name of its seed.
fn feed<T>(kind: &str, feed: fn(&[u8]) -> T) -> Vec<T> {
    let fed = seeds(kind).into_iter().map(|(path, bytes)| {
        std::panic::catch_unwind(|| feed(&bytes)).unwrap_or_else(|_| panic!("with the seed {}", path.display()))
    });
    fed.collect()
}

#[test]
fn scripts() {
    let reached = feed("script", feed::script);
    // Seeds that all fail at their first line would prove nothing of what comes after.
    for stage in [Reached::Text, Reached::Script, Reached::Timeline] {
        let count = reached.iter().filter(|reached| **reached == stage).count();
        assert!(count >= 3, "only {count} of {} seeds end at {stage:?}", reached.len());
    }
}

#[test]
fn manifests() {
    let read = feed("manifest", feed::manifest);
    assert!(read.contains(&true) && read.contains(&false));
}

#[test]
fn rosters() {
    feed("roster", roster_or_tables);
    // Of each kind some are good and some are not.
    for kind in [Some(EXCHANGE), Some(SHEET), None] {
        let own = |bytes: &[u8]| bytes.first().copied().filter(|first| [EXCHANGE, SHEET].contains(first)) == kind;
        let seeds = seeds("roster").into_iter().filter(|(_, bytes)| own(bytes));
        let read: Vec<bool> = seeds.map(|(_, bytes)| roster_or_tables(&bytes)).collect();
        assert!(read.contains(&true) && read.contains(&false), "{kind:?}: {read:?}");
    }
}

#[test]
fn clips() {
    let decoded = feed("clip", feed::clip);
    assert!(decoded.contains(&true) && decoded.contains(&false));
}

#[test]
fn bundles() {
    let came = feed("bundle", bundle);
    for stage in [Came::Zip, Came::Content, Came::Open] {
        assert!(came.contains(&stage), "no seed ends at {stage:?}");
    }
}

#[test]
fn the_shipped_scripts_pass_as_they_are() {
    for script in lengthwise::pack::builtin::scripts() {
        assert!(feed::script(script.text.as_bytes()) >= Reached::Script, "{}/{}", script.pack, script.name);
    }
}

#[test]
fn the_seeds_are_few() {
    let all = ["script", "manifest", "roster", "clip", "bundle"].map(seeds);
    let bytes: usize = all.iter().flatten().map(|(_, bytes)| bytes.len()).sum();
    assert!(bytes < MOST_BYTES, "{bytes} bytes: minimise them, see DEVELOPERS.md");
}
