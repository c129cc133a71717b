//! Three invented swimmers, and what becomes of a season: what `next` writes is swum by a true stroke, logged, and leads to what it
//! writes next.

use super::super::compose::next_practice;
use super::super::order::{NextOrder, NextPractice, NoNext};
use super::super::state::PracticeKind;
use super::super::verdict::JudgedPair;
use crate::chance::SplitMix;
use crate::diag::{Sources, Span, Spanned};
use crate::notebook::entry::{LoggedPractice, Measure, NotedSwimmer, Observation, ScriptCopy, SwimState, ValueSource};
use crate::notebook::known::{breaking, of_practices, strokes_before};
use crate::notebook::outline::Outline;
use crate::notebook::{Notebook, OpenFor, PhrasePair, Wanted};
use crate::pack::library::Library;
use crate::pack::load::{self, Search};
use crate::script::quantity::swim;
use crate::swimmer::model::StrokeModel;
use crate::units::calendar::Day;
use crate::units::swim::PoolLength;

/// How long a practice may take.
pub const MINUTES: u32 = 40;

/// About a normal one: the sum of twelve (variance 1).
fn normal(chance: &mut SplitMix) -> f64 {
    (0..12).map(|_| share(chance)).sum::<f64>() - 6.0
}

/// Even in 0 to 1.
fn share(chance: &mut SplitMix) -> f64 {
    chance.bits() as f64 / u64::MAX as f64
}

/// Somebody as they truly are.
pub struct Invented {
    pub name: &'static str,
    pub hundred: i64,
    pub pack: &'static str,
    /// Where; the points are of 25 m.
    pub pool: &'static str,
    /// True points: (tempo, count) at the beginning.
    pub points: [(f64, f64); 2],
    /// Standard deviation of a count before it is rounded.
    pub uneven: f64,
    /// Breathes to the right in the easy start, whatever is asked for.
    pub one_sided: bool,
    /// After so many practices a fortnight off, and after so many a sore shoulder.
    pub away: Option<usize>,
    pub sore: Option<usize>,
    /// Two phrases that are compared from the second practice on, and how many strokes more a length has with the second.
    pub compared: Option<(&'static str, &'static str, f64)>,
}

/// The three.
pub const INVENTED: [Invented; 3] = [
    Invented {
        name: "Runa Falk",
        hundred: 175,
        pack: "first-lengths",
        pool: "25 m",
        points: [(1.40, 26.0), (1.10, 29.5)],
        uneven: 0.9,
        one_sided: false,
        away: None,
        sore: None,
        compared: None,
    },
    Invented {
        name: "Teo Brandt",
        hundred: 110,
        pack: "tempo-range",
        pool: "25 m",
        points: [(1.20, 19.5), (0.95, 22.0)],
        uneven: 0.5,
        one_sided: true,
        away: None,
        sore: None,
        compared: None,
    },
    Invented {
        name: "Mila Orsini",
        hundred: 79,
        pack: "tempo-range",
        pool: "25 m",
        points: [(1.05, 15.5), (0.80, 18.0)],
        uneven: 0.4,
        one_sided: false,
        away: Some(20),
        sore: Some(36),
        compared: None,
    },
];

/// The library of a pack.
pub fn library(pack: &str) -> Library {
    let mut sources = Sources::new();
    let source = sources.add("pack", pack);
    let name = Spanned::new(pack.to_owned(), Span::new(source, 0, pack.len() as u32));
    let (library, problems) = load::open(&Search::default(), Some(&name), &mut sources);
    assert!(problems.is_empty(), "{problems:?}");
    library
}

/// What came of a season.
pub struct Season {
    pub practices: Vec<LoggedPractice>,
    pub written: Vec<NextPractice>,
    pub days: Vec<Day>,
}

