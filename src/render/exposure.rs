//! What a practice does to the ears that hear it: rendered again into a meter that weighs it, and only when asked.

use super::made::NotRendered;
use crate::audio::exposure::{AWeighting, Ears, Exposure};
use crate::mixer::sample::Frame;
use crate::prepare::Planned;
use crate::sink::{self, Sink};
use crate::timeline::bank;
use crate::units::level::SoundLevel;
use crate::units::time::SampleRate;
use std::convert::Infallible;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Above this share of a week's allowance a caution is due: four such practices are all of it.
pub const CAUTION: f64 = 0.25;

/// An estimate, with what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Level and time at the ear that hears more.
    pub exposure: Exposure,
    /// What a full-scale sine of 1 kHz is taken to be at the ear.
    pub loudest: SoundLevel,
    /// Whose ears.
    pub ears: Ears,
}

impl Estimate {
    /// Share of a week's allowance.
    pub fn of_week(&self) -> f64 {
        self.exposure.of_week(self.ears)
    }

    /// Whether it is so much that it should be said.
    pub fn is_much(&self) -> bool {
        self.of_week() > CAUTION
    }
}

/// Estimates the exposure of a practice; nothing where it is silent.
///
/// # Errors
/// As a render, but for those of files.
pub fn estimate(
    planned: &Planned,
    loudest: SoundLevel,
    ears: Ears,
    stop: &AtomicBool,
) -> Result<Option<Estimate>, NotRendered> {
    let (timeline, settings) = (&planned.built.timeline, planned.bank_settings());
    // One rate for all files: the estimate is the same whatever is written.
    let rate = SampleRate::CD;
    let bank = bank::build(&timeline.sounds, &planned.library, rate, &settings).map_err(NotRendered::Recording)?;
    let mut scales = Scales::new(rate);
    let rendered = sink::render(timeline, &Arc::new(bank), &mut scales, &mut |_, _| {}, stop);
    rendered.map_err(|error| NotRendered::of(error, |never| match never {}))?;
    let exposure = Exposure::of(scales.energy(), timeline.len().as_f64(), loudest.dba());
    Ok(exposure.map(|exposure| Estimate { exposure, loudest, ears }))
}

/// Weighs what it is given. Silence costs nothing once the filters have come to rest.
struct Scales {
    rate: SampleRate,
    sides: [(AWeighting, f64); 2],
}

impl Scales {
    fn new(rate: SampleRate) -> Self {
        let side = (AWeighting::new(rate.hertz()), 0.0);
        Self { rate, sides: [side.clone(), side] }
    }

    /// The weighted square of the louder side over time, in seconds of full scale.
    fn energy(&self) -> f64 {
        self.sides.iter().map(|(_, squares)| squares / f64::from(self.rate.hertz())).fold(0.0, f64::max)
    }
}

impl Sink for Scales {
    type Error = Infallible;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), Infallible> {
        for (side, (weighting, squares)) in self.sides.iter_mut().enumerate() {
            for frame in frames {
                let weighted = weighting.next(f64::from(frame[side]) / 32_768.0);
                *squares += weighted * weighted;
            }
        }
        Ok(())
    }

    fn silence(&mut self, frames: u64) -> Result<(), Infallible> {
        for (weighting, squares) in &mut self.sides {
            for _ in 0..frames {
                if weighting.rests() {
                    break;
                }
                let weighted = weighting.next(0.0);
                *squares += weighted * weighted;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scales(parts: &[Result<Vec<Frame>, u64>]) -> Scales {
        let mut scales = Scales::new(SampleRate::CD);
        for part in parts {
            match part {
                Ok(frames) => frames.chunks(999).for_each(|chunk| scales.sound(chunk).unwrap()),
                Err(silence) => scales.silence(*silence).unwrap(),
            }
        }
        scales
    }

    fn sine(hertz: f64, left: f64, right: f64, seconds: f64) -> Vec<Frame> {
        let step = std::f64::consts::TAU * hertz / 44_100.0;
        let sample = |n: u32, level: f64| libm::round(32_767.0 * level * libm::sin(step * f64::from(n))) as i16;
        (0..(seconds * 44_100.0) as u32).map(|n| [sample(n, left), sample(n, right)]).collect()
    }

    #[test]
    fn a_sine_of_full_scale_is_the_loudest_level() {
        // By definition: 1 kHz at full scale is the level that was stated; a tenth of it 20 dB less.
        let laeq = |parts: &[Result<Vec<Frame>, u64>], seconds| {
            Exposure::of(scales(parts).energy(), seconds, 94.0).unwrap().laeq
        };
        assert!((laeq(&[Ok(sine(1_000.0, 1.0, 1.0, 10.0))], 10.0) - 94.0).abs() < 0.01);
        assert!((laeq(&[Ok(sine(1_000.0, 0.1, 0.05, 10.0))], 10.0) - 74.0).abs() < 0.01);
        // The louder ear counts, and silence dilutes: a tenth of the time is 10 dB less.
        assert!((laeq(&[Ok(sine(1_000.0, 0.1, 1.0, 1.0)), Err(9 * 44_100)], 10.0) - 84.0).abs() < 0.01);
        // IEC 61672-1 (secondary source): −16.1 dB at 125.9 Hz.
        assert!((laeq(&[Ok(sine(125.892_541, 1.0, 1.0, 10.0))], 10.0) - 77.9).abs() < 0.1);
    }

    #[test]
    fn silence_is_weighed_as_zeros_are() {
        let burst = || Ok(sine(300.0, 0.5, 0.2, 0.05));
        let zeros = Ok(vec![[0, 0]; 44_100]);
        let (skipped, played) = (scales(&[burst(), Err(44_100), burst()]), scales(&[burst(), zeros, burst()]));
        assert!((skipped.energy() / played.energy() - 1.0).abs() < 1e-9);
    }
}
