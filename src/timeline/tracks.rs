//! A practice for a small player: tracks that it plays by their names, one after another, pausing as long as it likes.
//!
//! Nobody knows how long a player pauses, so nothing is promised across a gap: each track has a clock of its own, says
//! where the swimmer should be, and counts down to its own first go. Where the cuts within a set are is the business of
//! `tracks::cuts`, files and their names are that of whoever writes them.

mod cuts;
mod level;

use super::beats::margin_of;
use super::legs::{Builder, Built, news};
use super::place::{GAP, Placed};
use super::schedule::{Line, READY, SETTLE, Schedule, Start, about, audible, rested, said, sequence};
use super::speak::{Announcer, Utterance};
use super::{CueKind, Leg, Timeline, preview};
use crate::practice::{CLOCK, Item, Practice, Repeat, Set, Text};
use crate::script::Water;
use crate::units::time::Seconds;
use std::ops::Range;

/// Silence at both ends of every track: players swallow the beginning of a file, or its end.
pub const SILENCE: Seconds = Seconds::from_secs(3);
/// "Go in fifteen" comes so many seconds before the first go of a track.
pub(super) const TIMER: i64 = 15;
/// Between the end of a practice's last swim and the last words.
const CLOSING: Seconds = Seconds::from_secs(4);

/// One track.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Track {
    /// What it is called.
    pub title: String,
    /// Which set, from 0; none for the first track, in which nobody swims.
    pub set: Option<usize>,
    /// Which part of the set, and of how many, from 1.
    pub part: (usize, usize),
    /// Its repeats within the set, from 0.
    pub repeats: Range<usize>,
    /// Its legs in the timeline of the whole.
    pub legs: Range<usize>,
    /// When it begins if the player never pauses.
    pub begins: Seconds,
    /// How long it lasts.
    pub len: Seconds,
}

impl Timeline {
    /// Some of the legs as a timeline that begins at 0, with the sounds of the whole: one bank serves all tracks.
    pub fn part(&self, legs: Range<usize>) -> Self {
        let legs = self.legs.get(legs).unwrap_or_default();
        let begins = legs.first().map_or(Seconds::ZERO, |leg| leg.origin);
        let moved = |leg: &Leg| Leg { origin: leg.origin - begins, ..leg.clone() };
        Self { legs: legs.iter().map(moved).collect(), sounds: self.sounds.clone(), ducking: self.ducking }
    }
}

/// What is swum in one track.
struct Piece<'a> {
    set_index: usize,
    set: &'a Set,
    part: (usize, usize),
    repeats: Range<usize>,
    /// Said and rested before it.
    says: Vec<&'a Text>,
    standing: Option<Seconds>,
}

/// Lays out a practice track by track.
pub(super) fn build(practice: &Practice, announcer: Announcer<'_>) -> Built {
    let (pieces, says) = pieces(practice, announcer);
    let mut builder = Builder::new(practice, announcer);
    let (mut legs, mut swum, mut tracks) = (Vec::new(), Vec::new(), Vec::new());
    let mut begins = Seconds::ZERO;
    let mut add = |builder: &mut Builder<'_>, starts: &[Start<'_>], track: Track| {
        let (own, times) = builder.cut(starts, track.len, swum.len());
        let first = legs.len();
        legs.extend(own.into_iter().map(|leg| Leg { origin: leg.origin + begins, ..leg }));
        swum.extend(times.into_iter().map(|swum| swum.later(begins)));
        let len = track.len;
        tracks.push(Track { legs: first..legs.len(), begins, ..track });
        begins += len;
        begins
    };
    builder.restart(" of track 0".into());
    let len = level::lay(practice, announcer, &mut builder, pieces.len());
    let title = "Level and start".to_owned();
    add(
        &mut builder,
        &[],
        Track { title, set: None, part: (1, 1), repeats: 0..0, legs: 0..0, begins: Seconds::ZERO, len },
    );
    // The last start of the track before, on its clock, and when that track ended.
    let mut before: Option<(Start<'_>, Seconds)> = None;
    for (index, piece) in pieces.iter().enumerate() {
        let mut schedule = piece.schedule(practice, announcer, index + 1, before.as_ref());
        if index + 1 == pieces.len() {
            schedule.close(&says, announcer);
        }
        builder.restart(format!(" of track {}", index + 1));
        let told = builder.dropped_mut().len();
        builder.lay(&schedule);
        let len = schedule.end.max(builder.silent() + SILENCE);
        let Piece { set_index, part, repeats, .. } = piece;
        let (title, set, repeats) = (piece.title(), Some(*set_index), repeats.clone());
        let track = Track { title, set, part: *part, repeats, legs: 0..0, begins: Seconds::ZERO, len };
        let until = add(&mut builder, &schedule.starts, track);
        for dropped in builder.dropped_mut().iter_mut().skip(told) {
            dropped.at += until - len;
        }
        before = schedule.starts.pop().map(|last| (last, len));
    }
    builder.built(legs, swum, tracks)
}

