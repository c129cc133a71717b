//! `record` before a microphone is asked for: which texts, whose voice, and what is said where it cannot go on. Through a
//! microphone it is tested in tests/device.rs.

use crate::run::Run;
use crate::zip::wav;
use std::io::Write;
use std::process::Stdio;

const MANIFEST: &str = "lengthwise-pack: 1\ntitle: Mara's words\nlanguage: en-GB\nlicence: for the squad\nuses: [first-lengths]\n\
    speaker: { voice: Mara Quist, made-with: a headset, agreed: she said yes on 3 May }\nphrases:\n  \
    tall-spine: { full: tall spine in the water, short: tall }\n  \
    wide-hands: { full: \"hands wide, soft hands\", short: hands wide }\n  \
    not-yet: { full: for another day }\nsays:\n  hello: Good to see you\ntitles:\n  easy: Easy start\n";

/// It uses a phrase, a greeting and a title of the pack, a phrase of another pack, and a title that is in none.
const SCRIPT: &str = "lengthwise: 1\ntitle: Own words\npool: 25 m\npractice:\n  - say: hello\n  \
    - { set: Easy start, swim: 4 x 50 m, rest: 20 s, focus: { phrases: [tall-spine, soft-hand], change: length } }\n  \
    - { set: Something else, swim: 2 x 25 m, rest: 20 s }\n";

fn pack(args: &str) -> Run {
    Run::new(args).file("mara/pack.yaml", MANIFEST).file("mara/own.yaml", SCRIPT)
}

fn listed(args: &str) -> Vec<String> {
    let ran = pack(args).file("mara/clips/titles/easy.wav", wav(24_000, 200.0)).run();
    ran.stdout.lines().map(|line| line.split('\t').take(2).collect::<Vec<_>>().join(" ")).collect()
}

#[test]
fn what_the_scripts_use_and_nobody_has_recorded_is_asked_for() {
    assert_eq!(
        listed("record mara --list"),
        ["phrases/tall-spine to record", "phrases/tall-spine.short to record", "says/hello to record"]
    );
    assert_eq!(
        listed("record mara --list --again").last().map(String::as_str),
        Some("titles/easy recorded"),
        "what has a recording too"
    );
    let all = listed("record mara --list --all");
    assert!(all.len() == 6 && all.contains(&"phrases/not-yet to record".to_owned()), "{all:?}");
    assert_eq!(listed("record mara --list --all --again").len(), 7);
    assert_eq!(
        listed("record mara --list --only wide-hands.short,easy"),
        ["phrases/wide-hands.short to record", "titles/easy recorded"]
    );
    assert_eq!(listed("record mara --list --only wide-hands").len(), 2);
    // What is in no manifest cannot be asked for, and is told.
    pack("record mara --list").stderr("not in pack.yaml, so it is not asked for: \"Something else\"").run();
}

#[test]
fn a_pack_is_found_by_its_name_too() {
    let run = Run::new("record mara --list --all").file(".local/share/lengthwise/packs/mara/pack.yaml", MANIFEST);
    assert_eq!(run.run().stdout.lines().count(), 7);
}

#[test]
fn what_is_in_the_way_is_said_with_a_way_out() {
    pack("record nobody").exit(2).stderr("there is no pack `nobody`").stderr("lengthwise pack new nobody").run();
    pack("record first-lengths")
        .exit(2)
        .stderr("cannot be recorded into")
        .stderr("pack new my-voice --texts-of first-lengths")
        .run();
    pack("record mara --only tall-spin").exit(2).stderr("has the id `tall-spin`; did you mean `tall-spine`?").run();
    let broken = MANIFEST.replace("licence: for the squad\n", "");
    pack("record mara").file("mara/pack.yaml", broken).exit(1).stderr("error[missing-key]").run();
    // A recording that cannot be used is asked for again.
    let broken = pack("record mara --list --only easy").file("mara/clips/titles/easy.wav", "no sound");
    broken.stdout("titles/easy\tto record").stderr("caution[recording-unread]").run();
    // A script that cannot be read does not hide what the others use.
    let ran = pack("record mara --list").file("mara/wrong.yaml", "lengthwise: 1\ntitle: No\npool: 25\n").run();
    assert!(ran.stderr.contains("wrong.yaml") && ran.stdout.lines().count() == 4, "{}{}", ran.stdout, ran.stderr);
}

#[test]
fn nobody_is_recorded_without_their_word() {
    let with = |from, to| pack("record mara --no-screen").file("mara/pack.yaml", MANIFEST.replace(from, to));
    let synthetic = with("voice: Mara Quist", "voice: synthetic").exit(2).no_stdout();
    let ran = synthetic.stderr("does not say whose voice is recorded").run();
    assert!(ran.stderr.contains("guardian"), "{}", ran.stderr);
    with("agreed: she said yes on 3 May", "agreed: no").exit(2).stderr("does not say whose").run();
    with("agreed: she said yes on 3 May", "agreed: \"  \"")
        .exit(1)
        .stderr("`agreed` is given no value")
        .no_stdout()
        .run();
}

