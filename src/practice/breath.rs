//! Breathing patterns: which are refused, on which strokes the breaths fall, and to which side.

use super::strokes::{self, CountedStroke};
use super::{Practice, Repeat};
use crate::diag::{Code, Diagnostic, Span};
use crate::script::Breathe;
use crate::units::swim::Side;

/// The longest distance for breathing every five strokes, in metres.
const FIVE_AT_MOST: f64 = 50.0;

/// Refuses patterns that ask for too long without breath; cautions where many swimmers struggle. `metres` is the
/// longest repeat.
pub fn check(breathe: Breathe, metres: f64, span: Span) -> Option<Diagnostic> {
    let Breathe::Every(n, _) = breathe else { return None };
    let care =
        "long stretches without breath can make a swimmer faint under water without warning; breathe every 2, 3 or 4";
    if n > 5 {
        Some(
            Diagnostic::at(Code::BreathPattern, span, format!("breathing every {n} is refused; at most every 5"))
                .hint(care),
        )
    } else if n == 5 && metres > FIVE_AT_MOST {
        let message = format!("breathing every 5 is refused beyond 50 m; this swim is {metres:.0} m");
        Some(Diagnostic::at(Code::BreathPattern, span, message).hint(care))
    } else if n == 5 {
        let message = "breathing every 5 is hard for many swimmers";
        let hint = "breathe whenever you need to; every 3 gives both sides too";
        Some(Diagnostic::at(Code::BreathCare, span, message).hint(hint))
    } else {
        None
    }
}

/// One breath.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Breath {
    /// Which counted stroke of the repeat, from 0.
    pub stroke: usize,
    /// To which side.
    pub side: Side,
}

/// The breaths of a repeat. `ordinal` is its place in the set, `first` the side where the script does not say.
///
/// A breath every odd number of strokes alternates sides, every even number stays on one (Sensors 2022, 22:2324). In a
/// pool each length begins the pattern again, for nobody knows which hand comes first after a turn; sides in turn run on.
pub fn breaths(strokes: &[CountedStroke], breathe: Breathe, ordinal: usize, first: Side) -> Vec<Breath> {
    let odd = |n: usize, side: Side| if n % 2 == 1 { side.other() } else { side };
    let numbered = strokes.iter().enumerate();
    match breathe {
        Breathe::Every(n, side) => {
            let (n, side) = (n.max(1), side.unwrap_or(first));
            let on = numbered.filter(|(_, stroke)| stroke.number.is_multiple_of(n));
            let side_of = |number: u32| if n % 2 == 1 { odd((number / n) as usize - 1, side) } else { side };
            on.map(|(stroke, at)| Breath { stroke, side: side_of(at.number) }).collect()
        }
        Breathe::ByLength | Breathe::ByRepeat => {
            let on = numbered.filter(|(_, stroke)| stroke.number.is_multiple_of(2));
            let turn =
                |stroke: &CountedStroke| if breathe == Breathe::ByLength { stroke.length as usize } else { ordinal };
            on.map(|(stroke, at)| Breath { stroke, side: odd(turn(at), first) }).collect()
        }
        Breathe::Sides { right, left } => sides(strokes.len(), right as usize, left as usize),
    }
}

/// So many strokes breathing right, then so many left. The right hand enters on even strokes, so that a change of
/// side takes three strokes instead of two.
fn sides(strokes: usize, right: usize, left: usize) -> Vec<Breath> {
    let mut breaths: Vec<Breath> = Vec::new();
    let both = (right + left).max(1);
    for stroke in 0..strokes {
        let side = if stroke % both < right { Side::Right } else { Side::Left };
        let number = stroke + 1;
        let own_hand = number.is_multiple_of(2) == (side == Side::Right);
        let rested = breaths.last().is_none_or(|last| stroke - last.stroke >= 2) && number >= 2;
        if own_hand && rested {
            breaths.push(Breath { stroke, side });
        }
    }
    breaths
}

