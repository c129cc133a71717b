//! The rate of the built-in voice, which the engine fixes, and the speed at which it speaks.

/// Frames a second of the built-in voice.
pub(super) const RATE: u32 = 16_000;
/// Percent of the voice's usual speed: about the 150 words a minute of a person who speaks to be understood.
pub(super) const SPEED: u32 = 90;
