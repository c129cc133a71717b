//! What the program says of itself: the pages of the codes, with every example run, manual pages and completions.
//! The language reference and the schema are in `reference`.

use crate::cases::amount;
use crate::material::wav;
use lengthwise::diag::Code;
use lengthwise::diag::explain::{self, ExampleFile};
use lengthwise::prepare::{self, PracticeRequest};
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

fn program(args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lengthwise"));
    command.args(args).env("COLUMNS", "80").env_remove("NO_COLOR").output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn write_parts(folder: &Path, parts: &[ExampleFile<'_>]) {
    let put = |name: &str, bytes: &[u8]| {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    };
    for part in parts {
        match part {
            ExampleFile::Script(body) => put("script.yaml", body.as_bytes()),
            ExampleFile::File(name, body) => put(name, body.as_bytes()),
            ExampleFile::Sound(name, len) => {
                let seconds: f32 = len.strip_suffix(" s").unwrap().parse().unwrap();
                let frames = 0..(seconds * 24_000.0) as u32;
                put(name, &wav(24_000, frames.map(|frame| if frame / 30 % 2 == 0 { 4000 } else { -4000 })));
            }
        }
    }
}

#[test]
fn each_example_provokes_its_code_and_the_mended_one_nothing() {
    for code in Code::ALL {
        let page = explain::page(*code).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let found = || {
            let request = PracticeRequest { script: folder.path().join("script.yaml"), ..PracticeRequest::default() };
            prepare::plan(&request).unwrap().diagnostics
        };
        write_parts(folder.path(), &page.wrong);
        let wrong = found();
        assert!(!wrong.is_empty() && wrong.iter().all(|problem| problem.code == *code), "{}: {wrong:#?}", code.word());
        write_parts(folder.path(), &page.mended);
        assert_eq!(found(), [], "{} mended", code.word());
    }
}

#[test]
fn codes_are_explained_on_the_command_line() {
    // Each is a run of the program.
    for code in Code::ALL.iter().step_by(amount(9, 1)) {
        let output = program(&["check", "--explain", code.word()]);
        let page = text(&output.stdout);
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        assert!(page.starts_with(&format!("{}[{}]\n", code.severity().word(), code.word())), "{page}");
        assert!(page.contains("\nWhy. ") && page.contains("\nWrong") && page.contains("\nMended"), "{page}");
        let prose = page.lines().filter(|line| !line.starts_with("    "));
        assert!(prose.clone().all(|line| line.chars().count() <= 80), "{page}");
    }
    // The word as it stands in a message is taken too.
    assert_eq!(program(&["check", "--explain", "error[no-rest]:"]).status.code(), Some(0));
    let list = text(&program(&["check", "--explain"]).stdout);
    assert!(Code::ALL.iter().all(|code| list.lines().any(|line| line.starts_with(code.word()))), "{list}");
    for (word, said) in [("no-rst", "did you mean `no-rest`?"), ("zzz", "there is no code `zzz`; `lengthwise check")] {
        let unknown = program(&["check", "--explain", word]);
        assert_eq!(unknown.status.code(), Some(2));
        assert!(text(&unknown.stderr).contains(said), "{}", text(&unknown.stderr));
    }
    let neither = program(&["check"]);
    assert_eq!(neither.status.code(), Some(2));
    assert_eq!(program(&["check", "a.yaml", "--explain", "no-rest"]).status.code(), Some(2));
}

#[test]
fn help_has_examples_everywhere() {
    let top = text(&program(&["--help"]).stdout);
    let commands: Vec<_> =
        top.split("\nCommands:\n").nth(1).unwrap().lines().take_while(|line| !line.is_empty()).collect();
    assert!(commands.len() >= 5, "{top}");
    for command in commands.iter().filter(|line| line.starts_with("  ") && !line.starts_with("   ")) {
        let name = command.split_whitespace().next().unwrap();
        if name == "help" {
            continue;
        }
        let (asked, told) = (program(&["help", name]), program(&[name, "--help"]));
        assert_eq!(asked.status.code(), Some(0), "help {name}");
        assert_eq!(text(&asked.stdout), text(&told.stdout));
        assert!(text(&told.stdout).contains(&format!("Examples:\n  lengthwise {name} ")), "{}", text(&told.stdout));
    }
}

#[test]
fn manual_pages_are_typeset() {
    let folder = tempfile::tempdir().unwrap();
    let into = folder.path().join("man1");
    let output = program(&["man", into.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let listed = text(&output.stdout);
    assert!(listed.contains("lengthwise.1") && listed.contains("lengthwise-check.1"), "{listed}");
    assert_eq!(program(&["man"]).stdout, fs::read(into.join("lengthwise.1")).unwrap());
    let blocked = folder.path().join("file");
    fs::write(&blocked, "").unwrap();
    assert_eq!(program(&["man", blocked.to_str().unwrap()]).status.code(), Some(3));
    for path in listed.lines() {
        let page = fs::read_to_string(path).unwrap();
        assert!(page.contains(".SH EXAMPLES\n.nf\n  lengthwise "), "{page}");
        let Ok(set) = Command::new("groff").args(["-man", "-Tascii", "-P-cbou", "-ww", path]).output() else {
            eprintln!("skipped: there is no groff here to typeset {path}");
            continue;
        };
        assert!(set.status.success() && set.stderr.is_empty(), "{path}: {}", text(&set.stderr));
        assert!(text(&set.stdout).contains("EXAMPLES"), "{}", text(&set.stdout));
    }
}

#[test]
fn completions_are_read_by_their_shells() {
    let shells = [("bash", "bash"), ("zsh", "zsh"), ("fish", "fish"), ("elvish", "elvish"), ("powershell", "pwsh")];
    for (shell, binary) in shells {
        let script = program(&["completions", shell]);
        assert_eq!(script.status.code(), Some(0), "{shell}");
        let script = text(&script.stdout);
        assert!(["explain", "timeline", "completions"].iter().all(|word| script.contains(word)), "{shell}: {script}");
        // The others have no flag that only reads.
        if !["bash", "zsh", "fish"].contains(&shell) {
            continue;
        }
        let mut command = Command::new(binary);
        command.arg("-n").stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let Ok(mut child) = command.spawn() else {
            eprintln!("skipped: there is no {binary} here to read its completions");
            continue;
        };
        std::io::Write::write_all(&mut child.stdin.take().unwrap(), script.as_bytes()).unwrap();
        let output = child.wait_with_output().unwrap();
        assert!(output.status.success() && output.stderr.is_empty(), "{shell}: {}", text(&output.stderr));
    }
    assert_eq!(program(&["completions", "dos"]).status.code(), Some(2));
}
