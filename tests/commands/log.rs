//! `log`: what was swum, into the notebook and out of it again.

use crate::material::script;
use crate::run::{Ran, Run};
use serde_json::Value;

/// Three sets: one whose strokes are counted, one by the beat, one against the clock.
fn tuesday() -> String {
    script(
        "  - { set: Easy, swim: 2 x 50 m on 1:40, count: last length }\n  \
         - { set: Range, swim: 3 x 50 m on 1:40, tempo: { from: 1.40 s, to: 1.30 s }, breathe: every 3 }\n  \
         - { set: Timed, swim: 200 m, test: time }\n",
    )
}

const PROFILE: &str = "lengthwise-profile: 1\npool: 25 m\nhundred: 1:40\n";

/// The practice kept once by options.
fn kept(more: &str) -> Ran {
    let args = format!("log tuesday.yaml --swimmer Ida --day 2024-11-20 {more}");
    Run::new(&args).file("tuesday.yaml", tuesday()).run()
}

fn show(ran: &Ran, number: u32) -> Value {
    ran.then(&format!("log show {number} --json")).run().json()
}

#[test]
fn a_practice_is_kept_by_options() {
    let ran = kept(
        "--missed 2.2 --count 1=19 --count 2.3=21?at1.35 --time 3=4:30 --apart 2.3 --feel 4 --effort 6 --minutes 30 --pain no",
    );
    assert!(ran.stderr.contains("a new notebook: "), "{}", ran.stderr);
    assert!(ran.stdout.contains("practice 1: "), "{}", ran.stdout);
    let brief = "5 of 6 repeats known to be swum · 1 missed · 2 counts · 1 time · fell apart from 2.3 on · 30 min · feel 4 · effort 6 · load 180 · nothing hurt";
    assert!(ran.stdout.contains(brief), "{}", ran.stdout);
    assert!(ran.stderr.contains("`lengthwise log undo` takes it back"), "{}", ran.stderr);
    assert!(ran.path(".local/share/lengthwise/notebook.sqlite").is_file());
    let shown = show(&ran, 1);
    assert_eq!(
        (&shown["swimmer"], &shown["day"], &shown["load"]),
        (&"Ida".into(), &"2024-11-20".into(), &180.0.into())
    );
    let repeat = |set: usize, repeat: usize| &shown["sets"][set]["repeats"][repeat];
    // Of the first set the last that the script has counted.
    assert_eq!(repeat(0, 1)["observations"][0]["value"], 19.0);
    assert_eq!(repeat(1, 1)["state"], "missed");
    let observed = &repeat(1, 2)["observations"];
    assert_eq!((&observed[0]["source"], &observed[1]["value"]), (&"guess".into(), &1.35.into()));
    assert_eq!((&repeat(2, 0)["observations"][0]["value"], &shown["sets"][1]["apart"]), (&270.0.into(), &3.into()));
    // The only swimmer need not be named again; nothing need be said.
    let again = ran.then("log tuesday.yaml --day 2024-11-21 --json").run().json();
    assert_eq!((&again["practice"], &again["swimmer"]), (&2.into(), &"Ida".into()));
    ran.then("log list").stdout("2024-11-20  Ida").stdout("2024-11-21  Ida").run();
    let list = ran.then("log list --last 1 --json").run().json();
    assert_eq!((list["practices"].as_array().unwrap().len(), &list["practices"][0]["practice"]), (1, &2.into()));
    ran.then("log show 1")
        .stdout("3, beat 1.30 s: 21 strokes in length 2 (guess), 1.35 s a stroke in length 2 (guess)")
        .run();
}

#[test]
fn all_that_is_wrong_is_said_at_once_and_nothing_is_kept() {
    let wrong = "--count 1.9=19 --time 3=4.30 --feel 7 --effort 11";
    let ran = Run::new(&format!("log tuesday.yaml --swimmer Ida {wrong}")).file("tuesday.yaml", tuesday());
    let ran = ran
        .exit(2)
        .stderr("no repeat 9 of set 1")
        .stderr("`4.30` for 200 m")
        .stderr("feel `7`: 1 to 5")
        .no_stdout()
        .run();
    assert!(ran.stderr.contains("effort `11`: 0 to 10") && ran.stderr.contains("nothing was kept"), "{}", ran.stderr);
}

#[test]
fn pain_is_answered_and_no_more_than_that() {
    let ran = kept("--pain shoulder");
    assert!(ran.stderr.contains("Stop what hurts, swim nothing quick until it is gone"), "{}", ran.stderr);
    ran.then("log list").stdout("shoulder").run();
}

