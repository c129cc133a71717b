//! The tempo at which the count leaves its line: quicker than that, each stroke shortens faster than the line says.
//!
//! A broken line, `s(r) = s0 − k r − c (r − b)₊`: for each possible break the line is fitted robustly, and how probable the
//! breaks are beside each other (profile likelihood) gives the break and its interval. A break is claimed where the broken
//! line is enough more probable than the straight one. What is missing is reckoned from what one more count would tell.

use super::counts::LengthCount;
use super::lengths::{PoolCounts, STROKES_OFF, StrokeLine, Strokes, StrokesBefore, fit_line};
use super::robust::{self, Datum, NU, Posterior, Prior};
use crate::swimmer::model::SHORTEST;
use crate::units::swim::PoolLength;
use crate::units::time::Tempo;
use nalgebra::{Matrix4, Matrix5, Vector4, Vector5};

/// Seconds between possible breaks.
const STEP: f64 = 0.01;
/// Counts that must lie on each side of a break.
const EACH_SIDE: usize = 3;
/// Twice the gain in log density from which a break is claimed. Set by 300 simulated swimmers without a break: with 40 counts
/// it claims one in 2 % of them. Where the break costs a stroke within 0.04 s of tempo, 40 counts find it within 0.03 s in 88 %
/// of 300 swimmers, within 0.05 s in 80 %, within 0.07 s in 60 %; the 80 % interval holds it in 88, 89 and 91 % of those found.
const CLAIM: f64 = 5.0;
/// How sharply the line may break: standard deviation of `c` as a share of the stroke. An assumption, no source.
const SHARPNESS: f64 = 2.0;
/// The 80 % interval of a break that is known well enough: this many seconds each way. Our choice: one step of a tempo ladder.
const WELL_KNOWN: f64 = 0.03;
/// A break that matters costs a stroke within so many seconds of tempo. Our choice. Where there is one, ten counts call the line
/// unbroken beyond it in 6 % of 300 simulated swimmers.
const MATTERS_WITHIN: f64 = 0.05;
/// The normal quantiles of 0.8 and of 0.9.
const Z80: f64 = 0.841_621_233_572_914_3;
const Z90: f64 = 1.281_551_565_544_600_4;
/// Fewer counts at one tempo do not tell a miscount from a break. Our choice.
const LEAST_WANTED: u32 = 4;
/// Where no one tempo settles a question, so many at one are the first step at most. Our choice.
const MOST_BLIND: f64 = 8.0;
/// Counts beyond which nobody is asked at once.
const MOST_WANTED: u32 = 40;

/// Counts that would settle a question.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CountsWanted {
    /// How many, 4 to 40.
    pub counts: u32,
    /// At which tempo.
    pub tempo: Tempo,
}

/// Where the count leaves its line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Breaking {
    /// At this tempo.
    At {
        /// Seconds a stroke.
        tempo: f64,
        /// The quick end of its 80 % interval.
        low: f64,
        /// The slow end.
        high: f64,
        /// What would bring the interval within 0.03 s each way; none where it is.
        more: Option<CountsWanted>,
    },
    /// Nowhere down to this tempo: a break that costs a stroke within 0.05 s would have been seen.
    HoldsTo {
        /// Seconds a stroke.
        tempo: f64,
        /// What would show whether it holds 0.05 s quicker.
        next: CountsWanted,
    },
    /// The counts do not tell.
    NotEnough(CountsWanted),
}

impl Breaking {
    /// Looks for it in the counts of one pool. `None` where the pool leaves no way to stroke in.
    pub fn of(before: &StrokesBefore, pool: PoolLength, counts: &[LengthCount]) -> Option<Self> {
        let prepared = PoolCounts::of(before, pool, counts)?;
        let ladder = Ladder::of(&prepared);
        let (line, _) =
            fit_line(prepared.line, &prepared.prior, prepared.wall.mean[0], &prepared.here, prepared.newest)?;
        if let Some((ladder, profile)) = ladder.profile_without_slips(line.mean)
            && profile.gain() >= CLAIM
        {
            let (low, tempo, high) = profile.interval();
            let more = (high - low > 2.0 * WELL_KNOWN).then(|| ladder.to_know_the_break(&profile));
            return Some(Self::At { tempo, low, high, more });
        }
        if let Some(tempo) = ladder.held() {
            return Some(Self::HoldsTo { tempo, next: ladder.to_see_it_hold(tempo - MATTERS_WITHIN) });
        }
        let tempo = ladder.tempos().first().copied().unwrap_or(before.usual.as_f64());
        Some(Self::NotEnough(ladder.to_see_it_hold(tempo)))
    }
}

