//! The mixer, and what a device calls, under an allocator that aborts the process when the callback allocates or frees.
//!
//! A program of its own: the allocator is the whole process's, and that it really aborts is shown by a child process.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::print_stdout, reason = "a test without a harness")]

use assert_no_alloc::{AllocDisabler, assert_no_alloc};
use crossbeam_channel::bounded;
use lengthwise::audio::bank::{Bank, BankClip};
use lengthwise::device::callback::Callback;
use lengthwise::device::health::Health;
use lengthwise::device::input::Ear;
use lengthwise::mixer::{Controls, FromMixer, Mixer, QUANTUM, Rings, SEGMENTS, ToMixer};
use lengthwise::timeline::segment::{Bus, DuckPoint, Event, Segment};
use lengthwise::units::frame::PracticeFrame;
use lengthwise::units::level::Decibels;
use lengthwise::units::time::SampleRate;
use std::process::Command;
use std::sync::Arc;

#[global_allocator]
static ALLOCATOR: AllocDisabler = AllocDisabler;

const CHILD: &str = "LENGTHWISE_RT_CHILD";

fn main() {
    match std::env::var(CHILD).as_deref() {
        Ok("allocate") => {
            let kept = assert_no_alloc(|| vec![1_u8; 100]);
            println!("{}", kept.len());
        }
        Ok("free") => {
            let given = vec![1_u8; 100];
            assert_no_alloc(|| drop(given));
        }
        _ => {
            for crime in ["allocate", "free"] {
                let status = Command::new(std::env::current_exe().unwrap()).env(CHILD, crime).output().unwrap().status;
                assert!(!status.success(), "the allocator let a callback {crime}");
            }
            callback_neither_allocates_nor_frees(8_000);
            callback_neither_allocates_nor_frees(48_000);
            a_receiver_that_never_reads_costs_nothing();
            a_microphone_costs_nothing_even_unheard();
            println!("rt: ok");
        }
    }
}

fn bank(hertz: u32) -> Arc<Bank> {
    let loud = (0..hertz as usize * 2).map(|i| if (i / 20).is_multiple_of(2) { i16::MAX } else { i16::MIN });
    let clip = BankClip { samples: loud.collect(), gain: 1.0, true_peak: 1.3 };
    Arc::new(Bank { rate: SampleRate::new(hertz).unwrap(), clips: vec![clip] })
}

/// Eight voices on all faders, ducked, some of them sided, one of a clip that does not exist.
fn segment(epoch: u32, start: u64, first_id: u32, bank: &Arc<Bank>) -> Box<Segment> {
    let event = |i: u32| Event {
        frame: start + u64::from(i) * 13,
        id: first_id + i,
        clip: if i == 5 { 9 } else { 0 },
        offset: if i == 3 { 100 } else { 0 },
        gain: if i.is_multiple_of(2) { [1.0, 1.0] } else { [0.5, 1.0] },
        bus: [Bus::Voice, Bus::Beats, Bus::Signals][i as usize % 3],
    };
    let duck = [(start + 10, 1.0), (start + 200, 0.25), (start + 900, 0.25), (start + 1300, 1.0)];
    Box::new(Segment {
        epoch,
        start,
        events: (0..8).map(event).collect(),
        duck: duck.map(|(frame, gain)| DuckPoint { frame, gain }).into(),
        bank: Arc::clone(bank),
    })
}

