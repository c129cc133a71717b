//! A squad: each swimmer's folder holds what they would have alone, what has not changed is not made again, and one who
//! fails stops nobody.

use crate::material::{names, script};
use crate::run::{Ran, Run};
use crate::zip::wav;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

const SETS: &str = "  - { set: Easy start, swim: 2 x 25 m, rest: 20 s, focus: [head-still, soft-hand] }\n  \
    - { set: Range, swim: 3 x 25 m, rest: 20 s, tempo: { from: 1.40 s, to: 1.20 s }, focus: look-down }\n";
const IDA: &str = "lengthwise-profile: 1\nname: Ida Berg\npool: 25 m\nstroke:\n  - { tempo: 1.30 s, count: 18 }\n";
const ROSTER: &str = "\
lengthwise-roster: 1
title: Tuesday lanes
pool: 25 m
swimmers:
  - { name: Ida Berg, profile: profiles/ida.yaml }
  - { name: Bo Lind, stroke: [{ tempo: 1.30 s, count: 23 }], focus: [reach-forward] }
  - { name: ida berg, stroke: [{ tempo: 1.25 s, count: 20 }, { tempo: 1.05 s, count: 22 }] }
";

fn squad(args: &str) -> Run {
    let run = Run::new(&format!("render monday.yaml --rate 8000 {args}")).file("monday.yaml", script(SETS));
    run.file("club/squad.yaml", ROSTER).file("club/profiles/ida.yaml", IDA)
}

/// Every file below a folder with its bytes and when it was written; notes are left out.
fn files(folder: &Path) -> BTreeMap<String, (Vec<u8>, SystemTime)> {
    let (mut folders, mut found) = (vec![folder.to_owned()], BTreeMap::new());
    while let Some(inside) = folders.pop() {
        for entry in std::fs::read_dir(inside).unwrap() {
            let path: PathBuf = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if !path.ends_with(".lengthwise-made") {
                let name = path.strip_prefix(folder).unwrap().to_str().unwrap().to_owned();
                found.insert(name, (std::fs::read(&path).unwrap(), path.metadata().unwrap().modified().unwrap()));
            }
        }
    }
    found
}

/// (made, unchanged, failed)
fn counts(ran: &Ran) -> [u64; 3] {
    let json = ran.json();
    ["made", "unchanged", "failed"].map(|key| json[key].as_u64().unwrap())
}

fn states(json: &Value) -> Vec<(&str, &str)> {
    let word = |line: &'_ Value, key: &str| -> &'static str { String::leak(line[key].as_str().unwrap().to_owned()) };
    json["practices"].as_array().unwrap().iter().map(|line| (word(line, "swimmer"), word(line, "state"))).collect()
}

#[test]
fn each_has_what_they_would_have_alone() {
    let ran = squad("--roster club/squad.yaml -o out").run();
    assert_eq!(names(&ran.path("out")), ["Bo Lind", "Ida Berg", "ida berg 2"]);
    assert_eq!(names(&ran.path("out/Ida Berg")), [".lengthwise-made", "monday.wav"]);
    ran.then("render monday.yaml --rate 8000 --swimmer club/profiles/ida.yaml -o alone.wav").run();
    let made = files(&ran.path("out"));
    assert!(made["Ida Berg/monday.wav"].0 == std::fs::read(ran.path("alone.wav")).unwrap());
    // Of two points in the roster becomes what a profile of them says.
    let other = IDA.replace("1.30 s, count: 18 }", "1.25 s, count: 20 }\n  - { tempo: 1.05 s, count: 22 }");
    ran.then("render monday.yaml --rate 8000 --swimmer other.yaml -o other.wav").file("other.yaml", other).run();
    assert!(made["ida berg 2/monday.wav"].0 == std::fs::read(ran.path("other.wav")).unwrap());
    assert!(ran.stdout.contains("3 made · 0 unchanged · 0 failed") && ran.stdout.contains("whistle"), "{}", ran.stdout);
}

