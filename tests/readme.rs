//! The README against the program: its examples run, its console blocks are what is printed, its tables are complete.
//!
//! `LENGTHWISE_BLESS=1 cargo test --test readme` writes what the console prints anew. That the README has every option is in
//! `rules`.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use lengthwise::diag::{Code, Sources};
use lengthwise::prepare::{self, PracticeRequest, WhoSwims};
use lengthwise::swimmer::roster::{self, RosterForm};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn readme() -> String {
    fs::read_to_string(root().join("README.md")).unwrap()
}

/// The texts of the README's blocks in a language.
fn blocks(text: &str, language: &str) -> Vec<String> {
    let fence = format!("```{language}\n");
    text.split(&fence).skip(1).map(|rest| rest.split("```").next().unwrap().to_owned()).collect()
}

/// A folder with the README's files in it, under the names it gives them.
fn files(text: &str) -> (tempfile::TempDir, [PathBuf; 6]) {
    let [tuesday, all_keys, more, open, profile, roster] = <[String; 6]>::try_from(blocks(text, "yaml")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mistakes = [("on 1:40", "@ 1:40"), ("tempo:", "temp:")].iter().fold(tuesday.clone(), |text, (right, wrong)| {
        assert!(text.contains(right), "{right}");
        text.replace(right, wrong)
    });
    fs::write(folder.path().join("mistakes.yaml"), mistakes).unwrap();
    let named = [
        ("tuesday.yaml", tuesday),
        ("all-keys.yaml", all_keys),
        ("more.yaml", more),
        ("open.yaml", open),
        ("ida.yaml", profile),
        ("squad.yaml", roster),
    ];
    let paths = named.map(|(name, text)| {
        let path = folder.path().join(name);
        fs::write(&path, text).unwrap();
        path
    });
    fs::write(folder.path().join("lanes.csv"), &blocks(text, "csv")[1]).unwrap();
    (folder, paths)
}

#[test]
fn the_examples_have_no_problems() {
    let (_folder, [tuesday, all_keys, more, open, ida, roster]) = files(&readme());
    for script in [tuesday, all_keys, more, open] {
        for swimmer in [None, Some(WhoSwims::Profile(ida.clone()))] {
            let request = PracticeRequest { script: script.clone(), swimmer, ..PracticeRequest::default() };
            let outcome = prepare::plan(&request).unwrap();
            assert_eq!(outcome.diagnostics, [], "{request:?}");
            assert!(outcome.planned.is_some());
        }
    }
    let mut sources = Sources::new();
    let texts = [
        (fs::read_to_string(roster).unwrap(), RosterForm::Yaml),
        (blocks(&readme(), "csv")[0].clone(), RosterForm::Table),
    ];
    for (text, form) in texts {
        let id = sources.add("roster", text);
        let (roster, problems) = roster::parse(id, &sources, form);
        assert_eq!(problems, []);
        assert!(roster.unwrap().members.iter().all(|member| member.problems.is_empty()));
    }
}

/// The keys that a message allows: the words in backticks after "llowed:" of its hint.
fn allowed(request: &PracticeRequest) -> Vec<String> {
    let outcome = prepare::plan(request).unwrap();
    let hints = outcome.diagnostics.iter().filter(|problem| problem.code == Code::UnknownKey);
    let lists = hints.filter_map(|problem| problem.hint.as_deref()?.split_once("llowed: "));
    lists.flat_map(|(_, list)| list.split('`').skip(1).step_by(2)).map(str::to_owned).collect()
}

#[test]
fn every_key_is_in_an_example() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    // A key that nobody has, in every map of the language: the messages list the keys there are.
    let script = "lengthwise: 1\nqqq: 1\nsettings: { qqq: 1 }\nbeats: { a: { qqq: 1, accent: { qqq: 1 } } }\npractice:\n\
                  - { set: A, qqq: 1, swim: 50 m, tempo: { qqq: 1 }, focus: { qqq: 1 } }\n- { set: B, do: [{ qqq: 1 }] }\n\
                  - { set: C, swim: 50 m, lengths: [{ qqq: 1 }], strokes: { qqq: 1 } }\n- { set: D, course: { qqq: 1 } }\n";
    fs::write(path("script.yaml"), script).unwrap();
    fs::write(path("good.yaml"), "lengthwise: 1\ntitle: A\npool: 25 m\npractice: [{ set: A, swim: 50 m }]\n").unwrap();
    let profile = "lengthwise-profile: 1\nqqq: 1\nstroke: [{ qqq: 1 }]\npace: { qqq: 1 }\n";
    fs::write(path("profile.yaml"), profile).unwrap();
    let of_script = allowed(&PracticeRequest { script: path("script.yaml"), ..PracticeRequest::default() });
    let of_profile = allowed(&PracticeRequest {
        script: path("good.yaml"),
        swimmer: Some(WhoSwims::Profile(path("profile.yaml"))),
        ..PracticeRequest::default()
    });
    for known in ["countdown", "accent", "step", "order", "rounds", "send-off"] {
        assert!(of_script.iter().any(|key| key == known), "{known}: {of_script:?}");
    }
    assert!(of_profile.iter().any(|key| key == "glide"), "{of_profile:?}");
    let blocks = blocks(&readme(), "yaml");
    // The first is the tour's, the last two a profile and a roster; the language is between them.
    let [_, scripts @ .., profile, _] = blocks.as_slice() else { panic!("{} blocks", blocks.len()) };
    let script = scripts.concat();
    let lacks = |keys: &[String], text: &str| {
        let has = |key: &str| text.contains(&format!("{key}:")) || text.contains(&format!(", {key},"));
        keys.iter().filter(|key| !has(key)).cloned().collect::<Vec<_>>()
    };
    assert_eq!(lacks(&of_script, &script), Vec::<String>::new());
    // The efforts of a profile are words of a comment.
    assert_eq!(lacks(&of_profile, &profile.replace(';', ",").replace("also ", ", ")), Vec::<String>::new());
}

