//! The limiter: holds the true peak of the mix at −1 dBTP (the programme ceiling of EBU R 128), both sides alike.
//!
//! It works a quantum at a time and delays by a fixed look-ahead. The peak between samples is found by four-fold
//! interpolation; the gain each peak allows is held over the look-ahead, released, and smoothed by two moving averages,
//! so that it has reached every peak's gain when the peak comes out and never jumps. Gains are integers, hence sums are
//! exact and nothing drifts. Where nothing comes near the ceiling, none of this runs and the samples pass unchanged.

use super::sample::QUANTUM;
use crate::units::time::SampleRate;
use std::collections::VecDeque;

/// What the gain aims at: 0.2 dB under −1 dBTP, for what four-fold interpolation misses between its own points and for
/// the gain's movement between two samples.
pub(super) const CEILING: f32 = 0.870_963_6;
/// A bound this far under the ceiling (0.5 dB) rules a peak out: true peaks of clips may be 0.3 dB too low.
const MARGIN: f32 = 0.944_060_9;
/// Interpolation reaches this many frames to each side.
const REACH: usize = 6;
/// Gains are in units of 2^-40.
const ONE: u64 = 1 << 40;
/// Within 2^-20 of one, the gain is one.
const SNAP: u64 = 1 << 20;
/// The gain comes back by 63 % in this time, by 90 % in 100 ms.
const RELEASE_SECONDS: f64 = 0.043;
/// The detector runs this many frames behind the newest: it needs [`REACH`] of them after a peak.
const BEHIND: usize = 8;
/// Frames before a quantum that its detector looks at.
const PAST: usize = BEHIND + REACH;

/// Gaps between frames that are interpolated together.
const TILE: usize = 12;
/// One gap more than a quantum has frames, in whole tiles.
const GAPS: usize = (QUANTUM + 1).div_ceil(TILE) * TILE;
/// Samples from which a tile of gaps is interpolated.
const SPAN: usize = TILE + 2 * REACH - 1;

/// The detector's samples, with room for the last tile to read beyond what it needs.
const WINDOW: usize = GAPS + 2 * REACH;

/// What a quantum holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SlotKind {
    /// Nothing; its samples are stale.
    Silent,
    /// The same on both sides; `right` is stale.
    Centred,
    /// Each side its own.
    Stereo,
}

/// A quantum of the mix.
#[derive(Clone, Debug)]
pub(super) struct Slot {
    pub(super) left: [f32; QUANTUM],
    pub(super) right: [f32; QUANTUM],
    pub(super) kind: SlotKind,
    /// No sample of it, nor between them, is larger; what ended in the quantum before is counted in.
    pub(super) bound: f32,
}

impl Slot {
    pub(super) const EMPTY: Self =
        Self { left: [0.0; QUANTUM], right: [0.0; QUANTUM], kind: SlotKind::Silent, bound: 0.0 };

    /// Left and right; silence must be asked for first.
    fn sides(&self) -> [&[f32; QUANTUM]; 2] {
        [&self.left, if self.kind == SlotKind::Stereo { &self.right } else { &self.left }]
    }
}

/// Keeps true peaks under the ceiling, a look-ahead behind its input.
#[derive(Debug)]
pub(super) struct Limiter {
    #[expect(clippy::vec_box, reason = "slots are swapped with the one being mixed; a pointer moves, not 520 bytes")]
    slots: Vec<Box<Slot>>,
    newest: usize,
    phases: [[f32; 2 * REACH]; 3],
    /// No interpolated value exceeds the largest sample by more than this factor.
    overshoot: f32,
    gain: Envelope,
    /// Quanta of silence that have passed in a row.
    quiet: usize,
    #[cfg(test)]
    pub(super) always_detect: bool,
}

impl Limiter {
    pub(super) fn new(rate: SampleRate) -> Self {
        let quanta = look_ahead(rate) / QUANTUM;
        let phases = [1, 2, 3].map(|phase| {
            let taps: [f32; 2 * REACH] = std::array::from_fn(|k| {
                let d = k as f64 - (REACH as f64 - 1.0) - f64::from(phase) / 4.0;
                // A sinc under a Hann window: textbook band-limited interpolation, as BS.1770's annex 2 asks for.
                let x = std::f64::consts::PI * d;
                (libm::sin(x) / x * 0.5 * (1.0 + libm::cos(x / REACH as f64))) as f32
            });
            taps
        });
        let sum = |taps: &[f32; 2 * REACH]| taps.iter().fold(0.0, |sum, tap| sum + tap.abs());
        let overshoot = phases.iter().map(sum).fold(1.0, f32::max);
        Self {
            slots: (0..=quanta).map(|_| Box::new(Slot::EMPTY)).collect(),
            newest: 0,
            phases,
            overshoot: overshoot * 1.000_1,
            gain: Envelope::new(quanta * QUANTUM, rate),
            quiet: quanta + 1,
            #[cfg(test)]
            always_detect: false,
        }
    }

