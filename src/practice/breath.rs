//! Breathing patterns: which are refused, and how the breaths fall left and right.

use super::strokes;
use super::{Practice, Repeat};
use crate::diag::{Code, Diagnostic, Span};
use crate::script::Breathe;
use crate::swimmer::Side;
use crate::units::swim::Distance;
use crate::units::time::Seconds;

/// The longest distance for breathing every five strokes, in metres.
const FIVE_AT_MOST: f64 = 50.0;

/// Refuses patterns that ask for too long without breath; cautions where many swimmers struggle.
pub fn check(breathe: Breathe, distance: Distance, span: Span) -> Option<Diagnostic> {
    let Breathe::Every(n) = breathe;
    let care =
        "long stretches without breath can make a swimmer faint under water without warning; breathe every 2, 3 or 4";
    if n > 5 {
        Some(
            Diagnostic::at(Code::BreathPattern, span, format!("breathing every {n} is refused; at most every 5"))
                .hint(care),
        )
    } else if n == 5 && distance.metres() > FIVE_AT_MOST {
        let message = format!("breathing every 5 is refused beyond 50 m; this swim is {distance}");
        Some(Diagnostic::at(Code::BreathPattern, span, message).hint(care))
    } else if n == 5 {
        let message = "breathing every 5 is hard for many swimmers";
        let hint = "breathe whenever you need to; every 3 gives both sides too";
        Some(Diagnostic::at(Code::BreathCare, span, message).hint(hint))
    } else {
        None
    }
}

/// Breaths by side.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Breaths {
    /// To the left.
    pub left: u32,
    /// To the right.
    pub right: u32,
}

impl Breaths {
    /// The breaths of one length of `strokes` strokes: one on every N-th, sides alternating where N is odd.
    ///
    /// Every 3, 5 or 7 strokes alternates sides, every 2 or 4 stays on one: Sensors 2022, 22:2324.
    pub fn of_length(strokes: u32, breathe: Breathe, first: Side) -> Self {
        let Breathe::Every(n) = breathe;
        let all = strokes / n.max(1);
        let (on_first, on_other) = if n % 2 == 1 { (all.div_ceil(2), all / 2) } else { (all, 0) };
        match first {
            Side::Left => Self { left: on_first, right: on_other },
            Side::Right => Self { left: on_other, right: on_first },
        }
    }

    /// The breaths of a repeat; the pattern starts again on each length.
    pub fn of_repeat(repeat: &Repeat, breathe: Breathe, first: Side, wall: Seconds) -> Self {
        strokes::per_length(repeat, wall).into_iter().map(|count| Self::of_length(count, breathe, first)).sum()
    }

    /// The breaths of all swims that have a pattern.
    pub fn of_practice(practice: &Practice, first: Side) -> Self {
        practice
            .sets()
            .flat_map(|set| set.repeats.iter().map(move |repeat| (set, repeat)))
            .filter_map(|(set, repeat)| set.lines.get(repeat.line)?.breathe.map(|breathe| (repeat, breathe)))
            .map(|(repeat, breathe)| Self::of_repeat(repeat, breathe, first, practice.wall))
            .sum()
    }
}

impl std::iter::Sum for Breaths {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        iter.fold(Self::default(), |a, b| Self { left: a.left + b.left, right: a.right + b.right })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::Sources;
    use crate::units::swim::PoolUnit;

    #[test]
    fn sides_alternate_on_odd_patterns() {
        // Sensors 2022, 22:2324: every 3, 5, 7 alternates sides; every 2 or 4 stays on one. Counts by arithmetic.
        for (n, left, right) in [(2, 0, 10), (3, 3, 3), (4, 0, 5), (5, 2, 2), (7, 1, 1)] {
            assert_eq!(Breaths::of_length(20, Breathe::Every(n), Side::Right), Breaths { left, right }, "every {n}");
        }
        assert_eq!(Breaths::of_length(9, Breathe::Every(3), Side::Left), Breaths { left: 2, right: 1 });
    }

    #[test]
    fn long_patterns_are_refused() {
        let span = Span::new(Sources::new().add("a", "b"), 0, 1);
        let code =
            |n, metres| check(Breathe::Every(n), Distance::new(metres, PoolUnit::Metre).unwrap(), span).map(|d| d.code);
        assert_eq!(code(3, 400), None);
        assert_eq!(code(5, 50), Some(Code::BreathCare));
        assert_eq!(code(5, 75), Some(Code::BreathPattern));
        assert_eq!(code(6, 25), Some(Code::BreathPattern));
    }
}
