//! What a swimmer is held to, as it is heard: walls that are due, targets before a go. By hand, over short scripts.

use crate::run::Run;
use crate::stage::{HERTZ, stage};
use crate::steering::{self, Heard};
use lengthwise::conductor::command::{Command, CourseCommand, Unit};
use lengthwise::practice::Audience;
use lengthwise::timeline::CueKind;

/// What is heard: when it begins, its kind, its name, its words.
#[derive(Clone, Debug)]
struct Cue {
    at: f64,
    kind: String,
    id: String,
    text: String,
}

/// A script with these entries of a practice.
fn script(sets: &str) -> String {
    format!("lengthwise: 1\ntitle: A\npool: 25 m\npack: first-lengths\npractice:\n{sets}\n")
}

/// Every cue of a practice of these sets for a swimmer of 1:50, in order.
fn heard(sets: &str, more: &str) -> Vec<Cue> {
    let run = Run::new(&format!("check a.yaml --swimmer 1:50 --timeline{more}")).file("a.yaml", script(sets)).run();
    let cue = |line: &str| {
        let [at, _, kind, id, text] = line.split('\t').collect::<Vec<_>>()[..] else { panic!("{line}") };
        Cue { at: at.parse().unwrap(), kind: kind.to_owned(), id: id.to_owned(), text: text.to_owned() }
    };
    run.stdout.lines().map(cue).collect()
}

/// When cues of a kind begin after each go, in seconds, those before the first go left out.
fn after_gos(cues: &[Cue], kind: &str) -> Vec<Vec<f64>> {
    let gos: Vec<f64> = cues.iter().filter(|cue| cue.kind == "go").map(|cue| cue.at).collect();
    let ends = gos.iter().skip(1).copied().chain([f64::INFINITY]);
    let of = |(go, end): (&f64, f64)| {
        let own = cues.iter().filter(|cue| cue.kind == kind && (*go..end).contains(&cue.at));
        own.map(|cue| (cue.at - go) * 1000.0).map(|millis| millis.round() / 1000.0).collect()
    };
    gos.iter().zip(ends).map(of).collect()
}

fn texts<'c>(cues: &'c [Cue], id: &str) -> Vec<&'c str> {
    cues.iter().filter(|cue| cue.id == id).map(|cue| cue.text.as_str()).collect()
}

#[test]
fn walls_are_marked_when_they_are_due() {
    // 2:20 for 100 is 35 s a length; 4 s less for the second half is 1 s of each length. 2:00 is 30 s a length.
    let sets = "  - { set: A, swim: 3 x 100 m, rest: 30 s, pace: [2:20, 2:00, 2:00], second-half: 4 s faster }\n  \
                - { set: B, swim: 50 m, pace: 2:00 }\n  - { set: C, swim: 50 m, effort: easy }";
    let cues = heard(sets, "");
    let quick = vec![31.0, 62.0, 91.0, 120.0];
    let wanted = [vec![36.0, 72.0, 106.0, 140.0], quick.clone(), quick, vec![30.0, 60.0], vec![]];
    assert_eq!(after_gos(&cues, "wall"), wanted);
    // What it means is said once, and shown right behind.
    assert_eq!(texts(&cues, "marks-walls"), ["you are due at each wall when you hear this"]);
    let said = cues.iter().position(|cue| cue.id == "marks-walls").unwrap();
    assert_eq!((cues[said + 1].kind.as_str(), cues[said + 1].id.as_str()), ("wall", "wall"));
    assert_eq!(cues.iter().filter(|cue| cue.kind == "wall").count(), 4 * 3 + 2 + 1);
}

