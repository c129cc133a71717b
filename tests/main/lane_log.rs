//! A lane's session in the notebook: six swimmers, touches keyed early, late, twice and taken back, one who sits out for two
//! repeats. The session is simulated, its record read back; every time in the notebook is the one that was keyed.

use crate::lane_heard::{FIVE, script};
use crate::stage::{HERTZ, soft};
use lengthwise::mixer::sample::Frame;
use lengthwise::notebook::entry::{LoggedPractice, LoggedRepeat, ScriptCopy, SwimState, ValueSource};
use lengthwise::notebook::from_record::{LaneSeat, take_over};
use lengthwise::notebook::outline::Outline;
use lengthwise::notebook::{Notebook, OpenFor, Wanted};
use lengthwise::prepare::piece::Playable;
use lengthwise::prepare::swum::{OtherLane, SwumLane, swum};
use lengthwise::prepare::together::{LaneRequest, together};
use lengthwise::prepare::{PracticeRequest, identity};
use lengthwise::session::Programme;
use lengthwise::session::record::{self, HeadLane, RecordEvent, RecordLine, RecordPlace};
use lengthwise::session::simulated::{Simulation, TimedInput, inputs_of, read_inputs, simulate};
use lengthwise::units::calendar::Day;
use lengthwise::units::time::{SampleRate, Seconds};
use std::convert::Infallible;
use std::fmt::Write as _;
use std::sync::atomic::AtomicBool;
use tempfile::TempDir;

const SETS: &str = "  - { set: Fifties, swim: 4 x 50 m on 1:30, tempo: 1.20 s }
  - { set: Joined, do: [{ swim: 50 m, rest: 0 s }, { swim: 50 m, rest: 30 s }] }
";

/// Six in a lane: the fourth swims two of three repeats.
fn six() -> String {
    let shares = FIVE.replace("hundred: 1:52", "hundred: 1:52, swims: 2 of 3");
    let six = shares.replace(" }]", " }, { name: Ulla Sand, hundred: 2:05 }]");
    script(&format!("{{ swimmers: {six} }}"), SETS)
}

struct Pool {
    folder: TempDir,
    request: PracticeRequest,
    lane: Playable,
}

struct Session {
    text: String,
    sound: Vec<Frame>,
    told: Vec<String>,
}

impl Pool {
    fn of(text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a.yaml");
        std::fs::write(&file, text).unwrap();
        let request = PracticeRequest { script: file, ..PracticeRequest::default() };
        let mut prepared = together(&request, &LaneRequest::default()).unwrap();
        assert_eq!(prepared.lanes.len(), 1, "{:#?}", prepared.diagnostics);
        Self { folder, request, lane: Playable::Lane(Box::new(prepared.lanes.remove(0))) }
    }

    fn play(&self, inputs: &[TimedInput]) -> Session {
        let identity = identity(&self.request.script, &self.lane.planned().plan.title);
        let (mut sound, mut told, stop) = (Vec::new(), Vec::new(), AtomicBool::new(false));
        let simulation = Simulation {
            rate: SampleRate::new(HERTZ as u32).unwrap(),
            inputs,
            place: RecordPlace::Folder(self.folder.path().join("sessions")),
            started: "2026-11-29T18:05:00Z".into(),
            stop: &stop,
        };
        let ended = self
            .lane
            .with_programme(&identity, |programme| {
                let mut take = |block: &[Frame]| {
                    sound.extend_from_slice(block);
                    Ok::<(), Infallible>(())
                };
                // Clips that are quickly made: decoding the recordings takes longer than the session.
                let banks = |_| Ok(soft(programme.timeline, programme.score.library));
                let programme = Programme { banks: &banks, ..programme };
                simulate(programme, simulation, &mut take, &mut |line| told.push(line.to_owned()))
            })
            .unwrap();
        Session { text: std::fs::read_to_string(ended.record.unwrap()).unwrap(), sound, told }
    }

    /// The planned go of a swimmer in a start of the first set, in seconds.
    fn go(&self, start: usize, number: u32) -> f64 {
        let starts = &self.lane.planned().built.strand.starts;
        starts[start].go.as_f64() + 5.0 * f64::from(number - 1)
    }

    fn again(&self, head: &HeadLane) -> SwumLane {
        swum(&self.request, None, None, head).unwrap()
    }
}

fn read(text: &str) -> (HeadLane, Vec<RecordLine>) {
    let (head, lines) = record::read(text).unwrap();
    (head.lane.unwrap(), lines)
}

/// What each swimmer swam, by the record.
fn kept(pool: &Pool, text: &str) -> Vec<LoggedPractice> {
    let (head, lines) = read(text);
    let again = pool.again(&head);
    let lane = again.lane.unwrap();
    let one = |(number, name): (u32, &String)| {
        let who = &lane.swimmers[number as usize - 1];
        assert_eq!((&who.name, who.number), (name, number));
        let copy = ScriptCopy { name: "a.yaml".into(), text: again.text.clone() };
        let outline = Outline::of(&who.practice, copy, name, Day::parse("2026-11-29").unwrap());
        let taken = take_over(outline, &lines, Some(LaneSeat::of(number, &who.practice))).unwrap();
        LoggedPractice { record: Some("a".repeat(64)), ..taken.practice }
    };
    (1..).zip(&head.swimmers).map(one).collect()
}

