//! The conductor: lowers one leg after another and keeps the mixer supplied, for a file and live alike. What can be asked
//! of it under way is in `command` and `steering`.
//!
//! It never waits: what does not fit now is offered again at the next [`Conductor::pump`]. Threads and clocks are the
//! business of those who call it.

pub mod command;
mod course;
pub mod situation;
mod steering;
mod turns;

use crate::audio::bank::Bank;
use crate::mixer::{Controls, FromMixer, SEGMENTS, ToMixer};
use crate::pack::library::Library;
use crate::practice::Practice;
use crate::swimmer::Swimmer;
use crate::timeline::legs::Swum;
use crate::timeline::lower::{BankMismatch, Lowering};
use crate::timeline::segment::{DuckPoint, Segment};
use crate::timeline::{Leg, Timeline};
use crate::units::time::{SampleRate, Seconds};
use course::Course;
use crossbeam_channel::TrySendError;
use std::ops::Range;
use std::sync::Arc;
use steering::Steering;

/// How far ahead of the mixer legs are lowered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Supply {
    /// Legs in the mixer beyond the one being played, at least.
    pub legs: u64,
    /// Frames ahead of the mixer that are known to it, at least.
    pub frames: u64,
}

impl Supply {
    /// For a file, which is mixed in blocks of up to `block` frames.
    pub const fn file(block: u64) -> Self {
        Self { legs: 2, frames: block }
    }

    /// For a device: two legs and ten seconds, so that a busy machine cannot starve the callback.
    pub fn live(rate: SampleRate) -> Self {
        Self { legs: 2, frames: rate.frames(Seconds::from_secs(10)) }
    }
}

/// What is swum behind the sound: needed to say where a practice is, and to steer it.
#[derive(Clone, Copy, Debug)]
pub struct Score<'a> {
    /// The practice.
    pub practice: &'a Practice,
    /// Every repeat in order, as planned.
    pub swum: &'a [Swum],
}

/// See the head of this file.
#[derive(Debug)]
pub struct Conductor<'a> {
    timeline: &'a Timeline,
    lowering: Lowering,
    supply: Supply,
    /// Frames of every voice of the practice, sorted: the beats step back before a voice of the next leg.
    voices: Vec<Range<u64>>,
    next_leg: usize,
    next_id: u32,
    /// Starts of the legs that were sent and not yet begun when last pumped.
    ahead: std::collections::VecDeque<u64>,
    in_mixer: usize,
    /// A segment that found no room.
    kept: Option<Box<Segment>>,
    score: Option<Score<'a>>,
    steering: Steering,
    /// What steering takes besides the score.
    means: Option<(&'a Library, &'a Swimmer)>,
    /// How the practice really goes, from the first command that changes its course.
    course: Option<Course<'a>>,
    /// Rises with each change of course.
    epoch: u32,
    /// The ducking of the segments that were sent last, each with its start.
    drawn: Vec<(u64, Box<[DuckPoint]>)>,
}

/// Frames of every voice of a practice, sorted.
fn voices(legs: &[Leg], lowering: &Lowering) -> Vec<Range<u64>> {
    let mut voices: Vec<_> = legs.iter().flat_map(|leg| lowering.voices(leg, leg.origin)).collect();
    voices.sort_by_key(|voice| (voice.start, voice.end));
    voices
}

impl<'a> Conductor<'a> {
    /// For a timeline with its bank, from the first leg on.
    ///
    /// # Errors
    /// Where the bank was not made for the timeline.
    pub fn new(timeline: &'a Timeline, bank: Arc<Bank>, supply: Supply) -> Result<Self, BankMismatch> {
        let lowering = Lowering::new(timeline, bank)?;
        let voices = voices(&timeline.legs, &lowering);
        Ok(Self {
            timeline,
            lowering,
            supply,
            voices,
            next_leg: 0,
            next_id: 0,
            ahead: std::collections::VecDeque::new(),
            in_mixer: 0,
            kept: None,
            score: None,
            steering: Steering::new(),
            means: None,
            course: None,
            epoch: 0,
            drawn: Vec::new(),
        })
    }

