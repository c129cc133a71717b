//! Loudness and true peak by ITU-R BS.1770 and EBU R 128, measured by the `ebur128` library.
//!
//! Also the loudness of clips too short for the standard's 400 ms blocks, which the standard leaves open.

use ebur128::{Channel, EbuR128, Mode};

/// Integrated (gated) loudness in LUFS of interleaved samples, full scale ±1. `None` where nothing passes the
/// absolute gate of −70 LUFS, or the format cannot be measured (no channel, more than 64, a rate outside
/// 16 Hz to 2.8 MHz).
pub fn integrated(samples: &[f32], channels: u32, rate: u32) -> Option<f64> {
    let mut meter = EbuR128::new(channels, rate, Mode::I).ok()?;
    meter.add_frames_f32(samples).ok()?;
    meter.loudness_global().ok().filter(|lufs| lufs.is_finite())
}

/// The most recent 400 ms and 3 s, ungated: momentary and short-term loudness in LUFS.
pub fn momentary_and_short_term(samples: &[f32], channels: u32, rate: u32) -> Option<(f64, f64)> {
    let mut meter = EbuR128::new(channels, rate, Mode::S).ok()?;
    meter.add_frames_f32(samples).ok()?;
    Some((meter.loudness_momentary().ok()?, meter.loudness_shortterm().ok()?))
}

/// Loudness in LUFS of a mono clip played alike on two channels, which is how voices and beats are mixed: gated where
/// the clip is long enough for gating, else as [`whole`]. `None` for silence.
pub fn of_clip(samples: &[f32], rate: u32) -> Option<f64> {
    // Gating needs some blocks to choose from; below a second most would be half speech and half pause.
    if (samples.len() as u64) < u64::from(rate) {
        return whole(samples, rate);
    }
    let mut meter = dual_mono(rate, Mode::I)?;
    meter.add_frames_f32(samples).ok()?;
    meter.loudness_global().ok().filter(|lufs| lufs.is_finite())
}

/// A meter of one channel that is heard twice: its energy counts double.
fn dual_mono(rate: u32, mode: Mode) -> Option<EbuR128> {
    let mut meter = EbuR128::new(1, rate, mode).ok()?;
    meter.set_channel(0, Channel::DualMono).ok()?;
    Some(meter)
}

/// K-weighted mean square in LUFS over the whole of a mono clip played alike on two channels, without gates and with
/// the filter's decay. `None` for silence (below −70 LUFS).
pub fn whole(samples: &[f32], rate: u32) -> Option<f64> {
    if samples.is_empty() {
        return None;
    }
    // The window must hold the clip and the tail of the filter, whole milliseconds of both.
    let tail = rate as usize / 20;
    let millis = ((samples.len() + tail) as u64 * 1_000).div_ceil(u64::from(rate.max(1)));
    let window = u32::try_from(millis).ok()?.max(400);
    let mut meter = dual_mono(rate, Mode::M)?;
    meter.set_max_window(window).ok()?;
    let frames = (u64::from(rate) * u64::from(window) / 1_000) as usize;
    let mut padded = vec![0.0; frames.saturating_sub(samples.len() + tail)];
    padded.extend_from_slice(samples);
    padded.resize(frames.max(samples.len() + tail), 0.0);
    meter.add_frames_f32(&padded).ok()?;
    let over_window = meter.loudness_window(window).ok()?;
    let lufs = over_window + 10.0 * libm::log10(frames as f64 / samples.len() as f64);
    (lufs.is_finite() && lufs > -70.0).then_some(lufs)
}

/// The largest true peak of all channels, linear, 1.0 being full scale: oversampled four times below 96 kHz and
/// twice below 192 kHz (BS.1770 annex 2). 0 for silence or a format that cannot be measured.
pub fn true_peak(samples: &[f32], channels: u32, rate: u32) -> f64 {
    let measure = || {
        let mut meter = EbuR128::new(channels, rate, Mode::TRUE_PEAK).ok()?;
        meter.add_frames_f32(samples).ok()?;
        // The interpolator lags: silence pushes the last peak out.
        meter.add_frames_f32(&vec![0.0; 64 * channels as usize]).ok()?;
        (0..channels).filter_map(|channel| meter.true_peak(channel).ok()).reduce(f64::max)
    };
    measure().unwrap_or(0.0)
}

/// Finds the true peak of pieces of a longer stereo signal, without the ringing that cutting a piece out would add.
pub struct PeakFinder(EbuR128);

impl PeakFinder {
    /// How many frames before a piece its interpolation may depend on.
    pub const BEFORE: usize = 32;

    /// `None` at a rate that cannot be measured.
    pub fn new(rate: u32) -> Option<Self> {
        EbuR128::new(2, rate, Mode::TRUE_PEAK).ok().map(Self)
    }

    /// The largest true peak among the interleaved frames `now`, linear, given at least [`Self::BEFORE`] frames
    /// `before` them. The interpolator lags by some six frames: the last ones count with the next piece.
    pub fn of(&mut self, before: &[f32], now: &[f32]) -> f64 {
        let mut measure = || {
            self.0.add_frames_f32(before).ok()?;
            self.0.add_frames_f32(now).ok()?;
            (0..2).filter_map(|channel| self.0.prev_true_peak(channel).ok()).reduce(f64::max)
        };
        measure().unwrap_or(0.0)
    }
}

