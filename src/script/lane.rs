//! The words of a lane that several swimmers share: who goes first, how far apart, on which side, and how much of a set
//! somebody swims. Who they are is read by `swimmer`'s roster, which also says which keys there are; the quantities by
//! `quantity::lane`.

use crate::units::time::Seconds;
use std::fmt;

/// Swimmers leave 5 or 10 s apart, fastest first; under 5 s they risk running into each other (club guidance).
pub const SAFE_GAP: Seconds = Seconds::from_secs(5);

/// `order`: who leaves first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LaneOrder {
    /// `fastest first`
    #[default]
    FastestFirst,
    /// `as listed`
    AsListed,
}

impl LaneOrder {
    /// Each with its words.
    pub const ALL: [(&'static str, Self); 2] = [("fastest first", Self::FastestFirst), ("as listed", Self::AsListed)];
}

/// `circle`: which way round the lane is swum, seen from above.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Circle {
    /// `clockwise`: keep to the left.
    Clockwise,
    /// `anticlockwise`: keep to the right.
    #[default]
    Anticlockwise,
}

impl Circle {
    /// Each with its word.
    pub const ALL: [(&'static str, Self); 2] = [("anticlockwise", Self::Anticlockwise), ("clockwise", Self::Clockwise)];
}

/// How much of a practice somebody swims: `swims` and `distance` of a swimmer in a lane.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SwimShare {
    /// All of it.
    #[default]
    Whole,
    /// `swims: 3 of 4`: of every four repeats of a swim the last is left out.
    Repeats {
        /// So many are swum ...
        swum: u32,
        /// ... of every so many.
        of: u32,
    },
    /// `distance: 3/4` of each repeat, down to whole lengths that end at the same wall.
    Distance {
        /// So many parts ...
        parts: u32,
        /// ... of so many.
        of: u32,
    },
}

impl fmt::Display for SwimShare {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Whole => f.write_str("all"),
            Self::Repeats { swum, of } => write!(f, "{swum} of {of}"),
            Self::Distance { parts, of } => write!(f, "{parts}/{of} of the distance"),
        }
    }
}

/// `send-off` of a lane: how much longer its send-offs are than the script's, for each 100 of the pool's unit; negative for
/// shorter.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SendOffShift(pub Seconds);

/// `regroup`: after every so many starts of a set the lane stands so much longer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Regroup {
    /// `every`: 2 to 100.
    pub every: u32,
    /// `for`: 10 s to 5 min.
    pub pause: Seconds,
}
