//! The stroke model from counted lengths: `count = (L − glide) / (s0 − k r)`, fitted to whole counts in strokes.
//!
//! Residuals are in strokes, not in metres per stroke: a miscount and the rounding to whole strokes are errors of the count.
//! What the counts say and what was held before them (the profile, or what is assumed) come together by their weights.

use super::counts::{Condition, CountedAt, LengthCount};
use super::robust::{self, Datum, Posterior, Prior, ScalePrior};
use crate::swimmer::model::{SHORTEST, StrokeModel, to_grid};
use crate::units::swim::PoolLength;
use crate::units::time::Tempo;
use nalgebra::{Matrix1, SMatrix, Vector1, Vector3};

/// How far the slope of the model before the counts may be off, as a share of it. An assumption, no source.
const SLOPE_WIDTH: f64 = 0.5;
/// Standard deviation of what the end of a set takes from each stroke, as a share of its length. An assumption, no source.
const TIRED_WIDTH: f64 = 0.05;
/// Standard deviation of what another pool changes in a stroke, by its push-off and its turns, as a share of its length. An
/// assumption, no source.
const POOL_WIDTH: f64 = 0.03;
/// The scatter of counts about their line, in strokes: nearly half a stroke as if ten counts had shown it, and never less than
/// what rounding to whole strokes alone makes (1/√12 = 0.29). Assumptions.
pub(super) const STROKES_OFF: ScalePrior = ScalePrior { usual: 0.46, seen: 10.0, least: 0.25 };
/// How far the seconds at the wall may be off before there are times. An assumption, no source.
const WALL_WIDTH: f64 = 0.7;
/// The scatter of a length's time about wall + count × tempo: a clock read to 0.2 s, a count rounded to whole strokes.
const WALL_OFF: ScalePrior = ScalePrior { usual: 0.5, seen: 3.0, least: 0.2 };

/// Strokes by which a swimmer changes in a week without counts, as a standard deviation: half a stroke in four. Our choice.
const DRIFT: f64 = 0.125;
/// Weeks after which more time makes nothing less sure. Our choice.
const MOST_WEEKS: f64 = 8.0;
/// The normal quantile of 0.9.
const Z90: f64 = 1.281_551_565_544_600_4;
/// That of counts that are made right, in scales of a fit to all: between 1.28 (normal) and 1.53 (Student's t with 4 degrees of
/// freedom), since its tails are the miscounts. Set by 1,000 simulated swimmers with 5 % miscounts: of unseen lengths the
/// interval holds 81 % after 2, 5 and 10 counts, 80 % after 20, 79 % after 40.
const RIGHT_90: f64 = 1.38;

/// Distance per stroke at the middle rate, its slope, and what the end of a set takes from it.
pub(super) type Strokes = Vector3<f64>;

/// What is expected of one length's count.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CountForecast {
    /// Strokes, not rounded.
    pub count: f64,
    /// Eight of ten lengths that are counted right have this many strokes or more ...
    pub low: f64,
    /// ... and this many or fewer.
    pub high: f64,
}

/// A swimmer's strokes in one pool, from counts.
#[derive(Clone, Debug, PartialEq)]
pub struct FittedStrokes {
    pool: PoolLength,
    glide: f64,
    line: StrokeLine,
    strokes: Posterior<3>,
    wall: Posterior<1>,
    struck: usize,
    counts: usize,
    latest: Option<f64>,
}

/// The line of distance per stroke against stroke rate about a middle rate, over so many metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct StrokeLine {
    pub middle: f64,
    pub swum: f64,
}

impl StrokeLine {
    /// Metres per stroke and its gradient by the parameters, at a rate in strokes a second.
    pub(super) fn stroke(self, strokes: &Strokes, rate: f64, tired: f64) -> (f64, Strokes) {
        let gradient = Vector3::new(1.0, self.middle - rate, -tired);
        (strokes.dot(&gradient).max(SHORTEST), gradient)
    }

