//! Simulated swimmers whose stroke falls apart at a known tempo, or does not.

use super::super::counts::{Condition, CountedAt};
use super::super::simulated::{Simulated, m25, stated};
use super::*;
use crate::cases::amount;
use crate::chance::SplitMix;

/// A swimmer whose count leaves the line at `broken_at`, by a stroke within `within` seconds.
fn breaking(broken_at: f64, within: f64, dice: &mut SplitMix) -> Simulated {
    let swimmer = Simulated::new(&stated(), dice);
    let straight = swimmer.expected(broken_at - within, Condition::Fresh);
    let rates = 1.0 / (broken_at - within) - 1.0 / broken_at;
    let each = (20.0 / straight - 20.0 / (straight + 1.0)) / rates;
    Simulated { breaks: Some((broken_at, each)), ..swimmer }
}

fn counted(swimmer: &Simulated, counts: usize, (quick, slow): (f64, f64), dice: &mut SplitMix) -> Vec<LengthCount> {
    let one = |_| {
        let (days_ago, centis) = (dice.within(0.0, 21.0), libm::round(dice.within(quick, slow) * 100.0) as u64);
        swimmer.counted(days_ago, centis, Condition::Fresh, false, dice)
    };
    (0..counts).map(one).collect()
}

fn find(counts: &[LengthCount]) -> Breaking {
    Breaking::of(&stated(), m25(), counts).unwrap()
}

#[test]
fn the_break_is_found() {
    let swimmers = amount(3, 300);
    let (mut found, mut near, mut inside) = (0, 0, 0);
    for seed in 0..swimmers {
        let mut dice = SplitMix(seed + 60_000);
        let broken_at = dice.within(0.95, 1.10);
        let swimmer = breaking(broken_at, 0.04, &mut dice);
        let counts = counted(&swimmer, 40, (broken_at - 0.15, broken_at + 0.25), &mut dice);
        if let Breaking::At { tempo, low, high, .. } = find(&counts) {
            found += 1;
            near += u64::from((tempo - broken_at).abs() <= 0.03);
            inside += u64::from((low..=high).contains(&broken_at));
        }
    }
    println!("of {swimmers}: found {found}, within 0.03 s {near}, in the interval {inside}");
    assert!(near * 100 >= swimmers * amount(60, 80), "{near} of {swimmers}");
    assert!(inside * 100 >= found * amount(50, 76), "{inside} of {found}");
}

#[test]
fn a_break_that_is_not_there_is_seldom_claimed() {
    let swimmers = amount(3, 300);
    let claimed = |seed| {
        let mut dice = SplitMix(seed + 70_000);
        let swimmer = Simulated::new(&stated(), &mut dice);
        matches!(find(&counted(&swimmer, 40, (0.85, 1.25), &mut dice)), Breaking::At { .. })
    };
    let claims = (0..swimmers).filter(|seed| claimed(*seed)).count() as u64;
    println!("{claims} of {swimmers} straight lines");
    assert!(claims * 100 <= amount(100, swimmers * 5), "{claims} of {swimmers}");
}

#[test]
fn what_holds_does_hold() {
    let swimmers = amount(5, 300);
    let (mut holds, mut wrong) = (0, 0);
    for seed in 0..swimmers {
        let mut dice = SplitMix(seed + 80_000);
        let broken_at = dice.within(0.95, 1.10);
        let swimmer = breaking(broken_at, 0.05, &mut dice);
        let counts = counted(&swimmer, 10, (broken_at - 0.15, broken_at + 0.25), &mut dice);
        if let Breaking::HoldsTo { tempo, .. } = find(&counts) {
            holds += 1;
            // A whole stroke is lost there.
            wrong += u64::from(tempo <= broken_at - 0.05);
        }
    }
    println!("{holds} of {swimmers} hold by ten counts, {wrong} of them wrong");
    assert!(wrong * 100 <= amount(200, swimmers * 10), "{wrong} of {swimmers}");
}

#[test]
fn the_counts_asked_for_settle_it() {
    let swimmers = amount(5, 300);
    let (mut asked, mut settled) = (0, 0);
    for seed in 0..swimmers {
        let mut dice = SplitMix(seed + 90_000);
        let swimmer = Simulated::new(&stated(), &mut dice);
        let mut counts = counted(&swimmer, 10, (1.00, 1.25), &mut dice);
        let Breaking::HoldsTo { tempo, next } = find(&counts) else { continue };
        assert!(next.tempo.as_f64() > tempo - 0.06, "{next:?} after {tempo}");
        asked += 1;
        let more =
            (0..next.counts).map(|_| swimmer.counted(0.0, next.tempo.centis(), Condition::Fresh, false, &mut dice));
        counts.extend(more.collect::<Vec<_>>());
        let is_settled = match find(&counts) {
            Breaking::HoldsTo { tempo: now, .. } => now <= tempo - 0.045 || now <= next.tempo.as_f64() + 0.005,
            _ => false,
        };
        settled += u64::from(is_settled);
    }
    println!("{settled} of {asked} settled by what was asked for");
    assert!(settled * 100 >= asked * amount(20, 55), "{settled} of {asked}");
}

#[test]
fn without_counts_there_is_something_to_ask() {
    let Breaking::NotEnough(wanted) = find(&[]) else { panic!("nothing was counted") };
    assert!((4..=40).contains(&wanted.counts), "{wanted:?}");
    let one = counted(&Simulated::new(&stated(), &mut SplitMix(1)), 1, (1.1, 1.1), &mut SplitMix(1));
    assert!(!matches!(find(&one), Breaking::At { .. }));
}

#[test]
fn counts_without_scatter_show_the_break_itself() {
    let swimmer = Simulated { scatter: 0.0, ..breaking(1.02, 0.05, &mut SplitMix(2)) };
    let at = |centis: u64| {
        let strokes = swimmer.expected(centis as f64 / 100.0, Condition::Fresh);
        let at = CountedAt::Tempo(Tempo::from_centis(centis));
        LengthCount::new(0.0, m25(), strokes, at, Condition::Fresh).unwrap()
    };
    let counts: Vec<_> = (86..=130).map(at).collect();
    let Breaking::At { tempo, low, high, more } = find(&counts) else { panic!("it breaks") };
    assert!((tempo - 1.02).abs() < 0.01 && low < tempo && tempo < high, "{low} {tempo} {high}");
    assert_eq!(more, None);
}
