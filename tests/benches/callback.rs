//! A device's whole callback, a million blocks of 64 frames, with every core under load: nanoseconds a frame and the worst
//! block against the time there is. The mixer alone is measured in `mixing`.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "a measurement")]

use crossbeam_channel::bounded;
use lengthwise::audio::bank::{Bank, BankClip};
use lengthwise::device::callback::Callback;
use lengthwise::device::health::Health;
use lengthwise::mixer::{Controls, FromMixer, Mixer, ToMixer};
use lengthwise::timeline::segment::{Bus, DuckPoint, Event, Segment};
use lengthwise::units::time::SampleRate;
use std::hint::black_box;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

const RATE: u32 = 44_100;
const FRAMES: usize = 64;
const VOICES: u64 = 16;
const BLOCKS: usize = 1_000_000;

/// One second with sixteen voices, ducked in the middle. Quiet enough that the limiter rests.
fn second(number: u64, bank: &Arc<Bank>) -> Box<Segment> {
    let start = number * u64::from(RATE);
    let events = (0..VOICES).map(|voice| Event {
        frame: start + voice * 7,
        id: (number * VOICES + voice) as u32,
        clip: 0,
        offset: 0,
        gain: [0.05, if voice % 2 == 0 { 0.05 } else { 0.04 }],
        bus: if voice % 3 == 0 { Bus::Voice } else { Bus::Beats },
    });
    let duck = [(9_000, 1.0), (13_000, 0.25), (30_000, 0.25), (40_000, 1.0)];
    let duck = duck.map(|(frame, gain)| DuckPoint { frame: start + frame, gain });
    Box::new(Segment { epoch: 0, start, events: events.collect(), duck: duck.into(), bank: Arc::clone(bank) })
}

fn feed(controls: &Controls, next: &mut u64, bank: &Arc<Bank>) {
    while let Ok(answer) = controls.from.try_recv() {
        assert!(!matches!(answer, FromMixer::Refused(_)));
    }
    while *next * u64::from(RATE) < controls.figures.position().number() + 2 * u64::from(RATE) {
        controls.to.try_send(ToMixer::Append(second(*next, bank))).unwrap();
        *next += 1;
    }
}

fn main() {
    let samples: Vec<i16> = (0..RATE as i32 - 200).map(|i| ((i * 7_919) % 20_000 - 10_000) as i16).collect();
    let clip = BankClip { samples: samples.into(), gain: 1.0, true_peak: 0.4 };
    let bank = Arc::new(Bank { rate: SampleRate::new(RATE).unwrap(), clips: vec![clip] });
    let budget = FRAMES as f64 / f64::from(RATE) * 1e6;
    let cores = std::thread::available_parallelism().map_or(2, usize::from);
    for load in [0, cores] {
        let stop = Arc::new(AtomicBool::new(false));
        let busy: Vec<_> = (0..load)
            .map(|_| {
                let stop = Arc::clone(&stop);
                std::thread::spawn(move || {
                    let mut number = 0_u64;
                    while !stop.load(Ordering::Relaxed) {
                        number = black_box(number.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1));
                    }
                })
            })
            .collect();
        let (mut mixer, controls) = Mixer::new(bank.rate);
        let mut next = 0;
        feed(&controls, &mut next, &bank);
        mixer.render(&mut vec![0.0; 2 * mixer.latency() as usize]);
        let (to, starts) = bounded(1);
        to.send(mixer).unwrap();
        let mut callback = Callback::new(starts, 2, Arc::new(Health::default()));
        let mut out = [0_i16; 2 * FRAMES];
        let mut times = Vec::with_capacity(BLOCKS);
        for block in 0..BLOCKS {
            if block % 256 == 0 {
                feed(&controls, &mut next, &bank);
            }
            let begun = Instant::now();
            callback.fill(black_box(&mut out));
            times.push(begun.elapsed().as_nanos() as u64);
        }
        stop.store(true, Ordering::Relaxed);
        busy.into_iter().for_each(|thread| thread.join().unwrap());
        assert_eq!(controls.figures.missed(), 0);
        times.sort_unstable();
        let mean = times.iter().sum::<u64>() as f64 / BLOCKS as f64;
        let [median, most, worst] = [BLOCKS / 2, BLOCKS - BLOCKS / 10_000, BLOCKS - 1].map(|at| times[at] as f64 / 1e3);
        let over = times.iter().filter(|time| **time as f64 / 1e3 > budget).count();
        println!(
            "{load} busy threads: {:.1} ns a frame, median {median:.2} us, 99.99 % under {most:.1} us, worst {worst:.1} us, \
             {over} of {BLOCKS} blocks over the {budget:.0} us there are",
            mean / FRAMES as f64
        );
    }
}
