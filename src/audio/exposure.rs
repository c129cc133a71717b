//! Sound exposure: A-weighting, and what a level over a time comes to by the criteria for ears.
//!
//! All of it is an estimate: it knows of no noise but the sound itself. Where the sound comes from is not known here.

use crate::audio::filter::Biquad;
use std::f64::consts::{PI, TAU};

/// The pole frequencies of A-weighting in Hz (IEC 61672-1, secondary source).
const POLES: [f64; 4] = [20.598_997, 107.652_65, 737.862_23, 12_194.217];

/// A-weighting as filters, 0 dB at 1 kHz. Within 0.05 dB of the analogue formula from 31.5 Hz to 8 kHz, at rates from
/// 44.1 kHz.
#[derive(Clone, Debug)]
pub struct AWeighting {
    stages: [Biquad; 3],
    gain: f64,
    state: [[f64; 2]; 3],
}

impl AWeighting {
    /// At rest, for a rate in Hz.
    pub fn new(rate: u32) -> Self {
        let rate = f64::from(rate.max(8_000));
        let stages = [high_pass(rate, POLES[0], POLES[0]), high_pass(rate, POLES[1], POLES[2]), low_pass(rate)];
        let mut weighting = Self { stages, gain: 1.0, state: [[0.0; 2]; 3] };
        weighting.gain = 1.0 / libm::sqrt(weighting.power_at(1_000.0, rate));
        weighting
    }

    /// The next sample, weighted.
    pub fn next(&mut self, sample: f64) -> f64 {
        let mut x = sample * self.gain;
        for (stage, [s1, s2]) in self.stages.iter().zip(&mut self.state) {
            let y = stage.b[0] * x + *s1;
            *s1 = stage.b[1] * x - stage.a[0] * y + *s2;
            *s2 = stage.b[2] * x - stage.a[1] * y;
            x = y;
        }
        x
    }

    /// Whether it has come to rest: 140 dB below full scale.
    pub fn rests(&self) -> bool {
        self.state.iter().flatten().all(|s| s.abs() < 1e-7)
    }

    fn power_at(&self, hertz: f64, rate: f64) -> f64 {
        let power = |stage: &Biquad| {
            let square = |[a, b, c]: [f64; 3]| {
                let w = TAU * hertz / rate;
                let real = a + b * libm::cos(w) + c * libm::cos(2.0 * w);
                let imaginary = b * libm::sin(w) + c * libm::sin(2.0 * w);
                real * real + imaginary * imaginary
            };
            square(stage.b) / square([1.0, stage.a[0], stage.a[1]])
        };
        self.stages.iter().map(power).product::<f64>() * self.gain * self.gain
    }
}

/// Two poles and two zeros at 0 Hz by the bilinear transform, whose bent frequencies do no harm so far down.
fn high_pass(rate: f64, first: f64, second: f64) -> Biquad {
    let [p, q] = [first, second].map(|pole| PI * pole / rate).map(|k| (1.0 - k) / (1.0 + k));
    Biquad { b: [1.0, -2.0, 1.0], a: [-p - q, p * q] }
}

/// The double pole at 12 kHz, near or above half the rate, where the bilinear transform is far off. Its poles are those of
/// the analogue filter; the zeros give its gain exactly at 0, 4 and 8 kHz (the way of Vicanek's "Matched second order
/// digital filters", from memory).
fn low_pass(rate: f64) -> Biquad {
    let pole = libm::exp(-TAU * POLES[3] / rate);
    let a = [-2.0 * pole, pole * pole];
    let analogue = |hertz: f64| {
        let ratio = hertz / POLES[3];
        1.0 / ((1.0 + ratio * ratio) * (1.0 + ratio * ratio))
    };
    // |B|² = B0 φ0 + B1 φ1 + B2 φ2, with φ1 = sin²(w/2), φ0 = 1 − φ1, φ2 = 4 φ0 φ1.
    let wanted = |hertz: f64| {
        let w = TAU * hertz / rate;
        let phi = libm::sin(w / 2.0) * libm::sin(w / 2.0);
        let denominator = 1.0 + pole * pole - 2.0 * pole * libm::cos(w);
        (phi, analogue(hertz) * denominator * denominator)
    };
    let zero = (1.0 - pole) * (1.0 - pole) * (1.0 - pole) * (1.0 - pole);
    // Of slow rates, points below half the rate.
    let high = (0.4 * rate).min(8_000.0);
    let rest = |(phi, power): (f64, f64)| (phi, (power - zero * (1.0 - phi)) / phi);
    let ((p1, r1), (p2, r2)) = (rest(wanted(high / 2.0)), rest(wanted(high)));
    // rest = B1 + 4 B2 φ0
    let b2 = (r1 - r2) / (4.0 * (p2 - p1));
    let b1 = (r1 - 4.0 * b2 * (1.0 - p1)).max(0.0);
    let (root0, root1) = (libm::sqrt(zero), libm::sqrt(b1));
    let w = (root0 + root1) / 2.0;
    let first = (w + libm::sqrt((w * w + b2).max(0.0))) / 2.0;
    Biquad { b: [first, (root0 - root1) / 2.0, -b2 / (4.0 * first)], a }
}