#[test]
fn who_swam_and_when_must_be_known() {
    let run = |args: &str| Run::new(args).file("tuesday.yaml", tuesday());
    run("log tuesday.yaml").exit(2).stderr("Name the swimmer with --swimmer: the notebook is still empty").run();
    run("log tuesday.yaml --swimmer Ida --day 2999-01-01").exit(2).stderr("is still to come").run();
    run("log tuesday.yaml --swimmer Ida --day 29.11.2026").exit(2).stderr("write it as 2026-11-28").run();
    let ran = kept("");
    ran.then("log tuesday.yaml --swimmer Bo")
        .stderr("Bo is new in this notebook; if that is a slip, `lengthwise log undo` takes it back")
        .run();
    // A slip makes nobody.
    ran.then("log tuesday.yaml --swimmer Idda")
        .exit(2)
        .stderr("did you mean Ida? Somebody new is taken with --new-swimmer")
        .run();
    ran.then("log swimmer Iad --profile p.yaml").file("p.yaml", PROFILE).exit(2).stderr("did you mean Ida?").run();
    ran.then("log swimmer").stdout("Bo (no profile)\nIda (no profile)\n").run();
    ran.then("tap --log --swimmer Idda").exit(2).stderr("did you mean Ida?").run();
    ran.then("log tuesday.yaml --swimmer Idda --new-swimmer").stderr("Idda is new in this notebook").run();
    ran.then("log undo").run();
    ran.then("log tuesday.yaml").exit(2).stderr("Name the swimmer with --swimmer: Bo, Ida").run();
    ran.then("log list --swimmer Ada").exit(2).stderr("nobody called Ada is in the notebook: Bo, Ida").run();
    // As it is written first.
    let again = ran.then("log tuesday.yaml --swimmer iDA --json").run().json();
    assert_eq!(again["swimmer"], "Ida");
    let other = ran.then("log list").env("LENGTHWISE_NOTEBOOK", "other.sqlite");
    other.exit(3).stderr("there is no notebook other.sqlite yet").run();
    ran.then("log tuesday.yaml --swimmer Ida --notebook third.sqlite").stderr("a new notebook: third.sqlite").run();
}

#[test]
fn a_change_is_taken_back_and_a_copy_is_whole() {
    let ran = kept("--feel 3");
    ran.then("log remove 1").stderr("removed Try, Ida, 2024-11-20").run();
    ran.then("log show 1").exit(2).stderr("there is no practice 1").run();
    ran.then("log undo").stderr("taken back: removed Try, Ida, 2024-11-20").run();
    assert_eq!(show(&ran, 1)["feel"], 3);
    ran.then("log backup copy.sqlite").stderr("a whole copy: copy.sqlite").run();
    ran.then("log show 1 --notebook copy.sqlite").stdout("feel 3").run();
    ran.then("log backup copy.sqlite").exit(3).stderr("stays as it is").run();
    ran.then("log undo").stderr("taken back: kept Try").run();
    ran.then("log undo").exit(2).stderr("there is nothing to take back").run();
}

#[test]
fn a_swimmers_profile_plans_their_practices() {
    let ran = Run::new("log swimmer Ida --profile ida.yaml").file("ida.yaml", PROFILE).file("tuesday.yaml", tuesday());
    let ran = ran.stderr("kept the profile of Ida").run();
    ran.then("log swimmer").stdout("Ida\n").run();
    let with = ran.then("log tuesday.yaml --json").run().json();
    ran.then("log tuesday.yaml --swimmer Bo --json").run();
    ran.then("log swimmer").stdout("Bo (no profile)\nIda\n").run();
    let without = show(&ran, 2);
    let seconds = |shown: &Value| shown["sets"][0]["repeats"][0]["predicted_s"].as_f64().unwrap();
    assert!(seconds(&with) < 55.0 && seconds(&without) > 65.0, "{} {}", seconds(&with), seconds(&without));
    ran.then("log swimmer Ida --profile bad.yaml").file("bad.yaml", "lengthwise-profile: 1\n").exit(1).run();
}

