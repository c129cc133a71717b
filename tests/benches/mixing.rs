//! What mixing costs: the audio callback's block, and an hour of practice with the floor of writing it measured beside it.
//!
//! Files go to the folder that `LENGTHWISE_BENCH_DIR` names (memory-backed, to measure the program and not the disk), or
//! to the system's folder for temporary files.

#![allow(missing_docs, clippy::unwrap_used, reason = "a benchmark")]

use divan::{Bencher, black_box};
use lengthwise::audio::bank::{Bank, BankClip};
use lengthwise::mixer::sample::Frame;
use lengthwise::mixer::{Controls, Mixer, ToMixer};
use lengthwise::sink::file::Replace;
use lengthwise::sink::output::{FileOutput, Format};
use lengthwise::sink::spec::Spec;
use lengthwise::sink::{Sink, frames, render};
use lengthwise::timeline::segment::{Bus, DuckPoint, Event, Segment};
use lengthwise::timeline::{Beat, Cue, CueKind, CuePart, Grid, Leg, LegKind, Sound, SoundId, Timeline};
use lengthwise::units::level::Decibels;
use lengthwise::units::time::{SampleRate, Seconds, Tempo};
use std::convert::Infallible;
use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

fn main() {
    divan::main();
}

/// A clip of shaped noise: `level` of full scale, true peak at most 1.3 times that.
fn clip(frames: usize, level: f32) -> BankClip {
    let mut state = frames as u32;
    let noise = (0..frames).map(|_| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        ((state >> 16) as i16 as f32 * level) as i16
    });
    BankClip { samples: noise.collect(), gain: 1.0, true_peak: level * 1.3 }
}

/// The same in syllables, five a second, whose tops alone reach `level`: about as speech stands above its own mean.
fn spoken(frames: usize, level: f32) -> BankClip {
    let syllable = 44_100 / 5;
    let shape = |i: usize| 1.0 - (2.0 * (i % syllable) as f32 / syllable as f32 - 1.0).abs();
    let clip = clip(frames, level);
    let shaped = (0..).zip(clip.samples.iter()).map(|(i, sample)| (f32::from(*sample) * shape(i) * shape(i)) as i16);
    BankClip { samples: shaped.collect(), ..clip }
}

/// A mixer in the midst of `voices` voices of ten minutes, the beats among them ducked.
fn playing(voices: u32, level: f32, duck: &[(u64, f32)]) -> (Mixer, Controls) {
    let rate = SampleRate::CD;
    let clips = vec![clip(rate.hertz() as usize * 600, level)];
    let bank = Arc::new(Bank { rate, clips });
    let event = |id: u32| Event {
        frame: u64::from(id) * 7,
        id,
        clip: 0,
        offset: id * 1000,
        gain: [1.0, 1.0],
        bus: [Bus::Beats, Bus::Beats, Bus::Beats, Bus::Voice][id as usize % 4],
    };
    let duck = duck.iter().map(|(frame, gain)| DuckPoint { frame: *frame, gain: *gain }).collect();
    let segment = Segment { epoch: 0, start: 0, events: (0..voices).map(event).collect(), duck, bank };
    let (mut mixer, controls) = Mixer::new(rate);
    controls.to.try_send(ToMixer::Append(Box::new(segment))).unwrap();
    mixer.render(&mut vec![0.0; 2 * 4096]);
    assert_eq!(controls.figures.voices(), voices);
    (mixer, controls)
}

fn block(bencher: Bencher<'_, '_>, (mut mixer, controls): (Mixer, Controls)) {
    let mut out = [0.0_f32; 128];
    bencher.bench_local(|| mixer.render(black_box(&mut out)));
    drop(controls);
}

#[divan::bench(sample_count = 1000, sample_size = 20)]
fn block_of_64_silent(bencher: Bencher<'_, '_>) {
    block(bencher, playing(0, 0.0, &[]));
}

#[divan::bench(sample_count = 1000, sample_size = 20)]
fn block_of_64_with_16_voices_ducked(bencher: Bencher<'_, '_>) {
    block(bencher, playing(16, 0.02, &[(0, 0.25)]));
}

#[divan::bench(sample_count = 1000, sample_size = 20)]
fn block_of_64_with_16_voices_while_the_duck_moves(bencher: Bencher<'_, '_>) {
    block(bencher, playing(16, 0.02, &[(0, 1.0), (100_000_000, 0.25)]));
}

