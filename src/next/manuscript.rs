//! What a script is written from: everything that was chosen, and how each part breathes.

use super::decide::Choices;
use super::edge::HELD;
use super::fit::Extent;
use super::parts::{Distances, PartKind};
use super::state::PracticeKind;
use crate::units::calendar::Day;
use crate::units::swim::Side;

/// Everything that is written but the sizes of the parts.
#[derive(Clone, Debug)]
pub struct Manuscript<'a> {
    /// Who swims.
    pub swimmer: &'a str,
    /// The day.
    pub day: Day,
    /// How many practices it follows from.
    pub practices: usize,
    /// The pool, as scripts have it.
    pub pool: String,
    /// The pack.
    pub pack: &'a str,
    /// What was chosen.
    pub choices: &'a Choices,
    /// How far repeats are.
    pub far: Distances,
    /// The words of the focus, and of the one that is kept alive.
    pub words: (Option<String>, Option<String>),
    /// What the pack says at the end, by its id.
    pub closing: Option<&'a str>,
    /// A target of strokes at the edge.
    pub at_most: Option<u32>,
    /// What it comes to, once that is known.
    pub extent: Option<Extent>,
}

/// The breaths of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartBreaths {
    /// None are asked for.
    Free,
    /// To the side that the part begins on, all of them.
    OneSide,
    /// To both in turn, from the side that the part begins on.
    EveryThree,
    /// A side for each repeat.
    ByRepeat,
    /// To one side, whatever the others do.
    To(Side),
}

/// How a part breathes. `side` gets more breaths in this practice.
pub fn breaths(kind: PartKind, slow: bool, practice: PracticeKind, side: Option<Side>) -> PartBreaths {
    if practice == PracticeKind::Sore {
        return PartBreaths::Free;
    }
    match (kind, side) {
        (PartKind::Drill | PartKind::Timed | PartKind::Free, _) => PartBreaths::Free,
        (PartKind::Start | PartKind::End | PartKind::Unbeaten, Some(side)) => PartBreaths::To(side),
        (PartKind::Start | PartKind::End, None) => PartBreaths::OneSide,
        _ if slow => PartBreaths::ByRepeat,
        _ => PartBreaths::EveryThree,
    }
}

/// A target at the edge: a stroke over the relaxed count, and not further under what the model predicts there than anybody
/// would believe.
pub fn target(relaxed: Option<f64>, predicted: f64) -> Option<u32> {
    relaxed.map(|relaxed| (libm::round(relaxed + HELD).max(libm::round(predicted) - 1.0)) as u32)
}
