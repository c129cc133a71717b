//! A lane steered at its speaker: touches one by one, who leaves when, what is called and recorded. Played on the real mixer and
//! no device; what is heard is worked out from the legs that each command leaves.

use crate::lane_heard::{FIVE, lane};
use crate::stage::{HERTZ, Stage, stage_of_lane};
use crate::steering::{Heard, LATER, Played, at, heard, no_click, play};
use lengthwise::conductor::command::{
    Command, CourseCommand, DeskCommand, Happened, LaneCommand, OwnEvent, OwnKind, Unit,
};
use lengthwise::timeline::CueKind;
use lengthwise::units::time::Seconds;
use proptest::prelude::*;
use std::collections::BTreeMap;

/// Send-offs, written rests, a swim without a stop, one who swims three of four and one who swims half as far.
const SETS: &str = "  - { set: Fifties, swim: 3 x 50 m on 1:50, focus: head-still }
  - { set: Rested, swim: 3 x 50 m, rest: 20 s, focus: soft-hand }
  - { set: Joined, rounds: 2, do: [{ swim: 50 m, rest: 0 s }, { swim: 50 m, rest: 30 s }] }
";

fn six() -> Stage {
    let shares = FIVE.replace("hundred: 1:52", "hundred: 1:52, swims: 2 of 3");
    let six = shares.replace(" }]", " }, { name: Ulla Sand, hundred: 2:05 }]");
    stage_of_lane(lane(&format!("{{ swimmers: {six} }}"), SETS))
}

fn of(command: LaneCommand) -> Command {
    command.into()
}

/// What the record hears of each swimmer, in order.
fn own(played: &Played) -> Vec<(u32, OwnEvent)> {
    let own = |happened: &Happened| match happened {
        Happened::Own { number, own } => Some((*number, *own)),
        _ => None,
    };
    played.happened.iter().filter_map(own).collect()
}

/// Every go by swimmer, set and repeat; the last where there are several.
fn goes(played: &Played) -> BTreeMap<(u32, usize, usize), u64> {
    let go = |(number, own): (u32, OwnEvent)| match own.kind {
        OwnKind::Go { at: go } => Some(((number, own.set, own.repeat), at(go))),
        _ => None,
    };
    own(played).into_iter().filter_map(go).collect()
}

/// The seconds of every split.
fn splits(played: &Played) -> Vec<(u32, usize, usize, f64)> {
    let split = |(number, own): (u32, OwnEvent)| match own.kind {
        OwnKind::Touch { split, .. } => Some((number, own.set, own.repeat, split.as_f64())),
        _ => None,
    };
    own(played).into_iter().filter_map(split).collect()
}

/// What holds whatever was keyed.
fn holds(stage: &Stage, played: &Played) {
    assert_eq!(played.missed, 0, "events missed");
    let (cues, beats) = heard(stage, played);
    assert_eq!(beats, [] as [u64; 0], "a lane's speaker plays no beats");
    let voices: Vec<&Heard> = cues.iter().filter(|cue| cue.kind.is_voice()).collect();
    for pair in voices.windows(2) {
        assert!(pair[0].until <= pair[1].from, "{:?} over {:?}", pair[0], pair[1]);
    }
    // Whoever the record has away left on a tone, and behind the first was called for it.
    let near = |frame: u64| played.changes.iter().any(|c| c.frame.abs_diff(frame) < 3 * HERTZ);
    let tones: Vec<u64> = cues.iter().filter(|cue| cue.kind == CueKind::Go).map(|cue| cue.from).collect();
    for ((number, set, repeat), go) in goes(played) {
        let on_tone = tones.contains(&go) || near(go);
        assert!(on_tone, "{number} is away at {go} without a tone (set {set}, repeat {repeat})");
        let countdown = cues.iter().any(|cue| cue.kind == CueKind::Pip && cue.from + HERTZ == go);
        let id = format!("start-{number}");
        let called = cues.iter().any(|cue| cue.id == id && cue.from + 2 * HERTZ == go);
        assert!(countdown || called || near(go), "{number} is not called for {go}");
    }
    // In the silence before the clock's go there are pips alone.
    let pips: Vec<&Heard> = cues.iter().filter(|cue| cue.kind == CueKind::Pip && cue.id == "pip-1").collect();
    for pip in pips {
        let (go, silence) = (pip.from + HERTZ, pip.from - 2 * HERTZ);
        let since = played.changes.iter().map(|c| c.frame).filter(|frame| *frame <= go).max().unwrap_or(0) + 80;
        let within = |cue: &&Heard| cue.from < go && cue.until > silence.max(since) && cue.kind != CueKind::Pip;
        let heard = cues.iter().find(within).filter(|_| silence.max(since) < go);
        assert!(heard.is_none(), "{heard:?} in the countdown to {go}");
    }
    no_click(played);
}

