//! The stroke model: distance per stroke falls about linearly as the stroke rate rises.
//!
//! `time = wall + count × tempo`, `count = (L − glide) / s(1 / tempo)`, `s(r) = s0 − k r`, with `wall` seconds and
//! `glide` metres of each length swum without strokes. Direction of the relation: Craig & Pendergast 1979.

use crate::units::swim::{Distance, PoolLength, PoolUnit};

/// No stroke is shorter than this, in metres, so that an extrapolated model stays finite.
pub(super) const SHORTEST: f64 = 0.25;
/// The grid of what a regression found, in its units, so that the last digits, in which machines differ, reach no timeline.
const GRID: f64 = 1e-6;

/// Stroke length against stroke rate, with the part of each length that has no strokes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrokeModel {
    s0: f64,
    k: f64,
    wall: f64,
    glide: f64,
}

impl StrokeModel {
    /// `k / s0` in seconds where one point is known: as of 19 strokes in 25 m at 1.30 s and 22 at 1.00 s. An assumption, no
    /// source.
    pub(super) const ASSUMED_SLOPE: f64 = 0.406_25;
    /// Seconds of each length without strokes, assumed: common practice, no source.
    pub const ASSUMED_WALL: f64 = 4.0;
    /// Metres of each length without strokes, assumed: common practice, no source.
    pub const ASSUMED_GLIDE: f64 = 5.0;

    /// The pool of nobody in particular.
    #[expect(clippy::expect_used, reason = "25 m is within 10 to 100")]
    pub fn assumed_pool() -> PoolLength {
        Distance::new(25, PoolUnit::Metre).and_then(PoolLength::new).expect("25 m is a pool")
    }

    /// Through one or two points (seconds per stroke, strokes) of a pool of `metres`; `wall` in seconds, `glide` in metres.
    ///
    /// One point keeps the assumed relative slope. `None` where no swimmer can be like that: no
    /// points or more than two, two of one tempo, fewer strokes at the quicker tempo, a glide as long as the pool.
    pub fn through(metres: f64, points: &[(f64, f64)], wall: f64, glide: f64) -> Option<Self> {
        let swum = metres - glide;
        let possible = swum > 0.0 && wall >= 0.0 && glide >= 0.0;
        let valid = |(tempo, count): &(f64, f64)| (0.4..=2.5).contains(tempo) && *count > 0.0 && count.is_finite();
        if !possible || !points.iter().all(valid) {
            return None;
        }
        let at = |(tempo, count): (f64, f64)| (1.0 / tempo, swum / count);
        let (s0, k) = match *points {
            [one] => {
                let (r, s) = at(one);
                let relative = Self::ASSUMED_SLOPE;
                // Beyond the assumed line's reach the slope carries no information: keep the stroke length.
                if relative * r < 0.9 {
                    (s / (1.0 - relative * r), relative * s / (1.0 - relative * r))
                } else {
                    (s, 0.0)
                }
            }
            [a, b] if a.0 != b.0 => {
                let ((ra, sa), (rb, sb)) = (at(a), at(b));
                let k = (sa - sb) / (rb - ra);
                (sa + k * ra, k)
            }
            _ => return None,
        };
        (k >= 0.0 && s0 > 0.0).then_some(Self { s0, k, wall, glide })
    }

    /// What a regression found, rounded to a millionth of each unit: metres per stroke at rate 0, how much of it each stroke
    /// a second takes, `wall` in seconds, `glide` in metres. `None` where no swimmer can be like that.
    pub(super) fn fitted(s0: f64, k: f64, wall: f64, glide: f64) -> Option<Self> {
        let [s0, k, wall, glide] = [s0, k, wall, glide].map(to_grid);
        (s0 > 0.0 && k >= 0.0 && wall >= 0.0 && glide >= 0.0 && [s0, k, wall].iter().all(|value| value.is_finite()))
            .then_some(Self { s0, k, wall, glide })
    }

    /// How many metres each stroke a second more takes from a stroke.
    pub(super) fn slope(&self) -> f64 {
        self.k
    }

    /// Metres of each length without strokes.
    pub fn glide(&self) -> f64 {
        self.glide
    }

    /// Metres per stroke at `rate` strokes a second.
    pub fn stroke_length(&self, rate: f64) -> f64 {
        (self.s0 - self.k * rate).max(SHORTEST)
    }

