//! What a lane hears from a speaker at the poolside: everybody's start on its frame, everybody called who swims, and nothing
//! over anything else.

use crate::cases::amount;
use crate::sound::Memory;
use lengthwise::audio::voice::HeardThrough;
use lengthwise::diag::{Code, Diagnostic};
use lengthwise::mixer::sample::Frame;
use lengthwise::pack::speech::{self, Speech};
use lengthwise::prepare::together::{LanePlanned, LaneRequest, PreparedTogether, says_lanes, together};
use lengthwise::prepare::{Planned, PracticeRequest};
use lengthwise::sink;
use lengthwise::timeline::bank::{self, BankSettings};
use lengthwise::timeline::{Cue, CueKind};
use lengthwise::units::time::{SampleRate, Seconds};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Five who could share a lane, 1:35 to 2:00 per 100.
pub const FIVE: &str = "[{ name: Bo Lind, hundred: 1:35 }, { name: Ida Berg, hundred: 1:40 }, { name: Cy Dahl, hundred: 1:45 }, \
                    { name: Eve Moe, hundred: 1:52 }, { name: Mats Ek, hundred: 2:00 }]";

pub fn script(lane: &str, practice: &str) -> String {
    format!("lengthwise: 1\ntitle: A\npool: 25 m\npack: first-lengths\nlane: {lane}\npractice:\n{practice}")
}

fn prepared(text: &str) -> PreparedTogether {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.yaml");
    std::fs::write(&file, text).unwrap();
    let speech = speech::AVAILABLE.then(|| Speech::new(None));
    let request = PracticeRequest { script: file, speech, ..PracticeRequest::default() };
    assert!(says_lanes(&request));
    together(&request, &LaneRequest::default()).unwrap()
}

pub fn lane(lane: &str, practice: &str) -> LanePlanned {
    let mut prepared = prepared(&script(lane, practice));
    assert_eq!(prepared.lanes.len(), 1, "{:#?}", prepared.diagnostics);
    prepared.lanes.remove(0)
}

/// Every cue on the clock, in order.
fn cues(lane: &LanePlanned) -> Vec<(Seconds, &Cue)> {
    cues_of(&lane.planned)
}

/// The same of what was planned for whomever.
pub fn cues_of(planned: &Planned) -> Vec<(Seconds, &Cue)> {
    let legs = &planned.built.timeline.legs;
    let mut cues: Vec<_> = legs.iter().flat_map(|leg| leg.cues.iter().map(|cue| (leg.origin + cue.at, cue))).collect();
    cues.sort_by_key(|(at, _)| *at);
    cues
}

/// Holds what is heard against the lane: its gos, its calls, its silences. Returns how many were called.
fn holds(heard: &LanePlanned) -> usize {
    let LanePlanned { lane, planned, .. } = heard;
    let cues = cues(heard);
    let voices: Vec<_> = cues.iter().filter(|(_, cue)| cue.kind.is_voice()).collect();
    for pair in voices.windows(2) {
        assert!(pair[0].0 + pair[0].1.len <= pair[1].0, "{} runs into {}", pair[0].1.text, pair[1].1.text);
    }
    let countdown = planned.practice.settings.countdown;
    let (mut gos, mut called) = (Vec::new(), 0);
    for (set, laid) in lane.sets.iter().enumerate() {
        let own = planned.built.strand.starts.iter().filter(|start| start.set == set && !start.repeat.joined);
        let mut clock = own.map(|start| start.go);
        for (index, start) in laid.starts.iter().enumerate() {
            let swims: Vec<usize> = (0..lane.swimmers.len()).filter(|who| start.swims[*who].is_some()).collect();
            let Some(first) = swims.first() else { continue };
            let go = clock.next().unwrap();
            let during = |(at, cue): &&(Seconds, &Cue)| *at + cue.len > go - countdown && *at < go;
            assert!(cues.iter().filter(during).all(|(_, cue)| cue.kind == CueKind::Pip), "in the countdown to {go}");
            let leader = go - lane.swimmers[*first].offset;
            for who in &swims {
                let own = leader + lane.swimmers[*who].offset;
                gos.push(own);
                if who == first {
                    continue;
                }
                let id = format!("start-{}", who + 1);
                let call = voices.iter().find(|(at, cue)| cue.id == id && *at == own - Seconds::from_secs(2));
                let (_, call) = call.unwrap_or_else(|| panic!("{id} is not called at {own}"));
                assert!(call.len <= Seconds::from_millis(800), "{} takes {}", call.text, call.len);
                called += 1;
            }
            // Nobody is talked to but by their call until all stand.
            let last = swims.iter().filter_map(|who| lane.touch(set, index, *who)).max().unwrap();
            let until = leader + last + Seconds::from_secs(3);
            let early = voices.iter().find(|(at, cue)| *at >= go && *at < until && !cue.id.starts_with("start-"));
            assert!(early.is_none(), "{} before {until}", early.unwrap().1.text);
        }
        assert_eq!(clock.next(), None);
    }
    gos.sort();
    let tones = cues.iter().filter(|(_, cue)| cue.kind == CueKind::Go).map(|(at, _)| *at);
    assert_eq!(tones.collect::<Vec<_>>(), gos);
    let calls = voices.iter().filter(|(_, cue)| cue.id.starts_with("start-")).count();
    assert_eq!(calls, called, "somebody is called who does not swim");
    called
}

