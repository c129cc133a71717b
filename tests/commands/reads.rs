//! What is read is a file, and no larger than makes sense; lines that are typed are short and text. Nothing waits for ever.

#![cfg(unix)]

use crate::honest::manifest;
use crate::material::script;
use crate::run::Run;
use std::io::Write;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Long for any of these, short for somebody who waits.
const PATIENCE: Duration = Duration::from_secs(60);

fn practice() -> String {
    script("  - { set: One, swim: 2 x 25 m, rest: 20 s, effort: easy }\n")
}

/// The end of a program, which must come.
fn ended(run: Run, mut child: Child) -> String {
    let begun = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if begun.elapsed() > PATIENCE {
            child.kill().unwrap();
            panic!("it waits for ever");
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    run.judge(child.wait_with_output().unwrap()).stderr
}

fn started(run: &Run) -> Child {
    run.command().stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
}

fn pipe(path: &Path) {
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    let _ = std::fs::remove_file(path);
    assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
}

#[test]
fn a_pipe_or_a_device_is_refused_where_a_file_is_read() {
    for (args, exit) in [
        ("check INPUT", 3),
        ("check a.yaml --swimmer INPUT", 3),
        ("render a.yaml --roster INPUT -o out", 3),
        ("play a.yaml --replay INPUT", 3),
        ("pack open INPUT", 3),
    ] {
        for (input, said) in [("pipe", "it is a pipe"), ("/dev/zero", "it is a device"), ("folder", "it is a folder")] {
            let run = Run::new(&args.replace("INPUT", input)).file("a.yaml", practice()).exit(exit).stderr(said);
            let here = run.command().get_current_dir().unwrap().to_owned();
            pipe(&here.join("pipe"));
            std::fs::create_dir(here.join("folder")).unwrap();
            let child = started(&run);
            ended(run, child);
        }
    }
}

#[test]
fn pipes_and_devices_in_a_pack_are_told() {
    for name in ["pack.yaml", "clips/phrases/look-down.wav"] {
        for device in [false, true] {
            let run = Run::new("check first-lengths/level-body --packs . --voice-from lane --no-speech");
            let run = run.file("lane/pack.yaml", manifest(1));
            let path = run.command().get_current_dir().unwrap().join("lane").join(name);
            pipe(&path);
            if device {
                std::fs::remove_file(&path).unwrap();
                std::os::unix::fs::symlink("/dev/zero", &path).unwrap();
            }
            // A pipe is no recording; a link that leads out of the pack is told, and as if it were not there.
            let run = match (name, device) {
                ("pack.yaml", _) => run.exit(1),
                (_, true) => run.stderr("is a link out of the pack's folder"),
                (_, false) => run,
            };
            let child = started(&run);
            ended(run, child);
        }
    }
}

#[test]
fn an_output_that_is_a_pipe_is_refused_without_waiting() {
    for args in
        ["render a.yaml --no-speech -o pipe --format wav", "render a.yaml --no-speech -o pipe --format wav --force"]
    {
        let run = Run::new(args).file("a.yaml", practice()).exit(3).stderr("pipe");
        pipe(&run.command().get_current_dir().unwrap().join("pipe"));
        let child = started(&run);
        ended(run, child);
    }
}

#[test]
fn what_is_too_large_is_refused() {
    let much = vec![b'#'; (1 << 20) + 1];
    Run::new("check a.yaml").file("a.yaml", &much).exit(3).stderr("larger than 1 MiB").run();
    let run =
        Run::new("play a.yaml --replay record.jsonl").file("a.yaml", practice()).exit(3).stderr("larger than 64 MiB");
    let path = run.command().get_current_dir().unwrap().join("record.jsonl");
    // Without a byte on the disk.
    std::fs::File::create(path).unwrap().set_len((64 << 20) + 1).unwrap();
    run.run();
}

#[test]
fn a_dry_run_says_which_line_is_no_text() {
    let run = Run::new("play a.yaml --dry-run --no-speech").file("a.yaml", practice()).exit(2).stderr("line 2");
    let mut child = run.command().stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(b"0:01 louder\n0:02 \xff\xfe\n0:03 softer\n").unwrap();
    ended(run, child);
}
