//! The bound against a numerical integral, and swimmers for whom two phrases are the same or are not.

use super::super::counts::{Condition, LengthCount};
use super::super::lengths::FittedStrokes;
use super::super::simulated::{Simulated, m25, stated};
use super::*;
use crate::cases::amount;
use crate::chance::SplitMix;

/// Practices of a season, each with one phrase: in each pair of practices by lot which comes first.
struct CuedSeason {
    counts: Vec<(u32, Cueing, LengthCount)>,
}

impl CuedSeason {
    /// `first` strokes a length more under the first phrase; each day has a form of its own.
    fn new(practices: u32, each: u32, first: f64, dice: &mut SplitMix) -> Self {
        let swimmer = Simulated::new(&stated(), dice);
        let (mut counts, mut pair) = (Vec::new(), Cueing::First);
        for practice in 0..practices {
            let other = if pair == Cueing::First { Cueing::Second } else { Cueing::First };
            pair = if practice % 2 == 1 { other } else { dice.one(&[Cueing::First, Cueing::Second]) };
            let form = 0.3 * dice.normal() + if pair == Cueing::First { first } else { 0.0 };
            for _ in 0..each {
                let centis = dice.within(105.0, 126.0) as u64;
                let of_day = Simulated { form, ..swimmer };
                let days_ago = f64::from(practices - practice) * 2.5;
                counts.push((practice, pair, of_day.counted(days_ago, centis, Condition::Fresh, false, dice)));
            }
        }
        Self { counts }
    }

    /// What is said after each practice from the fourth on, with a fit to all counts so far.
    fn looks(&self, practices: u32) -> impl Iterator<Item = CueComparison> {
        (4..=practices).map(|practice| {
            let so_far: Vec<_> = self.counts.iter().filter(|(of, ..)| *of < practice).collect();
            let counts: Vec<LengthCount> = so_far.iter().map(|(.., count)| *count).collect();
            let fitted = FittedStrokes::fit(&stated(), m25(), &counts).unwrap();
            let cued = |(practice, cueing, count): &&(u32, Cueing, LengthCount)| CuedCount {
                practice: *practice,
                cueing: *cueing,
                off: fitted.residual(count),
            };
            let cued: Vec<CuedCount> = so_far.iter().map(cued).collect();
            CueComparison::of(CueDesign::ByPractice, &cued)
        })
    }
}

fn cued(practice: u32, cueing: Cueing, off: f64) -> CuedCount {
    CuedCount { practice, cueing, off }
}

#[test]
fn the_bound_is_where_the_evidence_passes() {
    // scipy 1.17.1: the t with which the integral of the noncentral t density over a normal prior, over the central density
    // (integrate.quad, stats.nct, stats.t), is 20; optimize.brentq.
    for (size, freedom, expected) in [
        (2.5, 8.0, 5.234_676_3),
        (4.0, 14.0, 3.718_676_3),
        (10.0, 38.0, 3.206_042_9),
        (12.0, 11.0, 3.683_993_9),
        (30.0, 29.0, 3.346_589_1),
    ] {
        let found = bound(size, freedom).unwrap();
        assert!((found - expected).abs() < 1e-5 * expected, "{size} {freedom}: {found} for {expected}");
    }
    assert_eq!(bound(1.0, 2.0), None, "two practices each cannot tell");
}

#[test]
fn a_difference_that_is_not_there_is_seldom_claimed() {
    let (swimmers, practices) = (amount(3, 1000), 20);
    let claims = |seed| {
        let season = CuedSeason::new(practices, 3, 0.0, &mut SplitMix(seed + 30_000));
        season.looks(practices).any(|look| matches!(look.verdict, CueVerdict::Lower(_)))
    };
    let false_claims = (0..swimmers).filter(|seed| claims(*seed)).count() as u64;
    println!("{false_claims} of {swimmers} swimmers, a look after each of {practices} practices");
    assert!(false_claims * 20 <= amount(40, swimmers), "{false_claims} of {swimmers}");
}

#[test]
fn practices_alone_claim_as_seldom_over_many_more_looks() {
    // Without counts and lines: normal practices, 60 looks, both designs.
    let swimmers = amount(20, 1000);
    for design in [CueDesign::ByPractice, CueDesign::WithinPractice] {
        let claims = |seed: u64| {
            let mut dice = SplitMix(seed + 40_000);
            let mut counts = Vec::new();
            (0..60).any(|practice| {
                let both = [Cueing::First, Cueing::Second];
                let ways = match design {
                    CueDesign::ByPractice => vec![dice.one(&both)],
                    CueDesign::WithinPractice => both.to_vec(),
                };
                counts.extend(ways.into_iter().map(|way| cued(practice, way, 0.4 * dice.normal())));
                matches!(CueComparison::of(design, &counts).verdict, CueVerdict::Lower(_))
            })
        };
        let false_claims = (0..swimmers).filter(|seed| claims(*seed)).count() as u64;
        println!("{design:?}: {false_claims} of {swimmers}");
        assert!(false_claims * 20 <= amount(60, swimmers), "{design:?}: {false_claims} of {swimmers}");
    }
}

