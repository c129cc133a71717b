//! A sink that measures what passes through it: integrated loudness (ITU-R BS.1770) and true peak.
//!
//! Practices are mostly silence, so silence costs nothing here: the filters rest once they have died away and the blocks
//! of 100 ms go on counting. The general library that measures clips takes a second or more for each hour; it is what
//! this is tested against.

use super::Sink;
use crate::audio::filter::Biquad;
use crate::audio::loudness::PeakFinder;
use crate::mixer::sample::Frame;
use crate::units::time::SampleRate;

/// Under this the state of a filter is taken to have died away: 140 dB below a full-scale sample.
const REST: f64 = 1e-7;
/// True peak is looked for in pieces of so many frames: few enough that the quiet ones between syllables are passed over,
/// many enough that the frames before each, which are looked at again, do not count.
const PIECE: usize = 512;

/// Measures what passes through it to the sink within.
#[derive(Debug)]
pub struct Meter<S> {
    inner: S,
    shelf: Biquad,
    high_pass: Biquad,
    /// Of each channel, both filters.
    state: [[[f64; 2]; 2]; 2],
    /// Weighted energy of each finished 100 ms.
    tenths: Vec<f64>,
    energy: f64,
    /// Frames of the 100 ms under way.
    filled: u64,
    tenth: u64,
    peak: f64,
    finder: Option<PeakFinder>,
    /// The frames before a piece, and the piece, interleaved.
    recent: Vec<f32>,
    piece: Vec<f32>,
}

/// What was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// Integrated loudness in LUFS; absent where nothing passes the absolute gate.
    pub loudness: Option<f64>,
    /// True peak in dBTP; absent for silence.
    pub true_peak: Option<f64>,
}

impl<S> Meter<S> {
    /// Measures what is on its way to another sink.
    pub fn new(inner: S, rate: SampleRate) -> Self {
        let (shelf, high_pass) = k_weighting(rate.hertz());
        Self {
            inner,
            shelf,
            high_pass,
            state: [[[0.0; 2]; 2]; 2],
            tenths: Vec::new(),
            energy: 0.0,
            filled: 0,
            tenth: u64::from(rate.hertz()) / 10,
            peak: 0.0,
            finder: PeakFinder::new(rate.hertz()),
            recent: vec![0.0; 2 * PeakFinder::BEFORE],
            piece: Vec::new(),
        }
    }

    /// The sink behind, and what passed.
    pub fn finish(self) -> (S, Measured) {
        let true_peak = (self.peak > 0.0).then(|| 20.0 * libm::log10(self.peak));
        (self.inner, Measured { loudness: gated(&self.tenths, self.tenth), true_peak })
    }

    fn weigh(&mut self, frames: &[Frame]) {
        let mut rest = frames;
        while !rest.is_empty() {
            let within = (self.tenth - self.filled).min(rest.len() as u64);
            let (now, later) = rest.split_at(within as usize);
            let [mut left, mut right] = self.state;
            let of_left = self.energy_of(&mut left, now.iter().map(|[left, _]| *left));
            // Nearly all of a practice is the same on both sides.
            let of_right = if left_is_right(now) && self.state[0] == self.state[1] {
                right = left;
                of_left
            } else {
                self.energy_of(&mut right, now.iter().map(|[_, right]| *right))
            };
            self.state = [left, right];
            self.energy += of_left + of_right;
            self.count(now.len() as u64);
            rest = later;
        }
    }

    /// The weighted energy of samples of one channel, whose filters' state goes on.
    fn energy_of(&self, state: &mut [[f64; 2]; 2], samples: impl Iterator<Item = i16>) -> f64 {
        let [mut first, mut second] = *state;
        let mut energy = 0.0;
        for sample in samples {
            let shelved = filter(&self.shelf, &mut first, f64::from(sample) / 32_768.0);
            let weighted = filter(&self.high_pass, &mut second, shelved);
            energy += weighted * weighted;
        }
        *state = [first, second];
        energy
    }

    /// Lets the filters die away, then only counts.
    fn rest(&mut self, frames: u64) {
        let mut left = frames;
        while left > 0 && self.state.iter().flatten().flatten().any(|s| s.abs() > REST) {
            let some = left.min(64);
            self.weigh(&[[0; 2]; 64][..some as usize]);
            left -= some;
        }
        if left > 0 {
            self.state = [[[0.0; 2]; 2]; 2];
        }
        while left > 0 {
            let some = left.min(self.tenth - self.filled);
            self.count(some);
            left -= some;
        }
    }

    fn count(&mut self, frames: u64) {
        self.filled += frames;
        if self.filled == self.tenth {
            self.tenths.push(self.energy);
            (self.energy, self.filled) = (0.0, 0);
        }
    }