/// Counts with their tempos.
#[derive(Clone)]
struct Ladder {
    line: StrokeLine,
    prior: Prior<3>,
    /// Seconds a stroke, and how tired.
    swum: Vec<(f64, f64)>,
    data: Vec<Datum>,
}

/// The fits of all possible breaks.
struct Profile {
    /// Of the straight line.
    straight: f64,
    /// Tempo, log density and fit; no fit where the line would bend the other way.
    breaks: Vec<(f64, f64, Option<Posterior<4>>)>,
}

impl Ladder {
    fn of(prepared: &PoolCounts) -> Self {
        let wall = prepared.wall.mean[0];
        let swum = prepared.here.iter().map(|count| (count.tempo(wall), count.tired())).collect();
        let data = prepared
            .here
            .iter()
            .map(|count| Datum { value: count.count(), weight: count.weight(prepared.newest) })
            .collect();
        Self { line: prepared.line, prior: prepared.prior, swum, data }
    }

    /// Tempos that count, from the quickest.
    fn tempos(&self) -> Vec<f64> {
        let counted = self.swum.iter().zip(&self.data).filter(|(_, datum)| datum.weight > 0.0);
        let mut tempos: Vec<f64> = counted.map(|((tempo, _), _)| *tempo).collect();
        tempos.sort_by(f64::total_cmp);
        tempos
    }

    fn quickest(&self) -> f64 {
        self.tempos().first().copied().unwrap_or(1.0)
    }

    fn slowest(&self) -> f64 {
        self.tempos().last().copied().unwrap_or(1.0)
    }

    /// The count at a tempo on a line that breaks, and its gradient.
    fn count(&self, bent: &Vector4<f64>, broken_at: f64, (tempo, tired): (f64, f64)) -> (f64, Vector4<f64>) {
        let rate = 1.0 / tempo;
        let beyond = (rate - 1.0 / broken_at).max(0.0);
        let gradient = Vector4::new(1.0, self.line.middle - rate, -tired, -beyond);
        let stroke = bent.dot(&gradient).max(SHORTEST);
        let count = self.line.swum / stroke;
        (count, gradient * (-count / stroke))
    }

    fn sharpness(&self) -> f64 {
        SHARPNESS * self.prior.mean[0]
    }

    /// The prior of the straight line with that of the bend.
    fn bent_prior(&self) -> Prior<4> {
        let mut precision = Matrix4::zeros();
        precision.fixed_view_mut::<3, 3>(0, 0).copy_from(&self.prior.precision);
        precision[(3, 3)] = 1.0 / (self.sharpness() * self.sharpness());
        Prior { mean: self.prior.mean.push(0.0), precision }
    }

    /// The fit of a line that breaks there, begun at a straight line that has a bend of usual sharpness.
    fn bent(&self, broken_at: f64, start: Strokes) -> Option<Posterior<4>> {
        self.bent_from(broken_at, start.push(0.5 * self.sharpness()))
    }

    fn bent_from(&self, broken_at: f64, start: Vector4<f64>) -> Option<Posterior<4>> {
        let curve = |bent: &Vector4<f64>, place: usize| self.count(bent, broken_at, self.swum[place]);
        robust::fit(&self.bent_prior(), start, STROKES_OFF, &self.data, curve)
    }

    /// The fits of all breaks that have counts on both sides. `None` where there are none.
    fn profile(&self, start: Strokes) -> Option<Profile> {
        let curve = |strokes: &Strokes, place: usize| {
            let (tempo, tired) = self.swum[place];
            self.line.count(strokes, tempo, tired)
        };
        let straight = robust::fit(&self.prior, start, STROKES_OFF, &self.data, curve)?;
        let tempos = self.tempos();
        let (quick, slow) = (*tempos.get(EACH_SIDE - 1)?, *tempos.get(tempos.len().checked_sub(EACH_SIDE)?)?);
        let mut breaks: Vec<(f64, f64, Option<Posterior<4>>)> = Vec::new();
        for tempo in steps(quick + STEP, slow) {
            // The fit of the break beside it is the nearest start.
            let bent = match breaks.last() {
                Some((.., Some(beside))) => self.bent_from(tempo, beside.mean),
                _ => self.bent(tempo, straight.mean),
            };
            breaks.push(match bent.filter(|bent| bent.mean[3] > 0.0) {
                Some(bent) => (tempo, bent.log_density.max(straight.log_density), Some(bent)),
                None => (tempo, straight.log_density, None),
            });
        }
        (!breaks.is_empty()).then_some(Profile { straight: straight.log_density, breaks })
    }

