//! A long recording parted at its pauses: from silence to silence, whatever it is that sounds there.

use super::measure::{above, frames, power, quantile};
use std::ops::Range;

/// The windows in which it is listened to, in milliseconds.
const STEP: usize = 10;
/// Windows of silence that part two pieces. A closed mouth inside a word takes up to 0.15 s; where sentences of one text are parted,
/// whoever lays the pieces beside the texts puts them together again.
const PAUSE: usize = 28;
/// The fewest windows that can be a piece; a click of a key has fewer.
const SHORTEST: usize = 5;
/// The windows, before and behind, of whose quietest part the room's level is taken: 8 s each, so that a door that opens counts from
/// then on.
const AROUND: usize = 800;
/// A room's windows scatter by up to this factor over their quietest sixth (8 dB), speech by more.
const OVER: f64 = 6.5;
/// Below the level that a tenth of the windows reach by this factor (30 dB) nothing counts: an echo dying away, a breath.
const FAINT: f64 = 1e-3;

/// The parts of a mono recording in which something sounds, in frames.
pub fn pieces(samples: &[f32], rate: u32) -> Vec<Range<usize>> {
    let hop = frames(rate, STEP);
    let powers: Vec<f64> = above(samples, rate).chunks(hop).map(power).collect();
    let smooth: Vec<f64> = (0..powers.len())
        .map(|at| {
            let near = powers.get(at.saturating_sub(1)..(at + 2).min(powers.len())).unwrap_or_default();
            near.iter().sum::<f64>() / near.len().max(1) as f64
        })
        .collect();
    let loud = quantile(smooth.clone(), 0.9) * FAINT;
    let mut found: Vec<Range<usize>> = Vec::new();
    for (block, part) in smooth.chunks(AROUND / 4).enumerate() {
        let first = block * (AROUND / 4);
        let near = first.saturating_sub(AROUND)..(first + AROUND).min(smooth.len());
        let least = (quantile(smooth.get(near).unwrap_or_default().to_vec(), 0.15) * OVER).max(loud).max(1e-9);
        for at in part.iter().enumerate().filter(|(_, power)| **power > least).map(|(at, _)| first + at) {
            match found.last_mut() {
                Some(last) if at - last.end < PAUSE => last.end = at + 1,
                _ => found.push(at..at + 1),
            }
        }
    }
    found.retain(|piece| piece.len() >= SHORTEST);
    found.into_iter().map(|piece| piece.start * hop..(piece.end * hop).min(samples.len())).collect()
}