    /// Looks for the true peak where a sample comes within 6 dB of the highest found: between samples a signal may
    /// stand higher than at them, but not by more than that where it is band-limited.
    fn look(&mut self, frames: &[Frame]) {
        for piece in frames.chunks(PIECE) {
            self.piece.clear();
            self.piece.extend(piece.iter().flatten().map(|sample| f32::from(*sample) / 32_768.0));
            let highest = self.recent.iter().chain(&self.piece).fold(0.0, |high: f32, sample| high.max(sample.abs()));
            if f64::from(highest) > 0.5 * self.peak
                && let Some(finder) = &mut self.finder
            {
                self.peak = self.peak.max(finder.of(&self.recent, &self.piece));
            }
            let kept = 2 * PeakFinder::BEFORE;
            self.recent.extend_from_slice(&self.piece);
            self.recent.drain(..self.recent.len() - kept);
        }
    }
}

impl<S: Sink> Sink for Meter<S> {
    type Error = S::Error;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), S::Error> {
        self.weigh(frames);
        self.look(frames);
        self.inner.sound(frames)
    }

    fn silence(&mut self, frames: u64) -> Result<(), S::Error> {
        self.rest(frames);
        self.look(&[[0; 2]; PeakFinder::BEFORE]);
        self.inner.silence(frames)
    }
}

fn left_is_right(frames: &[Frame]) -> bool {
    frames.iter().all(|[left, right]| left == right)
}

/// One step of a filter in transposed direct form II.
fn filter(biquad: &Biquad, [s1, s2]: &mut [f64; 2], x: f64) -> f64 {
    let ([b0, b1, b2], [a1, a2]) = (biquad.b, biquad.a);
    let y = b0 * x + *s1;
    // In this order the next step waits for one product and one difference only.
    *s1 = (b1 * x + *s2) - a1 * y;
    *s2 = b2 * x - a2 * y;
    y
}

/// The two filters of K-weighting at any rate. ITU-R BS.1770 gives coefficients for 48 kHz; the analogue parameters
/// behind them are those of the `libebur128` library (from memory), and the tests hold the result to a second library.
fn k_weighting(rate: u32) -> (Biquad, Biquad) {
    let angle = |hertz: f64| libm::tan(std::f64::consts::PI * hertz / f64::from(rate));
    let (k, q) = (angle(1_681.974_450_955_533), 0.707_175_236_955_419_6);
    let high = libm::pow(10.0, 3.999_843_853_973_347 / 20.0);
    let band = libm::pow(high, 0.499_666_774_154_541_6);
    let a0 = 1.0 + k / q + k * k;
    let shelf = Biquad {
        b: [(high + band * k / q + k * k) / a0, 2.0 * (k * k - high) / a0, (high - band * k / q + k * k) / a0],
        a: [2.0 * (k * k - 1.0) / a0, (1.0 - k / q + k * k) / a0],
    };
    let (k, q) = (angle(38.135_470_876_024_44), 0.500_327_037_323_877_3);
    let a0 = 1.0 + k / q + k * k;
    let high_pass = Biquad { b: [1.0, -2.0, 1.0], a: [2.0 * (k * k - 1.0) / a0, (1.0 - k / q + k * k) / a0] };
    (shelf, high_pass)
}

