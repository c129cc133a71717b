//! The built-in voice: a recording for any text that has none, so that no phrase is left to a tone.
//!
//! A text becomes plain words (`speech::words`), the engine says them (`speech::engine`), the result is cut to its sound,
//! made clear enough for noise and kept in the cache (`speech::cache`). Which texts need it is `prepare`'s job; how loud
//! they are heard, and through what, is the bank's, as for any recording.

mod cache;
#[cfg(feature = "speech")]
mod engine;
mod length;
mod number;
mod rate;
pub mod words;
#[cfg(feature = "speech")]
pub mod worker;

pub use length::text_times;

use crate::audio::clip;
use crate::audio::filter::Biquad;
use crate::cores;
use crate::disk;
use crate::pack::recorded::{Bytes, Provenance, Recording};
use cache::Cache;
use rate::{RATE, SPEED};
use std::ffi::OsString;
use std::path::PathBuf;

/// Raised whenever the same text no longer gives the same sound: what the cache holds is then made again.
const VERSION: u32 = 1;
/// The voice is dull, and noise hides what little it has above this frequency in Hz: lifted by so many dB. With it a
/// recogniser got 12 % of the words wrong at 10 dB of noise, without it 45 %.
const SHELF: (f64, f64) = (1_500.0, 15.0);
/// The Q of a Butterworth filter.
const Q: f64 = std::f64::consts::FRAC_1_SQRT_2;
/// What is quieter than the loudest sample by more than this factor (50 dB), before the first sound and after the last,
/// is silence; so many frames of it stay: 5 and 15 ms.
const SILENCE: f32 = 316.0;
const BEFORE: usize = RATE as usize / 200;
const AFTER: usize = RATE as usize * 3 / 200;
/// The largest sample after treatment.
const PEAK: f32 = 29_000.0;

/// Whether this program was built with the built-in voice.
pub const AVAILABLE: bool = cfg!(feature = "speech");

/// The user's cache folder, from the values of `XDG_CACHE_HOME` and `HOME`
/// (XDG base directory specification: a relative or empty value is ignored).
pub fn cache_folder(cache_home: Option<OsString>, home: Option<OsString>) -> Option<PathBuf> {
    Some(disk::own_folder(cache_home, home, ".cache")?.join("speech"))
}

/// The built-in voice.
#[derive(Clone, Debug)]
pub struct Speech {
    folder: Option<PathBuf>,
    /// This program, to be started again for what is to be said; where there is none, it is said in this process.
    program: Option<PathBuf>,
}

impl Speech {
    /// A voice that keeps what it said in a folder, if one is given.
    pub const fn new(folder: Option<PathBuf>) -> Self {
        Self { folder, program: None }
    }

    /// The same with the engine in processes of their own: `program` is this one, whose first act must be
    /// [`worker::folder`].
    #[cfg(feature = "speech")]
    #[must_use]
    pub fn apart(self, program: PathBuf) -> Self {
        Self { program: Some(program), ..self }
    }

    /// Says texts: a recording for each, or none where there is nothing to say in a text or the voice fails. All that is
    /// not in the cache is made on all processors.
    pub fn say(&self, texts: &[String]) -> Vec<Option<Recording>> {
        let cache = self.folder.clone().map(Cache::new);
        let words: Vec<String> = texts.iter().map(|text| words::of(text)).collect();
        let key = |words: &str| format!("pico en-GB {VERSION} speed {SPEED} shelf {SHELF:?} {words}");
        let kept = |words: &String| {
            if words.is_empty() { Some(Vec::new()) } else { cache.as_ref()?.get(&key(words)) }
        };
        let mut sounds: Vec<Option<Vec<u8>>> = words.iter().map(kept).collect();
        let missing: Vec<(usize, &String)> =
            words.iter().enumerate().filter(|(at, _)| sounds.get(*at).is_some_and(Option::is_none)).collect();
        if !missing.is_empty() {
            let made = self.make(&missing.iter().map(|(_, words)| words.as_str()).collect::<Vec<_>>());
            for ((at, words), sound) in missing.iter().zip(made) {
                if let (Some(cache), Some(sound)) = (&cache, &sound) {
                    // A cache that takes nothing only means that this is said again next time.
                    let _ = cache.put(&key(words), sound);
                }
                if let Some(place) = sounds.get_mut(*at) {
                    *place = sound;
                }
            }
            cache.iter().for_each(Cache::prune);
        }
        let named = |(text, sound): (&String, Option<Vec<u8>>)| recording(text, sound?);
        texts.iter().zip(sounds).map(named).collect()
    }

    /// The sounds of words, as WAV.
    #[cfg(feature = "speech")]
    fn make(&self, words: &[&str]) -> Vec<Option<Vec<u8>>> {
        let Ok(files) = engine::VoiceFiles::write(self.folder.as_deref()) else { return vec![None; words.len()] };
        cores::share(
            cores::count(),
            words,
            || self.program.as_ref().map(|program| worker::Workplace::new(program, &files)),
            |workplace, words| {
                let said = match workplace {
                    Some(workplace) => workplace.say(words)?,
                    // An engine for each text: what was said before must not change how it sounds.
                    None => engine::Engine::open(&files).ok()?.say(words, SPEED).ok()?,
                };
                wav(&clear(&said))
            },
        )
    }

    #[cfg(not(feature = "speech"))]
    #[expect(clippy::unused_self, reason = "the voice that is not there says nothing")]
    fn make(&self, words: &[&str]) -> Vec<Option<Vec<u8>>> {
        cores::share(1, words, || (), |(), _| wav(&clear(&[])))
    }
}

fn recording(text: &str, sound: Vec<u8>) -> Option<Recording> {
    let len = clip::probe(&sound).ok()?;
    let (name, bytes) = (format!("the built-in voice: \"{text}\""), Bytes::Given(sound.into()));
    Some(Recording { name, bytes, len, provenance: Provenance::BuiltInVoice })
}

/// Cuts the silence off and lifts what noise would hide.
fn clear(samples: &[i16]) -> Vec<i16> {
    let mut samples: Vec<f32> = samples.iter().map(|&x| f32::from(x)).collect();
    Biquad::high_shelf(RATE, SHELF.0, Q, SHELF.1).run(&mut samples);
    let peak = samples.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
    let sounds = |x: &f32| x.abs() * SILENCE >= peak;
    let (Some(first), Some(last)) = (samples.iter().position(sounds), samples.iter().rposition(sounds)) else {
        return Vec::new();
    };
    let heard = samples.get(first.saturating_sub(BEFORE)..(last + 1 + AFTER).min(samples.len())).unwrap_or_default();
    if peak < 1.0 {
        return Vec::new();
    }
    heard.iter().map(|x| libm::rintf(x * (PEAK / peak)) as i16).collect()
}

/// Samples as WAV; nothing where there are none.
fn wav(samples: &[i16]) -> Option<Vec<u8>> {
    if samples.is_empty() {
        return None;
    }
    let spec =
        hound::WavSpec { channels: 1, sample_rate: RATE, bits_per_sample: 16, sample_format: hound::SampleFormat::Int };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).ok()?;
    samples.iter().try_for_each(|&sample| writer.write_sample(sample)).ok()?;
    writer.finalize().ok()?;
    Some(bytes.into_inner())
}

#[cfg(test)]
mod tests;
