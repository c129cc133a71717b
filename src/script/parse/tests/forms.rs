//! Every form of the language, read and refused: swims, manners, defaults, waters.

use super::{HEAD, found, good, only_set, run, set};
use crate::diag::{Diagnostic, Spanned};
use crate::script::{
    BodyPart, Breathe, CallOut, CountOn, Effort, Far, Gear, Phase, Rest, Script, Stroke, StrokeTarget, Swim, Test,
    Water, WrittenItem, WrittenSet,
};
use crate::units::swim::{Distance, PoolUnit, Side};
use crate::units::time::Seconds;

fn swim(keys: &str) -> Swim {
    only_set(&set(keys)).swims.remove(0)
}

/// A value without its place.
fn bare<T>(found: Option<Spanned<T>>) -> Option<T> {
    found.map(|found| found.value)
}

fn metres(counts: &[u32]) -> Vec<Distance> {
    counts.iter().map(|count| Distance::new(*count, PoolUnit::Metre).unwrap()).collect()
}

fn sets(script: &Script) -> Vec<&WrittenSet> {
    script
        .practice
        .iter()
        .filter_map(|item| if let WrittenItem::Set(set) = item { Some(&**set) } else { None })
        .collect()
}

/// A set of a script for open water.
fn open_water(keys: &str) -> String {
    set(keys).replace("pool: 25 m", "pool: open water")
}

pub(super) const SQUAD: &str = "\
lengthwise: 1
title: Thursday, long lanes
pool: 50 m
settings: { gear-change: 45 s }
practice:
  - set: Wake up
    phase: warm-up
    swim: 300 m
    stroke: choice
    effort: easy
    rest: 20 s
  - set: Hands then all of it
    swim: 4 x 100 m
    rest: 15 s
    lengths: [{ drill: fist }, { focus: soft-hand, effort: steady }]
  - set: Hill
    swim: [100 m, 200 m, 300 m, 200 m, 100 m]
    rest: 10 s per 100 m
    pace: { from: 2:00, to: 1:48 }
    second-half: 2 s faster
  - set: Three ways
    rounds: 3
    between-rounds: 1:30
    beats: none
    do:
      - { swim: 100 m, part: kick, gear: [paddles, fins], rest: 20 s }
      - { swim: 50 m, tempo: 1.00 s, rest: 0 s, strokes: { at-most: 40 } }
      - { swim: 50 m, tempo: 1.15 s, rest: 20 s, count: last length, breathe: by repeat }
  - set: SwimExtent it is worth
    swim: 400 m on 9:00
    test: time
";

pub(super) const LAKE: &str = "\
lengthwise: 1
title: Around the island
pool: open water
practice:
  - set: Settle
    swim: 10 min
    rest: 30 s
    tempo: 1.10 s
    breathe: { right: 20, left: 20 }
    sight: every 8 strokes
    call: every 100 strokes
  - set: Loop
    course: { lap: 380 m, laps: 3 }
    rest: 1:00
    breathe: every 3 left
    sight: every 12
";

#[test]
fn a_squad_practice_is_read() {
    let script = good(SQUAD);
    assert_eq!(script.settings.gear_change, Seconds::from_secs(45));
    let sets = sets(&script);
    let [wake, hands, hill, three, test] = sets.as_slice() else { panic!("{sets:?}") };
    assert_eq!((wake.phase, bare(wake.swims[0].stroke)), (Some(Phase::WarmUp), Some(Stroke::Choice)));
    let lengths = &hands.swims[0].lengths;
    assert_eq!(lengths.len(), 2);
    assert_eq!(lengths[0].drill.as_ref().map(|drill| drill.value.as_str()), Some("fist"));
    assert_eq!(lengths[1].focus.as_ref().map(|focus| focus.value.as_str()), Some("soft-hand"));
    assert_eq!((&lengths[1].drill, bare(lengths[1].effort)), (&None, Some(Effort::Steady)));
    let up = &hill.swims[0];
    assert_eq!((up.repeats.value, &up.far.value), (5, &Far::Distances(metres(&[100, 200, 300, 200, 100]))));
    assert_eq!(bare(up.rest), Some(Rest::PerDistance { time: Seconds::from_secs(10), per: metres(&[100])[0] }));
    assert_eq!(bare(up.second_half), Some(Seconds::from_secs(2)));
    assert_eq!((three.rounds.value, bare(three.between_rounds)), (3, Some(Seconds::from_secs(90))));
    let [kick, join, last] = three.swims.as_slice() else { panic!("{three:?}") };
    assert_eq!(bare(kick.part), Some(BodyPart::Kick));
    assert_eq!(bare(kick.gear.clone()), Some(vec![Gear::Fins, Gear::Paddles]));
    assert_eq!(
        (bare(join.rest), bare(join.strokes)),
        (Some(Rest::Fixed(Seconds::ZERO)), Some(StrokeTarget::Fixed(40)))
    );
    assert_eq!((bare(last.count), bare(last.breathe)), (Some(CountOn::LastLength), Some(Breathe::ByRepeat)));
    assert_eq!(
        (bare(test.swims[0].test), bare(test.swims[0].send_off)),
        (Some(Test::Time), Some(Seconds::from_secs(540)))
    );
}

