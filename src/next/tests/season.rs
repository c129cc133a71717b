//! A season of three invented swimmers: what `next` writes is swum by a true stroke, logged, and leads to what it writes next.

use super::super::compose::next_practice;
use super::super::decide::OneChange;
use super::super::edge::EdgeMove;
use super::super::focus::UNTOUCHED;
use super::super::order::{NextOrder, NextPractice, NoNext, around};
use super::super::past;
use super::super::shape::PracticeShape;
use super::super::state::PracticeKind;
use super::super::volume;
use crate::cases::amount;
use crate::chance::SplitMix;
use crate::diag::{Sources, Span, Spanned};
use crate::notebook::entry::{LoggedPractice, Measure, Observation, ScriptCopy, SwimState, ValueSource};
use crate::notebook::outline::Outline;
use crate::notebook::{Notebook, OpenFor, Wanted};
use crate::pack::library::{Library, Role};
use crate::pack::load::{self, Search};
use crate::swimmer::Swimmer;
use crate::swimmer::model::StrokeModel;
use crate::units::calendar::Day;
use crate::units::swim::{Pace, PoolLength, Side};
use crate::units::time::Seconds;

const MINUTES: u32 = 40;

/// About a normal one: the sum of twelve (variance 1).
fn normal(chance: &mut SplitMix) -> f64 {
    (0..12).map(|_| share(chance)).sum::<f64>() - 6.0
}

/// Even in 0 to 1.
fn share(chance: &mut SplitMix) -> f64 {
    chance.bits() as f64 / u64::MAX as f64
}

/// Somebody as they truly are.
struct Invented {
    name: &'static str,
    hundred: i64,
    pack: &'static str,
    /// True points: (tempo, count) at the beginning.
    points: [(f64, f64); 2],
    /// Standard deviation of a count before it is rounded.
    uneven: f64,
    /// Breathes to the right in the easy start, whatever is asked for.
    one_sided: bool,
    /// After so many practices a fortnight off, and after so many a sore shoulder.
    away: Option<usize>,
    sore: Option<usize>,
}

const INVENTED: [Invented; 3] = [
    Invented {
        name: "Runa Falk",
        hundred: 175,
        pack: "first-lengths",
        points: [(1.40, 26.0), (1.10, 29.5)],
        uneven: 0.9,
        one_sided: false,
        away: None,
        sore: None,
    },
    Invented {
        name: "Teo Brandt",
        hundred: 110,
        pack: "tempo-range",
        points: [(1.20, 19.5), (0.95, 22.0)],
        uneven: 0.5,
        one_sided: true,
        away: None,
        sore: None,
    },
    Invented {
        name: "Mila Orsini",
        hundred: 79,
        pack: "tempo-range",
        points: [(1.05, 15.5), (0.80, 18.0)],
        uneven: 0.4,
        one_sided: false,
        away: Some(20),
        sore: Some(36),
    },
];

fn library(pack: &str) -> Library {
    let mut sources = Sources::new();
    let source = sources.add("pack", pack);
    let name = Spanned::new(pack.to_owned(), Span::new(source, 0, pack.len() as u32));
    let (library, problems) = load::open(&Search::default(), Some(&name), &mut sources);
    assert!(problems.is_empty(), "{problems:?}");
    library
}

/// What came of a season.
struct Season {
    practices: Vec<LoggedPractice>,
    written: Vec<NextPractice>,
    days: Vec<Day>,
}

