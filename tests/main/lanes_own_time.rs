//! Lanes of send-offs of their own at one speaker: whoever leaves is called, on the frame, whatever else is due in that moment.

use crate::cases::{amount, cases};
use crate::lane_heard::{cues_of, frames};
use crate::lanes_heard::prepared;
use lengthwise::diag::Code;
use lengthwise::pack::speech;
use lengthwise::prepare::{Planned, Prepared};
use lengthwise::timeline::{Cue, CueKind};
use lengthwise::units::time::Seconds;
use proptest::prelude::*;
use proptest::test_runner::Config;
use std::collections::BTreeMap;

const NAMES: [&str; 12] = ["Ada", "Bo", "Cy", "Dag", "Eve", "Ida", "Jon", "Kim", "Liv", "Mats", "Per", "Una"];
const WORDS: [&str; 5] = ["", "one", "two", "three", "four"];

/// One lane as it is written here: how many swim, how far apart, and how much longer its send-offs are for each 100.
#[derive(Clone, Copy, Debug)]
struct Own {
    count: usize,
    gap: i64,
    more: i64,
}

impl Own {
    /// The send-off of 50 m where the script has `on`, by arithmetic: half of what 100 m take more, up to the next 5 s.
    fn send_off(self, on: i64) -> i64 {
        if self.more == 0 {
            on
        } else {
            (on + self.more / 2).div_euclid(5) * 5 + if (on + self.more / 2) % 5 > 0 { 5 } else { 0 }
        }
    }
}

fn written(lanes: &[Own]) -> String {
    let mut names = NAMES.iter();
    let mut swimmers = Vec::new();
    for (lane, own) in lanes.iter().enumerate() {
        for name in names.by_ref().take(own.count) {
            swimmers.push(format!("{{ name: {name}, hundred: 1:20, lane: {} }}", lane + 1));
        }
    }
    let entry = |(lane, own): (usize, &Own)| {
        let more = if own.more == 0 { String::new() } else { format!(", send-off: {} s more per 100", own.more) };
        format!("{{ lane: {}, gap: {} s{more} }}", lane + 1, own.gap)
    };
    let entries: Vec<String> = lanes.iter().enumerate().map(entry).collect();
    format!("{{ order: as listed, lanes: [{}], swimmers: [{}] }}", entries.join(", "), swimmers.join(", "))
}

