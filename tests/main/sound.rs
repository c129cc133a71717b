//! What is heard against what the timeline says: practices rendered to memory, their samples looked at one by one. The
//! recordings are decoded apart from the render and found again in it; loudness and peaks are read by `ebur128`.

use crate::cases::amount;
use crate::material::{script, wav};
use ebur128::{EbuR128, Mode};
use lengthwise::audio::clip;
use lengthwise::audio::voice::HeardThrough;
use lengthwise::mixer::sample::Frame;
use lengthwise::prepare::{self, Planned, PracticeRequest};
use lengthwise::sink::{self, Sink};
use lengthwise::timeline::bank::{self, BankSettings};
use lengthwise::timeline::{Cue, Sound};
use lengthwise::units::time::SampleRate;
use std::convert::Infallible;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

const NANOS: i128 = 1_000_000_000;

/// A render in memory with its plan.
struct Heard {
    planned: Planned,
    frames: Vec<Frame>,
    rate: u32,
}

/// A render, frame by frame.
#[derive(Default)]
pub struct Memory(pub Vec<Frame>);

impl Sink for Memory {
    type Error = Infallible;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), Infallible> {
        self.0.extend_from_slice(frames);
        Ok(())
    }

    fn silence(&mut self, frames: u64) -> Result<(), Infallible> {
        self.0.resize(self.0.len() + frames as usize, [0; 2]);
        Ok(())
    }
}

fn render(script: &Path, rate: u32) -> Heard {
    let outcome = prepare::plan(&PracticeRequest { script: script.to_owned(), ..PracticeRequest::default() }).unwrap();
    let planned = outcome.planned.unwrap_or_else(|| panic!("{:?}", outcome.diagnostics));
    let (timeline, settings) = (&planned.built.timeline, &planned.practice.settings);
    let settings = BankSettings { voice: settings.voice, beats: settings.beats, output: HeardThrough::Headphones };
    let hertz = SampleRate::new(rate).unwrap();
    let bank = Arc::new(bank::build(&timeline.sounds, &planned.library, hertz, &settings).unwrap());
    let mut memory = Memory::default();
    let rendered = sink::render(timeline, &bank, &mut memory, &mut |_, _| {}, &AtomicBool::new(false)).unwrap();
    assert_eq!((rendered.missed, rendered.stolen, rendered.frames), (0, 0, memory.0.len() as u64));
    Heard { planned, frames: memory.0, rate }
}

/// Renders a script's text that lies beside a pack of its own, if it has one.
fn render_text(text: &str, pack: Option<&dyn Fn(&Path)>, rate: u32) -> Heard {
    let folder = tempfile::tempdir().unwrap();
    if let Some(make) = pack {
        make(folder.path());
    }
    let path = folder.path().join("a.yaml");
    std::fs::write(&path, text).unwrap();
    render(&path, rate)
}

/// Something stated: from when to when in nanoseconds, and whether it is a beat.
struct Stated {
    at: Range<i128>,
    /// The exact onset in frames.
    frame: usize,
    beat: bool,
}

impl Heard {
    /// The nearest frame of `num / den` seconds.
    fn nearest(&self, num: i128, den: i128) -> usize {
        ((2 * num * i128::from(self.rate) + den) / (2 * den)) as usize
    }

    /// Every sound with the frame it must begin on, worked out here from the exact times.
    fn stated(&self) -> Vec<Stated> {
        let timeline = &self.planned.built.timeline;
        let mut all = Vec::new();
        for leg in &timeline.legs {
            let origin = i128::from(leg.origin.nanos());
            let len = |sound: &Sound| i128::from(bank::sound_len(sound, &self.planned.library).unwrap().nanos());
            for cue in &leg.cues {
                for part in &cue.parts {
                    let at = origin + i128::from((cue.at + part.after).nanos());
                    let sound = &timeline.sounds[part.sound.index()];
                    let beat = matches!(sound, Sound::Beat(_));
                    all.push(Stated { at: at..at + len(sound), frame: self.nearest(at, NANOS), beat });
                }
            }
            for grid in &leg.grids {
                let (num, den) = (i128::from(grid.tempo.num()), i128::from(grid.tempo.den()));
                for beat in &grid.beats {
                    let at = (origin + i128::from(grid.origin.nanos())) * den + i128::from(beat.k) * num * NANOS;
                    let frame = self.nearest(at, den * NANOS);
                    let sound = &timeline.sounds[beat.sound.index()];
                    all.push(Stated { at: at / den..at / den + len(sound), frame, beat: true });
                }
            }
        }
        all.sort_by_key(|stated| stated.at.start);
        all
    }