#[test]
fn a_difference_that_is_there_is_found() {
    let (swimmers, practices) = (amount(3, 300), 20);
    let (mut found, mut wrong, mut when) = (0, 0, Vec::new());
    for seed in 0..swimmers {
        let season = CuedSeason::new(practices, 3, 1.0, &mut SplitMix(seed + 50_000));
        let claim = season.looks(practices).enumerate().find_map(|(look, said)| match said.verdict {
            CueVerdict::Lower(cueing) => Some((look + 4, cueing)),
            _ => None,
        });
        match claim {
            Some((practices, Cueing::Second)) => {
                found += 1;
                when.push(practices);
            }
            Some(_) => wrong += 1,
            None => {}
        }
    }
    when.sort_unstable();
    println!("one stroke: {found} of {swimmers} found, {wrong} wrong, after {:?} practices", when.get(when.len() / 2));
    assert!(found * 10 >= swimmers * amount(3, 7) && wrong == 0, "{found} found, {wrong} wrong of {swimmers}");
}

#[test]
fn verdicts_follow_from_practices() {
    let season = |practices: u32, first: f64, second: f64, scatter: f64| {
        let mut dice = SplitMix(7);
        let one = |practice: u32| {
            let (way, off) = if practice.is_multiple_of(2) { (Cueing::First, first) } else { (Cueing::Second, second) };
            cued(practice, way, off + scatter * dice.normal())
        };
        let counts: Vec<_> = (0..practices).map(one).collect();
        CueComparison::of(CueDesign::ByPractice, &counts)
    };
    assert_eq!(season(30, -0.6, 0.6, 0.3).verdict, CueVerdict::Lower(Cueing::First));
    assert_eq!(season(30, 0.6, -0.6, 0.3).verdict, CueVerdict::Lower(Cueing::Second));
    assert_eq!(season(60, 0.0, 0.0, 0.3).verdict, CueVerdict::Same);
    // A difference that is clear in the end cannot be told at first, and what it takes is near what it took.
    let early = season(6, -0.6, 0.6, 0.3);
    let CueVerdict::CannotTell { more: Some(more) } = early.verdict else { panic!("{early:?}") };
    assert!((1..=8).contains(&more), "{early:?}");
    assert!(matches!(season(6 + more + 4, -0.6, 0.6, 0.3).verdict, CueVerdict::Lower(Cueing::First)));
    // Scatter so large that nobody should wait for it.
    let wide = |n: u32| {
        cued(n, if n.is_multiple_of(2) { Cueing::First } else { Cueing::Second }, if n % 4 < 2 { 1.5 } else { -1.5 })
    };
    let wide = CueComparison::of(CueDesign::ByPractice, &(0..16).map(wide).collect::<Vec<_>>());
    assert_eq!(wide.verdict, CueVerdict::CannotTell { more: None });
}

#[test]
fn nothing_tried_is_nothing_said() {
    let nothing = CueComparison::of(CueDesign::ByPractice, &[]);
    assert_eq!((nothing.difference, nothing.practices), (None, (0, 0)));
    assert_eq!((nothing.low, nothing.high), (f64::NEG_INFINITY, f64::INFINITY));
    let CueVerdict::CannotTell { more: Some(more) } = nothing.verdict else { panic!("{nothing:?}") };
    // By the assumed deviation of 0.4: about as many as a season has.
    assert!((20..=60).contains(&more), "{more}");
    let one_way = [cued(1, Cueing::First, 0.2), cued(2, Cueing::First, 0.1)];
    assert_eq!(CueComparison::of(CueDesign::ByPractice, &one_way).difference, None);
}

#[test]
fn within_a_practice_the_day_does_not_count() {
    // Days differ by four strokes; the cue takes 0.8 of a stroke each day.
    let counts: Vec<_> = (0..12)
        .flat_map(|day| {
            let form = if day % 2 == 0 { -1.0 } else { 1.0 };
            let off = 0.1 * f64::from(day % 3);
            [cued(day, Cueing::First, form - 0.4 + off), cued(day, Cueing::Second, form + 0.4)]
        })
        .collect();
    let within = CueComparison::of(CueDesign::WithinPractice, &counts);
    assert_eq!((within.verdict, within.practices), (CueVerdict::Lower(Cueing::First), (12, 12)));
    let by_practice = CueComparison::of(CueDesign::ByPractice, &counts);
    assert!(matches!(by_practice.verdict, CueVerdict::CannotTell { .. }), "{by_practice:?}");
}

#[test]
fn one_miscount_does_not_decide() {
    let at = |wild: f64| {
        let mut counts: Vec<_> = (0..10)
            .map(|n| cued(n, if n.is_multiple_of(2) { Cueing::First } else { Cueing::Second }, 0.1 * f64::from(n % 3)))
            .collect();
        counts.push(cued(0, Cueing::First, wild));
        CueComparison::of(CueDesign::ByPractice, &counts).difference.unwrap()
    };
    assert!((at(11.0) - at(2.0)).abs() < 1e-12);
}
