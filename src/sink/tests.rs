use super::*;
use crate::audio::bank::BankClip;
use crate::cases::{amount, cases};
use crate::timeline::{Beat, Cue, CueKind, CuePart, Grid, Leg, LegKind, Sound, SoundId};
use crate::units::level::Decibels;
use crate::units::time::{Seconds, Tempo, onset};
use proptest::prelude::*;
use std::convert::Infallible;

/// Keeps what it is given: all frames, or only where they are not zero.
#[derive(Default)]
struct KeptFrames {
    frames: Vec<Frame>,
    sparse: bool,
    at: u64,
    heard: Vec<u64>,
}

impl Sink for KeptFrames {
    type Error = Infallible;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), Infallible> {
        let heard = (self.at..).zip(frames).filter(|(_, frame)| **frame != [0, 0]).map(|(at, _)| at);
        self.heard.extend(heard);
        self.at += frames.len() as u64;
        if !self.sparse {
            self.frames.extend(frames);
        }
        Ok(())
    }

    fn silence(&mut self, frames: u64) -> Result<(), Infallible> {
        self.at += frames;
        if !self.sparse {
            self.frames.resize(self.at as usize, [0, 0]);
        }
        Ok(())
    }
}

fn clip(samples: Vec<i16>) -> BankClip {
    let top = samples.iter().map(|sample| f32::from(sample.unsigned_abs()) / 32_768.0).fold(0.0, f32::max);
    BankClip { samples: samples.into(), gain: 1.0, true_peak: top * 1.5 }
}

/// A voice of noise, a beat and an impulse, without anything platform-dependent.
fn bank(hertz: u32) -> Arc<Bank> {
    let mut state = 1_u32;
    let noise = (0..hertz * 3 / 4).map(|_| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 17) as i16
    });
    let beat = (0..hertz / 20).map(|i| if i / 16 % 2 == 0 { 12_000 } else { -12_000 });
    let clips = vec![clip(noise.collect()), clip(beat.collect()), clip(vec![16_384])];
    Arc::new(Bank { rate: SampleRate::new(hertz).unwrap(), clips })
}

const SOUNDS: [Sound; 3] = [Sound::Placeholder, Sound::Breath(None), Sound::Go];

fn cue(millis: i64, sound: u32) -> Cue {
    Cue {
        kind: if sound == 0 { CueKind::Phrase } else { CueKind::Go },
        at: Seconds::from_millis(millis),
        len: Seconds::ZERO,
        id: String::new(),
        text: String::new(),
        parts: vec![CuePart { after: Seconds::ZERO, sound: SoundId(sound) }],
    }
}

fn grid(origin: Seconds, tempo: Tempo, beats: std::ops::Range<u32>, sound: u32) -> Grid {
    let beat = |k| Beat { k, kind: CueKind::Beat, sound: SoundId(sound) };
    Grid { origin, tempo, beats: beats.map(beat).collect() }
}

/// Legs of the given milliseconds, with a voice at their start and end, and beats throughout.
fn practice(legs: &[i64], tempo: Tempo) -> Timeline {
    let mut origin = Seconds::ZERO;
    let legs = legs.iter().map(|millis| {
        let len = Seconds::from_millis(*millis);
        let beats = tempo.first_at_or_after(len) as u32;
        let cues = vec![cue(0, 0), cue(millis / 2, 2), cue(millis - 100, 0)];
        let grids = vec![grid(Seconds::from_millis(7), tempo, 0..beats, 1)];
        let leg = Leg { kind: LegKind::Rest, origin, len, cues, grids };
        origin += len;
        leg
    });
    Timeline { legs: legs.collect(), sounds: SOUNDS.to_vec(), ducking: Decibels::of(12.0) }
}