/// What is keyed, and which times come of it: of each the number, the repeat of the first set from 0, the seconds.
#[derive(Default)]
struct Keys {
    lines: String,
    expected: Vec<(u32, usize, f64)>,
}

impl Keys {
    fn key(&mut self, at: f64, what: &str) {
        writeln!(self.lines, "{}:{:06.3} {what}", at as u64 / 60, at % 60.0).unwrap();
    }

    fn touch(&mut self, pool: &Pool, number: u32, start: usize, repeat: usize, split: f64) {
        self.key(pool.go(start, number) + split, &format!("touch {number}"));
        self.expected.push((number, repeat, split));
    }
}

fn keyed(lines: &str) -> Vec<TimedInput> {
    read_inputs(lines, SampleRate::new(HERTZ as u32).unwrap()).unwrap()
}

fn of(practice: &LoggedPractice, set: usize, repeat: usize) -> &LoggedRepeat {
    &practice.sets[set].repeats[repeat]
}

/// What became of each repeat: swum with a touch, left without one, sat out.
fn states(practice: &LoggedPractice) -> String {
    let letter = |repeat: &LoggedRepeat| match repeat.state {
        SwimState::Swum => 's',
        SwimState::Unknown => '?',
        SwimState::Skipped => '-',
        SwimState::Missed | SwimState::Unheard => '!',
    };
    practice.repeats().map(|(_, repeat)| letter(repeat)).collect()
}

/// Seconds that a repeat took by the notebook.
fn time(repeat: &LoggedRepeat) -> Option<f64> {
    let [only] = &repeat.observations[..] else { return None };
    assert_eq!((only.length, only.source), (None, ValueSource::Tapped));
    Some(only.value)
}

#[test]
fn every_time_in_the_notebook_is_the_one_that_was_keyed() {
    let pool = Pool::of(&six());
    let mut keys = Keys::default();
    // First start: a touch twice, one taken back and keyed again, one much too early, the fourth's behind their next go.
    keys.touch(&pool, 1, 0, 0, 47.25);
    keys.key(pool.go(0, 1) + 60.0, "touch 1");
    keys.key(pool.go(0, 2) + 49.0, "touch 2");
    keys.key(pool.go(0, 2) + 49.5, "undo");
    keys.touch(&pool, 2, 0, 0, 52.125);
    keys.touch(&pool, 3, 0, 0, 30.5);
    keys.touch(&pool, 5, 0, 0, 61.0);
    keys.touch(&pool, 6, 0, 0, 66.75);
    // The fifth sits out the second and the third.
    keys.key(pool.go(0, 1) + 84.0, "out 5");
    keys.key(pool.go(1, 4) + 2.0, "touch 4");
    keys.expected.push((4, 0, 92.0));
    for start in [1, 2, 3] {
        for number in [1, 2, 3] {
            keys.touch(&pool, number, start, start, 45.0 + f64::from(number) + start as f64 / 4.0);
        }
    }
    // Number four leaves a gap behind the last, who without number five leaves 20 s behind the first.
    let late = pool.go(1, 1) + 25.0;
    keys.key(late + 58.0, "touch 4");
    keys.key(pool.go(2, 1) + 80.0, "in 5");
    keys.key(pool.go(3, 1) - 20.0, "touch 1 # refused: touched already");
    keys.touch(&pool, 5, 3, 3, 63.5);
    // Without a stop: the first keys it, nobody else does.
    let joined = pool.lane.planned().built.strand.starts[4].go.as_f64();
    keys.key(joined + 99.5, "touch 1");
    let session = pool.play(&keyed(&keys.lines));
    let (_, lines) = read(&session.text);
    let all = kept(&pool, &session.text);
    assert_eq!(all.len(), 6);
    for (number, repeat, split) in &keys.expected {
        let repeat = of(&all[*number as usize - 1], 0, *repeat);
        let time = time(repeat).unwrap_or_else(|| panic!("{number} has no time: {repeat:?}\n{}", session.text));
        assert!((time - split).abs() < 2.0 / HERTZ as f64, "{number}: {time} for {split}");
    }
    // The late one counts from the go that was given to them.
    let gos: Vec<f64> = lines
        .iter()
        .filter_map(|line| match &line.event {
            RecordEvent::Go { which } if (which.swimmer, which.set, which.repeat) == (Some(4), 1, 2) => {
                Some(line.time.as_f64())
            }
            _ => None,
        })
        .collect();
    let given = *gos.last().unwrap();
    let four = of(&all[3], 0, 1);
    assert!((time(four).unwrap() - (late + 58.0 - given)).abs() < 2.0 / HERTZ as f64, "{gos:?} {four:?}");
    assert_eq!(states(&all[0]), "ssssss");
    assert_eq!([0, 1].map(|repeat| time(of(&all[0], 1, repeat))), [None, None], "a time of both is none of either");
    assert_eq!(states(&all[1]), "ssss??");
    assert_eq!(states(&all[3]), "ss???");
    assert_eq!(states(&all[4]), "s--s??");
    assert_eq!(states(&all[5]), "s?????");
    // No beat was heard, so no tempo feeds anything.
    assert!(all.iter().flat_map(LoggedPractice::repeats).all(|(_, repeat)| repeat.tempo.is_none()));

    // Into a notebook and out again, once.
    let mut notebook = Notebook::open(&pool.folder.path().join("n.sqlite"), OpenFor::Writing).unwrap();
    notebook.add("2026-11-29", "kept six", &all).unwrap();
    let read: Vec<LoggedPractice> =
        notebook.practices(&Wanted::default()).unwrap().into_iter().map(|(_, practice)| practice).collect();
    for practice in &all {
        assert!(read.contains(practice), "{practice:?}");
    }
    assert!(notebook.add("2026-11-29", "kept six again", &all).is_err(), "nothing is doubled");
    assert_eq!(notebook.practices(&Wanted::default()).unwrap().len(), 6);
    notebook.undo().unwrap().unwrap();
    assert_eq!(notebook.practices(&Wanted::default()).unwrap(), []);

    // Torn in the middle of the line of number one's second touch: what came before is whole, what never began is left out.
    let second = session.text.match_indices("\"event\":\"touch\"").find(|(at, _)| {
        let line = session.text[*at..].lines().next().unwrap();
        line.contains("\"repeat\":2,") && line.contains("\"swimmer\":1")
    });
    let torn = kept(&pool, &session.text[..second.unwrap().0 + 20]);
    assert_eq!(of(&torn[0], 0, 0), of(&all[0], 0, 0));
    let word = |practice: &LoggedPractice, repeat| of(practice, 0, repeat).state;
    assert_eq!([1, 2].map(|repeat| word(&torn[0], repeat)), [SwimState::Unknown, SwimState::Skipped]);
}