#[test]
fn a_lane_that_nobody_steers_is_the_file() {
    let stage = six();
    let plain = play(&stage, &[], 1, u64::MAX);
    assert!(plain.finished);
    holds(&stage, &plain);
    // Everybody's every go, on the frame that the plan has.
    let (lane, _) = stage.lane.as_ref().unwrap();
    let own = stage.planned.built.followers.iter().flat_map(|follower| &follower.starts);
    let follow: Vec<u64> = own.filter(|start| !start.repeat.joined).map(|start| at(start.go)).collect();
    let told = goes(&plain);
    assert_eq!(lane.swimmers.len(), 6);
    assert!(follow.iter().all(|go| told.values().any(|told| told == go)));
    // A command that changes nothing changes no sample, calls included.
    let same = play(&stage, &[(3 * HERTZ, of(LaneCommand::Gap(Seconds::from_secs(5))))], 2, u64::MAX);
    assert_eq!((same.changes.len(), same.refused.len()), (1, 0));
    assert_eq!(plain.out.iter().zip(&same.out).position(|(a, b)| a != b), None);
}

/// Six through every set, each touch keyed where the swimmer is: the record has every split to the frame, no start is lost, and
/// where a rest is written nobody has less of it.
#[test]
fn every_split_is_recorded_and_no_start_lost() {
    let stage = six();
    let (lane, _) = stage.lane.as_ref().unwrap();
    // A tenth faster or slower than expected, by swimmer.
    let pace = [0.95, 1.0, 1.04, 0.97, 1.02, 1.06];
    let mut keyed: Vec<(u64, Command)> = Vec::new();
    let mut expected = Vec::new();
    let mut away: BTreeMap<(u32, usize, usize), u64> = BTreeMap::new();
    // Gos move with touches: keyed as far as is known, again and again.
    loop {
        let played = play(&stage, &keyed, 3, u64::MAX);
        assert_eq!(played.refused, []);
        let new: Vec<_> = goes(&played).into_iter().filter(|(key, go)| away.get(key) != Some(go)).collect();
        let Some(first) = new.iter().map(|(_, go)| *go).min() else {
            assert!(played.finished);
            holds(&stage, &played);
            let mut told = splits(&played);
            told.sort_by(|a, b| a.partial_cmp(b).unwrap());
            expected.sort_by(|a: &(u32, usize, usize, f64), b| a.partial_cmp(b).unwrap());
            assert_eq!(told.len(), expected.len());
            for (told, expected) in told.iter().zip(&expected) {
                assert_eq!((told.0, told.1, told.2), (expected.0, expected.1, expected.2));
                assert!((told.3 - expected.3).abs() < 1.5 / HERTZ as f64, "{told:?} {expected:?}");
            }
            // 3 + 3 + 2 starts of six, less those that one sits out.
            let starts: usize =
                lane.sets.iter().flat_map(|set| &set.starts).map(|start| start.swims.iter().flatten().count()).sum();
            assert_eq!(told.len(), starts);
            // Who touches before the lane leaves again has the rest that is written; behind that nobody can wait for them.
            let leaves = goes(&played)
                .iter()
                .filter(|((_, set, repeat), _)| (*set, *repeat) == (1, 1))
                .map(|(_, go)| *go)
                .min()
                .unwrap();
            for ((number, set, repeat), go) in
                goes(&played).iter().filter(|((_, set, repeat), _)| (*set, *repeat) == (1, 1))
            {
                let split = expected.iter().find(|e| (e.0, e.1, e.2) == (*number, *set, repeat - 1));
                let Some((.., split)) = split else { continue };
                if away[&(*number, *set, repeat - 1)] as f64 + split * HERTZ as f64 > leaves as f64 {
                    continue;
                }
                let rest = *go as f64 / HERTZ as f64 - away[&(*number, *set, repeat - 1)] as f64 / HERTZ as f64 - split;
                assert!(rest >= 20.0 - 0.001, "{number} rests {rest}");
            }
            return;
        };
        // Only what is known for certain: the next start's gos may still move.
        for (key, go) in new.into_iter().filter(|(_, go)| *go < first + 40 * HERTZ) {
            let (number, set, repeat) = key;
            let who = &lane.swimmers[number as usize - 1];
            let swum = lane.sets[set]
                .starts
                .iter()
                .find_map(|start| start.swims[number as usize - 1].clone().filter(|swims| swims.start == repeat));
            let swum = swum.unwrap();
            let repeats = &who.practice.sets().nth(set).unwrap().repeats[swum.clone()];
            let time: f64 = repeats.iter().map(|repeat| repeat.predicted.as_f64()).sum();
            let split = (time * pace[number as usize - 1] * HERTZ as f64) as u64;
            keyed.push((go + split, of(LaneCommand::Touch(number))));
            expected.push((number, set, swum.end - 1, split as f64 / HERTZ as f64));
            away.insert(key, go);
        }
        keyed.sort_by_key(|(at, _)| *at);
    }
}