    /// The same after what lies far off the best of the lines has been struck.
    fn profile_without_slips(&self, start: Strokes) -> Option<(Self, Profile)> {
        let profile = self.profile(start)?;
        let Some((broken_at, bent)) = profile.best() else { return Some((self.clone(), profile)) };
        let curve = |bent: &Vector4<f64>, place: usize| self.count(bent, broken_at, self.swum[place]);
        let (_, data) = robust::strike(bent, &self.bent_prior(), STROKES_OFF, &self.data, curve)?;
        if data == self.data {
            return Some((self.clone(), profile));
        }
        let left = Self { data, ..self.clone() };
        left.profile(start).map(|profile| (left, profile))
    }

    /// The quickest tempo up to which a break that matters would have been seen.
    fn held(&self) -> Option<f64> {
        let holds = |tempo: &f64| {
            let broken_at = tempo + MATTERS_WITHIN;
            let Some(bent) = self.bent(broken_at, self.prior.mean) else { return false };
            let (mut straight, mut worst) = (bent.mean, bent.mean);
            straight[3] = 0.0;
            worst[3] = bent.mean[3].max(0.0) + Z90 * libm::sqrt(bent.covariance[(3, 3)]);
            let at = |bent: &Vector4<f64>| self.count(bent, broken_at, (*tempo, 0.0)).0;
            at(&worst) - at(&straight) < 1.0
        };
        steps(self.quickest(), self.slowest() - MATTERS_WITHIN).find(holds)
    }

    /// What one fresh count tells, as a share of the inverse square of the scale: expected information of Student's t.
    fn information(scale: f64) -> f64 {
        (NU + 1.0) / (NU + 3.0) / (scale * scale)
    }

    /// The counts that would show in four of five cases that a line which holds at `tempo` does so, in the way of
    /// [`Self::held`]. Where no one tempo can, those that tell most.
    fn to_see_it_hold(&self, tempo: f64) -> CountsWanted {
        let broken_at = tempo + MATTERS_WITHIN;
        let Some(bent) = self.bent(broken_at, self.prior.mean) else {
            return CountsWanted::of(f64::INFINITY, tempo);
        };
        let straight = Vector4::new(bent.mean[0], bent.mean[1], bent.mean[2], 0.0);
        let (count, _) = self.count(&straight, broken_at, (tempo, 0.0));
        // The bend that costs a stroke.
        let beyond = 1.0 / tempo - 1.0 / broken_at;
        let bend = self.line.swum * (1.0 / count - 1.0 / (count + 1.0)) / beyond;
        let missing = bent.covariance[(3, 3)] - square(bend / (Z90 + Z80));
        let choices = steps(tempo, self.slowest().max(tempo) + 0.1).map(|at| {
            let (_, gradient) = self.count(&straight, broken_at, (at, 0.0));
            let told = bent.covariance * gradient;
            (at, square(told[3]), told.dot(&gradient))
        });
        CountsWanted::fewest(missing, choices, Self::information(bent.scale), tempo)
    }

    /// The tempo at which the fewest counts bring the break within its bounds, and how many.
    fn to_know_the_break(&self, profile: &Profile) -> CountsWanted {
        let (low, tempo, high) = profile.interval();
        let wanted = profile.best().and_then(|(broken_at, bent)| {
            let covariance = self.covariance_with_break(&bent, broken_at)?;
            // The break is a rate in the model: seconds of tempo times the squared rate.
            let in_rate = |seconds: f64| square(seconds / (Z90 * tempo * tempo));
            let missing = in_rate(0.5 * (high - low)).max(covariance[(4, 4)]) - in_rate(WELL_KNOWN);
            let choices = steps(self.quickest() - MATTERS_WITHIN, self.slowest()).map(|at| {
                let gradient = self.gradient_with_break(&bent.mean, broken_at, (at, 0.0));
                let told = covariance * gradient;
                (at, square(told[4]), told.dot(&gradient))
            });
            Some(CountsWanted::fewest(missing, choices, Self::information(bent.scale), tempo))
        });
        wanted.unwrap_or(CountsWanted::of(f64::INFINITY, tempo))
    }

    /// The gradient of a count by the line, its bend, and the rate of the break.
    fn gradient_with_break(&self, bent: &Vector4<f64>, broken_at: f64, swum: (f64, f64)) -> Vector5<f64> {
        let (_, gradient) = self.count(bent, broken_at, swum);
        let beyond = swum.0 < broken_at;
        // The stroke grows by c for each stroke a second by which the break is later.
        gradient.push(if beyond { gradient[0] * bent[3] } else { 0.0 })
    }

