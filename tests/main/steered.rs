//! What each command does to a practice: the frames of goes and beats, and what is refused.

use crate::stage::{HERTZ, PRACTICE, Stage, stage};
use crate::steering::{Heard, LATER, Played, at, check, frame, heard, play};
use lengthwise::conductor::command::{Command, CourseCommand, DeskCommand, Happened, Unit};
use lengthwise::practice::Audience;
use lengthwise::timeline::CueKind;
use lengthwise::units::time::Tempo;
use std::collections::BTreeMap;

/// The go of a repeat of the practice as planned.
fn planned_go(stage: &Stage, set: usize, repeat: usize) -> (u64, u64) {
    let swum = stage.planned.built.strand.starts.iter().find(|s| (s.set, s.ordinal) == (set, repeat)).unwrap();
    (at(swum.go), at(swum.touch))
}

fn goes(played: &Played) -> BTreeMap<(usize, usize), u64> {
    let told = played.happened.iter().filter_map(|happened| match happened {
        Happened::Go { set, repeat, at: go } => Some(((*set, *repeat), at(*go))),
        _ => None,
    });
    told.collect()
}

#[test]
fn a_touch_starts_a_true_rest_and_leaves_a_send_off_alone() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let (ladder, _) = planned_go(&stage, 0, 0);
    let rests = planned_go(&stage, 1, 0).0;
    let (early, split) = (ladder + 40 * HERTZ, rests + 47 * HERTZ);
    let played = play(
        &stage,
        &[(early, Command::Course(CourseCommand::Touch)), (split, Command::Course(CourseCommand::Touch))],
        3,
        u64::MAX,
    );
    assert_eq!(played.refused, []);
    check(&stage, &played);
    let goes = goes(&played);
    // On the clock: 90 s after the go before. With a written rest: 20 s after the touch, to the frame.
    assert_eq!(goes[&(0, 1)], ladder + 90 * HERTZ);
    assert_eq!(goes[&(1, 1)], split + 20 * HERTZ);
    let splits = played.happened.iter().filter_map(|happened| match happened {
        Happened::Touch { set, repeat, split, .. } => Some((*set, *repeat, split.nanos())),
        _ => None,
    });
    assert_eq!(splits.collect::<Vec<_>>(), [(0, 0, 40_000_000_000), (1, 0, 47_000_000_000)]);
    // Said true: ten seconds before the go.
    let (cues, beats) = heard(&stage, &played);
    let ten: Vec<u64> = cues.iter().filter(|c| c.id == "go-in-10").map(|c| c.from).collect();
    assert!(ten.contains(&(split + 10 * HERTZ)), "{ten:?}");
    // No beat between the touch and the next go.
    let after = early + LATER..ladder + 90 * HERTZ;
    assert_eq!(beats.iter().find(|beat| after.contains(beat)), None);
}

#[test]
fn a_split_has_the_time_of_a_pause_in_the_swim() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let (first, second) = (planned_go(&stage, 0, 0).0, planned_go(&stage, 0, 1).0);
    let pause = |at| (at, Command::Desk(DeskCommand::Pause));
    let touch = |at| (at, Command::Course(CourseCommand::Touch));
    // One in the swim, one in the rest after it, two in the next swim: each is of 4,000 frames.
    let (one, two) = (first + 40 * HERTZ, second + 41 * HERTZ);
    let pauses = [pause(first + 20 * HERTZ), touch(one), pause(one + 10 * HERTZ)];
    let more = [pause(second + 9 * HERTZ), pause(second + 30 * HERTZ), touch(two)];
    let played = play(&stage, &[pauses, more].concat(), 3, second + 60 * HERTZ);
    assert_eq!(played.refused, []);
    let splits = played.happened.iter().filter_map(|happened| match happened {
        Happened::Touch { split, .. } => Some(at(*split)),
        _ => None,
    });
    assert_eq!(splits.collect::<Vec<_>>(), [40 * HERTZ + 4_000, 41 * HERTZ + 8_000]);
}

#[test]
fn a_touch_soon_after_the_next_go_marks_that_one_missed() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let (first, second) = (planned_go(&stage, 0, 0).0, planned_go(&stage, 0, 1).0);
    let played = play(&stage, &[(second + 6 * HERTZ, Command::Course(CourseCommand::Touch))], 4, u64::MAX);
    check(&stage, &played);
    assert!(played.happened.contains(&Happened::Missed { set: 0, repeat: 1 }));
    let split = played.happened.iter().find_map(|happened| match happened {
        Happened::Touch { set: 0, repeat: 0, split, .. } => Some(at(*split)),
        _ => None,
    });
    assert_eq!(split, Some(second + 6 * HERTZ - first));
    assert_eq!(goes(&played)[&(0, 2)], planned_go(&stage, 0, 2).0);
}