#[test]
fn an_open_water_practice_is_read() {
    let script = good(LAKE);
    assert_eq!(script.water.value, Water::Open);
    let sets = sets(&script);
    let [settle, around] = sets.as_slice() else { panic!("{sets:?}") };
    let first = &settle.swims[0];
    assert_eq!((first.repeats.value, &first.far.value), (1, &Far::Time(Seconds::from_secs(600))));
    assert_eq!(bare(first.breathe), Some(Breathe::Sides { right: 20, left: 20 }));
    assert_eq!((bare(first.sight), bare(first.call.clone())), (Some(8), Some(vec![CallOut::Strokes(100)])));
    let second = &around.swims[0];
    assert_eq!((second.repeats.value, &second.far.value), (1, &Far::Course { lap: metres(&[380])[0], laps: 3 }));
    assert_eq!((bare(second.breathe), bare(second.sight)), (Some(Breathe::Every(3, Some(Side::Left))), Some(12)));
}

#[test]
fn each_form_is_read() {
    for text in ["[50 m, 100 m]", "\"[50, 100] m\"", "'[50 m, 100 m]'"] {
        let found = swim(&format!("swim: {text}"));
        assert_eq!((found.repeats.value, found.far.value), (2, Far::Distances(metres(&[50, 100]))), "{text}");
    }
    let listed = only_set(&set("do: [{ swim: [50 m, 100 m], rest: 5 s }, { swim: [25 m] }]"));
    assert_eq!(listed.swims.iter().map(|swim| swim.repeats.value).collect::<Vec<_>>(), [2, 1]);
    for (text, gear) in [
        ("fins", vec![Gear::Fins]),
        ("[snorkel, buoy]", vec![Gear::Buoy, Gear::Snorkel]),
        ("none", vec![]),
        ("[]", vec![]),
    ] {
        assert_eq!(bare(swim(&format!("swim: 50 m\ngear: {text}")).gear), Some(gear), "{text}");
    }
    assert_eq!(bare(swim("swim: 50 m\nsecond-half: 3 s slower").second_half), Some(Seconds::from_secs(-3)));
    assert_eq!(bare(swim("swim: 50 m\ncount: each length").count), Some(CountOn::EachLength));
    assert_eq!(bare(swim("swim: 50 m\ntest: count\nbeats: none").test), Some(Test::Count));
    assert_eq!(bare(swim("swim: 75 m\nend: far").end_far), Some(true));
    assert_eq!(bare(swim("swim: 50 m\nbreathe: by length").breathe), Some(Breathe::ByLength));
    let once = good(&open_water("course: { lap: 500 m }"));
    assert_eq!(sets(&once)[0].swims[0].far.value, Far::Course { lap: metres(&[500])[0], laps: 1 });
}

#[test]
fn places_of_the_new_forms_are_exact() {
    let text = set("swim: \"[50, 100] m on 2:30\"\ngear: [fins, buoy]\nrest-x: 1");
    let (_, problems, sources) = run(&text);
    assert_eq!(problems.iter().map(|problem| sources.slice(problem.span.unwrap())).collect::<Vec<_>>(), ["rest-x"]);
    let text = text.replace("    rest-x: 1\n", "");
    let (script, _, sources) = run(&text);
    let script = script.unwrap();
    let swim = &sets(&script)[0].swims[0];
    assert_eq!(sources.slice(swim.far.span), "[50, 100] m");
    assert_eq!(sources.slice(swim.span), "\"[50, 100] m on 2:30\"");
    assert_eq!(sources.slice(swim.send_off.unwrap().span), "2:30");
    assert_eq!(sources.slice(swim.gear.as_ref().unwrap().span), "[fins, buoy]");
}