#[test]
fn the_record_of_a_session_is_taken_over() {
    // Keys as a coach would press them: two touches, one of them taken back, and off before the timed swim.
    let args = "play tuesday.yaml --dry-run --record session.jsonl";
    let run = Run::new(args).file("tuesday.yaml", tuesday());
    let mut command = run.command();
    let mut child = command
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    let keys = "1:50 touch\n3:28 touch\n3:29 undo\n5:20 faster 0.02\n";
    std::io::Write::write_all(&mut child.stdin.take().unwrap(), keys.as_bytes()).unwrap();
    let ran = run.judge(child.wait_with_output().unwrap());
    let kept = ran.then("log session.jsonl --swimmer Ida --json").run().json();
    assert_eq!((kept["sets"].as_array().unwrap().len(), kept["record"].as_str().unwrap().len()), (3, 64));
    assert!(kept["begun"].is_string() && kept["minutes"].as_f64().unwrap() > 5.0, "{kept}");
    let repeat = |set: usize, repeat: usize| &kept["sets"][set]["repeats"][repeat];
    let touched = &repeat(0, 0)["observations"];
    assert_eq!((&repeat(0, 0)["state"], &touched[0]["source"]), (&"swum".into(), &"tapped".into()));
    assert_eq!(
        (&repeat(0, 1)["state"], repeat(0, 1)["observations"].as_array().unwrap().len()),
        (&"unknown".into(), 0)
    );
    ran.then("log session.jsonl --swimmer Ida").exit(2).stderr("was kept for Ida before").run();
    // Another swimmer may have swum along.
    ran.then("log session.jsonl --swimmer Bo").run();
    let other = script("  - { set: Other, swim: 25 m, end: far }\n");
    let named = ran.then("log session.jsonl --swimmer Cy --script other.yaml").file("other.yaml", other);
    named.exit(2).stderr("is of another practice or profile").run();
    // Changed, or gone: the notebook has it as it was swum.
    let changed = tuesday().replace("3 x 50 m", "2 x 50 m");
    ran.then("log session.jsonl --swimmer Cy --json").file("tuesday.yaml", changed).run();
    assert_eq!(show(&ran, 3)["sets"][1]["repeats"].as_array().unwrap().len(), 3);
    let elsewhere = |swimmer: &str| ran.then(&format!("log session.jsonl --swimmer {swimmer} --notebook other.sqlite"));
    elsewhere("Cy").exit(2).stderr("is of another practice or profile").run();
    std::fs::remove_file(ran.path("tuesday.yaml")).unwrap();
    ran.then("log session.jsonl --swimmer Dag").run();
    elsewhere("Cy").exit(2).stderr("whose script is not found: name it with --script").run();
    ran.then("log other.yaml --script other.yaml --swimmer Cy").exit(2).stderr("belongs to the record").run();
}

#[test]
fn what_was_kept_is_mended() {
    let ran = kept("--count 1=19 --feel 4 --note first");
    ran.then("log edit 1 --count 1=18 --effort 5 --day 2024-11-19").stdout("feel 4 · effort 5").run();
    let shown = show(&ran, 1);
    let observed = shown["sets"][0]["repeats"][1]["observations"].as_array().unwrap();
    assert_eq!((observed.len(), &observed[0]["value"]), (1, &18.0.into()));
    assert_eq!((&shown["note"], &shown["day"]), (&"first".into(), &"2024-11-19".into()));
    ran.then("log edit 1 --count 1=no").run();
    assert_eq!(show(&ran, 1)["sets"][0]["repeats"][1]["observations"].as_array().unwrap().len(), 0);
    ran.then("log undo").run();
    ran.then("log edit 1").exit(2).stderr("what is to change?").run();
    ran.then("log edit 1 --feel 4").stderr("nothing was changed").run();
    ran.then("log undo").stderr("taken back: changed Try, Ida, 2024-11-20").run();
    assert_eq!(show(&ran, 1)["sets"][0]["repeats"][1]["observations"][0]["value"], 19.0);
}

#[test]
fn that_the_stroke_held_is_an_answer() {
    let ran = kept("--apart no");
    assert!(ran.stdout.contains("the stroke held"), "{}", ran.stdout);
    ran.then("log tuesday.yaml --day 2024-11-21 --feel 3").run();
    ran.then("log tuesday.yaml --day 2024-11-22 --apart 2.2 --time 3=4:30").run();
    let held = |number: u32| {
        show(&ran, number)["sets"].as_array().unwrap().iter().map(|set| set["held"].clone()).collect::<Vec<_>>()
    };
    let [yes, no, unknown] = [Value::from(true), Value::from(false), Value::Null];
    assert_eq!(held(1), [yes.clone(), yes.clone(), yes.clone()]);
    assert_eq!(held(2), [unknown.clone(), unknown.clone(), unknown]);
    // Who names one place, says that the other sets held.
    assert_eq!(held(3), [yes.clone(), no, yes]);
    ran.then("review --as-of 2024-11-23")
        .stdout("Stroke   held in 1 of 2 practices in four weeks, by the log; it last fell apart on 2024-11-22, Range, from repeat 2 on")
        .run();
    ran.then("review --as-of 2024-11-23 --on splits").stdout("the stroke").stdout("  held\n").run();
    let review = ran.then("review --as-of 2024-11-23 --json").run().json();
    assert_eq!((&review["held"]["held"], &review["held"]["last_apart"]["repeat"]), (&1.into(), &2.into()));
    // Tables of a program that did not know it yet are read too.
    ran.then("log export season").run();
    let text = std::fs::read_to_string(ran.path("season/practices.csv")).unwrap();
    assert!(text.lines().next().unwrap().ends_with(",record,held") && text.contains(",yes\r\n"), "{text}");
    let older: Vec<&str> = text.lines().map(|line| line.rsplit_once(',').unwrap().0).collect();
    std::fs::write(ran.path("season/practices.csv"), older.join("\r\n")).unwrap();
    ran.then("log import season --notebook other.sqlite").stdout("3 new").run();
    std::fs::write(ran.path("season/practices.csv"), text.replace(",yes\r", ",perhaps\r")).unwrap();
    ran.then("log import season --notebook third.sqlite")
        .exit(1)
        .stderr("column `held`: `perhaps`: yes or no is allowed")
        .run();
}