#[test]
fn walls_are_not_marked_where_nobody_would_hear_it_or_should() {
    let marks = |keys: &str, more: &str| {
        let cues = heard(&format!("  - {{ set: A, swim: 2 x 50 m, {keys} }}"), more);
        cues.iter().filter(|cue| cue.kind == "wall" || cue.id == "marks-walls").count()
    };
    assert_eq!(marks("rest: 30 s, pace: 2:00", ""), 2 + 4);
    assert_eq!(marks("rest: 30 s, pace: 2:00", " --for player"), 2 + 4);
    assert_eq!(marks("rest: 30 s, pace: 2:00, marks: none", ""), 0);
    assert_eq!(marks("rest: 30 s, pace: 2:00, test: time", ""), 0);
    assert_eq!(marks("rest: 30 s, effort: steady", ""), 0);
    assert_eq!(marks("rest: 30 s, pace: 2:00", " --for speaker"), 0);
    // The last wall of the first repeat is due at 60 s, the countdown begins there: 63 s less 3 s.
    assert_eq!(marks("send-off: 1:03, pace: 2:00", ""), 2 + 3);
}

#[test]
fn marks_of_a_set_are_for_those_of_its_swims_that_have_a_pace() {
    let sets =
        "  - { set: A, marks: walls, rest: 30 s, do: [{ swim: 50 m, pace: 2:00 }, { swim: 50 m, effort: easy }] }";
    assert_eq!(after_gos(&heard(sets, ""), "wall"), [vec![30.0, 60.0], vec![]]);
    for (keys, said) in [
        ("swim: 2 x 50 m, rest: 30 s, marks: walls", "without a pace no wall is due"),
        ("swim: 2 x 50 m, rest: 30 s, pace: 2:00, test: time, marks: walls", "nothing is heard while a test is swum"),
    ] {
        let run = Run::new("check a.yaml").file("a.yaml", script(&format!("  - {{ set: A, {keys} }}")));
        run.exit(1).no_stdout().stderr(said).run();
    }
    let open = "lengthwise: 1\ntitle: A\npool: open water\npack: first-lengths\npractice:\n  \
                - { set: A, swim: 400 m, pace: 2:00, marks: walls }\n";
    Run::new("check a.yaml").file("a.yaml", open).exit(1).no_stdout().stderr("open water has no walls").run();
}

#[test]
fn marks_follow_what_is_steered() {
    // 100 m at 2:00: a wall each 30 s.
    let yaml = script("  - { set: A, swim: 3 x 100 m, rest: 30 s, pace: 2:00, focus: reach-forward }");
    let stage = stage(&yaml, Audience::Headphones).unwrap();
    let plan = &stage.planned.built.strand.starts;
    let key = |seconds: i64| plan[0].go + lengthwise::units::time::Seconds::from_secs(seconds);
    // A touch at 75 s of the first, then back to it from the rest.
    let commands = [
        (steering::at(key(75)), Command::Course(CourseCommand::Touch)),
        (steering::at(key(85)), Command::Course(CourseCommand::Back(Unit::Repeat))),
    ];
    let played = steering::play(&stage, &commands, 7, u64::MAX);
    steering::check(&stage, &played);
    let (cues, _) = steering::heard(&stage, &played);
    // What the mark means is shown again in the talk.
    let of = |kind| cues.iter().filter(move |cue: &&Heard| cue.kind == kind && cue.id != "wall").map(|cue| cue.from);
    let gos: Vec<u64> = of(CueKind::Go).collect();
    assert_eq!(gos.len(), 4, "the first twice, then the others");
    let seconds: Vec<Vec<u64>> = gos
        .iter()
        .zip(gos.iter().skip(1).copied().chain([u64::MAX]))
        .map(|(go, end)| {
            let own = of(CueKind::Wall).filter(|at| (*go..end).contains(at));
            own.map(|at| (at - go + HERTZ / 2) / HERTZ).collect()
        })
        .collect();
    let whole = vec![30, 60, 90, 120];
    assert_eq!(seconds, [vec![30, 60], whole.clone(), whole.clone(), whole]);
}