/// Integrated loudness of energies per 100 ms: blocks of 400 ms every 100 ms, gated at −70 LUFS and then 10 LU below
/// the mean of what is left (ITU-R BS.1770-4).
fn gated(tenths: &[f64], tenth: u64) -> Option<f64> {
    let frames = 4.0 * tenth as f64;
    let loudness = |energy: f64| -0.691 + 10.0 * libm::log10(energy);
    let blocks: Vec<f64> = tenths.windows(4).map(|four| four.iter().sum::<f64>() / frames).collect();
    let mean = |gate: f64| {
        let (sum, count) =
            blocks.iter().filter(|e| **e > 0.0 && loudness(**e) > gate).fold((0.0, 0), |(s, n), e| (s + e, n + 1));
        (count > 0).then(|| sum / f64::from(count))
    };
    let absolute = mean(-70.0)?;
    mean((loudness(absolute) - 10.0).max(-70.0)).map(loudness)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::loudness;
    use crate::cases::amount;
    use std::convert::Infallible;

    struct Nowhere;

    impl Sink for Nowhere {
        type Error = Infallible;
        fn sound(&mut self, _: &[Frame]) -> Result<(), Infallible> {
            Ok(())
        }
        fn silence(&mut self, _: u64) -> Result<(), Infallible> {
            Ok(())
        }
    }

    fn sine(hertz: f64, db: f64, seconds: f64, rate: u32) -> Vec<Frame> {
        let step = std::f64::consts::TAU * hertz / f64::from(rate);
        let level = 32_768.0 * libm::pow(10.0, db / 20.0);
        (0..(seconds * f64::from(rate)) as u32)
            .map(|n| [libm::round(level * libm::sin(step * f64::from(n))) as i16; 2])
            .collect()
    }

    fn measure(parts: &[Result<Vec<Frame>, u64>], rate: u32) -> Measured {
        let mut meter = Meter::new(Nowhere, SampleRate::new(rate).unwrap());
        for part in parts {
            match part {
                Ok(frames) => frames.chunks(1009).for_each(|chunk| meter.sound(chunk).unwrap()),
                Err(silence) => meter.silence(*silence).unwrap(),
            }
        }
        meter.finish().1
    }

    #[test]
    fn ebu_signals() {
        // EBU Tech 3341, signals 1 to 4: 1 kHz stereo sines, integrated loudness ±0.1 LU.
        let at = |db, seconds| Ok(sine(1000.0, db, seconds, 48_000));
        let signals: [(Vec<_>, f64); 4] = [
            (vec![at(-23.0, 20.0)], -23.0),
            (vec![at(-33.0, 20.0)], -33.0),
            (vec![at(-36.0, 10.0), at(-23.0, 60.0), at(-36.0, 10.0)], -23.0),
            (vec![at(-72.0, 10.0), at(-36.0, 10.0), at(-23.0, 60.0), at(-36.0, 10.0), at(-72.0, 10.0)], -23.0),
        ];
        // The last two take longest.
        for (parts, lufs) in signals.into_iter().take(amount(1, 4)) {
            let found = measure(&parts, 48_000).loudness.unwrap();
            assert!((found - lufs).abs() < 0.1, "{found} {lufs}");
        }
    }

    #[test]
    fn true_peak_signals() {
        // EBU Tech 3341, signals 16 (fs/4, 45°) and 17 (fs/6, 60°): half scale, −6.0 +0.2/−0.4 dBTP.
        // Faded in and out over 100 ms: a jump into a sine stands higher than the sine.
        let fade = |n: i32| f64::from(n.min(47_999 - n).min(4_800)) / 4_800.0;
        for (every, degrees) in [(4.0, 45.0_f64), (6.0, 60.0)] {
            let phase = degrees.to_radians();
            let sample = |n| {
                libm::round(16_384.0 * fade(n) * libm::sin(std::f64::consts::TAU * f64::from(n) / every + phase)) as i16
            };
            let frames: Vec<Frame> = (0..48_000).map(|n| [sample(n); 2]).collect();
            let found = measure(&[Ok(frames)], 48_000).true_peak.unwrap();
            assert!((-6.4..=-5.8).contains(&found), "{found}");
        }
    }

    #[test]
    fn agrees_with_the_library_across_silence() {
        for rate in [8_000, 44_100, 96_000] {
            let mut beat = sine(900.0, -9.0, 0.06, rate);
            // The sides part in the midst of it, and are alike again before the filters are.
            let third = beat.len() / 3;
            beat.iter_mut().skip(third).take(third).for_each(|[_, right]| *right /= 2);
            let voice = sine(440.0, -17.0, 1.37, rate);
            let gap = u64::from(rate) * 83 / 100;
            let parts =
                [Ok(voice.clone()), Err(gap), Ok(beat.clone()), Err(gap), Ok(beat), Err(7), Ok(voice), Err(5 * gap)];
            let mut flat: Vec<f32> = Vec::new();
            for part in &parts {
                match part {
                    Ok(frames) => flat.extend(frames.iter().flatten().map(|s| f32::from(*s) / 32_768.0)),
                    Err(silence) => flat.resize(flat.len() + 2 * *silence as usize, 0.0),
                }
            }
            let found = measure(&parts, rate);
            let library = loudness::integrated(&flat, 2, rate).unwrap();
            assert!((found.loudness.unwrap() - library).abs() < 0.01, "{rate}: {found:?} {library}");
            let peak = 20.0 * libm::log10(loudness::true_peak(&flat, 2, rate));
            assert!((found.true_peak.unwrap() - peak).abs() < 0.01, "{rate}: {found:?} {peak}");
        }
    }

    #[test]
    fn silence_has_no_loudness() {
        // ITU-R BS.1770: nothing passes the absolute gate.
        let found = measure(&[Err(480_000)], 48_000);
        assert_eq!(found, Measured { loudness: None, true_peak: None });
    }
}