/// A pause of half a second while all swim: the practice's clock stands still, the swimmers do not.
#[test]
fn a_pause_takes_nothing_from_a_split() {
    let stage = six();
    let first = go(&stage, 0, 0);
    let keyed = [
        touch(first + 45 * HERTZ, 1),
        (first + 46 * HERTZ, Command::Desk(DeskCommand::Pause)),
        touch(first + 52 * HERTZ, 2),
        (first + 54 * HERTZ, Command::Desk(DeskCommand::Pause)),
        touch(first + 60 * HERTZ, 3),
    ];
    let played = play(&stage, &keyed, 5, first + 100 * HERTZ);
    // The stage's pauses are 4,000 frames long. By hand: 2 leaves 5 s and 3 leaves 10 s behind the first.
    let pause = 4_000.0 / HERTZ as f64;
    let wanted = [45.0, 52.0 - 5.0 + pause, 60.0 - 10.0 + 2.0 * pause];
    let told: Vec<f64> = splits(&played).into_iter().map(|(.., split)| split).collect();
    assert_eq!(told.len(), 3);
    for (told, wanted) in told.iter().zip(wanted) {
        assert!((told - wanted).abs() < 1.5 / HERTZ as f64, "{told} {wanted}");
    }
}

/// Who leads by a command is called before the countdown of their first start, and of each set; who leads by the plan is not.
#[test]
fn a_new_leader_is_called_before_the_countdown() {
    if !lengthwise::pack::speech::AVAILABLE {
        eprintln!("skipped: without the built-in voice nobody has a name");
        return;
    }
    let stage = six();
    let keyed = [(go(&stage, 0, 0) + 20 * HERTZ, of(LaneCommand::Ahead(2)))];
    let played = play(&stage, &keyed, 6, go(&stage, 1, 1));
    holds(&stage, &played);
    let (cues, _) = heard(&stage, &played);
    let called = |from: u64, to: u64, id: &str| {
        let own = cues.iter().filter(|cue| cue.id == id && cue.from > from && cue.until < to);
        own.map(|cue| cue.until).collect::<Vec<_>>()
    };
    // Two leads from the second start on: "Ida" 0.2 s before its pips, nothing of it before the third, again before the next set.
    let (second, third) = (go(&stage, 0, 1), go(&stage, 0, 2));
    let own = called(go(&stage, 0, 0) + 20 * HERTZ, second, "start-2");
    assert_eq!(own.len(), 1, "{cues:?}");
    assert!(own[0] <= second - 3 * HERTZ - HERTZ / 5 && own[0] > second - 5 * HERTZ, "{own:?} {second}");
    assert!(called(second, third, "start-2").is_empty());
    let later: Vec<u64> =
        cues.iter().filter(|cue| cue.id == "start-2" && cue.from > third).map(|cue| cue.until).collect();
    let opens = [go(&stage, 1, 0), go(&stage, 2, 0)];
    assert_eq!(later.len(), 2);
    assert!(later.iter().zip(opens).all(|(until, go)| *until + 3 * HERTZ < go && *until + 5 * HERTZ > go), "{later:?}");
    // The one who led leaves second, and is called like everybody behind the first.
    assert_eq!(called(second, second + 6 * HERTZ, "start-1").len(), 1);
    assert!(cues.iter().any(|cue| cue.id == "start-2" && cue.text == "Ida"));
}