#[test]
fn a_target_without_room_is_told() {
    // 25 m at 2:00 takes 30 s, at 1:52 28 s: on 0:36 six or eight are left, of which the countdown takes three, and "go in ten" is
    // said while swimming. What is left after 30 s is less than the phrase and the time take.
    let set = |on: &str| {
        format!("  - {{ set: A, swim: 6 x 25 m on {on}, pace: [2:00, 1:52], focus: [reach-forward, look-down] }}")
    };
    let run = |on: &str| Run::new("check a.yaml --swimmer 1:50").file("a.yaml", script(&set(on)));
    let ran = run("0:36").stderr("caution[cue-dropped]").stderr("\"due in twenty-eight\" is not heard at").run();
    assert_eq!(ran.stderr.matches("due in twenty-eight").count(), 1, "each text once: {}", ran.stderr);
    let listed = ran.stdout.split("Not heard").nth(1).unwrap();
    assert!(listed.matches("due in").count() == 3, "the plan has every time: {listed}");
    let ran = run("1:00").run();
    assert!(ran.stderr.is_empty() && !ran.stdout.contains("Not heard"), "{}", ran.stderr);
}

#[test]
fn the_same_distances_in_two_lines_are_told_where_they_change() {
    let sets = "  - { set: Two ladders, do: [{ swim: [100 m, 25 m], rest: 40 s }, { swim: [100 m, 25 m], rest: 40 s, breathe: every 3 }] }";
    let cues = heard(sets, "");
    let gos: Vec<f64> = cues.iter().filter(|cue| cue.kind == "go").map(|cue| cue.at).collect();
    let swum = |from: f64, to: f64| {
        let own = cues.iter().filter(|cue| (from..to).contains(&cue.at) && cue.id == "swim");
        own.map(|cue| cue.text.as_str()).collect::<Vec<_>>()
    };
    let told: Vec<_> = gos.windows(2).map(|pair| swum(pair[0], pair[1])).collect();
    assert_eq!(told, [["twenty-five metres"], ["one hundred metres"], ["twenty-five metres"]]);
}

#[test]
fn what_is_new_at_a_join_comes_with_the_first_strokes() {
    let cues = heard(
        "  - { set: A, rest: 0 s, do: [{ swim: 50 m, pace: 2:00 }, { swim: 100 m, pace: 1:50, strokes: { at-most: 20 } }] }",
        "",
    );
    let go = cues.iter().find(|cue| cue.kind == "go").unwrap().at;
    let under: Vec<_> = cues.iter().filter(|cue| cue.kind == "set" && cue.at > go).collect();
    let ids: Vec<_> = under.iter().map(|cue| cue.id.as_str()).collect();
    assert_eq!(ids, ["swim", "at-most", "due"]);
    assert!(under.iter().all(|cue| (go + 60.3..go + 60.0 + 0.4 * 27.5).contains(&cue.at)), "{under:?}");
}

/// What is said while swimming after each go: its name, and on which length it comes, counted from 1, where a length takes so long.
fn lengths_of(cues: &[Cue], length: f64, wanted: impl Fn(&Cue) -> bool) -> Vec<(String, u32)> {
    let mut go = f64::INFINITY;
    let mut found = Vec::new();
    for cue in cues {
        if cue.kind == "go" {
            go = cue.at;
        }
        let since = cue.at - go;
        if since >= 0.0 && wanted(cue) {
            let on = (since / length).floor();
            // In the glide, and no later than 40 % into the length.
            assert!((2.0..=0.4 * length + 0.001).contains(&(since - on * length)), "{cue:?}");
            found.push((cue.id.clone(), on as u32 + 1));
        }
    }
    found
}

