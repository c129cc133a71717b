//! Where speech begins and ends: an adaptive threshold in three bands, over the room's own noise.
//!
//! First what is speech for certain: louder than the room for longer than any click. From there outwards everything that
//! stands out of the noise in at least one band, across the silence of a closed mouth, until there is none.

use super::measure::{frames, power, quantile};
use crate::audio::filter::Biquad;
use std::ops::Range;

/// A part of the spectrum in which speech is told from the room.
struct Band {
    /// From and to, in Hz; the last one ends with the recording.
    hertz: (f64, f64),
    /// The width of its windows in milliseconds: low bands need more time to be told from noise.
    window: usize,
    /// Factors on the 90th percentile of noise's windows: what extends a sound, which noise exceeds in about one window of a
    /// hundred, and what is one, which it exceeds in one of a million (chi-squared of 2 × bandwidth × window degrees).
    extends: f64,
    stands: f64,
}

/// Voice and its first formant, the vowels, and twice the hiss of "s", "f", "h" and "t", which is faint in the whole but not
/// up there.
const BANDS: [Band; 4] = [
    Band { hertz: (80.0, 500.0), window: 9, extends: 1.8, stands: 3.5 },
    Band { hertz: (500.0, 2_500.0), window: 5, extends: 1.65, stands: 2.8 },
    Band { hertz: (2_500.0, 5_000.0), window: 5, extends: 1.65, stands: 2.6 },
    Band { hertz: (5_000.0, f64::INFINITY), window: 5, extends: 1.65, stands: 2.6 },
];

/// A closed mouth before a final "k" or between words takes up to this, in milliseconds.
const CLOSURE: usize = 300;
/// What is shorter than [`CLICK`] and has more than [`APART`] milliseconds to the next sound is a key, a tongue, a chair.
const CLICK: usize = 15;
const APART: usize = 250;
/// The shortest thing that can be a word, in milliseconds; knocks are shorter.
const WORD: usize = 60;

/// Below the loudest 20 ms by this factor (41 dB) nothing counts, in however quiet a room: nobody would hear it.
const FAINT: f64 = 0.8e-4;
/// In a recording without room for the noise the threshold stays this far (30 dB) below the loudest.
const TIGHT: f64 = 1e-3;
/// Power below which nothing is said: −66 dBFS.
const SILENT: f64 = 2.5e-7;

/// Powers of a signal in windows around every millisecond.
struct Powers {
    /// Sums of the powers of all steps before each.
    sums: Vec<f64>,
    hop: usize,
}

impl Powers {
    fn new(samples: &[f32], hop: usize) -> Self {
        let mut sum = 0.0;
        let steps = samples.chunks(hop).map(|step| {
            sum += step.iter().map(|&x| f64::from(x) * f64::from(x)).sum::<f64>();
            sum
        });
        Self { sums: [0.0].into_iter().chain(steps).collect(), hop }
    }

    fn steps(&self) -> usize {
        self.sums.len() - 1
    }

    /// The mean square in `width` steps around `at`, as far as there are.
    fn around(&self, at: usize, width: usize) -> f64 {
        let from = at.saturating_sub(width / 2);
        let to = (at + width.div_ceil(2)).min(self.steps());
        let sum = |at: usize| self.sums.get(at).copied().unwrap_or_default();
        (sum(to) - sum(from)).max(0.0) / (to.saturating_sub(from).max(1) * self.hop) as f64
    }
}

/// Runs of steps that are true, those with gaps of at most `gap` steps joined.
fn runs(steps: &[bool], gap: usize) -> Vec<Range<usize>> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    for (at, _) in steps.iter().enumerate().filter(|(_, on)| **on) {
        match runs.last_mut() {
            Some(last) if at - last.end <= gap => last.end = at + 1,
            _ => runs.push(at..at + 1),
        }
    }
    runs
}

/// The frames from the first to the last sound of speech. `samples` without a constant part; `audible` is what of it lies
/// above 80 Hz.
pub(super) fn speech(samples: &[f32], audible: &[f32], rate: u32) -> Option<Range<usize>> {
    let hop = frames(rate, 1);
    let whole = Powers::new(audible, hop);
    let steps = whole.steps();
    let coarse: Vec<f64> = (0..steps).map(|at| whole.around(at, 20)).collect();
    let floor = quantile(coarse.clone(), 0.1);
    // Twenty steps are added to whatever happens by the width of the window.
    let words_over = |least: f64| -> Vec<Range<usize>> {
        let over: Vec<bool> = coarse.iter().map(|power| *power > least).collect();
        runs(&over, 30).into_iter().filter(|run| run.len() >= WORD + 10).collect()
    };
    let loudest_of = |runs: &[Range<usize>]| {
        runs.iter().cloned().flatten().filter_map(|at| coarse.get(at)).copied().fold(0.0, f64::max)
    };
    // What is long enough tells how loud the voice is, however loud a key was.
    let loudest = loudest_of(&words_over(floor * 8.0));
    let certain = words_over((floor * 8.0).max(loudest * 0.003));
    let loudest = loudest_of(&certain);
    if loudest < SILENT {
        return None;
    }
    let heard = stands_out(samples, rate, hop, &certain, loudest);
    let islands: Vec<Range<usize>> = runs(&heard.extends, 14)
        .into_iter()
        .filter(|run| heard.stands.get(run.clone()).is_some_and(|stands| stands.iter().filter(|on| **on).count() >= 3))
        .collect();
    // How long a sound takes without the ringing of filters and rooms: within 20 dB of its loudest.
    let lasts = |island: &Range<usize>| {
        let powers: Vec<f64> = island.clone().map(|at| whole.around(at, 1)).collect();
        let least = powers.iter().copied().fold(0.0, f64::max) * 0.01;
        powers.iter().filter(|power| **power >= least).count()
    };
    let found = together(&islands, &certain, lasts)?;
    Some((found.start * hop).min(samples.len())..(found.end * hop).min(samples.len()))
}

