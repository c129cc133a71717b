//! How much of a text is read, so that the work is bounded whatever bytes come in.

/// The largest text that is read, in bytes.
pub const LARGEST: usize = 1 << 20;
/// How deep collections may lie in each other, aliases expanded.
pub const DEEPEST: usize = 32;
/// How many events a text may have.
pub(super) const MOST_EVENTS: usize = 100_000;
/// How many keys a map may have.
pub(super) const MOST_KEYS: usize = 1_000;
/// How much aliases may copy, in bytes of [`weight`].
pub(super) const MOST_COPIED: usize = 8 << 20;