#[test]
fn tracks_for_players_and_several_scripts_have_their_places() {
    let ran =
        squad("friday.yaml --format wav --roster club/squad.yaml --player out").file("friday.yaml", script(SETS)).run();
    assert_eq!(names(&ran.path("out/Bo Lind")), [".lengthwise-made", "friday", "monday"]);
    let tracks = ["00 Level and start.wav", "01 Easy start.wav", "02 Range.wav", "Try.m3u8"];
    assert_eq!(names(&ran.path("out/Bo Lind/monday")), tracks);
    let again = ran
        .then("render monday.yaml friday.yaml --rate 8000 --format wav --roster club/squad.yaml --player out --json");
    assert_eq!(counts(&again.run()), [0, 6, 0]);
    // One script alone: the folder itself, and what else lies in it stays.
    std::fs::write(ran.path("out/Bo Lind/notes.txt"), "mine").unwrap();
    let alone =
        ran.then("render monday.yaml --rate 8000 --format wav --roster club/squad.yaml --player out --json").run();
    assert_eq!((counts(&alone), alone.json()["other_files"].as_u64()), ([3, 0, 0], Some(24)));
    let mut there = tracks.to_vec();
    there.extend([".lengthwise-made", "friday", "monday", "notes.txt"]);
    there.sort_unstable();
    assert_eq!(names(&ran.path("out/Bo Lind")), there);
    ran.then("render monday.yaml --rate 8000 --format wav --swimmer club/profiles/ida.yaml --player alone").run();
    for track in &tracks[..3] {
        let read = |folder: &str| std::fs::read(ran.path(folder).join(track)).unwrap();
        assert!(read("out/Ida Berg") == read("alone"), "{track}");
    }
    // A track or the playlist that is gone comes again, and nothing else is touched.
    for gone in ["01 Easy start.wav", "Try.m3u8"] {
        std::fs::remove_file(ran.path("out/Ida Berg").join(gone)).unwrap();
        let again =
            ran.then("render monday.yaml --rate 8000 --format wav --roster club/squad.yaml --player out --json");
        assert_eq!(counts(&again.run()), [1, 2, 0], "{gone}");
        assert!(ran.path("out/Ida Berg").join(gone).is_file());
    }
}

#[test]
fn what_has_not_changed_is_not_made_again() {
    let args = "--roster club/squad.yaml -o out --json --captions";
    let ran = squad(args).run();
    assert_eq!(counts(&ran), [3, 0, 0]);
    let again = |args: &str| ran.then(&format!("render monday.yaml --rate 8000 {args}"));
    let first = files(&ran.path("out"));
    assert_eq!(counts(&again(args).run()), [0, 3, 0]);
    // What a script says of nothing that is heard, and a roster of nobody's practice, changes nothing.
    let remark = script(SETS) + "# a remark\n";
    let renamed = ROSTER.replace("Tuesday lanes", "Wednesday lanes") + "  # another\n";
    assert_eq!(counts(&again(args).file("monday.yaml", remark).file("club/squad.yaml", renamed).run()), [0, 3, 0]);
    assert!(files(&ran.path("out")) == first, "nothing was written");
    // One swimmer's tempo is that swimmer's.
    let quicker = ROSTER.replace("count: 23", "count: 22");
    assert_eq!(counts(&again(args).file("club/squad.yaml", quicker).run()), [1, 2, 0]);
    let second = files(&ran.path("out"));
    for name in first.keys() {
        assert_eq!(first[name] == second[name], !name.starts_with("Bo Lind"), "{name}");
    }
    // Missing, edited, touched.
    std::fs::remove_file(ran.path("out/Ida Berg/monday.vtt")).unwrap();
    std::fs::write(ran.path("out/Bo Lind/monday.wav"), "cut short").unwrap();
    let touched = std::fs::File::options().write(true).open(ran.path("out/ida berg 2/monday.wav")).unwrap();
    touched.set_modified(SystemTime::UNIX_EPOCH).unwrap();
    assert_eq!(counts(&again(args).run()), [3, 0, 0]);
    let third = files(&ran.path("out"));
    assert!(second.iter().all(|(name, (bytes, _))| third[name].0 == *bytes));
    // Another rate, format or channel count is another file; force is everything.
    assert_eq!(counts(&again(&format!("{args} --mono")).run()), [3, 0, 0]);
    assert_eq!(counts(&again(&format!("{args} --mono")).run()), [0, 3, 0]);
    assert_eq!(counts(&again(&format!("{args} --mono --force")).run()), [3, 0, 0]);
    let flac = again(&format!("{args} --mono --format flac")).run();
    assert_eq!((counts(&flac), flac.json()["other_files"].as_u64()), ([3, 0, 0], Some(6)));
    let told = again("--roster club/squad.yaml -o out --mono --format flac --captions").run();
    assert!(told.stdout.contains("0 made · 3 unchanged") && !told.stdout.contains("To the pool"), "{}", told.stdout);
}

