//! Cue packs: phrases, recordings, beat tracks and scripts in a folder.
//!
//! [`library::Library`] is what the rest of the program sees: every spoken text of the packs in use, found by what it
//! is for, with its recording. Reading packs from disk or from the binary is `pack::load`'s job.

pub mod begin;
pub mod builtin;
pub mod library;
pub mod load;
pub mod manifest;
pub mod place;
pub mod shelf;
pub mod speech;

/// A recording of the packs in use: its place in the library's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ClipId(pub u32);
