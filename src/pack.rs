//! Cue packs: phrases, recordings, beat tracks and scripts in a folder.

/// A recording of the packs in use: its place in the library's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ClipId(pub u32);
