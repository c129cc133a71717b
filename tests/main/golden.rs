//! Golden mixes: the same samples on every machine, pinned by hash. The clips are made of integers, so nothing here
//! depends on a maths library.
//!
//! `tests/golden/hashes.txt` has a line for each mix: its name, its frames, the hash of all, then one of each second, by
//! which a difference is found. `LENGTHWISE_BLESS=1` writes the file anew.

use crate::material::wav;
use lengthwise::audio::bank::{Bank, BankClip};
use lengthwise::audio::clip;
use lengthwise::conductor::{Conductor, Supply};
use lengthwise::mixer::sample::{Frame, to_i16};
use lengthwise::mixer::{Mixer, Rings, ToMixer};
use lengthwise::sink::spec::Spec;
use lengthwise::sink::wav::Wav;
use lengthwise::sink::{self, Sink};
use lengthwise::timeline::segment::{Bus, DuckPoint, Event, Segment};
use lengthwise::timeline::{Beat, Cue, CueKind, CuePart, Grid, Leg, LegKind, Sound, SoundId, Timeline};
use lengthwise::units::frame::{OutputFrame, PracticeFrame};
use lengthwise::units::level::Decibels;
use lengthwise::units::time::{SampleRate, Seconds, Tempo};
use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

struct Mix {
    name: &'static str,
    rate: SampleRate,
    frames: Vec<Frame>,
}