#[test]
fn a_held_start_waits_and_comes_with_its_countdown() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let go = planned_go(&stage, 0, 1).0;
    // Held two seconds before the go, in the countdown; released after a minute.
    let (hold, release) = (go - 2 * HERTZ - 2_000, go + 60 * HERTZ);
    let played = play(
        &stage,
        &[(hold, Command::Course(CourseCommand::Hold)), (release, Command::Course(CourseCommand::Release))],
        5,
        u64::MAX,
    );
    check(&stage, &played);
    let goes = goes(&played);
    let released = goes[&(0, 1)];
    assert!((release + 10 * HERTZ..release + 14 * HERTZ).contains(&released), "{released} after {release}");
    // The clock of the send-off begins again there.
    assert_eq!(goes[&(0, 2)], released + 90 * HERTZ);
    let (cues, _) = heard(&stage, &played);
    assert!(!cues.iter().any(|c| c.kind == CueKind::Go && c.from == go));
    assert!(cues.iter().any(|c| c.id == "go-in-10" && c.from == released - 10 * HERTZ));
}

#[test]
fn a_nudge_keeps_the_beat_and_the_tempo_to_the_frame() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let (go, touch) = planned_go(&stage, 0, 0);
    for (pressed, hundredths) in [(go + 20_011, 3), (go + 77_777, -7), (go + 100_000, 11)] {
        let played = play(&stage, &[(pressed, Command::Course(CourseCommand::Tempo(hundredths)))], 6, go + 170 * HERTZ);
        check(&stage, &played);
        let effect = pressed + LATER;
        let (_, beats) = heard(&stage, &played);
        // 1.30 s from the go; the first beat from the effect on stays, the others follow it.
        let old = |k: i128| {
            frame((i128::from(go) * 100 + k * 130 * i128::from(HERTZ)) * 1_000_000_000, 100 * i128::from(HERTZ))
        };
        let first = (0..).find(|k| old(*k) >= effect).unwrap();
        assert!((0..=first).all(|k| beats.contains(&old(k))));
        let new = |j: i128| {
            let hundredths = first * 130 + j * (130 + i128::from(hundredths));
            frame((i128::from(go) * 100 + hundredths * i128::from(HERTZ)) * 1_000_000_000, 100 * i128::from(HERTZ))
        };
        let later: Vec<u64> = beats.iter().copied().filter(|b| *b > old(first) && *b < touch).collect();
        assert!(later.len() > 10);
        let expected: Vec<u64> = (1..=later.len() as i128).map(new).collect();
        assert_eq!(later, expected);
        // The next repeat of the ladder, 1.20 s, is faster or slower by as much.
        let next = planned_go(&stage, 0, 1).0;
        let then = |k: i128| {
            frame(
                (i128::from(next) * 100 + k * (120 + i128::from(hundredths)) * i128::from(HERTZ)) * 1_000_000_000,
                100 * i128::from(HERTZ),
            )
        };
        assert!((0..30).all(|k| beats.contains(&then(k))));
    }
}

#[test]
fn a_tempo_by_its_value_is_heard_at_once_and_the_ladder_goes_with_it() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let (go, _) = planned_go(&stage, 0, 0);
    let to = |centis| Command::Course(CourseCommand::TempoTo(Tempo::from_centis(centis)));
    let by = |hundredths| Command::Course(CourseCommand::Tempo(hundredths));
    let played = |pressed, command| play(&stage, &[(pressed, command)], 6, go + 170 * HERTZ);
    // The first repeat is at 1.30 s, the second at 1.20 s: 1.26 s in the first is 0.04 s quicker, in the rest before the second
    // 0.06 s slower, and the same to the frame.
    let next = planned_go(&stage, 0, 1).0;
    for (pressed, value, step) in [(go + 77_777, 126, -4), (next - 10 * HERTZ, 126, 6)] {
        let (one, other) = (played(pressed, to(value)), played(pressed, by(step)));
        check(&stage, &one);
        assert_eq!(heard(&stage, &one).1, heard(&stage, &other).1, "at {pressed}");
        assert_eq!(one.happened, other.happened);
        assert_eq!(one.refused, []);
    }
    let same = played(go + 77_777, to(130));
    assert_eq!(same.refused.iter().map(|(_, why)| why.as_str()).collect::<Vec<_>>(), ["the tempo is 1.30 s already"]);
}

