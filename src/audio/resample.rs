//! Changing the rate of a clip: a polyphase table of a Kaiser-windowed sinc, built once for each pair of rates.
//!
//! The table comes from `libm` and the sums run over eight accumulators in a fixed order, so that every machine
//! gets the same samples; libraries that choose their code by processor do not promise that.

use crate::units::time::gcd;
use std::f64::consts::PI;

/// Taps at the lower of the two rates.
const TAPS: usize = 64;
/// The middle of the transition band, as a part of the lower rate: flat to 0.42, silent from 0.50.
const CUTOFF: f64 = 0.46;
/// Kaiser's shape for 80 dB: `0.1102 (A − 8.7)` (Kaiser's design formula, as in Oppenheim and Schafer; from memory).
const BETA: f64 = 7.857;
/// Rates that share no large factor would need a table row for each of up to 192,000 phases: above this many rows are
/// interpolated, which costs under −100 dB of error.
const MOST_ROWS: u64 = 1_024;

/// Resamples clips from one rate to another.
#[derive(Clone, Debug)]
pub struct Resampler {
    /// The ratio of rates, reduced: `out` frames for each `in` frames.
    step_in: u64,
    step_out: u64,
    rows: u64,
    taps: usize,
    /// `rows + 1` rows of `taps`, the last one being the first one a sample later.
    table: Vec<f32>,
}

impl Resampler {
    /// A resampler between two rates in Hz; a rate of 0 is taken as 1.
    pub fn new(from: u32, to: u32) -> Self {
        let (from, to) = (u64::from(from.max(1)), u64::from(to.max(1)));
        let divisor = gcd(from, to);
        let (step_in, step_out) = (from / divisor, to / divisor);
        if from == to {
            return Self { step_in, step_out, rows: 1, taps: 0, table: Vec::new() };
        }
        // Going down, the filter must be as much longer as the rate is lower.
        let stretch = (from as f64 / to as f64).max(1.0);
        let taps = ((TAPS as f64 * stretch) as usize).next_multiple_of(8);
        let rows = step_out.min(MOST_ROWS);
        let mut table = Vec::with_capacity((rows as usize + 1) * taps);
        for row in 0..=rows {
            let phase = row as f64 / rows as f64;
            table.extend(kernel(taps, CUTOFF / stretch, phase));
        }
        Self { step_in, step_out, rows, taps, table }
    }

    /// The number of frames that come out for frames that go in: rounded up, so that no sound is cut.
    pub fn frames(&self, frames: usize) -> usize {
        (frames as u64 * self.step_out).div_ceil(self.step_in) as usize
    }

    /// Resamples a clip; frame 0 stays at time 0, before and after it is silence.
    pub fn run(&self, samples: &[f32]) -> Vec<f32> {
        if self.taps == 0 {
            return samples.to_vec();
        }
        let mut padded = vec![0.0_f32; self.taps / 2 - 1];
        padded.extend_from_slice(samples);
        padded.resize(samples.len() + 2 * self.taps, 0.0);
        let (mut base, mut rest) = (0_usize, 0_u64);
        let out = (0..self.frames(samples.len())).map(|_| {
            let near = padded.get(base..base + self.taps).unwrap_or_default();
            let place = rest * self.rows;
            let row = (place / self.step_out) as usize;
            let between = place % self.step_out;
            let mut sum = dot(near, self.row(row));
            if between != 0 {
                let next = dot(near, self.row(row + 1));
                sum += (between as f32 / self.step_out as f32) * (next - sum);
            }
            rest += self.step_in;
            base += (rest / self.step_out) as usize;
            rest %= self.step_out;
            sum
        });
        out.collect()
    }

    fn row(&self, row: usize) -> &[f32] {
        self.table.get(row * self.taps..(row + 1) * self.taps).unwrap_or_default()
    }
}

/// One row: the filter at whole samples around a point `phase` of a sample after the middle, summing to 1.
fn kernel(taps: usize, cutoff: f64, phase: f64) -> impl Iterator<Item = f32> {
    let half = (taps / 2) as f64;
    let at = move |tap: usize| {
        let t = tap as f64 - (half - 1.0) - phase;
        let angle = 2.0 * PI * cutoff * t;
        let sinc = if angle == 0.0 { 1.0 } else { libm::sin(angle) / angle };
        let edge = (1.0 - (t / half) * (t / half)).max(0.0);
        sinc * bessel_i0(BETA * libm::sqrt(edge))
    };
    let sum: f64 = (0..taps).map(at).sum();
    (0..taps).map(move |tap| (at(tap) / sum) as f32)
}

/// The modified Bessel function of order zero by its power series.
fn bessel_i0(x: f64) -> f64 {
    let quarter = x * x / 4.0;
    let (mut term, mut sum, mut k) = (1.0, 1.0, 1.0);
    while term > 1e-17 * sum {
        term *= quarter / (k * k);
        sum += term;
        k += 1.0;
    }
    sum
}

