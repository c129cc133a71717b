//! What a script is written from: everything that was chosen, and how each part breathes.

use super::decide::Choices;
use super::edge::HELD;
use super::fit::Extent;
use super::parts::{Distances, PartKind};
use super::sore::Spared;
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
    /// What is swum beside what hurts.
    pub spared: &'a Spared,
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
    /// A side for each length.
    ByLength,
    /// To one side, whatever the others do.
    To(Side),
}

/// How a part breathes.
pub fn breaths(kind: PartKind, far: &Distances, of: &Choices) -> PartBreaths {
    if of.kind == PracticeKind::Sore {
        return PartBreaths::Free;
    }
    let side = of.side;
    match (kind, side) {
        (PartKind::Drill | PartKind::Timed | PartKind::Spared | PartKind::Free, _) => PartBreaths::Free,
        (PartKind::Start | PartKind::End | PartKind::Unbeaten, Some(side)) => PartBreaths::To(side),
        // So long that they bring it even by themselves, or beyond: on the side that comes nearest.
        (PartKind::Long | PartKind::Pace | PartKind::Fade, Some(_)) => PartBreaths::OneSide,
        (PartKind::Start | PartKind::End | PartKind::Fade, None) => PartBreaths::OneSide,
        // Three swims a round: each speed has the one side and the other.
        (PartKind::Build, _) => PartBreaths::ByRepeat,
        // A hundred to one side alone is much for whoever breathes every two.
        (PartKind::Long, _) if far.slow && far.end(far.timed).is_empty() => PartBreaths::ByLength,
        _ if far.slow => PartBreaths::ByRepeat,
        _ => PartBreaths::EveryThree,
    }
}

/// A target at the edge: a stroke over the relaxed count, and not further under what the model predicts there than anybody
/// would believe.
pub fn target(relaxed: Option<f64>, predicted: f64) -> Option<u32> {
    relaxed.map(|relaxed| (libm::round(relaxed + HELD).max(libm::round(predicted) - 1.0)) as u32)
}