    /// The count at a tempo: its gradient is `−N / s` of that of the stroke.
    pub(super) fn count(self, strokes: &Strokes, tempo: f64, tired: f64) -> (f64, Strokes) {
        let (stroke, gradient) = self.stroke(strokes, 1.0 / tempo, tired);
        let count = self.swum / stroke;
        (count, gradient * (-count / stroke))
    }

    /// The count where `moving` seconds are spent with strokes: `N (s0 − k N / moving) = swum`, solved for the smaller N.
    fn count_in(self, strokes: &Strokes, moving: f64, tired: f64) -> (f64, Strokes) {
        let (free, _) = self.stroke(strokes, 0.0, tired);
        let k = strokes[1];
        let root = free * free - 4.0 * k * self.swum / moving;
        // No tempo makes that time: the nearest is where speed is greatest.
        let count = 2.0 * self.swum / (free + libm::sqrt(root.max(0.0)));
        let rate = count / moving;
        let steep = (free - 2.0 * k * rate).max(0.5 * SHORTEST);
        let (_, gradient) = self.stroke(strokes, rate, tired);
        (count, gradient * (-count / steep))
    }

    /// What a counted length was expected to have.
    pub(super) fn expected(self, strokes: &Strokes, count: &LengthCount, wall: f64) -> (f64, Strokes) {
        match count.at() {
            CountedAt::Tempo(tempo) | CountedAt::Both(tempo, _) => self.count(strokes, tempo.as_f64(), count.tired()),
            CountedAt::Time(time) => {
                let moving = (time.as_f64() - wall).max(0.4 * count.count());
                self.count_in(strokes, moving, count.tired())
            }
        }
    }
}

/// What is known before the counts of one pool are looked at.
pub(super) struct PoolCounts {
    pub line: StrokeLine,
    pub prior: Prior<3>,
    pub wall: Posterior<1>,
    /// The counts of that pool.
    pub here: Vec<LengthCount>,
    /// Days since the newest of all.
    pub newest: f64,
}

impl PoolCounts {
    /// Takes the seconds at the wall from all counts, and the prior from those of other pools.
    pub(super) fn of(before: &StrokesBefore, pool: PoolLength, counts: &[LengthCount]) -> Option<Self> {
        let newest = newest(counts).unwrap_or(0.0);
        let wall = fit_wall(before.model.wall(), counts, newest)?;
        let line =
            |pool: PoolLength| StrokeLine { middle: before.middle(), swum: pool.metres() - before.model.glide() };
        let mut prior = before.prior();
        for other in others(pool, counts) {
            if line(other).swum > 0.0 {
                let (fitted, _) = fit_line(line(other), &prior, wall.mean[0], &of_pool(other, counts), newest)?;
                prior = elsewhere(&fitted)?;
            }
        }
        let here = of_pool(pool, counts);
        (line(pool).swum > 0.0).then(|| Self { line: line(pool), prior, wall, here, newest })
    }
}

/// What is held of a swimmer's strokes before their counts are looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrokesBefore {
    /// The model: of a profile, or assumed.
    pub model: StrokeModel,
    /// The tempo at which it is best known.
    pub usual: Tempo,
    /// Standard deviation of its distance per stroke there, as a share.
    pub width: f64,
}

impl StrokesBefore {
    fn middle(&self) -> f64 {
        1.0 / self.usual.as_f64()
    }

    fn prior(&self) -> Prior<3> {
        let stroke = self.model.stroke_length(self.middle());
        // The slope's width is that of the assumed slope, so that a model without one can be moved too.
        let free = stroke + self.model.slope() * self.middle();
        let widths = [self.width * stroke, SLOPE_WIDTH * StrokeModel::ASSUMED_SLOPE * free, TIRED_WIDTH * stroke];
        let precision = Vector3::from(widths.map(|width| 1.0 / (width * width)));
        Prior { mean: Vector3::new(stroke, self.model.slope(), 0.0), precision: SMatrix::from_diagonal(&precision) }
    }
}

