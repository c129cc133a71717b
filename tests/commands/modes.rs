//! Who may read what the program writes: as the umask says for what is made to be shared, this user alone for what tells about
//! somebody, and what was there keeps its mode.

#![cfg(unix)]

use crate::honest::manifest;
use crate::material::script;
use crate::run::{Ran, Run};
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::process::{Command, Stdio};

/// Names of what a run writes, each with its two modes.
type Written = &'static [(&'static str, u32, u32)];

/// What is run, what it writes, and the modes under the umasks 022 and 077.
const TABLE: &[(&str, Written)] = &[
    ("new b.yaml", &[("b.yaml", 0o644, 0o600)]),
    ("render a.yaml --rate 8000 -o out.wav --captions", &[("out.wav", 0o644, 0o600), ("out.vtt", 0o644, 0o600)]),
    ("render a.yaml --rate 8000 -o out.flac", &[("out.flac", 0o644, 0o600)]),
    (
        "render a.yaml --rate 8000 --format wav --player tracks",
        &[("tracks", 0o755, 0o700), ("tracks/01 One.wav", 0o644, 0o600), ("tracks/Try.m3u8", 0o644, 0o600)],
    ),
    ("render a.yaml --rate 8000 --split set -o parts", &[("parts", 0o755, 0o700), ("parts/01 One.wav", 0o644, 0o600)]),
    (
        "render a.yaml --rate 8000 --roster roster.yaml -o squad",
        &[
            ("squad", 0o700, 0o700),
            ("squad/Ida", 0o700, 0o700),
            ("squad/Ida/a.wav", 0o644, 0o600),
            ("squad/Ida/.lengthwise-made", 0o600, 0o600),
        ],
    ),
    (
        "render a.yaml --rate 8000 --format wav --roster roster.yaml --player players",
        &[("players", 0o700, 0o700), ("players/Ida/.lengthwise-made", 0o600, 0o600)],
    ),
    ("play a.yaml --dry-run --rate 8000 --record session.jsonl", &[("session.jsonl", 0o600, 0o600)]),
    ("pack bundle mara", &[("mara-v1.zip", 0o644, 0o600)]),
    ("pack open mara-v1.zip --into packs", &[("packs/mara", 0o755, 0o700), ("packs/mara/pack.yaml", 0o644, 0o600)]),
];

const ROSTER: &str = "lengthwise-roster: 1\ntitle: Lanes\npool: 25 m\nswimmers:\n  \
                      - { name: Ida, stroke: [{ tempo: 1.30 s, count: 18 }] }\n";

fn mode(ran: &Ran, name: &str) -> u32 {
    std::fs::metadata(ran.path(name)).unwrap_or_else(|error| panic!("{name}: {error}")).permissions().mode() & 0o7777
}

/// Runs under a umask.
fn masked(run: Run, mask: &str) -> Ran {
    let plain = run.command();
    let mut masked = Command::new("sh");
    masked.args(["-c", &format!("umask {mask}; exec \"$0\" \"$@\"")]).arg(plain.get_program()).args(plain.get_args());
    masked.current_dir(plain.get_current_dir().unwrap()).env_clear().stdin(Stdio::null());
    masked.envs(plain.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let output = masked.output().unwrap();
    run.judge(output)
}

fn begun() -> Ran {
    let practice = script("  - { set: One, swim: 25 m, effort: easy }\n");
    let run = Run::new("check a.yaml --no-speech").file("a.yaml", practice).file("roster.yaml", ROSTER);
    run.file("mara/pack.yaml", manifest(1)).file("packs/mine.txt", "mine").run()
}

#[test]
fn modes_by_umask() {
    for (mask, of) in [("022", 0), ("077", 1)] {
        let ran = begun();
        for (args, written) in TABLE {
            masked(ran.then(args), mask);
            for (name, usual, strict) in *written {
                assert_eq!(mode(&ran, name), [*usual, *strict][of], "`{args}` under {mask}: {name}");
            }
        }
        if cfg!(feature = "speech") {
            let cache = ran.path(".cache/lengthwise/speech");
            let entries =
                std::fs::read_dir(&cache).unwrap().map(|entry| entry.unwrap().metadata().unwrap().mode() & 0o777);
            assert!(entries.inspect(|mode| assert_eq!(*mode, 0o600)).count() > 0, "nothing was spoken");
            assert_eq!(mode(&ran, ".cache/lengthwise/speech"), 0o700);
        }
    }
}

#[test]
fn what_is_there_keeps_its_mode() {
    let ran = begun();
    let all = TABLE.iter().filter(|(args, _)| args.starts_with("render"));
    let set = |name: &str, mode: u32| {
        std::fs::set_permissions(ran.path(name), std::fs::Permissions::from_mode(mode)).unwrap();
    };
    for (args, written) in all {
        masked(ran.then(args), "022");
        let odd = |name: &str| if ran.path(name).is_dir() { 0o751 } else { 0o604 };
        written.iter().for_each(|(name, ..)| set(name, odd(name)));
        masked(ran.then(&format!("{args} --force")), "077");
        for (name, ..) in *written {
            assert_eq!(mode(&ran, name), odd(name), "`{args}`: {name}");
        }
    }
}

/// An owner can be kept by root alone, who runs the tests in containers.
#[test]
fn what_is_there_keeps_its_owner() {
    let ran = begun();
    let args = "render a.yaml --rate 8000 --no-speech --format wav --player tracks";
    ran.then(args).run();
    ran.then("render a.yaml --rate 8000 --no-speech -o out.wav").run();
    let owned = ["tracks", "tracks/01 One.wav", "out.wav"];
    if owned.iter().any(|name| std::os::unix::fs::chown(ran.path(name), Some(1234), Some(1234)).is_err()) {
        return;
    }
    ran.then(args).run();
    ran.then("render a.yaml --rate 8000 --no-speech -o out.wav").run();
    for name in owned {
        let found = std::fs::metadata(ran.path(name)).unwrap();
        assert_eq!((found.uid(), found.gid()), (1234, 1234), "{name}");
    }
}