    fn covariance_with_break(&self, bent: &Posterior<4>, broken_at: f64) -> Option<Matrix5<f64>> {
        let mut precision = Matrix5::identity() * 1e-9;
        precision.fixed_view_mut::<4, 4>(0, 0).copy_from(&self.bent_prior().precision);
        for (swum, datum) in self.swum.iter().zip(&self.data) {
            let gradient = self.gradient_with_break(&bent.mean, broken_at, *swum);
            precision += gradient * gradient.transpose() * (datum.weight * Self::information(bent.scale));
        }
        precision.cholesky().map(|cholesky| cholesky.inverse())
    }
}

impl Profile {
    fn best(&self) -> Option<(f64, Posterior<4>)> {
        let best = self.breaks.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        best.2.map(|bent| (best.0, bent))
    }

    /// Twice the log density that the best break is above the straight line.
    fn gain(&self) -> f64 {
        let best = self.breaks.iter().map(|(_, density, _)| *density).fold(self.straight, f64::max);
        2.0 * (best - self.straight)
    }

    /// The 0.1 quantile of the break, its mean, and the 0.9 quantile, all breaks held alike before. Of 900 simulated swimmers the mean is
    /// within 0.03 s of the break in 684, the median in 675, the most probable one in 651; with the volume of each fit beside its
    /// height (Laplace) the mean is so in 649.
    fn interval(&self) -> (f64, f64, f64) {
        let best = self.breaks.iter().map(|(_, density, _)| *density).fold(self.straight, f64::max);
        let shares: Vec<f64> = self.breaks.iter().map(|(_, density, _)| libm::exp(density - best)).collect();
        let whole: f64 = shares.iter().sum();
        let quantile = |wanted: f64| {
            let mut below = 0.0;
            for ((tempo, ..), share) in self.breaks.iter().zip(&shares) {
                if below + share >= wanted * whole {
                    return tempo + STEP * ((wanted * whole - below) / share - 0.5);
                }
                below += share;
            }
            self.breaks.last().map_or(f64::NAN, |(tempo, ..)| *tempo)
        };
        let mean = self.breaks.iter().zip(&shares).map(|((tempo, ..), share)| tempo * share).sum::<f64>() / whole;
        let (low, high) = (quantile(0.1), quantile(0.9));
        (low, mean.max(low).min(high), high)
    }
}

impl CountsWanted {
    /// So many, rounded up; at a tempo to the hundredth.
    fn of(counts: f64, tempo: f64) -> Self {
        let counts = libm::ceil(counts).clamp(f64::from(LEAST_WANTED), f64::from(MOST_WANTED)) as u32;
        Self { counts, tempo: Tempo::from_centis(libm::round(tempo.clamp(0.4, 2.5) * 100.0) as u64) }
    }

    /// The fewest that take `missing` from a variance, at one of some tempos, each with the square of what a count there shares
    /// with the value and with the variance of the count itself. Of a variance n counts take `shared · n i / (1 + n i own)`
    /// (Sherman & Morrison 1950), with the `information` i of one. Where no number takes enough, those of the tempo that takes
    /// most, up to four fifths of what it can.
    fn fewest(missing: f64, choices: impl Iterator<Item = (f64, f64, f64)>, information: f64, usual: f64) -> Self {
        let choices: Vec<_> = choices.collect();
        let needed = |(at, shared, own): &(f64, f64, f64)| {
            let gain = information * (shared - missing * own);
            (gain > 0.0).then(|| (missing.max(0.0) / gain, *at))
        };
        if let Some((counts, tempo)) = choices.iter().filter_map(needed).min_by(|a, b| a.0.total_cmp(&b.0)) {
            return Self::of(counts, tempo);
        }
        let most = choices.iter().max_by(|a, b| (a.1 / a.2).total_cmp(&(b.1 / b.2)));
        most.map_or(Self::of(f64::INFINITY, usual), |(at, _, own)| {
            Self::of((4.0 / (information * own)).min(MOST_BLIND), *at)
        })
    }
}

/// Tempos from one to another, to the hundredth and both included.
fn steps(from: f64, to: f64) -> impl Iterator<Item = f64> {
    let centis = |tempo: f64| libm::round(tempo.clamp(0.4, 2.5) * 100.0) as u64;
    (centis(from)..=centis(to)).map(|centis| centis as f64 / 100.0)
}

fn square(value: f64) -> f64 {
    value * value
}

#[cfg(test)]
mod tests;