#[test]
fn two_halves_are_the_whole() {
    let ran = squad("--roster club/squad.yaml -o whole --captions").run();
    for half in ["1/2", "2/2"] {
        let args = format!(
            "render monday.yaml --rate 8000 --roster club/squad.yaml -o halves --captions --json --shard {half}"
        );
        let expected = if half == "1/2" { [2, 0, 0] } else { [1, 0, 0] };
        assert_eq!(counts(&ran.then(&args).run()), expected);
    }
    let bytes =
        |folder: &str| files(&ran.path(folder)).into_iter().map(|(name, (bytes, _))| (name, bytes)).collect::<Vec<_>>();
    let whole = bytes("whole");
    assert!(whole.len() == 6 && whole == bytes("halves"));
    // Whoever has left the roster is told, and stays.
    let fewer = ROSTER.lines().filter(|line| !line.contains("Bo Lind")).collect::<Vec<_>>().join("\n");
    let later = ran.then("render monday.yaml --rate 8000 --roster club/squad.yaml -o whole --captions");
    later.file("club/squad.yaml", fewer).stderr("not in this roster, left as they are: Bo Lind\n").run();
    assert!(ran.path("whole/Bo Lind/monday.wav").is_file());
}

#[test]
fn one_who_fails_stops_nobody_and_what_all_have_is_reported_once() {
    let table = "Name;Pool;Tempo (s);Count;Profile;Focus\nIda;25 m;1,30;18;;\nBo;25 m;1,30 h;21;;reach-forwrd\nCy;;;;gone.yaml;\n\
        Dag;;;;dag.yaml;\nEli;25 m;1,30;18;;\n";
    let late =
        "  - { set: Short, swim: 2 x 25 m, rest: 20 s, breathe: every 5 }\n  - { set: Send, swim: 2 x 25 m on 0:25 }\n";
    let ran = squad("--roster squad.csv -o out --json")
        .file("squad.csv", table)
        .file("dag.yaml", IDA.replace("pool: 25 m", "pool: 25"))
        .exit(1)
        .run();
    let json = ran.json();
    assert_eq!(
        states(&json),
        [("Ida", "made"), ("Bo", "failed"), ("Cy", "failed"), ("Dag", "failed"), ("Eli", "made")]
    );
    assert_eq!(names(&ran.path("out")), ["Eli", "Ida"]);
    // All that is wrong in a row comes at once, with its place.
    for told in
        ["squad.csv:3:14", "reach-forwrd", "did you mean `reach-forward`?", "squad.csv:4:7", "dag.yaml:3:7", "Dag:\n"]
    {
        assert!(ran.stderr.contains(told), "no {told} in {}", ran.stderr);
    }
    assert!(json["practices"][2]["error"].as_str().unwrap().contains("gone.yaml"), "{json}");
    // A caution for all, and an error of the script against each of them.
    let ran =
        squad("--roster squad.csv -o out").file("monday.yaml", script(late)).file("squad.csv", table).exit(1).run();
    assert_eq!(ran.stderr.matches("[breath-care]").count(), 1, "{}", ran.stderr);
    assert_eq!(ran.stderr.matches("[send-off-too-short]").count(), 1, "{}", ran.stderr);
    assert!(ran.stderr.contains("Ida, Eli:\n"), "{}", ran.stderr);
    // A script that cannot be read at all, and a roster that cannot.
    let ran = squad("--roster club/squad.yaml -o out").file("monday.yaml", script("  - { set: A }\n")).exit(1).run();
    assert_eq!((ran.stderr.matches("error[").count(), ran.stdout.contains("3 failed")), (1, true), "{}", ran.stderr);
    squad("--roster squad.csv -o out")
        .file("squad.csv", "nome;tempo\nIda;1,30\n")
        .exit(1)
        .no_stdout()
        .stderr("squad.csv:1:1")
        .run();
    squad("--roster gone.csv -o out").exit(3).no_stdout().stderr("cannot read gone.csv").run();
}

#[test]
fn files_of_others_are_kept() {
    let ran =
        squad("--roster club/squad.yaml -o out").file("out/Bo Lind/monday.wav", "mine").file("out/Ida Berg", "a file");
    let ran = ran.exit(3).stderr("1 of 3 practices are there").run();
    assert!(ran.stdout.contains("Bo Lind/monday.wav exists already"), "{}", ran.stdout);
    assert_eq!(std::fs::read(ran.path("out/Bo Lind/monday.wav")).unwrap(), b"mine");
    assert_eq!(std::fs::read(ran.path("out/Ida Berg")).unwrap(), b"a file");
    // Another script of the same name is another practice.
    let other = ran.then("render other/monday.yaml --rate 8000 --roster club/squad.yaml -o out --shard 3/3");
    other.file("other/monday.yaml", script(SETS)).exit(0).run();
}