impl FittedStrokes {
    /// Fits the strokes in `pool` to all counts. Those of other pools come first, pool by pool, and what they make of the
    /// prior is, a little wider, the prior of this one: glide and turns differ, the swimmer does not. `None` where the pool
    /// leaves no way to stroke in.
    pub fn fit(before: &StrokesBefore, pool: PoolLength, counts: &[LengthCount]) -> Option<Self> {
        let PoolCounts { line, prior, wall, here, newest: since } = PoolCounts::of(before, pool, counts)?;
        let (strokes, struck) = fit_line(line, &prior, wall.mean[0], &here, since)?;
        Some(Self {
            pool,
            glide: before.model.glide(),
            line,
            strokes,
            wall,
            struck,
            counts: counts.len(),
            latest: newest(counts),
        })
    }

    /// The model for practices: halfway between fresh and the end of a set, since sets are swum from one to the other.
    pub fn model(&self) -> Option<StrokeModel> {
        self.model_at(0.5)
    }

    /// The model of lengths in one condition.
    pub fn model_of(&self, condition: Condition) -> Option<StrokeModel> {
        self.model_at(condition.tired())
    }

    fn model_at(&self, tired: f64) -> Option<StrokeModel> {
        let (free, _) = self.line.stroke(&self.strokes.mean, 0.0, tired);
        StrokeModel::fitted(free, self.strokes.mean[1], self.wall.mean[0], self.glide)
    }

    /// What is expected of one length that is counted right, with the interval that holds eight of ten.
    ///
    /// Its width has what is not known of the line and the scatter of counts about it, in which the rounding to whole strokes
    /// is part.
    pub fn predict(&self, tempo: Tempo, condition: Condition) -> CountForecast {
        let (count, scatter, line) = self.count_at(tempo, condition.tired());
        let half = libm::hypot(RIGHT_90 * scatter, Z90 * line);
        CountForecast { count, low: count - half, high: count + half }
    }

    /// The count of a length, the scale of its scatter, and the standard deviation of the line there today.
    fn count_at(&self, tempo: Tempo, tired: f64) -> (f64, f64, f64) {
        let (count, gradient) = self.line.count(&self.strokes.mean, tempo.as_f64(), tired);
        let line = gradient.dot(&(self.strokes.covariance * gradient));
        let drift = DRIFT * (self.latest.unwrap_or(0.0) / 7.0).min(MOST_WEEKS);
        (count, self.strokes.scale, libm::hypot(libm::sqrt(line), drift))
    }

    /// Standard deviation of the time of one length at a tempo, as a share of it: what its count and its wall leave open.
    pub fn spread(&self, tempo: Tempo) -> f64 {
        let (count, scatter, line) = self.count_at(tempo, 0.5);
        let strokes = libm::hypot(scatter, line) * tempo.as_f64();
        let wall = self.wall.covariance[(0, 0)];
        let time = self.wall.mean[0] + count * tempo.as_f64();
        to_grid(libm::sqrt(strokes * strokes + wall) / time)
    }

    /// Strokes that a counted length of this pool had above the line, at its tempo and in its condition.
    pub fn residual(&self, count: &LengthCount) -> f64 {
        count.count() - self.line.expected(&self.strokes.mean, count, self.wall.mean[0]).0
    }

    /// The pool.
    pub fn pool(&self) -> PoolLength {
        self.pool
    }

    /// How many counts were looked at, all pools together.
    pub fn counts(&self) -> usize {
        self.counts
    }

    /// How many counts of this pool lay so far off that they were left out: slips, or another way of swimming.
    pub fn struck(&self) -> usize {
        self.struck
    }

    /// Days since the latest of them.
    pub fn latest(&self) -> Option<f64> {
        self.latest
    }
}

/// Days since the newest.
fn newest(counts: &[LengthCount]) -> Option<f64> {
    counts.iter().map(LengthCount::days_ago).min_by(f64::total_cmp)
}

fn of_pool(pool: PoolLength, counts: &[LengthCount]) -> Vec<LengthCount> {
    counts.iter().filter(|count| count.pool() == pool).copied().collect()
}

