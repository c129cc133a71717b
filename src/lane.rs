//! Several swimmers in one lane on one clock: who leaves when, and what each of them swims.
//!
//! [`expand`] makes a [`Lane`] of a script and its swimmers. The leader leaves on the send-off, the others a gap behind each
//! other; whoever is slowest decides how long a written rest makes the interval, so that all have the same clock. Each has a
//! [`Practice`] of their own that keeps to it. What they hear is not reckoned here, nor where the first go of a set falls:
//! that depends on what is said before it.

mod chance;
pub mod clock;
mod expand;
pub mod figures;
pub mod run;
pub mod search;
mod shape;
mod share;
mod side_by_side;
pub mod simulate;
pub mod swim;
mod together;

pub use expand::expand;
pub use side_by_side::{LaneGo, LanesOnOneClock, OffTheMarks, side_by_side};
pub use together::{first_of, together};

use crate::diag::Span;
use crate::practice::Practice;
use crate::script::lane::{Circle, SendOffShift, SwimShare};
use crate::swimmer::Swimmer;
use crate::units::swim::PoolLength;
use crate::units::time::Seconds;
use std::ops::Range;

/// A lane with its swimmers.
#[derive(Clone, Debug)]
pub struct Lane {
    /// What it is called: `1`, unless it has a name.
    pub name: String,
    /// Which way round it is swum.
    pub circle: Circle,
    /// The pool.
    pub pool: PoolLength,
    /// From one swimmer's go to the next one's.
    pub gap: Seconds,
    /// How its send-offs differ from the script's.
    pub send_off: SendOffShift,
    /// Who swims, in the order in which they leave: 1 to 8.
    pub swimmers: Vec<LaneSwimmer>,
    /// The sets, as many as each swimmer's practice has, in its order.
    pub sets: Vec<LaneSet>,
}

/// Somebody in a lane.
#[derive(Clone, Debug)]
pub struct LaneSwimmer {
    /// Their name.
    pub name: String,
    /// Their number in the order of leaving, from 1: what they are called by where the name is too long, and their key.
    pub number: u32,
    /// Their place in the list as it was written, from 0.
    pub listed: usize,
    /// How they swim.
    pub swimmer: Swimmer,
    /// How much of the practice they swim.
    pub share: SwimShare,
    /// What they swim: the intervals are the lane's, so that every repeat begins on its clock.
    pub practice: Practice,
    /// How long after the leader's go they leave, in every start: the gaps of those before them.
    pub offset: Seconds,
}

/// A set of a lane.
#[derive(Clone, Debug, PartialEq)]
pub struct LaneSet {
    /// Its title.
    pub title: String,
    /// Where it stands in the script.
    pub span: Span,
    /// When the lane starts, in order.
    pub starts: Vec<LaneStart>,
}

/// One start of a lane: a go for each of its swimmers.
#[derive(Clone, Debug, PartialEq)]
pub struct LaneStart {
    /// From the first go of the set to the leader's go.
    pub at: Seconds,
    /// From the leader's go to the next one, in the set or after it; absent where none is asked for after the last.
    pub after: Option<Seconds>,
    /// The rest that is written after it, the longest of the swimmers', where no send-off is: live, the touches are known.
    pub rest: Option<Seconds>,
    /// By how much that is longer, since the lane regroups.
    pub regroup: Option<Seconds>,
    /// Which line of the set is swum first.
    pub line: usize,
    /// What each swimmer swims, in the order of the lane: repeats of their own practice's set, several where they are joined
    /// without a stop; `None` for who sits out.
    pub swims: Vec<Option<Range<usize>>>,
}

impl Lane {
    /// The predicted touch of a swimmer after the leader's go of a start, in a set; `None` for who sits out.
    pub fn touch(&self, set: usize, start: usize, swimmer: usize) -> Option<Seconds> {
        let who = self.swimmers.get(swimmer)?;
        let swim = self.sets.get(set)?.starts.get(start)?.swims.get(swimmer)?.clone()?;
        let repeats = who.practice.sets().nth(set)?.repeats.get(swim)?;
        Some(who.offset + repeats.iter().map(|repeat| repeat.predicted).sum::<Seconds>())
    }

    /// From the first go of a set until its last touch is predicted, or until the time is over that it fills.
    pub fn set_len(&self, set: usize) -> Seconds {
        let Some(starts) = self.sets.get(set).map(|set| &set.starts) else { return Seconds::ZERO };
        let touches = starts.iter().enumerate().flat_map(|(index, start)| {
            (0..self.swimmers.len()).filter_map(move |swimmer| Some(start.at + self.touch(set, index, swimmer)?))
        });
        let last = starts.last().map_or(Seconds::ZERO, |last| last.at + last.after.unwrap_or(Seconds::ZERO));
        let fills = self.swimmers.iter().any(|who| {
            let lines = who.practice.sets().nth(set).map_or(&[][..], |set| &set.lines);
            starts.last().and_then(|start| lines.get(start.line)).is_some_and(|line| line.within.is_some())
        });
        touches.max().unwrap_or(Seconds::ZERO).max(if fills { last } else { Seconds::ZERO })
    }
}
