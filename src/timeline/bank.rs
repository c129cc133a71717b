//! The clips of a practice, made ready for the mixer: recordings decoded and treated, beats and signals synthesised,
//! each at its loudness.
//!
//! The same bank comes out whatever the number of processors. Choosing what is heard is not done here. What many practices share
//! is in `stock`.

mod stock;

pub use stock::Stock;

use crate::audio::bank::{Bank, BankClip};
use crate::audio::clip::{self, DecodeError};
use crate::audio::resample::Resampler;
use crate::audio::synth::{self, Instrument};
use crate::audio::voice::{self, HeardThrough};
use crate::cores;
use crate::pack::ClipId;
use crate::pack::library::Library;
use crate::script::{BeatSound, Settings, Timbre};
use crate::timeline::Sound;
use crate::units::level::{Decibels, Lufs};
use crate::units::swim::Side;
use crate::units::time::{SampleRate, Seconds};
use std::collections::HashMap;
use std::{fmt, io};

/// How loud and for what a bank is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BankSettings {
    /// Loudness of every recording.
    pub voice: Lufs,
    /// Level of beats against the voice.
    pub beats: Decibels,
    /// What it is heard through.
    pub output: HeardThrough,
}

impl BankSettings {
    /// Those of a practice, heard through this.
    pub const fn of(settings: &Settings, output: HeardThrough) -> Self {
        Self { voice: settings.voice, beats: settings.beats, output }
    }
}

/// Levels against the voice in dB. The go is what a swimmer must not miss, the pips lead up to it; a text without a
/// recording is only a reminder. Chosen by ear.
const GO: f64 = -3.0;
const PIP: f64 = -6.0;
const PLACEHOLDER: f64 = -9.0;
/// The breath mark against the beats in dB: it is to be noticed among them.
const BREATH: f64 = 2.0;

/// A recording that cannot be used.
#[derive(Debug)]
pub struct BankError {
    /// The recording, as its pack names it.
    pub recording: String,
    /// ClipFault.
    pub why: ClipFault,
}

/// ClipFault a recording cannot be used.
#[derive(Debug)]
pub enum ClipFault {
    /// No such recording in the library.
    Unknown,
    /// It cannot be read.
    Read(io::Error),
    /// It cannot be decoded.
    Decode(DecodeError),
    /// It is not as long as when the packs were opened.
    Changed,
}

impl fmt::Display for BankError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the recording {} ", self.recording)?;
        match &self.why {
            ClipFault::Unknown => f.write_str("is in no pack that is in use"),
            ClipFault::Read(error) => write!(f, "cannot be read: {error}"),
            ClipFault::Decode(error) => write!(f, "{error}"),
            ClipFault::Changed => f.write_str("was changed while the practice was made: start again"),
        }
    }
}

impl std::error::Error for BankError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match &self.why {
            ClipFault::Read(error) => Some(error),
            ClipFault::Decode(error) => Some(error),
            ClipFault::Unknown | ClipFault::Changed => None,
        }
    }
}

const fn instrument(timbre: Timbre) -> &'static Instrument {
    match timbre {
        Timbre::Wood => &Instrument::WOOD,
        Timbre::Bell => &Instrument::BELL,
        Timbre::Tick => &Instrument::TICK,
        Timbre::Low => &Instrument::LOW,
        Timbre::High => &Instrument::HIGH,
    }
}

/// How long a beat sounds.
pub fn beat_len(beat: &BeatSound) -> Seconds {
    beat.length.unwrap_or(instrument(beat.timbre).len)
}

/// How long a sound lasts; `None` for a recording that is not in the library.
pub fn sound_len(sound: &Sound, library: &Library) -> Option<Seconds> {
    Some(match sound {
        Sound::Beat(beat) => beat_len(beat),
        Sound::Breath(_) => synth::BREATH,
        Sound::Sight => synth::SIGHT,
        Sound::Wall => synth::WALL,
        Sound::Pip => synth::PIP,
        Sound::Go => synth::GO,
        Sound::Clip(id) => library.recording(*id)?.len,
        Sound::Placeholder => synth::PLACEHOLDER,
    })
}

/// The notes of a breath mark in Hz: rising to the right, falling to the left, so that a side is heard with one ear too.
const fn notes(side: Option<Side>) -> [f64; 2] {
    match side {
        None => [600.0, 900.0],
        Some(Side::Right) => [680.0, 1020.0],
        Some(Side::Left) => [1020.0, 680.0],
    }
}

/// The samples of a beat, its own level not applied.
fn strike(beat: &BeatSound, rate: SampleRate) -> Vec<f32> {
    let instrument = instrument(beat.timbre);
    synth::beat(instrument, beat.pitch.unwrap_or(instrument.pitch), beat_len(beat), rate)
}

/// Makes the clips of all sounds, in their order, on every processor. The error is that of the first sound that has one.
pub fn build(
    sounds: &[Sound],
    library: &Library,
    rate: SampleRate,
    settings: &BankSettings,
) -> Result<Bank, BankError> {
    build_with(cores::count(), sounds, library, rate, settings, &Stock::default())
}

