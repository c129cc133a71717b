//! What the swimmer hears of what is swum: each line with its own manner, each repeat with what is new in it, each length
//! with what it turns to. By hand, over short scripts.

use crate::run::Run;
use lengthwise::pack::speech::{self, Speech};
use lengthwise::practice::Audience;
use lengthwise::prepare::{self, PracticeRequest, WhoSwims};
use lengthwise::timeline::dump::dump;
use lengthwise::units::swim::Pace;
use lengthwise::units::time::Seconds;

/// A voice: when it begins, its name, its words.
pub struct Voice {
    pub at: f64,
    pub id: String,
    pub text: String,
}

/// The gos of a practice, and every voice, in order; a set of these keys for a swimmer of 1:50.
pub fn heard(set: &str) -> (Vec<f64>, Vec<Voice>) {
    heard_by("headphones", "25 m", set)
}

/// The same through something else, in other water.
pub fn heard_by(through: &str, pool: &str, set: &str) -> (Vec<f64>, Vec<Voice>) {
    let script =
        format!("lengthwise: 1\ntitle: A\npool: {pool}\npack: first-lengths\npractice:\n  - {{ set: A, {set} }}\n");
    let audience = match through {
        "headphones" => Audience::Headphones,
        "speaker" => Audience::Speaker,
        other => panic!("nothing is heard through `{other}`"),
    };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.yaml");
    std::fs::write(&file, script).unwrap();
    let swimmer = Some(WhoSwims::Hundred(Pace::new(Seconds::from_secs(110)).unwrap()));
    let speech = speech::AVAILABLE.then(|| Speech::new(None));
    let request = PracticeRequest { script: file, swimmer, audience, speech, ..PracticeRequest::default() };
    let outcome = prepare::plan(&request).unwrap();
    let planned = outcome.planned.unwrap_or_else(|| panic!("{:#?}", outcome.diagnostics));
    let (mut gos, mut voices) = (Vec::new(), Vec::new());
    for line in dump(&planned.built.timeline, &planned.library).lines() {
        let [at, _, kind, id, text] = line.split('\t').collect::<Vec<_>>()[..] else { panic!("{line}") };
        let at: f64 = at.parse().unwrap();
        match kind {
            "go" => gos.push(at),
            "beat" | "pip" | "preview" => {}
            _ => voices.push(Voice { at, id: id.to_owned(), text: text.to_owned() }),
        }
    }
    (gos, voices)
}

/// The names of what is said between two times, in order.
pub fn ids(voices: &[Voice], from: f64, to: f64) -> Vec<&str> {
    voices.iter().filter(|voice| (from..to).contains(&voice.at)).map(|voice| voice.id.as_str()).collect()
}

/// What is said under a name, in order.
pub fn texts<'v>(voices: &'v [Voice], id: &str) -> Vec<&'v str> {
    voices.iter().filter(|voice| voice.id == id).map(|voice| voice.text.as_str()).collect()
}

#[test]
fn each_line_is_announced_with_its_own_manner() {
    let (gos, voices) = heard(
        "rounds: 2, rest: 20 s, do: [{ swim: 50 m, tempo: 1.30 s, breathe: every 3, strokes: { at-most: 20 } }, \
         { swim: 50 m, drill: fist }, { swim: 50 m, tempo: 1.20 s, strokes: { at-most: 22 } }]",
    );
    let talk = ids(&voices, 0.0, gos[0]);
    let about = talk.iter().skip_while(|id| **id != "rounds-2").take_while(|id| !id.starts_with("go-in")).copied();
    let wanted = ["rounds-2", "swim", "leave", "tempo", "breathe-every-3", "at-most", "swim", "drill-fist", "leave"];
    let more = ["swim", "whole-stroke", "leave", "tempo", "at-most"];
    let wanted: Vec<_> = wanted.into_iter().chain(more).collect();
    assert_eq!(about.filter(|id| *id != "focus").collect::<Vec<_>>(), wanted);
    // How a drill is done is told once, its name after that.
    assert_eq!(
        texts(&voices, "drill-fist"),
        ["The fist drill. Hands closed, feel the water on your forearms.", "fist", "fist"]
    );
    // A target is heard again before each repeat that it binds.
    assert_eq!(texts(&voices, "at-most").len(), 2 + 3);
    assert!(ids(&voices, gos[1], gos[2]).contains(&"at-most"));
    // Nobody can promise a rest: what is said is what the clock shows.
    assert!(texts(&voices, "leave").iter().all(|text| text.starts_with("on ")), "{:?}", texts(&voices, "leave"));
}

