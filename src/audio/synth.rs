//! The sounds that are not voices: beats, the breath mark, countdown and go, and the tone for a text not yet recorded.
//!
//! Each is a sum of sine partials, all under 0.45 of the rate. How loud it is heard is not decided here: all come out
//! with a peak near full scale. Every sound begins on its first frame with a sample that is not zero.

use crate::units::time::{SampleRate, Seconds};
use std::f64::consts::{PI, TAU};

/// How long the breath mark lasts: two notes.
pub const BREATH: Seconds = Seconds::from_millis(130);
/// How long the mark of a look ahead lasts.
pub const SIGHT: Seconds = Seconds::from_millis(160);
/// How long the mark of a wall that is due lasts.
pub const WALL: Seconds = Seconds::from_millis(220);
/// How long a pip of the countdown lasts.
pub const PIP: Seconds = Seconds::from_millis(120);
/// How long the go lasts.
pub const GO: Seconds = Seconds::from_millis(500);
/// How long the tone for an unrecorded text lasts: no longer than the shortest estimate of such a text.
pub const PLACEHOLDER: Seconds = Seconds::from_millis(360);

/// No partial lies above this part of the rate.
const HIGHEST: f64 = 0.45;

/// One partial: its frequency against the sound's pitch, its strength, and the part of the sound's length in which it
/// falls to 1/e.
type Partial = (f64, f64, f64);

/// Something struck: the upper partials die first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instrument {
    /// Its own pitch in Hz.
    pub pitch: u32,
    /// Its own length.
    pub len: Seconds,
    partials: &'static [Partial],
}

impl Instrument {
    const fn new(pitch: u32, millis: i64, partials: &'static [Partial]) -> Self {
        Self { pitch, len: Seconds::from_millis(millis), partials }
    }

    /// A wood block. Partials chosen by ear and by spectrum, as those of `TICK` and `HIGH`.
    pub const WOOD: Self = Self::new(900, 60, &[(1.0, 1.0, 0.24), (2.4, 0.35, 0.1), (4.1, 0.15, 0.05)]);
    /// A small bell, its partials those of a free bar (1 : 2.756 : 5.404, textbook acoustics, from memory).
    pub const BELL: Self = Self::new(1_000, 80, &[(1.0, 1.0, 0.5), (2.756, 0.45, 0.3), (5.404, 0.2, 0.15)]);
    /// A short dry tick.
    pub const TICK: Self = Self::new(800, 40, &[(1.0, 1.0, 0.13), (3.3, 0.5, 0.09), (6.7, 0.25, 0.06)]);
    /// A low knock, its partials those of a membrane (1 : 1.594 : 2.136, textbook acoustics, from memory).
    pub const LOW: Self = Self::new(480, 80, &[(1.0, 1.0, 0.3), (1.594, 0.3, 0.15), (2.136, 0.15, 0.1)]);
    /// A high knock.
    pub const HIGH: Self = Self::new(1_500, 50, &[(1.0, 1.0, 0.26), (2.1, 0.2, 0.12)]);
}

/// A beat: an instrument at a pitch in Hz (200 to 4,000; brought down to 0.45 of the rate) for a length (20 to 200 ms).
pub fn beat(instrument: &Instrument, pitch: u32, len: Seconds, rate: SampleRate) -> Vec<f32> {
    let mut samples = silence(len, rate);
    let shape = Shape { attack: 0.001, release: 0.3, hold: samples.len() };
    note(&mut samples, rate, f64::from(pitch), instrument.partials, shape);
    full_scale(samples)
}

/// The mark of a stroke on which to breathe: two soft notes of these pitches in Hz. No beat has two notes.
pub fn breath(rate: SampleRate, [first, second]: [f64; 2]) -> Vec<f32> {
    const PARTIALS: &[Partial] = &[(1.0, 1.0, 0.6), (2.0, 0.3, 0.3), (3.0, 0.1, 0.2)];
    let mut samples = silence(BREATH, rate);
    let (middle, whole) = (samples.len() * 9 / 20, samples.len());
    let shape = |hold| Shape { attack: 0.002, release: 0.35, hold };
    note(&mut samples, rate, first, PARTIALS, shape(middle));
    if let Some(rest) = samples.get_mut(middle..) {
        note(rest, rate, second, PARTIALS, shape(whole - middle));
    }
    full_scale(samples)
}

/// The mark of a stroke on which to look ahead: a struck chord with a fifth in it. Nothing else has two pitches at once.
pub fn sight(rate: SampleRate) -> Vec<f32> {
    const PARTIALS: &[Partial] = &[(1.0, 1.0, 0.8), (1.5, 0.9, 0.8), (3.0, 0.2, 0.3)];
    let mut samples = silence(SIGHT, rate);
    let shape = Shape { attack: 0.002, release: 0.3, hold: samples.len() };
    note(&mut samples, rate, 560.0, PARTIALS, shape);
    full_scale(samples)
}

