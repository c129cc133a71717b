//! Regression that a miscount cannot carry away: Student's t for the residuals, a Gaussian prior for the parameters.
//!
//! The most probable parameters are found by iteratively reweighted least squares, which for Student's t is the EM algorithm
//! (Dempster, Laird & Rubin 1980; Lange, Little & Taylor 1989, both from memory): a residual `r` of scale `s` weighs
//! `(nu + 1) / (nu + r² / s²)`. A curved model is made straight at each step (Gauss-Newton).

use nalgebra::{Const, DimMin, SMatrix, SVector};

/// Degrees of freedom of the residuals, fixed: a few dozen counts cannot tell them. Four keep about nine tenths of what good
/// data tell and let a residual of ten scales weigh a twentieth (Lange, Little & Taylor 1989 take 4 too; from memory).
pub(super) const NU: f64 = 4.0;
/// Steps after which a fit stops in any case; 5 to 30 are usual.
const MOST_STEPS: usize = 200;

/// Scales beyond which a value is struck: of right values of Student's t with 4 degrees of freedom 4 in 1,000 lie there.
const STRUCK: f64 = 6.0;
/// Times that values are struck; one or two are usual.
const MOST_STRIKES: usize = 4;

/// What is held of the parameters before the data.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Prior<const P: usize> {
    pub mean: SVector<f64, P>,
    /// The inverse of the covariance.
    pub precision: SMatrix<f64, P, P>,
}

/// What is held of the scale of the residuals before the data.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct ScalePrior {
    pub usual: f64,
    /// As if so many residuals of the usual scale had been seen.
    pub seen: f64,
    /// It is never smaller.
    pub least: f64,
}

/// A measured value and its weight, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Datum {
    pub value: f64,
    pub weight: f64,
}

/// What the data have made of the prior.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Posterior<const P: usize> {
    pub mean: SVector<f64, P>,
    pub covariance: SMatrix<f64, P, P>,
    /// Scale of Student's t.
    pub scale: f64,
    /// The logarithm of the posterior's density but for a constant, so that models of the same data can be compared.
    pub log_density: f64,
}

/// Sums over the data at some parameters and scale.
struct Sums<const P: usize> {
    information: SMatrix<f64, P, P>,
    pull: SVector<f64, P>,
    squares: f64,
    weight: f64,
}

impl<const P: usize> Sums<P>
where
    Const<P>: DimMin<Const<P>, Output = Const<P>>,
{
    fn of(
        data: &[Datum],
        at: &SVector<f64, P>,
        scale: f64,
        curve: &impl Fn(&SVector<f64, P>, usize) -> (f64, SVector<f64, P>),
    ) -> Self {
        let mut sums = Self { information: SMatrix::zeros(), pull: SVector::zeros(), squares: 0.0, weight: 0.0 };
        for (place, datum) in data.iter().enumerate() {
            let (expected, gradient) = curve(at, place);
            let residual = datum.value - expected;
            let weight = datum.weight * (NU + 1.0) / (NU + residual * residual / (scale * scale));
            sums.information += gradient * gradient.transpose() * (weight / (scale * scale));
            sums.pull += gradient * (weight * residual / (scale * scale));
            sums.squares += weight * residual * residual;
            sums.weight += datum.weight;
        }
        sums
    }
}

/// Fits `curve`, which gives the expected value of a datum and its gradient by the parameters, beginning at `start`: Student's t
/// can have several summits, and this one climbs the nearest. `None` where the prior is no prior (its precision is not positive
/// definite) or the curve leaves the numbers.
pub(super) fn fit<const P: usize>(
    prior: &Prior<P>,
    start: SVector<f64, P>,
    scale_prior: ScalePrior,
    data: &[Datum],
    curve: impl Fn(&SVector<f64, P>, usize) -> (f64, SVector<f64, P>),
) -> Option<Posterior<P>>
where
    Const<P>: DimMin<Const<P>, Output = Const<P>>,
{
    let (mut mean, mut scale) = (start, scale_prior.usual);
    for _ in 0..MOST_STEPS {
        let sums = Sums::of(data, &mean, scale, &curve);
        let precision = prior.precision + sums.information;
        let step = precision.cholesky()?.solve(&(sums.pull + prior.precision * (prior.mean - mean)));
        mean += step;
        let before = scale;
        scale = scale_after(scale_prior, sums.squares, sums.weight);
        // In units of the posterior's own width.
        if step.dot(&(precision * step)) < 1e-12 && (scale - before).abs() < 1e-7 * scale {
            break;
        }
    }
    let sums = Sums::of(data, &mean, scale, &curve);
    // The weights of the EM algorithm overstate what the data tell by (nu + 3) / (nu + 1): expected information of
    // Student's t, Lange, Little & Taylor 1989.
    let known = sums.information * ((NU + 1.0) / (NU + 3.0));
    let covariance = (prior.precision + known).cholesky()?.inverse();
    let posterior =
        Posterior { mean, covariance, scale, log_density: log_density(prior, scale_prior, data, &mean, scale, &curve) };
    posterior.log_density.is_finite().then_some(posterior)
}

/// Strikes what lies more than [`STRUCK`] scales off and fits what is left again, until nothing more is struck: Student's t
/// weighs a wild value little, yet lets it widen the scale, and with few data that is felt. Returns the fit and the data that
/// are left, each struck one with weight 0.
pub(super) fn strike<const P: usize>(
    first: Posterior<P>,
    prior: &Prior<P>,
    scale_prior: ScalePrior,
    data: &[Datum],
    curve: impl Fn(&SVector<f64, P>, usize) -> (f64, SVector<f64, P>),
) -> Option<(Posterior<P>, Vec<Datum>)>
where
    Const<P>: DimMin<Const<P>, Output = Const<P>>,
{
    let (mut fitted, mut left) = (first, data.to_vec());
    for _ in 0..MOST_STRIKES {
        let wild = |(place, datum): (usize, &Datum)| {
            let off = (datum.value - curve(&fitted.mean, place).0).abs();
            (datum.weight > 0.0 && off > STRUCK * fitted.scale).then_some(place)
        };
        let struck: Vec<usize> = left.iter().enumerate().filter_map(wild).collect();
        if struck.is_empty() {
            break;
        }
        for place in struck {
            left[place].weight = 0.0;
        }
        fitted = fit(prior, fitted.mean, scale_prior, &left, &curve)?;
    }
    Some((fitted, left))
}

fn scale_after(prior: ScalePrior, squares: f64, weight: f64) -> f64 {
    let square = (squares + prior.seen * prior.usual * prior.usual) / (weight + prior.seen);
    libm::sqrt(square).max(prior.least)
}

fn log_density<const P: usize>(
    prior: &Prior<P>,
    scale_prior: ScalePrior,
    data: &[Datum],
    mean: &SVector<f64, P>,
    scale: f64,
    curve: &impl Fn(&SVector<f64, P>, usize) -> (f64, SVector<f64, P>),
) -> f64 {
    let likelihood: f64 = data
        .iter()
        .enumerate()
        .map(|(place, datum)| {
            let residual = (datum.value - curve(mean, place).0) / scale;
            -datum.weight * (libm::log(scale) + 0.5 * (NU + 1.0) * libm::log1p(residual * residual / NU))
        })
        .sum();
    let off = mean - prior.mean;
    let usual = scale_prior.usual / scale;
    likelihood - 0.5 * off.dot(&(prior.precision * off)) - scale_prior.seen * (libm::log(scale) + 0.5 * usual * usual)
}
