//! What several lanes hear from one speaker: everybody's start on its frame and called, each go once, nothing over anything else.

use crate::cases::amount;
use crate::lane_heard::{cues_of, frames, script};
use lengthwise::pack::speech::{self, Speech};
use lengthwise::prepare::side_by_side::for_one_speaker;
use lengthwise::prepare::together::LaneRequest;
use lengthwise::prepare::{Planned, PracticeRequest, Prepared};
use lengthwise::timeline::{Cue, CueKind};
use lengthwise::units::time::Seconds;
use std::collections::BTreeMap;

const NAMES: [&str; 12] = ["Ada", "Bo", "Cy", "Dag", "Eve", "Ida", "Jon", "Kim", "Liv", "Mats", "Per", "Una"];

/// Three lanes of four, from the quickest lane to the slowest; `more` is added to the entry of each lane.
fn three(more: [&str; 3]) -> String {
    let lanes: Vec<String> = more.iter().zip(1..).map(|(more, lane)| format!("{{ lane: {lane}{more} }}")).collect();
    let one = |(place, name): (usize, &&str)| {
        let (lane, hundred) = (place / 4 + 1, 85 + 3 * place);
        format!("{{ name: {name}, hundred: {}:{:02}, lane: {lane} }}", hundred / 60, hundred % 60)
    };
    let swimmers: Vec<String> = NAMES.iter().enumerate().map(one).collect();
    format!("{{ lanes: [{}], swimmers: [{}] }}", lanes.join(", "), swimmers.join(", "))
}

pub fn prepared(lane: &str, practice: &str) -> Prepared {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.yaml");
    std::fs::write(&file, script(lane, practice)).unwrap();
    let speech = speech::AVAILABLE.then(|| Speech::new(None));
    let request = PracticeRequest { script: file, speech, ..PracticeRequest::default() };
    for_one_speaker(&request, &LaneRequest::default()).unwrap()
}

fn heard(lane: &str, practice: &str) -> Planned {
    let prepared = prepared(lane, practice);
    prepared.planned.unwrap_or_else(|| panic!("{:#?}", prepared.diagnostics))
}

/// Whole seconds of the gos of a set and how many pips are heard in the three seconds before each; no voice may run into another
/// voice or tone. Gives too what is said in the three seconds before each go without a pip.
fn calls(planned: &Planned) -> BTreeMap<i64, String> {
    let cues = cues_of(planned);
    let loud: Vec<_> = cues.iter().filter(|(_, cue)| cue.kind.is_voice() || cue.kind == CueKind::Go).collect();
    for pair in loud.windows(2) {
        assert!(pair[0].0 + pair[0].1.len <= pair[1].0, "{:?} runs into {:?}", pair[0], pair[1]);
    }
    let second = Seconds::from_secs(1);
    let go = |(at, cue): &&(Seconds, &Cue)| (cue.kind == CueKind::Go).then_some(*at);
    let gos: Vec<Seconds> = cues.iter().filter_map(|cue| go(&cue)).collect();
    let before = |go: Seconds| {
        let near = cues.iter().filter(|(at, _)| *at < go && go - *at <= second.scaled(4, 1));
        let pips = near.clone().filter(|(_, cue)| cue.kind == CueKind::Pip).count();
        let said = near.filter(|(_, cue)| cue.id.starts_with("start-"));
        let said: Vec<&str> = said.map(|(_, cue)| cue.text.as_str()).collect();
        if pips > 0 { format!("{pips} pips") } else { said.join(" + ") }
    };
    gos.into_iter().map(|go| (go.nanos() / second.nanos(), before(go))).collect()
}

#[test]
fn lanes_of_one_send_off_hear_each_go_once() {
    const RATE: usize = 8_000;
    let repeats = amount(4, 10);
    let practice = format!("  - {{ set: Fifties, swim: {repeats} x 50 m on 1:50, focus: head-still }}\n");
    let planned = heard(&three([""; 3]), &practice);
    let first = planned.built.strand.starts[0].go.nanos() / 1_000_000_000;
    // By hand: 110 s from start to start, 5 s from one number to the next, each once for all three lanes.
    let wanted: BTreeMap<i64, String> = (0..repeats as i64)
        .flat_map(|repeat| {
            ["3 pips", "two", "three", "four"].into_iter().zip(0..).map(move |(said, who)| (repeat, said, who))
        })
        .map(|(repeat, said, who)| (first + repeat * 110 + who * 5, said.to_owned()))
        .collect();
    assert_eq!(calls(&planned), wanted);
    // Everybody swims every repeat: 12 swimmers, each with a start on each of those gos.
    let mut starts: BTreeMap<i64, usize> = BTreeMap::new();
    for start in planned.built.followers.iter().flat_map(|strand| &strand.starts) {
        *starts.entry(start.go.nanos() / 1_000_000_000).or_default() += 1;
    }
    assert_eq!(starts, wanted.keys().map(|go| (*go, 3)).collect());
    let frames = frames(&planned, RATE as u32);
    let tone = |go: i64| &frames[go as usize * RATE..go as usize * RATE + RATE / 2];
    assert!(tone(first).iter().position(|frame| *frame != [0, 0]).is_some_and(|at| at <= 1));
    for go in wanted.keys() {
        assert_eq!(tone(*go), tone(first), "another tone at {go}");
        let before = (*go as usize * RATE) - RATE / 5;
        assert!(frames[before..*go as usize * RATE].iter().all(|frame| *frame == [0, 0]), "sound before {go}");
    }
}

