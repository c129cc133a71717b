//! Breaths left and right: the side that has had fewer of them gets more.

use crate::units::swim::Side;

/// So many days are looked back. Our choice: as the review does.
pub const DAYS: i32 = 28;
/// Left and right are even within such a share of all breaths. Our choice.
pub const EVEN: f64 = 0.05;
/// From such a share on the other side gets more. Our choice: half of [`EVEN`], so that it seldom comes to that.
pub const LACKS: f64 = 0.025;
/// Within such a share they are even again: one practice more for the side that lacked would go beyond. Our choice.
pub const AGAIN: f64 = 0.015;
/// In so few practices of the last weeks no side is favoured: a handful of breaths says nothing. Our choice.
pub const TOO_FEW: usize = 3;
/// A practice leans to a side where that share of its own breaths is greater. Our choice: above what sides that change do by
/// themselves.
pub const LEANS: f64 = 0.20;

/// Breaths, right less left, and all.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BreathBalance {
    /// Right less left.
    pub right: f64,
    /// All.
    pub all: f64,
}

impl BreathBalance {
    /// Of breaths by side.
    pub fn of(left: f64, right: f64) -> Self {
        Self { right: right - left, all: right + left }
    }

    /// Which share more of them are to the right, negative where they are to the left: from -1 to 1.
    pub fn share(self) -> f64 {
        if self.all > 0.0 { self.right / self.all } else { 0.0 }
    }

    /// The side that has had too few; none where they are even.
    pub fn lacking(self) -> Option<Side> {
        over(self.share(), LACKS).map(Side::other)
    }

    /// The side that is to get more, after a practice that leaned to a side or to none. What has begun goes on until they are
    /// even, else each practice would be another change.
    pub fn wants(self, leaned: Option<Side>) -> Option<Side> {
        let lacks = over(self.share(), AGAIN).map(Side::other);
        if leaned.is_some() && leaned == lacks { leaned } else { self.lacking() }
    }

    /// The side to which a practice leans.
    pub fn leaning(self) -> Option<Side> {
        over(self.share(), LEANS)
    }
}

fn over(share: f64, most: f64) -> Option<Side> {
    if share > most {
        Some(Side::Right)
    } else if share < -most {
        Some(Side::Left)
    } else {
        None
    }
}

/// On which side each set begins, so that all together come nearest to even. `sets` are the breaths of each set if it begins on
/// the right: a set that begins on the left is its mirror. `fixed` is what else the practice breathes. The
/// choice is among those by which the practice leans as it is to, or to no side, if there is one.
pub fn begin(before: BreathBalance, fixed: BreathBalance, sets: &[BreathBalance], lean: Option<Side>) -> Vec<Side> {
    let side = |mirrored: bool| if mirrored { Side::Left } else { Side::Right };
    // More sets than so many do not come; those beyond stay on the right.
    let choices = 1_u32 << sets.len().min(12);
    let of = |choice: u32| {
        let own = (0..).zip(sets).map(|(at, set)| if choice >> at & 1 == 1 { -set.right } else { set.right });
        let own = fixed.right + own.sum::<f64>();
        let all = fixed.all + sets.iter().map(|set| set.all).sum::<f64>();
        let leans = BreathBalance { right: own, all }.leaning() != lean;
        (leans, (before.right + own).abs())
    };
    let by_merit = |one: &u32, other: &u32| {
        let ((leans, off), (other_leans, other_off)) = (of(*one), of(*other));
        leans.cmp(&other_leans).then(off.total_cmp(&other_off))
    };
    let best = (0..choices).min_by(by_merit).unwrap_or(0);
    (0..sets.len()).map(|at| side(at < 12 && best >> at & 1 == 1)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_side_with_fewer_breaths_is_lacking() {
        let lacking = |left, right| BreathBalance::of(left, right).lacking();
        assert_eq!((lacking(0.0, 0.0), lacking(100.0, 105.0), lacking(105.0, 100.0)), (None, None, None));
        assert_eq!((lacking(100.0, 112.0), lacking(112.0, 100.0)), (Some(Side::Left), Some(Side::Right)));
        let four_more = BreathBalance::of(100.0, 104.0);
        assert_eq!((four_more.wants(None), four_more.wants(Some(Side::Left))), (None, Some(Side::Left)));
        assert_eq!((four_more.wants(Some(Side::Right)), lacking(100.0, 101.0)), (None, None));
        assert_eq!(BreathBalance::of(61.0, 39.0).leaning(), Some(Side::Left));
    }

    #[test]
    fn sets_begin_so_that_all_is_even() {
        let set = |right: f64| BreathBalance { right, all: 40.0 };
        let none = BreathBalance::default();
        let before = BreathBalance::of(0.0, 60.0);
        let left = Some(Side::Left);
        assert_eq!(begin(before, none, &[set(30.0), set(30.0)], left), [Side::Left, Side::Left]);
        // No further than it has to, and yet so that the practice leans.
        let before = BreathBalance::of(0.0, 30.0);
        assert_eq!(begin(before, none, &[set(30.0), set(16.0)], left), [Side::Left, Side::Left]);
        assert_eq!(begin(before, none, &[set(40.0), set(10.0)], left), [Side::Left, Side::Right]);
        // Not at once where another thing changes.
        assert_eq!(begin(before, none, &[set(30.0), set(30.0)], None), [Side::Left, Side::Right]);
        assert_eq!(begin(before, none, &[], None), []);
    }
}