impl std::fmt::Debug for PeakFinder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("PeakFinder")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cases::amount;
    use std::f64::consts::TAU;

    const RATE: u32 = 48_000;

    fn db(level: f64) -> f64 {
        libm::pow(10.0, level / 20.0)
    }

    /// The stereo sine that the EBU's test signals are made of: parts of (dBFS, seconds) at 1 kHz, both channels.
    fn signal(parts: &[(f64, u32)]) -> Vec<f32> {
        let mut frame = 0_u32;
        let mut samples = Vec::new();
        for &(level, seconds) in parts {
            for _ in 0..seconds * RATE {
                let x = (db(level) * libm::sin(TAU * 1_000.0 * f64::from(frame) / f64::from(RATE))) as f32;
                samples.extend([x, x]);
                frame += 1;
            }
        }
        samples
    }

    #[test]
    fn ebu_signals_1_to_4() {
        // EBU Tech 3341, minimum-requirements test signals 1 to 4, ±0.1 LU.
        for (name, parts, expected) in [
            ("1", &[(-23.0, 20)][..], -23.0),
            ("2", &[(-33.0, 20)], -33.0),
            ("3", &[(-36.0, 10), (-23.0, 60), (-36.0, 10)], -23.0),
            ("4", &[(-72.0, 10), (-36.0, 10), (-23.0, 60), (-36.0, 10), (-72.0, 10)], -23.0),
        ]
        .into_iter()
        .take(amount(2, 4))
        {
            let samples = signal(parts);
            let found = integrated(&samples, 2, RATE).unwrap();
            assert!((found - expected).abs() <= 0.1, "signal {name}: {found}");
            if parts.len() == 1 {
                let (momentary, short) = momentary_and_short_term(&samples, 2, RATE).unwrap();
                assert!((momentary - expected).abs() <= 0.1 && (short - expected).abs() <= 0.1, "signal {name}");
            }
        }
    }

    fn sine(hertz: f64, level: f64, phase: f64, frames: u32) -> Vec<f32> {
        let at = |i| level * libm::sin(TAU * (hertz * f64::from(i) / f64::from(RATE) + phase / 360.0));
        (0..frames).map(|i| at(i) as f32).collect()
    }

    #[test]
    fn ebu_true_peak_signals_16_and_17() {
        // EBU Tech 3341 signals 16 (fs/4, 45°) and 17 (fs/6, 60°): true peak −6.0 +0.2/−0.4 dBTP; sample peaks by arithmetic.
        for (divisor, phase, sample_peak) in [(4.0, 45.0, -9.03), (6.0, 60.0, -7.27)] {
            let mut mono = sine(f64::from(RATE) / divisor, 0.5, phase, RATE);
            // A sine that breaks off overshoots; faded in and out, only the sine is measured.
            for i in 0..480 {
                mono[i] *= i as f32 / 480.0;
                mono[RATE as usize - 1 - i] *= i as f32 / 480.0;
            }
            let found = 20.0 * libm::log10(true_peak(&mono, 1, RATE));
            assert!((-6.4..=-5.8).contains(&found), "fs/{divisor}: {found} dBTP");
            let peak = mono.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
            assert!((20.0 * libm::log10(f64::from(peak)) - sample_peak).abs() < 0.01);
        }
    }

    #[test]
    fn a_full_scale_sine_of_997_hz_reads_minus_3_01() {
        // ITU-R BS.1770-4: a 0 dBFS 997 Hz sine in one front channel reads −3.01 LKFS (from memory; and arithmetic).
        let mono = sine(997.0, 1.0, 0.0, 10 * RATE);
        assert!((integrated(&mono, 1, RATE).unwrap() + 3.01).abs() < 0.05);
        // On two channels twice the energy.
        assert!(of_clip(&mono, RATE).unwrap().abs() < 0.05);
    }

    #[test]
    fn silence_has_no_loudness() {
        // ITU-R BS.1770: nothing passes the absolute gate.
        let silence = vec![0.0; 2 * RATE as usize];
        assert_eq!(integrated(&silence, 1, RATE), None);
        assert_eq!(of_clip(&silence[..4_800], RATE), None);
        assert_eq!(whole(&[], RATE), None);
        assert_eq!(true_peak(&silence, 1, RATE), 0.0);
    }

    #[test]
    fn a_short_clip_reads_what_a_long_one_does() {
        // A steady sine is as loud for 60 ms as for 10 s, whatever the rate; only the onset's spread of spectrum differs.
        for rate in [8_000, 24_000, 44_100, 192_000] {
            for millis in [60, 350, 400, 900] {
                let frames = rate * millis / 1_000;
                let tone: Vec<f32> =
                    (0..frames).map(|i| libm::sin(TAU * 997.0 * f64::from(i) / f64::from(rate)) as f32).collect();
                let found = whole(&tone, rate).unwrap();
                assert!(found.abs() < 0.25, "{millis} ms at {rate} Hz: {found}");
            }
        }
    }

    #[test]
    fn formats_that_cannot_be_measured_are_no_panic() {
        assert_eq!(integrated(&[0.5; 100], 0, RATE), None);
        assert_eq!(integrated(&[0.5; 100], 1, 0), None);
        assert_eq!(true_peak(&[0.5; 100], 1, 0), 0.0);
    }
}