#[test]
fn tables_go_out_and_come_in_once() {
    let ran = kept("--count 1=19 --feel 4 --note =1+1 --pain knee");
    ran.then("log tuesday.yaml --swimmer Bo --day 2024-11-21 --missed 3").run();
    ran.then("log export season").stderr("2 practices of 2 swimmers written into season").run();
    let ran = ran.then("log export season").exit(3).stderr("stays as it is").run();
    let text = std::fs::read_to_string(ran.path("season/practices.csv")).unwrap();
    assert!(text.contains("'=1+1"), "{text}");
    let other = |args: &str| ran.then(&format!("{args} --notebook other.sqlite"));
    other("log import season").stdout("2 new").run();
    other("log import season").stdout("2 there already").run();
    other("log list").stdout("Bo").stdout("knee").run();
    let one = ran.then("log show 1 --json").run().json();
    assert_eq!(other("log show 1 --json").run().json(), one);
    // Somebody mends a row in a spreadsheet.
    std::fs::write(ran.path("season/practices.csv"), text.replace(",knee,", ",no,")).unwrap();
    other("log import season").exit(1).stderr("the notebook has another: practice 1: Try, Ida, 2024-11-20").run();
    other("log import season --replace --json").stdout("\"replaced\": 1").run();
    assert_eq!(other("log show 1 --json").run().json()["pain"], "");
    other("log undo").stderr("taken back: imported 2 practices from season").run();
    assert_eq!(other("log show 1 --json").run().json()["pain"], "knee");
    std::fs::write(ran.path("season/practices.csv"), text.replace(",4,", ",9,")).unwrap();
    let wrong = other("log import season").exit(1).stderr("nothing was imported").run();
    assert!(wrong.stderr.contains("column `feel`: `9`: 1 to 5 is allowed"), "{}", wrong.stderr);
    other("log import nowhere").exit(3).stderr("there is no folder nowhere").run();
}

#[test]
fn a_name_that_nobody_knows_is_told_before_a_sheet_is_taken() {
    let sheet = "log sheet tuesday.yaml --swimmer Ida --swimmer Bo --day 2024-11-20 -o monday.csv";
    let ran = Run::new(sheet).file("tuesday.yaml", tuesday()).run();
    let felt = |name: &str, feel: u8| (format!("{name},2024-11-20,,,,,,"), format!("{name},2024-11-20,,,,,,{feel}"));
    let (ida, bo) = (felt("Ida", 4), felt("Bo", 3));
    let text = filled(&ran, &[(&ida.0, &ida.1), (&bo.0, &bo.1)]);
    // Where nobody is known yet, everybody is new.
    ran.then("log take good.csv").file("good.csv", &text).stdout("2 new").stderr("new in this notebook: Bo, Ida").run();
    let other = text.replace("Ida,2024-11-20", "Idda,2024-11-21").replace("Bo,2024-11-20", "Zoe,2024-11-21");
    let refused = ran.then("log take other.csv").file("other.csv", &other).exit(1).stderr("nothing was taken").run();
    for told in [
        "other.csv, row 3, column `swimmer`: nobody called Idda is known; did you mean Ida?",
        "other.csv, row 4, column `swimmer`: nobody called Zoe is known\n",
        "mend the names, or take them as new swimmers with --new-swimmer",
    ] {
        assert!(refused.stderr.contains(told), "{told} is missing: {}", refused.stderr);
    }
    ran.then("log swimmer").stdout("Bo (no profile)\nIda (no profile)\n").run();
    // Who makes the sheet is told before anybody fills it in.
    ran.then("log sheet tuesday.yaml --swimmer Ida --swimmer Zoe -o new.csv")
        .stderr("swimmers; new to the notebook: Zoe; fill it in, then `lengthwise log take new.csv --new-swimmer`")
        .run();
    // A roster knows its own.
    let roster = "lengthwise-roster: 1\npool: 25 m\nswimmers:\n  - { name: Idda, hundred: 1:40 }\n  - { name: Zoe, hundred: 2:00 }\n";
    ran.then("log take other.csv --roster squad.yaml")
        .file("squad.yaml", roster)
        .stderr("new in this notebook: Idda, Zoe")
        .run();
    ran.then("log undo").run();
    ran.then("log take other.csv --new-swimmer").stdout("2 new").stderr("new in this notebook: Idda, Zoe").run();
}

