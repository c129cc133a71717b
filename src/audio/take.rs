//! A recording of one text looked at: where speech begins and ends in it, how loud it is, what the room adds, what is
//! wrong with it, and the part worth keeping.
//!
//! Pure numbers: no microphone and no file. Nothing here makes a recording louder, filters it or mends it; that is done
//! again each time it is used (`audio::voice`), so that what lies on disk stays as it was spoken.

mod fault;
mod find;
mod measure;
mod pieces;
mod sounds;
mod text_time;
mod tops;

pub use fault::{LEAST_LEVEL, LEAST_SPEECH_TO_NOISE, LONGEST_PHRASE, LONGEST_SHORT, TakeFault};
pub use find::CutOff;
pub use pieces::pieces;
pub use sounds::Makeup;
pub use text_time::TextTime;

use crate::audio::loudness;
use crate::units::time::{NANOS, Seconds};
use measure::{FADE, above, background, frames, speech_level};
use std::ops::Range;

/// Air left before the first sound and after the last one, in milliseconds: room for the fade, and for a beginning that is
/// softer than the room.
const AIR: usize = 6;
/// What was found in a mono recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Take {
    /// Frames a second.
    pub rate: u32,
    /// How many frames it has.
    pub frames: usize,
    /// The frames from the first to the last sound of speech; `None` where nothing was said.
    pub speech: Option<Range<usize>>,
    /// Loudness of the speech in LUFS, measured as when it is used (alike on two channels).
    pub loudness: Option<f64>,
    /// Mean level of the speech in dBFS: of 20 ms windows that are within 25 dB of the loudest, so that pauses between
    /// words do not count. A sine of full amplitude has −3.
    pub level: Option<f64>,
    /// The largest sample, linear, 1.0 being full scale.
    pub peak: f32,
    /// The largest value between samples, linear (BS.1770 annex 2).
    pub true_peak: f64,
    /// How many samples lie on flat tops: the sound went on above them and is lost.
    pub clipped: usize,
    /// Level of the background in dBFS above 80 Hz, −120 for a digital silence: the median outside of speech, and of what
    /// is quietest where a recording has under 100 ms without speech.
    pub noise: f64,
    /// Where it begins or ends in the middle of speech.
    pub cut: CutOff,
    /// What the speech is made of.
    pub makeup: Makeup,
}

/// Looks at a mono recording, full scale ±1, of `rate` frames a second. Values that are not numbers count as 0.
///
/// A room's hum and hiss are told from speech by an adaptive threshold in three bands, so that a soft "s" or "f" at an end
/// counts; a click of under 15 ms that is more than 250 ms away from speech does not.
pub fn examine(samples: &[f32], rate: u32) -> Take {
    let rate = rate.max(1);
    let finite: Vec<f32> = samples.iter().map(|x| if x.is_finite() { *x } else { 0.0 }).collect();
    let (_, mean) = finite.iter().fold((0.0, 0.0), |(n, mean), x| (n + 1.0, mean + (f64::from(*x) - mean) / (n + 1.0)));
    // A microphone's constant offset would be a step at the first frame.
    let centred: Vec<f32> = finite.iter().map(|x| (f64::from(*x) - mean) as f32).collect();
    let audible = above(&centred, rate);
    let found = find::speech(&centred, &audible, rate);
    let part = found.clone().and_then(|range| finite.get(range)).unwrap_or_default();
    let spoken = found.clone().and_then(|range| audible.get(range)).unwrap_or_default();
    Take {
        rate,
        frames: samples.len(),
        loudness: loudness::of_clip(part, rate),
        level: (!spoken.is_empty()).then(|| speech_level(spoken, rate)),
        peak: finite.iter().fold(0.0_f32, |peak, x| peak.max(x.abs())),
        true_peak: loudness::true_peak(&finite, 1, rate),
        clipped: tops::count(&finite),
        noise: background(&audible, found.as_ref(), rate),
        cut: find::cut(&audible, found.as_ref(), rate),
        makeup: found.as_ref().map(|speech| Makeup::of(&audible, speech, rate)).unwrap_or_default(),
        speech: found,
    }
}

impl Take {
    /// The ratio of speech to background in dB; `None` where nothing was said.
    pub fn speech_to_noise(&self) -> Option<f64> {
        self.level.map(|level| level - self.noise)
    }

    /// How long the speech lasts, rounded to a nanosecond.
    pub fn spoken(&self) -> Option<Seconds> {
        self.speech.as_ref().map(|speech| self.time(speech.len()))
    }

    /// How long it is silent before the first sound of speech, and after the last one.
    pub fn silence(&self) -> Option<[Seconds; 2]> {
        let speech = self.speech.as_ref()?;
        Some([self.time(speech.start), self.time(self.frames.saturating_sub(speech.end))])
    }

    /// The frames worth keeping: the speech and 6 ms of air on each side, as far as there is.
    pub fn kept(&self) -> Option<Range<usize>> {
        let air = frames(self.rate, AIR);
        let speech = self.speech.as_ref()?;
        Some(speech.start.saturating_sub(air)..(speech.end + air).min(self.frames))
    }

    fn time(&self, frames: usize) -> Seconds {
        Seconds::from_nanos((frames as u128 * NANOS as u128 / u128::from(self.rate)) as i64)
    }
}

/// The part of a recording worth keeping (see [`Take::kept`]), faded in and out over 4 ms; empty where nothing was said.
pub fn trim(samples: &[f32], take: &Take) -> Vec<f32> {
    let mut kept = take.kept().and_then(|range| samples.get(range)).unwrap_or_default().to_vec();
    let fade = frames(take.rate, FADE).min(kept.len() / 2);
    for at in 0..fade {
        // Half a cosine: neither end of the fade has a corner.
        let gain = (0.5 - 0.5 * libm::cos(std::f64::consts::PI * (at as f64 + 0.5) / fade as f64)) as f32;
        let from_end = kept.len() - 1 - at;
        for at in [at, from_end] {
            if let Some(sample) = kept.get_mut(at) {
                *sample *= gain;
            }
        }
    }
    kept
}

#[cfg(test)]
mod tests;