#[test]
fn a_lone_focus_is_renewed() {
    // 400 m at 2:00 are sixteen lengths of 30 s.
    let renewed = |keys: &str, more: &str| {
        let cues = heard(&format!("  - {{ set: A, swim: 400 m, pace: 2:00, focus: reach-forward{keys} }}"), more);
        let said = lengths_of(&cues, 30.0, |cue| cue.kind == "phrase");
        assert!(said.iter().all(|(id, _)| id == "reach-forward"), "{said:?}");
        // Whole before the go, then always in its one short form.
        let forms = texts(&cues, "reach-forward");
        assert!(forms.iter().skip(1).all(|text| text.len() < forms[0].len() && *text == forms[1]), "{forms:?}");
        said.into_iter().map(|(_, length)| length).collect::<Vec<_>>()
    };
    assert_eq!(renewed("", ""), [5, 9, 13]);
    assert_eq!(renewed(", remind: every 6 lengths", ""), [7, 13]);
    assert_eq!(renewed(", remind: never", ""), [0; 0]);
    assert_eq!(renewed(", test: time", ""), [0; 0]);
    assert_eq!(renewed("", " --for speaker"), [0; 0]);
    // It changes on the third length of each four: what has just been said is not said again.
    let cues = heard(
        &"  - { set: A, swim: 200 m, pace: 2:00, remind: every 3 lengths, lengths: [R, R, R, R, S, S, S, S] }"
            .replace("R", "{ focus: reach-forward }")
            .replace("S", "{ focus: soft-hand }"),
        "",
    );
    let said = lengths_of(&cues, 30.0, |cue| cue.kind == "phrase");
    let said: Vec<_> = said.iter().map(|(id, length)| (id.as_str(), *length)).collect();
    assert_eq!(said, [("reach-forward", 4), ("soft-hand", 5), ("soft-hand", 8)]);
}

#[test]
fn a_lone_focus_is_renewed_in_open_water_too() {
    let renewed = |keys: &str, more: &str| {
        let yaml = format!(
            "lengthwise: 1\ntitle: A\npool: open water\npack: first-lengths\npractice:\n  - {{ set: A, focus: reach-forward, {keys} }}\n"
        );
        let ran = Run::new(&format!("check a.yaml --swimmer 1:50 --timeline{more}")).file("a.yaml", yaml).run();
        let rows: Vec<Vec<&str>> = ran.stdout.lines().map(|line| line.split('\t').collect()).collect();
        let go: f64 = rows.iter().find(|row| row[2] == "go").unwrap()[0].parse().unwrap();
        let phrases = rows.iter().filter(|row| row[3] == "reach-forward");
        let since = phrases.map(|row| row[0].parse::<f64>().unwrap() - go).filter(|since| *since > 0.0);
        since.map(|since| since.round() as i64).collect::<Vec<_>>()
    };
    // The last one would come at the end of the swim, or within half of 90 s before it.
    assert_eq!(renewed("swim: 6 min, effort: easy", ""), [90, 180, 270]);
    assert_eq!(renewed("swim: 6 min, effort: easy, remind: every 2 min", ""), [120, 240]);
    assert_eq!(renewed("swim: 4 min, effort: easy", ""), [90, 180]);
    assert_eq!(renewed("swim: 220 s, effort: easy", ""), [90]);
    for silent in [", remind: never", ", test: time"] {
        assert_eq!(renewed(&format!("swim: 6 min{silent}"), ""), [0; 0]);
    }
    assert_eq!(renewed("swim: 6 min, effort: easy", " --for speaker"), [0; 0]);
    // Other words go before it, and it waits a little.
    let beside = renewed("swim: 4 min, tempo: 1.20 s, call: every 75 strokes", "");
    assert_eq!(beside.len(), 2, "{beside:?}");
    // By distance too: 400 m at 1:50 take 440 s.
    assert_eq!(renewed("swim: 400 m, effort: steady", ""), [90, 180, 270, 360]);
}

#[test]
fn what_a_speaker_at_the_poolside_cannot_give_is_told() {
    let told = |keys: &str, through: &str| {
        let set = format!("  - {{ set: A, swim: 4 x 100 m, rest: 30 s, {keys} }}");
        let ran = Run::new(&format!("check a.yaml --swimmer 1:50 --for {through}")).file("a.yaml", script(&set)).run();
        ran.stderr.matches("does not reach a head in the water").count()
    };
    for keys in [
        "call: lengths",
        "tempo: 1.20 s, call: every 50 strokes",
        "pace: 1:50, marks: walls",
        "focus: look-down, remind: every 2 lengths",
    ] {
        assert_eq!((told(keys, "speaker"), told(keys, "headphones")), (1, 0), "{keys}");
    }
    assert_eq!(told("call: [lengths, each repeat, every 50 strokes]", "speaker"), 2);
    for keys in ["call: each repeat", "pace: 1:50", "focus: look-down", "remind: never"] {
        assert_eq!(told(keys, "speaker"), 0, "{keys}");
    }
    // What a set asks for all of its swims is told once.
    let list = "  - { set: A, rest: 30 s, call: lengths, do: [{ swim: 50 m }, { swim: 100 m }] }";
    let ran = Run::new("check a.yaml --swimmer 1:50 --for speaker").file("a.yaml", script(list)).run();
    assert_eq!(ran.stderr.matches("a call of the lengths is not heard").count(), 1, "{}", ran.stderr);
}

