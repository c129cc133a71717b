//! What steers a terminal or turns the order of letters is never printed, whoever wrote it: names of files, arguments, titles,
//! the texts of packs, lines on standard input.

use crate::run::Run;
use lengthwise::diag::shown::is_harmful;

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
