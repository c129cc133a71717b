//! Two ways of cueing compared on counts: which phrase holds the count lower, or a cue against none.
//!
//! Somebody looks after every practice, so an ordinary interval would sooner or later claim a difference that is not there.
//! This one holds for all looks together: the t-test whose evidence is a Bayes factor with a Gaussian prior on the difference
//! in standard deviations, by invariance a test martingale (Gönen and others 2005 for two samples; Wang & Ramdas 2023, arXiv
//! 2310.03722). It passes 1/0.05 for a difference that is not there in at most 5 of 100 swimmers, however often one looks
//! (Ville's inequality). The interval holds every difference for which it has not.
//!
//! Like is compared with like by what counts have above the line of the stroke model; a practice is one observation, since
//! all counts of a day share the day's form.

/// False claims over all looks, and the differences that the interval may miss.
const ALPHA: f64 = 0.05;
/// Variance of the prior of the difference, in deviations between practices: one such deviation is a usual difference, which is
/// where the interval is tightest. Our choice; the error rate does not depend on it.
const PRIOR_VARIANCE: f64 = 1.0;
/// Strokes a length: a smaller difference does not matter. Our choice: half of what can be counted.
pub const MATTERS: f64 = 0.5;
/// A count tells no more than so many strokes off its line, so that a miscount cannot decide.
const MOST_OFF: f64 = 2.0;
/// The deviation between practices, in strokes, before any can be seen. An assumption.
const USUAL_DEVIATION: f64 = 0.4;
/// The least that is believed: counts that agree by rounding are not exact.
const LEAST_DEVIATION: f64 = 0.1;
/// Practices to come beyond which nobody is sent.
const MOST_PRACTICES: u32 = 60;

/// One of two ways that are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cueing {
    /// The first phrase, or the lengths with the cue.
    First,
    /// The second phrase, or those without.
    Second,
}

/// How the ways alternate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CueDesign {
    /// Each practice has one of them, by lot.
    ByPractice,
    /// Each practice has both: practices with one alone are left out.
    WithinPractice,
}

/// A count under one of the ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CuedCount {
    /// The practice, by any number of its own.
    pub practice: u32,
    /// Which way.
    pub cueing: Cueing,
    /// Strokes above the line at its tempo.
    pub off: f64,
}

/// What can be said of the two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CueVerdict {
    /// This one holds the count lower.
    Lower(Cueing),
    /// No difference that matters: the interval lies within half a stroke of none.
    Same,
    /// Neither can be said yet. After so many practices more it could, if they go on as those so far; none where it would
    /// take more than 60.
    CannotTell {
        /// Practices.
        more: Option<u32>,
    },
}

/// The difference between two ways of cueing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CueComparison {
    /// Strokes a length of the first above the second; below 0 where the first holds the count lower. None before both were
    /// tried.
    pub difference: Option<f64>,
    /// The lower end of its 95 % interval for all looks together; without bound while there is little to see.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// Practices of the first and of the second; of both where they are within a practice.
    pub practices: (u32, u32),
    /// What can be said.
    pub verdict: CueVerdict,
}

impl CueComparison {
    /// Compares counts of two ways.
    pub fn of(design: CueDesign, counts: &[CuedCount]) -> Self {
        let days = Days::of(counts);
        let sample = match design {
            CueDesign::ByPractice => Sample::of_two(&days.first, &days.second),
            CueDesign::WithinPractice => Sample::of_pairs(&days.both),
        };
        let (low, high) = match (sample.difference, sample.half_width()) {
            (Some(difference), Some(half)) => (difference - half, difference + half),
            _ => (f64::NEG_INFINITY, f64::INFINITY),
        };
        let verdict = if high < 0.0 {
            CueVerdict::Lower(Cueing::First)
        } else if low > 0.0 {
            CueVerdict::Lower(Cueing::Second)
        } else if low >= -MATTERS && high <= MATTERS {
            CueVerdict::Same
        } else {
            CueVerdict::CannotTell { more: (1..=MOST_PRACTICES).find(|more| sample.after(*more).settles()) }
        };
        Self { difference: sample.difference, low, high, practices: sample.practices, verdict }
    }
}

/// The mean of each practice: of those with one way, and the difference in those with both.
struct Days {
    first: Vec<f64>,
    second: Vec<f64>,
    both: Vec<f64>,
}