#[test]
fn mixes_are_the_same_everywhere() {
    let mixes = [
        practice("beats under phrases", 44_100, &[4_000, 2_500, 300, 6_000], 10_000),
        practice("beats under phrases, mono player", 8_000, &[4_000, 2_500, 300, 6_000], 10_000),
        practice("hot phrases, limited", 48_000, &[3_000, 900, 4_000], 32_000),
        practice("high rate", 192_000, &[1_100, 700], 32_000),
        from_wav(),
        commands(),
    ];
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/hashes.txt");
    let lines: Vec<String> = mixes.iter().map(line).collect();
    if std::env::var_os("LENGTHWISE_BLESS").is_some_and(|value| value == "1") {
        fs::write(&path, lines.join("\n") + "\n").unwrap();
    }
    let golden = fs::read_to_string(&path).unwrap();
    let golden: Vec<&str> = golden.lines().collect();
    let mut faults = Vec::new();
    for (i, (mix, line)) in mixes.iter().zip(&lines).enumerate() {
        let pinned = golden.get(i).copied().unwrap_or_default();
        if pinned != line {
            faults.push(report(mix, line, pinned));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert_eq!(golden.len(), mixes.len(), "mixes without a test");
    // Each holds something, and no two are alike.
    assert!(mixes.iter().all(|mix| mix.frames.iter().any(|frame| frame[0].unsigned_abs() > 3000)));
}

/// Writes the mix that differs, and says from where on it does.
fn report(mix: &Mix, line: &str, pinned: &str) -> String {
    let seconds = line.split('\t').skip(2).zip(pinned.split('\t').skip(2));
    // The first of them is the hash of all.
    let same = seconds.skip(1).take_while(|(new, old)| new == old).count();
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{}.wav", mix.name.replace([' ', ','], "-")));
    let frames = mix.frames.len() as u64;
    let spec = Spec::plain(mix.rate, frames);
    let mut wav = Wav::begin(fs::File::create(&path).unwrap(), &spec).unwrap();
    wav.sound(&mix.frames).unwrap();
    wav.finish().unwrap();
    let first = same * mix.rate.hertz() as usize;
    format!("{} differs from frame {first} or up to a second later; compare {}", mix.name, path.display())
}

fn line(mix: &Mix) -> String {
    let mut fields = vec![mix.name.to_owned(), mix.frames.len().to_string(), format!("{:016x}", hash(&mix.frames))];
    let seconds = mix.frames.chunks(mix.rate.hertz() as usize);
    fields.extend(seconds.map(|second| format!("{:08x}", hash(second) as u32)));
    fields.join("\t")
}

/// FNV-1a, 64 bits, over the little-endian samples (offset basis and prime as published by its authors; from memory).
fn hash(frames: &[Frame]) -> u64 {
    let bytes = frames.iter().flatten().flat_map(|sample| sample.to_le_bytes());
    bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// Noise of the given peak that dies away in steps.
fn noise(frames: usize, peak: i32, seed: u32) -> Vec<i16> {
    let mut state = seed;
    let sample = |i: usize| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let level = peak - peak * (8 * i / frames) as i32 / 8;
        (((state >> 16) as i32 - 32_768) * level / 32_768) as i16
    };
    (0..frames).map(sample).collect()
}

fn square(frames: usize, half: usize, level: i16) -> Vec<i16> {
    (0..frames).map(|i| if (i / half).is_multiple_of(2) { level } else { -level }).collect()
}

fn bank(hertz: u32, clips: Vec<Vec<i16>>) -> Arc<Bank> {
    let clip = |samples: Vec<i16>| {
        let top = samples.iter().map(|sample| sample.unsigned_abs()).max().unwrap();
        BankClip { samples: samples.into(), gain: 1.25, true_peak: f32::from(top) / 32_768.0 * 1.25 * 1.5 }
    };
    Arc::new(Bank { rate: SampleRate::new(hertz).unwrap(), clips: clips.into_iter().map(clip).collect() })
}

fn cue(kind: CueKind, millis: i64, sound: u32) -> Cue {
    Cue {
        kind,
        at: Seconds::from_millis(millis),
        len: Seconds::ZERO,
        id: String::new(),
        text: String::new(),
        parts: vec![CuePart { after: Seconds::from_millis(3), sound: SoundId(sound) }],
    }
}

/// Legs of the given milliseconds with a phrase across every border, beats, and a go.
fn timeline(legs: &[i64]) -> Timeline {
    let tempo = Tempo::from_ratio(10_968_921_389, 20_000_000_000).unwrap();
    let mut origin = Seconds::ZERO;
    let legs = legs.iter().map(|millis| {
        let len = Seconds::from_millis(*millis);
        let beat = |k| Beat { k, kind: CueKind::Beat, sound: SoundId(1) };
        let beats = (0..tempo.first_at_or_after(len) as u32).map(beat).collect();
        let cues = vec![cue(CueKind::Go, 150, 2), cue(CueKind::Phrase, millis - 250, 0)];
        let grids = vec![Grid { origin: Seconds::from_millis(1), tempo, beats }];
        let leg = Leg { kind: LegKind::Rest, origin, len, cues, grids };
        origin += len;
        leg
    });
    let sounds = vec![Sound::Placeholder, Sound::Breath(None), Sound::Go];
    Timeline { legs: legs.collect(), sounds, ducking: Decibels::of(12.0) }
}

struct Kept(Vec<Frame>);

impl Sink for Kept {
    type Error = std::convert::Infallible;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), Self::Error> {
        self.0.extend(frames);
        Ok(())
    }

    fn silence(&mut self, frames: u64) -> Result<(), Self::Error> {
        self.0.resize(self.0.len() + frames as usize, [0, 0]);
        Ok(())
    }
}

fn rendered(name: &'static str, timeline: &Timeline, bank: &Arc<Bank>) -> Mix {
    let mut kept = Kept(Vec::new());
    sink::render(timeline, bank, &mut kept, &mut |_, _| {}, &AtomicBool::new(false)).unwrap();
    Mix { name, rate: bank.rate, frames: kept.0 }
}

fn practice(name: &'static str, hertz: u32, legs: &[i64], peak: i32) -> Mix {
    let second = hertz as usize;
    let clips =
        vec![noise(second / 2, peak, 1), square(second / 20, second / 1800, 9_000), square(second / 8, 5, 14_000)];
    rendered(name, &timeline(legs), &bank(hertz, clips))
}

/// A phrase that comes as a WAV, through the decoder.
fn from_wav() -> Mix {
    let hertz = 16_000;
    let phrase = clip::decode(&wav(hertz, noise(9_000, 20_000, 2))).unwrap();
    let clips = vec![phrase.samples.to_vec(), square(800, 9, 9_000), square(2_000, 5, 14_000)];
    rendered("a phrase from a WAV", &timeline(&[2_000, 3_000]), &bank(hertz, clips))
}

/// All commands, pulled in blocks as by a device.
fn commands() -> Mix {
    let rate = SampleRate::new(48_000).unwrap();
    let clips = vec![noise(24_000, 25_000, 3), square(2_400, 27, 9_000), square(6_000, 5, 14_000)];
    let bank = bank(rate.hertz(), clips);
    let timeline = timeline(&[2_000, 2_000, 4_000]);
    let mut conductor = Conductor::new(&timeline, Arc::clone(&bank), Supply::live(rate)).unwrap();
    let (mut mixer, controls) = Mixer::new(rate);
    conductor.pump(&controls, mixer.position());
    let event = |id: u32| Event {
        frame: 150_000 + u64::from(id) * 9_001,
        id: 1000 + id,
        clip: id % 3,
        offset: id * 50,
        gain: [1.0, 0.6],
        bus: Bus::Beats,
    };
    let duck = [(160_000, 1.0), (170_000, 0.3)].map(|(frame, gain)| DuckPoint { frame, gain });
    let next = Segment {
        epoch: 1,
        start: 150_000,
        events: (0..9).map(event).collect(),
        duck: duck.into(),
        bank: Arc::clone(&bank),
    };
    for message in [
        ToMixer::Gain { id: 1, at: PracticeFrame::new(20_001), bus: Bus::Voice, gain: Decibels::of(-6.0).gain() },
        ToMixer::Pause { id: 2, at: PracticeFrame::new(91_000) },
        ToMixer::Resume { id: 3, at: OutputFrame::new(99_999) },
        ToMixer::Cut {
            id: 4,
            at: PracticeFrame::new(149_000),
            to: PracticeFrame::new(149_000),
            epoch: 1,
            rings: Rings::NONE,
            next: Box::new(next),
        },
    ] {
        controls.to.try_send(message).unwrap();
    }
    let mut out = vec![0.0; 2 * 6 * 48_000];
    out.chunks_mut(2 * 441).for_each(|block| mixer.render(block));
    let frames = out.chunks_exact(2).map(|frame| [to_i16(frame[0]), to_i16(frame[1])]).collect();
    Mix { name: "commands", rate, frames }
}
