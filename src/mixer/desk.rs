//! The desk: voices, faders and the practice's clock; mixes a run of frames. Commands reach it on their exact frame.

use super::level::{Level, Ramp};
use super::limit::{Slot, SlotKind};
use super::queue::Queue;
use super::sample::QUANTUM;
use super::voice::Voice;
use crate::timeline::segment::Bus;
use std::ops::Range;

/// Voices that sound at once. One more ends the voice that is nearest to its end, which loses least; it is counted.
pub const VOICES: usize = 64;

#[derive(Debug)]
pub(super) struct Desk {
    pub(super) queue: Queue,
    pub(super) voices: Vec<Voice>,
    /// The next frame of the practice.
    pub(super) position: u64,
    pub(super) faders: [Ramp; Bus::COUNT],
    /// Fades everything around a pause.
    pub(super) transport: Ramp,
    pub(super) missed: u32,
    pub(super) stolen: u32,
    /// Bounds of the voices that ended in this quantum and in the one before.
    ended: [f32; 2],
}

impl Desk {
    pub(super) fn new() -> Self {
        Self {
            queue: Queue::new(),
            voices: Vec::with_capacity(VOICES),
            position: 0,
            faders: [Ramp::resting(1.0); Bus::COUNT],
            transport: Ramp::resting(1.0),
            missed: 0,
            stolen: 0,
            ended: [0.0; 2],
        }
    }

    /// Begins a quantum: silence until a run says otherwise.
    pub(super) fn begin(&mut self, slot: &mut Slot) {
        slot.kind = SlotKind::Silent;
        slot.bound = self.ended[0];
        slot.left = [0.0; QUANTUM];
        self.ended[1] = 0.0;
    }

    /// Ends a quantum, so that the next one knows what may still ring.
    pub(super) fn end(&mut self) {
        self.ended[0] = self.ended[1];
    }

    /// Goes on so many frames later in the practice, or earlier. What sounds goes on as if nothing had happened.
    pub(super) fn skip(&mut self, frames: i64) {
        self.position = self.position.saturating_add_signed(frames);
        self.voices.iter_mut().for_each(|voice| voice.skip(frames));
        self.faders.iter_mut().chain([&mut self.transport]).for_each(|ramp| ramp.skip(frames));
    }

    /// Mixes the next `frames` of the practice into the slot from `at` on, and moves the clock.
    pub(super) fn run(&mut self, slot: &mut Slot, at: usize, frames: usize) {
        let from = self.position;
        let until = from + frames as u64;
        self.start(from, until);
        self.position = until;
        if self.voices.is_empty() {
            return;
        }
        let stereo = self.voices.iter().any(|voice| !voice.is_centred());
        if stereo && slot.kind != SlotKind::Stereo {
            slot.right = slot.left;
            slot.kind = SlotKind::Stereo;
        } else if slot.kind == SlotKind::Silent {
            slot.kind = SlotKind::Centred;
        }
        let mut tops = [0.0; Bus::COUNT];
        for (bus, top) in tops.iter_mut().enumerate() {
            if self.voices.iter().any(|voice| voice.bus == bus) {
                let level = self.level(bus, from, frames);
                *top = level.top();
                self.add_bus(bus, &level, from, slot, at..at + frames);
            }
        }
        let ended = &mut self.ended[1];
        self.voices.retain(|voice| {
            let bound = voice.peak * tops.get(voice.bus).copied().unwrap_or(1.0);
            slot.bound += bound;
            *ended += if voice.end <= until { bound } else { 0.0 };
            voice.end > until
        });
    }

    /// Adds the voices of one fader: the centred ones together, the others on their sides.
    fn add_bus(&self, bus: usize, level: &Level, from: u64, slot: &mut Slot, range: Range<usize>) {
        let frames = range.len();
        let left = slot.left.get_mut(range.clone()).unwrap_or_default();
        let right = slot.right.get_mut(range).unwrap_or_default();
        let voices = || self.voices.iter().filter(|voice| voice.bus == bus);
        let bank = |voice: &Voice| self.queue.segment(voice.slot).map(|segment| &*segment.bank);
        let mut mix = [0.0; QUANTUM];
        for voice in voices().filter(|voice| voice.is_centred()) {
            if let Some(bank) = bank(voice) {
                voice.add(bank, from, [cut(&mut mix, frames)]);
            }
        }
        add(left, &mix, level);
        if slot.kind != SlotKind::Stereo {
            return;
        }
        add(right, &mix, level);
        if voices().all(Voice::is_centred) {
            return;
        }
        let mut sides = [[0.0; QUANTUM]; 2];
        for voice in voices().filter(|voice| !voice.is_centred()) {
            if let Some(bank) = bank(voice) {
                voice.add(bank, from, sides.each_mut().map(|side| cut(side, frames)));
            }
        }
        add(left, &sides[0], level);
        add(right, &sides[1], level);
    }

    /// Starts the voices of every event before `until`.
    fn start(&mut self, from: u64, until: u64) {
        let Self { queue, voices, missed, stolen, .. } = self;
        queue.start(until, |slot, event, segment| {
            let voice = Voice::new(event, segment.epoch, slot, &segment.bank);
            let Some(voice) = voice.filter(|_| event.frame >= from) else {
                *missed = missed.saturating_add(1);
                return;
            };
            if voices.len() >= VOICES {
                let shortest = voices.iter().enumerate().min_by_key(|(_, voice)| voice.end).map(|(i, _)| i);
                shortest.map(|i| voices.remove(i));
                *stolen = stolen.saturating_add(1);
            }
            voices.push(voice);
        });
    }

    /// The gain of a fader over a run; that of the beats includes the ducking.
    fn level(&mut self, bus: usize, from: u64, frames: usize) -> Level {
        let fader = self.faders.get(bus).copied().unwrap_or(Ramp::resting(1.0));
        let level = Level::Flat(1.0).by_ramp(&fader, from).by_ramp(&self.transport, from);
        if bus == Bus::Beats.index() {
            let (points, corner) = self.queue.duck(from);
            level.by_duck(points, corner, from, frames)
        } else {
            level
        }
    }
}

fn cut(samples: &mut [f32; QUANTUM], frames: usize) -> &mut [f32] {
    samples.get_mut(..frames).unwrap_or_default()
}

fn add(mix: &mut [f32], samples: &[f32; QUANTUM], level: &Level) {
    let pairs = mix.iter_mut().zip(samples);
    match level {
        Level::Flat(gain) => pairs.for_each(|(mix, sample)| *mix += sample * gain),
        Level::Curve(gains) => pairs.zip(gains).for_each(|((mix, sample), gain)| *mix += sample * gain),
    }
}
