//! `lane`: a group in its lanes, as a coach asks for it.

use crate::run::{Ran, Run};
use serde_json::Value;
use std::io::Write;
use std::process::Stdio;

const SCRIPT: &str = "lengthwise: 1\ntitle: Thursday\npool: 25 m\npack: first-lengths\npractice:\n  \
    - { set: Hundreds, swim: 6 x 100 m on 2:20 }\n  - { set: Two hundreds, swim: 4 x 200 m on 3:50 }\n";
const LANE: &str = "lengthwise-roster: 1\npool: 25 m\norder: as listed\nswimmers:\n  - { name: Bo, hundred: 1:40 }\n  \
    - { name: Ida, hundred: 1:28 }\n  - { name: Eve, hundred: 1:52 }\n";

fn run(lane: &str, more: &str) -> Run {
    Run::new(&format!("lane thursday.yaml --lane lane.yaml {more}"))
        .file("thursday.yaml", SCRIPT)
        .file("lane.yaml", lane)
}

#[test]
fn a_lane_is_reported_with_advice_that_holds() {
    let ran = run(LANE, "").stdout("lane 1").stdout("the leader leaves on the").run();
    let line = |start: &str| ran.stdout.lines().find(|line| line.trim_start().starts_with(start)).unwrap().to_owned();
    // Ida is 6 s quicker over 100 m and leaves 5 s behind Bo.
    assert!(line("2 Ida").contains("behind Bo (repeat 1, "), "{}", ran.stdout);
    assert!(line("swap Bo and Ida: caught at most in").ends_with("now 100 %"), "{}", ran.stdout);
    // 200 m take Eve 3:44, so 10 s of rest ask for 3:55; 7/8 of them are no even number of lengths, 3/4 are 150 m.
    assert!(
        line("Two hundreds: on")
            .starts_with("  Two hundreds: on 3:55, or Eve swims 150s: as predicted everybody rests 10 s"),
        "{}",
        ran.stdout
    );
    assert!(ran.stdout.contains("A coach watches the water, not the screen"), "{}", ran.stdout);
    let swapped = LANE.replace("as listed", "fastest first").replace("1:52 }", "1:52, distance: 3/4 }");
    let then = run(&swapped, "").run();
    assert!(!then.stdout.contains("swap ") && !then.stdout.contains("or Eve"), "{}", then.stdout);
}

#[test]
fn the_same_seed_gives_the_same_figures() {
    let of = |more: &str| run(LANE, &format!("--json {more}")).run().json();
    let report = of("--runs 40");
    assert_eq!(report, of("--runs 40 --seed 1"));
    assert_ne!(report["lanes"][0]["sets"], of("--runs 40 --seed 2")["lanes"][0]["sets"]);
    let lane = &report["lanes"][0];
    assert_eq!(lane["advised_order"], Value::from(vec!["Ida", "Bo", "Eve"]));
    assert_eq!((lane["gap_s"].as_f64(), lane["circle"].as_str()), (Some(5.0), Some("anticlockwise")));
    let set = &lane["sets"][0];
    // 2:20 on the pace clock: 60 / gcd(140, 60) = 3 marks (arithmetic).
    assert_eq!(set["pace_clock"].as_array().map(Vec::len), Some(3));
    assert_eq!(set["starts"].as_array().map(Vec::len), Some(6));
    assert_eq!(set["starts"][1]["at_s"], 140.0);
    // Nobody is in front of Bo: 1:40 after the go.
    assert_eq!(set["starts"][0]["touches_s"][0], 100.0);
}

#[test]
fn what_is_missing_is_said() {
    run(LANE, "").run().then("lane thursday.yaml").exit(1).stderr("does not say who shares a lane").run();
    let unknown = LANE.replace("{ name: Eve, hundred: 1:52 }", "{ name: Eve }");
    run(&unknown, "").exit(1).stderr("nothing is known of Eve").no_stdout().run();
    run(&LANE.replace("order", "oder"), "").exit(1).stderr("did you mean `order`?").run();
    run(LANE, "--runs 0").exit(2).run();
    Run::new("lane nowhere.yaml").exit(3).stderr("cannot read nowhere.yaml").run();
}

#[test]
fn a_swimmer_of_the_notebook_is_known() {
    let ran = run(LANE, "").file("eve.yaml", "lengthwise-profile: 1\nname: Eve\npool: 25 m\nhundred: 1:52\n").run();
    ran.then("log swimmer Eve --profile eve.yaml").run();
    std::fs::write(ran.path("noted.yaml"), LANE.replace("{ name: Eve, hundred: 1:52 }", "{ name: Eve }")).unwrap();
    let noted = ran.then("lane thursday.yaml --lane noted.yaml --json").run().json();
    assert_eq!(noted["lanes"][0]["swimmers"][2]["name"], "Eve");
    // As written there, and as the notebook knows her.
    let touch = |report: &Value| report["lanes"][0]["sets"][0]["starts"][0]["touches_s"][2].as_f64().unwrap();
    let written = ran.then("lane thursday.yaml --lane lane.yaml --json").run().json();
    assert!((touch(&noted) - touch(&written)).abs() < 1.0, "{} {}", touch(&noted), touch(&written));
}