/// A touch that is keyed late puts off what is said to those who stand, also where others take no touches.
#[test]
fn nobody_is_talked_to_before_the_last_is_in() {
    let stage = six();
    let first = go(&stage, 0, 0);
    let voices = |keyed: &[(u64, Command)]| {
        let played = play(&stage, keyed, 7, go(&stage, 0, 1));
        holds(&stage, &played);
        let (cues, _) = heard(&stage, &played);
        let said = cues.into_iter().filter(|cue| cue.kind.is_voice() && cue.from > first + 60 * HERTZ);
        said.map(|cue| cue.from).min().unwrap()
    };
    // As planned the last is in after 25 + 62 s, and the first word comes 3 s later or more. At 93 s somebody comes in.
    let plain = voices(&[]);
    let late = first + 93 * HERTZ;
    assert!(plain > first + 90 * HERTZ && plain < late + 3 * HERTZ, "{plain} {late}");
    let put_off = voices(&[touch(late, 5)]);
    assert!(put_off >= late + 3 * HERTZ, "{put_off} {late}");
}

/// The lane's go of a start of a set, as planned.
fn go(stage: &Stage, set: usize, start: usize) -> u64 {
    let mut starts = stage.planned.built.strand.starts.iter().filter(|s| s.set == set && !s.repeat.joined);
    at(starts.nth(start).unwrap().go)
}

fn touch(at: u64, number: u32) -> (u64, Command) {
    (at, of(LaneCommand::Touch(number)))
}

#[test]
fn who_touches_late_leaves_last_or_not_at_all() {
    let stage = six();
    let (first, second) = (go(&stage, 0, 0), go(&stage, 0, 1));
    // Two touches when they have gone without them, one second behind their own go; six hundredths of a minute before the end
    // five does.
    let keyed = [
        touch(first + 48 * HERTZ, 1),
        touch(second + 6 * HERTZ, 2),
        touch(second + 107 * HERTZ, 5),
        touch(second + 108 * HERTZ, 4),
    ];
    let played = play(&stage, &keyed, 4, u64::MAX);
    assert_eq!(played.refused, []);
    holds(&stage, &played);
    let late = second + 30 * HERTZ;
    assert_eq!(goes(&played)[&(2, 0, 1)], late, "a gap behind the last, who leaves 25 s behind the first");
    let event = |number, repeat, wanted: &dyn Fn(&OwnKind) -> bool| {
        own(&played).iter().any(|(who, own)| (*who, own.set, own.repeat) == (number, 0, repeat) && wanted(&own.kind))
    };
    assert!(event(2, 0, &|kind| matches!(kind, OwnKind::Touch { split, .. } if at(*split) == second + HERTZ - first)));
    assert!(event(2, 1, &|kind| matches!(kind, OwnKind::Late { at: go } if at(*go) == late)));
    let (cues, _) = heard(&stage, &played);
    assert!(cues.iter().any(|cue| cue.id == "start-2" && cue.from == late - 2 * HERTZ), "called for it");
    // Nobody else moves.
    assert_eq!(goes(&played)[&(6, 0, 1)], second + 25 * HERTZ);
    assert_eq!(goes(&played)[&(1, 0, 2)], go(&stage, 0, 2));
}