#[divan::bench(sample_count = 1000, sample_size = 20)]
fn block_of_64_with_16_voices_limited(bencher: Bencher<'_, '_>) {
    block(bencher, playing(16, 0.9, &[(0, 0.25)]));
}

#[divan::bench(sample_count = 1000, sample_size = 20)]
fn block_of_64_with_64_voices_limited(bencher: Bencher<'_, '_>) {
    block(bencher, playing(64, 0.5, &[(0, 0.25)]));
}

/// Sixty minutes: a beat every 1.10 s, 240 phrases from 60 clips of 0.9 to 2.1 s, ducked, at times limited.
fn practice(minutes: i64) -> (Timeline, Arc<Bank>) {
    let rate = SampleRate::CD;
    let tempo = Tempo::from_ratio(11, 10).unwrap();
    let leg_len = Seconds::from_secs(15);
    let mut next = 0;
    let legs = (0..minutes as u64 * 4).map(|i| {
        let origin = Seconds::from_secs(15 * i as i64);
        let end = tempo.first_at_or_after(origin + leg_len) as u32;
        let beats = (next..end).map(|k| Beat { k, kind: CueKind::Beat, sound: SoundId(0) }).collect();
        next = end;
        let phrase = Cue {
            kind: CueKind::Phrase,
            at: Seconds::from_millis(4321),
            len: Seconds::ZERO,
            id: String::new(),
            text: String::new(),
            parts: vec![CuePart { after: Seconds::ZERO, sound: SoundId(1 + (i % 60) as u32) }],
        };
        let grids = vec![Grid { origin: Seconds::ZERO - origin, tempo, beats }];
        Leg { kind: LegKind::Rest, origin, len: leg_len, cues: vec![phrase], grids }
    });
    let phrases = (0..60).map(|i| spoken(44_100 * (90 + 2 * i) / 100, 0.9));
    let clips = std::iter::once(clip(2646, 0.4)).chain(phrases).collect();
    let sounds = std::iter::once(Sound::Breath(None)).chain([Sound::Placeholder; 60]).collect();
    let timeline = Timeline { legs: legs.collect(), sounds, ducking: Decibels::of(12.0) };
    (timeline, Arc::new(Bank { rate, clips }))
}

/// Takes the samples and forgets them.
struct Nowhere;

impl Sink for Nowhere {
    type Error = Infallible;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), Infallible> {
        black_box(frames);
        Ok(())
    }

    fn silence(&mut self, frames: u64) -> Result<(), Infallible> {
        black_box(frames);
        Ok(())
    }
}

fn path() -> PathBuf {
    let folder = std::env::var_os("LENGTHWISE_BENCH_DIR").map_or_else(std::env::temp_dir, PathBuf::from);
    folder.join(format!("lengthwise-bench-{}.wav", std::process::id()))
}

#[divan::bench(args = [60, 600], sample_count = 10)]
fn minutes_mixed_and_converted(bencher: Bencher<'_, '_>, minutes: i64) {
    let (timeline, bank) = practice(minutes);
    bencher.bench(|| render(&timeline, &bank, &mut Nowhere, &mut |_, _| {}, &AtomicBool::new(false)).unwrap());
}

#[divan::bench(args = [60, 600], sample_count = 5)]
fn minutes_to_a_file(bencher: Bencher<'_, '_>, minutes: i64) {
    let (timeline, bank) = practice(minutes);
    let frames = frames(&timeline, bank.rate);
    let spec = Spec::plain(bank.rate, frames);
    bencher.bench(|| {
        let _ = std::fs::remove_file(path());
        let mut file = FileOutput::create(&path(), Format::Wav, &spec, Replace::Never).unwrap();
        render(&timeline, &bank, &mut file, &mut |_, _| {}, &AtomicBool::new(false)).unwrap();
        file.finish().unwrap();
    });
    let _ = std::fs::remove_file(path());
}

/// The floor: the same number of bytes, all zero, to the same folder in the same pieces.
#[divan::bench(args = [60, 600], sample_count = 5)]
fn minutes_of_bytes_written(bencher: Bencher<'_, '_>, minutes: u64) {
    let zeros = vec![0_u8; 1 << 18];
    bencher.bench(|| {
        let _ = std::fs::remove_file(path());
        let mut file = std::fs::File::create(path()).unwrap();
        let mut left = minutes as usize * 60 * 44_100 * 4;
        while left > 0 {
            let bytes = left.min(zeros.len());
            file.write_all(&zeros[..bytes]).unwrap();
            left -= bytes;
        }
    });
    let _ = std::fs::remove_file(path());
}
