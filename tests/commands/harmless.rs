//! What steers a terminal or turns the order of letters is never printed, whoever wrote it: names of files, arguments, titles,
//! the texts of packs, lines on standard input.

use crate::run::Run;
use lengthwise::diag::shown::is_harmful;
use lengthwise::notebook::entry::{Measure, Observation, ValueSource};
use lengthwise::notebook::{Notebook, OpenFor, Wanted};

/// Clears a screen, rings a bell, and turns what comes behind it round.
const EVIL: &str = "x\u{1b}[2J\u{7}\u{9b}31m\u{202e}y";
/// The same as it is to be seen.
const SEEN: &str = "x\\u{1b}[2J\\u{7}\\u{9b}31m\\u{202e}y";

const SCRIPT: &str = "lengthwise: 1\ntitle: Quiet\npool: 25 m\npractice:\n  - { set: Easy, swim: 25 m, rest: 20 s }\n";
/// A title may hold what turns letters; controls are refused in it.
const TURNED: &str =
    "lengthwise: 1\ntitle: \"a\\u202eb\"\npool: 25 m\npractice:\n  - { set: \"c\\u2066d\", swim: 25 m, rest: 20 s }\n";

/// Runs it, whatever its exit code, and gives all that it printed.
fn printed(run: &Run, color: bool) -> String {
    let output = run.command().args(color.then_some("--color=always")).output().unwrap();
    let mut text = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
    assert!(!text.is_empty());
    if color {
        // The weights and colours that are the program's own.
        for style in 0..100 {
            text = text.replace(&format!("\u{1b}[{style}m"), "");
        }
        text = text.replace("\u{1b}[38;5;", "");
    }
    text
}

#[test]
fn nothing_that_is_printed_steers_the_terminal() {
    let script = format!("{EVIL}.yaml");
    let plain = |args: &str| Run::new(&args.replace("EVIL", EVIL)).file(&script, SCRIPT).file("turned.yaml", TURNED);
    // What is given, and whether the name or argument comes back.
    let cases = [
        ("check EVIL.yaml", false),
        ("check --json EVIL.yaml", false),
        ("check turned.yaml", false),
        ("check --json turned.yaml", false),
        ("check --timeline turned.yaml", false),
        ("check EVIL-missing.yaml", true),
        ("check --explain EVIL", true),
        ("check EVIL.yaml --swimmer EVIL.yaml", true),
        ("check EVIL.yaml --packs EVIL", true),
        ("render EVIL.yaml --rate 8000 -o EVIL.wav --no-speech", true),
        ("render EVIL.yaml --rate 8000 -o EVIL.wav --no-speech --json", false),
        ("render EVIL.yaml --rate 8000 -o EVIL.ogg", true),
        ("render EVIL.yaml EVIL-missing.yaml --rate 8000 -o EVIL --no-speech", true),
        ("render EVIL.yaml --rate 8000 --player EVIL --no-speech", true),
        ("pack show EVIL", true),
        ("pack open EVIL.zip", true),
        ("pack check EVIL", true),
        ("pack new EVIL", true),
        ("EVIL", false),
        ("render --EVIL", false),
        ("render EVIL.yaml --rate EVIL", false),
        ("play EVIL.yaml --replay EVIL", true),
    ];
    for (args, comes_back) in cases {
        for color in [false, true] {
            let text = printed(&plain(args), color);
            let harm: Vec<char> = text.chars().filter(|c| is_harmful(*c) && !matches!(c, '\n' | '\t')).collect();
            assert!(harm.is_empty(), "{args}: {harm:?} in {text:?}");
            assert!(!comes_back || text.contains(SEEN), "{args}: {text}");
        }
    }
}

