//! What stands on the screen of real practices, at every size: what is swum, which repeat and round, what each length is,
//! the next go.

use super::*;
use crate::audio::bank::{Bank, BankClip};
use crate::conductor::command::{Command, CourseCommand, DeskCommand, Timing};
use crate::conductor::doubt::AskedTouch;
use crate::conductor::{Conductor, Supply};
use crate::prepare::piece::with_programme;
use crate::prepare::{self, Planned, PracticeRequest, WhoSwims};
use crate::timeline::bank::sound_len;
use crate::units::frame::{OutputFrame, PracticeFrame};
use crate::units::time::SampleRate;
use std::sync::Arc;

const POOL: &str = "lengthwise: 1
title: All kinds
pool: 25 m
pack: first-lengths
practice:
  - { set: Easy start, swim: 4 x 50 m on 1:30, effort: easy, focus: reach-forward }
  - { set: Drills, swim: 3 x 50 m, rest: 20 s, drill: six-kick-switch }
  - set: Drill and swim
    swim: 6 x 50 m on 1:40
    lengths: [{ drill: fist }, { focus: soft-hand }]
  - { set: Four strokes, swim: 2 x 100 m on 3:00, stroke: medley }
  - { set: Test, swim: 400 m, test: time }
  - set: Rounds
    rounds: 3
    between-rounds: 1:00
    do:
      - { swim: 2 x 50 m, part: kick, gear: [board], rest: 15 s }
      - { swim: 25 m, tempo: 1.2 s, rest: 0 s }
      - { swim: 25 m, tempo: 1.3 s, rest: 20 s }
";

const OPEN: &str = "lengthwise: 1
title: Along the buoys
pool: open water
pack: open-water
practice:
  - { set: Out, swim: 10 min, tempo: 1.2 s, rest: 1:00, focus: eyes-low }
  - { set: Round the course, course: { lap: 380 m, laps: 3 }, effort: steady }
";

fn planned(script: &str) -> Planned {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.yaml");
    std::fs::write(&path, script).unwrap();
    let profile = folder.path().join("p.yaml");
    std::fs::write(&profile, "lengthwise-profile: 1\npool: 25 m\nstroke: [{ tempo: 1.30 s, count: 18 }]\n").unwrap();
    let swimmer = Some(WhoSwims::Profile(profile));
    let outcome = prepare::plan(&PracticeRequest { script: path, swimmer, ..PracticeRequest::default() }).unwrap();
    outcome.planned.unwrap_or_else(|| panic!("{:#?}", outcome.diagnostics))
}

/// A moment of a practice.
#[derive(Clone, Copy, Debug)]
enum At {
    /// So many seconds after the go of a repeat of a set, both from 0.
    In(usize, usize, i64),
    /// So many seconds before it.
    Before(usize, usize, i64),
    /// The very beginning.
    Opening,
    /// Half a second before the end.
    End,
}

/// What a session shows at a moment, a second after a command if one is given.
fn seen(planned: &Planned, at: At, command: Option<Command>) -> Snapshot {
    let go = |set: usize, repeat: usize| {
        planned.built.strand.starts.iter().find(|s| (s.set, s.ordinal) == (set, repeat)).unwrap().go
    };
    let secs = Seconds::from_secs;
    let moment = match at {
        At::In(set, repeat, after) => go(set, repeat) + secs(after),
        At::Before(set, repeat, before) => go(set, repeat) - secs(before),
        At::Opening => secs(1),
        At::End => planned.built.timeline.len() + secs(1),
    };
    with_programme(planned, "a", |programme| {
        let rate = SampleRate::new(8_000).unwrap();
        let silence = |sound| {
            let frames = rate.frames(sound_len(sound, &planned.library).unwrap()).max(2) as usize;
            BankClip { samples: vec![0; frames].into(), gain: 1.0, true_peak: 0.1 }
        };
        let bank = Arc::new(Bank { rate, clips: programme.timeline.sounds.iter().map(silence).collect() });
        let mut conductor = Conductor::steered(programme.timeline, &programme.score, bank, Supply::live(rate)).unwrap();
        let frame = PracticeFrame::at(moment, rate);
        if let Some(command) = command {
            let timing = Timing { pressed: frame, practice: frame, output: OutputFrame::ZERO };
            conductor.command(command, timing).unwrap();
        }
        let situation = conductor.situation(PracticeFrame::at(moment + secs(1), rate));
        let practice = programme.score.practice;
        Snapshot {
            title: planned.plan.title.clone(),
            elapsed: moment + secs(1),
            total: planned.built.timeline.len(),
            paused: command == Some(DeskCommand::Pause.into()),
            swum: SwimFacts::of(practice, situation.set, situation.repeat),
            next: situation.coming.and_then(|coming| SwimFacts::of(practice, coming.set, coming.repeat)),
            situation,
            device: swim().device,
            ..Snapshot::default()
        }
    })
}

