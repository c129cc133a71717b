//! A fingerprint of everything that decides the bytes of a practice's files: what has the same need not be made again.
//!
//! A plan costs a hundredth of a render, so it is made each time and asked what it is; nothing is guessed from the age of
//! scripts or packs.

use crate::pack::ClipId;
use crate::prepare::Planned;
use crate::sink::output::Format;
use crate::sink::spec::{SOFTWARE, Spec};
use crate::timeline::Sound;
use crate::timeline::bank::{BankError, ClipFault};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fmt::{self, Write};
use std::sync::{Mutex, PoisonError};

/// What the engine is held to sound like: where this changes between two versions, so do all files.
const ENGINE: &str = include_str!("../../../tests/golden/hashes.txt");

/// Hashes of recordings, each made once; some hundred bytes each.
#[derive(Debug, Default)]
pub(super) struct Hashes(Mutex<HashMap<(String, i64), [u8; 32]>>);

impl Hashes {
    fn of(&self, planned: &Planned, id: ClipId) -> Result<[u8; 32], BankError> {
        let Some(recording) = planned.library.recording(id) else {
            return Err(BankError { recording: format!("number {}", id.0), why: ClipFault::Unknown });
        };
        let lock = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let key = (recording.name.clone(), recording.len.nanos());
        if let Some(known) = lock().get(&key) {
            return Ok(*known);
        }
        let bytes = recording
            .read()
            .map_err(|error| BankError { recording: recording.name.clone(), why: ClipFault::Read(error) })?;
        let hash = Sha256::digest(&bytes).into();
        lock().insert(key, hash);
        Ok(hash)
    }
}

/// A hash that is written to like a text, so that nothing of what goes into it is held in memory.
struct HashFeed(Sha256);

impl Write for HashFeed {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.0.update(text.as_bytes());
        Ok(())
    }
}

/// The fingerprint of files that are to be made of a practice. A caption's text stands for its file.
///
/// # Errors
/// Where a recording cannot be read.
pub(super) fn of(
    planned: &Planned,
    format: Format,
    files: &[(String, Spec)],
    captions: Option<&str>,
    hashes: &Hashes,
) -> Result<String, BankError> {
    let mut feed = HashFeed(Sha256::new());
    let timeline = &planned.built.timeline;
    let settings = planned.bank_settings();
    // Writing to a hash cannot fail.
    let _ = write!(feed, "{SOFTWARE}\n{ENGINE}\n{format:?} {settings:?} {:?}\n{captions:?}\n", timeline.ducking);
    for (name, spec) in files {
        // How many threads encode does not change a byte.
        let _ = writeln!(feed, "{name:?} {:?}", Spec { workers: 1, ..spec.clone() });
    }
    for sound in &timeline.sounds {
        match sound {
            // By its content: what a pack gained or lost beside it does not matter.
            Sound::Clip(id) => feed.0.update(hashes.of(planned, *id)?),
            other => {
                let _ = writeln!(feed, "{other:?}");
            }
        }
    }
    for leg in &timeline.legs {
        let _ = writeln!(feed, "{leg:?}");
    }
    let mut text = String::with_capacity(64);
    for byte in feed.0.finalize() {
        let _ = write!(text, "{byte:02x}");
    }
    Ok(text)
}
