//! Levels of a recording: of its speech and of the room behind it, in windows of time.

use crate::audio::filter::Biquad;
use std::ops::Range;

/// How long the kept part fades in and out, in milliseconds: a room's noise that sets in at once is heard as a click.
pub(super) const FADE: usize = 4;
/// Level below which numbers are not the sound of a room, in dBFS; what is called the noise of a digital silence.
pub(super) const NOTHING: f64 = -120.0;

/// Frames in `millis`, at least one.
pub(super) fn frames(rate: u32, millis: usize) -> usize {
    (rate as usize * millis / 1_000).max(1)
}

/// What is left above 80 Hz (fourth order): below it rooms rumble and hum, and voices have nothing.
pub(super) fn above(samples: &[f32], rate: u32) -> Vec<f32> {
    let mut above = samples.to_vec();
    // The two sections of a Butterworth filter of fourth order.
    for q in [0.541_196, 1.306_563] {
        Biquad::high_pass(rate, 80.0, q).run(&mut above);
    }
    above
}

/// Mean of the squares.
pub(super) fn power(samples: &[f32]) -> f64 {
    samples.iter().map(|&x| f64::from(x) * f64::from(x)).sum::<f64>() / samples.len().max(1) as f64
}

/// The value that a part of the numbers does not exceed; 0 of none.
pub(super) fn quantile(mut values: Vec<f64>, part: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let at = (values.len() as f64 * part) as usize;
    values.get(at.min(values.len().saturating_sub(1))).copied().unwrap_or_default()
}

/// A power in dBFS.
fn decibels(power: f64) -> f64 {
    (10.0 * libm::log10(power.max(1e-30))).max(NOTHING)
}

/// Powers of windows of 20 ms, smallest first.
fn windows(samples: &[f32], rate: u32) -> Vec<f64> {
    let mut powers: Vec<f64> = samples.chunks_exact(frames(rate, 20)).map(power).collect();
    powers.sort_by(f64::total_cmp);
    powers
}

/// Mean level of speech in dBFS, without its pauses.
pub(super) fn speech_level(spoken: &[f32], rate: u32) -> f64 {
    let powers = windows(spoken, rate);
    let Some(loudest) = powers.last() else { return decibels(power(spoken)) };
    let loud: Vec<f64> = powers.iter().copied().filter(|power| power * 316.0 >= *loudest).collect();
    decibels(loud.iter().sum::<f64>() / loud.len().max(1) as f64)
}

/// Level of what is heard outside of speech, in dBFS.
pub(super) fn background(audible: &[f32], speech: Option<&Range<usize>>, rate: u32) -> f64 {
    let Some(speech) = speech else {
        let powers = windows(audible, rate);
        return decibels(powers.get(powers.len() / 2).copied().unwrap_or(power(audible)));
    };
    // Echo and breath right beside speech are not background.
    let near = frames(rate, 60);
    let before = audible.get(..speech.start.saturating_sub(near)).unwrap_or_default();
    let after = audible.get(speech.end + near..).unwrap_or_default();
    let mut outside: Vec<f64> = [before, after].iter().flat_map(|part| windows(part, rate)).collect();
    outside.sort_by(f64::total_cmp);
    if outside.len() >= 5 {
        return decibels(outside.get(outside.len() / 2).copied().unwrap_or_default());
    }
    // Cut close to the speech: what is quietest within, where no fade has made it so.
    let fade = frames(rate, FADE + 1);
    let inner = audible.get(fade..audible.len().saturating_sub(fade)).unwrap_or_default();
    let mut powers: Vec<f64> = inner.chunks_exact(frames(rate, 10)).map(power).collect();
    powers.sort_by(f64::total_cmp);
    decibels(powers.get(powers.len() / 20).copied().unwrap_or_default())
}
