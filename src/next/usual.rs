//! The relaxed tempo: that of last time, until the swimmer's own lies a step away that can be heard.

use super::past;
use crate::notebook::entry::{LoggedPractice, Measure, ValueSource};
use crate::units::calendar::Day;
use crate::units::time::Tempo;

/// So many hundredths of a second off it moves, and by so many. Our choice: the step of a ladder, which everybody hears. Less would
/// leave the counts at it behind for nothing.
pub const STEP: u64 = 5;
/// Tempos that were tapped without a beat tell the tempo by feel where there are so many. Our choice: a practice or two.
const ENOUGH: usize = 4;
/// They are looked at for so many days. Our choice, as the review does.
const DAYS: i32 = 28;
/// So many repeats of one set at a tempo are no ladder.
const SAME: usize = 3;

/// The relaxed tempo of a practice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RelaxedFinding {
    /// That of last time; none where there was none.
    pub from: Option<Tempo>,
    /// The swimmer's own.
    pub own: Tempo,
    /// The one that follows if nothing else changes.
    pub to: Tempo,
}

impl RelaxedFinding {
    /// Whether it is to move.
    pub fn moves(&self) -> bool {
        self.from.is_some_and(|from| !past::is_same(from, self.to))
    }

    /// The tempo where something else changes.
    pub fn stays(&self) -> Tempo {
        self.from.unwrap_or(self.to)
    }
}

/// The relaxed tempo that follows from the practices. `fitted` is the swimmer's tempo by feel as profile and counts have it: that of a
/// stated time follows the counts.
pub fn next_relaxed(practices: &[LoggedPractice], fitted: Tempo, today: Day) -> RelaxedFinding {
    let own = past::to_hundredth(felt(practices, today).unwrap_or(fitted.as_f64()));
    let from = practices.iter().rev().find_map(relaxed);
    let to = match from {
        None => own.centis(),
        Some(from) if own.centis() >= from.centis() + STEP => from.centis() + STEP,
        Some(from) if own.centis() + STEP <= from.centis() => from.centis() - STEP,
        Some(from) => from.centis(),
    };
    RelaxedFinding { from, own, to: Tempo::from_centis(to) }
}

/// The slowest tempo that several repeats of one set had.
fn relaxed(practice: &LoggedPractice) -> Option<Tempo> {
    let mut found: Vec<u64> = Vec::new();
    for set in &practice.sets {
        let whole = set.repeats.iter().filter(|one| one.may_be_swum() && one.plain.count() == one.lengths.max(1));
        let mut tempos: Vec<u64> =
            whole.filter_map(|one| one.tempo).map(|tempo| past::to_hundredth(tempo).centis()).collect();
        tempos.sort_unstable();
        found.extend(tempos.windows(SAME).filter(|same| same.first() == same.last()).filter_map(|same| same.first()));
    }
    found.into_iter().max().map(Tempo::from_centis)
}

/// The middle of the tempos that were tapped without a beat, in seconds.
fn felt(practices: &[LoggedPractice], today: Day) -> Option<f64> {
    let lately = practices.iter().filter(|practice| today.days_since(practice.day) <= DAYS);
    let unbeaten = lately
        .flat_map(LoggedPractice::swum)
        .filter(|one| one.tempo.is_none() && !one.test && one.plain.count() == one.lengths.max(1));
    let tempos: Vec<f64> = unbeaten
        .flat_map(|one| &one.observations)
        .filter(|observed| observed.measure == Measure::Tempo && observed.source == ValueSource::Tapped)
        .map(|observed| observed.value)
        .collect();
    past::median(&tempos).filter(|_| tempos.len() >= ENOUGH)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next::tests::{SwumPractice, day};
    use crate::notebook::entry::Observation;

    fn at(centis: u64) -> Tempo {
        Tempo::from_centis(centis)
    }

    #[test]
    fn it_moves_by_a_step_that_is_heard() {
        let swum = |on: u8, tempo: f64| {
            let ladder = SwumPractice::on(on).tempo(tempo + 0.1).tempo(tempo + 0.05);
            ladder.tempo(tempo).tempo(tempo).tempo(tempo).tempo(1.0).tempo(1.0).tempo(1.0).done()
        };
        let next = |practices: &[LoggedPractice], own: u64| next_relaxed(practices, at(own), day(9)).to.centis();
        assert_eq!(next(&[], 121), 121);
        let practices = [swum(1, 1.30), swum(3, 1.21)];
        assert_eq!((next(&practices, 117), next(&practices, 125)), (121, 121), "nobody hears that");
        assert_eq!((next(&practices, 116), next(&practices, 140), next(&practices, 90)), (116, 126, 116));
        assert!(
            !next_relaxed(&practices, at(117), day(9)).moves() && next_relaxed(&practices, at(116), day(9)).moves()
        );
    }

    #[test]
    fn what_was_tapped_without_a_beat_goes_before_what_is_fitted() {
        let felt = |tempos: &[f64]| {
            let mut practice = SwumPractice::on(1).whole(100.0).tempo(1.2).done();
            practice.sets[0].repeats[0].observations = tempos
                .iter()
                .map(|value| Observation {
                    measure: Measure::Tempo,
                    length: None,
                    value: *value,
                    source: ValueSource::Tapped,
                })
                .collect();
            next_relaxed(&[practice], at(121), day(9)).own.centis()
        };
        assert_eq!((felt(&[1.3; 3]), felt(&[1.3; 4])), (121, 130));
        assert_eq!(felt(&[1.3, 1.1, 1.28, 1.32, 1.3]), 130);
    }
}
