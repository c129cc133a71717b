//! A strand: one swimmer's starts and what is heard of each, in absolute time, and the cutting of strands into legs.
//!
//! Starts belong to a swimmer, voices and beats to whoever listens. Several strands can stand on one clock; the legs then
//! follow the first and hold the sounds of all. How a strand is laid is the layer's job, what a command does to it the
//! conductor's. Without a command the legs cut here are those of the file.

use super::beats::LONGEST;
use super::slice::slice;
use super::start::Start;
use super::{Cue, CueKind, Grid, Leg, LegKind};
use crate::units::time::{Seconds, beat_time};

/// What is heard of one start, in absolute time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Laid {
    /// The talk or the rest before the go, and the countdown.
    pub before: Vec<Cue>,
    /// While swimming.
    pub under: Vec<Cue>,
    /// Its beats, as if no silence came after them.
    pub grids: Vec<Grid>,
}

/// The last words, counted from the last go.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LastWords {
    /// What is said.
    pub cues: Vec<Cue>,
    /// When everything is over.
    pub end: Seconds,
}

/// One swimmer's starts, and what is heard of them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strand {
    /// The starts, in order.
    pub starts: Vec<Start>,
    /// What is heard of each; shorter where a start is held.
    pub laid: Vec<Laid>,
    /// What is said beside it all, such as a phrase asked for again.
    pub extra: Vec<Cue>,
    /// What comes after the last touch.
    pub closing: LastWords,
    /// Starts before this one are over or left out.
    pub from: usize,
    /// The start that waits until it is released.
    pub held: Option<usize>,
    /// How long before a go its countdown begins: no beat sounds from then on.
    pub countdown: Seconds,
}

/// Whether no other voice may sound beside a cue.
pub fn takes_the_voice(cue: &Cue) -> bool {
    cue.kind.is_voice() || cue.kind == CueKind::Preview
}

/// When a cue ends.
pub fn end_of(cue: &Cue) -> Seconds {
    cue.at + cue.len
}

impl Strand {
    /// Starts from here on have no time yet.
    pub fn limit(&self) -> usize {
        self.held.unwrap_or(self.starts.len())
    }

    /// The last start that has begun, and the one after it.
    pub fn at(&self, now: Seconds) -> (Option<usize>, Option<usize>) {
        let begun = |index: &usize| self.starts.get(*index).is_some_and(|start| start.go <= now);
        let begun = (self.from..self.limit()).rev().find(begun);
        let next = begun.map_or(self.from, |begun| begun + 1);
        (begun, (next < self.starts.len()).then_some(next))
    }

    /// Whether somebody is between the go and the touch of a start.
    pub fn swims(&self, index: usize, now: Seconds) -> bool {
        let swims = |start: &Start| start.go <= now && now < start.touch && start.touched.is_none();
        self.starts.get(index).is_some_and(swims)
    }

    /// Every cue laid from a start on, those said beside included.
    pub fn cues_from(&self, index: usize) -> impl Iterator<Item = &Cue> {
        let laid = self.laid.iter().skip(index);
        laid.flat_map(|laid| laid.before.iter().chain(&laid.under)).chain(&self.extra)
    }

    /// The beats of a start, up to the silence after them.
    pub(super) fn grids(&self, index: usize) -> Vec<Grid> {
        let Some((start, laid)) = self.starts.get(index).zip(self.laid.get(index)) else { return Vec::new() };
        let mut grids = laid.grids.clone();
        // Between joined swims the beats end where the next ones begin.
        let next = self.starts.get(index + 1).filter(|_| !start.repeat.joins && index + 1 < self.limit());
        if let Some(quiet) = next.map(|next| next.go - self.countdown) {
            for grid in &mut grids {
                let end = grid.tempo.first_at_or_after(quiet - LONGEST - grid.origin);
                grid.beats.retain(|beat| u64::from(beat.k) < end);
            }
        }
        grids.retain(|grid| !grid.beats.is_empty());
        grids
    }

    /// Where legs begin from `now` on, and what goes on in each.
    fn bounds(&self, now: Seconds) -> Vec<(Seconds, LegKind)> {
        let (begun, next) = self.at(now);
        let (first, limit) = (begun.unwrap_or(self.from), self.limit());
        let swim = |repeat: usize| LegKind::Swim { repeat };
        let opening = if self.swims(first, now) {
            swim(first)
        } else if next.is_none() || begun.is_none() && self.from == 0 {
            LegKind::Talk
        } else {
            LegKind::Rest
        };
        let mut bounds = vec![(now, opening)];
        for (index, start) in self.starts.iter().enumerate().take(limit).skip(first) {
            let next = self.starts.get(index + 1).filter(|_| index + 1 < limit);
            if start.go > now {
                bounds.push((start.go, swim(index)));
            }
            if start.touch > now && !start.repeat.joins && next.is_none_or(|next| start.touch < next.go) {
                bounds.push((start.touch, if next.is_none() { LegKind::Talk } else { LegKind::Rest }));
            }
        }
        bounds
    }

    /// When everything is over; while a start is held, when nothing is left to be heard.
    fn end(&self) -> Option<Seconds> {
        let last = self.starts.last().map_or(Seconds::ZERO, |last| last.go);
        self.held.is_none().then_some(last + self.closing.end)
    }
}

/// After the last voice of a practice that has no end yet, or that somebody has lengthened.
const RING_OUT: Seconds = Seconds::from_secs(1);

/// Everything that is heard from a moment on, as legs, and when the last one ends. The first leg begins at `now`.
pub fn legs(strands: &[&Strand], now: Seconds) -> (Vec<Leg>, Seconds) {
    let (mut cues, mut grids) = (Vec::new(), Vec::new());
    let mut end = now;
    for strand in strands {
        let first = strand.at(now).0.unwrap_or(strand.from);
        let heard = strand.cues_from(first).filter(|cue| end_of(cue) >= now);
        let before = cues.len();
        cues.extend(heard.cloned());
        let own: Vec<Grid> = (first..strand.limit()).flat_map(|index| strand.grids(index)).collect();
        // A practice that ends has said when; beats may not hold up one that waits.
        let last_beat = |grid: &Grid| {
            let last = grid.beats.last()?;
            Some(beat_time(grid.origin, u64::from(last.k), grid.tempo))
        };
        let beats = own.iter().filter(|_| strand.held.is_some()).filter_map(last_beat);
        let sounds = cues.iter().skip(before).map(end_of).chain(beats).max();
        end = end.max(sounds.map_or(now, |sounds| sounds + RING_OUT));
        if let Some(over) = strand.end() {
            let last = strand.starts.last().map_or(Seconds::ZERO, |last| last.go);
            let closing = strand.closing.cues.iter().map(|cue| Cue { at: cue.at + last, ..cue.clone() });
            cues.extend(closing.filter(|cue| end_of(cue) >= now));
            end = end.max(over);
        }
        grids.extend(own);
    }
    let bounds = strands.first().map_or_else(|| vec![(now, LegKind::Talk)], |first| first.bounds(now));
    // Each strand's grids are in order; beside each other they must be too.
    grids.sort_by_key(|grid| grid.origin);
    (slice(&bounds, end, cues, &grids), end)
}