#[test]
fn without_a_microphone_it_ends_and_says_so() {
    let run = pack("record mara --no-screen").env("PULSE_SERVER", "unix:/nowhere").env("ALSA_CONFIG_PATH", "/dev/null");
    let ran = run.exit(3).stderr("microphone").run();
    assert_eq!(ran.files(), ["mara"]);
}

#[test]
fn what_is_complete_needs_no_microphone() {
    let ran = pack("record mara --no-screen")
        .file("mara/own.yaml", "lengthwise: 1\ntitle: T\npool: 25 m\npractice: [{ set: Easy start, swim: 25 m }]\n");
    ran.file("mara/clips/titles/easy.wav", wav(24_000, 200.0))
        .stderr("every text that the pack's scripts use has a recording")
        .run();
}

/// What a telephone recorded: clips of a pack with silence between them, in a WAV.
fn reading(ids: &[&str]) -> Vec<u8> {
    let mut samples = vec![0_i16; 12_000];
    for id in ids {
        let path = format!("{}/cue-packs/first-lengths/clips/phrases/{id}.ogg", env!("CARGO_MANIFEST_DIR"));
        let pcm = lengthwise::audio::clip::decode(&std::fs::read(path).unwrap()).unwrap();
        assert_eq!(pcm.rate, 24_000);
        samples.extend(pcm.samples);
        samples.extend([0_i16; 36_000]);
    }
    crate::material::wav(24_000, samples)
}

/// Runs it with lines on standard input.
fn told(run: Run, lines: &str) -> crate::run::Ran {
    let mut child = run.command().stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(lines.as_bytes()).unwrap();
    run.judge(child.wait_with_output().unwrap())
}

#[test]
fn a_reading_becomes_recordings_line_by_line() {
    let manifest = "lengthwise-pack: 1\ntitle: Mara's words\nlanguage: en-GB\nlicence: for the squad\n\
        speaker: { voice: Mara Quist, made-with: a telephone, agreed: she said yes on 3 May }\nphrases:\n  \
        look: { full: look down at the tiles }\n  back: { full: push back }\n  soft: { full: soft hand }\n";
    let take = reading(&["look-down", "push-back.short", "soft-hand"]);
    let sheet =
        Run::new("pack sheet mara --all --width 30").file("mara/pack.yaml", manifest).file("t.wav", &take).run();
    assert!(
        sheet.stdout.contains("\n1.  look down at the tiles\n\n2.  push back\n\n3.  soft hand\n"),
        "{}",
        sheet.stdout
    );
    let json = sheet.then("pack sheet mara --all --json").run().json();
    assert_eq!((&json["texts"][1]["id"], &json["texts"][2]["number"]), (&"back".into(), &3.into()));

    let from = "record mara --all --from t.wav --no-playback";
    let first = told(sheet.then(from), "\nmaybe\nquit\n");
    assert!(
        first.stderr.contains("3 of 3 texts found") && first.stderr.contains("1 kept, 2 of the list"),
        "{}",
        first.stderr
    );
    assert!(
        first.stdout.contains("1 of 3: 0:00.5, ") && first.stdout.contains("`maybe` is no answer"),
        "{}",
        first.stdout
    );
    // The same command goes on where it was; with the input at its end nothing more is kept.
    let second = told(sheet.then(from), "\n");
    assert!(second.stderr.contains("1 of its texts are in the pack already"), "{}", second.stderr);
    assert!(
        second.stdout.contains("kept: clips/phrases/back.wav") && !second.stdout.contains("look.wav"),
        "{}",
        second.stdout
    );
    let third = told(sheet.then(&format!("{from} --yes")), "");
    assert!(third.stdout.contains("kept: clips/phrases/soft.wav"), "{}{}", third.stdout, third.stderr);
    assert_eq!(std::fs::read(sheet.path("t.wav")).unwrap(), take, "the file is not changed");
    assert!(told(sheet.then(from), "").stderr.contains("every text of the pack has a recording"));

    sheet.then("record mara --all --again --from pack.m4a").exit(3).stderr("pack.m4a cannot be read").run();
    let none = sheet.then("record mara --all --again --from note.m4a").file("note.m4a", "no sound");
    none.exit(3).stderr("note.m4a is none of what is read").run();
    let own = sheet.then("record mara --all --again --from mara/clips/phrases/soft.wav");
    own.exit(2).stderr("is a recording of the pack; move it out").run();
    sheet.then("record mara --all --yes").exit(2).stderr("--from").run();
}
