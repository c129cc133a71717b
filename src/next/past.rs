//! What the practices before say, one question each.

use crate::notebook::entry::{LoggedPractice, LoggedRepeat, Measure, ValueSource};
use crate::units::calendar::Day;
use crate::units::time::Tempo;
use std::collections::BTreeMap;

/// Two tempos are one where they are written alike, to the hundredth.
pub fn is_same(one: Tempo, other: Tempo) -> bool {
    one.centis() == other.centis()
}

/// A tempo in seconds, to the hundredth, as people write it.
pub fn to_hundredth(seconds: f64) -> Tempo {
    Tempo::from_centis(libm::round(seconds.clamp(0.4, 2.5) * 100.0) as u64)
}

/// The tempos that were heard over whole crawl.
fn tempos(practice: &LoggedPractice) -> impl Iterator<Item = Tempo> {
    let whole = practice.swum().filter(|repeat| repeat.plain.count() == repeat.lengths.max(1));
    whole.filter_map(|repeat| repeat.tempo).map(to_hundredth)
}

/// The quickest tempo of a practice that has a range of them; one tempo alone is no range.
pub fn edge(practice: &LoggedPractice) -> Option<Tempo> {
    let quickest = tempos(practice).min_by_key(|tempo| tempo.centis())?;
    tempos(practice).any(|tempo| !is_same(tempo, quickest)).then_some(quickest)
}

/// The last practice that has a range of tempos.
pub fn last_with_range(practices: &[LoggedPractice]) -> Option<&LoggedPractice> {
    practices.iter().rev().find(|practice| edge(practice).is_some())
}

/// The counts at a tempo, in their order, guesses left out.
pub fn counts_at<'p>(practices: impl IntoIterator<Item = &'p LoggedPractice>, tempo: Tempo) -> Vec<f64> {
    let of = |repeat: &LoggedRepeat| {
        let proven = || repeat.observations.iter().filter(|observed| observed.source != ValueSource::Guess);
        let own = proven().rfind(|observed| observed.measure == Measure::Tempo && observed.length.is_none());
        let heard = own.map(|observed| observed.value).or(repeat.tempo);
        let counts = proven().filter(|observed| {
            let plain = observed.length.is_some_and(|length| repeat.plain.contains(length));
            observed.measure == Measure::Count && plain
        });
        let at = heard.is_some_and(|heard| is_same(to_hundredth(heard), tempo));
        counts.map(|observed| observed.value).filter(|_| at).collect::<Vec<_>>()
    };
    practices.into_iter().flat_map(LoggedPractice::swum).flat_map(of).collect()
}

/// The focus of a practice: the phrase that was rehearsed for the most strokes.
pub fn focus(practice: &LoggedPractice) -> Option<&str> {
    let mut strokes: BTreeMap<&str, u32> = BTreeMap::new();
    for (phrase, rehearsed) in practice.swum().flat_map(|repeat| &repeat.rehearsed) {
        *strokes.entry(phrase).or_default() += rehearsed;
    }
    strokes
        .into_iter()
        .max_by_key(|(_, strokes)| *strokes)
        .filter(|(_, strokes)| *strokes > 0)
        .map(|(phrase, _)| phrase)
}

/// The last day on which a phrase was rehearsed.
pub fn last_touched(practices: &[LoggedPractice], phrase: &str) -> Option<Day> {
    let touched = |practice: &&LoggedPractice| {
        practice.swum().flat_map(|repeat| &repeat.rehearsed).any(|(known, strokes)| known == phrase && *strokes > 0)
    };
    practices.iter().rev().find(touched).map(|practice| practice.day)
}

/// The mean of some values; none where there are none.
pub fn mean(values: impl IntoIterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.into_iter().fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

/// The middle of some values, of an even number of them the mean of the two in the middle.
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 {
        sorted.get(middle).copied()
    } else {
        mean(sorted.get(middle.checked_sub(1)?..=middle)?.to_vec())
    }
}

/// The last of a slice, so many at most.
pub fn last<T>(all: &[T], most: usize) -> &[T] {
    all.get(all.len().saturating_sub(most)..).unwrap_or_default()
}
