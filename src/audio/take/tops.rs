//! Flat tops: runs of equal samples where a converter or an amplifier had no more room.
//!
//! Tops that were rounded off softly, by a compressor or by a lossy codec, cannot be told from a voice and are not found.

/// The fewest equal samples that are a flat top; two equal ones are common at the top of any low tone.
const RUN: usize = 3;
/// Where full scale begins: some converters stop a little below it.
const FULL: f32 = 0.985;
/// What was clipped first and turned down after has its tops at one height again and again. The fewest tops that are
/// taken for that: a voice reaches its highest value, to the bit, once.
const AGAIN: usize = 3;
/// Height below which steps of 16 bit themselves make flat tops.
const COARSE: f32 = 0.03;
/// One step of 16 bit.
const STEP: f32 = 1.0 / 32_768.0;

/// How many samples lie on flat tops, on both sides of zero together.
pub(super) fn count(samples: &[f32]) -> usize {
    side(samples, 1.0) + side(samples, -1.0)
}

fn side(samples: &[f32], sign: f32) -> usize {
    let top = samples.iter().fold(0.0_f32, |top, x| top.max(x * sign));
    if top < COARSE {
        return 0;
    }
    let (mut runs, mut flat, mut run) = (0, 0, 0);
    for high in samples.iter().map(|x| (x * sign).min(1.0) >= top.min(1.0) - STEP).chain([false]) {
        if high {
            run += 1;
            continue;
        }
        if run >= RUN {
            (runs, flat) = (runs + 1, flat + run);
        }
        run = 0;
    }
    if top >= FULL || runs >= AGAIN { flat } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn vowel(amplitude: f64) -> Vec<f32> {
        // A rising and falling buzz of 110 Hz, as a voice has it: no two periods are equally high.
        let at = |i: i32| {
            let t = f64::from(i) / 48_000.0;
            let buzz: f64 = (1..20)
                .map(|n| libm::cos(std::f64::consts::TAU * 110.0 * f64::from(n) * t + f64::from(n * n)) / f64::from(n))
                .sum();
            buzz * libm::sin(std::f64::consts::PI * t / 0.5) / 2.5
        };
        (0..24_000).map(|i| (libm::rint(amplitude * at(i) * 32_768.0) / 32_768.0) as f32).collect()
    }

    #[test]
    fn flat_tops_are_found_at_full_scale_and_below() {
        for (after, amplitude) in [(1.0, 2.0), (1.0, 4.0), (0.7, 1.6), (0.25, 3.0), (0.05, 2.0)] {
            let clipped: Vec<f32> = vowel(amplitude).iter().map(|x| x.clamp(-1.0, 1.0) * after).collect();
            let truth = vowel(amplitude).iter().filter(|x| x.abs() >= 1.0).count();
            let found = count(&clipped);
            assert!(found * 10 >= truth * 8 && found <= truth + truth / 10, "{after} of {amplitude}: {found} {truth}");
        }
    }

    #[test]
    fn a_voice_with_room_above_has_none() {
        for amplitude in [0.01, 0.05, 0.2, 0.5, 0.9] {
            assert_eq!(count(&vowel(amplitude)), 0, "{amplitude}");
        }
        assert_eq!(count(&[0.0; 1_000]) + count(&[]), 0);
    }
}