/// The sum of products, in an order that is the same everywhere and that a processor can do eight abreast.
fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut sums = [0.0_f32; 8];
    for (a, b) in a.as_chunks::<8>().0.iter().zip(b.as_chunks::<8>().0) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += a * b;
        }
    }
    let [a, b, c, d, e, f, g, h] = sums;
    ((a + e) + (b + f)) + ((c + g) + (d + h))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn sine(rate: u32, hertz: f64, frames: usize) -> Vec<f32> {
        (0..frames).map(|i| libm::sin(TAU * hertz * i as f64 / f64::from(rate)) as f32).collect()
    }

    /// The amplitude of a frequency in the middle of a clip, and what is left beside it (root of the sum of squares,
    /// as an amplitude), both in dB.
    fn level(samples: &[f32], rate: u32, hertz: f64) -> (f64, f64) {
        let quarter = samples.len() / 4;
        let middle = &samples[quarter..3 * quarter];
        // Least squares for sine and cosine, which need not fit whole periods.
        let (mut ss, mut cc, mut sc, mut xs, mut xc) = (0.0, 0.0, 0.0, 0.0, 0.0);
        let basis = |i: usize| {
            let angle = TAU * hertz * (quarter + i) as f64 / f64::from(rate);
            (libm::sin(angle), libm::cos(angle))
        };
        for (i, &x) in middle.iter().enumerate() {
            let (s, c) = basis(i);
            ss += s * s;
            cc += c * c;
            sc += s * c;
            xs += f64::from(x) * s;
            xc += f64::from(x) * c;
        }
        let det = ss * cc - sc * sc;
        let (s_amp, c_amp) = ((xs * cc - xc * sc) / det, (xc * ss - xs * sc) / det);
        let residue: f64 = middle
            .iter()
            .enumerate()
            .map(|(i, &x)| {
                let (s, c) = basis(i);
                let left = f64::from(x) - s_amp * s - c_amp * c;
                left * left
            })
            .sum();
        let db = |x: f64| 20.0 * libm::log10(x.max(1e-12));
        (db(libm::hypot(s_amp, c_amp)), db(libm::sqrt(2.0 * residue / middle.len() as f64)))
    }

    const PAIRS: [(u32, u32); 9] = [
        (24_000, 44_100),
        (24_000, 48_000),
        (44_100, 48_000),
        (48_000, 44_100),
        (16_000, 44_100),
        (24_000, 8_000),
        (8_000, 192_000),
        (192_000, 44_100),
        (24_000, 44_101),
    ];

    #[test]
    fn the_pass_band_is_flat_and_clean() {
        for (from, to) in PAIRS {
            let resampler = Resampler::new(from, to);
            let lower = f64::from(from.min(to));
            for part in [0.01, 0.1, 0.25, 0.37, 0.42] {
                let hertz = lower * part;
                let out = resampler.run(&sine(from, hertz, from as usize / 4));
                let (found, residue) = level(&out, to, hertz);
                assert!(found.abs() < 0.1, "{from} to {to}, {hertz} Hz: {found} dB");
                assert!(residue < -70.0, "{from} to {to}, {hertz} Hz: images at {residue} dB");
            }
        }
    }

    #[test]
    fn what_cannot_be_kept_is_silent() {
        for (from, to) in PAIRS.into_iter().filter(|(from, to)| from > to) {
            for part in [0.505, 0.6, 0.75, 0.95] {
                let hertz = (f64::from(to) * part).min(f64::from(from) * 0.49);
                let out = Resampler::new(from, to).run(&sine(from, hertz, from as usize / 4));
                let middle = &out[out.len() / 4..3 * out.len() / 4];
                let peak = middle.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
                assert!(peak < 3.2e-4, "{from} to {to}, {hertz} Hz: alias of {peak}");
            }
        }
    }

    #[test]
    fn lengths_round_up_and_time_stays() {
        for (from, to, frames, expected) in [
            (24_000, 44_100, 24_000, 44_100),
            (24_000, 44_100, 1, 2),
            (44_100, 24_000, 2, 2),
            (24_000, 24_000, 7, 7),
            (8_000, 192_000, 0, 0),
        ] {
            let resampler = Resampler::new(from, to);
            assert_eq!(resampler.frames(frames), expected);
            assert_eq!(resampler.run(&vec![0.5; frames]).len(), expected);
        }
        // A pulse in the middle of a clip comes out at the same time.
        for (from, to) in PAIRS {
            let mut pulse = vec![0.0; from as usize / 10];
            pulse[from as usize / 20] = 1.0;
            let out = Resampler::new(from, to).run(&pulse);
            let top = (0..out.len()).max_by(|&a, &b| out[a].total_cmp(&out[b])).unwrap();
            assert!((top as f64 - f64::from(to) / 20.0).abs() <= 1.0, "{from} to {to}: {top}");
        }
    }

    #[test]
    fn same_bits_everywhere() {
        // A checksum of the bits, pinned: a change of order, of the table or of the maths would change it.
        let mut seed = 7_u32;
        let noise: Vec<f32> = (0..2_000)
            .map(|_| {
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (seed >> 8) as f32 / 16_777_216.0 - 0.5
            })
            .collect();
        let bits = |to| {
            let out = Resampler::new(24_000, to).run(&noise);
            out.iter().fold(0xcbf2_9ce4_8422_2325_u64, |hash, x| {
                (hash ^ u64::from(x.to_bits())).wrapping_mul(0x100_0000_01b3)
            })
        };
        assert_eq!(
            (bits(44_100), bits(44_101), bits(8_000)),
            (18_396_936_110_625_711_180, 1_079_979_422_031_209_924, 6_021_110_325_758_667_679)
        );
    }

    #[test]
    fn bessel_values_are_right() {
        // Abramowitz and Stegun, table 9.8: e^-x I0(x) at 1 and 5 (from memory).
        assert!((bessel_i0(1.0) - 1.266_065_877_752).abs() < 1e-9);
        assert!((bessel_i0(5.0) - 27.239_871_823_604).abs() < 1e-7);
    }
}
