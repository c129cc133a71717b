//! A lane against arithmetic that knows nothing of it: a simulation in small steps of time, and every order there is.

use crate::cases::{amount, cases};
use crate::chance::SplitMix;
use lengthwise::lane::figures::{LaneFigures, SetFigures, StartFigures, SwimmerFigures};
use lengthwise::lane::run::{LEAST_REST, Luck, SetRunner};
use lengthwise::lane::search::{caught, quickest, search};
use lengthwise::lane::simulate::{Trials, simulate};
use lengthwise::lane::swim::CONTACT;
use proptest::prelude::*;
use proptest::test_runner::Config;

/// A lane with one set: `paces` are seconds of a length of each swimmer, `lengths` how many each swims in every start.
fn lane(paces: &[f64], lengths: &[usize], (gap, after, starts): (f64, f64, usize)) -> LaneFigures {
    let swimmer = |who: usize| SwimmerFigures { name: format!("S{who}"), who, spread: 0.03 };
    let swims = || paces.iter().zip(lengths).map(|(pace, count)| Some(vec![*pace; *count])).collect();
    let start = |index| StartFigures { after: (index + 1 < starts).then_some(after), regroup: 0.0, lengths: swims() };
    LaneFigures {
        pool: 25.0,
        gap,
        swimmers: (0..paces.len()).map(swimmer).collect(),
        sets: vec![SetFigures { starts: (0..starts).map(start).collect() }],
    }
}

/// What a swim came to in steps: touch, and whether somebody's feet were in the way by more than a hand's breadth.
#[derive(Clone, Copy, Debug)]
struct Stepped {
    touch: f64,
    /// How far the feet in front were inside what was free, at the most, in metres: below 0 for clear water.
    inside: f64,
}

/// The lane in steps of `dt`, straight from the rule: everybody swims evenly, and nobody is nearer than `CONTACT` to the head in
/// front, who is the next around the circle of two lengths.
fn by_steps(paces: &[f64], lengths: &[usize], (gap, after, starts): (f64, f64, usize), dt: f64) -> Vec<Vec<Stepped>> {
    let count = paces.len();
    let mut all = Vec::new();
    let mut touched: Vec<Option<f64>> = vec![None; count];
    for start in 0..starts {
        let go = |who: usize| after * start as f64 + gap * who as f64;
        let leave = |who: usize| go(who).max(touched[who].map_or(0.0, |touch| touch + LEAST_REST));
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by(|a, b| leave(*a).partial_cmp(&leave(*b)).unwrap());
        let (mut at, mut off) = (vec![0.0_f64; count], vec![false; count]);
        let mut done: Vec<Option<f64>> = vec![None; count];
        let mut inside = vec![f64::NEG_INFINITY; count];
        let mut now = leave(order[0]);
        while done.iter().any(Option::is_none) {
            let before = at.clone();
            for (row, who) in order.iter().enumerate() {
                if done[*who].is_some() || now + 1e-9 < leave(*who) {
                    continue;
                }
                let others = || order.iter().filter(|other| *other != who && off[**other] && done[**other].is_none());
                if !off[*who] {
                    // Nobody overtakes at the wall, and the feet of whoever has left or turned must be clear of it.
                    let waits = order[..row].iter().any(|other| !off[*other]);
                    let nearest = others().map(|other| (at[*other] + 1e-9).rem_euclid(50.0)).fold(50.0, f64::min);
                    if waits || nearest < CONTACT {
                        inside[*who] = inside[*who].max(if waits { CONTACT } else { CONTACT - nearest });
                        continue;
                    }
                    off[*who] = true;
                }
                // The next head around the circle.
                let others = order.iter().filter(|other| *other != who && off[**other] && done[**other].is_none());
                let ahead = others.map(|other| (before[*other] - before[*who] + 1e-9).rem_euclid(50.0));
                let free = ahead.fold(f64::INFINITY, f64::min) + before[*who] - CONTACT;
                let wanted = at[*who] + 25.0 / paces[*who] * dt;
                inside[*who] = inside[*who].max(wanted - free);
                at[*who] = wanted.min(free.max(at[*who]));
                if at[*who] >= 25.0 * lengths[*who] as f64 {
                    done[*who] = Some(now + dt);
                }
            }
            now += dt;
            assert!(
                now < 5_000.0,
                "somebody never touches: {paces:?} {lengths:?} {gap} {after} {starts}: {at:?} {off:?} {done:?}"
            );
        }
        touched.clone_from(&done);
        all.push((0..count).map(|who| Stepped { touch: done[who].unwrap(), inside: inside[who] }).collect());
    }
    all
}

