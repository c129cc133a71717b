//! What each of a lane hears in their own ear: on one clock, with what is theirs.

use crate::lane_heard::{FIVE, script};
use lengthwise::diag::Code;
use lengthwise::pack::speech::{self, Speech};
use lengthwise::prepare::PracticeRequest;
use lengthwise::prepare::apart::{PreparedApart, SwimmerPlanned, apart};
use lengthwise::prepare::together::LaneRequest;
use lengthwise::timeline::CueKind;
use lengthwise::units::time::{SampleRate, Seconds};

fn prepared(text: &str) -> PreparedApart {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.yaml");
    std::fs::write(&file, text).unwrap();
    let speech = speech::AVAILABLE.then(|| Speech::new(None));
    let request = PracticeRequest { script: file, speech, ..PracticeRequest::default() };
    apart(&request, &LaneRequest::default()).unwrap()
}

/// The tones on which one leaves.
fn gos(who: &SwimmerPlanned) -> Vec<Seconds> {
    let legs = &who.planned.built.timeline.legs;
    let cues = legs.iter().flat_map(|leg| leg.cues.iter().map(|cue| (leg.origin + cue.at, cue.kind)));
    cues.filter(|(_, kind)| *kind == CueKind::Go).map(|(at, _)| at).collect()
}

fn said<'w>(who: &'w SwimmerPlanned, id: &str) -> Vec<&'w str> {
    let cues = who.planned.built.timeline.legs.iter().flat_map(|leg| &leg.cues);
    cues.filter(|cue| cue.id == id).map(|cue| cue.text.as_str()).collect()
}

const SETS: &str = "  - say: welcome\n  - { set: Easy start, swim: 4 x 50 m on 1:50, effort: easy }\n  - rest: 1:00\n  \
                    - { set: Range, swim: 8 x 50 m on 1:40, tempo: { from: usual, to: usual - 0.10 s }, strokes: { at-most: predicted + 1 }, focus: head-still }\n  \
                    - { set: On, rounds: 2, do: [{ swim: 50 m, rest: 0 s }, { swim: 50 m, effort: fast, rest: 20 s }] }\n  \
                    - { set: All, swim: 50 m, for: 6 min, rest: 15 s }\n";

#[test]
fn everybodys_gos_are_the_leaders_and_their_offset_to_the_frame() {
    let prepared = prepared(&script(&format!("{{ swimmers: {FIVE} }}"), SETS));
    assert_eq!(prepared.swimmers.len(), 5, "{:#?}", prepared.diagnostics);
    let leader = gos(&prepared.swimmers[0]);
    // 4 + 8 + 2 joined pairs, and what fits into six minutes.
    assert!(leader.len() > 14, "{}", leader.len());
    for rate in [8_000, 44_100, 48_000] {
        let rate = SampleRate::new(rate).unwrap();
        for (place, who) in prepared.swimmers.iter().enumerate() {
            let offset = 5 * place as u64 * u64::from(rate.hertz());
            let frames: Vec<u64> = gos(who).iter().map(|go| rate.frames(*go)).collect();
            let wanted: Vec<u64> = leader.iter().map(|go| rate.frames(*go) + offset).collect();
            assert_eq!(frames, wanted, "{} at {rate:?}", who.name);
            // Three pips before each, as alone.
            let pips = who.planned.built.timeline.legs.iter().flat_map(|leg| &leg.cues);
            assert_eq!(pips.filter(|cue| cue.kind == CueKind::Pip).count(), 3 * frames.len());
        }
    }
}

#[test]
fn each_hears_what_is_theirs() {
    let swimmers = "[{ name: Bo Lind, hundred: 1:35, lane: 3 }, { name: Ida Berg, hundred: 1:40, lane: 3, focus: [soft-hand] }, \
                    { name: Cy Dahl, hundred: 1:55, lane: 3, swims: 3 of 4 }]";
    let prepared = prepared(&script(&format!("{{ gap: 10 s, swimmers: {swimmers} }}"), SETS));
    let [bo, ida, cy] = &prepared.swimmers[..] else { panic!("{:#?}", prepared.diagnostics) };
    assert_eq!(said(bo, "lane"), ["lane three"]);
    assert_eq!(said(bo, "leave-first"), ["You leave first."]);
    assert_eq!(said(cy, "leave-after"), ["number three leave twenty seconds after the first"]);
    assert!(
        said(ida, "head-still").is_empty() && !said(ida, "soft-hand").is_empty() && !said(bo, "head-still").is_empty()
    );
    if speech::AVAILABLE {
        assert_eq!((said(bo, "name"), said(cy, "name")), (vec!["Bo"], vec!["Cy"]));
    }
    // Their own tempos and targets.
    let tempo = |who: &SwimmerPlanned| who.planned.plan.sets[1].repeats[0].tempo.unwrap().as_f64();
    assert!(tempo(bo) < tempo(ida) && tempo(ida) < tempo(cy));
    assert_ne!(said(bo, "at-most"), said(cy, "at-most"));
    // Without every fourth: 3 of 4, 6 of 8; the lane's other starts they have too.
    let (leader, own) = (gos(bo), gos(cy));
    let late = Seconds::from_secs(20);
    let swum: Vec<Seconds> = [0, 1, 2, 4, 5, 6, 8, 9, 10].iter().map(|go| leader[*go] + late).collect();
    assert_eq!(own[..9], swum);
    assert!(own.iter().all(|go| leader.contains(&(*go - late))));
}

#[test]
fn players_drift_and_a_gap_that_does_not_bear_it_is_told() {
    let told = |gap: &str| {
        let prepared = prepared(&script(&format!("{{ gap: {gap}, swimmers: {FIVE} }}"), SETS));
        let close = prepared.diagnostics.iter().filter(|problem| problem.code == Code::GapClose);
        let players = close.filter(|problem| problem.message.starts_with("players")).count();
        let len = prepared.swimmers.iter().map(|who| who.planned.built.timeline.len().as_f64()).fold(0.0, f64::max);
        // Two clocks off by 50 millionths in opposite ways, and 0.3 s between two thumbs.
        assert!((prepared.drift.as_f64() - (0.3 + len * 100e-6)).abs() < 1e-6, "{:?}", prepared.drift);
        players
    };
    assert_eq!((told("5 s"), told("3.2 s"), told("3 s")), (0, 1, 1));
}