/// Where the side changes within a repeat, as the breath that begins it; the first side is not a change.
pub fn changes(breaths: &[Breath]) -> impl Iterator<Item = &Breath> {
    let pairs = breaths.iter().zip(breaths.iter().skip(1));
    pairs.filter(|(before, breath)| before.side != breath.side).map(|(_, breath)| breath)
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
    /// The breaths of one repeat.
    pub fn of_repeat(repeat: &Repeat, breathe: Breathe, ordinal: usize, first: Side) -> Self {
        let breaths = breaths(&strokes::counted(repeat), breathe, ordinal, first);
        let right = breaths.iter().filter(|breath| breath.side == Side::Right).count();
        Self { left: (breaths.len() - right) as u32, right: right as u32 }
    }

    /// The breaths of all swims that have a pattern.
    pub fn of_practice(practice: &Practice) -> Self {
        let repeats = practice.sets().flat_map(|set| set.repeats.iter().enumerate().map(move |repeat| (set, repeat)));
        let breathing = repeats.filter_map(|(set, (ordinal, repeat))| {
            let breathe = set.lines.get(repeat.line)?.breathe?;
            Some(Self::of_repeat(repeat, breathe, ordinal, practice.side))
        });
        breathing.fold(Self::default(), |a, b| Self { left: a.left + b.left, right: a.right + b.right })
    }
}

#[cfg(test)]
mod tests {
    use super::super::strokes::tests::repeat;
    use super::*;
    use crate::diag::Sources;
    use crate::units::time::Tempo;

    /// A length of 20 counted strokes: 24 s with 4 s of wall at 1 s.
    fn of_length(breathe: Breathe, first: Side) -> (u32, u32) {
        let found = Breaths::of_repeat(&repeat(1, 24_000, Tempo::from_centis(100)), breathe, 0, first);
        (found.left, found.right)
    }

    #[test]
    fn sides_alternate_on_odd_patterns() {
        // Sensors 2022, 22:2324: every 3, 5, 7 alternates sides; every 2 or 4 stays on one. Counts by arithmetic.
        for (n, left, right) in [(2, 0, 10), (3, 3, 3), (4, 0, 5), (5, 2, 2), (7, 1, 1)] {
            assert_eq!(of_length(Breathe::Every(n, None), Side::Right), (left, right), "every {n}");
        }
        assert_eq!(of_length(Breathe::Every(4, Some(Side::Left)), Side::Right), (5, 0));
        assert_eq!(of_length(Breathe::Every(6, Some(Side::Left)), Side::Right), (3, 0));
    }

    #[test]
    fn sides_by_length_and_by_repeat() {
        let two = repeat(2, 24_000, Tempo::from_centis(100));
        let by = |breathe, ordinal| {
            let found = Breaths::of_repeat(&two, breathe, ordinal, Side::Right);
            (found.left, found.right)
        };
        assert_eq!(by(Breathe::ByLength, 0), (10, 10));
        assert_eq!(by(Breathe::ByRepeat, 0), (0, 20));
        assert_eq!(by(Breathe::ByRepeat, 1), (20, 0));
    }

    #[test]
    fn sides_in_turn() {
        // 40 strokes, 20 to each side. By hand: right on 2, 4 ... 20 (10 breaths); the other hand comes on odd strokes,
        // 21 is too soon after 20, so left on 23, 25 ... 39 (9 breaths).
        let breaths = sides(40, 20, 20);
        assert_eq!(breaths.iter().filter(|b| b.side == Side::Right).count(), 10);
        assert_eq!(breaths.iter().filter(|b| b.side == Side::Left).count(), 9);
        assert_eq!(changes(&breaths).map(|b| b.stroke + 1).collect::<Vec<_>>(), [23]);
        assert!(breaths.windows(2).all(|pair| pair[1].stroke - pair[0].stroke >= 2));
    }

    #[test]
    fn long_patterns_are_refused() {
        let span = Span::new(Sources::new().add("a", "b"), 0, 1);
        let code = |n, metres| check(Breathe::Every(n, None), metres, span).map(|d| d.code);
        assert_eq!(code(3, 400.0), None);
        assert_eq!(code(5, 50.0), Some(Code::BreathCare));
        assert_eq!(code(5, 75.0), Some(Code::BreathPattern));
        assert_eq!(code(6, 25.0), Some(Code::BreathPattern));
    }
}