#[test]
fn skips_go_where_they_say() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let go = planned_go(&stage, 0, 1).0;
    let at = go + 20 * HERTZ;
    for (command, target) in [
        (Command::Course(CourseCommand::Next(Unit::Repeat)), (0, 2)),
        (Command::Course(CourseCommand::Next(Unit::Set)), (1, 0)),
        (Command::Course(CourseCommand::Back(Unit::Repeat)), (0, 1)),
        (Command::Course(CourseCommand::Back(Unit::Set)), (0, 0)),
    ] {
        let played = play(&stage, &[(at, command)], 7, at + 120 * HERTZ);
        check(&stage, &played);
        let first = played.happened.iter().rev().find_map(|happened| match happened {
            Happened::Go { set, repeat, at: go } if self::at(*go) > at => Some((*set, *repeat)),
            _ => None,
        });
        let then: Vec<_> = played
            .happened
            .iter()
            .filter_map(|happened| match happened {
                Happened::Go { set, repeat, at: go } if self::at(*go) > at => Some((*set, *repeat)),
                _ => None,
            })
            .collect();
        assert_eq!(then.first(), Some(&target), "{command:?}, {first:?}");
    }
    let played =
        play(&stage, &[(go + 3 * HERTZ, Command::Course(CourseCommand::Back(Unit::Repeat)))], 8, go + 60 * HERTZ);
    let last = played.happened.iter().rev().find_map(|happened| match happened {
        Happened::Go { set, repeat, .. } => Some((*set, *repeat)),
        _ => None,
    });
    assert_eq!(last, Some((0, 0)), "just begun: the one before");
}

#[test]
fn what_makes_no_sense_is_refused_in_words() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let (go, _) = planned_go(&stage, 0, 0);
    let early = 2 * HERTZ;
    let commands = [
        (early, Command::Course(CourseCommand::Touch)),
        (early, Command::Course(CourseCommand::Undo)),
        (early, Command::Desk(DeskCommand::Resume)),
        (early, Command::Course(CourseCommand::Back(Unit::Repeat))),
        (go + 9 * HERTZ, Command::Course(CourseCommand::Release)),
        (go + 10 * HERTZ, Command::Course(CourseCommand::Tempo(200))),
        (go + 11 * HERTZ, Command::Course(CourseCommand::Tempo(110))),
        (go + 30 * HERTZ, Command::Course(CourseCommand::Touch)),
        (go + 32 * HERTZ, Command::Course(CourseCommand::Touch)),
    ];
    let played = play(&stage, &commands, 9, go + 60 * HERTZ);
    let words: Vec<&str> = played.refused.iter().map(|(_, why)| why.as_str()).collect();
    let expected = [
        "nobody is swimming yet",
        "there is nothing to take back",
        "nothing is paused",
        "nothing comes before this",
        "no start is held",
        "a tempo stays between 0.40 and 2.50 s",
    ];
    assert_eq!(words[..6], expected);
    assert!(words[6].starts_with("at that tempo"), "{words:?}");
    assert_eq!(words.last(), Some(&"this touch is taken already"));
    check(&stage, &played);
}

#[test]
fn the_phrase_is_said_again_where_there_is_room() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let (go, _) = planned_go(&stage, 0, 0);
    let pressed = go + 20 * HERTZ;
    let countdown = planned_go(&stage, 0, 1).0 - 3 * HERTZ;
    let played = play(
        &stage,
        &[(pressed, Command::Course(CourseCommand::Again)), (countdown - 4_000, Command::Course(CourseCommand::Again))],
        10,
        go + 100 * HERTZ,
    );
    check(&stage, &played);
    let (cues, _) = heard(&stage, &played);
    // At the effect and the 90 ms that the beats take to step back.
    let said = cues.iter().find(|c| c.kind == CueKind::Phrase && c.from > go).unwrap();
    assert_eq!((said.id.as_str(), said.from), ("reach-forward", pressed + LATER + 720));
    assert_eq!(played.refused.len(), 1, "{:?}", played.refused);
}

#[test]
fn a_pause_in_a_countdown_ends_before_it() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let go = planned_go(&stage, 0, 1).0;
    let pause = go - 2 * HERTZ + 3_000;
    let played = play(&stage, &[(pause, Command::Desk(DeskCommand::Pause))], 5, go + 20 * HERTZ);
    check(&stage, &played);
    assert_eq!(goes(&played)[&(0, 1)], go, "on the practice's own clock it stays");
    // It stands still 80 frames behind the pause for 4,000, and goes on a second before the first pip.
    let stands = pause + LATER + 80;
    let back = stands - (go - 4 * HERTZ);
    let out = |practice: u64| (practice + 4_000 + back) as usize;
    let sounds = |frames: std::ops::Range<usize>| played.out[frames].iter().any(|sample| sample.abs() > 0.01);
    let late = 8 * 64 + HERTZ as usize / 10;
    for pip in [3, 2, 1, 0] {
        let at = out(go - pip * HERTZ);
        assert!(!sounds(at - 7 * HERTZ as usize / 10..at - 1), "before the sound {pip} s before the go");
        assert!(sounds(at..at + late), "no sound {pip} s before the go");
    }
}

