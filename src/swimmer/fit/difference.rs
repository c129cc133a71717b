//! The difference of two groups of values, with how sure it is.

use statrs::distribution::{ContinuousCDF, StudentsT};

/// How much larger one group is than the other, in the mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// The difference of the means.
    pub mean: f64,
    /// The interval reaches from here ...
    pub low: f64,
    /// ... to here.
    pub high: f64,
}

impl Difference {
    /// Of `one` less `other`, by Welch's interval (Welch 1947; degrees of freedom by Satterthwaite 1946, both from memory): the
    /// groups may scatter differently, but neither with a smaller deviation than `least`. `sure` is the share of such intervals that
    /// hold the difference, 0 to 1, at one look: who looks again and again asks for more. `None` where a group has fewer than two
    /// values, or neither scatters at all.
    pub fn of(one: &[f64], other: &[f64], sure: f64, least: f64) -> Option<Self> {
        let (a, b) = (Group::of(one, least)?, Group::of(other, least)?);
        let variance = a.of_mean + b.of_mean;
        let freedom = variance * variance / (a.of_mean * a.of_mean / a.freedom + b.of_mean * b.of_mean / b.freedom);
        let half = StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.5 + 0.5 * sure) * libm::sqrt(variance);
        let mean = a.mean - b.mean;
        half.is_finite().then_some(Self { mean, low: mean - half, high: mean + half })
    }
}

struct Group {
    mean: f64,
    /// The variance of the mean.
    of_mean: f64,
    freedom: f64,
}

impl Group {
    fn of(values: &[f64], least: f64) -> Option<Self> {
        let (n, freedom) = (values.len() as f64, values.len().checked_sub(1)? as f64);
        let mean = values.iter().sum::<f64>() / n;
        let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
        (freedom > 0.0).then(|| Self { mean, of_mean: (squares / freedom).max(least * least) / n, freedom })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_interval_is_that_of_scipy() {
        // scipy 1.17.1, stats.ttest_ind(one, other, equal_var=False).confidence_interval(0.95), and of 0.998.
        let one = [19.0, 20.0, 19.5, 21.0, 18.0];
        let other = [18.0, 18.5, 17.0, 19.0];
        for (sure, low, high) in [
            (0.95, -0.179_775_223_006_621, 2.929_775_223_006_621),
            (0.998, -1.771_577_984_781_218, 4.521_577_984_781_218),
        ] {
            let found = Difference::of(&one, &other, sure, 0.0).unwrap();
            for (found, expected) in [(found.mean, 1.375), (found.low, low), (found.high, high)] {
                assert!((found - expected).abs() < 1e-9, "{found} for {expected}");
            }
        }
    }

    #[test]
    fn too_little_makes_no_difference() {
        assert_eq!(Difference::of(&[19.0], &[18.0, 19.0], 0.95, 0.0), None);
        assert_eq!(Difference::of(&[], &[], 0.95, 0.0), None);
        assert_eq!(Difference::of(&[19.0, 19.0], &[18.0, 18.0], 0.95, 0.0), None);
    }
}