/// Which steps stand out of the noise.
struct SpeechSteps {
    extends: Vec<bool>,
    stands: Vec<bool>,
}

fn stands_out(samples: &[f32], rate: u32, hop: usize, certain: &[Range<usize>], loudest: f64) -> SpeechSteps {
    let steps = samples.len().div_ceil(hop);
    let mut heard = SpeechSteps { extends: vec![false; steps], stands: vec![false; steps] };
    // Far enough from anything sure that no soft beginning or fading end counts as noise.
    let mut room = vec![true; steps];
    for run in certain {
        let near = run.start.saturating_sub(250)..(run.end + 300).min(steps);
        for at in near {
            if let Some(room) = room.get_mut(at) {
                *room = false;
            }
        }
    }
    let enough = room.iter().filter(|on| **on).count() >= 100;
    for Band { hertz, window, extends: more, stands: most } in BANDS {
        if hertz.0 > f64::from(rate) * 0.4 {
            continue;
        }
        let band = Powers::new(&within(samples, rate, hertz), hop);
        let powers: Vec<f64> = (0..steps).map(|at| band.around(at, window)).collect();
        let noise = if enough {
            quantile(powers.iter().zip(&room).filter(|(_, room)| **room).map(|(power, _)| *power).collect(), 0.9)
        } else {
            // The quietest tenth, of which windows of noise reach about twice.
            (2.0 * quantile(powers.clone(), 0.1)).min(loudest * TIGHT)
        };
        let faint = loudest * FAINT;
        for (at, power) in powers.iter().enumerate() {
            let marks = heard.extends.get_mut(at).zip(heard.stands.get_mut(at));
            if let Some((extends, stands)) = marks {
                *extends |= *power > (noise * more).max(faint);
                *stands |= *power > (noise * most).max(faint);
            }
        }
    }
    heard
}

/// One band of a signal.
fn within(samples: &[f32], rate: u32, (low, high): (f64, f64)) -> Vec<f32> {
    let mut band = samples.to_vec();
    for q in [0.541_196, 1.306_563] {
        Biquad::high_pass(rate, low, q).run(&mut band);
    }
    if high.is_finite() {
        Biquad::low_pass(rate, high, std::f64::consts::FRAC_1_SQRT_2).run(&mut band);
    }
    band
}

/// From the first to the last island that belongs to speech.
fn together(
    islands: &[Range<usize>],
    certain: &[Range<usize>],
    lasts: impl Fn(&Range<usize>) -> usize,
) -> Option<Range<usize>> {
    let touches = |island: &Range<usize>| certain.iter().any(|run| run.start < island.end && island.start < run.end);
    let first = islands.iter().position(touches)?;
    let last = islands.iter().rposition(touches)?;
    // How far the mouth may have been closed beside an island.
    let closure = |island: &Range<usize>| if lasts(island) <= CLICK { APART } else { CLOSURE };
    let (mut from, mut to) = (islands.get(first)?.start, islands.get(last)?.end);
    for island in islands.get(..first)?.iter().rev() {
        if from - island.end > closure(island) {
            break;
        }
        from = island.start;
    }
    for island in islands.get(last + 1..)? {
        if island.start - to > closure(island) {
            break;
        }
        to = island.end;
    }
    Some(from..to)
}

/// Which edges of a recording lie in the middle of speech.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CutOff {
    /// The beginning.
    pub begins: bool,
    /// The end.
    pub ends: bool,
}

/// Whether a recording begins, and ends, in the middle of speech: there is no silence, and the very edge is nearly as loud as
/// the speech.
pub(super) fn cut(audible: &[f32], speech: Option<&Range<usize>>, rate: u32) -> CutOff {
    let Some(speech) = speech else { return CutOff::default() };
    let edge = frames(rate, 5);
    let level = power(audible.get(speech.clone()).unwrap_or_default());
    let loud = |part: Option<&[f32]>| part.is_some_and(|part| power(part) > level * 0.01);
    CutOff {
        begins: speech.start < edge && loud(audible.get(..edge)),
        ends: speech.end + edge > audible.len() && loud(audible.get(audible.len().saturating_sub(edge)..)),
    }
}
