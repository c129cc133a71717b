//! Tests of what taps come to: known taps by hand, and simulated lengths.

use super::super::place::TapDoubt;
use super::*;
use crate::cases::amount;
use crate::chance::SplitMix;
use crate::units::swim::Side;
use crate::units::time::Seconds;

/// Taps of a text, at a speed.
fn tapped(text: &str, speed: f64) -> TappedSwim {
    let mut tapping = Tapping::new(speed);
    for tap in super::super::parse(text).unwrap() {
        tapping.hear(tap);
    }
    tapping.swim()
}

fn hear(tapping: &mut Tapping, millis: i64, key: TapKey) -> bool {
    tapping.hear(Tap { at: Seconds::from_millis(millis), key })
}

#[test]
fn walls_part_lengths() {
    let swim = tapped("0 w\n3\n4\n5\n6\n10 w\n10.1 w\n13.5\n14.5\n15.5\n", 1.0);
    let found: Vec<_> = swim.lengths.iter().map(|length| (length.tapped, length.time, length.closed)).collect();
    assert_eq!(found, [(4, Some(10.0), true), (3, None, false)]);
    // The last has no wall, so it is not known to be whole.
    assert_eq!(swim.whole().map(|(number, _)| number).collect::<Vec<_>>(), [1]);
    assert_eq!((swim.count(), swim.tempo()), (Some(4.0), Some(1.0)));
    // Where nobody tapped a wall, all is one length.
    assert_eq!(tapped("1\n2\n3\n", 1.0).count(), Some(3.0));
    assert_eq!(tapped("", 1.0), TappedSwim::default());
}

#[test]
fn a_slow_film_is_swum_faster() {
    let swim = tapped("0 w\n2\n4.2\n6.4\n8.6\n20 w\n", 0.5);
    let length = &swim.lengths[0];
    assert!((length.tempo.unwrap().seconds - 1.1).abs() < 1e-9);
    assert_eq!((length.time, length.count), (Some(10.0), Some(4)));
}

#[test]
fn taps_are_taken_back() {
    let mut tapping = Tapping::new(1.0);
    assert!(!hear(&mut tapping, 0, TapKey::Undo) && !hear(&mut tapping, 0, TapKey::Anew));
    for (at, key) in [(0, TapKey::Stroke), (1_000, TapKey::Stroke), (2_000, TapKey::Wall), (5_000, TapKey::Stroke)] {
        assert!(hear(&mut tapping, at, key));
    }
    let before = tapping.swim();
    assert!(hear(&mut tapping, 6_000, TapKey::Anew));
    assert_eq!(tapping.swim().lengths.len(), 1, "the length that was ended stays");
    assert!(!hear(&mut tapping, 6_500, TapKey::Anew), "there is nothing to drop");
    assert!(hear(&mut tapping, 7_000, TapKey::Undo));
    assert_eq!(tapping.swim(), before);
    hear(&mut tapping, 7_500, TapKey::Undo);
    hear(&mut tapping, 7_600, TapKey::Undo);
    assert_eq!((tapping.swim().lengths.len(), tapping.taps().count()), (1, 2));
    assert!(!tapping.swim().lengths[0].closed, "the wall was taken back too");
}

#[test]
fn a_slip_is_a_question_of_the_count_and_none_of_the_tempo() {
    // Twenty strokes at 1.1 s; the eighth is not tapped, the twelfth twice.
    let times = (0..20).filter(|stroke| *stroke != 7).map(|stroke| f64::from(stroke) * 1.1);
    let mut lines: Vec<f64> = times.collect();
    lines.push(11.0 * 1.1 + 0.09);
    lines.sort_by(f64::total_cmp);
    let text: String = lines.iter().map(|at| format!("{at:.3}\n")).collect();
    let mut swim = tapped(&text, 1.0);
    let length = &mut swim.lengths[0];
    assert_eq!((length.tapped, length.likely, length.count), (20, Some(20), None));
    assert!(
        matches!(length.doubts[..], [TapDoubt::Missed { after: 7, taps: 1, .. }, TapDoubt::Double { tap: 12, .. }]),
        "{:?}",
        length.doubts
    );
    assert!((length.tempo.unwrap().seconds - 1.1).abs() < 1e-9);
    length.settle(20);
    assert_eq!(swim.count(), Some(20.0));
    // A pause leaves open how many; the tempo is that of the longer stretch.
    let pause = tapped("0\n1\n2\n3\n4\n5\n11\n13\n15\n", 1.0);
    assert_eq!((pause.lengths[0].likely, pause.count()), (None, None));
    assert!((pause.tempo().unwrap() - 1.0).abs() < 1e-9);
}

#[test]
fn breaths_are_counted_by_side() {
    let swim = tapped("0\n1\n2 l\n3\n4\n5 b\n6\n7\n8 b\n9\n10\n11 b\n", 1.0);
    let breaths = swim.lengths[0].breaths;
    assert_eq!((breaths.left, breaths.right, breaths.every), (2, 2, Some((3, 3, 3))));
    let mut tapping = Tapping::new(1.0);
    hear(&mut tapping, 0, TapKey::Breath(Some(Side::Right)));
    assert_eq!(tapping.swim().lengths[0].breaths.right, 1);
}

#[test]
fn a_slow_breath_belongs_to_the_tempo() {
    // Each third stroke takes 0.15 s longer: 1.05 on the whole, and most intervals are 1.00.
    let mut at = 0.0;
    let mut text = String::new();
    for stroke in 0..22 {
        text += &format!("{at:.3}\n");
        at += if stroke % 3 == 2 { 1.15 } else { 1.0 };
    }
    let tempo = tapped(&text, 1.0).lengths[0].tempo.unwrap();
    assert!((tempo.median - 1.0).abs() < 1e-9, "{tempo:?}");
    assert!((tempo.seconds - 1.05).abs() < tempo.within.unwrap() && tempo.within.unwrap() < 0.02, "{tempo:?}");
}