#[test]
fn the_mark_of_a_last_wall_in_the_countdown_is_told() {
    let run = |on: &str| {
        let set = format!("  - {{ set: A, swim: 3 x 50 m, send-off: {on}, pace: 2:00 }}");
        Run::new("check a.yaml --swimmer 1:50").file("a.yaml", script(&set)).run()
    };
    // Due at 60 s; on 1:03 the countdown begins there. No go follows the last one.
    let ran = run("1:03");
    assert_eq!(ran.stderr.matches("the mark of the last wall is not heard at").count(), 1, "{}", ran.stderr);
    let listed = ran.stdout.split("Not heard").nth(1).unwrap();
    assert_eq!(listed.matches("the mark of the last wall").count(), 2, "{listed}");
    let ran = run("1:10");
    assert!(!ran.stderr.contains("the mark of") && !ran.stdout.contains("Not heard"), "{}", ran.stderr);
}

#[test]
fn several_things_are_called() {
    let called = |call: &str| {
        let sets = format!("  - {{ set: A, swim: 2 x 100 m, rest: 30 s, pace: 1:50, call: {call} }}");
        let cues = heard(&sets, "");
        let ids = ["which", "last-one", "call-half-way", "call-last-length"];
        cues.into_iter().filter(|cue| ids.contains(&cue.id.as_str())).map(|cue| cue.id).collect::<Vec<_>>()
    };
    let lengths = ["call-half-way", "call-last-length"];
    let both = [&lengths[..], &["last-one"], &lengths[..]].concat();
    assert_eq!(called("lengths"), both, "the last one is told where there is room");
    assert_eq!(called("[lengths, each repeat]"), both);
    assert_eq!(called("[each repeat]"), ["last-one"]);
    // Without room, what is asked for is told; a list asks for each of its entries.
    let tight = |call: &str| {
        let set = format!(
            "  - {{ set: A, swim: 4 x 50 m on 1:01, pace: 1:50, call: {call}, focus: [reach-forward, look-down] }}"
        );
        Run::new("check a.yaml --swimmer 1:50").file("a.yaml", script(&set)).run().stderr
    };
    assert!(tight("[lengths, each repeat]").contains("\"two of four\" is not heard"));
    assert!(!tight("[lengths]").contains("of four"));
}

