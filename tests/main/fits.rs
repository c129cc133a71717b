//! One script for whoever swims it: values that follow the swimmer are those they come to, and the practices that come with
//! the program can be swum by a novice and by a master.

use crate::cases::cases;
use crate::material::names;
use crate::plan::library;
use crate::run::Run;
use lengthwise::diag::{Sources, Span, Spanned, has_errors};
use lengthwise::pack::builtin;
use lengthwise::pack::library::Role;
use lengthwise::pack::load::{self, Search};
use lengthwise::practice::{self, Audience, Practice};
use lengthwise::prepare::{self, PracticeRequest, WhoSwims};
use lengthwise::script::parse::parse;
use lengthwise::swimmer::profile;
use lengthwise::timeline::build::build;
use lengthwise::timeline::dump::dump;
use lengthwise::units::swim::Pace;
use lengthwise::units::time::Seconds;
use proptest::prelude::*;

/// A practice of one set, and all that is heard of it.
fn laid(profile: &str, keys: &str) -> Result<(Practice, String), String> {
    planned(profile, &format!("{{ set: Try, swim: 5 x 50 m, rest: 20 s, {keys} }}"))
}

/// The same of a whole set.
fn planned(profile: &str, set: &str) -> Result<(Practice, String), String> {
    let mut sources = Sources::new();
    let id = sources.add("profile", profile.to_owned());
    let (swimmer, problems) = profile::parse(id, &sources);
    let swimmer = swimmer.ok_or_else(|| format!("{problems:?}"))?;
    let head = "lengthwise: 1\ntitle: Try\npool: 25 m\npack: first-lengths\npractice:\n";
    let id = sources.add("script", format!("{head}  - {set}\n"));
    let (script, problems) = parse(id, &sources);
    let script = script.ok_or_else(|| format!("{problems:?}"))?;
    let (practice, problems) = practice::expand(&script, library(), &swimmer, Audience::Headphones);
    assert_eq!(practice.is_none(), has_errors(&problems), "{problems:?}");
    let practice = practice.ok_or_else(|| format!("{problems:?}"))?;
    let heard = dump(&build(&practice, library()).timeline, library());
    Ok((practice, heard))
}

fn signed(plus: i64, unit: &str) -> String {
    if plus < 0 { format!("- {}{unit}", -plus) } else { format!("+ {plus}{unit}") }
}

