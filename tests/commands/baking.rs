//! `pack speak`: which texts, what is asked of the script, and what is told when Python, its packages or the voice are missing.
//! The script's part is played by a shell script; with the real voice it was tried by hand.
#![cfg(unix)]

use crate::material::{names, wav};
use crate::run::Run;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use tempfile::TempDir;

fn manifest(voice: &str) -> String {
    format!(
        "lengthwise-pack: 1\ntitle: Mine\nlanguage: en-GB\nspeaker: {{ voice: {voice}, made-with: x, agreed: x }}\nlicence: MIT\n\
         phrases:\n  float: {{ full: float like a leaf, short: float }}\n  tall: {{ full: tall in the water, short: tall }}\n"
    )
}

/// A pack with one recording of its own and three texts without.
fn pack(args: &str, voice: &str) -> Run {
    let tone = wav(8_000, (0..8_000).map(|n| if n % 16 < 8 { 6_000 } else { -6_000 }));
    Run::new(args).file("mine/pack.yaml", manifest(voice)).file("mine/clips/phrases/tall.wav", tone)
}

/// Something to start in the place of Python, and the sound that it says everything with.
fn python(body: &str) -> TempDir {
    let place = tempfile::tempdir().unwrap();
    let (file, sound) = (place.path().join("python"), place.path().join("sound"));
    fs::write(&sound, wav(8_000, (0..4_000).map(|n| if n % 16 < 8 { 6_000 } else { -6_000 }))).unwrap();
    fs::write(&file, format!("#!/bin/sh\nsound='{}'\n{body}\n", sound.display())).unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o755)).unwrap();
    place
}

fn with(python: &TempDir, more: &str) -> String {
    let place = python.path().display();
    format!("pack speak mine --all --tools {place} --python {place}/python {more}")
}

#[test]
fn what_would_be_spoken_is_listed_without_any_python() {
    let list = "clips/phrases/float.flac\tfloat like a leaf\nclips/phrases/float.short.flac\tfloat\n\
                clips/phrases/tall.short.flac\ttall\n";
    let ran = pack("pack speak mine --all --list --python /nowhere", "synthetic").run();
    assert_eq!(ran.stdout, list);
    let ran = pack("pack speak mine --only tall --list", "synthetic").run();
    assert!(ran.stdout.starts_with("clips/phrases/tall.flac\ttall in the water\n"), "{}", ran.stdout);
    pack("pack speak mine --only tal --list", "synthetic").exit(2).stderr("did you mean `tall`?").run();
}

#[test]
fn each_text_becomes_a_recording_of_the_pack() {
    // It writes down what it was given and answers as the script does.
    let python = python(
        "case \"$1\" in *make-voice.py) ;; *) exit 9 ;; esac\n[ -f \"$1\" ] && [ \"$2\" = --tools ] && [ \"$4\" = --bake ] || exit 9\n\
         n=0\nwhile read -r line; do printf '%s\\n' \"$line\" >> \"$3/asked\"; cp \"$sound\" \"$5/$n.flac\"; echo $n.flac; \
         n=$((n + 1)); done",
    );
    let ran = pack(&with(&python, ""), "synthetic").stderr("3 of 3  clips/phrases/tall.short.flac  0.5 s").run();
    assert_eq!(fs::read_to_string(python.path().join("asked")).unwrap(), "0\tfloat like a leaf\n1\tfloat\n1\ttall\n");
    for name in ["float.flac", "float.short.flac", "tall.short.flac", "tall.wav"] {
        assert!(ran.path("mine/clips/phrases").join(name).is_file(), "{name}");
    }
    // Nothing else is left in the pack, and there is nothing more to do.
    assert_eq!(names(&ran.path("mine")), ["clips", "pack.yaml"]);
    ran.then(&with(&python, "")).stderr("every text of the pack has a recording").run();
    ran.then("pack show mine").stdout("float like a leaf").run();
}

#[test]
fn what_is_missing_is_told_with_what_to_do() {
    let mine = |args: &str| pack(args, "synthetic");
    mine("pack speak mine --all").exit(2).stderr("--tools DIR is needed").stderr("--list").run();
    mine("pack speak mine --all --tools . --python /nowhere/python")
        .exit(3)
        .stderr("cannot start `/nowhere/python`")
        .stderr("--python")
        .run();
    // As the script says that a package is missing.
    let without = python("cat > /dev/null\necho \"No module named 'onnxruntime'; install, once: ...\" >&2\nexit 1");
    mine(&with(&without, ""))
        .exit(3)
        .stderr("3 texts are not spoken")
        .stderr("No module named 'onnxruntime'; install")
        .run();
    // What was spoken before it failed stays.
    let half = python("read -r line\ncp \"$sound\" \"$5/0.flac\"\necho 0.flac\necho 'out of memory' >&2\nexit 1");
    let ran = mine(&with(&half, "")).exit(3).stderr("2 texts are not spoken").stderr("out of memory").run();
    assert!(ran.path("mine/clips/phrases/float.flac").is_file());
    // Something that is no sound never takes the place of a recording.
    let wrong = python("read -r line\necho words > \"$5/0.flac\"\necho 0.flac");
    let ran = mine(&with(&wrong, "")).exit(3).stderr("what was made for \"float like a leaf\" cannot be used").run();
    assert!(!ran.path("mine/clips/phrases/float.flac").exists());
}

#[test]
fn nobody_gets_words_put_into_their_mouth() {
    let python = python("exit 1");
    pack(&with(&python, ""), "Mara").exit(2).stderr("this pack is the voice of Mara").run();
    Run::new("pack speak first-lengths --only reach-forward --tools .").exit(2).stderr("comes with the program").run();
}
