//! Whether something became better: only where it is more than a miscount, and more than chance.

use crate::swimmer::fit::difference::Difference;

/// A right count is off by as much: it is a whole number of strokes.
const MISCOUNT: f64 = 0.5;

/// The share of intervals that hold the change at one look. A review is looked at again and again, and its two windows slide, so that
/// no test of a growing sample holds. With 95 % two in five of 600 swimmers whose stroke stays as it is are told within 26 weekly
/// looks that it changed, with this one or two in a hundred. Our choice.
const SURE: f64 = 0.998;
/// Deviation of a day's counts that is believed at least: counts that agree by rounding are not exact. Our choice.
const LEAST: f64 = 0.1;

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
    /// The change between the means of days, with its interval. `None` where there are fewer than two days on either side.
    pub fn change(now: &[f64], then: &[f64]) -> Option<Difference> {
        Difference::of(now, then, SURE, LEAST)
    }

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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cases::amount;
    use crate::chance::SplitMix;

    /// Weekly means of days of somebody whose stroke changes by `change` in week 13 of 34, and whether a look in weeks 8 to 33 says
    /// that it changed.
    fn is_claimed(days_a_week: usize, change: f64, dice: &mut SplitMix) -> bool {
        let mut means: Vec<(i32, f64)> = Vec::new();
        for week in 0..34 {
            for day in 0..days_a_week as i32 {
                let form = 20.0 + 0.3 * dice.normal() + if week >= 13 { change } else { 0.0 };
                let mut count = || {
                    let slip = if dice.even() < 0.05 { dice.one(&[-3.0, -2.0, -1.0, 1.0, 2.0, 3.0]) } else { 0.0 };
                    libm::round(form + 0.5 * dice.normal()) + slip
                };
                means.push((7 * week + 2 * day, 0.5 * (count() + count())));
            }
        }
        (8..34).any(|week| {
            let today = 7 * week + 6;
            let within = |from: i32| -> Vec<f64> {
                let there = means.iter().filter(|(day, _)| (from..from + 28).contains(&(today - day)));
                there.map(|(_, mean)| *mean).collect()
            };
            let trend = Trend::change(&within(0), &within(28)).map(|change| Trend::of_strokes(&change));
            matches!(trend, Some(Trend::Better | Trend::Worse))
        })
    }

    #[test]
    fn a_change_that_is_not_there_is_seldom_claimed_however_often_one_looks() {
        let swimmers = amount(60, 1000);
        for days_a_week in 1..=3 {
            let claims = |change: f64| {
                (0..swimmers).filter(|seed| is_claimed(days_a_week, change, &mut SplitMix(seed + 40_000))).count()
                    as u64
            };
            let (none, two) = (claims(0.0), claims(2.0));
            println!("{days_a_week} days a week: {none} of {swimmers} claimed, and {two} where there are two strokes");
            assert!(none * 100 <= swimmers * 5, "{none} of {swimmers}");
            assert!(days_a_week < 2 || two * 100 >= swimmers * 90, "{two} of {swimmers}");
        }
    }
}