/// How a length is swum and tapped, times in seconds.
#[derive(Clone, Copy, Debug)]
struct HowTapped {
    strokes: u32,
    /// How uneven the strokes are.
    uneven: f64,
    /// How the hand that taps scatters.
    scatter: f64,
    /// How much longer a stroke with a breath takes, each third.
    breath: f64,
    /// How much slower the last stroke is than the first.
    slower: f64,
    /// Of the taps so many are missing, and so many double.
    slips: f64,
}

const STEADY: HowTapped = HowTapped { strokes: 19, uneven: 0.02, scatter: 0.03, breath: 0.0, slower: 0.0, slips: 0.0 };

/// A length: what was tapped, and its true mean time a stroke.
fn simulate(how: HowTapped, dice: &mut SplitMix) -> (TappedLength, f64) {
    let tempo = 0.8 + 0.6 * dice.even();
    let (mut at, mut taps) = (10.0, Vec::new());
    let last = how.strokes - 1;
    let mut end = at;
    for stroke in 0..how.strokes {
        end = at;
        let tap = at + how.scatter * dice.normal();
        let slip = dice.even();
        // The ends are tapped: a stroke that is missing there is none that anybody could find.
        if stroke == 0 || stroke == last || slip >= how.slips {
            taps.push(tap);
        }
        if slip > 1.0 - how.slips {
            taps.push(tap + 0.08 + 0.08 * dice.even());
        }
        let drift = how.slower * (f64::from(stroke) / f64::from(last) - 0.5);
        let breath = if stroke % 3 == 1 { how.breath } else { 0.0 };
        at += tempo + drift + breath + how.uneven * dice.normal();
    }
    let taps: Vec<_> = taps.into_iter().map(|at| StrokeTap { at, breath: None }).collect();
    (TappedLength::of(&taps, None, (None, None)), (end - 10.0) / f64::from(last))
}

/// The intervals of simulated lengths that hold the true tempo, as a share, and the median of their half widths.
fn covered(how: HowTapped, lengths: u32) -> (f64, f64) {
    let mut dice = SplitMix(7);
    let (mut held, mut widths) = (0, Vec::new());
    for _ in 0..lengths {
        let (length, truth) = simulate(how, &mut dice);
        let tempo = length.tempo.unwrap();
        let within = tempo.within.unwrap();
        held += u32::from((tempo.seconds - truth).abs() <= within);
        widths.push(within);
    }
    (f64::from(held) / f64::from(lengths), median(widths).unwrap())
}

#[test]
fn the_interval_holds_the_tempo() {
    let lengths = amount(150, 1_000);
    // Three standard errors of a share of 95 %.
    let chance = 3.0 * libm::sqrt(0.95 * 0.05 / f64::from(lengths));
    for how in [
        HowTapped { uneven: 0.0, ..STEADY },
        HowTapped { scatter: 0.005, uneven: 0.03, ..STEADY },
        STEADY,
        HowTapped { strokes: 10, ..STEADY },
        HowTapped { strokes: 34, scatter: 0.04, ..STEADY },
        HowTapped { breath: 0.1, ..STEADY },
        HowTapped { slower: 0.1, ..STEADY },
        HowTapped { slips: 0.04, ..STEADY },
    ] {
        let (share, width) = covered(how, lengths);
        println!("{how:?}: {share:.3} within ± {width:.4} s");
        assert!(share >= 0.95 - chance, "{how:?}: {share}");
        assert!(width < 0.02, "{how:?}: ± {width} s");
    }
}

#[test]
fn slips_are_found_and_no_others() {
    let mut dice = SplitMix(11);
    let lengths = amount(150, 1_000);
    let (mut right, mut alarms) = (0, 0);
    for _ in 0..lengths {
        // A stroke that is missing and next to another is missing from both; they are counted all the same.
        let (length, _) = simulate(HowTapped { slips: 0.04, ..STEADY }, &mut dice);
        right += u32::from(length.likely == Some(STEADY.strokes));
        let (length, _) = simulate(HowTapped { breath: 0.15, scatter: 0.04, ..STEADY }, &mut dice);
        alarms += u32::from(!length.doubts.is_empty());
    }
    let share = |found: u32| f64::from(found) / f64::from(lengths);
    println!("counts found again: {:.3}; false alarms: {:.3}", share(right), share(alarms));
    assert!(share(right) >= 0.95 && share(alarms) <= 0.01, "{} {}", share(right), share(alarms));
}

#[test]
fn a_drift_is_told_from_chance() {
    let lengths = amount(150, 1_000);
    let seen = |how| {
        let mut dice = SplitMix(3);
        let seen = (0..lengths).filter(|_| simulate(how, &mut dice).0.drift.unwrap().is_seen()).count();
        seen as f64 / f64::from(lengths)
    };
    let chance = 3.0 * libm::sqrt(0.95 * 0.05 / f64::from(lengths));
    for how in [STEADY, HowTapped { uneven: 0.0, ..STEADY }, HowTapped { scatter: 0.005, uneven: 0.03, ..STEADY }] {
        assert!(seen(how) <= 0.05 + chance, "{how:?}: {}", seen(how));
    }
    let (slow, slower) = (seen(HowTapped { slower: 0.1, ..STEADY }), seen(HowTapped { slower: 0.2, ..STEADY }));
    println!("seen of a drift of 0.1 s: {slow:.3}, of 0.2 s: {slower:.3}");
    assert!(slower > 0.95 && slow > 0.2, "{slow} {slower}");
}