fn to_file(timeline: &Timeline, bank: &Arc<Bank>) -> Vec<Frame> {
    let mut kept = KeptFrames::default();
    let rendered = render(timeline, bank, &mut kept, &mut |_, _| {}, &AtomicBool::new(false)).unwrap();
    assert_eq!((rendered.missed, rendered.stolen), (0, 0));
    kept.frames
}

fn live(timeline: &Timeline, bank: &Arc<Bank>, blocks: &[usize]) -> Vec<Frame> {
    pulled(timeline, bank, blocks, Supply::live(bank.rate))
}

/// As a device would pull it: blocks of the given sizes in turn, the conductor pumped before each.
fn pulled(timeline: &Timeline, bank: &Arc<Bank>, blocks: &[usize], supply: Supply) -> Vec<Frame> {
    let mut conductor = Conductor::new(timeline, Arc::clone(bank), supply).unwrap();
    let (mut mixer, controls) = Mixer::new(bank.rate);
    let latency = mixer.latency() as usize;
    let total = frames(timeline, bank.rate) as usize + latency;
    let mut out: Vec<Frame> = Vec::new();
    for block in blocks.iter().cycle() {
        conductor.pump(&controls, mixer.position());
        let mut samples = vec![f32::NAN; 2 * block];
        mixer.render(&mut samples);
        out.extend(samples.chunks_exact(2).map(|frame| [to_i16(frame[0]), to_i16(frame[1])]));
        if out.len() >= total {
            break;
        }
    }
    assert_eq!((controls.figures.missed(), controls.figures.stolen()), (0, 0));
    out[latency..total].to_vec()
}

#[test]
fn a_render_has_the_length_of_its_timeline() {
    for millis in [1, 499, 1000, 61_003] {
        let timeline = practice(&[millis.max(200)], Tempo::from_ratio(11, 10).unwrap());
        let bank = bank(11_025);
        assert_eq!(to_file(&timeline, &bank).len() as u64, frames(&timeline, bank.rate));
    }
}

#[test]
fn file_and_live_are_the_same_samples() {
    let timeline = practice(&[3000, 900, 250, 200, 700, 12_000, 400, 31_000], Tempo::from_ratio(600, 547).unwrap());
    for hertz in [8_000, 44_100] {
        let bank = bank(hertz);
        let file = to_file(&timeline, &bank);
        for blocks in [&[64][..], &[441], &[1, 4096, 37], &[5000]] {
            assert!(live(&timeline, &bank, blocks) == file, "{hertz} Hz in {blocks:?}");
        }
    }
}

#[test]
fn beats_step_back_under_the_voice_and_come_back() {
    let tempo = Tempo::from_ratio(1, 1).unwrap();
    let mut timeline = practice(&[6000], tempo);
    timeline.legs[0].cues = vec![cue(1950, 0)];
    let mut bank = (*bank(8_000)).clone();
    bank.clips[0].samples = vec![0; bank.clips[0].samples.len()].into();
    let out = to_file(&timeline, &Arc::new(bank));
    let top = |second: usize| out[second * 8000..][..800].iter().map(|f| f[0].unsigned_abs()).max().unwrap();
    // 12 dB down from 12,000 is 3,014; the voice lasts from 1.95 to 2.70 s.
    assert_eq!([0, 1, 2, 3, 4].map(top), [12_000, 12_000, 3_014, 12_000, 12_000]);
}

#[test]
fn a_stopped_render_says_so() {
    let timeline = practice(&[100_000], Tempo::from_ratio(1, 1).unwrap());
    let stop = AtomicBool::new(false);
    let mut kept = KeptFrames::default();
    let mut reports = Vec::new();
    let mut progress = |done, total| {
        reports.push((done, total));
        stop.store(true, Ordering::Relaxed);
    };
    let error = render(&timeline, &bank(8_000), &mut kept, &mut progress, &stop).unwrap_err();
    assert!(matches!(error, RenderError::Stopped), "{error}");
    assert_eq!(reports, [(kept.frames.len() as u64, 800_000)]);
    assert!(kept.frames.len() as u64 <= BLOCK);
}

