//! Breaths left and right, as the patterns asked for them or as they were tapped.

use crate::notebook::entry::{LoggedPractice, LoggedRepeat, Measure};

/// Breaths by side.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct BreathTotals {
    /// To the left.
    pub left: u64,
    /// To the right.
    pub right: u64,
}

impl BreathTotals {
    /// The share to the left; none without a breath.
    pub fn share_left(self) -> Option<f64> {
        let all = self.left + self.right;
        (all > 0).then(|| self.left as f64 / all as f64)
    }
}

/// Those of practices: tapped ones where a repeat has them, else those of its pattern.
pub fn breaths<'p>(practices: impl IntoIterator<Item = &'p LoggedPractice>) -> BreathTotals {
    let swum = practices.into_iter().flat_map(LoggedPractice::swum);
    swum.map(of_repeat).fold(BreathTotals::default(), |sum, one| BreathTotals {
        left: sum.left + one.left,
        right: sum.right + one.right,
    })
}

fn of_repeat(repeat: &LoggedRepeat) -> BreathTotals {
    let tapped = |measure| repeat.value(measure, None).map(|breaths| breaths as u64);
    match (tapped(Measure::BreathsLeft), tapped(Measure::BreathsRight)) {
        (None, None) => BreathTotals { left: repeat.breaths.0.into(), right: repeat.breaths.1.into() },
        (left, right) => BreathTotals { left: left.unwrap_or(0), right: right.unwrap_or(0) },
    }
}