/// A name, a practice, a moment of it, a command there, and what must be read.
type Case<'c> = (&'c str, &'c Planned, At, Option<Command>, &'c [&'c str]);

#[test]
fn what_matters_can_be_read_at_every_size() {
    let (pool, open) = (planned(POOL), planned(OPEN));
    let hold = Some(CourseCommand::Hold.into());
    let pause = Some(DeskCommand::Pause.into());
    let cases: [Case<'_>; 16] = [
        ("opening", &pool, At::Opening, None, &["next 50 m easy", "repeat 1 of 4", "go in"]),
        ("crawl set", &pool, At::In(0, 1, 10), None, &["50 m easy", "repeat 2 of 4", "swim 0:11", "go"]),
        ("rest", &pool, At::Before(0, 2, 13), None, &["next 50 m easy", "repeat 3 of 4", "go in 12", "on"]),
        (
            "drill set",
            &pool,
            At::In(1, 0, 10),
            None,
            &["50 m six kick switch drill", "repeat 1 of 3", "swim 0:11", "go"],
        ),
        ("first length", &pool, At::In(2, 4, 5), None, &["50 m fist drill", "repeat 5 of 6", "swim 0:06"]),
        ("second length", &pool, At::In(2, 4, 50), None, &["50 m swim", "repeat 5 of 6", "swim 0:51"]),
        ("lengths to come", &pool, At::Before(2, 4, 13), None, &["next 50 m fist drill / swim", "repeat 5 of 6"]),
        ("medley", &pool, At::In(3, 1, 20), None, &["100 m medley", "repeat 2 of 2", "swim 0:21"]),
        ("test", &pool, At::In(4, 0, 60), None, &["400 m timed test", "set 5 of 6", "swim 1:01"]),
        ("rounds", &pool, At::In(5, 5, 10), None, &["50 m kick", "round 2 of 3", "repeat 2 of 4", "swim 0:11", "go"]),
        ("straight on", &pool, At::In(5, 6, 3), None, &["25 m swim", "round 2 of 3", "repeat 3 of 4", "straight on"]),
        ("hold in a swim", &pool, At::In(0, 1, 10), hold, &["50 m easy", "repeat 2 of 4", "swim 0:11", "held"]),
        ("hold in a rest", &pool, At::Before(0, 2, 13), hold, &["next 50 m easy", "repeat 3 of 4", "rest", "held"]),
        (
            "pause",
            &pool,
            At::In(5, 5, 10),
            pause,
            &["50 m kick", "round 2 of 3", "repeat 2 of 4", "swim 0:11", "paused"],
        ),
        ("open water", &open, At::In(0, 0, 300), None, &["10 min swim", "set 1 of 2", "swim 5:01", "go"]),
        ("a course", &open, At::Before(1, 0, 13), None, &["next 3 laps of 380 m steady", "set 2 of 2", "go in 12"]),
    ];
    for (case, (what, planned, at, command, expected)) in cases.into_iter().enumerate() {
        let snapshot = seen(planned, at, command);
        // In the quick loop each at one size, all sizes in turn.
        for (width, height) in SIZES.into_iter().skip(amount(case % SIZES.len(), 0)).take(amount(1, SIZES.len())) {
            let found = drawn(&snapshot, Over::Nothing, PLAIN, width, height);
            expected.iter().for_each(|text| reads(&found, text, what));
        }
    }
}

#[test]
fn the_focus_and_the_lengths_are_there() {
    let pool = planned(POOL);
    for (width, height) in SIZES {
        let found = drawn(&seen(&pool, At::In(0, 1, 10), None), Over::Nothing, PLAIN, width, height);
        for word in ["reach", "wall"] {
            assert!(
                letters(&found, word).is_some() || text(&found).contains(word),
                "{word} at {width} x {height}\n{}",
                text(&found)
            );
        }
        let found = text(&drawn(&seen(&pool, At::In(3, 1, 20), None), Over::Nothing, PLAIN, width, height));
        for stroke in ["fly", "back", "breast", "crawl"] {
            assert!(found.contains(stroke), "{stroke} at {width} x {height}\n{found}");
        }
        let found = text(&drawn(&seen(&pool, At::In(2, 4, 5), None), Over::Nothing, PLAIN, width, height));
        assert!(found.contains("fist drill") && found.contains("swim"), "{width} x {height}\n{found}");
    }
}

#[test]
fn a_fault_and_a_question_can_be_read_over_everything() {
    let mut snapshot = seen(&planned(POOL), At::In(5, 5, 10), None);
    snapshot.faults =
        vec![Fault { number: 1, short: "go lost".into(), words: "go not heard at 7:25: Rounds, 5 of 12".into() }];
    for (width, height) in SIZES {
        let found = drawn(&snapshot, Over::Nothing, PLAIN, width, height);
        for text_of in ["50 m kick", "round 2 of 3", "repeat 2 of 4", "swim 0:11", "go"] {
            reads(&found, text_of, "with a fault");
        }
        assert!(text(&found).contains("go not heard at 7:25"), "{width} x {height}\n{}", text(&found));
        let seen = Front { seen: 1, ..Front::default() };
        let mut after = Buffer::empty(found.area);
        view(&snapshot, seen, PLAIN, &mut after);
        assert!(!text(&after).contains("not heard"), "{}", text(&after));
        let mut asks = snapshot.clone();
        asks.doubt = Some(AskedTouch { split: Seconds::from_secs(3), number: None });
        let found = text(&drawn(&asks, Over::Nothing, PLAIN, width, height));
        assert!(found.contains("Touch at 0:03? t again takes it"), "{width} x {height}\n{found}");
    }
}

#[test]
fn every_is_shown_only_where_the_next_start_comes_after_it() {
    let pool = planned(POOL);
    let every = |at, command| seen(&pool, at, command).situation.every;
    assert_eq!(every(At::In(0, 1, 10), None), Some(Seconds::from_secs(90)));
    assert_eq!(every(At::Before(0, 1, 10), None), Some(Seconds::from_secs(90)));
    // The last of a set, one whose rest counts from the touch, one that goes straight on, one before a hold.
    for (at, command) in [
        (At::In(0, 3, 10), None),
        (At::In(1, 0, 10), None),
        (At::In(5, 6, 3), None),
        (At::In(0, 1, 10), Some(CourseCommand::Hold.into())),
    ] {
        assert_eq!(every(at, command), None, "{at:?}");
    }
    let shown = |at| text(&drawn(&seen(&pool, at, None), Over::Nothing, PLAIN, 100, 30));
    assert!(shown(At::In(0, 1, 10)).contains("every 1:30") && !shown(At::In(0, 3, 10)).contains("every 1:30"));
    assert!(shown(At::In(1, 0, 10)).contains("rest 0:20"));
}

#[test]
fn the_end_says_so() {
    let over = seen(&planned(POOL), At::End, None);
    for (width, height) in SIZES {
        reads(&drawn(&over, Over::Nothing, PLAIN, width, height), "done", "the end");
    }
}

/// The least that a terminal on deck has: what is swum and which repeat are large there all the same.
#[test]
fn nothing_that_matters_is_small_at_60_by_20() {
    for planned in [planned(POOL), planned(OPEN)] {
        let starts = &planned.built.strand.starts;
        for start in starts.iter().skip(1).step_by(amount(3, 1)) {
            for at in [At::Before(start.set, start.ordinal, 13), At::In(start.set, start.ordinal, 5)] {
                let snapshot = seen(&planned, at, None);
                let found = drawn(&snapshot, Over::Nothing, PLAIN, 60, 20);
                let pieces = [words::what(&snapshot), words::which(&snapshot)].concat();
                for word in pieces.iter().flat_map(|piece| piece.split(' ')) {
                    assert!(letters(&found, word).is_some(), "{at:?}: `{word}` of {pieces:?}\n{}", text(&found));
                }
            }
        }
    }
}