impl Stock {
    /// As [`build`], on this thread, with the recordings that are there already.
    ///
    /// # Errors
    /// As [`build`].
    pub fn bank(
        &self,
        sounds: &[Sound],
        library: &Library,
        rate: SampleRate,
        settings: &BankSettings,
    ) -> Result<Bank, BankError> {
        build_with(1, sounds, library, rate, settings, self)
    }
}

/// As [`build`], on so many threads, from a stock.
fn build_with(
    workers: usize,
    sounds: &[Sound],
    library: &Library,
    rate: SampleRate,
    settings: &BankSettings,
    stock: &Stock,
) -> Result<Bank, BankError> {
    let maker = || Maker { library, rate, settings, stock, resamplers: HashMap::new() };
    let clips = cores::share(workers, sounds, maker, Maker::make).into_iter().collect::<Result<_, _>>()?;
    Ok(Bank { rate, clips })
}

struct Maker<'a> {
    library: &'a Library,
    rate: SampleRate,
    settings: &'a BankSettings,
    stock: &'a Stock,
    /// One for each rate that recordings came in.
    resamplers: HashMap<u32, Resampler>,
}

impl Maker<'_> {
    fn make(&mut self, sound: &Sound) -> Result<BankClip, BankError> {
        let rate = self.rate;
        let voice = self.settings.voice.lufs();
        let beats = voice + self.settings.beats.db();
        // Without gates: these are too short for them, and sound throughout.
        let synthesised = |samples: Vec<f32>, lufs| Ok(voice::level(&samples, rate, lufs, true));
        match sound {
            Sound::Beat(beat) => synthesised(strike(beat, rate), beats + beat.level.db()),
            Sound::Breath(side) => synthesised(synth::breath(rate, notes(*side)), beats + BREATH),
            Sound::Sight => synthesised(synth::sight(rate), beats + BREATH),
            Sound::Wall => synthesised(synth::wall(rate), beats),
            Sound::Pip => synthesised(synth::pip(rate), voice + PIP),
            Sound::Go => synthesised(synth::go(rate), voice + GO),
            Sound::Placeholder => synthesised(synth::placeholder(rate), voice + PLACEHOLDER),
            Sound::Clip(id) => self.recording(*id),
        }
    }

    fn recording(&mut self, id: ClipId) -> Result<BankClip, BankError> {
        let Some(recording) = self.library.recording(id) else {
            return Err(BankError { recording: format!("number {}", id.0), why: ClipFault::Unknown });
        };
        let (voice, output) = (self.settings.voice.lufs(), self.settings.output);
        let key = (recording.name.clone(), recording.len, self.rate, voice.to_bits(), output);
        self.stock.get(key, || {
            let error = |why| BankError { recording: recording.name.clone(), why };
            let bytes = recording.read().map_err(|failure| error(ClipFault::Read(failure)))?;
            let pcm = clip::decode(&bytes).map_err(|failure| error(ClipFault::Decode(failure)))?;
            if pcm.len() != recording.len {
                return Err(error(ClipFault::Changed));
            }
            let new = || Resampler::new(pcm.rate, self.rate.hertz());
            let resampler = self.resamplers.entry(pcm.rate).or_insert_with(new);
            Ok(voice::level(&voice::treat(&pcm, output, resampler), self.rate, voice, false))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::loudness;
    use crate::cases::amount;
    use crate::diag::Sources;
    use crate::pack::library::Role;
    use crate::pack::load::{Search, open};
    use crate::pack::recorded::{Bytes, Provenance, Recording};
    use std::sync::{Arc, LazyLock};

    const SETTINGS: BankSettings =
        BankSettings { voice: Lufs::of(-16.0), beats: Decibels::of(-6.0), output: HeardThrough::Headphones };

    /// Opened once for all tests.
    fn shipped() -> Library {
        static SHIPPED: LazyLock<Library> = LazyLock::new(|| {
            let search = Search { built_in: Some("first-lengths".to_owned()), ..Search::default() };
            open(&search, None, &mut Sources::new()).0
        });
        SHIPPED.clone()
    }

    fn beat(level: f64) -> Sound {
        Sound::Beat(BeatSound { timbre: Timbre::Wood, pitch: None, length: None, level: Decibels::of(level) })
    }

    fn sounds(library: &Library) -> Vec<Sound> {
        let phrases =
            library.of(Role::Phrase).take(amount(3, 8)).filter_map(|(_, entry)| entry.full.clip).map(Sound::Clip);
        let words = library.of(Role::Word).take(amount(3, 8)).filter_map(|(_, entry)| entry.full.clip).map(Sound::Clip);
        let own = [beat(0.0), beat(-4.0), Sound::Breath(None), Sound::Wall, Sound::Pip, Sound::Go, Sound::Placeholder];
        own.into_iter().chain(phrases).chain(words).collect()
    }

    fn played(clip: &BankClip) -> Vec<f32> {
        clip.samples.iter().map(|&x| f32::from(x) / 32_768.0 * clip.gain).collect()
    }

    #[test]
    fn every_sound_is_at_its_loudness() {
        let library = shipped();
        let sounds = sounds(&library);
        let bank = build(&sounds, &library, SampleRate::CD, &SETTINGS).unwrap();
        assert_eq!(bank.clips.len(), sounds.len());
        for (sound, clip) in sounds.iter().zip(&bank.clips) {
            let expected = match sound {
                Sound::Beat(beat) => -22.0 + beat.level.db(),
                Sound::Breath(_) | Sound::Sight => -20.0,
                Sound::Pip | Sound::Wall => -22.0,
                Sound::Go => -19.0,
                Sound::Placeholder => -25.0,
                Sound::Clip(_) => -16.0,
            };
            let measure = if matches!(sound, Sound::Clip(_)) { loudness::of_clip } else { loudness::whole };
            let found = measure(&played(clip), 44_100).unwrap();
            assert!((found - expected).abs() < 0.02, "{sound:?}: {found} LUFS, not {expected}");
            let len = sound_len(sound, &library).unwrap();
            assert!((clip.samples.len() as u64).abs_diff(SampleRate::CD.frames(len)) <= 1, "{sound:?}");
            let peak = played(clip).iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
            assert!(clip.true_peak >= peak, "{sound:?}");
        }
    }

    #[test]
    fn the_bank_is_the_same_on_any_number_of_threads() {
        let library = shipped();
        let sounds = sounds(&library);
        let rate = SampleRate::new(22_050).unwrap();
        let with = |workers, sounds: &[Sound]| {
            build_with(workers, sounds, &library, rate, &SETTINGS, &Stock::default()).unwrap()
        };
        let one = with(1, &sounds);
        for workers in [2, 3, 64] {
            assert_eq!(with(workers, &sounds), one);
        }
        assert_eq!(with(4, &[]).clips, []);
    }

    #[test]
    fn a_stock_makes_a_recording_once_and_tells_treatments_apart() {
        let library = shipped();
        let sounds = sounds(&library);
        let (stock, rate) = (Stock::default(), SampleRate::new(amount(11_025, 44_100)).unwrap());
        let of = |rate, settings| stock.bank(&sounds, &library, rate, &settings).unwrap();
        let first = of(rate, SETTINGS);
        assert_eq!(first, build(&sounds, &library, rate, &SETTINGS).unwrap());
        let recordings = sounds.iter().zip(&first.clips).zip(of(rate, SETTINGS).clips);
        for ((sound, first), again) in recordings {
            let shared = Arc::ptr_eq(&first.samples, &again.samples);
            assert_eq!(shared, matches!(sound, Sound::Clip(_)), "{sound:?}");
        }
        for (rate, settings) in [
            (SampleRate::new(amount(8_000, 48_000)).unwrap(), SETTINGS),
            (rate, BankSettings { voice: Lufs::of(-20.0), ..SETTINGS }),
            (rate, BankSettings { output: HeardThrough::Speaker, ..SETTINGS }),
        ] {
            assert_eq!(of(rate, settings), build(&sounds, &library, rate, &settings).unwrap());
        }
    }

    #[test]
    fn a_recording_lasts_as_long_as_it_was_measured() {
        let library = shipped();
        for hertz in [8_000, 44_100, 96_000] {
            let rate = SampleRate::new(hertz).unwrap();
            for (id, entry) in library.of(Role::Phrase).take(amount(2, 5)) {
                let bank = build(&[Sound::Clip(entry.full.clip.unwrap())], &library, rate, &SETTINGS).unwrap();
                let frames = bank.clips[0].samples.len() as u64;
                assert!(frames.abs_diff(rate.frames(entry.full.len)) <= 1, "{id} at {hertz} Hz");
            }
        }
    }

    #[test]
    fn the_first_recording_that_fails_is_named() {
        let mut library = shipped();
        let len = Seconds::from_secs(1);
        let (name, bytes) = ("clips/says/hello.ogg".to_owned(), Bytes::Given((*b"OggS, broken").into()));
        let broken = Recording { name, bytes, len, provenance: Provenance::StandIn };
        let first = library.add_recording(broken);
        let second = library.add_recording(Recording {
            name: "clips/says/gone.wav".to_owned(),
            bytes: Bytes::File("/nowhere/gone.wav".into()),
            len,
            provenance: Provenance::StandIn,
        });
        let run = |sounds: &[Sound]| build(sounds, &library, SampleRate::CD, &SETTINGS).unwrap_err().to_string();
        let found = run(&[beat(0.0), Sound::Clip(first), Sound::Clip(second)]);
        assert!(found.starts_with("the recording clips/says/hello.ogg ends before"), "{found}");
        assert!(run(&[Sound::Clip(second)]).starts_with("the recording clips/says/gone.wav cannot be read"));
        assert!(run(&[Sound::Clip(ClipId(1 << 20))]).contains("no pack"));
    }
}