#[test]
fn a_picture_shows_every_lane_and_set() {
    let ran = run(LANE, "--picture lanes.svg --runs 1").stderr("wrote lanes.svg").run();
    let svg = std::fs::read_to_string(ran.path("lanes.svg")).unwrap();
    assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"), "{}", &svg[..200]);
    for title in ["Lane 1: Hundreds, repeat 1", "Lane 1: Two hundreds, repeat 1"] {
        assert!(svg.contains(title), "{title}");
    }
    // Ida comes up to Bo in each of the two panels: a ring of 6 pixels.
    assert_eq!(svg.matches("<circle").count(), 2);
    // Three swimmers in each, a line of at least the walls of 100 m.
    assert!(svg.matches("<polyline").count() >= 6, "{}", svg.matches("<polyline").count());
    ran.then("lane thursday.yaml --lane lane.yaml --picture lanes.svg").exit(3).stderr("exists already").run();
    ran.then("lane thursday.yaml --lane lane.yaml --picture lanes.svg --force").run();
    // The small one is in the text: the leader at the wall at first, and the catch.
    let drawn: Vec<&str> = ran.stdout.lines().filter_map(|line| line.trim_start().strip_prefix('|')).collect();
    assert!(drawn.len() == 9 && drawn[8].starts_with('1') && drawn.iter().any(|line| line.contains('*')), "{drawn:#?}");
}

/// A session of a lane as a dry run, with its record in `lane.jsonl`.
fn session(lane: &str, keys: &str) -> Ran {
    let script = SCRIPT.replace("6 x 100", "2 x 100").replace("4 x 200", "1 x 200");
    let run = Run::new("play thursday.yaml --lane lane.yaml --no-speech --dry-run --rate 8000 --record lane.jsonl")
        .file("thursday.yaml", script)
        .file("lane.yaml", lane);
    let mut command = run.command();
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(keys.as_bytes()).unwrap();
    run.judge(child.wait_with_output().unwrap())
}

#[test]
fn the_notebook_takes_a_lane_at_once() {
    let ran = session(LANE, "0:30 out 3\n2:40 touch 1\n2:45 touch 2\n");
    let log = |more: &str| ran.then(&format!("log lane.jsonl {more}"));
    log("")
        .exit(2)
        .stderr("lane.jsonl is of lane 1 (Bo, Ida, Eve)")
        .stderr("name the roster as it was with --lane")
        .run();
    let kept =
        log("--lane lane.yaml").stdout("practice 2: Thursday, Ida, ").stderr("Eve: sat out the whole session").run();
    assert_eq!(kept.stdout.lines().count(), 2, "{}", kept.stdout);
    assert!(
        kept.stdout.lines().all(|line| line.contains(": 1 of 3 repeats known to be swum · 1 time")),
        "{}",
        kept.stdout
    );
    let shown = ran.then("log show 1 --json").run().json();
    assert_eq!((&shown["swimmer"], &shown["sets"][0]["repeats"][1]["state"]), (&"Bo".into(), &"unknown".into()));
    // Twice is once; all of it is taken back at once.
    log("--lane lane.yaml").exit(2).stderr("was kept for Bo, Ida before").no_stdout().run();
    ran.then("log undo").stderr("taken back: kept Thursday of 2 swimmers in lane 1").run();
    assert_eq!(ran.then("log list --json").run().json()["practices"].as_array().unwrap().len(), 0);
    // One alone says more of it; the others come later.
    let said = log("--lane lane.yaml --swimmer ida --feel 4 --json").run().json();
    assert_eq!((&said["swimmer"], &said["feel"]), (&"Ida".into(), &4.into()));
    log("--lane lane.yaml --feel 4").exit(2).stderr("name one with --swimmer").run();
    log("--lane lane.yaml --swimmer Zoe").exit(2).stderr("--swimmer names one of Bo, Ida, Eve").run();
    log("--lane lane.yaml --swimmer Eve").exit(2).stderr("Eve sat out the whole session").run();
    let rest = log("--lane lane.yaml --json").run().json();
    assert_eq!((rest["practices"].as_array().unwrap().len(), &rest["kept_before"][0]), (1, &"Ida".into()));
    ran.then("review").stdout("Bo ").stdout("Ida ").run();
    // Other swimmers, another name, another swim.
    let other = |lane: &str| log("--lane other.yaml --notebook other.sqlite").file("other.yaml", lane);
    other(&LANE.replace("Ida", "Ada")).exit(2).stderr("that lane has Bo, Ada, Eve now").run();
    ran.then("log thursday.yaml --lane lane.yaml --swimmer Ida").exit(2).stderr("--lane belongs to the record").run();
    let shorter = std::fs::read_to_string(ran.path("thursday.yaml")).unwrap().replace("2 x 100 m", "2 x 50 m");
    log("--lane lane.yaml --script b.yaml --notebook other.sqlite")
        .file("b.yaml", shorter)
        .exit(2)
        .stderr("Bo: repeat 1 of set 1 is `100 m swim` in the record and `50 m swim` in the script")
        .run();
    other(&LANE.replace("1:28", "later")).exit(1).stderr("other.yaml:6").run();
    ran.then("log swimmer Idda --profile p.yaml --notebook idda.sqlite")
        .file("p.yaml", "lengthwise-profile: 1\npool: 25 m\nhundred: 1:40\n")
        .run();
    log("--lane lane.yaml --notebook idda.sqlite")
        .exit(2)
        .stderr("Ida (did you mean Idda?)")
        .stderr("--new-swimmer")
        .run();
}