#[test]
fn wrong_arguments_are_reported_before_anything_is_made() {
    for (args, told) in [
        ("--roster club/squad.yaml", "-o DIR"),
        ("--roster club/squad.yaml -o out --shard 0/2", "counted from 1"),
        ("--roster club/squad.yaml -o out --shard 3/2", "no part 3 of 2"),
        ("--roster club/squad.yaml -o out --shard two", "2/5"),
        ("-o out --shard 1/2", "--roster"),
        ("--roster club/squad.yaml -o out --split set", "cannot be used with"),
        ("--roster club/squad.yaml -o out --swimmer club/profiles/ida.yaml", "cannot be used with"),
        ("--roster club/squad.yaml -o out --captions=a.vtt", "--captions alone"),
        ("--roster club/squad.yaml -o out --for player", "--player DIR"),
        ("--roster club/squad.yaml -o out --quality 128", "loses nothing"),
        ("club/monday.yaml --roster club/squad.yaml -o out", "two scripts are called monday"),
    ] {
        let run = squad(args).file("club/monday.yaml", script(SETS));
        let ran = run.exit(2).no_stdout().stderr(told).run();
        assert!(!ran.path("out").exists(), "{args}");
    }
}

const OWN: &str = "lengthwise-pack: 1\ntitle: Bo's\nlanguage: en-GB\nspeaker: { voice: Mara Quist, made-with: a phone, agreed: yes }\n\
    licence: MIT\nphrases:\n  soft-hand: { full: soft hand }\n  long-arm: { full: long arm }\n  long-leg: { full: long leg, short: leg }\n\
    names: { bo: Bo, ida: Ida Berg, cy: Cy }\n";

#[test]
fn own_voice_own_focus_and_own_name_are_heard() {
    let roster = ROSTER.replace("focus: [reach-forward]", "voice: own, focus: [long-arm, long-leg]");
    let run = squad("--roster club/squad.yaml -o out --captions").file("club/squad.yaml", roster);
    let run = run.file("club/own/pack.yaml", OWN).file("club/own/clips/phrases/long-arm.wav", wav(24_000, 200.0));
    let ran = run.file("club/own/clips/names/bo.wav", wav(24_000, 200.0)).run();
    let words = |name: &str| {
        let text = std::fs::read_to_string(ran.path("out").join(name).join("monday.vtt")).unwrap();
        text.split("\n\n").skip(2).map(|cue| cue.lines().nth(1).unwrap().to_owned()).collect::<Vec<_>>()
    };
    let (bo, ida) = (words("Bo Lind"), words("Ida Berg"));
    assert_eq!(bo[0], "Bo", "{bo:?}");
    assert!(ida[0].contains("taff"), "no name where none is recorded: {ida:?}");
    let heard = |words: &[String], text: &str| words.iter().any(|word| word.starts_with(text));
    for (text, own) in
        [("long arm", true), ("long leg", true), ("head still", false), ("soft hand", false), ("look down", false)]
    {
        assert_eq!(heard(&bo, text), own, "{text}: {bo:?}");
        assert!(!own || !heard(&ida, text), "{text}: {ida:?}");
    }
    assert!(heard(&ida, "soft hand") && heard(&ida, "look down"), "{ida:?}");
    // The name comes first on a player too, and a profile's name is as good as a roster's.
    let profile = IDA.replace("Ida Berg", "BO LIND");
    let track = ran
        .then("check monday.yaml --for player --timeline --voice-from club/own --swimmer bo.yaml")
        .file("bo.yaml", profile)
        .run();
    let first = track.stdout.lines().nth(1).unwrap().split('\t').skip(2).collect::<Vec<_>>();
    assert_eq!(first, ["say", "name-bo", "Bo"], "{}", track.stdout);
    // A recording that changes is another practice, of those who hear it.
    let mut louder = wav(24_000, 200.0);
    *louder.last_mut().unwrap() ^= 1;
    let again = ran.then("render monday.yaml --rate 8000 --roster club/squad.yaml -o out --captions --json");
    assert_eq!(counts(&again.file("club/own/clips/names/bo.wav", louder).run()), [1, 2, 0]);
    // What nobody has is told where the roster says it.
    let roster = ROSTER.replace("focus: [reach-forward]", "voice: owm, focus: [short-arm]");
    let again = ran.then("render monday.yaml --rate 8000 --roster club/squad.yaml -o out --captions --json");
    let ran = again.file("club/squad.yaml", roster).exit(1).run();
    for told in ["unknown focus phrase `short-arm`", "there is no pack `owm`", "club/squad.yaml:6:"] {
        assert!(ran.stderr.contains(told), "no {told} in {}", ran.stderr);
    }
    assert_eq!(counts(&ran), [0, 2, 1]);
}