#[test]
fn lengths_are_called_while_it_is_sure_which_one_it_is() {
    // Of a profile with two counts a prediction is off by 3 % x 1.28 = 3.84 % of what was swum: on length n by 0.0384 n lengths, a
    // quarter at 6.5. Of a time for 100 it is 6.4 %: a quarter at 3.9.
    let profile = include_str!("../scripts/deck/swimmers/steady.yaml");
    let called = |keys: &str, swimmer: &str| {
        let run = Run::new(&format!("check a.yaml --swimmer {swimmer} --timeline")).file("p.yaml", profile);
        let ran = run.file("a.yaml", script(&format!("  - {{ set: A, {keys} }}"))).run();
        let rows = ran.stdout.lines().map(|line| line.split('\t').collect::<Vec<_>>());
        let mut go = f64::INFINITY;
        let mut found = Vec::new();
        for row in rows {
            let at: f64 = row[0].parse().unwrap();
            match row[2] {
                "go" => go = at,
                "call" => found.push((row[4].to_owned(), at - go)),
                _ => {}
            }
        }
        let told = ran.stderr.contains("caution[call-unsure]");
        assert_eq!(told, ran.stderr.contains("caution"), "{}", ran.stderr);
        (found, told)
    };
    let near = |(found, told): (Vec<(String, f64)>, bool), wanted: [(&str, f64); 2]| {
        let near =
            |((text, at), (said, when)): (&(String, f64), (&str, f64))| text == said && (at - when).abs() < 0.002;
        assert!(!told && found.len() == 2 && found.iter().zip(wanted).all(near), "{found:?}, not {wanted:?}");
    };
    // 30 s a length. Half way is at 60 s, where 60 x 0.03 x 1.28155 = 2.307 s either way are possible; the last turn at 90 s, 3.460 s.
    let hundred = "swim: 100 m, pace: 2:00, call: lengths";
    near(called(hundred, "p.yaml"), [("half way", 62.307), ("last length", 93.460)]);
    // 60 x 0.05 x 1.28155, and 90 x.
    near(called(hundred, "1:50"), [("half way", 63.845), ("last length", 95.767)]);
    // Eight lengths: half way is sure, the last turn, at the seventh, is not.
    let (found, told) = called("swim: 200 m, pace: 2:00, call: lengths", "p.yaml");
    assert_eq!((found.len(), found[0].0.as_str(), told), (1, "half way", true));
    // Twelve: eight left after four; half way after six; four left and the last one are not sure.
    let (found, told) = called("swim: 300 m, pace: 2:00, call: lengths", "p.yaml");
    let said: Vec<_> = found.iter().map(|(text, _)| text.as_str()).collect();
    assert_eq!((said, told), (vec!["eight lengths left", "half way"], true));
    assert_eq!(called("swim: 200 m, test: time, call: lengths", "p.yaml"), (vec![], false));
    let open = "lengthwise: 1\ntitle: A\npool: open water\npack: first-lengths\npractice:\n  \
                - { set: A, swim: 400 m, call: lengths, remind: every 2 lengths }\n";
    let run = Run::new("check a.yaml").file("a.yaml", open).exit(1).no_stdout();
    run.stderr("no lengths to call").stderr("no lengths to remind").run();
}

#[test]
fn each_repeat_is_called_where_the_script_asks() {
    let which = |sets: &str| {
        let cues = heard(sets, "");
        cues.into_iter().filter(|cue| cue.id == "which" || cue.id == "last-one").map(|cue| cue.text).collect::<Vec<_>>()
    };
    let one = "  - { set: A, swim: 3 x 50 m, rest: 30 s, call: each repeat, effort: easy }";
    assert_eq!(which(one), ["two of three", "last one"]);
    let list = "  - { set: A, rounds: 2, rest: 30 s, call: each repeat, do: [{ swim: 50 m, effort: easy }, { swim: 2 x 25 m }] }";
    assert_eq!(which(list), ["two of three", "three of three", "two of three", "last one"]);
    // Swims that what they are tells apart, too, where it is asked.
    let single =
        "  - { set: A, rounds: 2, rest: 30 s, call: each repeat, do: [{ swim: 50 m, effort: easy }, { swim: 25 m }] }";
    assert_eq!(which(single), ["two of two", "last one"]);
    // Where it has no room it is told, unlike where nobody asks.
    let tight = |call: &str| {
        let set =
            format!("  - {{ set: A, swim: 4 x 50 m on 1:01, pace: 1:50{call}, focus: [reach-forward, look-down] }}");
        Run::new("check a.yaml --swimmer 1:50").file("a.yaml", script(&set)).run().stderr
    };
    assert!(!tight("").contains("of four"), "{}", tight(""));
    assert!(tight(", call: each repeat").contains("\"two of four\" is not heard"), "{}", tight(", call: each repeat"));
}

