//! The breaths of a length: how many strokes lie between them, and to which sides.

use super::place::PlacedTap;
use crate::units::swim::Side;
use std::collections::BTreeMap;

/// The breaths of a length.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TappedBreaths {
    /// To the left.
    pub left: u32,
    /// To the right.
    pub right: u32,
    /// To a side that nobody said.
    pub unsaid: u32,
    /// The most frequent number of strokes from one to the next, how often it was so, and of how many.
    pub every: Option<(u32, u32, u32)>,
    /// How many came an odd number of strokes after the one before: the hands take turns, so these change the side.
    pub turned: u32,
}

impl TappedBreaths {
    /// All of them.
    pub const fn count(&self) -> u32 {
        self.left + self.right + self.unsaid
    }

    pub(super) fn of(placed: &[PlacedTap]) -> Self {
        let breaths: Vec<_> = placed.iter().filter_map(|placed| Some((placed, placed.tap.breath?))).collect();
        let mut found = Self::default();
        let hands = hands(&breaths);
        for (placed, side) in &breaths {
            match side.or_else(|| hands.get(&hand(placed)).copied()) {
                Some(Side::Left) => found.left += 1,
                Some(Side::Right) => found.right += 1,
                None => found.unsaid += 1,
            }
        }
        let mut gaps: BTreeMap<u32, u32> = BTreeMap::new();
        for pair in breaths.windows(2) {
            if let [(one, _), (next, _)] = pair
                && one.stretch == next.stretch
            {
                let gap = (next.stroke - one.stroke) as u32;
                *gaps.entry(gap).or_default() += 1;
                found.turned += gap % 2;
            }
        }
        let all = gaps.values().sum();
        // The fewest strokes of several that are as frequent.
        let most = gaps.iter().max_by_key(|(gap, times)| (**times, std::cmp::Reverse(**gap)));
        found.every = most.map(|(gap, times)| (*gap, *times, all));
        found
    }
}

/// Which hand it was: the same number for the same hand of a stretch.
fn hand(placed: &PlacedTap) -> (u32, u32) {
    (placed.stretch, placed.stroke as u32 % 2)
}

/// The side that goes with each hand, from the sides that were said; empty where they contradict each other.
fn hands(breaths: &[(&PlacedTap, Option<Side>)]) -> BTreeMap<(u32, u32), Side> {
    let mut hands = BTreeMap::new();
    for (placed, side) in breaths.iter().filter_map(|(placed, side)| Some((placed, (*side)?))) {
        let (stretch, own) = hand(placed);
        for (hand, side) in [(own, side), (1 - own, side.other())] {
            if *hands.entry((stretch, hand)).or_insert(side) != side {
                return BTreeMap::new();
            }
        }
    }
    hands
}

#[cfg(test)]
mod tests {
    use super::super::place::StrokeTap;
    use super::*;

    fn breaths(at: &[(u32, Option<Side>)]) -> TappedBreaths {
        let placed = |(stroke, side): &(u32, Option<Side>)| {
            let tap = StrokeTap { at: f64::from(*stroke), breath: Some(*side) };
            PlacedTap { stroke: f64::from(*stroke), stretch: 0, tap }
        };
        TappedBreaths::of(&at.iter().map(placed).collect::<Vec<_>>())
    }

    #[test]
    fn patterns_and_sides() {
        let (left, right) = (Some(Side::Left), Some(Side::Right));
        let every_3 = breaths(&[(2, None), (5, None), (8, None), (11, None)]);
        assert_eq!((every_3.unsaid, every_3.every, every_3.turned), (4, Some((3, 3, 3)), 3));
        // One side that was said tells the others.
        let said = breaths(&[(2, None), (5, left), (8, None), (11, None)]);
        assert_eq!((said.left, said.right, said.unsaid), (2, 2, 0));
        let every_2 = breaths(&[(1, None), (3, right), (5, None), (9, None)]);
        assert_eq!((every_2.right, every_2.every, every_2.turned), (4, Some((2, 2, 3)), 0));
        // Left and right by the same hand: one of them is a slip, so nothing follows from either.
        let slip = breaths(&[(1, left), (3, right), (5, None)]);
        assert_eq!((slip.left, slip.right, slip.unsaid), (1, 1, 1));
        assert_eq!(breaths(&[]), TappedBreaths::default());
        assert_eq!(breaths(&[(4, None)]).every, None);
    }
}