/// Hundredths as seconds.
fn centis(value: i64) -> String {
    format!("{}.{:02} s", value / 100, value % 100)
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn what_follows_is_what_it_comes_to(
        usual in 95_i64..=160, steady in 80_i64..=180, critical in 75_i64..=170, first in 3_i64..=30, last in -30_i64..=2,
        slower in -10_i64..=20, strokes in -3_i64..=3,
    ) {
        let profile = format!(
            "lengthwise-profile: 1\npool: 25 m\nstroke: [{{ tempo: 1.70 s, count: 20 }}]\nusual: {}\n\
             pace: {{ steady: {steady} s }}\ncritical: {critical} s\n",
            centis(usual)
        );
        let (a, b) = (centis(usual + first), centis(usual + last));
        let plus = |hundredths| signed(hundredths * 10, " ms");
        let (from, to) = (plus(first), plus(last));
        let pace = signed(slower, " s");
        let mut pairs = vec![
            (format!("tempo: usual {from}"), format!("tempo: {a}")),
            (format!("tempo: [usual {from}, {b}]"), format!("tempo: [{a}, usual {to}]")),
            (format!("tempo: {{ from: usual {from}, to: usual {to} }}"), format!("tempo: {{ from: {a}, to: {b} }}")),
            (format!("pace: steady {pace}"), format!("pace: {} s", steady + slower)),
            (format!("pace: [steady, critical {pace}]"), format!("pace: [{steady} s, {} s]", critical + slower)),
        ];
        let predicted = format!("tempo: usual, strokes: {{ at-most: predicted {} }}", signed(strokes, ""));
        let (practice, _) = laid(&profile, &predicted).map_err(TestCaseError::fail)?;
        let repeats = practice.sets().flat_map(|set| &set.repeats);
        let counts = repeats.flat_map(|repeat| &repeat.lengths).filter_map(|length| length.count);
        let most = counts.fold(0.0, f64::max).round() as i64 + strokes;
        pairs.push((predicted, format!("tempo: usual, strokes: {{ at-most: {most} }}")));
        for (following, fixed) in pairs {
            let (followed, heard) = laid(&profile, &following).map_err(TestCaseError::fail)?;
            let (written, expected) = laid(&profile, &fixed).map_err(TestCaseError::fail)?;
            prop_assert_eq!(heard, expected, "{} and {}", following, fixed);
            for (followed, written) in followed.sets().zip(written.sets()) {
                prop_assert_eq!(&followed.repeats, &written.repeats, "{} and {}", following, fixed);
                let of = |set: &practice::Set| (set.lines[0].tempos.clone(), set.lines[0].paces.clone(), set.lines[0].at_most);
                prop_assert_eq!(of(followed), of(written));
            }
        }
    }
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn repeats_fill_a_time_and_never_overrun(
        hundred in 79_i64..=175, minutes in 1_i64..=15, lengths in prop::sample::select(vec![1_i64, 2, 4, 8]), rest in 5_i64..=60,
        rounds in 1_u32..=3, joined in any::<bool>(), by_list in any::<bool>(),
    ) {
        let profile = format!("lengthwise-profile: 1\npool: 25 m\nhundred: {hundred} s\n");
        let manner = if by_list { "tempo: [usual, usual + 0.10 s, usual - 0.10 s]" } else { "effort: easy" };
        let before = if joined { "{ swim: 25 m, effort: easy, rest: 0 s }, " } else { "" };
        let set = format!(
            "{{ set: Fill, rounds: {rounds}, do: [{before}{{ swim: {} m, for: {minutes} min, rest: {rest} s, {manner} }}, \
             {{ swim: 25 m, effort: easy, rest: 30 s }}] }}",
            25 * lengths
        );
        let (practice, _) = planned(&profile, &set).map_err(TestCaseError::fail)?;
        let set = practice.sets().next().unwrap();
        let (filling, within) = (usize::from(joined), Seconds::from_secs(60 * minutes));
        for round in 0..rounds {
            let own: Vec<_> = set.repeats.iter().filter(|r| r.line == filling && r.round == round).collect();
            let (last, others) = own.split_last().unwrap();
            prop_assert_eq!(own.len(), set.lines[filling].repeats as usize);
            let gone: Seconds = others.iter().map(|repeat| repeat.interval.unwrap()).sum();
            // At least one is swum, and no more than fit.
            prop_assert!(own.len() == 1 || gone + last.predicted <= within, "{} in {:?}", own.len(), within);
            // Alone and alike, one more would not have fitted.
            let interval = others.first().map_or(last.interval.unwrap(), |repeat| repeat.interval.unwrap());
            prop_assert!(joined || by_list || gone + interval + last.predicted > within);
            // What follows waits for the end of the time.
            prop_assert!(gone + last.interval.unwrap() >= within);
        }
    }
}

#[test]
fn a_time_filled_by_hand() {
    let swum = |hundred: &str, keys: &str| {
        let profile = format!("lengthwise-profile: 1\npool: 25 m\nhundred: {hundred}\n");
        let practice = planned(&profile, &format!("{{ set: Fill, swim: 50 m{keys} }}")).map(|laid| laid.0);
        practice.map(|practice| practice.sets().next().unwrap().repeats.len())
    };
    // 55 s and 15 s of rest: 70 s from go to go, and the seventh ends after 6 x 70 + 55 = 475 s of 480.
    assert_eq!(swum("1:50", ", for: 8 min, rest: 15 s"), Ok(7));
    // 87.5 s, 1.28 x 5 % of it and 10 s: 103.1, so 105 s; the fifth ends after 4 x 105 + 87.5 = 507.5 s.
    assert_eq!(swum("2:55", ", for: 8 min, rest: 15 s"), Ok(4));
    // Every minute: the eighth starts after 7 x 60 and ends 39.5 s later.
    assert_eq!(swum("1:19", " on 1:00, for: 8 min"), Ok(8));
    assert_eq!(swum("2:55", ", for: 1 min, rest: 15 s"), Ok(1));
    for (keys, told) in [
        (", for: 8 min", "neither rest nor send-off"),
        (", for: 8 min, rest: 15 s, tempo: { from: usual, to: usual - 0.10 s }", "a range runs over"),
    ] {
        let refused = swum("1:50", keys).unwrap_err();
        assert!(refused.contains(told), "{keys}: {refused}");
    }
}