#[test]
fn a_swims_own_keys_put_the_sets_aside() {
    let keys = "tempo: 1.20 s\ncount: last length\nbeats: none\ngear: fins\nend: far\nlengths: [{ drill: fist }]\n\
                do:\n  - { swim: 25 m }\n  - { swim: 25 m, part: kick, gear: none, end: near }\n  \
                - { swim: 50 m, second-half: 2 s faster, lengths: [{ part: pull }] }";
    let swims = only_set(&set(keys)).swims;
    let [plain, kick, half] = swims.as_slice() else { panic!("{swims:?}") };
    assert!(plain.tempo.is_some() && plain.count.is_some() && bare(plain.end_far) == Some(true));
    assert_eq!(plain.lengths[0].drill.as_ref().map(|drill| drill.value.as_str()), Some("fist"));
    assert!(kick.tempo.is_none() && kick.count.is_none(), "legs have no strokes");
    assert_eq!((bare(kick.gear.clone()), bare(kick.end_far)), (Some(vec![]), Some(false)));
    assert!(half.tempo.is_none() && half.second_half.is_some() && bare(half.lengths[0].part) == Some(BodyPart::Pull));
    // A test in a set with beats has none; a tempo in a set with a faster second half has even halves.
    let tested = only_set(&set("beats: thirds\ndo: [{ swim: 50 m, test: time }, { swim: 50 m }]")).swims;
    assert!(tested[0].beats.is_none() && tested[1].beats.is_some());
    let even = only_set(&set("second-half: 1 s faster\ndo: [{ swim: 50 m, tempo: 1.2 s }, { swim: 50 m }]")).swims;
    assert!(even[0].second_half.is_none() && even[1].second_half.is_some());
}