#[test]
fn regulars_have_a_short_opening_that_keeps_the_care() {
    let opening = |pool: &str, settings: &str| {
        let yaml = format!(
            "lengthwise: 1\ntitle: A\npool: {pool}\npack: first-lengths\nsettings: {{ {settings} }}\npractice:\n  \
             - {{ set: A, swim: 4 x 100 m, rest: 30 s, focus: {{ phrases: [look-down, soft-hand], change: repeat }} }}\n"
        );
        let ran = Run::new("check a.yaml --swimmer 1:50 --timeline").file("a.yaml", yaml).run();
        let rows: Vec<Vec<&str>> = ran.stdout.lines().map(|line| line.split('\t').collect()).collect();
        let set = rows.iter().position(|row| row[3] == "set").unwrap();
        let ids: Vec<String> = rows[..set].iter().map(|row| row[3].to_owned()).collect();
        (ids, rows[set][0].parse::<f64>().unwrap())
    };
    let (full, short) = (opening("25 m", "opening: full"), opening("25 m", "opening: short"));
    assert_eq!(full.0[..2], ["intro-care", "intro-late"]);
    assert_eq!(short.0, ["intro-care"]);
    let open = opening("open water", "opening: short");
    assert_eq!(open.0, ["intro-care", "open-water-care"]);
    for (ids, seconds) in [short, open] {
        // They begin after two seconds.
        assert!(seconds - 2.0 <= 20.0, "{ids:?} take {seconds} s");
    }
    assert!(full.1 > 12.0, "{} s", full.1);
}

#[test]
fn a_rest_that_nobody_would_take_is_told() {
    let told = |swimmer: &str, keys: &str| {
        let run = Run::new(&format!("check a.yaml --swimmer {swimmer}"));
        let ran = run.file("a.yaml", script(&format!("  - {{ set: A, {keys} }}"))).run();
        ran.stderr.contains("caution[much-rest]")
    };
    // Steady, 100 m take 110 s: 50 m take 55 s. On 2:00 there are 65 s of rest, which is more than 60 s and more than 55 s.
    assert!(told("1:50", "swim: 4 x 50 m on 2:00"));
    assert!(!told("1:50", "swim: 4 x 50 m on 1:55"), "60 s are not more than that");
    assert!(!told("1:50", "swim: 4 x 50 m on 3:00, effort: fast"), "who sprints rests");
    assert!(!told("1:50", "swim: 50 m on 2:25, for: 2:25"), "a break that ends for all at once");
    assert!(!told("1:50", "swim: 50 m on 2:25"), "a break");
    assert!(!told("2:55", "swim: 4 x 50 m on 2:40"), "72.5 s of rest, and 87.5 s swum");
    assert!(told("1:19", "swim: 4 x 50 m on 1:45"), "39.5 s swum, 65.5 s of rest");
    // 400 m take 440 s, 6.4 % of that are 28.2 s: with 10 s more, on the clock of five seconds, 40 s are left. For 20 s that is
    // twice as much and 20 s more.
    assert!(told("1:50", "swim: 2 x 400 m, rest: 20 s"));
    assert!(!told("1:50", "swim: 2 x 400 m, rest: 21 s"));
    assert!(!told("1:50", "swim: 4 x 100 m, rest: 10 s"));
}

#[test]
fn targets_that_follow_the_swimmer_are_held_against_them_too() {
    let told = |keys: &str| {
        let ran =
            Run::new("check a.yaml --swimmer 1:50").file("a.yaml", script(&format!("  - {{ set: A, {keys} }}"))).run();
        ran.stderr.matches("caution[target-beyond]").count()
    };
    assert_eq!(told("swim: 4 x 50 m, rest: 30 s, pace: fast - 1 s"), 1);
    assert_eq!(told("swim: 4 x 50 m, rest: 30 s, pace: { from: steady, to: fast - 2 s }"), 1);
    assert_eq!(told("swim: 4 x 50 m, rest: 30 s, pace: fast"), 0);
    let held = |most: &str| told(&format!("swim: 4 x 50 m, rest: 30 s, tempo: usual, strokes: {{ at-most: {most} }}"));
    assert_eq!((held("predicted - 1"), held("predicted - 2"), held("predicted")), (0, 1, 0));
}