const SQUAD: &str =
    "lengthwise-roster: 1\npool: 25 m\nswimmers:\n  - { name: Ida, hundred: 1:40 }\n  - { name: Bo, hundred: 2:30 }\n";

/// A sheet with its cells filled in: pairs of what is in a row and what it becomes.
fn filled(ran: &Ran, changes: &[(&str, &str)]) -> String {
    let mut text = std::fs::read_to_string(ran.path("monday.csv")).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{from} is not in {text}");
        text = text.replace(from, to);
    }
    text
}

#[test]
fn a_sheet_goes_round_and_comes_back() {
    let sheet = "log sheet tuesday.yaml --roster squad.yaml --day 2024-11-20 -o monday.csv";
    let ran = Run::new(sheet).file("tuesday.yaml", tuesday()).file("squad.yaml", SQUAD).run();
    let text = filled(&ran, &[]);
    let head = "swimmer,day,left out,strokes set 1 repeat 1,strokes set 1 repeat 2,time set 3 repeat 1,fell apart,";
    assert!(text.starts_with(head) && text.lines().count() == 4, "{text}");
    ran.then(sheet).exit(3).stderr("stays as it is").run();
    ran.then("log take monday.csv").exit(0).stderr("2 rows not filled in").stdout("nothing to take in").run();
    let good =
        filled(&ran, &[("Ida,2024-11-20,,,,,,,,,,,,", "Ida,2024-11-20,set 2 repeat 2,19,20?,4:30,,4,6,30,no,,coach,")]);
    ran.then("log take filled.csv --roster squad.yaml")
        .file("filled.csv", &good)
        .stdout("1 new")
        .stderr("1 row not filled in")
        .run();
    ran.then("log take filled.csv --roster squad.yaml").stdout("1 there already").run();
    let list = ran.then("log list --json").run().json();
    let number = list["practices"][0]["practice"].as_i64().unwrap();
    let shown = show(&ran, number as u32);
    assert_eq!((&shown["swimmer"], &shown["effort"]), (&"Ida".into(), &6.into()));
    let observed = |repeat: usize| &shown["sets"][0]["repeats"][repeat]["observations"][0]["source"];
    assert_eq!((observed(0), observed(1)), (&"coach".into(), &"guess".into()));
    // Planned as the roster has her, not as somebody new to crawl.
    assert!(shown["sets"][0]["repeats"][0]["predicted_s"].as_f64().unwrap() < 55.0, "{shown}");
    // Everything that is wrong, and nothing taken.
    let bad = good.replace(",19,20?,", ",190,x,").replace("Bo,2024-11-20,,,,,,,", "Bo,2024-11-20,,,,5.30,,9,");
    let wrong =
        ran.then("log take bad.csv --roster squad.yaml").file("bad.csv", bad).exit(1).stderr("nothing was taken").run();
    for told in [
        "bad.csv, row 3, column `strokes set 1 repeat 1`: 190 strokes in one length",
        "bad.csv, row 3, column `strokes set 1 repeat 2`: `x` is no count",
        "bad.csv, row 4, column `time set 3 repeat 1`: `5.30` for 200 m",
        "bad.csv, row 4, column `feel 1-5`: feel `9`",
    ] {
        assert!(wrong.stderr.contains(told), "{told} is missing: {}", wrong.stderr);
    }
    let changed = tuesday().replace("Timed", "Clock");
    ran.then("log take filled.csv --roster squad.yaml").file("tuesday.yaml", changed).stdout("1 there already").run();
    ran.then("log take filled.csv --notebook other.sqlite")
        .exit(2)
        .stderr("is not as it was when filled.csv was made")
        .run();
    ran.then("log take squad.yaml").exit(1).stderr("there is no column `swimmer`").run();
}