/// A notebook whose names, notes, titles and scripts are hostile; SQLite and CSV take them as they are.
#[test]
fn no_notebook_steers_the_terminal() {
    let script = "lengthwise: 1\ntitle: \"a\\u202eb\"\npool: 25 m\npractice:\n  \
        - { set: \"c\\u2066d\", swim: 4 x 25 m, rest: 20 s, count: each length }\n";
    let file = format!("{EVIL}.yaml");
    let ran = Run::new("log swimmer --notebook n.sqlite").file(&file, script).exit(3).run();
    let home = ran.path("");
    let said = |args: &[&str], input: &str| {
        use std::io::Write as _;
        use std::process::{Command, Stdio};
        let mut command = Command::new(env!("CARGO_BIN_EXE_lengthwise"));
        command.args(args).current_dir(&home).env_clear().env("HOME", &home).env("LENGTHWISE_NOTEBOOK", "n.sqlite");
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        // Some end before they have read anything.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        let output = child.wait_with_output().unwrap();
        let text = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
        let harm: Vec<char> = text.chars().filter(|c| is_harmful(*c) && !matches!(c, '\n' | '\t')).collect();
        assert!(harm.is_empty() && !text.is_empty(), "{args:?}: {harm:?} in {text:?}");
        assert!(!text.contains("\nerror: all is lost"), "{args:?}: {text}");
        text
    };
    // A name cannot be given so, nor come from a sheet.
    let keep = |name: &str, more: &[&str]| {
        let args = ["log", &file, "--swimmer", name, "--day", "2024-11-20"];
        said(&[&args[..], more].concat(), "")
    };
    assert!(keep(EVIL, &[]).contains("a name has letters, and no signs that cannot be seen"));
    keep(
        "Ida",
        &["--count", "1.4=19", "--feel", "4", "--effort", "5", "--minutes", "20", "--pain", EVIL, "--note", EVIL],
    );
    keep(
        "Ida",
        &["--count", EVIL, "--time", EVIL, "--missed", EVIL, "--apart", EVIL, "--feel", EVIL, "--effort", EVIL],
    );
    keep("Ida", &["--minutes", EVIL, "--json"]);
    // A notebook from elsewhere has it everywhere.
    let mut notebook = Notebook::open(&home.join("n.sqlite"), OpenFor::Writing).unwrap();
    let (id, mut practice) = notebook.practices(&Wanted::default()).unwrap().remove(0);
    notebook.remove("then", "removed", id).unwrap();
    let lines = format!("{EVIL}\nerror: all is lost");
    practice.swimmer.clone_from(&lines);
    practice.title.clone_from(&lines);
    practice.said.note = Some(lines.clone());
    practice.said.pain = Some(lines.clone());
    practice.script.as_mut().unwrap().name.clone_from(&lines);
    for set in &mut practice.sets {
        set.title.clone_from(&lines);
        set.apart = Some(2);
        for repeat in &mut set.repeats {
            repeat.swim.clone_from(&lines);
            repeat.tempo = Some(1.2);
            repeat.rehearsed = vec![(lines.clone(), 12)];
            let time = Observation { measure: Measure::Time, length: None, value: 30.0, source: ValueSource::Clock };
            repeat.observations.push(time);
        }
    }
    notebook.add("then", &lines, &[practice]).unwrap();
    drop(notebook);
    // All of them are looked at before anything is said.
    let unseen = std::cell::RefCell::new(Vec::new());
    let seen = |text: &str| {
        if !text.contains(SEEN) {
            unseen.borrow_mut().push(text.to_owned());
        }
    };
    let shown: [(&[&str], bool); 23] = [
        (&["log", "list"], true),
        (&["log", "list", "--json"], false),
        (&["log", "list", "--swimmer", "EVIL-"], true),
        (&["log", "show", "1"], true),
        (&["log", "show", "1", "--json"], false),
        (&["log", "swimmer"], true),
        (&["log", "swimmer", "--json"], false),
        (&["log", "swimmer", "EVIL", "--profile", "EVIL"], true),
        (&["log", "edit", "1", "--feel", "3"], true),
        (&["log", "edit", "1", "--note", "EVIL", "--json"], false),
        (&["log", "sheet", "EVIL.yaml", "--swimmer", "NAME", "-o", "x.csv"], true),
        (&["log", "sheet", "EVIL.yaml", "--swimmer", "Ida", "-o", "EVIL.csv"], true),
        (&["log", "take", "EVIL.csv"], false),
        (&["log", "take", "EVIL-missing.csv"], true),
        (&["log", "export", "EVIL"], true),
        (&["log", "import", "EVIL"], false),
        (&["log", "import", "EVIL-missing"], true),
        (&["log", "backup", "EVIL.sqlite"], true),
        (&["review", "--swimmer", "NAME", "--as-of", "2024-11-21"], true),
        (&["review", "--as-of", "2024-11-21"], true),
        (&["review", "--swimmer", "NAME", "--as-of", "2024-11-21", "--json"], false),
        (&["next", "--swimmer", "NAME", "--day", "2024-11-22"], false),
        (&["next", "--swimmer", "NAME", "--day", "2024-11-22", "--compare", "EVIL,x"], true),
    ];
    for (args, comes_back) in shown {
        let args: Vec<String> = args.iter().map(|arg| arg.replace("EVIL", EVIL).replace("NAME", &lines)).collect();
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let text = said(&args, "");
        if comes_back {
            seen(&text);
        }
    }
    for topic in ["counts", "speed", "splits", "focus", "breaths", "load"] {
        said(&["review", "--swimmer", &lines, "--as-of", "2024-11-21", "--on", topic], "");
    }
    // Tables and sheets with hostile cells: each is told with its place.
    let tables = ran.path(EVIL);
    let practices = std::fs::read_to_string(tables.join("practices.csv")).unwrap();
    std::fs::write(tables.join("practices.csv"), practices.replace("2024-11-20", &format!("\"{EVIL}\""))).unwrap();
    seen(&said(&["log", "import", EVIL], ""));
    let sheet = std::fs::read_to_string(ran.path(&format!("{EVIL}.csv"))).unwrap();
    let places = sheet.replace("swimmer,day,", &format!("swimmer,day,{EVIL},"));
    std::fs::write(ran.path(&format!("{EVIL}.csv")), places).unwrap();
    seen(&said(&["log", "take", &format!("{EVIL}.csv")], ""));
    said(&["log", "remove", "1"], "");
    seen(&said(&["log", "undo"], ""));
    // A session record names its swimmer, its script and its title.
    let record = format!(
        "{{\"lengthwise-session\": 2, \"program\": {0}, \"started\": {0}, \"script\": {0}, \"title\": {0}, \
         \"device\": {0}, \"rate\": 8000}}\n",
        serde_json::to_string(EVIL).unwrap()
    );
    std::fs::write(ran.path("evil.jsonl"), &record).unwrap();
    seen(&said(&["log", "evil.jsonl", "--swimmer", EVIL], ""));
    std::fs::write(ran.path("evil.jsonl"), record.replacen("\"started\": \"", "\"started\": \"2024-", 1)).unwrap();
    said(&["log", "evil.jsonl"], "");
    let taps: String = (3..14).map(|at| format!("{at}.0\n")).collect();
    let taps = format!("0 w\n{taps}15 w\n");
    seen(&said(&["tap", "--log", "--swimmer", EVIL], &taps));
    seen(&said(&["tap", "--log", "--swimmer", EVIL, "--into", EVIL], &taps));
    seen(&said(&["tap"], EVIL));
    seen(&said(&["tap", "--profile", &format!("{EVIL}.p.yaml"), "--yes"], &taps));
    assert!(unseen.borrow().is_empty(), "the name or text should be in each of these: {unseen:#?}");
}