/// A level over a time at somebody's ears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exposure {
    /// Equivalent continuous A-weighted level at the ear, LAeq, in dB re 20 µPa.
    pub laeq: f64,
    /// Hours.
    pub hours: f64,
}

/// A weekly allowance in Pa²h (ITU-T H.870, WHO-ITU).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ears {
    /// 1.6 Pa²h: 80 dBA for 40 hours.
    Adult,
    /// 0.51 Pa²h: 75 dBA for 40 hours; for children and sensitive ears.
    Sensitive,
}

impl Ears {
    /// The level that may be heard for 40 hours a week.
    const fn level(self) -> f64 {
        match self {
            Self::Adult => 80.0,
            Self::Sensitive => 75.0,
        }
    }

    /// The allowance in Pa²h.
    pub fn allowance(self) -> f64 {
        Exposure { laeq: self.level(), hours: 40.0 }.pascals()
    }

    /// Hours a week at a level.
    pub fn hours(self, laeq: f64) -> f64 {
        40.0 * libm::pow(10.0, (self.level() - laeq) / 10.0)
    }
}

impl Exposure {
    /// From the energy of a sound, the integral of its weighted square over the time in seconds (samples of ±1), and the
    /// level in dBA that a sine of full scale has at the ear: its mean square is ½. `None` for silence.
    pub fn of(energy: f64, seconds: f64, full_scale: f64) -> Option<Self> {
        let mean = energy / seconds;
        (mean > 0.0).then(|| Self { laeq: full_scale + 10.0 * libm::log10(2.0 * mean), hours: seconds / 3600.0 })
    }

    /// In Pa²h.
    pub fn pascals(self) -> f64 {
        const REFERENCE: f64 = 20e-6;
        REFERENCE * REFERENCE * libm::pow(10.0, self.laeq / 10.0) * self.hours
    }

    /// Share of a day's dose, 1 for all of it: 85 dBA for 8 hours, half the time for each 3 dB more (NIOSH 98-126). Levels
    /// below 80 dBA count too, which errs on the safe side.
    pub fn dose(self) -> f64 {
        self.hours / (8.0 / libm::pow(2.0, (self.laeq - 85.0) / 3.0))
    }