#[test]
fn the_time_to_be_back_in_is_told_where_it_is_new() {
    // A quarter of each pace is 35, 32.5 and 32.5 s for 25 m: 2:20, then 2:10 twice for 100.
    let (gos, voices) = heard("swim: 3 x 100 m, rest: 30 s, pace: [2:20, 2:10, 2:10]");
    assert_eq!(texts(&voices, "due"), ["due in two twenty", "due in two ten"]);
    assert!(ids(&voices, 0.0, gos[0]).contains(&"due") && ids(&voices, gos[0], gos[1]).contains(&"due"));
    assert_eq!(texts(&voices, "which"), ["two of three"]);
    assert_eq!(texts(&voices, "last-one").len(), 1);
}

#[test]
fn lengths_are_named_before_each_go_and_where_they_begin() {
    let (gos, voices) =
        heard("swim: 3 x 50 m, rest: 20 s, effort: easy, lengths: [{ drill: fist }, { focus: soft-hand }]");
    for pair in gos.windows(2) {
        let between = ids(&voices, pair[0], pair[1]);
        let place = |id: &str| between.iter().position(|other| *other == id);
        // "Swim" in the glide, then what to notice, then what comes before the next go; its second length's phrase does not.
        let (turns, phrase, next) =
            (place("turns-to").unwrap(), place("soft-hand").unwrap(), place("in-turn").unwrap());
        assert!(turns < phrase && phrase < next, "{between:?}");
        assert_eq!(between.iter().filter(|id| **id == "soft-hand").count(), 1, "{between:?}");
    }
    assert!(!ids(&voices, 0.0, gos[0]).contains(&"soft-hand"), "before a length that it does not belong to");
    // Before the first go too: else the last word of the talk would be of the second length.
    assert_eq!(texts(&voices, "in-turn"), ["fist then swim"; 3]);
    assert_eq!(texts(&voices, "turns-to"), ["swim"; 3]);
}

#[test]
fn the_first_side_is_told_before_each_go() {
    // Nothing else is new, so that there is room: to the right where the profile does not say.
    let (gos, voices) = heard("swim: 3 x 50 m, rest: 30 s, tempo: 1.30 s, breathe: by length");
    let sides =
        |from: f64, to: f64| ids(&voices, from, to).into_iter().filter(|id| id.starts_with("breathe-r")).count();
    assert_eq!((sides(0.0, gos[0]), sides(gos[0], gos[1]), sides(gos[1], gos[2])), (1, 1, 1));
    assert_eq!(texts(&voices, "breathe-left").len(), 3, "once in the glide of each second length");
    let (gos, voices) = heard("swim: 3 x 50 m, rest: 30 s, tempo: 1.30 s, breathe: by repeat");
    let side = |from: f64, to: f64| {
        ids(&voices, from, to).into_iter().find(|id| ["breathe-right", "breathe-left"].contains(id))
    };
    let told = [side(0.0, gos[0]), side(gos[0], gos[1]), side(gos[1], gos[2])];
    assert_eq!(told, [Some("breathe-right"), Some("breathe-left"), Some("breathe-right")]);
}

#[test]
fn at_the_poolside_no_tempo_is_told_that_no_beat_gives() {
    let script = |beats: &str| {
        format!(
            "lengthwise: 1\ntitle: A\npool: 25 m\npack: first-lengths\npractice:\n  \
             - {{ set: A, swim: 3 x 50 m, rest: 30 s, tempo: [1.30 s, 1.20 s, 1.10 s]{beats} }}\n"
        )
    };
    for (beats, told) in [("", false), (", beats: each-stroke", true)] {
        let run = Run::new("check a.yaml --swimmer 1:50 --for speaker --timeline").file("a.yaml", script(beats)).run();
        assert_eq!(run.stdout.contains("\ttempo\t"), told, "{}", run.stdout);
    }
}