    /// Frees what the mixer has given back and sends what it needs, given the practice frame that it will mix next.
    pub fn pump(&mut self, controls: &Controls, position: u64) {
        while let Ok(answer) = controls.from.try_recv() {
            match answer {
                FromMixer::Retired(segment) => {
                    self.in_mixer = self.in_mixer.saturating_sub(1);
                    drop(segment);
                }
                FromMixer::Refused(segment) => {
                    self.in_mixer = self.in_mixer.saturating_sub(1);
                    // What a change of course has made void is not offered again.
                    self.kept = self.kept.take().or(Some(segment).filter(|segment| segment.epoch == self.epoch));
                }
                FromMixer::Applied { .. } | FromMixer::Late { .. } => self.steering.answered(&answer),
            }
        }
        self.note(position);
        self.steering.send(controls);
        while self.ahead.front().is_some_and(|start| *start <= position) {
            self.ahead.pop_front();
        }
        while self.steering.all_sent() && self.wants_more(position) && self.in_mixer < SEGMENTS - 1 {
            let Some(segment) = self.kept.take().or_else(|| self.lower_next()) else { break };
            match controls.to.try_send(ToMixer::Append(segment)) {
                Ok(()) => self.in_mixer += 1,
                Err(
                    TrySendError::Full(ToMixer::Append(segment)) | TrySendError::Disconnected(ToMixer::Append(segment)),
                ) => {
                    self.kept = Some(segment);
                    break;
                }
                Err(_) => break,
            }
        }
    }

    /// The practice frame up to which the mixer has been told everything; `u64::MAX` once the last leg is sent.
    pub fn covered(&self) -> u64 {
        if let Some(segment) = &self.kept {
            return segment.start;
        }
        self.legs().get(self.next_leg).map_or(u64::MAX, |leg| self.lowering.rate().frames(leg.origin))
    }

    /// What is heard as things stand: all of it as planned, or from the last change of course on.
    pub fn legs(&self) -> &[Leg] {
        let steered = self.course.as_ref().map(|course| course.legs.as_slice()).filter(|legs| !legs.is_empty());
        steered.unwrap_or(&self.timeline.legs)
    }

    fn wants_more(&self, position: u64) -> bool {
        self.kept.is_some()
            || (self.ahead.len() as u64) < self.supply.legs
            || self.covered() < position.saturating_add(self.supply.frames)
    }

    fn lower_next(&mut self) -> Option<Box<Segment>> {
        let leg = self.legs().get(self.next_leg)?;
        let mut segment =
            self.lowering.segment(leg, leg.origin, self.epoch, self.next_id, self.near(leg.origin, leg.len));
        let entry = self.steering.entry;
        if segment.start < entry {
            segment.events = segment.events.iter().filter(|event| event.frame >= entry).copied().collect();
            segment.start = entry;
        }
        self.next_leg += 1;
        self.next_id = self.next_id.wrapping_add(u32::try_from(segment.events.len()).unwrap_or(u32::MAX));
        self.ahead.push_back(segment.start);
        if self.means.is_some() {
            self.drawn.push((segment.start, segment.duck.clone()));
            let old = self.drawn.len().saturating_sub(2 * SEGMENTS);
            self.drawn.drain(..old);
        }
        Some(Box::new(segment))
    }

    /// The voices that can shape the ducking of a leg. Voices do not overlap, so their ends are sorted like their starts.
    fn near(&self, origin: Seconds, len: Seconds) -> &[Range<u64>] {
        let rate = self.lowering.rate();
        let margin = rate.frames(Seconds::from_secs(2));
        let from = rate.frames(origin).saturating_sub(margin);
        let until = rate.frames(origin + len) + margin;
        let first = self.voices.partition_point(|voice| voice.end < from);
        let last = self.voices.partition_point(|voice| voice.start <= until);
        self.voices.get(first..last).unwrap_or_default()
    }
}