    /// Whether nothing is left in it, so that silence in gives silence out.
    pub(super) fn is_empty(&self) -> bool {
        self.quiet >= self.slots.len() && !self.gain.active
    }

    /// Takes in a quantum of the mix, leaving a used one in its place, and gives the quantum that is a look-ahead older,
    /// at its final level.
    pub(super) fn advance(&mut self, mixed: &mut Box<Slot>) -> &Slot {
        let count = self.slots.len();
        let previous = self.newest;
        self.newest = (self.newest + 1) % count;
        let oldest = (self.newest + 1) % count;
        if let Some(slot) = self.slots.get_mut(self.newest) {
            std::mem::swap(slot, mixed);
        }
        let mut allowed = [ONE; QUANTUM];
        if let (Some(now), Some(before)) = (self.slots.get(self.newest), self.slots.get(previous)) {
            self.quiet = if now.kind == SlotKind::Silent { self.quiet.saturating_add(1) } else { 0 };
            let near = now.bound.max(before.bound) >= CEILING * MARGIN;
            #[cfg(test)]
            let near = near || self.always_detect;
            if near && self.quiet < 2 {
                self.detect(before, now, &mut allowed);
            }
        }
        let gains = self.gain.advance(&allowed);
        #[expect(clippy::indexing_slicing, reason = "a remainder of slots.len()")]
        let slot = &mut self.slots[oldest];
        if let Some(gains) = gains
            && slot.kind != SlotKind::Silent
        {
            slot.left.iter_mut().zip(gains).for_each(|(sample, gain)| *sample *= gain);
            if slot.kind == SlotKind::Stereo {
                slot.right.iter_mut().zip(gains).for_each(|(sample, gain)| *sample *= gain);
            }
        }
        slot
    }

    /// The gain that each of the frames from [`BEHIND`] before `now` on allows.
    fn detect(&self, before: &Slot, now: &Slot, allowed: &mut [u64; QUANTUM]) {
        let mut peaks = [0.0_f32; QUANTUM];
        let sides = if now.kind == SlotKind::Stereo || before.kind == SlotKind::Stereo { 2 } else { 1 };
        for (old, new) in before.sides().into_iter().zip(now.sides()).take(sides) {
            let mut window = [0.0_f32; WINDOW];
            let (head, rest) = window.split_at_mut(PAST);
            let tail = rest.get_mut(..QUANTUM).unwrap_or_default();
            if before.kind != SlotKind::Silent
                && let Some((_, old)) = old.split_last_chunk::<PAST>()
            {
                head.copy_from_slice(old);
            }
            if now.kind != SlotKind::Silent {
                tail.copy_from_slice(new);
            }
            let sample_peak = highest(&window);
            // Exact, unlike the bound from the clips: interpolation cannot rise higher.
            if sample_peak * self.overshoot >= CEILING {
                self.true_peaks(&window, &mut peaks);
            }
        }
        for (allowed, peak) in allowed.iter_mut().zip(peaks) {
            if peak > CEILING {
                *allowed = (f64::from(CEILING / peak) * ONE as f64) as u64;
            }
        }
    }

    /// Raises each of `peaks` to the largest magnitude at its frame and in the gaps on both sides of it.
    fn true_peaks(&self, window: &[f32; WINDOW], peaks: &mut [f32; QUANTUM]) {
        // Gap g lies before the frame of peak g; the last one after the frame of the last peak.
        let mut gaps = [0.0_f32; GAPS];
        for (i, gaps) in gaps.chunks_exact_mut(TILE).enumerate() {
            let Some((samples, _)) = window.get(i * TILE..).and_then(|rest| rest.split_first_chunk::<SPAN>()) else {
                break;
            };
            let sample_peak = highest(samples);
            if sample_peak * self.overshoot < CEILING {
                continue;
            }
            for taps in &self.phases {
                // A tile of sums stays in registers.
                let mut sums = [0.0_f32; TILE];
                for (tap, samples) in taps.iter().zip(samples.windows(TILE)) {
                    sums.iter_mut().zip(samples).for_each(|(sum, sample)| *sum += sample * tap);
                }
                gaps.iter_mut().zip(sums).for_each(|(gap, sum)| *gap = higher(*gap, sum.abs()));
            }
        }
        let frames = window.iter().skip(REACH);
        for ((peak, sample), gaps) in peaks.iter_mut().zip(frames).zip(gaps.windows(2)) {
            let around = gaps.iter().fold(sample.abs(), |top, gap| higher(top, *gap));
            *peak = higher(*peak, around);
        }
    }
}