#[test]
fn a_record_of_a_lane_played_again_is_the_same_session() {
    let pool = Pool::of(&six());
    let first = pool.go(0, 1) as u64;
    let keys = [
        (1, "gap 4"),
        (40, "touch 1"),
        (48, "touch 2"),
        (49, "undo"),
        (50, "out 6"),
        (55, "ahead 3"),
        (110, "touch 3"),
        (118, "stop"),
    ];
    let lines_of_keys: String =
        keys.iter().map(|(at, what)| format!("{}:{:02} {what}\n", (first + at) / 60, (first + at) % 60)).collect();
    let session = pool.play(&keyed(&lines_of_keys));
    let lines = read(&session.text).1;
    // That it was stopped is no command: the last line does it again.
    let stop = keyed(lines_of_keys.lines().last().unwrap());
    let again = pool.play(&[inputs_of(&lines).unwrap(), stop].concat());
    assert!(session.sound.len() > 100 * HERTZ as usize);
    assert_eq!(session.sound.len(), again.sound.len());
    assert_eq!(session.sound.iter().zip(&again.sound).position(|(one, other)| one != other), None);
    // What has no time of its own is told when it is heard of, a block earlier or later.
    let words = |session: &Session| -> Vec<String> {
        session.told.iter().map(|line| line.split_once(' ').unwrap().1.to_owned()).collect()
    };
    assert_eq!(words(&session), words(&again));
}

#[test]
fn the_record_of_another_lane_is_refused() {
    let pool = Pool::of(&six());
    let session = pool.play(&keyed("0:01 stop\n"));
    let (head, _) = read(&session.text);
    assert_eq!(head.swimmers.len(), 6);
    assert!(pool.again(&head).lane.is_ok());
    let other = HeadLane { swimmers: head.swimmers[..5].to_vec(), ..head.clone() };
    let Err(OtherLane::Swimmers(names)) = pool.again(&other).lane else { panic!("others swim there") };
    assert_eq!(names.len(), 6);
    let named = HeadLane { name: "3".into(), ..head.clone() };
    assert_eq!(pool.again(&named).lane.unwrap_err().to_string(), "there is no lane of that name, only 1");
    // Who leads and how far apart they leave is the record's: the notebook may think otherwise by now.
    let turned = HeadLane {
        swimmers: head.swimmers.iter().rev().cloned().collect(),
        gap: Seconds::from_secs(7),
        ..head.clone()
    };
    let lane = pool.again(&turned).lane.unwrap();
    let names: Vec<&String> = lane.swimmers.iter().map(|who| &who.name).collect();
    assert_eq!((names, lane.swimmers[1].offset), (turned.swimmers.iter().collect(), Seconds::from_secs(7)));
    let nobody = Pool::of(&six());
    let alone = six().lines().filter(|line| !line.starts_with("lane:")).collect::<Vec<_>>().join("\n");
    std::fs::write(&nobody.request.script, alone).unwrap();
    assert_eq!(nobody.again(&head).lane.unwrap_err(), OtherLane::Nobody);
}