/// The other pools, each once: the one counted in longest ago first.
fn others(pool: PoolLength, counts: &[LengthCount]) -> Vec<PoolLength> {
    let mut found: Vec<LengthCount> = counts.iter().filter(|count| count.pool() != pool).copied().collect();
    found.sort_by(|a, b| a.days_ago().total_cmp(&b.days_ago()));
    let mut pools = Vec::new();
    for count in found {
        if !pools.contains(&count.pool()) {
            pools.push(count.pool());
        }
    }
    pools.reverse();
    pools
}

/// What one pool tells of the strokes in another.
fn elsewhere(fitted: &Posterior<3>) -> Option<Prior<3>> {
    let width = POOL_WIDTH * fitted.mean[0];
    let covariance = fitted.covariance + SMatrix::from_diagonal(&Vector3::new(width * width, 0.0, 0.0));
    Some(Prior { mean: fitted.mean, precision: covariance.cholesky()?.inverse() })
}

/// The line through the counts of one pool, and how many of them were struck.
pub(super) fn fit_line(
    line: StrokeLine,
    prior: &Prior<3>,
    wall: f64,
    counts: &[LengthCount],
    newest: f64,
) -> Option<(Posterior<3>, usize)> {
    let data: Vec<Datum> =
        counts.iter().map(|count| Datum { value: count.count(), weight: count.weight(newest) }).collect();
    let curve = |strokes: &Strokes, place: usize| line.expected(strokes, &counts[place], wall);
    let best = |prior: &Prior<3>| {
        let starts = [prior.mean, middle_start(line, prior, wall, counts)];
        let summits = starts.into_iter().filter_map(|start| robust::fit(prior, start, STROKES_OFF, &data, curve));
        let first = summits.max_by(|a, b| a.log_density.total_cmp(&b.log_density))?;
        robust::strike(first, prior, STROKES_OFF, &data, curve)
            .map(|(fitted, left)| (fitted, left.iter().filter(|datum| datum.weight <= 0.0).count()))
    };
    let (fitted, struck) = best(prior)?;
    if fitted.mean[1] >= 0.0 {
        return Some((fitted, struck));
    }
    // No stroke grows with the rate: the slope is held at 0.
    let mut flat = *prior;
    flat.mean[1] = 0.0;
    flat.precision[(1, 1)] += 1e12;
    let (mut fitted, struck) = best(&flat)?;
    fitted.mean[1] = fitted.mean[1].max(0.0);
    Some((fitted, struck))
}

/// The prior's line moved into the middle of the counts, where no miscount can have carried it: a second place to begin at, for
/// a swimmer who is not as was thought.
fn middle_start(line: StrokeLine, prior: &Prior<3>, wall: f64, counts: &[LengthCount]) -> Strokes {
    let off = |count: &LengthCount| line.expected(&prior.mean, count, wall).0 / count.count();
    let mut off: Vec<f64> = counts.iter().map(off).collect();
    off.sort_by(f64::total_cmp);
    prior.mean * off.get(off.len() / 2).copied().unwrap_or(1.0)
}

/// The seconds at the wall: what count × tempo leaves of a length's time.
fn fit_wall(before: f64, counts: &[LengthCount], newest: f64) -> Option<Posterior<1>> {
    let data: Vec<Datum> = counts
        .iter()
        .filter_map(|count| match count.at() {
            CountedAt::Both(tempo, time) => {
                Some(Datum { value: time.as_f64() - count.count() * tempo.as_f64(), weight: count.weight(newest) })
            }
            _ => None,
        })
        .collect();
    let prior = Prior { mean: Vector1::new(before), precision: Matrix1::new(1.0 / (WALL_WIDTH * WALL_WIDTH)) };
    let mut fitted = robust::fit(&prior, prior.mean, WALL_OFF, &data, |wall, _| (wall[0], Vector1::new(1.0)))?;
    fitted.mean[0] = fitted.mean[0].max(0.0);
    Some(fitted)
}
