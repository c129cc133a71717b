//! Where a set that is too long for one track is cut: only where the rest is long, into as few parts as will do, all of
//! about the same length.

use super::super::speak::Announcer;
use super::super::start::Start;
use super::piece::{TrackPiece, tail};
use crate::practice::{Practice, Repeat};
use crate::units::time::Seconds;

/// A track is cut again where it would be longer.
const LONGEST: Seconds = Seconds::from_secs(12 * 60);
/// How much longer a track may come out than it is reckoned here: its number is not known yet, and a word may outlast
/// the beats.
const SPARE: Seconds = Seconds::from_secs(10);
/// Only a rest of at least so long is cut.
const REST: Seconds = Seconds::from_secs(20);

/// The repeats with which further parts of a set begin; `before` is the last start before it.
pub fn cuts(
    piece: &TrackPiece<'_>,
    before: Option<Start>,
    practice: &Practice,
    announcer: Announcer<'_>,
) -> Vec<usize> {
    let mut go = Seconds::ZERO;
    let mut goes = Vec::with_capacity(piece.set.repeats.len());
    for repeat in &piece.set.repeats {
        goes.push(go);
        go += repeat.interval.unwrap_or(repeat.predicted);
    }
    let reckoning = Reckoning { piece, before, goes, practice, announcer };
    let whole = reckoning.cut(LONGEST - SPARE);
    // Halving between nothing and the limit: the shortest longest part that needs no more parts.
    let (mut low, mut high) = (0, (LONGEST - SPARE).nanos() / Seconds::from_secs(1).nanos());
    let mut best = whole;
    while !best.is_empty() && low + 1 < high {
        let middle = low.midpoint(high);
        let tried = reckoning.cut(Seconds::from_secs(middle));
        if tried.len() <= best.len() {
            (best, high) = (tried, middle);
        } else {
            low = middle;
        }
    }
    best
}

/// Whether a track may end with this repeat.
fn may_end(repeat: &Repeat) -> bool {
    !repeat.joins && repeat.interval.is_some_and(|interval| interval - repeat.predicted >= REST)
}

struct Reckoning<'p, 'a> {
    piece: &'p TrackPiece<'a>,
    before: Option<Start>,
    /// The go of each repeat, from that of the first.
    goes: Vec<Seconds>,
    practice: &'p Practice,
    announcer: Announcer<'p>,
}

impl Reckoning<'_, '_> {
    /// Cuts as late as a limit allows, and where a part without a place to cut is longer, at the next place.
    fn cut(&self, limit: Seconds) -> Vec<usize> {
        let repeats = &self.piece.set.repeats;
        let mut cuts = Vec::new();
        let mut head = self.head(0);
        let (mut begins, mut possible) = (0, None);
        for (index, repeat) in repeats.iter().enumerate() {
            if !may_end(repeat) && index + 1 < repeats.len() {
                continue;
            }
            if let Some(cut) = possible.filter(|_| self.len(head, begins, index, repeat) > limit) {
                cuts.push(cut);
                (begins, head) = (cut, self.head(cut));
            }
            possible = Some(index + 1);
        }
        cuts
    }

    /// How long a track would be that goes from one repeat to another.
    fn len(&self, head: Seconds, from: usize, to: usize, last: &Repeat) -> Seconds {
        let go = |index: usize| self.goes.get(index).copied().unwrap_or(Seconds::ZERO);
        head + (go(to) - go(from)) + last.predicted + tail(last)
    }

    /// From the beginning of a track to its first go.
    fn head(&self, from: usize) -> Seconds {
        let TrackPiece { set_index, set, says, standing, .. } = self.piece;
        let part = if from == 0 { (1, 2) } else { (2, 2) };
        let says = if from == 0 { says.clone() } else { Vec::new() };
        let piece = TrackPiece {
            set_index: *set_index,
            set,
            part,
            repeats: from..set.repeats.len(),
            says,
            standing: *standing,
        };
        let before = match from.checked_sub(1) {
            None => self.before.clone(),
            Some(last) => set.repeats.get(last).map(|repeat| piece.start(last, repeat, Seconds::ZERO)),
        };
        let earliest = before
            .as_ref()
            .map_or(Seconds::ZERO, |last| piece.earliest(self.practice, last) - (last.touch + tail(&last.repeat)));
        piece.opening(self.practice, self.announcer, 1, before.as_ref(), earliest).1
    }
}
