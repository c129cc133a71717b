//! `render` of several practices in one call: the same files as one by one, side by side, and one that fails stops none.

use crate::material::{names, script};
use crate::run::{Ran, Run};
use serde_json::Value;

const EASY: &str = "  - { set: Easy start, swim: 2 x 25 m, rest: 20 s, focus: head-still }\n";
const RANGE: &str = "  - { set: Range, swim: 3 x 25 m, rest: 20 s, tempo: { from: 1.40 s, to: 1.20 s } }\n";
const IDA: &str = "lengthwise-profile: 1\nname: Ida\npool: 25 m\nstroke:\n  - { tempo: 1.30 s, count: 18 }\n";

fn folder(args: &str) -> Run {
    let run = Run::new(args).file("monday.yaml", script(EASY)).file("friday.yaml", script(RANGE));
    run.file("ida.yaml", IDA).file("bo.yaml", IDA.replace("Ida", "Bo").replace("18", "23"))
}

fn read(ran: &Ran, name: &str) -> Vec<u8> {
    std::fs::read(ran.path(name)).unwrap()
}

#[test]
fn several_are_what_each_is_alone() {
    let all = folder("render monday.yaml friday.yaml --swimmer ida.yaml --swimmer bo.yaml -o week --rate 8000").run();
    let json = folder("render monday.yaml friday.yaml --rate 8000 --json").run().json();
    for day in ["monday", "friday"] {
        for swimmer in ["ida", "bo"] {
            let args = format!("render {day}.yaml --swimmer {swimmer}.yaml --rate 8000 -o {day}-{swimmer}.wav");
            assert!(
                read(&all, &format!("week/{day} {swimmer}.wav"))
                    == read(&all.then(&args).run(), &format!("{day}-{swimmer}.wav")),
                "{day} {swimmer}"
            );
        }
        assert!(all.stdout.contains(&format!("week/{day} ida.wav")), "{}", all.stdout);
    }
    let frames = json.as_array().unwrap().iter().map(|row| row["frames"].as_u64().unwrap());
    assert_eq!(frames.filter(|frames| *frames > 8_000 * 60).count(), 2, "{json}");
}

#[test]
fn one_that_fails_stops_none() {
    let run = folder("render monday.yaml bad.yaml gone.yaml friday.yaml --rate 8000 --json -o out");
    let ran = run.file("bad.yaml", script(&EASY.replace("2 x 25 m", "2 x 30 m"))).exit(3).run();
    let rows = ran.json();
    let error = |row: usize| rows[row]["error"].as_str().unwrap_or_default().to_owned();
    assert_eq!([error(0), error(3)], ["", ""]);
    assert!(error(1).contains("bad.yaml has errors") && error(2).contains("cannot read gone.yaml"), "{rows}");
    assert!(ran.stderr.contains("error[not-whole-lengths]") && ran.stderr.contains("2 of 4 files were made"));
    assert_eq!(names(&ran.path("out")), ["friday.wav", "monday.wav"]);
    // Nothing but mistakes of the writers: 1, as for one script.
    let run = folder("render monday.yaml bad.yaml --rate 8000").file("bad.yaml", script("  - { set: A }\n"));
    run.exit(1).stdout("monday.wav").run();
}

#[test]
fn two_of_one_name_are_refused_before_anything_is_made() {
    let run = folder("render monday.yaml other/monday.yaml --rate 8000").file("other/monday.yaml", script(RANGE));
    let ran =
        run.exit(2).no_stdout().stderr("monday.yaml and other/monday.yaml would both be written to ./monday.wav").run();
    assert!(!ran.files().contains(&"monday.wav".to_owned()));
}

#[test]
fn what_is_not_ours_is_kept() {
    let ran = folder("render monday.yaml friday.yaml --rate 8000").file("friday.wav", "mine").exit(3).run();
    assert_eq!(read(&ran, "friday.wav"), b"mine");
    assert!(ran.stdout.contains("friday.wav exists already"), "{}", ran.stdout);
    assert_ne!(Value::Null, folder("render monday.yaml friday.yaml --rate 8000 --json").run().json()[0]["frames"]);
}