    /// Every voice with its absolute beginning.
    fn voices(&self) -> Vec<(i128, &Cue)> {
        let legs = self.planned.built.timeline.legs.iter();
        let cues =
            legs.flat_map(|leg| leg.cues.iter().map(move |cue| (i128::from((leg.origin + cue.at).nanos()), cue)));
        cues.filter(|(_, cue)| cue.kind.is_voice()).collect()
    }

    /// The samples of the left side between two times.
    fn between(&self, from: i128, to: i128) -> &[Frame] {
        &self.frames[self.nearest(from, NANOS)..self.nearest(to, NANOS).min(self.frames.len())]
    }
}

/// Everything that must hold for a render whatever the practice.
fn check(heard: &Heard) {
    let stated = heard.stated();
    // Every sound begins on its frame; what came before it has ended wherever nothing else is stated.
    let (mut ended, mut alone, mut from) = (0, 0, 0_usize);
    for sound in &stated {
        let quiet = ended + 2 < sound.frame;
        if quiet {
            let silence = &heard.frames[ended + 2..sound.frame];
            assert!(silence.iter().all(|frame| *frame == [0; 2]), "sound where nothing is stated after frame {ended}");
            from += silence.len();
        }
        // Recordings may begin with silence of their own; what is made here begins on its first sample.
        if quiet && sound.beat {
            assert_ne!(heard.frames[sound.frame], [0; 2], "nothing on frame {} ({} ns)", sound.frame, sound.at.start);
            alone += 1;
        }
        ended = ended.max(heard.nearest(sound.at.end, NANOS));
    }
    assert!(heard.frames[ended + 2..].iter().all(|frame| *frame == [0; 2]), "sound after the end");
    let beats = stated.iter().filter(|sound| sound.beat).count();
    assert!(alone * 10 >= beats * 8, "only {alone} of {beats} beats stand alone");
    assert!(from > 0);
    signals(heard);
}

/// Pips and goes, each in silence, begin on their frames.
fn signals(heard: &Heard) {
    let mut goes = 0;
    for start in &heard.planned.built.strand.starts {
        let go = i128::from(start.go.nanos());
        for before in 0..=3 {
            let frame = heard.nearest(go - before * NANOS, NANOS);
            assert!(
                heard.frames[frame] != [0; 2] && heard.frames[frame - 1] == [0; 2],
                "{before} s before the go at {go}"
            );
        }
        goes += 1;
    }
    assert!(goes > 0);
}

/// Root mean squares of 10 ms each.
fn envelope(samples: impl ExactSizeIterator<Item = f64>, rate: u32) -> Vec<f64> {
    let samples: Vec<f64> = samples.collect();
    let mean = |some: &[f64]| libm::sqrt(some.iter().map(|x| x * x).sum::<f64>() / some.len() as f64);
    samples.chunks(rate as usize / 100).map(mean).collect()
}

/// Pearson's correlation of two rows of numbers, as far as both go.
fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len().min(b.len());
    let mean = |row: &[f64]| row[..n].iter().sum::<f64>() / n as f64;
    let (ma, mb) = (mean(a), mean(b));
    let sum = |f: &dyn Fn(f64, f64) -> f64| a.iter().zip(b).map(|(a, b)| f(a - ma, b - mb)).sum::<f64>();
    sum(&|a, b| a * b) / libm::sqrt(sum(&|a, _| a * a) * sum(&|_, b| b * b)).max(1e-12)
}

