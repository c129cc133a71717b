//! Chance that hangs on nothing but its place: the same run of a simulation whatever else is simulated, on any machine, by any number
//! of threads.

/// Even bits of a place, by the finishing steps of the generator SplitMix64 (Steele, Lea & Flood 2014).
pub(super) const fn bits(seed: u64, place: u64) -> u64 {
    let z = seed.wrapping_add(place.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// About normal, with mean 0 and deviation 1, never beyond 4.9: eight even values of 16 bits together.
pub(super) fn normal(seed: u64, place: u64) -> f64 {
    let sum = |bits: u64| (0..4).map(|part| (bits >> (16 * part)) & 0xffff).sum::<u64>();
    let both = sum(bits(seed, 2 * place)) + sum(bits(seed, 2 * place + 1));
    // Each has the mean 65,535 / 2 and the variance (65,536² − 1) / 12.
    const MEAN: f64 = 4.0 * 65_535.0;
    const DEVIATION: f64 = 53_509.920_2;
    (both as f64 - MEAN) / DEVIATION
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_are_about_normal() {
        let draws: Vec<f64> = (0..100_000).map(|place| normal(7, place)).collect();
        let count = draws.len() as f64;
        let mean = draws.iter().sum::<f64>() / count;
        let variance = draws.iter().map(|draw| (draw - mean) * (draw - mean)).sum::<f64>() / count;
        // Three deviations of the mean, and of the variance, of so many.
        assert!(mean.abs() < 0.01 && (variance - 1.0).abs() < 0.014, "{mean} {variance}");
        let beyond = draws.iter().filter(|draw| draw.abs() > 1.281_551_6).count() as f64 / count;
        assert!((beyond - 0.2).abs() < 0.006, "{beyond}");
    }
}