/// Everything at once for a minute, through what a device calls: segments come and go, banks change, cuts, fades, pauses, late commands, stolen voices.
fn callback_neither_allocates_nor_frees(hertz: u32) {
    let (mixer, controls) = Mixer::new(SampleRate::new(hertz).unwrap());
    let (to, starts) = bounded(1);
    let mut callback = Callback::new(starts, 2, Arc::new(Health::default()));
    to.send(mixer).unwrap();
    let mut out = vec![0_i16; 2 * 5000];
    let (mut epoch, mut next, mut sent, mut retired, mut answered) = (0, 0_u64, 0, 0, 0);
    let mut current = bank(hertz);
    for round in 0_u32..3000 {
        let at = controls.figures.position().plus(u64::from(round % 400));
        if round.is_multiple_of(50) {
            current = bank(hertz);
        }
        while next < controls.figures.position().number() + u64::from(hertz) && sent - retired < SEGMENTS - 2 {
            if controls.to.try_send(ToMixer::Append(segment(epoch, next, round * 64, &current))).is_err() {
                break;
            }
            next += 1000;
            sent += 1;
        }
        let command = match round % 7 {
            0 => Some(ToMixer::Gain { id: round, at, bus: Bus::Beats, gain: Decibels::of(-6.0).gain() }),
            1 => {
                Some(ToMixer::Gain { id: round, at: PracticeFrame::ZERO, bus: Bus::Voice, gain: Decibels::ZERO.gain() })
            }
            2 => Some(ToMixer::Pause { id: round, at }),
            3 => Some(ToMixer::Resume { id: round, at: controls.figures.put_out().plus(77) }),
            4 if round.is_multiple_of(3) => {
                epoch += 1;
                sent += 1;
                next = at.number() + 1080;
                let cut = segment(epoch, at.number() + 80, round * 64, &current);
                Some(ToMixer::Cut {
                    id: round,
                    at,
                    to: at.plus(u64::from(round % 5) * 16),
                    epoch,
                    rings: if round.is_multiple_of(2) { Rings::ALL_BUT_BEATS } else { Rings::SIGNALS },
                    next: cut,
                })
            }
            _ => None,
        };
        if let Some(command) = command {
            controls.to.try_send(command).unwrap();
        }
        let block = 2 * (1 + (round as usize * 37) % 1500);
        assert_no_alloc(|| callback.fill(&mut out[..block]));
        let (back, answers) = drain(&controls);
        retired += back;
        answered += answers;
    }
    assert!(retired > 500 && answered > 1000, "{retired} retired, {answered} answered: too little happened");
    assert!(controls.figures.missed() > 0 && controls.figures.stolen() > 0 && controls.figures.take_peak() > 0.5);
}

/// Segments given back and commands answered.
fn drain(controls: &Controls) -> (usize, usize) {
    let (mut retired, mut answered) = (0, 0);
    for answer in controls.from.try_iter() {
        match answer {
            FromMixer::Retired(_) | FromMixer::Refused(_) => retired += 1,
            FromMixer::Obeyed { .. } => answered += 1,
        }
    }
    (retired, answered)
}

/// With all queues full the mixer keeps what it has, and gives every bit of it back later.
fn a_receiver_that_never_reads_costs_nothing() {
    let bank = bank(8_000);
    let (mut mixer, controls) = Mixer::new(SampleRate::new(8_000).unwrap());
    let mut out = [0.0; 2 * QUANTUM];
    let (mut sent, mut commands) = (0, 0);
    for round in 0..2000_u32 {
        let start = u64::from(round) * 64;
        sent += usize::from(controls.to.try_send(ToMixer::Append(segment(0, start, round * 8, &bank))).is_ok());
        let gain = ToMixer::Gain { id: round, at: PracticeFrame::ZERO, bus: Bus::Voice, gain: Decibels::ZERO.gain() };
        commands += usize::from(controls.to.try_send(gain).is_ok());
        assert_no_alloc(|| mixer.render(&mut out));
    }
    assert!(sent < 1000, "the queues never filled: {sent} sent");
    let (mut retired, mut answered) = (0, 0);
    for _ in 0..2000 {
        let (back, answers) = drain(&controls);
        retired += back;
        answered += answers;
        assert_no_alloc(|| mixer.render(&mut out));
    }
    // The last segment stays, since nothing follows it.
    assert_eq!((retired, answered), (sent - 1, commands));
}

/// More than the queue holds, in every usual block size.
fn a_microphone_costs_nothing_even_unheard() {
    let health = Arc::new(Health::default());
    let (mut ear, from) = Ear::new(2, Arc::clone(&health));
    let heard = vec![0.25_f32; 2 * 4096];
    for frames in [64, 333, 1024, 4096].repeat(100) {
        assert_no_alloc(|| ear.take(&heard[..2 * frames]));
    }
    assert!(health.underruns() > 0 && from.recv().unwrap().samples().iter().all(|sample| *sample == 0.25));
}