/// Finds every recording that is spoken alone in the render where the timeline has it, by the shape of its loudness.
/// Returns how many were found.
fn find_voices(heard: &Heard) -> usize {
    let beats: Vec<_> = heard.stated().into_iter().filter(|sound| sound.beat).collect();
    let mut found = 0;
    for (start, cue) in heard.voices() {
        for part in &cue.parts {
            let Sound::Clip(id) = heard.planned.built.timeline.sounds[part.sound.index()] else { continue };
            let recording = heard.planned.library.recording(id).unwrap();
            let (at, len) = (start + i128::from(part.after.nanos()), i128::from(recording.len.nanos()));
            let near = |beat: &Stated| beat.at.end > at - NANOS / 2 && beat.at.start < at + len + NANOS / 2;
            if beats.iter().any(near) {
                continue;
            }
            let pcm = clip::decode(&recording.read().unwrap()).unwrap();
            let recorded = envelope(pcm.samples.iter().map(|x| f64::from(*x)), pcm.rate);
            // Ten steps of 10 ms before it, and as many after it.
            let around = heard.between(at - NANOS / 10, at + len + NANOS / 10);
            let around = envelope(around.iter().map(|frame| f64::from(frame[0])), heard.rate);
            let at_lag = |lag: usize| correlation(&recorded, &around[lag..]);
            let (best, like) = (0..=20).map(|lag| (lag, at_lag(lag))).max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
            assert!((8..=12).contains(&best) && like > 0.9, "{}: {like} at {} ms", cue.text, 10 * best as i32 - 100);
            // Around it is nothing at all, so that any sound is 20 dB over it; this much is speech.
            let peak = heard.between(at, at + len).iter().map(|frame| frame[0].unsigned_abs()).max().unwrap();
            assert!(peak > 3_000, "{}: a peak of {peak}", cue.text);
            found += 1;
        }
    }
    found
}

/// Integrated loudness of all voices that stand alone, one after the other (ITU-R BS.1770, by the `ebur128` library).
fn voice_loudness(heard: &Heard) -> f64 {
    let beats: Vec<_> = heard.stated().into_iter().filter(|sound| sound.beat).collect();
    let mut meter = EbuR128::new(2, heard.rate, Mode::I).unwrap();
    for (at, cue) in heard.voices() {
        let end = at + i128::from(cue.len.nanos());
        if !beats.iter().any(|beat| beat.at.end > at && beat.at.start < end) {
            meter.add_frames_i16(heard.between(at, end).as_flattened()).unwrap();
        }
    }
    meter.loudness_global().unwrap()
}

/// True peak in dBTP by the `ebur128` library. Digital silence is left out but for a stretch in which its filter empties.
fn true_peak(heard: &Heard) -> f64 {
    let mut meter = EbuR128::new(2, heard.rate, Mode::TRUE_PEAK).unwrap();
    for block in heard.frames.chunks(512) {
        if block.iter().any(|frame| *frame != [0; 2]) {
            meter.add_frames_i16(block.as_flattened()).unwrap();
        } else {
            meter.add_frames_i16(&[0; 128]).unwrap();
        }
    }
    let peak = (0..2).map(|side| meter.true_peak(side).unwrap()).fold(0.0, f64::max);
    20.0 * libm::log10(peak)
}

#[test]
fn a_shipped_practice_sounds_as_its_timeline_says() {
    let heard = render(Path::new("first-lengths/first-hundreds"), 16_000);
    check(&heard);
    let found = find_voices(&heard);
    assert!(found >= 120, "only {found} recordings found");
    let loudness = voice_loudness(&heard);
    assert!((loudness + 16.0).abs() <= 1.0, "the voice is at {loudness} LUFS");
    // EBU R 128: programmes stay at or below −1 dBTP.
    let peak = true_peak(&heard);
    assert!(peak <= -1.0, "{peak} dBTP");
}

const MANY: &str = "  - say: welcome
  - { set: Steady beat, swim: 3 x 75 m, rest: 5 s, tempo: [1.0968921389 s, 54.7 /min, 1.3 s], breathe: every 3, \
     focus: { phrases: [head-still, look-down, soft-hand], change: length } }
  - { set: Easy end, rounds: 2, do: [ { swim: 25 m, drill: fist, rest: 5 s }, { swim: 50 m, tempo: 0.7 s, rest: 5 s } ] }
";

#[test]
fn onsets_are_exact_at_every_rate() {
    for rate in amount(&[22_050][..], &[22_050, 44_100, 48_000]).iter().copied() {
        check(&render_text(&script(MANY), None, rate));
    }
}