/// The largest magnitude. Magnitudes are ordered like their bits, and the largest integer is found many at a time, which
/// the rules of `f32::max` forbid.
fn highest(samples: &[f32]) -> f32 {
    let bits = samples.iter().fold(0, |top: i32, sample| top.max((sample.to_bits() & 0x7fff_ffff) as i32));
    f32::from_bits(bits as u32)
}

/// `f32::max` without its care for what is not a number, hence one instruction.
fn higher(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// Frames between the mix and the output: at least 2.5 ms in whole quanta.
pub(super) fn look_ahead(rate: SampleRate) -> usize {
    (rate.hertz() as usize * 25).div_ceil(10_000 * QUANTUM) * QUANTUM
}

/// From the gain that each frame allows to a smooth gain that is never above it.
#[derive(Debug)]
struct Envelope {
    /// Whether anything is under one.
    active: bool,
    /// Frames that count for one output: the averages' joint width.
    width: u64,
    frame: u64,
    /// Frame and gain of what may become the smallest within `width`, rising in both.
    smallest: VecDeque<(u64, u64)>,
    released: u64,
    release: u64,
    first: Average,
    second: Average,
    scale: f64,
    gains: [f32; QUANTUM],
}

impl Envelope {
    fn new(look_ahead: usize, rate: SampleRate) -> Self {
        // Two averages of n reach over 2n − 1 frames; with the detector's delay that is the look-ahead.
        let each = (look_ahead - BEHIND + 2) / 2;
        let per_frame = 1.0 - libm::exp(-1.0 / (f64::from(rate.hertz()) * RELEASE_SECONDS));
        Self {
            active: false,
            width: 2 * each as u64 - 1,
            frame: 0,
            smallest: VecDeque::with_capacity(2 * each + 1),
            released: ONE,
            release: libm::floor(per_frame * f64::from(1 << 24)) as u64,
            first: Average::new(each, ONE),
            second: Average::new(each, ONE * each as u64),
            scale: 1.0 / (ONE as f64 * (each * each) as f64),
            gains: [1.0; QUANTUM],
        }
    }

    /// The gains of the quantum that comes out, or `None` where all are one.
    fn advance(&mut self, allowed: &[u64; QUANTUM]) -> Option<&[f32; QUANTUM]> {
        if !self.active && allowed.iter().all(|gain| *gain == ONE) {
            return None;
        }
        self.active = true;
        for (allowed, gain) in allowed.iter().zip(&mut self.gains) {
            while self.smallest.back().is_some_and(|(_, gain)| gain >= allowed) {
                self.smallest.pop_back();
            }
            while self.smallest.front().is_some_and(|(frame, _)| frame + self.width <= self.frame) {
                self.smallest.pop_front();
            }
            self.smallest.push_back((self.frame, *allowed));
            self.frame += 1;
            let held = self.smallest.front().map_or(ONE, |(_, gain)| *gain);
            self.released += ((ONE - self.released) * self.release) >> 24;
            if ONE - self.released < SNAP {
                self.released = ONE;
            }
            self.released = self.released.min(held);
            let sum = self.second.push(self.first.push(self.released));
            *gain = if sum == self.second.full { 1.0 } else { (sum as f64 * self.scale) as f32 };
        }
        let at_rest = self.released == ONE
            && self.second.sum == self.second.full
            && self.first.sum == self.first.full
            && self.smallest.front().is_none_or(|(_, gain)| *gain == ONE);
        if at_rest {
            // The averages hold nothing but ones, so they may stand still until the next peak.
            self.active = false;
            self.smallest.clear();
        }
        Some(&self.gains)
    }
}

/// A moving sum over a fixed number of integers.
#[derive(Debug)]
struct Average {
    values: Box<[u64]>,
    next: usize,
    sum: u64,
    full: u64,
}

impl Average {
    fn new(frames: usize, one: u64) -> Self {
        let full = one * frames as u64;
        Self { values: vec![one; frames].into(), next: 0, sum: full, full }
    }

    fn push(&mut self, value: u64) -> u64 {
        if let Some(oldest) = self.values.get_mut(self.next) {
            self.sum = self.sum + value - *oldest;
            *oldest = value;
        }
        self.next = if self.next + 1 < self.values.len() { self.next + 1 } else { 0 };
        self.sum
    }
}