fn texts<'h>(heard: &'h LanePlanned, id: &str) -> Vec<&'h str> {
    cues(heard).iter().filter(|(_, cue)| cue.id == id).map(|(_, cue)| cue.text.as_str()).collect()
}

#[test]
fn everybody_who_swims_is_called_and_nothing_is_heard_over_it() {
    let whole = "  - { set: Fifties, swim: 6 x 50 m on 1:40, focus: head-still }\n";
    assert_eq!(holds(&lane(&format!("{{ swimmers: {FIVE} }}"), whole)), 24);
    // The leader sits out the third of three, and nobody swims the fourth of four.
    let shares = "{ gap: 10 s, order: as listed, swimmers: [{ name: Bo, hundred: 1:35, swims: 2 of 3 }, \
                  { name: Ida, hundred: 1:40, swims: 3 of 4 }, { name: Cy, hundred: 1:45, distance: 3/4 }] }";
    let sets = "  - { set: Hundreds, swim: 8 x 100 m on 2:30, pace: steady }\n  - { set: On, rounds: 2, do: [{ swim: 50 m, rest: 0 s }, { swim: 50 m, effort: fast, rest: 20 s }] }\n";
    holds(&lane(shares, sets));
    let two = "{ gap: 3 s, swimmers: [{ name: Bo, hundred: 1:35, swims: 3 of 4 }, { name: Ida, hundred: 1:40, swims: 3 of 4 }] }";
    let heard = lane(two, "  - { set: Fifties, swim: 8 x 50 m on 1:30, focus: head-still }\n");
    assert_eq!(holds(&heard), 6);
    // Three seconds apart a name would run into what the one in front hears.
    assert_eq!(texts(&heard, "start-2"), ["two"; 6]);
}

