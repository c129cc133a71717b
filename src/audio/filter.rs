//! Second-order filters after the audio EQ cookbook (W3C note "Audio EQ Cookbook", Robert Bristow-Johnson).
//!
//! Coefficients through `libm` and state in `f64`, so that the same input gives the same output on every machine.

use std::f64::consts::TAU;

/// A second-order filter, `a0` normalised to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Biquad {
    /// Feed-forward coefficients `b0 b1 b2`.
    pub b: [f64; 3],
    /// Feedback coefficients `a1 a2`.
    pub a: [f64; 2],
}

/// The angle and the bandwidth term of the cookbook. The corner is kept under 0.49 of the rate, where the bilinear
/// transform still has a meaning.
fn corner(rate: u32, hertz: f64, q: f64) -> (f64, f64) {
    let rate = f64::from(rate.max(1));
    let angle = TAU * hertz.clamp(0.0, 0.49 * rate) / rate;
    (libm::cos(angle), libm::sin(angle) / (2.0 * q.max(1e-3)))
}

impl Biquad {
    fn normalised(b: [f64; 3], a0: f64, a: [f64; 2]) -> Self {
        Self { b: b.map(|b| b / a0), a: a.map(|a| a / a0) }
    }

    /// A low-pass of 12 dB an octave above `hertz`.
    pub fn low_pass(rate: u32, hertz: f64, q: f64) -> Self {
        let (cos, alpha) = corner(rate, hertz, q);
        let b1 = 1.0 - cos;
        Self::normalised([b1 / 2.0, b1, b1 / 2.0], 1.0 + alpha, [-2.0 * cos, 1.0 - alpha])
    }

    /// A high-pass of 12 dB an octave below `hertz`.
    pub fn high_pass(rate: u32, hertz: f64, q: f64) -> Self {
        let (cos, alpha) = corner(rate, hertz, q);
        let b1 = 1.0 + cos;
        Self::normalised([b1 / 2.0, -b1, b1 / 2.0], 1.0 + alpha, [-2.0 * cos, 1.0 - alpha])
    }

    /// A shelf of `db` above `hertz`.
    pub fn high_shelf(rate: u32, hertz: f64, q: f64, db: f64) -> Self {
        let (cos, alpha) = corner(rate, hertz, q);
        let amp = libm::pow(10.0, db / 40.0);
        let slope = 2.0 * libm::sqrt(amp) * alpha;
        let (up, down) = (amp + 1.0, amp - 1.0);
        Self::normalised(
            [amp * (up + down * cos + slope), -2.0 * amp * (down + up * cos), amp * (up + down * cos - slope)],
            up - down * cos + slope,
            [2.0 * (down - up * cos), up - down * cos - slope],
        )
    }

    /// Filters in place, from rest (transposed direct form II).
    pub fn run(&self, samples: &mut [f32]) {
        let ([b0, b1, b2], [a1, a2]) = (self.b, self.a);
        let (mut s1, mut s2) = (0.0, 0.0);
        for sample in samples {
            let x = f64::from(*sample);
            let y = b0 * x + s1;
            s1 = b1 * x - a1 * y + s2;
            s2 = b2 * x - a2 * y;
            *sample = y as f32;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values computed outside this program from the formulas of the W3C note, to 12 decimals, at 48 kHz.
    #[test]
    fn coefficients_are_the_cookbook_s() {
        let half = std::f64::consts::FRAC_1_SQRT_2;
        for (found, b, a) in [
            (
                Biquad::low_pass(48_000, 1_000.0, half),
                [0.003_916_126_661, 0.007_832_253_321, 0.003_916_126_661],
                [-1.815_341_082_705, 0.831_005_589_347],
            ),
            (
                Biquad::high_pass(48_000, 300.0, half),
                [0.972_613_898_500, -1.945_227_797_000, 0.972_613_898_500],
                [-1.944_477_657_767, 0.945_977_936_232],
            ),
            (
                Biquad::high_shelf(48_000, 4_000.0, half, 3.0),
                [1.327_279_882_166, -1.771_448_848_238, 0.671_953_838_362],
                [-1.220_826_978_259, 0.448_611_850_550],
            ),
        ] {
            for (found, expected) in found.b.iter().chain(&found.a).zip(b.iter().chain(&a)) {
                assert!((found - expected).abs() < 1e-11, "{found} {expected}");
            }
        }
    }

    /// Amplitude of a sine after the filter, once it has settled.
    fn gain(filter: &Biquad, hertz: f64) -> f64 {
        let mut samples: Vec<f32> =
            (0..9_600).map(|i| libm::sin(TAU * hertz * f64::from(i) / 48_000.0) as f32).collect();
        filter.run(&mut samples);
        let power: f64 = samples[4_800..].iter().map(|&x| f64::from(x) * f64::from(x)).sum();
        10.0 * libm::log10(power / 4_800.0 * 2.0)
    }

    #[test]
    fn levels_after_the_filter_are_right() {
        // By the formulas: −3.01 dB at the corner, half the shelf's gain at its corner, all of it far above.
        let half = std::f64::consts::FRAC_1_SQRT_2;
        assert!((gain(&Biquad::low_pass(48_000, 1_000.0, half), 1_000.0) + 3.01).abs() < 0.02);
        assert!((gain(&Biquad::high_pass(48_000, 300.0, half), 300.0) + 3.01).abs() < 0.02);
        let shelf = Biquad::high_shelf(48_000, 4_000.0, half, 6.0);
        assert!((gain(&shelf, 4_000.0) - 3.0).abs() < 0.02);
        assert!((gain(&shelf, 20_000.0) - 6.0).abs() < 0.1 && gain(&shelf, 200.0).abs() < 0.05);
    }

    #[test]
    fn a_corner_above_the_rate_stays_stable() {
        let mut samples = vec![1.0_f32; 4_000];
        Biquad::high_shelf(8_000, 6_000.0, 0.7, 6.0).run(&mut samples);
        assert!(samples.iter().all(|x| x.abs() < 4.0));
    }
}
