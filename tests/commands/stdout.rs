//! Standard output and what else was promised: sound goes there as into a file, and what could not be written is a failure.

#![cfg(target_os = "linux")]

use crate::material::script;
use crate::run::Run;
use std::process::{Command, Stdio};

#[test]
fn what_cannot_be_written_is_a_failure() {
    let full = || std::fs::File::options().write(true).open("/dev/full").unwrap();
    for args in ["--help", "--version", "render --help", "check first-lengths/level-body", "new -", "man"] {
        let run = Run::new(args).exit(3).stderr("cannot write the output");
        let output = run.command().stdout(full()).output().unwrap();
        run.judge(output);
    }
}

#[test]
fn a_record_that_is_not_whole_is_a_failure() {
    // The shell's blocks have 512 or 1024 bytes: room for the first line, and not for the rest.
    for (blocks, said) in
        [("1", "the session record is not whole"), ("0", "cannot begin the session record: rec.jsonl")]
    {
        let practice = script("  - { set: Many, swim: 12 x 25 m on 1:00, effort: easy }\n");
        let run = Run::new("play a.yaml --dry-run --no-speech --rate 8000 --record rec.jsonl").file("a.yaml", practice);
        let plain = run.command();
        let mut limited = Command::new("sh");
        limited.args(["-c", &format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"")]).arg(plain.get_program());
        limited.args(plain.get_args()).current_dir(plain.get_current_dir().unwrap()).stdin(Stdio::null());
        let run = if blocks == "1" { run.stdout("the session record is no longer written") } else { run };
        let ran = run.exit(3).stderr(said).judge(limited.output().unwrap());
        assert_eq!(ran.path("rec.jsonl").exists(), blocks == "1", "one without a line is nobody's");
    }
}

#[test]
fn sound_goes_to_standard_output_as_into_a_file() {
    let practice = script("  - { set: One, swim: 25 m, effort: easy }\n");
    let ran = Run::new("render a.yaml --no-speech --rate 8000 -o a.wav").file("a.yaml", practice).run();
    ran.then("render a.yaml --no-speech --rate 8000 -o a.flac").run();
    let mut formats = vec![("wav", ""), ("flac", " --format flac")];
    if cfg!(feature = "mp3") {
        ran.then("render a.yaml --no-speech --rate 8000 -o a.mp3").run();
        formats.push(("mp3", " --format mp3"));
    }
    for (extension, format) in formats {
        for name in ["-", "/dev/stdout"] {
            let args = format!("render a.yaml --no-speech --rate 8000 -o {name}{format}");
            let output = ran.then(&args).command().output().unwrap();
            let said = String::from_utf8(output.stderr).unwrap();
            assert!(output.status.success() && said.contains("LUFS"), "{args}: {said}");
            assert!(output.stdout == std::fs::read(ran.path(&format!("a.{extension}"))).unwrap(), "{args}");
        }
    }
    // A reader that goes away, and a disk that is full.
    let to = |program: &str, out: Stdio| {
        let run = ran.then("render a.yaml --no-speech --rate 8000 -o -");
        let plain = run.command();
        let mut shell = Command::new("sh");
        shell.args(["-c", program]).arg(plain.get_program()).args(plain.get_args()).stdout(out);
        shell.current_dir(plain.get_current_dir().unwrap()).output().unwrap()
    };
    let output = to("{ \"$0\" \"$@\"; echo $? > code; } | head -c 9", Stdio::piped());
    assert_eq!(output.stdout.len(), 9);
    assert_eq!(std::fs::read_to_string(ran.path("code")).unwrap().trim(), "0");
    let full = std::fs::File::options().write(true).open("/dev/full").unwrap();
    let output = to("exec \"$0\" \"$@\"", full.into());
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.code() == Some(3) && said.contains("cannot write to standard output"), "{said}");
    for args in ["a.yaml a.yaml -o -", "a.yaml --split set -o -", "a.yaml -o - --captions"] {
        ran.then(&format!("render {args}")).exit(2).stderr("standard output").run();
    }
    assert!(!ran.path("-").exists());
}
