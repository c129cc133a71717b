//! Whether something became better: only where it is more than a miscount, and more than chance.

use crate::swimmer::fit::difference::Difference;

/// A right count is off by as much: it is a whole number of strokes.
const MISCOUNT: f64 = 0.5;

/// How something has changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trend {
    /// For the better.
    Better,
    /// For the worse.
    Worse,
    /// By no more than one stroke in either direction.
    Same,
    /// Nobody can tell.
    Unclear,
}

impl Trend {
    /// Of a count that became larger by `change`.
    pub fn of_strokes(change: &Difference) -> Self {
        let Difference { mean, low, high } = *change;
        if low > 0.0 && mean > MISCOUNT {
            Self::Worse
        } else if high < 0.0 && mean < -MISCOUNT {
            Self::Better
        } else if low > -2.0 * MISCOUNT && high < 2.0 * MISCOUNT {
            Self::Same
        } else {
            Self::Unclear
        }
    }

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Better => "better",
            Self::Worse => "worse",
            Self::Same => "the same",
            Self::Unclear => "can't tell",
        }
    }
}
