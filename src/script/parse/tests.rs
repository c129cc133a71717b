//! Whole scripts and their mistakes: what is read, what is reported and where, and that no text makes the parser fall over.

use super::*;
use crate::script::{Breathe, Change, FocusOrder, Phase, Values};
use crate::units::time::Tempo;
use proptest::prelude::*;

fn run(text: &str) -> (Option<Script>, Vec<Diagnostic>, Sources) {
    let mut sources = Sources::new();
    let id = sources.add("test.yaml", text);
    let (script, problems) = parse(id, &sources);
    (script, problems, sources)
}

fn good(text: &str) -> Script {
    let (script, problems, _) = run(text);
    assert_eq!(problems, [], "{text}");
    script.unwrap()
}

/// The problems as `code@marked text`.
fn found(text: &str) -> Vec<String> {
    let (script, problems, sources) = run(text);
    assert!(script.is_none() || problems.is_empty());
    for problem in &problems {
        let first = problem.message.chars().next();
        assert!(first.is_some_and(|c| !c.is_uppercase()) && !problem.message.ends_with('.'), "{}", problem.message);
    }
    let mark = |d: &Diagnostic| d.span.map_or("", |span| sources.slice(span)).to_owned();
    problems.iter().map(|d| format!("{}@{}", d.code.word(), mark(d))).collect()
}

const HEAD: &str = "lengthwise: 1\ntitle: Test\npool: 25 m\n";

fn set(keys: &str) -> String {
    format!("{HEAD}practice:\n  - set: One\n    {}\n", keys.replace('\n', "\n    "))
}

fn only_set(text: &str) -> crate::script::WrittenSet {
    match good(text).practice.into_iter().next() {
        Some(WrittenItem::Set(set)) => *set,
        other => panic!("{other:?}"),
    }
}

const WHOLE: &str = "\
lengthwise: 1                       # version of the format
title: Up the tempo range
pool: 25 m
pack: tempo-range
settings: { countdown: 3 s, voice: -16 LUFS, beats: -6 dB, ducking: 12 dB, seed: 7 }
beats:
  thirds: { sound: wood, every: stroke, accent: { every: 3, sound: bell } }
  pairs: { sound: low, pitch: 900 Hz, length: 40 ms, level: -3 dB, every: 2 strokes }
practice:
  - say: welcome
  - set: Easy start
    phase: warm-up
    swim: 4 x 50 m on 1:30
    effort: easy
    focus: { phrases: [reach-forward, head-still], change: length, order: in turn }
  - set: Drill
    swim: 6 x 50 m
    rest: 15 s
    drill: fist
    focus: soft-hand
  - rest: 1:00
  - set: Range
    swim: 8 x 50 m
    send-off: 1:20
    tempo: { from: 1.30 s, to: 0.95 s }
    beats: thirds
    breathe: every 3
  - set: Mixed
    rounds: 3
    tempo: [1.20 s, 50 /min]
    rest: 20 s
    beats: none
    do:
      - { swim: 50 m, effort: brisk }
      - { swim: 25 m, tempo: 0.95 s, rest: 0 s }
      - swim: 2 x 75 m on 2:00
        pace: { from: 2:05, to: 1:50, step: 5 s }
        focus: { phrases: hips-up, change: 12 strokes, order: shuffled }
";