proptest! {
    #![proptest_config(Config { cases: amount(6, 12), ..cases(6) })]
    #[test]
    fn events_and_steps_agree(
        swimmers in prop::collection::vec((18.0..40.0_f64, 1..9_usize), 1..7),
        gap in prop::sample::select(vec![3.0, 5.0, 7.5, 10.0]),
        after in prop::sample::select(vec![60.0, 120.0, 240.0]),
    ) {
        // One start: who is late leaves when the touch says, and a step of time then decides who is at the wall first.
        let starts = 1;
        // Everybody ends at the same wall.
        let paces: Vec<f64> = swimmers.iter().map(|swimmer| swimmer.0).collect();
        let lengths: Vec<usize> = swimmers.iter().map(|swimmer| 2 * swimmer.1.div_ceil(2)).collect();
        let how = (gap, after, starts);
        let mut runner = SetRunner::default();
        runner.run(&lane(&paces, &lengths, how), 0, Luck::Predicted);
        let dt = 0.004;
        let steps = by_steps(&paces, &lengths, how, dt);
        for (start, (run, stepped)) in runner.starts.iter().zip(&steps).enumerate() {
            for (who, (swim, step)) in run.swims.iter().zip(stepped).enumerate() {
                let swim = swim.unwrap();
                // A step of time at each wait, and one more each for those in front.
                let near = 0.05 * (start + 1) as f64;
                prop_assert!((swim.touch - step.touch).abs() < near, "{start} {who}: {swim:?} {step:?}");
                // Whoever is clear by a centimetre, or inside by one, is so in both.
                if step.inside.abs() > 0.01 && start == 0 {
                    prop_assert_eq!(swim.contact.is_some(), step.inside > 0.0, "{} {}: {:?} {:?}", start, who, swim, step);
                }
            }
        }
    }
}

/// Every order of so many.
fn orders(count: usize) -> Vec<Vec<usize>> {
    let mut all = vec![Vec::new()];
    for _ in 0..count {
        let longer = |order: Vec<usize>| {
            let rest: Vec<usize> = (0..count).filter(|who| !order.contains(who)).collect();
            rest.into_iter().map(move |who| [order.clone(), vec![who]].concat())
        };
        all = all.into_iter().flat_map(longer).collect();
    }
    all
}

/// What comes of the advice for one random lane.
#[derive(Clone, Copy, Debug, Default)]
struct Advised {
    /// Whether some order and gap are without a catch.
    could: bool,
    /// Whether there was any advice.
    changed: bool,
    /// By how many times 5 s the quickest send-off is slower than it must be.
    over: u32,
}

/// Holds the advice for a random lane against every order and gap, and every send-off.
fn advised(number: u64) -> Advised {
    let mut chance = SplitMix(16 + number);
    let count = 2 + (chance.bits() % 5) as usize;
    // 1:20 to 2:20 for 100, in a lane of a spread of its own.
    let middle = chance.within(22.0, 33.0);
    let paces: Vec<f64> = (0..count).map(|_| middle * chance.within(0.8, 1.2)).collect();
    let lengths: Vec<usize> = (0..count).map(|_| chance.one(&[2, 4, 4, 4, 8])).collect();
    let written = lane(&paces, &lengths, (chance.one(&[5.0, 10.0]), chance.one(&[150.0, 300.0]), 3));
    let trials = Trials { runs: 5, seed: number, workers: 1 };
    let outcomes = simulate(std::slice::from_ref(&written), trials);
    let found = search(&written, &outcomes[0], 10.0, trials);
    let advised = LaneFigures { gap: found.gap, ..written.in_order(&found.order) };
    let of = |gap: f64| {
        let other = LaneFigures { gap, ..written.clone() };
        // Who is caught in the first start is caught in the whole set: that is soon found.
        let mut first = other.clone();
        first.sets[0].starts.truncate(1);
        orders(count).iter().any(|order| caught(&first.in_order(order)) == 0 && caught(&other.in_order(order)) == 0)
    };
    // What was found is one already.
    let could = caught(&advised) == 0 || [5.0, 10.0, 15.0].into_iter().any(of);
    assert_eq!(caught(&advised) == 0, could, "{written:?}\n{found:?}");
    // The quickest send-off, tried one by one.
    let rests = |send_off: f64| {
        let mut runner = SetRunner::default();
        runner.run(&advised.clone().on(0, send_off), 0, Luck::Predicted);
        let swims = |who: usize| runner.starts.iter().map(move |start| start.swims[who].unwrap());
        (0..count).all(|who| swims(who).zip(swims(who).skip(1)).all(|(swim, next)| next.go - swim.touch > 10.0 - 1e-6))
    };
    let best = (1..200).map(|fives| 5.0 * f64::from(fives)).find(|send_off| rests(*send_off)).unwrap();
    assert!(found.send_offs[0] >= Some(best) && quickest(&advised, 0, 10.0) == found.send_offs[0]);
    let over = ((found.send_offs[0].unwrap() - best) / 5.0) as u32;
    Advised { could, changed: !found.advice.is_empty(), over }
}

