//! Strands beside each other on one clock: the starts of each swimmer, the sounds of all.

use lengthwise::prepare::{self, PracticeRequest};
use lengthwise::timeline::strand::{Strand, legs};
use lengthwise::timeline::{CueKind, Leg};
use lengthwise::units::time::Seconds;

const PRACTICE: &str = "\
lengthwise: 1
title: Two on one clock
pool: 25 m
pack: first-lengths
practice:
  - { set: Joined, rounds: 2, do: [{ swim: 25 m, tempo: 1.00 s, rest: 0 s }, { swim: 50 m, tempo: 1.20 s, rest: 15 s }] }
  - { set: Beats, swim: 3 x 50 m on 1:30, tempo: 1.30 s, focus: reach-forward }
";

fn strand() -> (Strand, Vec<Leg>) {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("a.yaml");
    std::fs::write(&script, PRACTICE).unwrap();
    let planned = prepare::plan(&PracticeRequest { script, ..PracticeRequest::default() }).unwrap().planned.unwrap();
    (planned.built.strand, planned.built.timeline.legs)
}

/// The same practice of somebody who starts later.
fn behind(strand: &Strand, by: Seconds) -> Strand {
    let mut later = strand.clone();
    later.starts.iter_mut().for_each(|start| start.move_to(start.go + by));
    for laid in &mut later.laid {
        laid.before.iter_mut().chain(&mut laid.under).for_each(|cue| cue.at += by);
        laid.grids.iter_mut().for_each(|grid| grid.origin += by);
    }
    later
}

fn gos(legs: &[Leg]) -> Vec<Seconds> {
    let cues = legs.iter().flat_map(|leg| leg.cues.iter().map(|cue| (leg.origin + cue.at, cue.kind)));
    cues.filter(|(_, kind)| *kind == CueKind::Go).map(|(at, _)| at).collect()
}

fn beats(legs: &[Leg]) -> usize {
    legs.iter().flat_map(|leg| &leg.grids).map(|grid| grid.beats.len()).sum()
}

#[test]
fn a_strand_alone_is_the_timeline() {
    let (strand, planned) = strand();
    assert_eq!(legs(&[&strand], Seconds::ZERO).0, planned);
}

#[test]
fn two_swimmers_have_their_own_starts_and_are_both_heard() {
    let (leader, alone) = strand();
    // A gap of 5 s: common practice, no source.
    let gap = Seconds::from_secs(5);
    let follower = behind(&leader, gap);
    let (both, end) = legs(&[&leader, &follower], Seconds::ZERO);
    let mut expected = gos(&alone);
    assert_eq!(expected.len(), 5, "two joined repeats have no go");
    expected.extend(gos(&alone).iter().map(|go| *go + gap));
    expected.sort();
    assert_eq!(gos(&both), expected);
    assert_eq!(beats(&both), 2 * beats(&alone));
    assert!(end >= alone.last().map(|leg| leg.origin + leg.len).unwrap() + gap, "nobody's last words are cut off");
    // Legs follow the first: who it is that swims, rests or is spoken to.
    let bounds = |legs: &[Leg]| legs.iter().map(|leg| (leg.origin, leg.kind)).collect::<Vec<_>>();
    assert_eq!(bounds(&both), bounds(&alone));
    // A start of one that is held leaves the other's as they are.
    let held = Strand { held: Some(follower.starts.len() - 1), ..follower };
    let (without, _) = legs(&[&leader, &held], Seconds::ZERO);
    assert!(gos(&alone).iter().all(|go| gos(&without).contains(go)));
}