#[test]
fn the_table_has_every_code() {
    let rows: String = Code::ALL.iter().fold(String::new(), |mut rows, code| {
        writeln!(rows, "| `{}` | {} | {} |", code.word(), code.severity().word(), code.about()).unwrap();
        rows
    });
    let readme = readme();
    let (_, table) = readme.split_once("| code | | means |\n| --- | --- | --- |\n").unwrap();
    let (table, _) = table.split_once("\n\n").unwrap();
    assert_eq!(format!("{table}\n"), rows, "the README's table of codes");
}

/// Each `$ lengthwise ...` of a console block, with what it prints: messages first, as they are not buffered.
#[test]
#[cfg(unix)]
fn the_console_blocks_are_true() {
    let mut text = readme();
    let (folder, _) = files(&text);
    let mut path = vec![Path::new(env!("CARGO_BIN_EXE_lengthwise")).parent().unwrap().to_owned()];
    path.extend(std::env::split_paths(&std::env::var_os("PATH").unwrap()));
    let mut wrong = Vec::new();
    for block in blocks(&text, "console") {
        let mut printed = String::new();
        for command in block.lines().filter_map(|line| line.strip_prefix("$ ")) {
            let shell = format!("{{ {command}; }} 2>&1");
            let mut run = Command::new("sh");
            run.args(["-c", &shell]).current_dir(&folder).env("PATH", std::env::join_paths(&path).unwrap());
            let run = run.env("COLUMNS", "100").env("XDG_DATA_HOME", folder.path()).output().unwrap();
            let output = String::from_utf8(run.stdout).unwrap();
            write!(printed, "$ {command}\n{}\n", output.trim_end()).unwrap();
        }
        if printed != block {
            text = text.replace(&block, &printed);
            wrong.push(printed);
        }
    }
    if std::env::var_os("LENGTHWISE_BLESS").is_some() {
        fs::write(root().join("README.md"), text).unwrap();
    } else if !wrong.is_empty() {
        panic!("the README's console blocks should read\n{}\nLENGTHWISE_BLESS=1 writes them", wrong.join("\n"));
    }
}
