//! What is heard after a skip: of the start that is skipped to all that its swimmer must know, and each drill explained with
//! the first set that somebody hears of.

use crate::stage::PRACTICE as STEERED;
use crate::stage::{HERTZ, stage};
use crate::steering::{check, heard, play};
use lengthwise::conductor::command::{Command, CourseCommand, Unit};
use lengthwise::practice::Audience;
use lengthwise::timeline::CueKind;
use lengthwise::units::time::Seconds;

const PRACTICE: &str = "\
lengthwise: 1
title: Skipped
pool: 25 m
pack: first-lengths
practice:
  - { set: Easy, swim: 2 x 50 m on 1:30, effort: easy }
  - { set: Fist, swim: 2 x 25 m on 1:00, drill: fist }
  - { set: Plain, swim: 2 x 25 m on 1:00 }
  - set: Mixed
    rounds: 2
    do:
      - { swim: 25 m on 1:00, drill: fist }
      - { swim: 50 m on 1:30, part: kick, gear: [fins] }
      - { swim: 2 x 100 m on 3:00, tempo: 1.30 s, strokes: { at-most: 20 } }
";

/// What is said of sets and repeats before each go, after commands at these seconds.
fn told(commands: &[(u64, Unit)]) -> Vec<Vec<String>> {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let command = |(at, unit): &(u64, Unit)| (*at * HERTZ, Command::Course(CourseCommand::Next(*unit)));
    let played = play(&stage, &commands.iter().map(command).collect::<Vec<_>>(), 3, u64::MAX);
    assert_eq!(played.refused, []);
    check(&stage, &played);
    let (cues, _) = heard(&stage, &played);
    let skipped = commands.iter().map(|(at, _)| *at).max().unwrap_or(0) * HERTZ;
    let mut told = vec![Vec::new()];
    for cue in cues.into_iter().filter(|cue| cue.from > skipped) {
        match cue.kind {
            CueKind::Go => told.push(Vec::new()),
            CueKind::Set => told.last_mut().unwrap().push(cue.text),
            _ => {}
        }
    }
    told
}

const HOW: &str = "The fist drill. Hands closed, feel the water on your forearms.";

#[test]
fn a_drill_is_explained_with_the_first_set_that_is_heard() {
    let all: Vec<_> = told(&[]).concat();
    assert_eq!(all.iter().filter(|text| *text == HOW).count(), 1);
    // Skipped to.
    let next = told(&[(60, Unit::Set)]);
    assert!(next[0].iter().any(|text| text == HOW), "{next:#?}");
    assert_eq!(next.concat().iter().filter(|text| *text == HOW).count(), 1);
    // Skipped over, to a set without it: explained with the next one that has it, which comes later by as much.
    let over = told(&[(60, Unit::Set), (62, Unit::Set)]);
    let with = over.iter().position(|talk| talk.iter().any(|text| text == HOW));
    assert_eq!(with, Some(2), "{over:#?}");
    assert!(over[2].iter().any(|text| text == "two rounds"));
    assert_eq!(over.concat().iter().filter(|text| *text == HOW).count(), 1);
}

#[test]
fn what_is_skipped_to_is_told_in_full() {
    // The go of the fourth set, then past the drill and the kick, in the first round.
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let start = stage.planned.built.strand.starts.iter().find(|start| start.set == 3).unwrap();
    let from = start.go.nanos() as u64 / 1_000_000_000;
    let swim = told(&[(from + 10, Unit::Repeat), (from + 11, Unit::Repeat)]);
    let about: Vec<&str> = swim[0].iter().map(String::as_str).collect();
    let wanted = [
        "three of four",
        "one hundred metres",
        "whole stroke",
        "tempo one point three",
        "at most twenty strokes a length",
    ];
    assert_eq!(about, wanted, "{about:?}");
    // The fins were never put on, so nobody takes them off.
    assert!(!swim[0].iter().any(|text| text.contains("fins")), "{:?}", swim[0]);
    let kick = told(&[(from + 10, Unit::Repeat)]);
    assert!(kick[0].iter().any(|text| text == "fifty metres kick"), "{:?}", kick[0]);
    assert!(kick[0].iter().any(|text| text == "put the fins on"), "{:?}", kick[0]);
    // Past the last swim of the round the next one is the drill again.
    let again = told(&[
        (from + 10, Unit::Repeat),
        (from + 12, Unit::Repeat),
        (from + 14, Unit::Repeat),
        (from + 16, Unit::Repeat),
    ]);
    assert_eq!(again[0], ["last round", "twenty-five metres", "fist"]);
}

/// A start that was skipped had its go in a stretch that was then left out: taken back, it has a go that is told.
#[test]
fn a_skip_taken_back_after_a_shift_tells_its_go() {
    let stage = stage(STEERED, Audience::Headphones).unwrap();
    let commands = [
        (1_728_737, Command::Course(CourseCommand::Next(Unit::Repeat))),
        (1_778_665, Command::Course(CourseCommand::Shift(Seconds::from_millis(12_524)))),
        (1_851_881, Command::Course(CourseCommand::Undo)),
    ];
    let played = play(&stage, &commands, 0, 700 * HERTZ);
    assert_eq!(played.changes.len(), commands.len());
    check(&stage, &played);
}