#[test]
fn lanes_are_told_apart_and_those_who_differ_are_named() {
    if !speech::AVAILABLE {
        eprintln!("skipped: without the built-in voice nobody has a name");
        return;
    }
    let set = "  - { set: Fifties, swim: 4 x 50 m on 1:50 }\n";
    let planned = heard(&three(["", "", ", gap: 10 s"]), set);
    let all = cues_of(&planned);
    let texts =
        |id: &str| all.iter().filter(|(_, cue)| cue.id == id).map(|(_, cue)| cue.text.as_str()).collect::<Vec<_>>();
    assert_eq!(texts("lane"), ["lane one", "lane two", "lane three"]);
    let order = |names: [&str; 4]| {
        let [one, two, three, four] = names;
        format!("You leave in this order. one {one} two {two} three {three} four {four}")
    };
    let orders = [["Ada", "Bo", "Cy", "Dag"], ["Eve", "Ida", "Jon", "Kim"], ["Liv", "Mats", "Per", "Una"]].map(order);
    assert_eq!(texts("leave-order"), orders);
    assert_eq!(texts("seconds-apart"), ["five seconds apart", "five seconds apart", "ten seconds apart"]);
    // 5 s: the second of two lanes; 10 s: their third and the second of the slow one; 30 s: its last, by name.
    let first = planned.built.strand.starts[0].go.nanos() / 1_000_000_000;
    let own: Vec<String> =
        calls(&planned).into_iter().filter(|(go, _)| *go < first + 60).map(|(_, said)| said).collect();
    assert_eq!(own, ["3 pips", "Bo Ida", "Cy Jon Mats", "Dag Kim", "Per", "Una"]);
    // Who has a lane for themselves is in no order, and moves no other lane's gap.
    let alone = "{ lanes: [{ lane: 1 }, { lane: 2, gap: 10 s }, { lane: 3 }], swimmers: [{ name: Ada, hundred: 1:25, lane: 1 }, \
                 { name: Bo, hundred: 1:30, lane: 2 }, { name: Cy, hundred: 1:32, lane: 2 }, { name: Eve, hundred: 1:35, lane: 3 }, \
                 { name: Ida, hundred: 1:40, lane: 3 }] }";
    let planned = heard(alone, set);
    let all = cues_of(&planned);
    let opening = all.iter().filter(|(_, cue)| ["lane", "leave-order", "seconds-apart"].contains(&cue.id.as_str()));
    let opening: Vec<&str> = opening.map(|(_, cue)| cue.text.as_str()).collect();
    let first = ["lane two", "You leave in this order. one Bo two Cy", "ten seconds apart"];
    let second = ["lane three", "You leave in this order. one Eve two Ida", "five seconds apart"];
    assert_eq!(opening, [first, second].concat());
    // Whoever sits out a repeat is not called by a number that others have.
    let shares = three([""; 3]).replace("name: Bo,", "name: Bo, swims: 3 of 4,");
    let said: Vec<String> = calls(&heard(&shares, set)).into_values().collect();
    let whole = ["3 pips", "two", "three", "four"];
    let without = ["3 pips", "Ida Mats", "three", "four"];
    assert_eq!(said, [whole, whole, whole, without].concat());
}

#[test]
fn sets_begin_together_and_the_slowest_lane_decides_how_long_a_rest_is() {
    let sets = "  - { set: Rests, swim: 4 x 50 m, rest: 20 s }\n  - { set: Filled, swim: 50 m on 1:20, for: 8 min }\n";
    let planned = heard(&three([""; 3]), sets);
    let alone = |lane: &str| {
        let request = LaneRequest { name: Some(lane.to_owned()), ..LaneRequest::default() };
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a.yaml");
        std::fs::write(&file, script(&three([""; 3]), sets)).unwrap();
        for_one_speaker(&PracticeRequest { script: file, ..PracticeRequest::default() }, &request)
            .unwrap()
            .planned
            .unwrap()
    };
    let gos = |planned: &Planned, set: usize| -> Vec<i64> {
        let own = planned.built.strand.starts.iter().filter(|start| start.set == set);
        own.map(|start| start.go.nanos() / 1_000_000_000).collect()
    };
    let steps = |gos: &[i64]| gos.windows(2).map(|pair| pair[1] - pair[0]).collect::<Vec<_>>();
    let lanes = ["1", "2", "3"].map(alone);
    let rests: Vec<Vec<i64>> = lanes.iter().map(|lane| steps(&gos(lane, 0))).collect();
    assert!(rests[0][0] < rests[2][0], "{rests:?}");
    assert_eq!(steps(&gos(&planned, 0)), rests[2]);
    // 80 s from go to go, as many as end within 8 min: the quick lanes may have one more than the slow one.
    let counts: Vec<usize> = lanes.iter().map(|lane| gos(lane, 1).len()).collect();
    assert_eq!(gos(&planned, 1).len(), *counts.iter().max().unwrap());
    let swum = |who: usize| planned.built.followers[who].starts.iter().filter(|start| start.set == 1).count();
    // The order of leaving: the three first of their lanes, the three second, and so on.
    assert_eq!([swum(0), swum(1), swum(2)], [counts[0], counts[1], counts[2]]);
    // A lane that has fewer of them than what is said to all is told how many it has.
    let told = cues_of(&planned);
    let told: Vec<&str> =
        told.iter().filter(|(_, cue)| cue.id == "lane-swims").map(|(_, cue)| cue.text.as_str()).collect();
    let most = swum(0).max(swum(1)).max(swum(2));
    assert_eq!(told.len(), counts.iter().filter(|count| **count < most).count(), "{told:?} {counts:?}");
}