#[test]
fn a_whole_script_is_read() {
    let script = good(WHOLE);
    assert_eq!(script.title.value, "Up the tempo range");
    assert_eq!(script.settings.seed, 7);
    let [(thirds, track), (_, pairs)] = script.beats.as_slice() else { panic!("{:?}", script.beats) };
    assert_eq!((thirds.value.as_str(), track.every, track.accent.map(|accent| accent.0)), ("thirds", 1, Some(3)));
    assert_eq!((pairs.sound.pitch, pairs.every, pairs.sound.level.db()), (Some(900), 2, -3.0));
    let sets: Vec<_> = script
        .practice
        .iter()
        .filter_map(|item| if let WrittenItem::Set(set) = item { Some(set) } else { None })
        .collect();
    let [easy, drill, range, mixed] = sets.as_slice() else { panic!("{sets:?}") };
    assert_eq!(easy.phase, Some(Phase::WarmUp));
    assert_eq!(easy.swims[0].repeats.value, 4);
    assert_eq!(easy.swims[0].send_off.map(|time| time.value), Some(Seconds::from_secs(90)));
    let focus = &easy.swims[0].focus.as_ref().unwrap().value;
    assert_eq!((focus.phrases.len(), focus.change.value, focus.order), (2, Change::Length, FocusOrder::InTurn));
    assert_eq!(drill.swims[0].focus.as_ref().unwrap().value.change.value, Change::Set);
    assert_eq!(range.swims[0].breathe.map(|found| found.value), Some(Breathe::Every(3, None)));
    let Values::Range(tempo) = &range.swims[0].tempo.as_ref().unwrap().value.shape else { panic!() };
    assert_eq!(
        (Some(tempo.from.value), range.swims[0].tempo.as_ref().unwrap().value.per_minute),
        (Tempo::from_ratio(13, 10).map(crate::script::Written::Fixed), false)
    );

    // A set's keys are the defaults of its list; a swim's own send-off hides the set's rest.
    let [first, joined, last] = mixed.swims.as_slice() else { panic!("{:?}", mixed.swims) };
    assert_eq!((mixed.rounds.value, mixed.listed), (3, true));
    assert!(matches!(&first.tempo.as_ref().unwrap().value.shape, Values::List(list) if list.len() == 2));
    assert_eq!(first.rest.map(|rest| rest.value), Some(crate::script::Rest::Fixed(Seconds::from_secs(20))));
    assert_eq!(joined.rest.map(|rest| rest.value), Some(crate::script::Rest::Fixed(Seconds::ZERO)));
    assert!(matches!(&joined.tempo.as_ref().unwrap().value.shape, Values::One(_)));
    assert_eq!((last.rest, last.send_off.map(|time| time.value)), (None, Some(Seconds::from_secs(120))));
    assert!(mixed.swims.iter().all(|swim| swim.beats.as_ref().unwrap().value == "none"));
}

#[test]
fn places_are_exact() {
    let text = set("swim: \"4 x 50 m on 1:30\"");
    let swim = only_set(&text).swims.remove(0);
    let (_, _, sources) = run(&text);
    assert_eq!(sources.slice(swim.repeats.span), "4");
    assert_eq!(sources.slice(swim.far.span), "50 m");
    assert_eq!(sources.slice(swim.send_off.unwrap().span), "1:30");
    assert_eq!(sources.slice(swim.span), "\"4 x 50 m on 1:30\"");
}

#[test]
fn each_mistake_is_marked() {
    let cases: &[(&str, &[&str])] = &[
        ("swim: 4 x 50", &["unit-missing@50"]),
        ("swim: 4 x 50 m @ 1:30", &["bad-value@@"]),
        ("swim: 50 m\nsendoff: 1:30", &["unknown-key@sendoff"]),
        ("swim: 50 m\nrest: 15 s\nsend-off: 1:30", &["conflict@rest"]),
        ("swim: 50 m on 1:30\nsend-off: 1:40", &["conflict@send-off"]),
        ("swim: 50 m on 1:30\nrest: 10 s", &["conflict@rest"]),
        ("rest: 10 s", &["missing-key@set"]),
        ("swim: 50 m\ndo: [{ swim: 25 m, rest: 5 }]", &["conflict@do", "unit-missing@5"]),
        ("do: []", &["empty@[]"]),
        ("do: { swim: 50 m }", &["wrong-shape@{ swim: 50 m }"]),
        ("do: [50 m]", &["wrong-shape@50 m"]),
        ("do: [{ rest: 10 s }]", &["missing-key@rest"]),
        ("swim: { far: 50 m }", &["wrong-shape@{ far: 50 m }"]),
        ("swim: 50 m\ntempo: 1.2", &["unit-missing@1.2"]),
        ("swim: 50 m\ntempo: 3 s", &["out-of-range@3 s"]),
        ("swim: 50 m\ntempo:", &["bad-value@tempo"]),
        ("swim: 50 m\ntempo: []", &["bad-value@[]"]),
        ("swim: 50 m\ntempo: [1.2 s, 1.1]", &["unit-missing@1.1"]),
        ("swim: 50 m\ntempo: { from: 1.3 s }", &["missing-key@from"]),
        ("swim: 50 m\ntempo: { from: 1.3 s, step: 0.05 s }", &["missing-key@from"]),
        ("swim: 50 m\ntempo: { from: 1.3 s, to: 50 /min }", &["range-disagrees@50 /min"]),
        ("swim: 50 m\ntempo: { from: 1.3 s, to: 1.30 s }", &["range-disagrees@1.30 s"]),
        ("swim: 50 m\ntempo: { from: 1.3 s, to: 1.2 s, step: 0.2 s }", &["range-disagrees@0.2 s"]),
        ("swim: 50 m\ntempo: { from: 50 /min, to: 60 /min, step: 0.2 s }", &["range-disagrees@0.2 s"]),
        (
            "swim: 50 m\ntempo: { from: 1,30 s, to: 1,20 s }",
            &["unit-missing@1", "unknown-key@30 s", "unit-missing@1", "unknown-key@20 s"],
        ),
        ("swim: 50 m\npace: { from: 2:05, to: 1:50, step: 20 s }", &["range-disagrees@20 s"]),
        ("swim: 50 m\neffort: eazy", &["bad-value@eazy"]),
        ("swim: 50 m\nphase: warmup", &["bad-value@warmup"]),
        ("swim: 50 m\nrounds: 0", &["out-of-range@0"]),
        ("swim: 50 m\nfocus: { change: length }", &["missing-key@change"]),
        ("swim: 50 m\nfocus: []", &["bad-value@[]"]),
        ("swim: 50 m\nfocus: reach forward", &["bad-value@reach forward"]),
        ("swim: 50 m\nfocus: { phrases: a, change: 3 strokes }", &["out-of-range@3 strokes"]),
        ("swim: 50 m\nfocus: { phrases: a, change: lap, order: random }", &["bad-value@lap", "bad-value@random"]),
        ("swim: 50 m\nbreathe: 3", &["bad-value@3"]),
        ("swim: 50 m\nrest: *short", &["yaml@*short"]),
        ("swim: !m 50 m", &["yaml@!m"]),
        ("swim: 50 m\nswim: 60 m", &["duplicate-key@swim"]),
        ("swim: 50 m\n? [a]\n: b", &["wrong-shape@[a]"]),
        ("swim: 50 m\n---\na: b", &["yaml@---"]),
    ];
    for (keys, expected) in cases {
        let text = if keys.contains("---") { format!("{}{keys}", set("")) } else { set(keys) };
        let mut problems = found(&text);
        if keys.contains("---") {
            problems.retain(|problem| problem.starts_with("yaml"));
        }
        assert_eq!(problems, *expected, "{keys}");
    }
}