/// A season of so many practices. `each` sees every script before it is swum, with the practices before it, and says whether to go on.
pub fn season(
    of: &Invented,
    count: usize,
    mut each: impl FnMut(usize, &NextPractice, &[LoggedPractice], &Library) -> bool,
) -> Season {
    let folder = tempfile::tempdir().unwrap();
    let mut notebook = Notebook::open(&folder.path().join("n.sqlite"), OpenFor::Writing).unwrap();
    let library = library(of.pack);
    let pool = swim::pool(of.pool).unwrap();
    let profile =
        format!("lengthwise-profile: 1\npool: {}\nhundred: {}:{:02}\n", of.pool, of.hundred / 60, of.hundred % 60);
    let noted = NotedSwimmer { name: of.name.into(), profile: Some(profile) };
    let mut chance = SplitMix(of.hundred as u64);
    let (mut today, mut days, mut written) = (Day::parse("2026-01-05").unwrap(), Vec::new(), Vec::new());
    let wanted = Wanted { swimmer: Some(of.name.into()), ..Wanted::default() };
    while written.len() < count {
        let number = written.len();
        let kept = notebook.practices(&wanted).unwrap();
        let practices: Vec<LoggedPractice> = kept.into_iter().map(|(_, practice)| practice).collect();
        // As a user's `next` does.
        let swimmer = of_practices(&noted, &practices, pool, today);
        let breaking = breaking(&noted, &practices, pool, today);
        let compared = of.compared.zip(days.first()).map(|((first, second, _), begun)| {
            let pair = PhrasePair { first: first.into(), second: second.into(), begun: *begun };
            JudgedPair::of(&pair, &practices, &strokes_before(&noted))
        });
        let order = NextOrder {
            name: of.name,
            swimmer: &swimmer,
            breaking: breaking.as_ref(),
            practices: &practices,
            today,
            minutes: MINUTES,
            pool,
            pack: of.pack,
            library: &library,
            speech: None,
            compared: compared.as_ref(),
            any_load: false,
        };
        let next = match next_practice(&order) {
            // A day off, as it says.
            Err(NoNext::Load { monday, .. }) => {
                println!("{}: no practice on {today}, the load is at its bound", of.name);
                today = monday;
                continue;
            }
            next => next.unwrap_or_else(|why| panic!("{} {number}: {why}", of.name)),
        };
        if !each(number, &next, &practices, &library) {
            break;
        }
        let swum = swim(of, number, &next, today, pool, &mut chance);
        notebook.add("2026-01-05 18:00", "a practice", &[swum]).unwrap();
        written.push(next);
        days.push(today);
        // Monday, Wednesday, Friday.
        let pause = if today.days_since(today.monday()) == 4 { 3 } else { 2 };
        today = today.plus_days(pause + if of.away == Some(number) { 14 } else { 0 }).unwrap();
    }
    let practices = notebook.practices(&wanted).unwrap().into_iter().map(|(_, practice)| practice).collect();
    Season { practices, written, days }
}

/// Swims it as they truly would, and logs it.
fn swim(
    of: &Invented,
    number: usize,
    next: &NextPractice,
    day: Day,
    pool: PoolLength,
    chance: &mut SplitMix,
) -> LoggedPractice {
    // What is practised gets better: a little at all tempos, more at the quick ones.
    let better = |tempo: f64, count: f64| count * (1.0 - 0.0006 * number as f64 * (1.6 - tempo).max(0.2));
    let points = of.points.map(|(tempo, count)| (tempo, better(tempo, count)));
    let truth = StrokeModel::through(25.0, &points, 4.0, 5.0).unwrap();
    let script = ScriptCopy { name: format!("next-{number}"), text: next.script.clone() };
    let Outline { mut practice, counts, times } = Outline::of(&next.practice, script, of.name, day);
    let mut observe = |set: u32, repeat: u32, observed: Observation| {
        let set = practice.sets.iter_mut().find(|one| one.number == set).unwrap();
        set.repeats.iter_mut().find(|one| one.number == repeat).unwrap().observations.push(observed);
    };
    for asked in &counts {
        let planned = next.practice.sets().nth(asked.swim.set as usize - 1).unwrap();
        let tempo = planned.repeats[asked.swim.repeat as usize - 1].tempo.map_or(1.3, |tempo| tempo.as_f64());
        let mut count = (truth.count(pool.metres(), tempo) + of.uneven * normal(chance)).round();
        if let Some((_, second, more)) = of.compared
            && next.choices.focus.as_ref().is_some_and(|chosen| chosen.focus.phrase == second)
        {
            count = (count + more).round();
        }
        if share(chance) < 0.05 {
            count += (1.0 + (share(chance) * 3.0).floor()) * if share(chance) < 0.5 { -1.0 } else { 1.0 };
        }
        let (measure, source) = (Measure::Count, ValueSource::Counted);
        observe(
            asked.swim.set,
            asked.swim.repeat,
            Observation { measure, length: Some(asked.length), value: count, source },
        );
    }
    for asked in &times {
        let value = next.plan.sets[asked.set as usize - 1].repeats[asked.repeat as usize - 1].predicted.as_f64();
        let value = value * (1.0 + 0.02 * normal(chance));
        let (measure, source) = (Measure::Time, ValueSource::Clock);
        observe(asked.set, asked.repeat, Observation { measure, length: None, value, source });
    }
    if of.one_sided {
        for repeat in practice.sets.iter_mut().take(1).flat_map(|set| &mut set.repeats) {
            let (value, source) = (f64::from(repeat.breaths.0 + repeat.breaths.1), ValueSource::Tapped);
            for (measure, value) in [(Measure::BreathsRight, value), (Measure::BreathsLeft, 0.0)] {
                repeat.observations.push(Observation { measure, length: None, value, source });
            }
        }
    }
    practice.sets.iter_mut().flat_map(|set| &mut set.repeats).for_each(|repeat| repeat.state = SwimState::Swum);
    practice.minutes = Some((next.plan.duration.as_f64() / 60.0).round());
    let hard = match next.choices.kind {
        PracticeKind::Sore | PracticeKind::Easier => 3.0,
        _ => 5.0,
    };
    practice.said.effort = Some((hard + 0.7 * normal(chance)).round().clamp(1.0, 10.0) as u8);
    practice.said.feel = Some((3.5 + 0.8 * normal(chance)).round().clamp(1.0, 5.0) as u8);
    practice.said.pain = match of.sore {
        Some(sore) if number == sore => Some("left shoulder".into()),
        Some(sore) if number == sore + 1 => None,
        _ => Some(String::new()),
    };
    practice
}