#[test]
fn nothing_makes_it_too_loud() {
    let loud = "settings: { voice: -8 LUFS, beats: 12 dB, ducking: 0 dB }\n\
                beats:\n  all: { sound: bell, level: 6 dB, length: 200 ms, accent: { every: 2, sound: low, level: 6 dB, length: 200 ms } }\n";
    let practice = "  - { set: Steady beat, swim: 50 m, tempo: 0.4 s, beats: all, breathe: every 3, \
                    focus: { phrases: [head-still, look-down, soft-hand], change: 8 strokes } }\n";
    let text = script(practice).replace("practice:\n", &format!("{loud}practice:\n"));
    for rate in amount(&[16_000][..], &[16_000, 44_100, 96_000]).iter().copied() {
        let heard = render_text(&text, None, rate);
        let peak = true_peak(&heard);
        // Loud enough that the limiter has work to do.
        assert!((-1.5..=-1.0).contains(&peak), "{peak} dBTP at {rate} Hz");
    }
}

/// A pack whose one short phrase is two tones with nothing between them: in the gap a ducked beat is heard alone.
fn gap(folder: &Path) {
    let manifest = "lengthwise-pack: 1\ntitle: Gap\nlanguage: en-GB\nspeaker: { voice: tone, made-with: arithmetic, agreed: nobody speaks }\n\
                    licence: MIT\nphrases:\n  one: { full: one, short: one }\n  two: { full: two, short: two }\n";
    std::fs::create_dir_all(folder.join("clips/phrases")).unwrap();
    std::fs::write(folder.join("pack.yaml"), manifest).unwrap();
    // Sounds at both ends, and nothing between.
    let sample = |i: i32| {
        let t = f64::from(i) / 44_100.0;
        if (0.1..0.9).contains(&t) { 0 } else { (12_000.0 * libm::sin(3_000.0 * t)) as i16 }
    };
    for name in ["one", "one.short", "two", "two.short"] {
        std::fs::write(folder.join(format!("clips/phrases/{name}.wav")), wav(44_100, (0..44_100).map(sample))).unwrap();
    }
}

#[test]
fn beats_step_back_under_the_voice() {
    let cases = [("", 12.0), ("settings: { ducking: 6 dB }\n", 6.0), ("settings: { ducking: 0 dB }\n", 0.0)];
    for (ducking, wanted) in cases.into_iter().take(amount(2, 3)) {
        let practice = "  - { set: A, swim: 100 m, tempo: 0.50 s, focus: { phrases: [one, two], change: length } }\n";
        let text = script(practice).replace("pack: first-lengths\n", ducking);
        let heard = render_text(&text, Some(&gap), amount(16_000, 44_100));
        let beats: Vec<_> = heard.stated().into_iter().filter(|sound| sound.beat).collect();
        let peak = |beat: &Stated| {
            heard.between(beat.at.start, beat.at.end).iter().map(|frame| frame[0].unsigned_abs()).max().unwrap()
        };
        let swim = &heard.planned.built.strand.starts[0];
        let short: Vec<_> = heard
            .voices()
            .into_iter()
            .filter(|(at, _)| *at > i128::from(swim.go.nanos()) && *at < i128::from(swim.touch.nanos()))
            .collect();
        assert_eq!(short.len(), 3);
        let inside = |beat: &&Stated| {
            short.iter().any(|(at, _)| beat.at.start > at + NANOS * 15 / 100 && beat.at.end < at + NANOS * 9 / 10)
        };
        // Not under the go either, which sounds on the first beat.
        let away = |beat: &&Stated| {
            beat.at.start > i128::from(swim.go.nanos()) + NANOS
                && short.iter().all(|(at, _)| beat.at.end < at - NANOS || beat.at.start > at + 3 * NANOS)
        };
        let (under, alone): (Vec<_>, Vec<_>) =
            (beats.iter().filter(inside).map(peak).collect(), beats.iter().filter(away).map(peak).collect());
        assert!(under.len() >= 3 && alone.len() > 50, "{} under, {} alone", under.len(), alone.len());
        for (under, alone) in under.iter().flat_map(|under| alone.iter().map(move |alone| (under, alone))) {
            let db = 20.0 * libm::log10(f64::from(*alone) / f64::from(*under));
            assert!((db - wanted).abs() <= 0.5, "a beat steps back by {db} dB, not {wanted}");
        }
    }
}
