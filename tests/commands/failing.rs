//! Where the world fails: full disks, folders that nobody may write to, others at the same work. What is said names what was
//! asked for, and nothing is left behind.

#![cfg(target_os = "linux")]

use crate::material::script;
use crate::run::Run;
use crate::zip::pack;
use std::os::unix::fs::PermissionsExt;
use std::process::{Command, Output, Stdio};

fn practice() -> String {
    script("  - { set: One, swim: 25 m, effort: easy }\n")
}

/// A run by a shell that does something first.
fn after(first: &str, run: &Run) -> Output {
    let plain = run.command();
    let mut shell = Command::new("sh");
    shell.args(["-c", &format!("{first} \"$0\" \"$@\"")]).arg(plain.get_program()).args(plain.get_args()).env_clear();
    shell.envs(plain.get_envs().filter_map(|(name, value)| Some((name, value?))));
    shell.current_dir(plain.get_current_dir().unwrap()).output().unwrap()
}

/// Nothing can be written.
const FULL: &str = "trap '' XFSZ; ulimit -f 0; exec";

#[test]
fn a_full_disk_leaves_no_empty_folders() {
    let roster = "lengthwise-roster: 1\ntitle: Lanes\npool: 25 m\nswimmers:\n  \
                  - { name: Ida, stroke: [{ tempo: 1.30 s, count: 18 }] }\n";
    for args in [
        "render a.yaml b.yaml -o out",
        "render a.yaml --roster roster.yaml -o deep/out",
        "render a.yaml --roster roster.yaml --format wav --player deep/out",
        "render a.yaml --format wav --player out",
        "render a.yaml --split set -o out",
    ] {
        let run = Run::new(&format!("{args} --rate 8000 --no-speech")).file("a.yaml", practice());
        let run = run.file("b.yaml", practice()).file("roster.yaml", roster).exit(3);
        let output = after(FULL, &run);
        let ran = run.judge(output);
        assert!(!ran.stdout.contains("-part") && !ran.stderr.contains("-part"), "{}{}", ran.stdout, ran.stderr);
        assert_eq!(ran.files(), ["a.yaml", "b.yaml", "roster.yaml"], "{args}");
    }
}

fn bundle() -> Vec<u8> {
    pack("lane-three", &crate::honest::files(1)).bytes()
}

#[test]
fn a_bundle_on_a_full_disk_is_told_by_its_place() {
    let run = Run::new("pack open sent.zip").file("sent.zip", bundle()).exit(3).stderr("packs/lane-three/");
    let output = after(FULL, &run);
    let ran = run.judge(output);
    assert!(!ran.stderr.contains("-part"), "{}", ran.stderr);
    assert_eq!(ran.files(), ["sent.zip"]);
}

#[test]
fn of_two_who_open_one_bundle_the_later_is_told() {
    let run = Run::new("pack open sent.zip --into packs").file("sent.zip", bundle()).file("packs/mine.txt", "mine");
    let plain = run.command();
    // The first one waits before its first rename.
    let mut first = Command::new("strace");
    first.args([
        "-f",
        "-qqq",
        "-o",
        "/dev/null",
        "-e",
        "trace=rename",
        "-e",
        "inject=rename:delay_enter=3000000:when=1",
    ]);
    first.arg(plain.get_program()).args(plain.get_args()).current_dir(plain.get_current_dir().unwrap());
    let Ok(first) = first.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn() else {
        assert!(std::env::var_os("CI").is_none(), "strace is missing");
        eprintln!("skipped: strace is missing");
        return;
    };
    let packs = plain.get_current_dir().unwrap().join("packs");
    while std::fs::read_dir(&packs).unwrap().count() < 2 {
        std::thread::yield_now();
    }
    // Until it has looked and unpacked.
    std::thread::sleep(std::time::Duration::from_secs(1));
    let second = run.run();
    let output = first.wait_with_output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.code() == Some(3) && said.contains("appeared while the bundle was checked"), "{said}");
    assert!(!said.contains("-part"), "{said}");
    second.then("pack open sent.zip --into packs").stdout("is there already, the same").run();
}

#[test]
fn a_folder_that_nobody_may_use_is_not_said_to_hold_something() {
    for mode in [0o000, 0o555] {
        let run =
            Run::new("render a.yaml --rate 8000 --no-speech -o closed/out.wav").file("a.yaml", practice()).exit(3);
        let folder = run.command().get_current_dir().unwrap().to_owned();
        std::fs::create_dir(folder.join("closed")).unwrap();
        let set = |path, mode| std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
        set(folder.join("closed"), mode);
        set(folder.clone(), 0o755);
        // Root may do everything; nobody may not.
        let root = Command::new("id").arg("-u").output().unwrap().stdout == b"0\n";
        let output = after(if root { "exec setpriv --reuid=65534 --regid=65534 --clear-groups" } else { "exec" }, &run);
        let ran =
            run.stderr("cannot create closed/out.wav: ").stderr("choose a folder that you may write to").judge(output);
        assert!(!ran.stderr.contains("exists already"), "{}", ran.stderr);
        set(folder.join("closed"), 0o755);
    }
}

#[test]
fn what_cannot_be_done_is_told_before_any_work() {
    let ran =
        Run::new("render a.yaml -o a.flac --rate 192000").file("a.yaml", practice()).exit(2).stderr("96000").run();
    ran.then("pack list --packs gone").exit(3).no_stdout().stderr("cannot look into gone").run();
    assert_eq!(ran.files(), ["a.yaml"]);
}
