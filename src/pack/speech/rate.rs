//! The rate of the built-in voice, which the engine fixes.

/// Frames a second of the built-in voice.
pub(super) const RATE: u32 = 16_000;