/// What each track holds, and what is said at the very end.
fn pieces<'a>(practice: &'a Practice, announcer: Announcer<'_>) -> (Vec<Piece<'a>>, Vec<&'a Text>) {
    let mut pieces: Vec<Piece<'a>> = Vec::new();
    let (mut says, mut standing, mut set_index) = (Vec::new(), None, 0);
    for item in &practice.items {
        match item {
            Item::Say(text) => says.push(text),
            Item::Rest(rest) => standing = Some(standing.unwrap_or_default() + *rest),
            Item::Set(set) => {
                let says = std::mem::take(&mut says);
                let whole = Piece { set_index, set, part: (1, 1), repeats: 0..set.repeats.len(), says, standing };
                standing = None;
                set_index += 1;
                let cuts = cuts::cuts(&whole, pieces.last().and_then(Piece::last), practice, announcer);
                pieces.extend(whole.cut(&cuts));
            }
        }
    }
    (pieces, says)
}

impl<'a> Piece<'a> {
    /// The parts that begin with these repeats, beside the first one.
    fn cut(mut self, at: &[usize]) -> Vec<Self> {
        let parts = at.len() + 1;
        let begins = std::iter::once(0).chain(at.iter().copied());
        let ends = at.iter().copied().chain([self.repeats.end]);
        let part = |(number, (begin, end))| Piece {
            set_index: self.set_index,
            set: self.set,
            part: (number, parts),
            repeats: begin..end,
            says: std::mem::take(&mut self.says),
            standing: self.standing.take(),
        };
        (1..).zip(begins.zip(ends)).map(part).collect()
    }

    fn title(&self) -> String {
        let title = self.set.title.text.trim();
        match self.part {
            (_, 1) => title.to_owned(),
            (part, parts) => format!("{title} {part} of {parts}"),
        }
    }

    fn start(&self, ordinal: usize, repeat: &'a Repeat, go: Seconds) -> Start<'a> {
        let (opens, begins_track) = (ordinal == 0, ordinal == self.repeats.start);
        let touch = go + repeat.predicted;
        let (set_index, set, talk) = (self.set_index, self.set, Vec::new());
        Start { set_index, set, repeat, go, touch, talk, opens, ordinal, begins_track }
    }

    /// Its last repeat, as if it began at 0.
    fn last(&self) -> Option<Start<'a>> {
        let last = self.repeats.end.checked_sub(1)?;
        Some(self.start(last, self.set.repeats.get(last)?, Seconds::ZERO))
    }