#[test]
fn by_hand() {
    // Usual 1.20 s; 1:50 steady is 27.5 s for 25 m; brisk is 0.95 of it, 1:44.5, told as 1:45 (104.5 rounds up).
    let profile = "lengthwise-profile: 1\npool: 25 m\nstroke: [{ tempo: 1.20 s, count: 19 }]\npace: { steady: 1:50 }\n";
    let values = |keys: &str| {
        let set = laid(profile, keys).unwrap().0.sets().next().unwrap().lines[0].clone();
        let tempos: Vec<_> = set.tempos.iter().map(ToString::to_string).collect();
        let paces: Vec<_> = set.paces.iter().map(|pace| pace.per_hundred().to_string()).collect();
        (tempos, paces, set.at_most)
    };
    assert_eq!(
        values("tempo: { from: usual + 0.10 s, to: usual - 0.10 s }").0,
        ["1.30 s", "1.25 s", "1.20 s", "1.15 s", "1.10 s"]
    );
    assert_eq!(values("pace: [brisk + 2 s, critical]").1, ["1:47", "1:45", "1:47", "1:45", "1:47"]);
    assert_eq!(values("tempo: usual, strokes: { at-most: predicted + 1 }").2, Some(20));
    for (keys, told) in [
        ("tempo: usual - 0.90 s", "comes to 0.30 s"),
        ("pace: steady - 85 s", "comes to 0:25"),
        ("part: pull, stroke: breast, strokes: { at-most: predicted }", "no strokes are predicted"),
        ("tempo: { from: usual, to: 50 /min }", "strokes a minute"),
    ] {
        let refused = laid(profile, keys).unwrap_err();
        assert!(refused.contains(told), "{keys}: {refused}");
    }
}

#[test]
fn a_time_of_a_hundred_is_a_swimmer() {
    let script = "lengthwise: 1\ntitle: A\npool: 25 yd\npack: first-lengths\npractice:\n\
                  - { set: A, swim: 4 x 50 yd, rest: 20 s, effort: steady }\n- { set: B, swim: 4 x 50 yd, rest: 20 s, tempo: usual }\n";
    let profile = "lengthwise-profile: 1\npool: 25 yd\nhundred: 1:40\n";
    let ran = Run::new("check a.yaml --swimmer 1:40 --json").file("a.yaml", script).file("p.yaml", profile).run();
    let sets = |json: &serde_json::Value| json["sets"].clone();
    let plan = ran.json();
    // Half of 1:40, by arithmetic; the profile says the same in a file.
    for set in sets(&plan).as_array().unwrap() {
        let predicted = set["repeats"][0]["predicted_s"].as_f64().unwrap();
        assert!((predicted - 50.0).abs() < 0.01, "{set}");
    }
    assert_eq!(sets(&ran.then("check a.yaml --swimmer p.yaml --json").run().json()), sets(&plan));
    let several = ran.then("render a.yaml --swimmer 1:40 --swimmer 2:00 -o out --rate 8000").run();
    assert_eq!(names(&several.path("out")), ["a 1-40.wav", "a 2-00.wav"]);
    ran.then("check a.yaml --swimmer 100").exit(2).stderr("unit").run();
    ran.then("check a.yaml --swimmer 0:20").exit(2).run();
}

