//! The single sounds of a take, and which of them can be words.
//!
//! Whatever is said has vowels, and a vowel repeats itself 70 to 400 times a second for a while. A breath, a cough or a chair
//! does not, and a knock dies away from its first moment on.

use super::measure::{frames, power};
use crate::audio::filter::Biquad;
use crate::units::time::Seconds;
use std::ops::Range;

/// Milliseconds from one window to the next, here and in every length below that is counted in windows.
const STEP: usize = 10;
/// Below the loudest window by this factor (30 dB) nothing is a sound of its own: echo, and the room.
const FAINT: f64 = 1e-3;
/// A silence shorter than this, in windows, is within a sound: the closed mouth of a "p" or a "k".
const CLOSED: usize = 11;
/// A window is voiced if it is so much like itself a period later; noise of this bandwidth reaches half of it.
const ALIKE: f64 = 0.65;
/// The least and the greatest pitch of a voice in Hz: a low man's, a child's.
const PITCH: (u32, u32) = (70, 400);
/// Above this, in Hz, a vowel has nothing that its pitch would not show below.
const VOWELS: f64 = 900.0;
/// Hz that are enough to look for a pitch.
const ENOUGH: u32 = 4_000;
/// Milliseconds that are compared with those a period later.
const COMPARED: usize = 30;
/// The fewest voiced windows of a word: the short vowel of "kick", said fast, has six.
const VOWEL: usize = 4;
/// Of a knock, this part of its power lies in its first three windows; a word takes time to open the mouth.
const STRUCK: f64 = 0.75;

/// More windows without voice than these before the first vowel of a word are no part of it: the "str" of "straight", said
/// slowly, has 25.
const LED_IN: usize = 35;
/// What comes this long after a word, in windows, or later, and is none, does not belong to it.
const APART: usize = 30;

/// What the speech in a take is made of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Makeup {
    /// Whether there are words in it, or something like them.
    pub words: bool,
    /// From another sound before the words to their beginning.
    pub before: Option<Seconds>,
    /// From the end of the words to the end of another sound.
    pub after: Option<Seconds>,
    /// The longest silence between two sounds from the first word to the last.
    pub pause: Seconds,
}

impl Makeup {
    /// Of the speech that was found. `audible` is the take above 80 Hz.
    pub(super) fn of(audible: &[f32], speech: &Range<usize>, rate: u32) -> Self {
        let sounds = sounds(audible, speech, rate);
        let time = |windows: usize| Seconds::from_millis((windows * STEP) as i64);
        let is_word = |sound: &SingleSound| sound.word;
        let (Some(first), Some(last)) = (sounds.iter().position(is_word), sounds.iter().rposition(is_word)) else {
            return Self::default();
        };
        let words = sounds.get(first..=last).unwrap_or_default();
        let (Some(begin), Some(end)) = (words.first(), words.last()) else { return Self::default() };
        let lead = sounds.first().map_or(0, |sound| begin.windows.start - sound.windows.start);
        let lead = if begin.unvoiced > LED_IN { lead + begin.unvoiced } else { lead };
        let behind = sounds.get(last + 1..).unwrap_or_default();
        let away = behind.iter().rfind(|sound| sound.windows.start - end.windows.end >= APART);
        let gaps = words.iter().zip(words.iter().skip(1)).map(|(a, b)| b.windows.start - a.windows.end);
        Self {
            words: true,
            before: (lead > 0).then(|| time(lead)),
            after: away.map(|sound| time(sound.windows.end - end.windows.end)),
            pause: time(gaps.max().unwrap_or(0)),
        }
    }
}

/// One sound from silence to silence, in windows.
struct SingleSound {
    windows: Range<usize>,
    /// Its windows before the first voiced one; all of them where none is.
    unvoiced: usize,
    /// Whether it can be a word, or several.
    word: bool,
}

fn sounds(audible: &[f32], speech: &Range<usize>, rate: u32) -> Vec<SingleSound> {
    let hop = frames(rate, STEP);
    let spoken = audible.get(speech.clone()).unwrap_or_default();
    let powers: Vec<f64> = spoken.chunks(hop).map(power).collect();
    let loudest = powers.iter().copied().fold(0.0, f64::max);
    let voiced = voiced(spoken, rate, powers.len());
    let mut found: Vec<Range<usize>> = Vec::new();
    for (at, _) in powers.iter().enumerate().filter(|(_, power)| **power > loudest * FAINT) {
        match found.last_mut() {
            Some(last) if at - last.end < CLOSED => last.end = at + 1,
            _ => found.push(at..at + 1),
        }
    }
    let of = |windows: Range<usize>| {
        let powers = powers.get(windows.clone()).unwrap_or_default();
        let voiced = voiced.get(windows.clone()).unwrap_or_default();
        let loudest_of = |kind: bool| {
            let of_kind = powers.iter().zip(voiced).filter(|(_, voiced)| **voiced == kind);
            of_kind.map(|(power, _)| *power).fold(0.0, f64::max)
        };
        let count = voiced.iter().filter(|voiced| **voiced).count();
        let first: f64 = powers.iter().take(3).sum();
        let struck = first > powers.iter().sum::<f64>() * STRUCK;
        // Of a word the vowel is the loudest, or nearly; what a cough has of voice comes after its burst, and softer.
        let sung = loudest_of(true) * 4.0 >= loudest_of(false);
        let unvoiced = voiced.iter().position(|voiced| *voiced).unwrap_or(voiced.len());
        SingleSound { unvoiced, word: count >= VOWEL && sung && !struck, windows }
    };
    found.into_iter().map(of).collect()
}

/// Which windows are voiced.
fn voiced(samples: &[f32], rate: u32, windows: usize) -> Vec<bool> {
    let mut low = samples.to_vec();
    for q in [0.541_196, 1.306_563] {
        Biquad::low_pass(rate, VOWELS, q).run(&mut low);
    }
    let every = (rate / ENOUGH).max(1);
    let low: Vec<f64> = low.iter().step_by(every as usize).map(|x| f64::from(*x)).collect();
    let rate = rate / every;
    let (hop, len) = (frames(rate, STEP), frames(rate, COMPARED));
    let (shortest, longest) = ((rate / PITCH.1).max(1) as usize, (rate / PITCH.0).max(1) as usize);
    let alike = |at: usize| {
        // Around the middle of the window, the later part a period behind.
        let from = (at * hop + hop / 2).saturating_sub((len + longest) / 2);
        let (Some(one), true) = (low.get(from..from + len), low.len() >= from + len + longest) else { return 0.0 };
        let energy = |part: &[f64]| part.iter().map(|x| x * x).sum::<f64>();
        let own = energy(one);
        let at_lag = |lag: usize| {
            let other = low.get(from + lag..from + lag + len).unwrap_or_default();
            let both: f64 = one.iter().zip(other).map(|(a, b)| a * b).sum();
            both / libm::sqrt((own * energy(other)).max(1e-24))
        };
        (shortest..=longest).map(at_lag).fold(0.0, f64::max)
    };
    (0..windows).map(|at| alike(at) > ALIKE).collect()
}
