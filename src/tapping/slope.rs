//! Numbers that a slip does not spoil: the slope through times by their stroke, and how far it may be off.

/// Beyond so many points only some of the pairs are looked at: all would be a million for a long swim.
const ALL_PAIRS: usize = 120;

/// The median; `None` of nothing.
pub(super) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    if values.len() % 2 == 1 {
        return Some(upper);
    }
    Some((values.get(middle.checked_sub(1)?)? + upper) / 2.0)
}

/// Seconds a stroke through (stroke, time), by Theil (1950) and Sen (1968): the median of the slopes of all pairs. A few points
/// that are far off do not move it, and of good ones it makes nearly as much as least squares do. Strokes rise strictly.
pub(super) fn slope(points: &[(f64, f64)]) -> Option<f64> {
    let between = |(k, t): &(f64, f64), (l, u): &(f64, f64)| (u - t) / (l - k);
    if points.len() > ALL_PAIRS {
        let half = points.len() / 2;
        return median(points.iter().zip(points.get(half..)?).map(|(one, other)| between(one, other)).collect());
    }
    let pairs = points.iter().enumerate().flat_map(|(index, one)| {
        points.get(index + 1..).unwrap_or_default().iter().map(move |other| between(one, other))
    });
    median(pairs.collect())
}

/// How much the times of single strokes move a slope by least squares through points at these strokes: for each step from a
/// stroke to the next, by how much the slope grows where that step grows by one.
pub(super) fn shares(strokes: &[f64]) -> Vec<f64> {
    let (Some(first), Some(last)) = (strokes.first(), strokes.last()) else { return Vec::new() };
    let mean = strokes.iter().sum::<f64>() / strokes.len() as f64;
    let squares: f64 = strokes.iter().map(|k| (k - mean) * (k - mean)).sum();
    if squares <= 0.0 {
        return Vec::new();
    }
    let steps = (last - first) as usize;
    (1..=steps)
        .map(|step| {
            let from = first + step as f64;
            strokes.iter().filter(|k| **k >= from).map(|k| (k - mean) / squares).sum()
        })
        .collect()
}

/// The quantile of Student's t for a two-sided interval at 95 %, from its expansion (Abramowitz & Stegun 1964, 26.7.5): within 0.3 %
/// from 4 degrees of freedom on.
pub(super) fn student(freedom: f64) -> f64 {
    let x: f64 = 1.959_963_985;
    let (x3, x5, x7) = (x * x * x, x * x * x * x * x, x * x * x * x * x * x * x);
    let one = (x3 + x) / 4.0;
    let two = (5.0 * x5 + 16.0 * x3 + 3.0 * x) / 96.0;
    let three = (3.0 * x7 + 19.0 * x5 + 17.0 * x3 - 15.0 * x) / 384.0;
    x + one / freedom + two / (freedom * freedom) + three / (freedom * freedom * freedom)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_medians_and_quantiles_are_those_of_a_reference() {
        // scipy 1.17.1 and numpy 2.4.6: scipy.stats.theilslopes, numpy.median of numpy.diff, scipy.stats.t.ppf(0.975, nu).
        let times = [0.0, 1.06, 2.15, 3.19, 4.31, 5.36, 6.47, 7.55, 8.60, 9.74, 10.83];
        let points: Vec<_> = times.iter().enumerate().map(|(k, t)| (k as f64, *t)).collect();
        assert!((slope(&points).unwrap() - 1.082).abs() < 1e-9);
        let intervals = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert!((median(intervals).unwrap() - 1.085).abs() < 1e-9);
        for (freedom, quantile) in
            [(4.0, 2.776_445_105), (8.0, 2.306_004_135), (17.0, 2.109_815_578), (30.0, 2.042_272_456)]
        {
            let found = student(freedom);
            assert!((found / quantile - 1.0).abs() < 0.003, "{freedom}: {found}");
        }
        assert_eq!((median(vec![]), slope(&[(0.0, 1.0)]), slope(&[])), (None, None, None));
    }

    #[test]
    fn one_wild_time_moves_no_slope() {
        for count in [11, 300] {
            let mut points: Vec<_> = (0..count).map(|k| (f64::from(k), f64::from(k) * 1.1)).collect();
            points[4].1 += 0.6;
            assert!((slope(&points).unwrap() - 1.1).abs() < 1e-9, "{count}");
        }
    }

    #[test]
    fn shares_are_those_of_least_squares() {
        // Of evenly spaced strokes: the sum of the squares is 6 (n² + 1) / (5 n (n² − 1)), by summing j² (n − j)².
        for n in [5_u32, 19, 40] {
            let strokes: Vec<_> = (0..n).map(f64::from).collect();
            let n = f64::from(n);
            let squares: f64 = shares(&strokes).iter().map(|share| share * share).sum();
            assert!((squares - 6.0 * (n * n + 1.0) / (5.0 * n * (n * n - 1.0))).abs() < 1e-12);
            assert!((shares(&strokes).iter().sum::<f64>() - 1.0).abs() < 1e-12);
        }
        // A step that nobody tapped has its share too.
        assert_eq!(shares(&[0.0, 1.0, 3.0, 4.0]).len(), 4);
    }
}
