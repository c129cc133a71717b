//! Recordings still encoded: where their bytes are, how long they last, and whose they are.
//!
//! Nothing is decoded here, and nothing kept in memory before it is needed.

use crate::disk;
use crate::units::time::Seconds;
use std::borrow::Cow;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;

/// A recording, still encoded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recording {
    /// The name that messages show: a path, or `built in: announcer/clips/words/next.ogg`.
    pub name: String,
    /// The encoded bytes.
    pub bytes: Bytes,
    /// How long it lasts, as measured when its pack was opened.
    pub len: Seconds,
    /// Whose it is.
    pub provenance: Provenance,
}

/// Whose a recording is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Provenance {
    /// A pack's, in the voice that the pack names.
    Pack(PackId),
    /// The built-in voice's: nobody spoke it.
    BuiltInVoice,
    /// Nobody's yet: it stands for one that is still to be made.
    StandIn,
}

/// A pack in use: its place in the library's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PackId(usize);

impl PackId {
    pub(in crate::pack) const fn new(place: usize) -> Self {
        Self(place)
    }

    pub(in crate::pack) const fn index(self) -> usize {
        self.0
    }
}

impl Recording {
    /// The encoded bytes, read from disk if they lie there.
    pub fn read(&self) -> io::Result<Cow<'_, [u8]>> {
        self.bytes.read()
    }

    /// The same in a library that already has so many packs.
    pub(in crate::pack) const fn behind(mut self, packs: usize) -> Self {
        if let Provenance::Pack(PackId(place)) = &mut self.provenance {
            *place += packs;
        }
        self
    }
}

/// The largest recording read from disk, in bytes: a minute of 192 kHz stereo in 32 bit.
pub const LARGEST_RECORDING: u64 = 100 << 20;

/// Where encoded bytes are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Bytes {
    /// In the binary.
    Static(&'static [u8]),
    /// In memory.
    Given(Arc<[u8]>),
    /// On disk.
    File(PathBuf),
}

impl Bytes {
    /// The bytes themselves, read from disk if they lie there.
    pub fn read(&self) -> io::Result<Cow<'_, [u8]>> {
        match self {
            Self::Static(bytes) => Ok(Cow::Borrowed(bytes)),
            Self::Given(bytes) => Ok(Cow::Borrowed(bytes)),
            Self::File(path) => disk::read(path, LARGEST_RECORDING).map(Cow::Owned),
        }
    }
}