/// The mark of a wall that is due: one soft tone that falls by a fifth. Nothing else slides. It falls, as something that
/// arrives, and only once, so that it is no alarm.
pub fn wall(rate: SampleRate) -> Vec<f32> {
    const FROM: f64 = 720.0;
    const FALLS_TO: f64 = 480.0;
    let mut samples = silence(WALL, rate);
    let (hertz, frames) = (f64::from(rate.hertz()), samples.len() as f64);
    let seconds = frames / hertz;
    for (i, sample) in samples.iter_mut().enumerate() {
        let at = i as f64 / hertz;
        // The phase is the integral of a pitch that falls evenly.
        let turns = FROM * at + (FALLS_TO - FROM) * at * at / (2.0 * seconds);
        let rise = ((at + 1.0 / hertz) / 0.002).min(1.0);
        let left = ((frames - 1.0 - i as f64) / (0.6 * frames)).min(1.0);
        let fall = 0.5 - 0.5 * libm::cos(PI * left);
        *sample = ((libm::cos(TAU * turns) + 0.2 * libm::cos(2.0 * TAU * turns)) * rise * fall) as f32;
    }
    full_scale(samples)
}

/// A pip of the countdown: a steady, reedy tone, unlike the struck beats.
pub fn pip(rate: SampleRate) -> Vec<f32> {
    steady(rate, PIP, 587.33, 0.2)
}

/// The go: as the pip, a fifth higher and four times as long.
pub fn go(rate: SampleRate) -> Vec<f32> {
    steady(rate, GO, 880.0, 0.25)
}

/// Stands where a text has no recording: low and soft at both ends.
pub fn placeholder(rate: SampleRate) -> Vec<f32> {
    const PARTIALS: &[Partial] = &[(1.0, 1.0, 1e9), (2.0, 0.15, 1e9)];
    let mut samples = silence(PLACEHOLDER, rate);
    let hold = samples.len();
    note(&mut samples, rate, 330.0, PARTIALS, Shape { attack: 0.04, release: 0.5, hold });
    full_scale(samples)
}

fn steady(rate: SampleRate, len: Seconds, pitch: f64, release: f64) -> Vec<f32> {
    const PARTIALS: &[Partial] = &[(1.0, 1.0, 1e9), (2.0, 0.35, 1e9), (3.0, 0.18, 1e9)];
    let mut samples = silence(len, rate);
    let hold = samples.len();
    note(&mut samples, rate, pitch, PARTIALS, Shape { attack: 0.002, release, hold });
    full_scale(samples)
}

fn silence(len: Seconds, rate: SampleRate) -> Vec<f32> {
    // A beat of no frame could not be heard: one is the least.
    vec![0.0; rate.frames(len).max(1) as usize]
}

/// The rise and the fall of a note.
#[derive(Clone, Copy)]
struct Shape {
    /// Seconds from the onset to full level.
    attack: f64,
    /// The last part of the note, in which it falls to nothing.
    release: f64,
    /// Frames of the note.
    hold: usize,
}

/// Adds a note from the first frame on.
fn note(samples: &mut [f32], rate: SampleRate, pitch: f64, partials: &[Partial], shape: Shape) {
    let hertz = f64::from(rate.hertz());
    let limit = HIGHEST * hertz;
    let pitch = pitch.min(limit);
    let frames = shape.hold as f64;
    let attack = (shape.attack * hertz).max(1.0);
    let release = (shape.release * frames).max(1.0);
    for (i, sample) in samples.iter_mut().take(shape.hold).enumerate() {
        let at = i as f64;
        // Straight up, so that even the first frame is heard; a raised cosine down, ending on nothing.
        let rise = ((at + 1.0) / attack).min(1.0);
        let left = ((frames - 1.0 - at) / release).min(1.0);
        let fall = if frames < 2.0 { 1.0 } else { 0.5 - 0.5 * libm::cos(PI * left) };
        let mut sum = 0.0;
        for &(ratio, strength, decay) in partials {
            if pitch * ratio <= limit {
                // Cosines: all partials are at their top when the sound begins.
                let level = strength * libm::exp(-at / (decay * frames));
                sum += level * libm::cos(TAU * pitch * ratio * at / hertz);
            }
        }
        *sample += (sum * rise * fall) as f32;
    }
}

/// Scales to a peak of −0.2 dB of full scale.
fn full_scale(mut samples: Vec<f32>) -> Vec<f32> {
    let peak = samples.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
    if peak > 0.0 {
        let gain = 0.977 / peak;
        samples.iter_mut().for_each(|x| *x *= gain);
    }
    samples
}

#[cfg(test)]
mod tests;
