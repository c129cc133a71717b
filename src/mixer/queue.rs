//! The segments that are in the mixer: which are played, which event comes next, which can be given back.

use crate::timeline::segment::{DuckPoint, Event, Segment};
use std::sync::Arc;

use super::voice::Voice;

/// Segments that fit into the mixer; the last place is kept for a cut.
pub const SEGMENTS: usize = 16;

/// No frame at all: later than every other.
const NEVER: u64 = u64::MAX;

#[derive(Debug)]
struct Queued {
    segment: Box<Segment>,
    /// The first event that has not started.
    next: usize,
    /// Ducking corners at or before the position.
    corner: usize,
    /// Where a cut ends it.
    end: u64,
}

impl Queued {
    fn next_event(&self) -> Option<&Event> {
        self.segment.events.get(self.next).filter(|event| event.frame < self.end)
    }

    fn has_begun(&self, position: u64) -> bool {
        self.segment.start <= position && self.segment.start < self.end
    }
}

/// Segments in the order in which they came.
#[derive(Debug)]
pub(super) struct Queue {
    slots: [Option<Queued>; SEGMENTS],
    order: Vec<usize>,
    /// Of the course that is played. Segments of a later one wait for its cut: where that goes back, they begin before what is
    /// played until then.
    epoch: Option<u32>,
}

impl Queue {
    pub(super) fn new() -> Self {
        Self { slots: [const { None }; SEGMENTS], order: Vec::with_capacity(SEGMENTS), epoch: None }
    }

    /// Takes a segment, or gives it back where `room` places are taken.
    pub(super) fn append(&mut self, segment: Box<Segment>, room: usize) -> Result<(), Box<Segment>> {
        let free = self.slots.iter().position(Option::is_none);
        let Some((index, slot)) =
            free.filter(|_| self.order.len() < room).and_then(|i| Some((i, self.slots.get_mut(i)?)))
        else {
            return Err(segment);
        };
        self.epoch.get_or_insert(segment.epoch);
        *slot = Some(Queued { segment, next: 0, corner: 0, end: u64::MAX });
        self.order.push(index);
        Ok(())
    }

    /// Ends everything older than `epoch` at `at`.
    pub(super) fn cut(&mut self, at: u64, epoch: u32) {
        self.epoch = Some(epoch);
        for playing in self.slots.iter_mut().flatten().filter(|playing| playing.segment.epoch < epoch) {
            playing.end = playing.end.min(at);
        }
    }

    /// Whether a segment belongs to what is played, not to what a cut is still to bring.
    fn is_due(&self, playing: &Queued) -> bool {
        self.epoch.is_none_or(|epoch| playing.segment.epoch <= epoch)
    }

    /// Hands out every event before `until`, each with its slot, in the order of segments and events.
    pub(super) fn start(&mut self, until: u64, mut each: impl FnMut(usize, &Event, &Segment)) {
        let due = |playing: &&mut Queued| self.epoch.is_none_or(|epoch| playing.segment.epoch <= epoch);
        for index in &self.order {
            let playing = self.slots.get_mut(*index).and_then(Option::as_mut).filter(due);
            let Some(playing) = playing else { continue };
            while let Some(event) = playing.next_event().filter(|event| event.frame < until) {
                each(*index, event, &playing.segment);
                playing.next += 1;
            }
        }
    }

    /// The frame of the earliest event that has not started.
    pub(super) fn next_event(&self) -> u64 {
        let due = self.slots.iter().flatten().filter(|playing| self.is_due(playing));
        due.filter_map(|playing| Some(playing.next_event()?.frame)).min().unwrap_or(NEVER)
    }

    /// The first start of a segment after `position`.
    pub(super) fn next_start(&self, position: u64) -> u64 {
        let starts = self.slots.iter().flatten().filter(|playing| playing.segment.start < playing.end);
        starts.map(|playing| playing.segment.start).filter(|start| *start > position).min().unwrap_or(NEVER)
    }

    /// The ducking curve that holds at `position`, and how many of its corners lie at or before it.
    pub(super) fn duck(&mut self, position: u64) -> (&[DuckPoint], usize) {
        let Some(Some(playing)) = self.current(position).and_then(|index| self.slots.get_mut(index)) else {
            return (&[], 0);
        };
        let points = &playing.segment.duck;
        while points.get(playing.corner).is_some_and(|point| point.frame <= position) {
            playing.corner += 1;
        }
        (points, playing.corner)
    }

    pub(super) fn segment(&self, slot: usize) -> Option<&Segment> {
        Some(&self.slots.get(slot)?.as_ref()?.segment)
    }

    /// Gives one segment that is no longer needed to `take`, which may hand it back. Voices that still play from its
    /// bank are moved to another segment with the same bank; where there is none, it stays.
    ///
    /// Returns whether one was taken.
    pub(super) fn retire(
        &mut self,
        position: u64,
        voices: &mut [Voice],
        take: impl FnOnce(Box<Segment>) -> Result<(), Box<Segment>>,
    ) -> bool {
        let current = self.current(position);
        let done = self.order.iter().copied().find(|index| {
            let Some(Some(playing)) = self.slots.get(*index) else { return false };
            let over = playing.segment.start <= position || playing.segment.start >= playing.end;
            over && self.is_due(playing)
                && playing.next_event().is_none()
                && current.is_some_and(|current| current != *index)
                && self.heir(*index, voices).is_some()
        });
        let Some((index, heir)) = done.and_then(|index| Some((index, self.heir(index, voices)?))) else { return false };
        let Some(slot) = self.slots.get_mut(index) else { return false };
        let Some(mut playing) = slot.take() else { return false };
        match take(playing.segment) {
            Ok(()) => {
                voices.iter_mut().filter(|voice| voice.slot == index).for_each(|voice| voice.slot = heir);
                self.order.retain(|other| *other != index);
                true
            }
            Err(segment) => {
                playing.segment = segment;
                *slot = Some(playing);
                false
            }
        }
    }

    /// The slot that can take over the voices of slot `index`: itself where there are none.
    fn heir(&self, index: usize, voices: &[Voice]) -> Option<usize> {
        if voices.iter().all(|voice| voice.slot != index) {
            return Some(index);
        }
        let bank = &self.segment(index)?.bank;
        let same = |other: &usize| self.segment(*other).is_some_and(|segment| Arc::ptr_eq(&segment.bank, bank));
        self.order.iter().copied().filter(|other| *other != index).find(same)
    }

    fn current(&self, position: u64) -> Option<usize> {
        let begun =
            |index: &usize| matches!(self.slots.get(*index), Some(Some(p)) if self.is_due(p) && p.has_begun(position));
        // By their starts: after a cut its own segment may come behind some that follow it.
        let start = |index: &usize| self.slots.get(*index).and_then(|p| Some(p.as_ref()?.segment.start));
        self.order.iter().copied().filter(begun).max_by_key(start)
    }
}
