//! What is swum in one track: a set, or a part of one, with the talk at its beginning and the starts on its own clock.

use super::super::CueKind;
use super::super::afresh::afresh;
use super::super::beats::margin_of;
use super::super::before::{TRACK_TIMER, in_place};
use super::super::place::{GAP, Placed};
use super::super::schedule::{READY, SETTLE, Schedule, Sentence, about, explained_before, rested, said, sequence};
use super::super::speak::{Announcer, drills};
use super::super::start::Start;
use crate::practice::{CLOCK, Practice, Repeat, Set, Text};
use crate::units::time::Seconds;
use std::ops::Range;
use std::sync::Arc;

/// Silence at both ends of every track: players swallow the beginning of a file, or its end.
pub(super) const SILENCE: Seconds = Seconds::from_secs(3);

/// What is swum in one track.
pub(super) struct TrackPiece<'a> {
    pub(super) set_index: usize,
    pub(super) set: &'a Set,
    pub(super) part: (usize, usize),
    pub(super) repeats: Range<usize>,
    /// Said and rested before it.
    pub(super) says: Vec<&'a Text>,
    pub(super) standing: Option<Seconds>,
}

impl<'a> TrackPiece<'a> {
    /// The parts that begin with these repeats, beside the first one.
    pub(super) fn cut(mut self, at: &[usize]) -> Vec<Self> {
        let parts = at.len() + 1;
        let begins = std::iter::once(0).chain(at.iter().copied());
        let ends = at.iter().copied().chain([self.repeats.end]);
        let part = |(number, (begin, end))| TrackPiece {
            set_index: self.set_index,
            set: self.set,
            part: (number, parts),
            repeats: begin..end,
            says: std::mem::take(&mut self.says),
            standing: self.standing.take(),
        };
        (1..).zip(begins.zip(ends)).map(part).collect()
    }

    pub(super) fn title(&self) -> String {
        let title = self.set.title.text.trim();
        match self.part {
            (_, 1) => title.to_owned(),
            (part, parts) => format!("{title} {part} of {parts}"),
        }
    }

    /// One of its repeats, at a go.
    pub(super) fn start(&self, ordinal: usize, repeat: &Repeat, go: Seconds) -> Start {
        let start = Start::new(self.set_index, ordinal, repeat, go);
        Start { begins_track: ordinal == self.repeats.start, ..start }
    }

    /// Its last repeat, as if it began at 0.
    pub(super) fn last(&self) -> Option<Start> {
        let last = self.repeats.end.checked_sub(1)?;
        Some(self.start(last, self.set.repeats.get(last)?, Seconds::ZERO))
    }

    /// What is said at its beginning, before "at the wall".
    fn lines(
        &self,
        practice: &Practice,
        announcer: Announcer<'_>,
        number: u32,
        before: Option<&Start>,
    ) -> Vec<Sentence> {
        let mut lines = vec![(CueKind::Set, announcer.track(number))];
        lines.extend(self.says.iter().map(|text| said(text)));
        if self.part.0 == 1 {
            let mut known = explained_before(practice, self.set);
            lines.extend(about(practice, self.set, true, (before, &mut known), announcer));
            return lines;
        }
        lines.push((CueKind::Set, announcer.goes_on(self.set)));
        let Some(repeat) = self.set.repeats.get(self.repeats.start) else { return lines };
        let now = self.start(self.repeats.start, repeat, Seconds::ZERO);
        // The first part has explained everything.
        let mut known = self.set.lines.iter().flat_map(drills).map(|drill| Arc::clone(&drill.how.id)).collect();
        lines.extend(afresh(practice, announcer, (self.set, &now, before), &mut known));
        lines
    }

    /// The talk at its beginning and its first go; `earliest` is when the swimmer has rested enough, on its clock.
    pub(super) fn opening(
        &self,
        practice: &Practice,
        announcer: Announcer<'_>,
        number: u32,
        before: Option<&Start>,
        earliest: Seconds,
    ) -> (Vec<Placed>, Seconds) {
        let (talk, talked) = sequence(self.lines(practice, announcer, number, before), SILENCE);
        let ready = (READY + practice.settings.countdown).max(Seconds::from_secs(TRACK_TIMER) + GAP);
        let go = talked + SETTLE + in_place(practice, announcer).len() + GAP + ready;
        (talk, go.max(earliest).ceil_to(CLOCK))
    }

    pub(super) fn schedule(
        &self,
        practice: &Practice,
        announcer: Announcer<'_>,
        number: u32,
        before: Option<&(Start, Seconds)>,
    ) -> Schedule {
        let earliest = before.map_or(Seconds::ZERO, |(last, end)| self.earliest(practice, last) - *end);
        let (talk, mut go) = self.opening(practice, announcer, number, before.map(|(last, _)| last), earliest);
        let mut starts = Vec::with_capacity(self.repeats.len());
        let own = self.set.repeats.iter().enumerate().skip(self.repeats.start).take(self.repeats.len());
        for (ordinal, repeat) in own {
            let start = self.start(ordinal, repeat, go);
            go += start.after;
            starts.push(start);
        }
        if let Some(first) = starts.first_mut() {
            first.talk = talk;
        }
        let end = starts.last().map_or(Seconds::ZERO, |last| last.touch + tail(&last.repeat));
        Schedule { starts, closing: Vec::new(), end }
    }

    /// When the swimmer of the repeat before may start again, on the clock of that one.
    pub(super) fn earliest(&self, practice: &Practice, last: &Start) -> Seconds {
        match self.part.0 {
            1 => rested(practice, last, self.set, self.standing),
            _ => last.go + last.repeat.interval.unwrap_or(last.repeat.predicted),
        }
    }
}

/// From the touch to the end of a track that ends with this repeat: the beats run out, or a late swimmer comes in.
pub(super) fn tail(repeat: &Repeat) -> Seconds {
    let beats = repeat.tempo.map_or(Seconds::ZERO, |tempo| margin_of(repeat, tempo));
    beats.max(repeat.uncertainty) + SILENCE
}