#[test]
fn a_record_for_a_program_says_what_was_written() {
    let ran = Run::new("check --json turned.yaml").file("turned.yaml", TURNED).run();
    let plan: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    assert_eq!(plan["title"], "a\u{202e}b");
    assert!(ran.stdout.contains("\\u202e"), "{}", ran.stdout);
}

/// A name on two lines must not look like two messages.
#[cfg(unix)]
#[test]
fn a_path_is_shown_on_one_line() {
    const NAME: &str = "a\nerror:\tall is lost\r\u{7f}";
    const ONE_LINE: &str = "a\\u{a}error:\\u{9}all is lost\\u{d}\\u{7f}";
    let run = || Run::new("").file(&format!("{NAME}.yaml"), SCRIPT).file("taken.wav", "mine");
    let said = |args: &[&str]| {
        let run = run();
        let output = run.command().args(args).output().unwrap();
        (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap())
    };
    let (script, wav) = (format!("{NAME}.yaml"), format!("{NAME}.wav"));
    let (out, _) = said(&["render", &script, "--rate", "8000", "--no-speech", "-o", &wav]);
    assert!(out.contains(ONE_LINE) && !out.contains("\nerror"), "{out:?}");
    let cases: [(&[&str], String); 4] = [
        (&["check", "gone\n.yaml"], "gone\\u{a}.yaml".to_owned()),
        (&["render", &script, "--rate", "8000", "-o", "gone\n/x.wav"], "gone\\u{a}/x.wav".to_owned()),
        (&["pack", "open", &format!("{NAME}.zip")], format!("{ONE_LINE}.zip")),
        (&["render", &script, "gone\n.yaml", "--rate", "8000", "-o", "out"], "gone\\u{a}.yaml".to_owned()),
    ];
    for (args, shown) in cases {
        let (out, err) = said(args);
        assert!((out.clone() + &err).contains(&shown), "{args:?}: {out:?} {err:?}");
        assert!(!err.contains("\nerror:\t") && !err.contains("gone\n"), "{args:?}: {err:?}");
    }
    let (_, err) = said(&["check", "gone\n.yaml"]);
    assert_eq!(err, "error: cannot read gone\\u{a}.yaml: No such file or directory (os error 2)\n");
}