#[test]
fn a_touch_is_taken_once_and_taken_back() {
    let stage = six();
    let first = go(&stage, 0, 0);
    let keyed = [
        touch(first + 50 * HERTZ, 2),
        touch(first + 51 * HERTZ, 2),
        touch(first + 52 * HERTZ, 7),
        (first + 53 * HERTZ, Command::Course(CourseCommand::Undo)),
        touch(first + 55 * HERTZ, 2),
        (first + 56 * HERTZ, Command::Course(CourseCommand::Touch)),
        touch(first - 10 * HERTZ, 1),
    ];
    let mut keyed = keyed.to_vec();
    keyed.sort_by_key(|(at, _)| *at);
    let played = play(&stage, &keyed, 5, u64::MAX);
    let refused: Vec<&str> = played.refused.iter().map(|(_, why)| why.as_str()).collect();
    let expected = [
        "Bo Lind has not left yet",
        "Ida Berg has touched already",
        "there is no number 7 in this lane of 6",
        "in a lane a touch is somebody's: `touch 3` is number three's",
    ];
    assert_eq!(refused, expected);
    assert_eq!(splits(&played), [(2, 0, 0, 45.0), (2, 0, 0, 50.0)]);
    assert!(played.happened.contains(&Happened::Undone { command: CourseCommand::Lane(LaneCommand::Touch(2)) }));
    holds(&stage, &played);
}

#[test]
fn a_written_rest_counts_from_the_last_touch() {
    let stage = six();
    let (first, planned) = (go(&stage, 1, 0), go(&stage, 1, 1));
    // Everybody fast: the go comes when each has had 20 s, to the second, and not before.
    let fast: Vec<_> = (0..6).map(|who| touch(first + (5 * who + 40) * HERTZ, who as u32 + 1)).collect();
    let played = play(&stage, &fast, 6, u64::MAX);
    assert_eq!(played.refused, []);
    holds(&stage, &played);
    let next = goes(&played)[&(1, 1, 1)];
    // The last touch is 65 s behind the first go, so the countdown is the soonest there is.
    assert!(next < planned && next > first + 68 * HERTZ, "{next} {planned}");
    // One who is slow puts it off: 20 s behind their touch they leave in their place.
    let slow = [touch(first + 48 * HERTZ, 1), touch(first + 75 * HERTZ, 2)];
    let played = play(&stage, &slow, 7, u64::MAX);
    holds(&stage, &played);
    let gos = goes(&played);
    assert_eq!((gos[&(1, 1, 1)], gos[&(2, 1, 1)]), (first + 90 * HERTZ, first + 95 * HERTZ));
    assert!(first + 90 * HERTZ > planned);
}

#[test]
fn order_gap_and_who_swims_change_from_the_next_start_on() {
    let stage = six();
    let (first, second, third) = (go(&stage, 0, 0), go(&stage, 0, 1), go(&stage, 0, 2));
    let soon = first + 60 * HERTZ;
    let keyed = [
        (soon, of(LaneCommand::Ahead(3))),
        (soon + 1, of(LaneCommand::Caught(6))),
        (soon + 2, of(LaneCommand::Out(1))),
        (second + 3 * HERTZ, of(LaneCommand::In(1))),
        (second + 4 * HERTZ, of(LaneCommand::Gap(Seconds::from_secs(30)))),
        (second + 5 * HERTZ, Command::Course(CourseCommand::Undo)),
    ];
    let played = play(&stage, &keyed, 8, u64::MAX);
    let refused: Vec<&str> = played.refused.iter().map(|(_, why)| why.as_str()).collect();
    assert_eq!(refused, ["6 swimmers 30 s apart: the last would leave in the next countdown: at most 16 s"]);
    holds(&stage, &played);
    let gos = goes(&played);
    let order = |start: usize, go: u64| {
        let mut leave: Vec<(u64, u32)> = gos
            .iter()
            .filter(|((_, set, _), at)| *set == 0 && (go..go + 90 * HERTZ).contains(*at))
            .map(|((number, ..), at)| ((at - go) / HERTZ, *number))
            .collect();
        leave.sort();
        assert!(!leave.is_empty(), "start {start}");
        leave
    };
    assert_eq!(order(0, first), [(0, 1), (5, 2), (10, 3), (15, 4), (20, 5), (25, 6)]);
    // One is out, three before two, 10 s apart; four sits out the second of three and leaves their place free.
    let second_order = order(1, second);
    assert_eq!(second_order.iter().map(|(_, number)| *number).filter(|n| *n != 4).collect::<Vec<_>>(), [3, 2, 5, 6]);
    assert_eq!(second_order.first(), Some(&(0, 3)));
    assert_eq!(second_order.last(), Some(&(40, 6)));
    // The undo took back the last command that was taken: one stays out.
    assert!(order(2, third).iter().all(|(_, number)| *number != 1));
}

