//! `tap` with taps from standard input: what is told of them, and what is done with them.

use crate::run::{Ran, Run};
use std::fmt::Write as _;
use std::io::Write as _;
use std::process::Stdio;

/// A run that reads taps.
pub fn tapped(run: Run, taps: &str) -> Ran {
    let mut child = run.command().stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(taps.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    run.judge(output)
}

/// Two lengths of 19 and 20 strokes at 1.08 and 1.10 s, a breath each third; in the second one hand is not tapped.
pub fn two_lengths() -> String {
    let mut taps = "# push-off\n0.00 wall\n".to_owned();
    for stroke in 0..19 {
        let breath = if stroke % 3 == 2 { " b" } else { "" };
        writeln!(taps, "{:.2}{breath}", 3.0 + 1.08 * f64::from(stroke)).unwrap();
    }
    taps += "24.00 wall\n";
    for stroke in (0..20).filter(|stroke| *stroke != 7) {
        writeln!(taps, "{:.2}", 27.0 + 1.10 * f64::from(stroke)).unwrap();
    }
    taps + "50.00 wall\n"
}

#[test]
fn lengths_are_told() {
    let ran = tapped(
        Run::new("tap")
            .stdout("length 1: 19 strokes, 1.08 s ± 0.01, 55.6 a minute, last five 1.08 s, 24.00 s from wall to wall\n")
            .stdout("    no drift to be seen: first half 1.08 s, second 1.08 s")
            .stdout("    breaths: every 3, 6 to both sides in turn\n")
            .stdout("length 2: 19 tapped, or 20 with one missed tap, 1.10 s ± 0.01")
            .stdout("    a tap may be missing after tap 7: 2.20 s\n")
            .stdout("on the whole: 19 strokes a length, 1.09 s (medians)\n"),
        &two_lengths(),
    );
    assert!(
        ran.stdout.contains("± holds in 95 of 100. A hand that taps 20 to 40 ms off") && ran.stderr.is_empty(),
        "{}",
        ran.stderr
    );
    tapped(
        Run::new("tap --counts likely").stdout("length 2: 20 strokes").stdout("19.5 strokes a length"),
        &two_lengths(),
    );
    tapped(Run::new("tap --counts tapped").stdout("length 2: 19 strokes"), &two_lengths());
    tapped(Run::new("tap").stdout("nothing was tapped"), "");
}

#[test]
fn programs_get_the_same() {
    let json = tapped(Run::new("tap --json --film-speed 0.5"), &two_lengths()).json();
    let length = &json["lengths"][1];
    assert_eq!(
        (&length["tapped"], &length["likely"], &length["count"]),
        (&19.into(), &20.into(), &serde_json::Value::Null)
    );
    assert_eq!((length["tempo_s"].as_f64(), length["time_s"].as_f64()), (Some(0.55), Some(13.0)));
    assert_eq!(json["lengths"][0]["breaths"]["every"], 3);
    // The taps are as they came.
    let taps = json["taps"].as_array().unwrap();
    assert_eq!((taps.len(), &taps[1]["key"], taps[1]["at_s"].as_f64()), (41, &"stroke".into(), Some(3.0)));
}

#[test]
fn play_gets_the_tempo() {
    let ran = tapped(Run::new("tap --tempo-for-play"), &two_lengths());
    assert_eq!(ran.stdout, "tempo 1.09\n");
    tapped(Run::new("tap --tempo-for-play").exit(2).no_stdout().stderr("tap at least two strokes"), "1.0\n");
}

#[test]
fn what_is_no_tap_is_told_and_nothing_is_made_of_the_rest() {
    tapped(
        Run::new("tap").exit(1).no_stdout().stderr("line 2: `one` is not a time").stderr("line 3: `kick` is not known"),
        "1.0\none\n2.0 kick\n",
    );
    tapped(Run::new("tap --film-speed 9").exit(2).stderr("a film's speed is a number from 0.05 to 4"), "");
}

#[test]
fn a_profile_gets_its_point_and_keeps_the_rest() {
    let ida =
        "# Ida\nlengthwise-profile: 1\npool: 25 m\nstroke:\n  - { count: 18, tempo: 1.30 s }  # in May\nside: left\n";
    let args = "tap --counts likely --profile ida.yaml";
    // The counts are 19 and 20, the tempos 1.08 and 1.10 s: the medians are between them.
    let asked = tapped(Run::new(args).file("ida.yaml", ida).exit(1).stderr("line 6 on:\n  + "), &two_lengths());
    assert!(
        asked.stderr.contains("  +   - { count: 20, tempo: 1.09 s }\nida.yaml stays as it is: --yes writes it"),
        "{}",
        asked.stderr
    );
    assert_eq!(std::fs::read_to_string(asked.path("ida.yaml")).unwrap(), ida);
    let written = tapped(asked.then(&format!("{args} --yes")).stderr("wrote ida.yaml"), &two_lengths());
    let text = std::fs::read_to_string(written.path("ida.yaml")).unwrap();
    assert_eq!(text, ida.replace("side:", "  - { count: 20, tempo: 1.09 s }\nside:"));
    written.then("check first-lengths/level-body --no-speech --swimmer ida.yaml").run();
    // A new one, and what is no profile.
    let new = tapped(written.then("tap --counts likely --profile new.yaml --yes --swimmer Bo"), &two_lengths());
    new.then("check first-lengths/level-body --no-speech --swimmer new.yaml").run();
    let open = "no whole length has a count beyond doubt";
    tapped(Run::new("tap --profile new.yaml --yes").exit(2).stderr(open), "0\n1\n2\n3\n5\n6\n");
    let broken = Run::new("tap --profile bad.yaml --yes --counts tapped").file("bad.yaml", "pool: 25 m\n");
    tapped(broken.exit(2).stderr("bad.yaml stays as it is: it has errors of its own"), &two_lengths());
}

#[test]
fn the_notebook_gets_what_was_seen() {
    let ran = tapped(
        Run::new("tap --log --swimmer Ida --pool 25m")
            .stderr("a new notebook")
            .stderr("not kept: the count of length 2"),
        &two_lengths(),
    );
    assert!(
        ran.stderr.contains("kept 5 values of Ida in 25 m, as plain crawl (--swum says what else it was); `lengthwise log undo` takes it back"),
        "{}",
        ran.stderr
    );
    let shown = ran.then("log show 1 --json").run().json();
    let repeat = &shown["sets"][0]["repeats"][0];
    assert_eq!((&repeat["swim"], &repeat["lengths"]), (&"50 m".into(), &2.into()));
    let observed: Vec<_> = repeat["observations"].as_array().unwrap().iter().collect();
    let all: Vec<_> = observed.iter().map(|o| (o["measure"].as_str().unwrap(), o["value"].as_f64().unwrap())).collect();
    assert_eq!(all, [("count", 19.0), ("tempo", 1.08), ("time", 24.0), ("tempo", 1.1), ("time", 26.0)]);
    assert!(observed.iter().all(|observed| observed["source"] == "tapped"));
    // Into that practice of today: the count that is settled now comes beside, what was tapped before gives way.
    let again = tapped(
        ran.then("tap --log --into 1 --counts likely").stderr("into Strokes tapped, repeat 1.1"),
        &two_lengths(),
    );
    let shown = again.then("log show 1 --json").run().json();
    let observed = shown["sets"][0]["repeats"][0]["observations"].as_array().unwrap().clone();
    assert_eq!(observed.len(), 6);
    again.then("log undo").stderr("tapped into Strokes tapped, Ida").run();
    // What cannot be is found before anybody taps.
    tapped(
        ran.then("tap --log --into 1.4")
            .exit(2)
            .no_stdout()
            .stderr("--into: there is no repeat 4 of set 1: it has 1 repeat"),
        "",
    );
    tapped(ran.then("tap --log --into 1 --swimmer Bo").exit(2).stderr("no practice is in the notebook"), "");
    tapped(Run::new("tap --log").exit(2).no_stdout().stderr("Name the swimmer with --swimmer"), "");
    tapped(ran.then("tap --log").exit(2).stderr("nothing was kept: there is nothing to keep"), "");
    tapped(ran.then("tap --into 1").exit(2).stderr("--log"), "");
}

#[test]
fn what_is_tapped_is_what_was_swum() {
    let breast = tapped(
        Run::new("tap --log --swimmer Ida --swum breast").stderr("as breast, which tells nothing of your crawl"),
        &two_lengths(),
    );
    let shown = breast.then("log show 1 --json").run().json();
    let repeat = &shown["sets"][0]["repeats"][0];
    assert_eq!((&repeat["swim"], &repeat["plain_lengths"]), (&"50 m breast".into(), &"".into()));
    tapped(breast.then("tap --log --swum Crawl").stderr("as plain crawl"), &two_lengths());
    tapped(breast.then("tap --log --swum breast --into 1").exit(2).stderr("cannot be used with"), "");
    // By a script that is not kept yet: the practice comes into being with the taps, and then it is the one they go to.
    let script = crate::material::script(
        "  - { set: Easy, swim: 2 x 50 m on 1:40 }\n  - { set: Fists, swim: 2 x 50 m, drill: fist, rest: 20 s }\n",
    );
    let args = "tap --log --script tuesday.yaml --swimmer Bo --counts likely";
    let ran = tapped(
        Run::new(&format!("{args} --into 2.1"))
            .file("tuesday.yaml", &script)
            .stderr("into Try, repeat 2.1, from length 1 on")
            .stderr("kept Try, and 6 values into repeat 2.1 of it"),
        &two_lengths(),
    );
    tapped(ran.then(&format!("{args} --into 1.2")).stderr("kept 6 values into repeat 1.2 of Try"), &two_lengths());
    let shown = ran.then("log show 1 --json").run().json();
    let repeat = |set: usize, repeat: usize| &shown["sets"][set]["repeats"][repeat];
    // The script knows that a drill tells nothing of the whole stroke.
    assert_eq!((&repeat(1, 0)["plain_lengths"], &repeat(0, 1)["plain_lengths"]), (&"".into(), &"1-2".into()));
    for (set, number) in [(1, 0), (0, 1)] {
        assert_eq!(repeat(set, number)["observations"].as_array().unwrap().len(), 6);
    }
    // Another script is another practice.
    let other = script.replace("Easy", "Other");
    tapped(
        ran.then("tap --log --script other.yaml --into 1.1").file("other.yaml", other).stderr("kept Try, and"),
        &two_lengths(),
    );
    tapped(ran.then("tap --log --script gone.yaml --into 1").exit(3).stderr("cannot read gone.yaml"), "");
    tapped(ran.then("tap --log --script other.yaml").exit(2).stderr("--into"), "");
}