#[test]
fn the_same_script_elsewhere_gives_the_same_bytes() {
    let practice = script("  - { set: One, swim: 25 m, effort: easy }\n");
    let ran = Run::new("render a.yaml --rate 8000 --no-speech -o here.flac").file("a.yaml", &practice).run();
    let elsewhere = "render far/away/a.yaml --rate 8000 --no-speech -o there.flac";
    ran.then(elsewhere).file("far/away/a.yaml", &practice).run();
    let bytes = |name: &str| std::fs::read(ran.path(name)).unwrap();
    assert!(bytes("here.flac") == bytes("there.flac"));
    // Changed, it is the same script; under another title it is another.
    let longer = practice.replace("25 m, effort", "2 x 25 m, rest: 20 s, effort");
    ran.then(elsewhere).file("far/away/a.yaml", &longer).run();
    assert!(bytes("here.flac") != bytes("there.flac"));
    let other = practice.replace("title: Try", "title: Again");
    ran.then(elsewhere).file("far/away/a.yaml", other).exit(3).stderr("is a render of another script").run();
}

/// A week's folder copied for the next: one name, one title, two practices.
#[test]
fn a_copy_that_was_changed_does_not_take_the_place_unasked() {
    let text =
        |lengths: usize| script(&format!("  - {{ set: One, swim: {lengths} x 25 m, rest: 20 s, effort: easy }}\n"));
    let render = |script: &str| format!("render {script} --rate 8000 --mono --no-speech");
    let ran = Run::new(&render("monday/a.yaml --captions"))
        .file("monday/a.yaml", text(1))
        .file("tuesday/a.yaml", text(2))
        .file("copied/a.yaml", text(1))
        .run();
    let bytes = |name: &str| std::fs::read(ran.path(name)).unwrap();
    if lengthwise::disk::note::get(&ran.path("a.wav")).is_none() {
        eprintln!("SKIPPED: this disk keeps no extended attributes, so it cannot know where a script lay");
        return;
    }
    let first = bytes("a.wav");
    for again in ["tuesday/a.yaml", "tuesday/a.yaml --captions"] {
        ran.then(&render(again)).exit(3).stderr("a.wav is a render of another script").stderr("--force").run();
    }
    assert!(bytes("a.wav") == first);
    // The same text is the same practice, wherever it lies; the first one then lies elsewhere.
    ran.then(&render("copied/a.yaml")).run();
    assert!(bytes("a.wav") == first);
    // Changed in its place it is the same script.
    std::fs::write(ran.path("copied/a.yaml"), text(3)).unwrap();
    ran.then(&render("copied/a.yaml")).run();
    assert!(bytes("a.wav").len() > first.len());
    ran.then(&render("tuesday/a.yaml --force")).run();
    ran.then(&render("tuesday/a.yaml")).run();
    // Tracks, parts, and several at once.
    for kind in ["--player out", "--split set -o parts", "--split set -o parts.wav"] {
        ran.then(&render(&format!("monday/a.yaml {kind}"))).run();
        ran.then(&render(&format!("monday/a.yaml {kind}"))).run();
        ran.then(&render(&format!("tuesday/a.yaml {kind}"))).exit(3).stderr("render of another script").run();
        ran.then(&render(&format!("tuesday/a.yaml {kind} --force"))).run();
    }
    let both = ran.then(&render("monday/a.yaml monday/b.yaml -o both")).file("monday/b.yaml", text(1));
    both.run();
    let other = ran.then(&render("tuesday/a.yaml tuesday/b.yaml -o both")).file("tuesday/b.yaml", text(4));
    assert_eq!(other.exit(3).run().stdout.matches("render of another script").count(), 2);
}