/// A skip while some wait at the wall, taken back when their gos have passed: nobody heard them, so they leave last.
#[test]
fn who_should_have_left_during_a_skip_that_is_taken_back_leaves_last() {
    let stage = six();
    let second = go(&stage, 0, 1);
    let skip = (second + 7 * HERTZ, Command::Course(CourseCommand::Next(Unit::Repeat)));
    let keyed = [skip, (second + 13 * HERTZ, Command::Course(CourseCommand::Undo))];
    let played = play(&stage, &keyed, 9, u64::MAX);
    assert_eq!(played.refused, []);
    holds(&stage, &played);
    let gos = goes(&played);
    // The third should have left after 10 s; the last of the others leaves after 25 s. Four sits this one out.
    assert_eq!(
        (gos[&(2, 0, 1)], gos[&(5, 0, 1)], gos[&(6, 0, 1)]),
        (second + 5 * HERTZ, second + 20 * HERTZ, second + 25 * HERTZ)
    );
    assert_eq!(gos[&(3, 0, 1)], second + 30 * HERTZ);
    let late = own(&played).into_iter().filter(|(_, own)| matches!(own.kind, OwnKind::Late { .. }));
    assert_eq!(late.map(|(number, _)| number).collect::<Vec<_>>(), [3]);
}

/// Each case is a whole practice of six: a fifth of what is asked for.
fn lane_cases() -> ProptestConfig {
    let asked = crate::cases::cases(20);
    ProptestConfig { cases: asked.cases.div_ceil(5), ..asked }
}

fn any_of_a_lane() -> impl Strategy<Value = Command> {
    let number = 1_u32..8;
    prop_oneof![
        12 => number.clone().prop_map(|n| of(LaneCommand::Touch(n))),
        2 => number.clone().prop_map(|n| of(LaneCommand::Out(n))),
        2 => number.clone().prop_map(|n| of(LaneCommand::In(n))),
        2 => number.clone().prop_map(|n| of(LaneCommand::Ahead(n))),
        1 => number.prop_map(|n| of(LaneCommand::Caught(n))),
        2 => (2_i64..25).prop_map(|gap| of(LaneCommand::Gap(Seconds::from_secs(gap)))),
        4 => Just(Command::Course(CourseCommand::Undo)),
        1 => Just(Command::Course(CourseCommand::Hold)),
        2 => Just(Command::Course(CourseCommand::Release)),
        1 => Just(Command::Course(CourseCommand::Next(Unit::Repeat))),
        1 => Just(Command::Course(CourseCommand::Back(Unit::Repeat))),
        1 => Just(Command::Course(CourseCommand::Again)),
        1 => Just(Command::Desk(DeskCommand::Pause)),
        1 => (40_i64..12_000).prop_map(|by| Command::Course(CourseCommand::Shift(Seconds::from_millis(by)))),
    ]
}

proptest! {
    #![proptest_config(lane_cases())]

    #[test]
    fn any_commands_to_a_lane_keep_the_rules(
        commands in prop::collection::vec((1_u64..600 * HERTZ, any_of_a_lane()), 1..24),
        seed in any::<u64>(),
    ) {
        let stage = six();
        let mut commands = commands;
        commands.sort_by_key(|(frame, _)| *frame);
        let played = play(&stage, &commands, seed, 900 * HERTZ);
        holds(&stage, &played);
        let reached = commands.iter().filter(|(frame, _)| frame + LATER < played.reached).count();
        prop_assert!(played.changes.len() + played.refused.len() >= reached);
    }
}
