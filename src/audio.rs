//! Sound as numbers: decoding, filters, loudness, resampling, synthesis, and the bank of clips that a practice needs.
//!
//! No files, no devices, no time of day: bytes in, samples out, the same on every machine.

pub mod bank;
pub mod clip;
pub mod exposure;
pub mod filter;
pub mod loudness;
pub mod resample;
pub mod synth;
pub mod take;
pub mod voice;
