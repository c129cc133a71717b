//! What has come of two phrases that take turns: when they stop, and which one goes on.

use super::focus::PRACTICES;
use super::past;
use crate::notebook::PhrasePair;
use crate::notebook::entry::LoggedPractice;
use crate::notebook::evidence::{self, NotedCount};
use crate::review::sides::first_against_second;
use crate::swimmer::fit::compare::{CueVerdict, Cueing};
use crate::swimmer::fit::lengths::{FittedStrokes, StrokesBefore};

/// After so many practices two phrases that cannot be told apart take turns no more. Our choice: two months at three a week; a
/// difference of a stroke, with days that differ by 0.4 strokes, is found after 8 to 14.
pub const MOST: usize = 24;

/// How two phrases stand.
#[derive(Clone, Debug, PartialEq)]
pub enum PairVerdict {
    /// They take turns.
    Turns,
    /// This one holds the count lower.
    Lower {
        /// The phrase, by its id.
        phrase: String,
        /// By so many strokes a length, the interval for all looks together.
        by: (f64, f64),
    },
    /// No difference that matters: so many strokes at most.
    Same {
        /// Strokes a length.
        within: f64,
    },
    /// Nobody can tell after [`MOST`] practices.
    CannotTell {
        /// A difference of so many strokes would have shown; none where there were too few counts for any.
        seen: Option<f64>,
    },
}

/// A comparison, and how it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgedPair {
    /// The phrases.
    pub pair: PhrasePair,
    /// How they stand. What was decided once stays so.
    pub verdict: PairVerdict,
    /// After how many practices of the two it was decided, or how many there are.
    pub after: usize,
    /// How many practices there have been since it was decided.
    pub since: usize,
    /// How many of those had the phrase that goes on as their focus.
    pub gone_on: usize,
}

impl JudgedPair {
    /// Judges after each practice, as a swimmer looks each time; the first verdict stands. `before` is what was known of the strokes
    /// without counts.
    pub fn of(pair: &PhrasePair, practices: &[LoggedPractice], before: &StrokesBefore) -> Self {
        let is_either = |practice: &LoggedPractice| {
            practice.day >= pair.begun
                && past::focus(practice).is_some_and(|focus| focus == pair.first || focus == pair.second)
        };
        let swum: Vec<usize> = (0..practices.len()).filter(|at| practices.get(*at).is_some_and(is_either)).collect();
        let found = (1..=MOST).zip(&swum).find_map(|(after, at)| {
            let verdict = verdict(pair, practices.get(..=*at)?, before, after == MOST);
            (verdict != PairVerdict::Turns).then_some((verdict, after, *at))
        });
        let Some((verdict, after, at)) = found else {
            return Self { pair: pair.clone(), verdict: PairVerdict::Turns, after: swum.len(), since: 0, gone_on: 0 };
        };
        let later = practices.get(at + 1..).unwrap_or_default();
        let goes_on = |practice: &&LoggedPractice| match &verdict {
            PairVerdict::Lower { phrase, .. } => past::focus(practice) == Some(phrase),
            _ => false,
        };
        let gone_on = later.iter().filter(goes_on).count();
        Self { pair: pair.clone(), after, since: later.len(), gone_on, verdict }
    }

    /// The phrase that goes on, if one does: in place of both from now on.
    pub fn lower(&self) -> Option<&str> {
        match &self.verdict {
            PairVerdict::Lower { phrase, .. } => Some(phrase),
            _ => None,
        }
    }

    /// Whether the phrase that goes on has not yet had the practices of a focus since.
    pub fn is_fresh(&self) -> bool {
        self.lower().is_some() && self.gone_on < PRACTICES
    }

    /// Whether what was decided is still news.
    pub fn is_news(&self) -> bool {
        self.verdict != PairVerdict::Turns && self.since < PRACTICES
    }
}

/// How they stand after the last of these practices.
fn verdict(pair: &PhrasePair, practices: &[LoggedPractice], before: &StrokesBefore, last: bool) -> PairVerdict {
    let cannot = |seen| if last { PairVerdict::CannotTell { seen } } else { PairVerdict::Turns };
    let Some(today) = practices.last().map(|practice| practice.day) else { return cannot(None) };
    let noted = evidence::counts(practices, today);
    let counts: Vec<_> = noted.iter().map(|noted| noted.count).collect();
    let pool = counts.last().map(|count| count.pool());
    let Some(fitted) = pool.and_then(|pool| FittedStrokes::fit(before, pool, &counts)) else { return cannot(None) };
    let here: Vec<&NotedCount> = noted.iter().filter(|noted| Some(noted.count.pool()) == pool).collect();
    let found = first_against_second(&here, &fitted, pair).found;
    match found.verdict {
        CueVerdict::Lower(Cueing::First) => {
            PairVerdict::Lower { phrase: pair.first.clone(), by: (-found.high, -found.low) }
        }
        CueVerdict::Lower(Cueing::Second) => {
            PairVerdict::Lower { phrase: pair.second.clone(), by: (found.low, found.high) }
        }
        CueVerdict::Same => PairVerdict::Same { within: found.low.abs().max(found.high.abs()) },
        CueVerdict::CannotTell { .. } => {
            let half = 0.5 * (found.high - found.low);
            cannot(Some(half).filter(|half| half.is_finite()))
        }
    }
}