#[test]
fn each_mistake_of_the_new_forms_is_marked() {
    let cases: &[(&str, &[&str])] = &[
        ("swim: [50, 100]", &["unit-missing@50", "unit-missing@100"]),
        ("swim: [50, 100 m]", &["unit-missing@50"]),
        ("swim: \"[50, 1.5] m\"", &["bad-value@1.5"]),
        ("swim: [50, 100] m", &["yaml@[50, 100] m"]),
        ("swim: \"[50, 100]\"", &["unit-missing@50"]),
        ("swim: [[50 m]]", &["wrong-shape@[50 m]"]),
        ("swim: []", &["bad-value@[]"]),
        ("swim: 2 x [50, 100] m", &["bad-value@[50, 100] m"]),
        ("swim: 5 s", &["out-of-range@5 s"]),
        ("swim: 50 m\ncourse: { lap: 380 m }", &["conflict@course"]),
        ("course: { lap: 380 m }\ndo: [{ swim: 50 m }]", &["conflict@do"]),
        ("course: { laps: 3 }", &["missing-key@laps"]),
        ("course: { lap: 380, laps: 0 }", &["unit-missing@380", "out-of-range@0"]),
        ("course: 380 m", &["wrong-shape@380 m"]),
        ("course: { lap: 380 m }", &["conflict@{ lap: 380 m }"]),
        ("swimm: 50 m", &["unknown-key@swimm"]),
        ("do: [{ distance: 50 m }]", &["unknown-key@distance"]),
        ("swim: 50 m\nbetween-rounds: 1:00", &["conflict@between-rounds"]),
        ("swim: 50 m\nrounds: 1\nbetween-rounds: 1:00", &["conflict@between-rounds"]),
        ("swim: 50 m\nrounds: two\nbetween-rounds: 1:00", &["bad-value@two"]),
        ("swim: 50 m\nround: 3\nbetween-rounds: 1:00", &["unknown-key@round"]),
        ("swim: 50 m\nrounds: 2\nbetween-rounds: 0 s", &["out-of-range@0 s"]),
        ("swim: 50 m\nrest: 10 s per 50", &["unit-missing@50"]),
        ("swim: 50 m\nlengths: []", &["bad-value@[]"]),
        ("swim: 50 m\nlengths: { drill: fist }", &["wrong-shape@{ drill: fist }"]),
        ("swim: 50 m\nlengths: [fist, {}]", &["wrong-shape@fist", "missing-key@{}"]),
        ("swim: 50 m\nlengths: [{ tempo: 1.2 s }]", &["unknown-key@tempo"]),
        ("swim: 50 m\nlengths: [{ focus: [a, b] }]", &["wrong-shape@[a, b]"]),
        ("swim: 50 m\nlengths: [{ part: kik, stroke: free }]", &["bad-value@kik", "bad-value@free"]),
        ("swim: 50 m\nsecond-half: 2 s", &["bad-value@2 s"]),
        ("swim: 50 m\nstroke: butterfly\npart: legs", &["bad-value@butterfly", "bad-value@legs"]),
        ("swim: 50 m\ngear: fins, buoy", &["bad-value@fins, buoy"]),
        ("swim: 50 m\ngear: [fins, none]", &["bad-value@none"]),
        ("swim: 50 m\ngear: [fins, buoy, fins]", &["bad-value@fins"]),
        ("swim: 50 m\ngear: { fins: yes }", &["wrong-shape@{ fins: yes }"]),
        ("swim: 50 m\nstrokes: 19", &["wrong-shape@19"]),
        ("swim: 50 m\nstrokes: { at-most: 3 }", &["out-of-range@3"]),
        ("swim: 50 m\nstrokes: { max: 19 }", &["unknown-key@max"]),
        ("swim: 50 m\nstrokes: {}", &["missing-key@{}"]),
        ("swim: 50 m\ncount: last", &["bad-value@last"]),
        ("swim: 50 m\ntest: speed", &["bad-value@speed"]),
        ("swim: 50 m\nsight: 8", &["bad-value@8"]),
        (
            "swim: 50 m\nsight: every 3 strokes\ncall: every 10",
            &["out-of-range@every 3 strokes", "out-of-range@every 10"],
        ),
        ("swim: 50 m\ncall: []", &["bad-value@[]"]),
        ("swim: 50 m\ncall: [lengths, each swim]", &["bad-value@swim"]),
        ("swim: 50 m\ncall: [every 50, each repeat, every 100 strokes]", &["bad-value@every 100 strokes"]),
        ("swim: 50 m\nremind: every 20 s", &["out-of-range@every 20 s"]),
        ("swim: 50 m\nremind: every 101 lengths", &["out-of-range@101"]),
        ("swim: 50 m\npart: kick\ncall: [lengths, every 50]", &["conflict@[lengths, every 50]"]),
        ("swim: 50 m\nend: middle", &["bad-value@middle"]),
        ("swim: 50 m\nbreathe: { right: 20 }", &["missing-key@right"]),
        ("swim: 50 m\nbreathe: { right: 1, left: 401 strokes }", &["out-of-range@1", "out-of-range@401 strokes"]),
        ("swim: 50 m\nbreathe: every 3 rihgt", &["bad-value@rihgt"]),
        ("swim: 50 m\npart: kick\ntempo: 1.2 s\nstrokes: { at-most: 20 }", &["conflict@1.2 s", "conflict@20"]),
        ("swim: 50 m\npart: scull\ncount: each length\ncall: every 50", &["conflict@each length", "conflict@every 50"]),
        (
            "part: kick\ndo: [{ swim: 50 m, tempo: 1.2 s }, { swim: 50 m, part: swim, tempo: 1.1 s }]",
            &["conflict@1.2 s"],
        ),
        ("tempo: 1.2 s\npart: kick\ndo: [{ swim: 50 m }, { swim: 25 m }]", &["conflict@1.2 s"]),
        ("swim: 50 m\nbeats: wood\ntest: count", &["conflict@wood"]),
        ("test: time\ndo: [{ swim: 50 m, beats: wood }]", &["conflict@wood"]),
        ("swim: 50 m\nsecond-half: 2 s faster\ntempo: 1.2 s", &["conflict@2 s faster"]),
        ("swim: 50 m\nsend-off:1:30", &["yaml@send-off:"]),
        ("do: [{ swim:50 m }]", &["unknown-key@swim:50 m"]),
    ];
    for (keys, expected) in cases {
        assert_eq!(found(&set(keys)), *expected, "{keys}");
    }
    let settings = format!("{HEAD}settings: {{ gear-change: 6 min }}\npractice: [{{ set: A, swim: 50 m }}]\n");
    assert_eq!(found(&settings), ["out-of-range@6 min"]);
    let many = set(&format!("swim: 50 m\nlengths: [{}]", "{ drill: a }, ".repeat(65)));
    assert!(found(&many)[0].starts_with("out-of-range@["), "{:?}", found(&many));
}