#[test]
fn the_first_go_can_be_had_sooner_and_stays_the_first() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let planned = planned_go(&stage, 0, 0).0;
    let pressed = 5 * HERTZ;
    let course = |at, command| (at, Command::Course(command));
    let played = play(&stage, &[course(pressed, CourseCommand::Release)], 6, u64::MAX);
    check(&stage, &played);
    let (cues, _) = heard(&stage, &played);
    let go = goes(&played)[&(0, 0)];
    // Ten seconds, and the moment in which one listens.
    assert!(go < planned && (10 * HERTZ..12 * HERTZ).contains(&(go - pressed)), "{go}, planned {planned}");
    assert!(cues.iter().any(|cue| cue.id == "go-in-10" && cue.from == go - 10 * HERTZ));
    let talk = cues
        .iter()
        .find(|cue| matches!(cue.kind, CueKind::Say | CueKind::Set) && (pressed + LATER..go).contains(&cue.from));
    assert!(talk.is_none(), "{talk:?}");
    // The rest follows from it; and taken back, all is as planned.
    assert_eq!(goes(&played)[&(0, 1)] - go, planned_go(&stage, 0, 1).0 - planned);
    let back = play(
        &stage,
        &[course(pressed, CourseCommand::Release), course(pressed + HERTZ, CourseCommand::Undo)],
        6,
        u64::MAX,
    );
    assert_eq!(goes(&back)[&(0, 0)], planned);
    let late = play(&stage, &[course(planned - 8 * HERTZ, CourseCommand::Release)], 6, u64::MAX);
    assert_eq!((late.refused.len(), goes(&late)[&(0, 0)]), (1, planned));
}

/// Keys that others have found: what each run is about stands beside it.
#[test]
fn what_is_taken_back_leaves_no_phrase_twice_and_no_two_voices() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let course = |at, command| (at, Command::Course(command));
    let [ladder, last, rests] = [(0, 0), (0, 2), (1, 0)].map(|(set, repeat)| planned_go(&stage, set, repeat).0);
    // What is taken back at the end, the voice behind it that the undo meets, and when.
    type Run = (Vec<(u64, Command)>, CueKind, fn(&Heard) -> u64);
    let runs: [Run; 3] = [
        // The phrase of the repeat that was skipped to has just been heard when the skip is taken back.
        (
            vec![
                course(rests + 52_979, CourseCommand::Touch),
                course(rests + 174_315, CourseCommand::Next(Unit::Repeat)),
            ],
            CueKind::Phrase,
            |phrase: &Heard| phrase.until + 2_000,
        ),
        // The talk of the next set has just begun, later than planned, when the slower tempo is taken back.
        (vec![course(last + 342_057, CourseCommand::Tempo(6))], CueKind::Set, |talk: &Heard| talk.from + 3_000),
        // The phrase is cut off when the talk that was left out comes back.
        (vec![course(ladder - 99_751, CourseCommand::Release)], CueKind::Phrase, |phrase: &Heard| phrase.from + 2_000),
    ];
    for (mut commands, kind, when) in runs {
        let taken = commands.last().unwrap().0;
        let (cues, _) = heard(&stage, &play(&stage, &commands, 0, taken + 120 * HERTZ));
        let met = cues.iter().find(|cue| cue.kind == kind && cue.from > taken + LATER).unwrap();
        commands.push(course(when(met), CourseCommand::Undo));
        let played = play(&stage, &commands, 0, 700 * HERTZ);
        assert_eq!(played.changes.len(), commands.len());
        check(&stage, &played);
    }
}

/// Who waits for a release hears the phrase again: what was said before the hold is long ago.
#[test]
fn a_phrase_is_heard_again_after_a_long_hold() {
    let stage = stage(PRACTICE, Audience::Headphones).unwrap();
    let go = at(stage.planned.built.strand.starts[1].go);
    let said_by = |hold: u64| {
        let course = |at, command| (at, Command::Course(command));
        let commands = [course(go - 28_000, CourseCommand::Hold), course(go - 28_000 + hold, CourseCommand::Release)];
        let played = play(&stage, &commands, 0, 300 * HERTZ);
        check(&stage, &played);
        let (cues, _) = heard(&stage, &played);
        let real = cues.iter().find(|cue| cue.kind == CueKind::Go && cue.from >= go).unwrap().from;
        let said = |c: &&Heard| c.id == "reach-forward" && (go - 15 * HERTZ..real).contains(&c.from);
        (cues.iter().filter(said).count(), real - go)
    };
    // Held as it has been said, 3.5 s before the go.
    let (said, later) = said_by(HERTZ);
    assert_eq!(said, 1, "{later}");
    let (said, later) = said_by(60 * HERTZ);
    assert_eq!(said, 2, "{later}");
}