#[test]
fn a_lane_hears_who_leaves_when_and_where_the_clock_stands() {
    if !speech::AVAILABLE {
        eprintln!("skipped: without the built-in voice nobody has a name");
        return;
    }
    let lanes = FIVE.replace(" }", ", lane: 3 }");
    let heard =
        lane(&format!("{{ swimmers: {lanes} }}"), "  - { set: Fifties, swim: 4 x 50 m on 1:40, focus: head-still }\n");
    assert_eq!(texts(&heard, "lane"), ["lane three"]);
    let order = "You leave in this order. one Bo two Ida three Cy four Eve five Mats";
    assert_eq!(
        (texts(&heard, "leave-order"), texts(&heard, "seconds-apart")),
        (vec![order], vec!["five seconds apart"])
    );
    assert_eq!(texts(&heard, "start-5"), ["Mats"; 4]);
    // Every 1:40 from its first go on: marks come again after three (pace clock, convention and arithmetic).
    let first = heard.planned.built.strand.starts[0].go.nanos() / 1_000_000_000;
    let clock = texts(&heard, "on-the-clock");
    let words = [
        (5, "five"),
        (10, "ten"),
        (15, "fifteen"),
        (20, "twenty"),
        (25, "twenty-five"),
        (30, "thirty"),
        (35, "thirty-five"),
        (40, "forty"),
        (45, "forty-five"),
        (50, "fifty"),
        (55, "fifty-five"),
        (0, "sixty"),
    ];
    let wanted = (0..4).map(|start| words.iter().find(|(mark, _)| *mark == (first + start * 100) % 60).unwrap().1);
    assert_eq!(clock, wanted.map(|word| format!("on the {word}")).collect::<Vec<_>>());
    // Two of a first name are told apart; a name that takes long gives way to the number.
    let alike = "{ swimmers: [{ name: Bo Lind, hundred: 1:35 }, { name: Bo Bartholomew Applewhite, hundred: 1:40 }] }";
    let heard = lane(alike, "  - { set: Fifties, swim: 2 x 50 m on 1:40 }\n");
    assert_eq!(texts(&heard, "start-2"), ["two"; 2]);
    assert!(texts(&heard, "lane").is_empty(), "nobody gave it a name");
    holds(&heard);
    // Nothing says this name: its bearer is told the number, and the coach to say so.
    let nameless =
        "{ swimmers: [{ name: Bo, hundred: 1:35 }, { name: \u{674e}, hundred: 1:40 }, { name: Ida, hundred: 1:45 }] }";
    let heard = lane(nameless, "  - { set: Fifties, swim: 2 x 50 m on 1:40 }\n");
    assert_eq!(texts(&heard, "leave-order"), ["You leave in this order. one Bo two three Ida"]);
    assert_eq!(texts(&heard, "start-2"), ["two"; 2]);
    let told = found(nameless, "  - { set: Fifties, swim: 2 x 50 m on 1:40 }\n");
    let names: Vec<_> = told.iter().filter(|(_, text)| text.contains("cannot be said")).collect();
    assert!(matches!(&names[..], [(Code::CueDropped, text)] if text.ends_with("their number, 2")), "{told:?}");
}

#[test]
fn a_lane_regroups_and_is_told_so() {
    let sets = "  - { set: Fifties, swim: 7 x 50 m on 1:30 }\n  \
                - { set: Own, swim: 5 x 50 m on 1:30, regroup: { every: 2 repeats, for: 1:00 } }\n";
    let heard = lane(&format!("{{ regroup: {{ every: 3 repeats, for: 45 s }}, swimmers: {FIVE} }}"), sets);
    holds(&heard);
    let starts = &heard.planned.built.strand.starts;
    let apart = |set: usize| -> Vec<i64> {
        let own: Vec<_> = starts.iter().filter(|start| start.set == set).collect();
        own.windows(2).map(|pair| (pair[1].go - pair[0].go).nanos() / 1_000_000_000).collect()
    };
    // 90 s, and 45 more after the third and the sixth; 60 more after the second and the fourth.
    assert_eq!(apart(0), [90, 90, 135, 90, 90, 135]);
    assert_eq!(apart(1), [90, 150, 90, 150]);
    let told = ["regroup forty-five seconds"; 2].into_iter().chain(["regroup one minute"; 2]).collect::<Vec<_>>();
    assert_eq!(texts(&heard, "regroup"), told);
    // Before anything else, once all stand.
    let (third, last) = (starts[2].go, heard.lane.touch(0, 2, 4).unwrap());
    let said = cues(&heard).into_iter().find(|(at, cue)| *at > third && cue.id == "regroup").unwrap().0;
    assert_eq!(said, third + last + Seconds::from_secs(3));
    let codes: Vec<_> =
        found("{ swimmers: [{ name: A, hundred: 1:40 }], regroup: { every: 1 repeat, for: 5 s } }", sets);
    assert_eq!(codes.iter().filter(|(code, _)| *code == Code::OutOfRange).count(), 2, "{codes:?}");
}

/// The codes of problems that belong to a lane, with their messages.
fn found(lane: &str, practice: &str) -> Vec<(Code, String)> {
    let told = |problem: &Diagnostic| (problem.code, problem.message.clone());
    prepared(&script(lane, practice)).diagnostics.iter().map(told).collect()
}