#[test]
fn the_head_is_checked() {
    let practice = "practice: [{ set: A, swim: 50 m }]\n";
    let cases: &[(String, &[&str])] = &[
        (String::new(), &["empty@"]),
        ("# only a comment\n".into(), &["empty@"]),
        ("- a\n".into(), &["wrong-shape@- a"]),
        (format!("title: A\npool: 25 m\n{practice}"), &["version@title"]),
        (format!("title: A\nlengthwise: 1\npool: 25 m\n{practice}"), &["version@lengthwise"]),
        (format!("lengthwise: 2\ntittle: A\n{practice}"), &["version@2"]),
        (format!("lengthwise: one\ntitle: A\npool: 25 m\n{practice}"), &["version@one"]),
        (format!("lengthwise: 1\npool: 25\n{practice}"), &["missing-key@lengthwise", "unit-missing@25"]),
        (format!("lengthwise: 1\ntitle: A\npool: 5 m\n{practice}"), &["out-of-range@5 m"]),
        (format!("lengthwise: 1\ntitle: A\npool: openwater\n{practice}"), &["bad-value@openwater"]),
        (format!("{HEAD}practice: []\n"), &["empty@[]"]),
        (HEAD.into(), &["missing-key@lengthwise"]),
        (
            format!("{HEAD}practice: [{{ swim: 50 m }}, {{}}, {{ say: a, rest: 1 s }}, 4 x 50 m]\n"),
            &["missing-key@swim", "missing-key@{}", "unknown-key@rest", "wrong-shape@4 x 50 m"],
        ),
        (
            format!(
                "{HEAD}settings: {{ countdown: 2 s, voice: -16, beats: -6 LUFS, ducking: 50 dB, seed: -1 }}\n{practice}"
            ),
            &["out-of-range@2 s", "unit-missing@-16", "bad-value@LUFS", "out-of-range@50 dB", "bad-value@-1"],
        ),
        (
            format!(
                "{HEAD}beats: {{ none: {{ sound: wood }}, a: {{}}, b: {{ sound: gong, every: 9 strokes, accent: {{ every: 3 }} }} }}\n{practice}"
            ),
            &["bad-value@none", "missing-key@{}", "bad-value@gong", "out-of-range@9 strokes", "missing-key@every"],
        ),
        ("lengthwise: 1\0".into(), &["yaml@\0"]),
    ];
    for (text, expected) in cases {
        assert_eq!(found(text), *expected, "{text}");
    }
}

