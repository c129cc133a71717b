//! Cue packs: phrases, recordings, beat tracks and scripts in a folder.
//!
//! [`library::Library`] is what the rest of the program sees: every spoken text of the packs in use, found by what it
//! is for, with its recording. Reading packs from disk or from the binary is `pack::load`'s job.

pub mod begin;
pub mod builtin;
pub mod inventory;
pub mod library;
pub mod load;
pub mod manifest;
pub mod place;
pub mod recorded;
pub mod role;
pub mod shelf;
pub mod speech;

/// A recording of the packs in use: its place in the library's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ClipId(pub u32);

impl ClipId {
    /// That of a place in the list.
    #[expect(clippy::expect_used, reason = "each recording has an entry in a manifest of at most a MiB")]
    pub(in crate::pack) fn new(place: usize) -> Self {
        Self(u32::try_from(place).expect("no packs hold four thousand million recordings"))
    }

    /// The same recording in a list that already has so many.
    pub(in crate::pack) fn behind(self, recordings: usize) -> Self {
        Self::new(self.0 as usize + recordings)
    }
}
