//! A swimmer as the notebook knows them: by the profile in it, by their counts and their timed tests.

use super::entry::{LoggedPractice, NotedSwimmer};
use super::evidence::{self, NotedCount, NotedTrial};
use super::fault::NotebookFault;
use super::history::Wanted;
use super::store::Notebook;
use crate::diag::Sources;
use crate::swimmer::fit::breaking::Breaking;
use crate::swimmer::fit::critical::{CriticalSpeed, NoCriticalSpeed, TimeTrial};
use crate::swimmer::fit::lengths::StrokesBefore;
use crate::swimmer::{Swimmer, profile};
use crate::units::calendar::Day;
use crate::units::swim::PoolLength;
use crate::units::time::Tempo;

/// Practices of so many days are looked at: what is older weighs next to nothing. Our choice.
const LOOKED_AT: i32 = 365;
/// Tests of the last so many days make the critical speed: who swam the older ones was another swimmer. Our choice.
const TESTS: i32 = 90;
/// How wide what is known without counts is, as a share of a stroke: by a profile, and of nobody in particular. Assumptions.
const WIDTHS: (f64, f64) = (0.06, 0.15);

/// What is known without their counts. A profile was read before it was kept; where a newer program kept one that this one cannot
/// read, it is as if there were none, and that is among what is assumed.
pub fn without_counts(noted: &NotedSwimmer) -> Swimmer {
    let mut sources = Sources::new();
    let source = noted.profile.as_ref().map(|text| sources.add(format!("the profile of {}", noted.name), text.clone()));
    let name = noted.name.clone();
    match source.map(|source| profile::parse(source, &sources).0) {
        Some(Some(swimmer)) => Swimmer { name: Some(name), ..swimmer },
        found => {
            let why = if found.is_some() { "a profile that cannot be read" } else { "no profile" };
            let sentence =
                format!("the notebook has {why} of {name}: what it does not know is assumed of somebody new to crawl");
            let assumptions = vec![sentence, Swimmer::effort_assumption()];
            Swimmer { name: Some(name), assumptions, ..Swimmer::assumed() }
        }
    }
}

/// What is held of their strokes before their counts are looked at: a profile is surer than what is assumed.
pub fn strokes_before(noted: &NotedSwimmer) -> StrokesBefore {
    let Swimmer { model, usual, .. } = without_counts(noted);
    StrokesBefore { model, usual, width: if noted.profile.is_some() { WIDTHS.0 } else { WIDTHS.1 } }
}

/// The swimmer as they swim in `pool`, seen on `today`.
///
/// # Errors
/// Where the notebook cannot be read.
pub fn swimmer(
    notebook: &Notebook,
    noted: &NotedSwimmer,
    pool: PoolLength,
    today: Day,
) -> Result<Swimmer, NotebookFault> {
    let wanted = Wanted { swimmer: Some(noted.name.clone()), since: today.plus_days(-LOOKED_AT), ..Wanted::default() };
    let practices: Vec<LoggedPractice> =
        notebook.practices(&wanted)?.into_iter().map(|(_, practice)| practice).collect();
    Ok(of_practices(noted, &practices, pool, today))
}

/// The same of practices that have been read.
pub fn of_practices(noted: &NotedSwimmer, practices: &[LoggedPractice], pool: PoolLength, today: Day) -> Swimmer {
    let known = without_counts(noted);
    let noted_counts = evidence::counts(practices, today);
    let usual = noted.profile.is_none().then(|| relaxed(&noted_counts)).flatten();
    let usual = usual.unwrap_or(known.usual);
    let before = StrokesBefore { usual, ..strokes_before(noted) };
    let counts: Vec<_> = noted_counts.iter().map(|noted| noted.count).collect();
    let known = known.with_usual(usual).with_counts(&before, pool, &counts);
    match critical(practices, today) {
        Ok(critical) => known.with_critical(critical.speed),
        Err(_) => known,
    }
}

/// The tempo at which the counts in `pool` leave their line, or what it would take to know; none without a count there.
pub fn breaking(noted: &NotedSwimmer, practices: &[LoggedPractice], pool: PoolLength, today: Day) -> Option<Breaking> {
    let counts: Vec<_> = evidence::counts(practices, today)
        .into_iter()
        .map(|noted| noted.count)
        .filter(|count| count.pool() == pool)
        .collect();
    (!counts.is_empty()).then(|| Breaking::of(&strokes_before(noted), pool, &counts))?
}

/// The slowest tempo that was counted at twice: nobody goes slower than relaxed for long.
fn relaxed(counts: &[NotedCount]) -> Option<Tempo> {
    let mut tempos: Vec<u64> =
        counts.iter().filter_map(|noted| Some(libm::round(noted.tempo? * 100.0) as u64)).collect();
    tempos.sort_unstable();
    let twice = tempos.windows(2).rev().find(|pair| matches!(pair, [one, other] if one == other))?;
    Some(Tempo::from_millis(twice.first()? * 10))
}

/// The critical speed by the tests of the last three months, the best of each distance.
///
/// # Errors
/// Why there is none.
pub fn critical(practices: &[LoggedPractice], today: Day) -> Result<CriticalSpeed, NoCriticalSpeed> {
    let mut best: Vec<TimeTrial> = Vec::new();
    let recent = |trial: &NotedTrial| trial.test && today.days_since(trial.day) <= TESTS;
    for NotedTrial { metres, seconds, .. } in evidence::trials(practices).into_iter().filter(recent) {
        match best.iter_mut().find(|known| (known.metres - metres).abs() < 0.5) {
            Some(known) => known.seconds = known.seconds.min(seconds),
            None => best.push(TimeTrial { metres, seconds }),
        }
    }
    CriticalSpeed::of(&best)
}