    /// Share of a week's allowance, 1 for all of it.
    pub fn of_week(self, ears: Ears) -> f64 {
        self.pascals() / ears.allowance()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The squared gain of A-weighting, 1 at 1 kHz, by the analogue formula of IEC 61672-1.
    fn analogue(hertz: f64) -> f64 {
        let raw = |hertz: f64| {
            let f = hertz * hertz;
            let [a, b, c, d] = POLES.map(|pole| f + pole * pole);
            let high_pass = f * f / (a * libm::sqrt(b * c));
            let low_pass = POLES[3] * POLES[3] / d;
            (high_pass * low_pass) * (high_pass * low_pass)
        };
        raw(hertz) / raw(1_000.0)
    }

    /// IEC 61672-1 (secondary source): A-weighting at 1000 × 10^(n/10) Hz, rounded to 0.1 dB.
    const TABLE: [(f64, f64); 7] =
        [(-9.0, -16.1), (-6.0, -8.6), (-3.0, -3.2), (0.0, 0.0), (3.0, 1.2), (6.0, 1.0), (9.0, -1.1)];

    #[test]
    fn the_formula_has_the_standard_s_table() {
        for (n, db) in TABLE {
            let found = 10.0 * libm::log10(analogue(1_000.0 * libm::pow(10.0, n / 10.0)));
            // The table is rounded to 0.1 dB, half of which it may be off.
            assert!((found - db).abs() <= 0.05, "{n}: {found} {db}");
        }
    }

    #[test]
    fn the_filters_follow_the_formula() {
        for rate in [44_100_u32, 48_000, 96_000, 192_000] {
            let weighting = AWeighting::new(rate);
            for n in -15..=9 {
                let hertz = 1_000.0 * libm::pow(10.0, f64::from(n) / 10.0);
                let found = 10.0 * libm::log10(weighting.power_at(hertz, f64::from(rate)));
                let formula = 10.0 * libm::log10(analogue(hertz));
                assert!((found - formula).abs() < 0.05, "{rate}, {hertz}: {found} {formula}");
            }
            // Where there is little of a voice: stable, and not louder than it should be by much.
            let top = 10.0 * libm::log10(weighting.power_at(16_000.0, f64::from(rate)) / analogue(16_000.0));
            assert!(top.abs() < 1.0, "{rate}: {top} dB at 16 kHz");
        }
    }

    #[test]
    fn sines_come_out_weighted() {
        // The same table, measured: the mean square of a second of a sine of full scale.
        for (n, db) in TABLE {
            let hertz = 1_000.0 * libm::pow(10.0, n / 10.0);
            let mut weighting = AWeighting::new(48_000);
            let mut squares = 0.0;
            for k in 0..96_000 {
                let y = weighting.next(libm::sin(TAU * hertz * f64::from(k) / 48_000.0));
                squares += if k < 48_000 { 0.0 } else { y * y };
            }
            let found = Exposure::of(squares / 48_000.0, 1.0, 0.0).unwrap().laeq;
            assert!((found - db).abs() < 0.1, "{hertz}: {found} {db}");
            assert!(!weighting.rests());
            for _ in 0..96_000 {
                weighting.next(0.0);
            }
            assert!(weighting.rests());
        }
        assert_eq!(Exposure::of(0.0, 10.0, 94.0), None);
    }

    #[test]
    fn slow_rates_stay_sane() {
        for rate in [8_000, 16_000, 22_050] {
            let weighting = AWeighting::new(rate);
            for (hertz, within) in [(125.0, 0.3), (500.0, 0.3), (1_000.0, 1e-9), (2_000.0, 0.5)] {
                let off = 10.0 * libm::log10(weighting.power_at(hertz, f64::from(rate)) / analogue(hertz));
                assert!(off.abs() <= within, "{rate}, {hertz}: {off} dB");
            }
        }
    }

    #[test]
    fn doses_of_niosh() {
        // NIOSH 98-126 (secondary source): minutes allowed at a level, which are all of a day's dose.
        let table = [(88.0, 240.0), (91.0, 120.0), (94.0, 60.0), (97.0, 30.0), (100.0, 15.0), (103.0, 7.5)];
        for (laeq, minutes) in table {
            let dose = Exposure { laeq, hours: minutes / 60.0 }.dose();
            assert!((dose - 1.0).abs() < 1e-12, "{laeq}: {dose}");
        }
        // By the same formula: 2 h at 88, 15 min at 94 and 4 h at 82 dBA come to 100.0 %.
        let day = [(88.0, 2.0), (94.0, 0.25), (82.0, 4.0)];
        let dose: f64 = day.iter().map(|&(laeq, hours)| Exposure { laeq, hours }.dose()).sum();
        assert!((dose - 1.0).abs() < 1e-12, "{dose}");
    }

    #[test]
    fn allowances_of_a_week() {
        // ITU-T H.870/H.871: 1.6 Pa²h = 80 dBA × 40 h; WHO-ITU: 75 dBA × 40 h for children and sensitive ears, 0.506 Pa²h.
        assert!((Ears::Adult.allowance() - 1.6).abs() < 1e-9);
        assert!((Ears::Sensitive.allowance() - 0.506).abs() < 5e-4);
        // Arithmetic: 40 × 10^((80−L)/10).
        for (laeq, hours) in [(85.0, 12.649), (90.0, 4.0), (95.0, 1.2649), (100.0, 0.4)] {
            assert!((Ears::Adult.hours(laeq) - hours).abs() < 5e-4);
            assert!((Exposure { laeq, hours: Ears::Adult.hours(laeq) }.of_week(Ears::Adult) - 1.0).abs() < 1e-12);
        }
        let hour = Exposure { laeq: 75.0, hours: 1.0 };
        assert!((hour.of_week(Ears::Sensitive) - 1.0 / 40.0).abs() < 1e-12);
    }
}
