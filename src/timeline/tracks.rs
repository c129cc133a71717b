//! A practice for a small player: tracks that it plays by their names, one after another, pausing as long as it likes.
//!
//! Nobody knows how long a player pauses, so nothing is promised across a gap: each track has a clock of its own, says
//! where the swimmer should be, and counts down to its own first go. What a track holds is in `tracks::piece`, where the
//! cuts within a set are in `tracks::cuts`; files and their names belong to whoever writes them.

mod cuts;
mod level;
mod piece;

use super::built::{Built, Track};
use super::lay::{Layer, silent};
use super::schedule::{Schedule, Sentence, said, sequence};
use super::speak::Announcer;
use super::start::Start;
use super::strand::{self, Strand};
use super::{CueKind, Leg, LegKind, Timeline};
use crate::practice::{Item, Practice, Text};
use crate::units::time::Seconds;
use piece::{SILENCE, TrackPiece};

/// Between the end of a practice's last swim and the last words.
const CLOSING: Seconds = Seconds::from_secs(4);

/// Lays out a practice track by track.
pub(super) fn build(practice: &Practice, announcer: Announcer<'_>) -> Built {
    let (pieces, says) = pieces(practice, announcer);
    let mut all = AllTracks::default();
    let mut layer = Layer::new(practice, announcer);
    layer.restart(" of track 0".into());
    let (legs, len) = level::lay(practice, announcer, &mut layer, pieces.len() as u32);
    let (title, none) = ("Level and start".to_owned(), Seconds::ZERO);
    all.add(legs, Vec::new(), Track { title, set: None, part: (1, 1), repeats: 0..0, legs: 0..0, begins: none, len });
    // The last start of the track before, on its clock, and when that track ended.
    let mut before: Option<(Start, Seconds)> = None;
    for (number, piece) in (1_u32..).zip(&pieces) {
        let mut schedule = piece.schedule(practice, announcer, number, before.as_ref());
        if number as usize == pieces.len() {
            close(&mut schedule, &says, announcer);
        }
        layer.restart(format!(" of track {number}"));
        let known = layer.dropped_mut().len();
        let end = schedule.end;
        let mut strand = layer.lay_all(schedule);
        let last = strand.starts.last().map_or(Seconds::ZERO, |last| last.go);
        let closing = silent(&strand.closing.cues, &[]) + last;
        let grids: Vec<_> = (0..strand.starts.len()).flat_map(|index| strand.grids(index)).collect();
        let sounds = silent(strand.cues_from(0), &grids);
        let len = end.max(sounds.max(closing) + SILENCE);
        strand.closing.end = len - last;
        let (own, _) = strand::legs(&[&strand], Seconds::ZERO);
        for dropped in layer.dropped_mut().iter_mut().skip(known) {
            dropped.at += all.len;
        }
        before = strand.starts.last().cloned().map(|last| (last, len));
        let TrackPiece { set_index, part, repeats, .. } = piece;
        let (title, set, repeats) = (piece.title(), Some(*set_index), repeats.clone());
        all.add(own, strand.starts, Track { title, set, part: *part, repeats, legs: 0..0, begins: none, len });
    }
    let (sounds, findings) = layer.finish();
    let timeline = Timeline { legs: all.legs, sounds, ducking: practice.settings.ducking };
    let strand = Strand { starts: all.starts, ..Strand::default() };
    Built { timeline, strand, followers: Vec::new(), tracks: all.tracks, findings }
}

/// Tracks end to end on one clock.
#[derive(Default)]
struct AllTracks {
    legs: Vec<Leg>,
    starts: Vec<Start>,
    tracks: Vec<Track>,
    len: Seconds,
}

impl AllTracks {
    /// Puts one, whose times begin at 0, behind the others.
    fn add(&mut self, legs: Vec<Leg>, starts: Vec<Start>, track: Track) {
        let (first, begins, repeats) = (self.legs.len(), self.len, self.starts.len());
        let kind = |kind| match kind {
            LegKind::Swim { repeat } => LegKind::Swim { repeat: repeat + repeats },
            LegKind::Talk | LegKind::Rest => kind,
        };
        self.legs.extend(legs.into_iter().map(|leg| Leg { origin: leg.origin + begins, kind: kind(leg.kind), ..leg }));
        self.starts.extend(starts.into_iter().map(|start| start.later(begins)));
        self.len += track.len;
        self.tracks.push(Track { legs: first..self.legs.len(), begins, ..track });
    }
}

/// What each track holds, and what is said at the very end.
fn pieces<'a>(practice: &'a Practice, announcer: Announcer<'_>) -> (Vec<TrackPiece<'a>>, Vec<&'a Text>) {
    let mut pieces: Vec<TrackPiece<'a>> = Vec::new();
    let (mut says, mut standing, mut set_index) = (Vec::new(), None, 0);
    for item in &practice.items {
        match item {
            Item::Say(text) => says.push(text),
            Item::Rest(rest) => standing = Some(standing.unwrap_or(Seconds::ZERO) + *rest),
            Item::Set(set) => {
                let says = std::mem::take(&mut says);
                let whole = TrackPiece { set_index, set, part: (1, 1), repeats: 0..set.repeats.len(), says, standing };
                standing = None;
                set_index += 1;
                let cuts = cuts::cuts(&whole, pieces.last().and_then(TrackPiece::last), practice, announcer);
                pieces.extend(whole.cut(&cuts));
            }
        }
    }
    (pieces, says)
}

/// Gives the last track the last words of a practice.
fn close(schedule: &mut Schedule, says: &[&Text], announcer: Announcer<'_>) {
    let Some(last) = schedule.starts.last() else { return };
    let mut lines: Vec<Sentence> = says.iter().map(|text| said(text)).collect();
    lines.push((CueKind::Say, announcer.say("end", "that is the end")));
    let (closing, end) = sequence(lines, last.touch + last.repeat.uncertainty + CLOSING);
    (schedule.closing, schedule.end) = (closing, end + SILENCE);
}
