//! The desk: voices, faders and the practice's clock; mixes a run of frames. Commands reach it on their exact frame.

use super::QUANTUM;
use super::level::{Level, Ramp};
use super::limit::{Kind, Slot};
use super::queue::Queue;
use super::voice::Voice;
use crate::timeline::segment::Bus;

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

/// What the voices of one fader add up to, before the fader.
struct BusMix {
    centre: [f32; QUANTUM],
    sides: [[f32; QUANTUM]; 2],
    sounds: bool,
    stereo: bool,
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
        slot.kind = Kind::Silent;
        slot.bound = self.ended[0];
        slot.left = [0.0; QUANTUM];
        self.ended[1] = 0.0;
    }

    /// Ends a quantum, so that the next one knows what may still ring.
    pub(super) fn end(&mut self) {
        self.ended[0] = self.ended[1];
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
        let levels = self.levels(from, frames);
        let mut mixes = [const { BusMix::SILENT }; Bus::COUNT];
        for voice in &self.voices {
            if let (Some(segment), Some(mix)) = (self.queue.segment(voice.slot), mixes.get_mut(voice.bus)) {
                mix.sounds = true;
                if voice.is_centred() {
                    voice.add(&segment.bank, from, [cut(&mut mix.centre, frames)]);
                } else {
                    mix.stereo = true;
                    voice.add(&segment.bank, from, mix.sides.each_mut().map(|side| cut(side, frames)));
                }
            }
        }
        let ended = &mut self.ended[1];
        self.voices.retain(|voice| {
            let bound = voice.peak * levels.get(voice.bus).map_or(1.0, Level::top);
            slot.bound += bound;
            *ended += if voice.end <= until { bound } else { 0.0 };
            voice.end > until
        });
        if mixes.iter().any(|mix| mix.stereo) && slot.kind != Kind::Stereo {
            slot.right = slot.left;
            slot.kind = Kind::Stereo;
        } else if slot.kind == Kind::Silent {
            slot.kind = Kind::Centred;
        }
        for (mix, level) in mixes.iter().zip(&levels).filter(|(mix, _)| mix.sounds) {
            let left = slot.left.get_mut(at..at + frames).unwrap_or_default();
            add(left, &mix.centre, level);
            if slot.kind == Kind::Stereo {
                let right = slot.right.get_mut(at..at + frames).unwrap_or_default();
                add(right, &mix.centre, level);
                if mix.stereo {
                    add(left, &mix.sides[0], level);
                    add(right, &mix.sides[1], level);
                }
            }
        }
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

    /// The gain of each fader over a run; that of the beats includes the ducking.
    fn levels(&mut self, from: u64, frames: usize) -> [Level; Bus::COUNT] {
        let (transport, faders) = (self.transport, self.faders);
        let mut levels = faders.map(|fader| Level::Flat(1.0).by_ramp(&fader, from).by_ramp(&transport, from));
        let (points, corner) = self.queue.duck(from);
        if let Some(level) = levels.get_mut(Bus::Beats.index()) {
            *level = std::mem::replace(level, Level::Flat(1.0)).by_duck(points, corner, from, frames);
        }
        levels
    }
}

impl BusMix {
    const SILENT: Self = Self { centre: [0.0; QUANTUM], sides: [[0.0; QUANTUM]; 2], sounds: false, stereo: false };
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