#[test]
fn ten_mistakes_are_found_in_one_run() {
    let text = "\
lengthwise: 1
titel: Ten mistakes
pool: 25
settings: { voice: -16 dB }
practice:
  - set: Easy start
    swim: 4 x 50 m @ 1:30
  - set: Tempo
    swim: 8 x 50 m on 1:20
    rest: 10 s
    tempo: 1.2
  - set: Zwölf Längen 🏊
    phase: wram-up
    swim: 12x25
    send-off: 1:75
  - set: Last
    rounds: none
    swim: 200 m
";
    assert_eq!(
        found(text),
        [
            "unknown-key@titel",
            "unit-missing@25",
            "bad-value@dB",
            "bad-value@@",
            "conflict@rest",
            "unit-missing@1.2",
            "bad-value@wram-up",
            "unit-missing@25",
            "bad-value@75",
            "bad-value@none",
        ]
    );
}

#[test]
fn what_stands_before_broken_yaml_is_checked() {
    // The text breaks off in the second set: its missing `swim` is not held against it, the first set's is.
    let problems =
        found(&format!("{HEAD}practice:\n  - set: A\n  - set: B\n    tempo: 1.2\n    focus: [a\n  - x: }}\n"));
    assert_eq!(problems.len(), 3, "{problems:?}");
    assert_eq!(problems[..2], ["missing-key@set", "unit-missing@1.2"]);
    assert!(problems[2].starts_with("yaml@"), "{problems:?}");
    // Inside the brackets that were not closed in time, nothing else is called wrong.
    let unclosed = found(&set("swim: 50 m\nfocus: { phrases: [a, b, change: length }\nrest: 10"));
    assert_eq!(unclosed, ["yaml@["]);
    assert!(found("lengthwise: 1\ntitle: [A\n")[0].starts_with("yaml@"));
}

mod forms;
mod hostile;

proptest! {
    #![proptest_config(crate::cases::cases(64))]

    #[test]
    fn no_text_is_too_strange(text in "\\PC{0,200}") {
        let (_, problems, sources) = run(&text);
        for problem in problems {
            let span = problem.span.unwrap();
            prop_assert!(sources.text(span.source).is_char_boundary(span.start as usize));
            prop_assert!(sources.text(span.source).is_char_boundary(span.end as usize));
        }
    }

    #[test]
    fn yaml_marks_in_any_order(text in "[\\[\\]{}:,&*!|>'\"%@`#?a1 \\-\n\t\r~.]{0,120}") {
        run(&text);
    }

    /// Scripts of every form, with a piece moved from one into the other.
    #[test]
    fn mixed_scripts(from in 0..forms::SQUAD.len(), len in 0..60_usize, to in 0..forms::LAKE.len(), swap: bool) {
        let (a, b) = if swap { (forms::LAKE, forms::SQUAD) } else { (forms::SQUAD, forms::LAKE) };
        // Both are ASCII, so every offset is a boundary.
        let (from, to) = (from.min(a.len()), to.min(b.len()));
        let piece = &a[from..(from + len).min(a.len())];
        for text in [format!("{}{piece}{}", &b[..to], &b[to..]), format!("{}{piece}", &b[..to])] {
            let (script, problems, _) = run(&text);
            prop_assert!(script.is_some() != has_errors(&problems));
            for span in problems.iter().filter_map(|problem| problem.span) {
                prop_assert!(span.start <= span.end && span.end as usize <= text.len());
            }
        }
    }

    /// A good script with a piece cut out, put in again elsewhere, or replaced by marks of YAML.
    #[test]
    fn mutated_scripts(at in 0..WHOLE.len(), len in 0..80_usize, to in 0..WHOLE.len(), junk in "[\\[\\]{}:,&*!|>'\"%@#?0-9a-z \\-\n\té🏊]{0,12}") {
        // The script is ASCII, so every offset is a boundary.
        let end = (at + len).min(WHOLE.len());
        let without = format!("{}{junk}{}", &WHOLE[..at], &WHOLE[end..]);
        let to = to.min(without.len());
        let to = (0..=to).rev().find(|at| without.is_char_boundary(*at)).unwrap();
        let moved = format!("{}{}{}", &without[..to], &WHOLE[at..end], &without[to..]);
        for text in [without, moved] {
            let (script, problems, sources) = run(&text);
            prop_assert!(script.is_some() != has_errors(&problems));
            for span in problems.iter().filter_map(|problem| problem.span) {
                prop_assert!(span.start <= span.end && span.end as usize <= text.len());
                prop_assert!(text.is_char_boundary(span.start as usize) && text.is_char_boundary(span.end as usize));
            }
            drop(sources);
        }
    }
}
