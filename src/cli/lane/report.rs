//! What was found of the lanes of a practice, before it is put into words.

use crate::lane::Lane;
use crate::lane::figures::LaneFigures;
use crate::lane::search::LaneAdvice;
use crate::lane::simulate::SetOutcome;
use crate::units::time::Seconds;

/// A lane with all that was found of it.
pub(super) struct LaneReport<'l> {
    pub lane: &'l Lane,
    pub figures: &'l LaneFigures,
    pub outcomes: &'l [SetOutcome],
    pub advice: LaneAdvice,
}

/// The lanes of a practice, reported.
pub(super) struct LanesReport<'l> {
    pub title: &'l str,
    /// The first go of each set on the practice's clock, for all lanes.
    pub goes: &'l [Seconds],
    /// The rest that everybody should have, in seconds.
    pub rest: u32,
    pub runs: u32,
    pub seed: u64,
    pub lanes: Vec<LaneReport<'l>>,
}