#[test]
fn the_advice_is_as_good_as_every_order_and_gap() {
    let lanes = amount(40, 1_000);
    let workers = std::thread::available_parallelism().map_or(1, std::num::NonZero::get) as u64;
    let own = |worker: u64| (0..lanes).filter(|number| number % workers == worker).map(advised).collect::<Vec<_>>();
    let found: Vec<Advised> = std::thread::scope(|scope| {
        let running: Vec<_> = (0..workers).map(|worker| scope.spawn(move || own(worker))).collect();
        running.into_iter().flat_map(|worker| worker.join().unwrap()).collect()
    });
    let count = |what: fn(&Advised) -> bool| found.iter().filter(|found| what(found)).count();
    let (could, changed) = (count(|found| found.could), count(|found| found.changed));
    println!("{lanes} lanes: {could} can be without a catch, {changed} got advice");
    assert_eq!(found.len(), lanes as usize);
    assert!(could > lanes as usize / 4 && could < lanes as usize && changed > 0);
    assert_eq!(count(|found| found.over > 0), 0, "a send-off is quicker than what was found");
}

#[test]
fn a_send_off_need_not_leave_the_rest_that_regrouping_leaves() {
    // 100 s, 130 s, 100 s: by hand 140 s leave 10 s after the second; with 45 s more there, 110 s do.
    let mut lane = lane(&[25.0], &[4], (5.0, 150.0, 4));
    let starts = &mut lane.sets[0].starts;
    starts[1].lengths = vec![Some(vec![32.5; 4])];
    assert_eq!(quickest(&lane, 0, 10.0), Some(140.0));
    let starts = &mut lane.sets[0].starts;
    (starts[1].regroup, starts[1].after) = (45.0, Some(195.0));
    assert_eq!(quickest(&lane, 0, 10.0), Some(110.0));
    let after: Vec<_> = lane.on(0, 110.0).sets[0].starts.iter().map(|start| start.after).collect();
    assert_eq!(after, [Some(110.0), Some(155.0), Some(110.0), None]);
}

#[test]
fn any_number_of_threads_gives_the_same_figures() {
    let lanes = [lane(&[24.0, 24.5, 25.0], &[4, 4, 4], (5.0, 130.0, 6)), lane(&[30.0, 29.0], &[8, 6], (5.0, 300.0, 3))];
    let of = |workers, seed| simulate(&lanes, Trials { runs: 90, seed, workers });
    assert_eq!(of(1, 3), of(4, 3));
    assert_ne!(of(1, 3), of(1, 4));
}

#[test]
fn chances_are_those_of_the_spread() {
    // Two alike at 1 m/s, 5 s apart, over 100 m in s and t: when the one in front touches, the one behind is at 100 (s - 5) / t, which
    // is a contact above 100 - CONTACT. s - 0.975 t is 2.5 s on average and has a deviation of 3 s × √(1 + 0.975²); 5 s is above it by
    let figures = lane(&[25.0, 25.0], &[4, 4], (5.0, 150.0, 1));
    let outcome = &simulate(std::slice::from_ref(&figures), Trials { runs: 20_000, seed: 5, workers: 2 })[0][0];
    // 2.5 / 4.190 = 0.5967 deviations, which are passed in 27.5 % (table of the normal law).
    let chance = outcome.swimmers[1].caught;
    assert!((chance - 0.275).abs() < 0.012, "{chance}");
    assert_eq!((outcome.catches[0].behind, outcome.catches[0].front), (1, 0));
}