fn season(of: &Invented, count: usize) -> Season {
    let folder = tempfile::tempdir().unwrap();
    let mut notebook = Notebook::open(&folder.path().join("n.sqlite"), OpenFor::Writing).unwrap();
    let library = library(of.pack);
    let pool = StrokeModel::assumed_pool();
    let swimmer = Swimmer::of_hundred(Pace::new(Seconds::from_secs(of.hundred)).unwrap(), pool).unwrap();
    let mut chance = SplitMix(of.hundred as u64);
    let (mut today, mut days, mut written) = (Day::parse("2026-01-05").unwrap(), Vec::new(), Vec::new());
    let wanted = Wanted { swimmer: Some(of.name.into()), ..Wanted::default() };
    while written.len() < count {
        let number = written.len();
        let kept = notebook.practices(&wanted).unwrap();
        let practices: Vec<LoggedPractice> = kept.into_iter().map(|(_, practice)| practice).collect();
        let order = NextOrder {
            name: of.name,
            swimmer: &swimmer,
            practices: &practices,
            today,
            minutes: MINUTES,
            pool,
            pack: of.pack,
            library: &library,
            speech: None,
            compared: None,
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
        checks(of, number, &next, &practices, &library);
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

/// What must hold of every script.
fn checks(of: &Invented, number: usize, next: &NextPractice, practices: &[LoggedPractice], library: &Library) {
    let at = || format!("{}, practice {number}:\n{}", of.name, next.script);
    assert!(next.problems.is_empty(), "{:?}\n{}", next.problems, at());
    let seconds = next.plan.duration.as_f64();
    let asked = f64::from(MINUTES) * 60.0;
    assert!(seconds <= asked, "{seconds} s of {asked}\n{}", at());
    assert!(seconds >= asked - 120.0 || next.shorter.is_some(), "{seconds} s of {asked}, no reason\n{}", at());
    let metres = f64::from(next.plan.distance) * next.plan.unit_metres;
    if let Some(bound) = volume::bound(practices) {
        assert!(metres <= bound.most + 1e-6, "{metres} m, {} of late\n{}", bound.of_late, at());
    }
    if let Some(load) = next.choices.load {
        let planned = load.so_far + load.effort * seconds / 60.0;
        assert!(planned <= load.most() + 1e-6, "load {planned} of {}\n{}", load.most(), at());
    }
    // In the voice of the pack, every one.
    for set in &next.plan.sets {
        let title = library.by_text(Role::Title, &set.title);
        assert!(title.is_some_and(|(_, entry)| entry.full.clip.is_some()), "nobody says {:?}", set.title);
    }
    if next.choices.kind == PracticeKind::Sore {
        assert!(next.script.contains("See a professional before you go on"), "{}", at());
        assert!(next.plan.sets.iter().flat_map(|set| &set.repeats).all(|repeat| repeat.tempo.is_none()), "{}", at());
    }
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
    let truth = StrokeModel::through(pool.metres(), &points, 4.0, 5.0).unwrap();
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

/// What an ordinary practice has: edge if it goes there, focus, the side to which it leans, how far.
fn state(next: &NextPractice) -> (Option<u64>, Option<String>, Option<Side>, f64) {
    let focus = next.choices.focus.as_ref().map(|chosen| chosen.focus.phrase.clone());
    let tempos = next.plan.sets.iter().flat_map(|set| &set.repeats).filter_map(|repeat| repeat.tempo);
    let metres = f64::from(next.plan.distance) * next.plan.unit_metres;
    let tempos: Vec<u64> = tempos.map(|tempo| tempo.centis()).collect();
    let edge = tempos.iter().min().filter(|edge| tempos.iter().any(|tempo| tempo != *edge));
    (edge.copied(), focus, next.choices.side, metres)
}

#[test]
fn a_season_holds_its_rules() {
    let count = amount(9, 60);
    for of in &INVENTED {
        let Season { practices, written, days } = season(of, count);
        for (number, (next, day)) in written.iter().zip(&days).enumerate() {
            let (edge, focus, side, metres) = state(next);
            println!(
                "{} {number:2} {day} {:8} {:6} {:7} edge {:?} {} {:?} {metres:.0} m {:.1} min {:?} {:+.3} {:?} {}",
                of.name,
                next.choices.kind.word(),
                next.choices.shape.shape.word(),
                next.choices.change.word(),
                edge,
                focus.unwrap_or_default(),
                side,
                next.plan.duration.as_f64() / 60.0,
                practices[number].said.effort,
                next.choices.breaths.share(),
                next.choices.edge.moved,
                next.shorter.as_deref().unwrap_or_default(),
            );
        }
        one_change_at_a_time(of, &written, &practices);
        shapes_alternate(of, &written, &practices);
        no_focus_starves(of, &practices, &days);
        breaths_are_even(of, &practices, &days);
        loads_are_within(of, &practices, &days);
        if count >= 60 {
            the_range_widens(of, &written);
        }
        if let Ok(folder) = std::env::var("LENGTHWISE_SEASON") {
            for (number, next) in written.iter().enumerate() {
                std::fs::write(format!("{folder}/{}-{number:02}.yaml", of.hundred), &next.script).unwrap();
            }
        }
    }
}

fn one_change_at_a_time(of: &Invented, written: &[NextPractice], practices: &[LoggedPractice]) {
    let ordinary = |next: &&NextPractice| next.choices.kind == PracticeKind::Ordinary;
    // The edge of last time is that of the last practice that went there.
    let mut last_edge = written.first().and_then(|next| state(next).0);
    for (number, pair) in (1..).zip(written.windows(2)) {
        let [before, next] = pair else { continue };
        let edge = last_edge;
        last_edge = state(next).0.or(last_edge);
        // Further than of late, not than one that was cut short.
        let late = &practices[number - number.min(4)..number];
        let furthest = late.iter().map(LoggedPractice::metres).fold(0.0, f64::max);
        if !ordinary(&before) || !ordinary(&next) {
            continue;
        }
        let ((_, focus, side, _), (new_edge, new_focus, new_side, new_metres)) = (state(before), state(next));
        let changed = [
            new_edge.is_some() && edge != new_edge,
            focus != new_focus,
            side != new_side,
            new_metres > volume::ALIKE * furthest,
        ];
        let changes = changed.iter().filter(|changed| **changed).count();
        assert!(changes <= 1, "{}: {changed:?} at once\n{}\n{}", of.name, before.script, next.script);
        let said = next.choices.change != OneChange::Nothing;
        assert_eq!(changes == 1, said, "{}: {changed:?}, said {:?}\n{}", of.name, next.choices.change, next.script);
    }
}

/// No two running are alike, all come, and what was written is what is read back.
fn shapes_alternate(of: &Invented, written: &[NextPractice], practices: &[LoggedPractice]) {
    let shape = |next: &NextPractice| (next.choices.kind == PracticeKind::Ordinary).then_some(next.choices.shape.shape);
    let slow = of.pack == "first-lengths";
    for (number, (next, swum)) in
        written.iter().zip(practices).enumerate().filter(|(_, (next, _))| shape(next).is_some())
    {
        let read = PracticeShape::of(swum, if slow { 100.0 } else { 200.0 });
        assert_eq!(read, shape(next), "{} {number}\n{}", of.name, next.script);
        assert!(number == 0 || shape(next) != shape(&written[number - 1]), "{} {number}: twice running", of.name);
    }
    for wanted in [PracticeShape::Tempos, PracticeShape::Pairs, PracticeShape::Paces, PracticeShape::Long] {
        let times = written.iter().filter(|next| shape(next) == Some(wanted)).count();
        println!("{}: {times} times {}", of.name, wanted.word());
        assert!(times * 10 >= written.len() || written.len() < 30, "{}: {times} times {}", of.name, wanted.word());
    }
}

/// Once begun, a focus comes again within the days that are too many, and two practices more; a time away is nobody's fault.
fn no_focus_starves(of: &Invented, practices: &[LoggedPractice], days: &[Day]) {
    let away = of.away.filter(|away| *away + 1 < days.len());
    for focus in around(&library(of.pack)) {
        for (number, day) in days.iter().enumerate() {
            let Some(last) = past::last_touched(&practices[..number], &focus.phrase) else { continue };
            let mut waited = day.days_since(last);
            if away.is_some_and(|away| last <= days[away] && *day > days[away]) {
                waited -= 14;
            }
            // A sore swimmer has no focus at all for a while.
            let sore = of.sore.is_some_and(|sore| number > sore);
            let most = UNTOUCHED + 5 + if sore { 5 } else { 0 };
            assert!(waited <= most, "{}: {} has waited {waited} days on {day}", of.name, focus.phrase);
        }
    }
}

fn breaths_are_even(of: &Invented, practices: &[LoggedPractice], days: &[Day]) {
    // The first four weeks have to fill up, and what was swum before anybody knew has to leave them.
    let mut worst: f64 = 0.0;
    for number in 14..days.len() {
        let (balance, _) = super::super::decide::balance(&practices[..=number], days[number]);
        worst = worst.max(balance.share().abs());
        // Who breathes to the right in every easy start, whatever is asked, is brought back but not held.
        let most = if of.one_sided { 0.07 } else { 0.05 };
        assert!(balance.share().abs() <= most, "{}: {:+.3} after practice {number}", of.name, balance.share());
    }
    println!("{}: breaths at most {worst:.3} from even", of.name);
}

/// What was reported afterwards, too.
fn loads_are_within(of: &Invented, practices: &[LoggedPractice], days: &[Day]) {
    let load = |back: i32, day: Day| -> f64 {
        let week = practices.iter().filter(|one| day.monday().days_since(one.day.monday()) == 7 * back);
        week.filter_map(LoggedPractice::load).sum()
    };
    let mut worst: f64 = 0.0;
    for day in days.iter().filter(|day| day.days_since(days[0]) >= 28) {
        let weeks: Vec<f64> = (1..=4).map(|back| load(back, *day)).filter(|load| *load > 0.0).collect();
        if weeks.len() >= 2 {
            worst = worst.max(load(0, *day) / (weeks.iter().sum::<f64>() / weeks.len() as f64));
        }
    }
    println!("{}: the heaviest week was {worst:.2} of the mean of those before", of.name);
    assert!(worst <= 1.25, "{}: {worst:.2}", of.name);
}

fn the_range_widens(of: &Invented, written: &[NextPractice]) {
    let edges: Vec<u64> = written.iter().filter_map(|next| state(next).0).collect();
    let (first, quickest) = (edges[0], *edges.iter().min().unwrap());
    let last = &written.last().unwrap().choices.edge;
    let says_why =
        matches!(last.moved, EdgeMove::Between | EdgeMove::AtLimit | EdgeMove::AtNarrowest | EdgeMove::Slower);
    println!("{}: edge {first} to {quickest}, at last {:?}", of.name, last.moved);
    assert!(quickest < first || says_why, "{}: {edges:?} and {:?}", of.name, last);
}