#[test]
fn a_failing_sink_ends_the_render() {
    let timeline = practice(&[2000], Tempo::from_ratio(1, 1).unwrap());
    let spec = spec::Spec::plain(SampleRate::CD, 5);
    let mut short = wav::Wav::begin(Vec::new(), &spec).unwrap();
    let error = render(&timeline, &bank(8_000), &mut short, &mut |_, _| {}, &AtomicBool::new(false)).unwrap_err();
    assert!(matches!(&error, RenderError::Sink(error) if error.kind() == std::io::ErrorKind::InvalidData), "{error}");
}

#[test]
fn beats_stay_on_their_frame_for_ten_hours() {
    // Tempos that are not a whole number of frames: 1.0968921389 s, and 54.7 strokes a minute = 600/547 s.
    let tempos = [Tempo::from_ratio(10_968_921_389, 10_000_000_000), Tempo::from_rate(547, 10)].map(Option::unwrap);
    let rates = amount(&[11_025, 192_000][..], &[8_000, 11_025, 22_050, 44_100, 48_000, 96_000, 192_000]);
    for hertz in rates.iter().copied() {
        let rate = SampleRate::new(hertz).unwrap();
        let clips = vec![clip(vec![16_384])];
        let bank = Arc::new(Bank { rate, clips });
        for tempo in tempos {
            let (origin, leg_len) = (Seconds::from_nanos(123_456_789), Seconds::from_secs(75));
            let count = tempo.first_at_or_after(Seconds::from_secs(36_000)) as u32;
            // One grid through 480 legs: none of them begins on a beat.
            let mut next = 0;
            let legs = (0..481).map(|i| {
                let start = Seconds::from_secs(75 * i);
                let end = tempo.first_at_or_after(start + leg_len - origin).min(u64::from(count)) as u32;
                let grids = vec![grid(origin - start, tempo, next..end, 0)];
                next = end;
                Leg { kind: LegKind::Rest, origin: start, len: leg_len, cues: vec![], grids }
            });
            let timeline =
                Timeline { legs: legs.collect(), sounds: vec![Sound::Breath(None)], ducking: Decibels::of(12.0) };
            let mut kept = KeptFrames { sparse: true, ..KeptFrames::default() };
            render(&timeline, &bank, &mut kept, &mut |_, _| {}, &AtomicBool::new(false)).unwrap();
            let expected: Vec<u64> = (0..count).map(|k| onset(origin, u64::from(k), tempo, rate)).collect();
            assert!(expected.len() > 32_000 && expected.last().unwrap() / u64::from(hertz) >= 35_998);
            assert!(kept.heard == expected, "{hertz} Hz, {tempo:?}");
        }
    }
}

proptest! {
    #![proptest_config(cases(8))]

    #[test]
    fn any_blocks_give_the_same_samples(
        legs in prop::collection::vec(200_i64..4000, 1..6),
        blocks in prop::collection::vec(1_usize..5000, 1..12),
        hertz in prop::sample::select(vec![8_000_u32, 11_025, 44_100, 48_000]),
    ) {
        let timeline = practice(&legs, Tempo::from_ratio(10_968_921_389, 10_000_000_000).unwrap());
        let bank = bank(hertz);
        let all = frames(&timeline, bank.rate) + 4096;
        let whole = pulled(&timeline, &bank, &[all as usize], Supply::file(all));
        prop_assert!(live(&timeline, &bank, &blocks) == whole);
        prop_assert!(to_file(&timeline, &bank) == whole);
    }
}

#[test]
fn an_endless_practice_of_short_legs_does_not_starve() {
    // More legs within one clip, and within one block, than the mixer has room for.
    let timeline = practice(&[200; 120], Tempo::from_ratio(2, 5).unwrap());
    let bank = bank(8_000);
    assert!(live(&timeline, &bank, &[64]) == to_file(&timeline, &bank));
}