#[test]
fn open_water_has_no_walls_and_no_yards() {
    let cases: &[(&str, &[&str])] = &[
        ("swim: 500 yd", &["bad-value@500 yd"]),
        ("swim: [100 m, 200 yd]", &["bad-value@[100 m, 200 yd]"]),
        ("course: { lap: 400 yd }", &["bad-value@400 yd"]),
        ("swim: 500 m\nrest: 10 s per 50 yd", &["bad-value@10 s per 50 yd"]),
        ("swim: 500 m\nend: far", &["conflict@far"]),
        ("swim: 500 m\nlengths: [{ drill: fist }]", &["conflict@fist"]),
        ("swim: 500 m\nstrokes: { at-most: 20 }\ncount: last length", &["conflict@20", "conflict@last length"]),
        ("swim: 500 m\nbreathe: by length", &["conflict@by length"]),
        ("swim: 500 m\nfocus: { phrases: [a, b], change: length }", &["conflict@length"]),
        ("end: far\ndo: [{ swim: 50 m }, { swim: 60 m }]", &["conflict@far"]),
        ("swim: 500 m\nend: near\nbreathe: by repeat", &[]),
    ];
    for (keys, expected) in cases {
        assert_eq!(found(&open_water(keys)), *expected, "{keys}");
    }
}

#[test]
fn hints_name_the_likely_word() {
    let hint = |keys: &str| {
        let (_, problems, _) = run(&set(keys));
        let [Diagnostic { hint: Some(hint), .. }] = problems.as_slice() else { panic!("{keys}: {problems:?}") };
        hint.clone()
    };
    for (keys, expected) in [
        ("swim: 50 m\nsendoff: 1:30", "did you mean `send-off`?"),
        ("swim: 50 m\ninterval: 1:30", "did you mean `send-off`?"),
        ("swim: 50 m\nequipment: fins", "did you mean `gear`?"),
        ("swim: 50 m\nsecondhalf: 2 s faster", "did you mean `second-half`?"),
        ("swim: 50 m\nsigth: every 8", "did you mean `sight`?"),
        ("swim: 50 m\nstroke: free", "did you mean `crawl`?"),
        ("swim: 50 m\nstroke: IM", "did you mean `medley`?"),
        ("swim: 50 m\npart: legs", "did you mean `kick`?"),
        ("swim: 50 m\ngear: [pullbuoy]", "did you mean `buoy`?"),
        ("swim: 50 m\ngear: fins, buoy", "several are a list: `[fins, buoy]`"),
        ("swim: 50 m\ncount: last", "did you mean `last length`?"),
        ("swim: 50 m\neffort: hard", "did you mean `fast`?"),
        ("swim: 50 m\nstrokes: 19", "`strokes: { at-most: 19 }`?"),
        ("swim: 50 m\nlengths: [fist]", "`{ drill: fist }` or `{ focus: fist }`?"),
        ("do: [{ swim:50 m }]", "a blank is missing after the colon: `swim: 50 m`"),
        ("do: [\"swim:50 m\"]", "a blank is missing after the colon: `swim: 50 m`"),
    ] {
        assert_eq!(hint(keys), expected, "{keys}");
    }
}

#[test]
fn after_broken_yaml_nothing_else_is_reported() {
    // The bracket swallows the lines after it: what they seem to say is not held against anyone.
    for keys in [
        "swim: 50\ngear: [fins\nrest: 10\n",
        "swim: 50\nbreathe: { right: 1, left: 20\nrest: 10\ntempo: 1.2\n",
        "swim: 50\nlengths: [{ drill: a b }, { focus: c }\nrest: 10\n",
        "swim: 50\nrest 10\ntempo: 1.2\n",
        "swim: 50\nstroke: \"crawl\ntempo: 1.2\n",
        "swim: 50\n\ttempo: 1.2\n",
    ] {
        let problems = found(&set(keys));
        assert!(problems.iter().filter(|problem| problem.starts_with("yaml@")).count() == 1, "{keys}: {problems:?}");
        assert!(
            problems.len() <= 2
                && problems.iter().all(|problem| problem.starts_with("yaml@") || problem == "unit-missing@50"),
            "{keys}: {problems:?}"
        );
    }
}
