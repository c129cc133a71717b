//! The clips of one practice at one sample rate, ready to be mixed.

use crate::units::time::SampleRate;
use std::sync::Arc;

/// Mono samples at the output's rate.
#[derive(Clone, Debug, PartialEq)]
pub struct BankClip {
    /// Samples as decoded and resampled; 16 bit keeps a bank small and equal on all machines. Shared by the banks of
    /// several renders.
    pub samples: Arc<[i16]>,
    /// Linear gain from full scale (32,768) that brings the clip to its loudness.
    pub gain: f32,
    /// True peak of `samples × gain`, linear, 1.0 being full scale; never under-estimated by more than 0.3 dB.
    pub true_peak: f32,
}

/// All clips of a practice, in the order of its timeline's sounds.
#[derive(Clone, Debug, PartialEq)]
pub struct Bank {
    /// The rate of all clips.
    pub rate: SampleRate,
    /// The clips.
    pub clips: Vec<BankClip>,
}