    /// What is said at its beginning, before "at the wall".
    fn lines(
        &self,
        practice: &Practice,
        announcer: Announcer<'_>,
        number: usize,
        before: Option<&Start<'_>>,
    ) -> Vec<Line> {
        let mut lines = vec![(CueKind::Set, announcer.track(number))];
        lines.extend(self.says.iter().map(|text| said(text)));
        if self.part.0 == 1 {
            lines.extend(about(practice, self.set, true, before, announcer));
            return lines;
        }
        lines.push((CueKind::Set, announcer.goes_on(self.set)));
        let now = self
            .set
            .repeats
            .get(self.repeats.start)
            .map(|repeat| self.start(self.repeats.start, repeat, Seconds::ZERO));
        if let Some((now, before)) = now.zip(before) {
            lines.extend(news(practice, announcer, &now, before).into_iter().map(|(_, said)| (CueKind::Set, said)));
            if let Some(tempo) = now.repeat.tempo.filter(|_| now.repeat.tempo != before.repeat.tempo)
                && self.set.lines.get(now.repeat.line).is_some_and(|line| audible(line, practice.audience))
            {
                lines.push((CueKind::Preview, preview::silent(tempo)));
            }
        }
        lines
    }

    /// The talk at its beginning and its first go; `earliest` is when the swimmer has rested enough, on its clock.
    fn opening(
        &self,
        practice: &Practice,
        announcer: Announcer<'_>,
        number: usize,
        before: Option<&Start<'_>>,
        earliest: Seconds,
    ) -> (Vec<Placed>, Seconds) {
        let (talk, talked) = sequence(self.lines(practice, announcer, number, before), SILENCE);
        let ready = (READY + practice.settings.countdown).max(Seconds::from_secs(TIMER) + GAP);
        let go = talked + SETTLE + in_place(practice, announcer).len() + GAP + ready;
        (talk, go.max(earliest).ceil_to(CLOCK))
    }

    fn schedule(
        &self,
        practice: &Practice,
        announcer: Announcer<'_>,
        number: usize,
        before: Option<&(Start<'a>, Seconds)>,
    ) -> Schedule<'a> {
        let earliest = before.map_or(Seconds::ZERO, |(last, end)| self.earliest(practice, last) - *end);
        let (talk, mut go) = self.opening(practice, announcer, number, before.map(|(last, _)| last), earliest);
        let mut starts = Vec::with_capacity(self.repeats.len());
        let own = self.set.repeats.iter().enumerate().skip(self.repeats.start).take(self.repeats.len());
        for (ordinal, repeat) in own {
            starts.push(self.start(ordinal, repeat, go));
            go += repeat.interval.unwrap_or(repeat.predicted);
        }
        if let Some(first) = starts.first_mut() {
            first.talk = talk;
        }
        let end = starts.last().map_or(Seconds::ZERO, |last| last.touch + tail(last.repeat));
        Schedule { starts, closing: Vec::new(), end }
    }

    /// When the swimmer of the repeat before may start again, on the clock of that one.
    fn earliest(&self, practice: &Practice, last: &Start<'_>) -> Seconds {
        match self.part.0 {
            1 => rested(practice, last, self.set, self.standing),
            _ => last.go + last.repeat.interval.unwrap_or(last.repeat.predicted),
        }
    }
}

impl Schedule<'_> {
    /// The last words of a practice.
    fn close(&mut self, says: &[&Text], announcer: Announcer<'_>) {
        let Some(last) = self.starts.last() else { return };
        let mut lines: Vec<Line> = says.iter().map(|text| said(text)).collect();
        lines.push((CueKind::Say, announcer.say("end", "that is the end")));
        let (closing, end) = sequence(lines, last.touch + last.repeat.uncertainty + CLOSING);
        (self.closing, self.end) = (closing, end + SILENCE);
    }
}

/// From the touch to the end of a track that ends with this repeat: the beats run out, or a late swimmer comes in.
fn tail(repeat: &Repeat) -> Seconds {
    let beats = repeat.tempo.map_or(Seconds::ZERO, |tempo| margin_of(repeat, tempo));
    beats.max(repeat.uncertainty) + SILENCE
}

/// Where to be at the first go of a track.
pub(super) fn in_place(practice: &Practice, announcer: Announcer<'_>) -> Utterance {
    match practice.water {
        Water::Pool(_) => announcer.say("at-the-wall", "at the wall"),
        Water::Open => announcer.say("at-the-start", "at the start"),
    }
}