#[test]
fn what_is_said_before_a_go_is_in_order() {
    // Behind "go in ten" there is room for "fifty metres", tempo and phrase, but not for "straight on, no stop", which comes
    // between them.
    let (gos, voices) = heard(
        "rounds: 2, rest: 40 s, focus: roll-together, do: [{ swim: 50 m, tempo: 1.10 s, rest: 0 s }, { swim: 25 m, effort: easy }]",
    );
    let before = ids(&voices, gos[1] - 30.0, gos[1]);
    let before: Vec<_> = before.into_iter().filter(|id| !id.starts_with("go-in")).collect();
    assert_eq!(before, ["last-round", "swim", "straight-on", "tempo", "roll-together"]);
    // At a join too: what is swum, then what to feel.
    let (gos, voices) =
        heard("do: [{ swim: 50 m, tempo: 1.20 s, rest: 0 s }, { swim: 100 m, effort: easy, focus: push-back }]");
    let under = ids(&voices, gos[0] + 10.0, f64::MAX);
    assert_eq!(under[..2], ["swim", "push-back"], "{under:?}");
}

#[test]
fn which_repeat_it_is_counts_over_all_lines() {
    let which = |set: &str| {
        let (_, voices) = heard(set);
        let told = |id: &str| ["which", "last-one", "last-round", "round-2"].contains(&id);
        voices.into_iter().filter(|voice| told(&voice.id)).map(|voice| voice.text).collect::<Vec<_>>()
    };
    let list = "rest: 40 s, do: [{ swim: 50 m }, { swim: 2 x 50 m, drill: fist }, { swim: 50 m }]";
    assert_eq!(which(list), ["two of four", "three of four", "last one"]);
    // In rounds it is the place in the round, where swims are alike: else what they are tells them apart.
    let rounds = "rest: 40 s, rounds: 2, do: [{ swim: 2 x 50 m }, { swim: 50 m, drill: fist }]";
    assert_eq!(which(rounds), ["two of three", "three of three", "last round", "two of three", "last one"]);
    let single = "rest: 40 s, rounds: 2, do: [{ swim: 50 m }, { swim: 50 m, drill: fist }]";
    assert_eq!(which(single), ["last round", "last one"]);
}

#[test]
fn a_swim_in_two_parts_leaves_on_the_time_of_both() {
    let leaves = |set: &str| {
        let (gos, voices) = heard(set);
        (gos, texts(&voices, "leave").into_iter().map(str::to_owned).collect::<Vec<_>>())
    };
    let (gos, said) =
        leaves("rounds: 2, do: [{ swim: 25 m, tempo: 1.00 s, rest: 0 s }, { swim: 50 m, tempo: 1.20 s, rest: 30 s }]");
    // By this file's own arithmetic from the gos: the next one comes on the clock of five seconds.
    let on = gos[1] - gos[0];
    assert!((on / 5.0).fract() == 0.0 && (60.0..180.0).contains(&on), "{on}");
    let spoken = |on: f64| match on as u32 {
        120 => "on two minutes".to_owned(),
        115 => "on one fifty-five".to_owned(),
        other => panic!("add the words of {other} s"),
    };
    assert_eq!(said, ["straight on, no stop".to_owned(), spoken(on)]);
    // A send-off that is written for the second part counts from nowhere: nothing is promised.
    let (_, said) = leaves(
        "rounds: 2, do: [{ swim: 25 m, tempo: 1.00 s, rest: 0 s }, { swim: 50 m, tempo: 1.20 s, send-off: 1:30 }]",
    );
    assert_eq!(said, ["straight on, no stop"]);
}

#[test]
fn a_tempo_is_told_where_its_beat_begins() {
    // One and the same tempo throughout: without a beat, with it, and written in the other unit.
    let (gos, voices) = heard(
        "rest: 30 s, do: [{ swim: 50 m, tempo: 1.20 s, beats: none }, { swim: 50 m, tempo: 1.20 s }, { swim: 50 m, tempo: 50 /min }]",
    );
    let told = |from: f64, to: f64| ids(&voices, from, to).contains(&"tempo");
    assert_eq!((told(gos[0], gos[1]), told(gos[1], gos[2])), (true, false));
}

#[test]
fn open_water_has_no_wall_to_touch() {
    let script =
        "lengthwise: 1\ntitle: A\npool: open water\npack: first-lengths\npractice:\n  - { set: A, swim: 5 min }\n";
    let run = Run::new("check a.yaml --swimmer 1:50 --timeline").file("a.yaml", script).run();
    assert!(run.stdout.contains("intro-late-open") && !run.stdout.contains("touch and leave"), "{}", run.stdout);
}