/// Who leaves when, in seconds from the first go of a set of so many repeats: names and lanes, from what is written alone.
fn by_hand(lanes: &[Own], on: i64, repeats: i64) -> BTreeMap<i64, Vec<(&'static str, usize, usize)>> {
    let mut names = NAMES.iter();
    let mut gos: BTreeMap<i64, Vec<(&'static str, usize, usize)>> = BTreeMap::new();
    for (lane, own) in lanes.iter().enumerate() {
        for (place, name) in names.by_ref().take(own.count).enumerate() {
            for repeat in 0..repeats {
                let at = repeat * own.send_off(on) + own.gap * place as i64;
                gos.entry(at).or_default().push((name, lane + 1, place + 1));
            }
        }
    }
    gos
}

/// Holds a set against who leaves when: one tone for each go and none besides, no voice over another or over a tone, silence in a
/// countdown, and everybody called by a text that means them, or told as not called. Returns what is said before each go.
fn holds(
    planned: &Planned,
    told: &str,
    lanes: usize,
    gos: &BTreeMap<i64, Vec<(&'static str, usize, usize)>>,
) -> Vec<String> {
    let cues = cues_of(planned);
    let second = Seconds::from_secs(1);
    let loud: Vec<_> = cues.iter().filter(|(_, cue)| cue.kind.is_voice() || cue.kind == CueKind::Go).collect();
    for pair in loud.windows(2) {
        assert!(pair[0].0 + pair[0].1.len <= pair[1].0, "{:?} runs into {:?}", pair[0], pair[1]);
    }
    let tones: Vec<Seconds> = cues.iter().filter(|(_, cue)| cue.kind == CueKind::Go).map(|(at, _)| *at).collect();
    let first = planned.built.strand.starts[0].go;
    assert!(first.nanos() % Seconds::from_secs(5).nanos() == 0, "{first}");
    let wanted: Vec<Seconds> = gos.keys().map(|at| first + second.scaled(*at, 1)).collect();
    assert_eq!(tones, wanted);
    let mut heard = Vec::new();
    let mut before = Seconds::ZERO;
    for (at, who) in gos {
        let go = first + second.scaled(*at, 1);
        let near: Vec<&(Seconds, &Cue)> = cues
            .iter()
            .filter(|(from, _)| *from >= before && *from < go && go - *from < second.scaled(12, 1))
            .collect();
        let pips: Vec<Seconds> = near.iter().filter(|(_, cue)| cue.kind == CueKind::Pip).map(|(at, _)| *at).collect();
        if let Some(pip) = pips.first() {
            assert_eq!(pips, [3, 2, 1].map(|before| go - second.scaled(before, 1)));
            assert!(
                near.iter().all(|(from, cue)| cue.kind == CueKind::Pip || *from + cue.len <= *pip),
                "in a countdown"
            );
        }
        let said = near.iter().filter(|(_, cue)| cue.id.starts_with("start-") && *at > 0);
        let said: Vec<&str> = said.map(|(_, cue)| cue.text.as_str()).collect();
        let said = said.join(" + ");
        let words: Vec<&str> = said.split(' ').collect();
        for (name, lane, place) in who {
            let number = words == [WORDS[*place]];
            // "lane two three" for lanes two and three.
            let lane_alone = words.first() == Some(&"lane") && words[1..].contains(&WORDS[*lane]);
            let all_lead = !pips.is_empty() && who.len() == lanes && who.iter().all(|(_, _, place)| *place == 1);
            let called = all_lead || words.contains(name) || number || lane_alone;
            assert!(called || told.contains(name), "{name} is not called at {at}: \"{said}\", {told}");
        }
        heard.push(if pips.is_empty() { said } else { format!("{said} {}", pips.len()) });
        before = go;
    }
    // Every swimmer has their own start on each of their gos, however many share it.
    let mut starts: BTreeMap<i64, usize> = BTreeMap::new();
    for start in planned.built.followers.iter().flat_map(|strand| &strand.starts) {
        *starts.entry((start.go - first).nanos() / second.nanos()).or_default() += 1;
    }
    assert_eq!(starts, gos.iter().map(|(at, who)| (*at, who.len())).collect());
    heard
}

fn planned_of(Prepared { planned, diagnostics, .. }: Prepared) -> (Planned, String) {
    let of = diagnostics.iter().filter(|problem| problem.code == Code::CueDropped);
    let told = of.map(|problem| problem.message.as_str()).collect::<Vec<_>>().join("\n");
    (planned.unwrap_or_else(|| panic!("{diagnostics:#?}")), told)
}

#[test]
fn lanes_leave_on_their_own_send_offs_and_end_a_set_together() {
    if !speech::AVAILABLE {
        eprintln!("skipped: without the built-in voice nobody has a name");
        return;
    }
    const RATE: usize = 8_000;
    let lanes = [Own { count: 2, gap: 5, more: 0 }, Own { count: 2, gap: 5, more: 20 }];
    let set =
        "  - { set: Fifties, swim: 4 x 50 m on 1:20, focus: head-still }\n  - { set: More, swim: 2 x 50 m on 2:00 }\n";
    let (planned, told) = planned_of(prepared(&written(&lanes), set));
    let cues = cues_of(&planned);
    let first = planned.built.strand.starts[0].go;
    let at = |seconds: i64| first + Seconds::from_secs(seconds);
    // By hand: lane one on 0 80 160 240, lane two on 0 90 180 270, the second of each 5 s behind.
    let gos: Vec<_> = cues.iter().filter(|(from, cue)| cue.kind == CueKind::Go && *from < at(280)).collect();
    let wanted = [0, 5, 80, 85, 90, 95, 160, 165, 180, 185, 240, 245, 270, 275].map(at);
    assert_eq!(gos.iter().map(|(from, _)| *from).collect::<Vec<_>>(), wanted);
    let said = |from: i64, to: i64| {
        let within = |cue: &&(Seconds, &Cue)| (at(from)..at(to)).contains(&cue.0) && cue.1.kind != CueKind::Go;
        let words = cues.iter().filter(within).map(|(_, cue)| if cue.kind == CueKind::Pip { "." } else { &cue.text });
        words.collect::<Vec<_>>().join(" ")
    };
    assert_eq!(said(1, 80), "two lane one Ada . . .");
    // Five seconds behind another lane there is no room for pips beside the whole call, ten seconds behind it there is.
    assert_eq!(said(80, 95), "lane one Bo lane two Cy lane two Dag");
    assert_eq!(said(161, 181), "lane one Bo lane two Cy . . .");
    // What holds of all is told, and what a lane has of its own.
    let talk = |text: &str| cues.iter().any(|(from, cue)| *from < first && cue.text == text);
    assert!(talk("lane one on one twenty") && talk("lane two on one thirty"), "{}", said(-120, 0));
    assert!(
        told.contains("in Fifties with lanes side by side: phrases are said before its first start only"),
        "{told}"
    );
    // Lane two touches last, its fourth time 275 s after the first go: nobody is talked to before that.
    let touch = planned.built.strand.starts[3].touch;
    assert!(touch > at(275), "{touch}");
    let talk = cues.iter().find(|(from, cue)| *from > at(276) && cue.kind.is_voice()).unwrap();
    assert!(talk.0 > touch, "{talk:?} {touch}");
    assert_eq!(planned.built.strand.starts[4].set, 1);
    // Every tone is on its frame, behind 0.2 s of silence, and the same one.
    let frames = frames(&planned, RATE as u32);
    let second = |go: Seconds| (go.nanos() / 1_000_000_000) as usize * RATE;
    let tone = |go: Seconds| &frames[second(go)..second(go) + RATE / 2];
    for go in wanted {
        assert_eq!(tone(go), tone(first), "another tone at {go}");
        assert!(frames[second(go) - RATE / 5..second(go)].iter().all(|frame| *frame == [0, 0]), "sound before {go}");
    }
}

/// An hour's main set as a coach would write it: twelve swimmers of 1:25 to 2:10, three lanes. What the pool hears of repeat 1, of
/// the third and of the last was read in the order of time; the times are arithmetic.
#[test]
fn three_lanes_of_twelve_are_called_through_a_set() {
    if !speech::AVAILABLE {
        eprintln!("skipped: without the built-in voice nobody has a name");
        return;
    }
    let hundreds = [85, 88, 91, 95, 99, 102, 105, 108, 114, 118, 124, 130];
    let one = |(place, (name, hundred)): (usize, (&&str, i64))| {
        format!("{{ name: {name}, hundred: {}:{:02}, lane: {} }}", hundred / 60, hundred % 60, place / 4 + 1)
    };
    let swimmers: Vec<String> = NAMES.iter().zip(hundreds).enumerate().map(one).collect();
    let lanes =
        "{ lane: 1 }, { lane: 2, send-off: 20 s more per 100 }, { lane: 3, gap: 10 s, send-off: 45 s more per 100 }";
    let lane = format!("{{ lanes: [{lanes}], swimmers: [{}] }}", swimmers.join(", "));
    let set = "  - { set: Steady, swim: 100 m on 2:00, for: 16 min, focus: reach-forward }\n";
    let (planned, told) = planned_of(prepared(&lane, set));
    // As many as end within 960 s: the last of lane 1 touches 15 + 95 s behind its go, of lane 2 15 + 108 s, of lane 3 30 + 130 s.
    let mut gos: BTreeMap<i64, Vec<(&'static str, usize, usize)>> = BTreeMap::new();
    for (lane, (repeats, every, gap)) in [(8, 120, 5), (6, 140, 5), (5, 165, 10)].into_iter().enumerate() {
        for (place, name) in NAMES.iter().skip(4 * lane).take(4).enumerate() {
            for repeat in 0..repeats {
                let at = repeat * every + gap * place as i64;
                gos.entry(at).or_default().push((name, lane + 1, place + 1));
            }
        }
    }
    let heard: BTreeMap<i64, String> = gos.keys().copied().zip(holds(&planned, &told, 3, &gos)).collect();
    let said = |from: i64, to: i64| heard.range(from..to).map(|(at, said)| format!("{at} {said}")).collect::<Vec<_>>();
    let first =
        ["0  3", "5 lane one Bo lane two Ida", "10 Cy Jon Mats", "15 lane one Dag lane two Kim", "20 lane three Per"];
    assert_eq!(said(0, 21), first);
    let third = ["240 lane one Ada 3", "245 lane one Bo", "250 lane one Cy", "255 lane one Dag", "280 lane two Eve 3"];
    assert_eq!(said(240, 281), third);
    assert_eq!(said(660, 661), ["660 lane three Liv last one 3"]);
    assert_eq!(said(700, 701), ["700 lane two Eve last one 3"]);
    assert_eq!(
        said(840, 856),
        ["840 lane one Ada last one 3", "845 lane one Bo", "850 lane one Cy", "855 lane one Dag"]
    );
}

#[test]
fn a_time_that_is_filled_is_over_for_all_and_shorter_shares_are_said() {
    let lanes = [Own { count: 1, gap: 5, more: 0 }, Own { count: 1, gap: 5, more: 40 }];
    let set = "  - { set: Filled, swim: 50 m on 1:20, for: 8 min }\n  - { set: More, swim: 2 x 50 m on 2:00 }\n";
    let (planned, _) = planned_of(prepared(&written(&lanes), set));
    let gos = |who: usize, set: usize| -> Vec<Seconds> {
        let own = planned.built.followers[who].starts.iter().filter(|start| start.set == set);
        own.map(|start| start.go).collect()
    };
    // By hand: a swim of 40 s; 80 s from go to go: the sixth leaves after 400 s, and 480 s are the time; 100 s: five.
    assert_eq!([gos(0, 0).len(), gos(1, 0).len()], [6, 5]);
    assert_eq!(gos(0, 1)[0], gos(1, 1)[0]);
    assert!(gos(0, 1)[0] >= gos(0, 0)[0] + Seconds::from_secs(480));
    if speech::AVAILABLE {
        let cues = cues_of(&planned);
        let text: Vec<&str> =
            cues.iter().filter(|(_, cue)| cue.id == "lane-swims").map(|(_, cue)| cue.text.as_str()).collect();
        assert_eq!(
            text,
            [
                "lane one on one twenty",
                "lane two five times fifty metres on one forty",
                "lane one on two minutes",
                "lane two on two twenty"
            ]
        );
    }
}

#[test]
fn what_leaves_between_the_marks_of_the_pace_clock_is_refused() {
    let refused = |lanes: &[Own], on: &str| {
        let set = format!("  - {{ set: Fifties, swim: 4 x 50 m on {on} }}\n");
        let Prepared { planned, diagnostics, .. } = prepared(&written(lanes), &set);
        assert!(planned.is_none());
        let of = diagnostics.into_iter().find(|problem| problem.code == Code::Conflict);
        of.map(|problem| problem.message).unwrap()
    };
    let lanes = |gap, more| [Own { count: 2, gap: 5, more: 0 }, Own { count: 2, gap, more }];
    let told = refused(&lanes(5, 20), "1:23");
    assert!(told.contains("every fifth second only: in Fifties Ada of lane 1 leaves 1:23 after"), "{told}");
    let told = refused(&lanes(6, 0), "1:40");
    assert!(told.contains("Dag of lane 2 leaves 0:06 after"), "{told}");
}

fn lanes() -> impl Strategy<Value = Vec<Own>> {
    let gap = prop::sample::select(vec![5, 10]);
    let more = prop::sample::select(vec![0, 10, 20, 25, 40]);
    let own = (1..5_usize, gap, more).prop_map(|(count, gap, more)| Own { count, gap, more });
    prop::collection::vec(own, 2..4)
}

proptest! {
    #![proptest_config(Config { cases: amount(4, 60), ..cases(4) })]
    #[test]
    fn everybody_is_called_or_told_as_not_called(lanes in lanes(), on in 24..30_i64, repeats in 2..9_i64) {
        let on = on * 5;
        let set = format!("  - {{ set: Fifties, swim: {repeats} x 50 m on {}:{:02}, focus: head-still }}\n", on / 60, on % 60);
        let gos = by_hand(&lanes, on, repeats);
        let (planned, told) = planned_of(prepared(&written(&lanes), &set));
        // Without the built-in voice nobody has a name.
        if speech::AVAILABLE {
            holds(&planned, &told, lanes.len(), &gos);
        }
    }
}