    /// Strokes in one length of `metres` at `tempo` seconds per stroke.
    pub fn count(&self, metres: f64, tempo: f64) -> f64 {
        (metres - self.glide).max(0.0) / self.stroke_length(1.0 / tempo)
    }

    /// Seconds for one length of `metres` at `tempo` seconds per stroke.
    pub fn length_time(&self, metres: f64, tempo: f64) -> f64 {
        self.wall + self.count(metres, tempo) * tempo
    }

    /// Seconds of each length without strokes, from the push-off.
    pub fn wall(&self) -> f64 {
        self.wall
    }

    /// The tempo, 0.4 to 2.5 s, at which something takes `time` seconds by `time_at` of the tempo: the slower of two
    /// where the model has two, the nearest where it has none.
    pub fn tempo_for(&self, time: f64, time_at: impl Fn(f64) -> f64) -> f64 {
        // Speed r (s0 − k r) is greatest at r = s0 / 2k; on the slower side the time grows with the tempo.
        let fastest = if self.k > 0.0 { (2.0 * self.k / self.s0).clamp(0.4, 2.5) } else { 0.4 };
        let (mut low, mut high) = (fastest, 2.5);
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if time_at(middle) < time { low = middle } else { high = middle }
        }
        (low + high) / 2.0
    }
}

/// Rounded to the grid.
pub(super) fn to_grid(value: f64) -> f64 {
    libm::round(value / GRID) * GRID
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn goes_through_its_points() {
        let model = StrokeModel::through(50.0, &[(1.2, 40.0), (0.9, 48.0)], 3.5, 6.0).unwrap();
        assert!((model.count(50.0, 1.2) - 40.0).abs() < 1e-9);
        assert!((model.count(50.0, 0.9) - 48.0).abs() < 1e-9);
        assert!((model.length_time(50.0, 1.2) - 51.5).abs() < 1e-9);
        assert!((model.tempo_for(51.5, |tempo| model.length_time(50.0, tempo)) - 1.2).abs() < 1e-9);
    }

    #[test]
    fn one_point_is_enough() {
        let model = StrokeModel::through(25.0, &[(1.1, 21.0)], 4.0, 5.0).unwrap();
        assert!((model.count(25.0, 1.1) - 21.0).abs() < 1e-9);
        assert!(model.count(25.0, 0.9) > 21.0);
        // The slope is that of the points that it is taken from.
        let model = StrokeModel::through(25.0, &[(1.30, 19.0)], 4.0, 5.0).unwrap();
        assert!((model.count(25.0, 1.00) - 22.0).abs() < 1e-3);
    }

    #[test]
    fn speed_is_rate_times_distance_per_stroke() {
        // Chatard, Chollet & Millet 1998: 39.9 cycles/min × 2.10 m; the 400 m swum in 4:47.69 is 1.3904 m/s.
        // A cycle is two strokes here; without wall or glide the model must give v = rate × distance per stroke.
        let tempo = 60.0 / 39.9 / 2.0;
        let model = StrokeModel::through(50.0, &[(tempo, 50.0 / 1.05)], 0.0, 0.0).unwrap();
        let speed = 50.0 / model.length_time(50.0, tempo);
        assert!((speed - 1.3965).abs() < 1e-6, "{speed}");
        assert!((speed / (400.0 / 287.69) - 1.0).abs() < 0.015);
    }

    #[test]
    fn distance_per_stroke_falls_and_speed_rises_with_rate() {
        // Craig & Pendergast 1979 (direction).
        let model = StrokeModel::through(25.0, &[(1.30, 19.0)], 4.0, 5.0).unwrap();
        assert!(model.stroke_length(1.0) < model.stroke_length(0.8));
        assert!(model.length_time(25.0, 1.0) < model.length_time(25.0, 1.3));
    }

    #[test]
    fn impossible_swimmers_are_refused() {
        for points in [&[][..], &[(1.2, 20.0), (1.2, 22.0)], &[(1.2, 20.0), (1.0, 14.0)], &[(1.2, 0.0)], &[(9.0, 20.0)]]
        {
            assert!(StrokeModel::through(25.0, points, 4.0, 5.0).is_none(), "{points:?}");
        }
        assert!(StrokeModel::through(25.0, &[(1.2, 20.0)], 4.0, 25.0).is_none());
    }
}