#[test]
fn what_a_lane_cannot_do_is_told() {
    let five = format!("{{ swimmers: {FIVE} }}");
    // 2:00 for the hundred: 60 s of 50 m in 55.
    let fast = found(&five, "  - { set: Fifties, swim: 4 x 50 m on 0:55, focus: head-still }\n");
    let whose =
        |name: &str| fast.iter().filter(|(code, text)| *code == Code::LittleRest && text.starts_with(name)).count();
    assert_eq!((whose("Mats Ek touches"), whose("Eve Moe"), whose("Bo Lind")), (1, 1, 0), "{fast:?}");
    assert!(
        fast.iter().any(|(code, text)| *code == Code::CueDropped && text.contains("last touch of the lane")),
        "{fast:?}"
    );
    let beats = found(&five, "  - { set: Fifties, swim: 4 x 50 m on 1:40, tempo: usual, beats: each-stroke }\n");
    assert!(beats.iter().any(|(code, text)| *code == Code::CueDropped && text.contains("no beats")), "{beats:?}");
    let wide = five.replace("{ swimmers", "{ gap: 15 s, swimmers");
    let full = found(&wide, "  - { set: Fifties, swim: 4 x 50 m on 1:00 }\n");
    assert!(full.iter().any(|(code, text)| *code == Code::SendOffTooShort && text.contains("1:00 behind")), "{full:?}");
}

/// Every frame of what a speaker plays.
pub fn frames(planned: &Planned, rate: u32) -> Vec<Frame> {
    let (timeline, settings) = (&planned.built.timeline, &planned.practice.settings);
    let settings = BankSettings::of(settings, HeardThrough::Speaker);
    let rate = SampleRate::new(rate).unwrap();
    let bank = Arc::new(bank::build(&timeline.sounds, &planned.library, rate, &settings).unwrap());
    let mut memory = Memory::default();
    let rendered = sink::render(timeline, &bank, &mut memory, &mut |_, _| {}, &AtomicBool::new(false)).unwrap();
    assert_eq!((rendered.missed, rendered.stolen), (0, 0));
    memory.0
}

#[test]
fn eight_swimmers_start_on_their_frames_in_twenty_repeats() {
    const RATE: usize = 8_000;
    let names = ["Bo", "Ida", "Cy", "Eve", "Mats", "Liv", "Per", "Una"];
    let one = |(name, hundred): (&str, u32)| format!("{{ name: {name}, hundred: 1:{hundred} }}");
    let swimmers: Vec<String> = names.into_iter().zip(30..).map(one).collect();
    let repeats = amount(6, 20);
    let practice = format!("  - {{ set: Fifties, swim: {repeats} x 50 m on 1:50, focus: head-still }}\n");
    let heard = lane(&format!("{{ swimmers: [{}] }}", swimmers.join(", ")), &practice);
    assert_eq!(holds(&heard), 7 * repeats);
    let frames = frames(&heard.planned, RATE as u32);
    // By hand: the leader's first go, 110 s from one to the next, 5 s from one swimmer to the next.
    let first = heard.planned.built.strand.starts[0].go.nanos() as usize / 1_000_000_000;
    let gos: Vec<usize> =
        (0..repeats).flat_map(|repeat| (0..8).map(move |who| (first + repeat * 110 + who * 5) * RATE)).collect();
    assert_eq!(gos.len(), 8 * repeats);
    let tone = |go: usize| &frames[go..go + RATE / 2];
    // The tone begins with its own first sample, which is not silent; before it nothing is heard for half a second.
    let begins = |go: usize| tone(go).iter().position(|frame| *frame != [0, 0]);
    assert!(begins(gos[0]).is_some_and(|at| at <= 1), "{:?}", begins(gos[0]));
    for go in &gos {
        assert!(frames[go - RATE / 2..*go].iter().all(|frame| *frame == [0, 0]), "sound before {go}");
        assert_eq!(tone(*go), tone(gos[0]), "another tone at {go}");
    }
}