#[test]
fn targets_beyond_the_swimmer_are_told() {
    // Of 1:50: fast is 0.90 of it, 1:39; 19 strokes are predicted at the usual tempo.
    let told = |keys: &str| {
        let script = format!(
            "lengthwise: 1\ntitle: A\npool: 25 m\npack: first-lengths\npractice:\n  - {{ set: A, swim: 2 x 50 m, rest: 30 s, {keys} }}\n"
        );
        let ran = Run::new("check a.yaml --swimmer 1:50 --json").file("a.yaml", script).run();
        let problems = ran.json()["diagnostics"].as_array().unwrap().clone();
        problems.iter().map(|problem| problem["code"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    for (keys, beyond) in [
        ("pace: 1:38", true),
        ("pace: 1:39", false),
        ("pace: [1:50, 1:30]", true),
        ("pace: 1:30, gear: fins", false),
        ("tempo: usual, strokes: { at-most: 17 }", true),
        ("tempo: usual, strokes: { at-most: 18 }", false),
        ("tempo: usual, strokes: { at-most: predicted - 2 }", true),
        ("tempo: usual, strokes: { at-most: predicted - 1 }", false),
    ] {
        let wanted: &[&str] = if beyond { &["target-beyond"] } else { &[] };
        assert_eq!(told(keys), wanted, "{keys}");
    }
}

/// Three swimmers by their steady pace per 100, and how they swim it. Common practice, no source.
const SWIMMERS: [(&str, &str, u32); 3] = [
    ("2:55", "{ tempo: 1.50 s, count: 25 }", 175),
    ("1:50", "{ tempo: 1.20 s, count: 19 }", 110),
    ("1:19", "{ tempo: 1.00 s, count: 15 }", 79),
];

#[test]
fn shipped_practices_fit_a_novice_and_a_master() {
    let folder = tempfile::tempdir().unwrap();
    for (pace, point, steady) in SWIMMERS {
        let path = folder.path().join("swimmer.yaml");
        let profile = format!("lengthwise-profile: 1\npool: 25 m\nstroke: [{point}]\npace: {{ steady: {pace} }}\n");
        std::fs::write(&path, profile).unwrap();
        for script in builtin::scripts() {
            let name = format!("{}/{}", script.pack, script.name);
            let request = PracticeRequest {
                script: name.clone().into(),
                swimmer: Some(WhoSwims::Profile(path.clone())),
                ..PracticeRequest::default()
            };
            let outcome = prepare::plan(&request).unwrap();
            let told: Vec<_> = outcome.diagnostics.iter().map(|problem| &problem.message).collect();
            assert!(told.is_empty(), "{name} at {pace}: {told:?}");
            let plan = outcome.planned.unwrap().plan;
            for repeat in plan.sets.iter().flat_map(|set| &set.repeats) {
                if let Some(tempo) = repeat.tempo {
                    assert!((0.65..=1.90).contains(&tempo.as_f64()), "{name} at {pace}: {tempo}");
                }
                // Nobody waits longer than the rests of a learner, of which the longest is 1:15 and a change of gear.
                if let Some(send_off) = repeat.send_off {
                    let rest = (send_off - repeat.predicted).as_f64();
                    assert!(rest <= 105.0 + 5.0, "{name} at {pace}: rests {rest} s");
                }
                // No pace or tempo of a swim asks for a third more or less than the steady pace, drills and kick aside.
                if repeat.count.is_some() && !repeat.estimated && plan.pool == "25 m" {
                    let hundred = repeat.predicted.as_f64() * 100.0 / f64::from(repeat.distance);
                    let share = hundred / f64::from(steady);
                    assert!((0.66..=1.34).contains(&share), "{name} at {pace}: {hundred:.0} s for 100");
                }
            }
        }
    }
}

/// Drills of the legs, and of the hands: the others move arms and legs. What each takes at least of the easy time is common
/// practice, no source.
const KICKED: [&str; 4] = ["push-and-kick", "roll-kick", "side-kick", "six-kick-switch"];
const SCULLED: [&str; 2] = ["front-scull", "middle-scull"];

#[test]
fn no_go_of_a_drill_comes_before_its_slow_swimmer_is_back() {
    let mut sources = Sources::new();
    let pack = Spanned::new("open-water".to_owned(), Span::new(sources.add("--pack", "open-water"), 0, 0));
    // It uses the others.
    let (library, _) = load::open(&Search::default(), Some(&pack), &mut sources);
    let drills: Vec<String> = library.of(Role::Drill).map(|(id, _)| id.to_owned()).collect();
    assert!(drills.len() >= 27, "{drills:?}");
    let set = |keys: &str| format!("- {{ set: A, swim: 4 x 50 m, rest: 5 s, effort: easy{keys} }}\n");
    let mut script = "lengthwise: 1\ntitle: A\npool: 25 m\npack: open-water\npractice:\n".to_owned();
    for keys in ["", ", part: kick", ", part: scull", ", part: kick, gear: fins", ", drill: side-kick, gear: fins"] {
        script += &set(keys);
    }
    drills.iter().for_each(|drill| script += &set(&format!(", drill: {drill}")));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.yaml");
    std::fs::write(&path, script).unwrap();
    for (.., steady) in SWIMMERS {
        let hundred = Pace::new(Seconds::from_secs(i64::from(steady))).unwrap();
        let request = PracticeRequest {
            script: path.clone(),
            swimmer: Some(WhoSwims::Hundred(hundred)),
            ..PracticeRequest::default()
        };
        let outcome = prepare::plan(&request).unwrap();
        let plan = outcome.planned.unwrap_or_else(|| panic!("{:?}", outcome.diagnostics)).plan;
        let repeats: Vec<_> = plan.sets.iter().map(|set| &set.repeats[0]).collect();
        let [easy, kick, scull, with_fins, drill_with_fins, drilled @ ..] = repeats.as_slice() else { panic!() };
        assert!(with_fins.predicted < kick.predicted && drill_with_fins.predicted == with_fins.predicted);
        for (drill, repeat) in drills.iter().zip(drilled) {
            let least = if KICKED.contains(&drill.as_str()) {
                1.5
            } else if SCULLED.contains(&drill.as_str()) {
                2.5
            } else {
                1.1
            };
            // The 90th percentile of a touch is 1.2816 deviations of 5 % late (standard normal tables); then 10 s are left.
            let slow = easy.predicted.as_f64() * least * (1.0 + 1.2816 * 0.05);
            let send_off = repeat.send_off.unwrap().as_f64();
            assert!(send_off >= slow + 10.0, "{drill} at {steady}: go after {send_off} s, back after {slow:.1} s");
        }
        let of = |name: &str| drilled[drills.iter().position(|drill| drill == name).unwrap()];
        // One movement, drilled or swum.
        assert_eq!(of("side-kick").predicted, kick.predicted);
        assert_eq!(of("front-scull").predicted, scull.predicted);
    }
}