impl Days {
    fn of(counts: &[CuedCount]) -> Self {
        let mut practices: Vec<u32> = counts.iter().map(|count| count.practice).collect();
        practices.sort_unstable();
        practices.dedup();
        let mut days = Self { first: Vec::new(), second: Vec::new(), both: Vec::new() };
        for practice in practices {
            let of = |cueing| {
                let counts = counts.iter().filter(|count| count.practice == practice && count.cueing == cueing);
                mean(&counts.map(|count| count.off.clamp(-MOST_OFF, MOST_OFF)).collect::<Vec<_>>())
            };
            let (first, second) = (of(Cueing::First), of(Cueing::Second));
            days.both.extend(first.zip(second).map(|(first, second)| first - second));
            days.first.extend(first);
            days.second.extend(second);
        }
        days
    }
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Squares about the mean, summed.
fn squares(values: &[f64]) -> f64 {
    let middle = mean(values).unwrap_or(0.0);
    values.iter().map(|value| (value - middle) * (value - middle)).sum()
}

/// What a t-test knows of the practices.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Sample {
    difference: Option<f64>,
    /// Standard deviation of one practice.
    deviation: f64,
    practices: (u32, u32),
    paired: bool,
}

impl Sample {
    fn of_two(first: &[f64], second: &[f64]) -> Self {
        let practices = (first.len() as u32, second.len() as u32);
        let difference = mean(first).zip(mean(second)).map(|(first, second)| first - second);
        let sample = Self { difference, deviation: USUAL_DEVIATION, practices, paired: false };
        sample.with(squares(first) + squares(second))
    }

    fn of_pairs(differences: &[f64]) -> Self {
        let practices = (differences.len() as u32, differences.len() as u32);
        let sample = Self { difference: mean(differences), deviation: USUAL_DEVIATION, practices, paired: true };
        sample.with(squares(differences))
    }

    fn with(self, squares: f64) -> Self {
        let freedom = self.freedom();
        let deviation =
            if freedom > 0.0 { libm::sqrt(squares / freedom).max(LEAST_DEVIATION) } else { USUAL_DEVIATION };
        Self { deviation, ..self }
    }

    fn freedom(&self) -> f64 {
        let (first, second) = (f64::from(self.practices.0), f64::from(self.practices.1));
        if self.paired { first - 1.0 } else { first + second - 2.0 }
    }

    /// Practices of one sample whose mean would be known as well as the difference is.
    fn size(&self) -> f64 {
        let (first, second) = (f64::from(self.practices.0), f64::from(self.practices.1));
        if self.paired { first } else { first * second / (first + second).max(1.0) }
    }

    fn half_width(&self) -> Option<f64> {
        let size = self.size();
        Some(bound(size, self.freedom())? * self.deviation / libm::sqrt(size))
    }

    /// After so many practices more that go on like those so far; the way that had fewer comes next.
    fn after(&self, more: u32) -> Self {
        let (mut first, mut second) = self.practices;
        for _ in 0..more {
            if self.paired {
                (first, second) = (first + 1, second + 1);
            } else if first <= second {
                first += 1;
            } else {
                second += 1;
            }
        }
        Self { practices: (first, second), ..*self }
    }

    /// Whether a difference would be claimed, or that there is none that matters.
    fn settles(&self) -> bool {
        let difference = self.difference.unwrap_or(0.0).abs();
        self.half_width().is_some_and(|half| half < difference || difference + half <= MATTERS)
    }
}

/// How large |t| must be before the evidence passes 1 / [`ALPHA`], with `size` as in [`Sample::size`]: the Bayes factor
/// `(1 + n g)^(−1/2) · [(1 + t²/f) / (1 + t²/(f (1 + n g)))]^((f + 1)/2)` solved for t. `None` where no t is large enough.
fn bound(size: f64, freedom: f64) -> Option<f64> {
    let ratio = 1.0 + size * PRIOR_VARIANCE;
    let needed = libm::pow(libm::sqrt(ratio) / ALPHA, 2.0 / (freedom + 1.0));
    (freedom >= 1.0 && needed < ratio).then(|| libm::sqrt(freedom * (needed - 1.0) / (1.0 - needed / ratio)))
}

#[cfg(test)]
mod tests;
