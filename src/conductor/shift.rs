//! Putting a practice to the clock of the pool: one that has come behind leaves a stretch out, one that is ahead waits. Who
//! finds that out is the session.

use super::command::Happened;
use super::steered::{Moment, Steered};
use super::turns::Turn;
use crate::mixer::Rings;
use crate::timeline::strand::end_of;
use crate::timeline::{Cue, Grid};
use crate::units::time::{Seconds, beat_time};

/// Behind by more than this, it is put on at once, whatever is lost by that; a go that comes late by less is better than
/// none.
const AT_ONCE: Seconds = Seconds::from_secs(5);
/// Behind by so much, it is put on in a swim too, though the beats then move.
const HEARD: Seconds = Seconds::from_secs(1);
/// A swim that is over sooner is not worth it: in the rest nobody notices.
const SOON: Seconds = Seconds::from_secs(10);
/// Of a countdown at least so much is heard.
const LAST_PIP: Seconds = Seconds::from_secs(1);
/// In a countdown only a go that would come later than this is worth it: the promise of a live session.
const LATE_GO: Seconds = Seconds::from_millis(100);
/// As much silence as there is between two pips, less what finding it may take.
const BETWEEN_PIPS: Seconds = Seconds::from_millis(750);
/// Before a countdown that is counted again.
const READY: Seconds = Seconds::from_secs(1);
/// So long a beat may ring.
const RING: Seconds = Seconds::from_millis(200);

/// Whether a practice is put on by so much whatever is lost by that.
pub(super) fn at_once(by: Seconds) -> bool {
    by > AT_ONCE
}

impl Steered<'_> {
    /// Whether a practice may be put on by `by`, or back where that is negative, at a moment.
    pub(super) fn may_shift(&self, at: Seconds, by: Seconds) -> bool {
        if at_once(by) {
            return true;
        }
        let (from, to) = (at.min(at + by), at.max(at + by));
        let (begun, next) = self.strand.at(at);
        let first = begun.unwrap_or(self.strand.from);
        // What comes again must have been silent; of what is left out only that counts which has begun.
        if self.strand.cues_from(first).any(|cue| cue.at <= at && end_of(cue) > from) {
            return false;
        }
        let coming = next.and_then(|next| self.start(next));
        // What is said between sets has its place and is not put elsewhere.
        if coming.is_some_and(|start| start.talk.iter().any(|placed| (from..to).contains(&placed.at))) {
            return false;
        }
        let go = coming.filter(|_| next < Some(self.strand.limit())).map(|start| start.go);
        if go.is_some_and(|go| to > go - LAST_PIP) {
            return false;
        }
        if go.is_some_and(|go| at >= go - self.strand.countdown) {
            return self.may_shift_in_countdown(first, at, by);
        }
        match begun.filter(|begun| self.strand.swims(*begun, at)).and_then(|begun| self.start(begun)) {
            Some(swum) => !self.beats_within(first, at - RING, swum.touch) || by >= HEARD && swum.touch - at > SOON,
            None => next.is_some() && !self.beats_within(first, from - RING, to),
        }
    }

    /// A countdown that is heard unevenly is better than a go that comes late. Less than a swimmer would notice waits, and a
    /// pip is left out only where the silence between two of them is too short.
    fn may_shift_in_countdown(&self, first: usize, at: Seconds, by: Seconds) -> bool {
        let to = at + by;
        let sounds = |cue: &Cue| cue.at < to && end_of(cue) > if by < BETWEEN_PIPS { at } else { to };
        by >= LATE_GO && !self.strand.cues_from(first).any(sounds)
    }

    /// Whether a beat of a start sounds in a stretch.
    fn beats_within(&self, index: usize, from: Seconds, to: Seconds) -> bool {
        let grids = self.strand.laid.get(index).map_or(&[][..], |laid| &laid.grids);
        let times = |grid: &Grid| {
            let (origin, tempo) = (grid.origin, grid.tempo);
            grid.beats.iter().any(|beat| (from..to).contains(&beat_time(origin, u64::from(beat.k), tempo)))
        };
        grids.iter().any(times)
    }

    /// From a moment in a countdown back to where a whole one can begin: a negative time.
    pub(super) fn to_countdown(&self, at: Seconds) -> Option<Seconds> {
        let next = self.strand.at(at).1.filter(|next| *next < self.strand.limit())?;
        let start = self.start(next).filter(|start| !start.repeat.joined)?;
        let begins = start.go - self.strand.countdown;
        (begins < at).then(|| (begins - READY).max(Seconds::ZERO) - at)
    }

    /// Goes on at `now` instead of at `pressed`. What was to be said in a time that is left out is said later if there is room.
    pub(super) fn shift(&mut self, moment: &Moment) -> Turn {
        let Moment { pressed: left, now, .. } = *moment;
        let mut happened = Vec::new();
        let starts = self.strand.starts.iter().zip(&mut self.recorded);
        // A start that was skipped has no go to miss, and comes back with one when the skip is taken back.
        for (start, recorded) in starts.take(self.strand.limit()).skip(self.strand.from) {
            if (left..now).contains(&start.go) && !std::mem::replace(recorded, true) {
                let (set, repeat, at) = (start.set, start.ordinal, start.go);
                let joined = start.repeat.joined;
                happened.push(if joined {
                    Happened::Joined { set, repeat, at }
                } else {
                    Happened::Unheard { set, repeat, at }
                });
            }
        }
        let heard = |cue: &Cue| end_of(cue) <= left || cue.at >= now;
        for laid in &mut self.strand.laid {
            laid.before.retain(heard);
            laid.under.retain(heard);
        }
        self.strand.extra.retain(heard);
        self.lay_coming(moment);
        Turn::new(Rings::NONE, happened)
    }
}
