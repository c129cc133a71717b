//! Ten mistakes in one script: all told in one run, each pointing at the right characters.

use lengthwise::prepare::{PracticeRequest, WhoSwims, plan};
use std::fs;

/// Letters beyond ASCII before the marks, so that bytes and columns differ.
const SCRIPT: &str = "\
lengthwise: 1
title: Übung für Zoë 🏊
pool: 25 m
pack: first-lengths
practice:
  - { set: Größe 🏊, swim: 2 x 60 m, rest: 20, focus: head-stil }
  - set: Zwei
    swim: 4 x 50 m @ 1:30
    temp: 1.30 s
    breathe: every 7
  - say: welcom
  - set: Drei
    swim: 4 x 50 m on 1:30
    drill: fisst
    tempo: { from: 1.3 s, to: 1.1 s, step: 3 s }
    effort: esy
";

#[test]
fn all_mistakes_are_reported_in_one_run_at_their_places() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("fehler.yaml");
    fs::write(&script, SCRIPT).unwrap();
    let outcome = plan(&PracticeRequest { script, ..PracticeRequest::default() }).unwrap();
    assert!(outcome.planned.is_none());
    let found: Vec<_> = outcome
        .diagnostics
        .iter()
        .map(|problem| {
            let span = problem.span.unwrap();
            let (line, column) = outcome.sources.place(span);
            (problem.code.word(), line, column, outcome.sources.slice(span))
        })
        .collect();
    // Lines and columns counted by hand, from 1, in characters.
    let expected = [
        ("not-whole-lengths", 6, 31, "60 m"),
        ("unit-missing", 6, 43, "20"),
        ("unknown-name", 6, 54, "head-stil"),
        ("bad-value", 8, 20, "@"),
        ("unknown-key", 9, 5, "temp"),
        ("breath-pattern", 10, 14, "every 7"),
        ("unknown-name", 11, 10, "welcom"),
        ("unknown-name", 14, 12, "fisst"),
        ("range-disagrees", 15, 44, "3 s"),
        ("bad-value", 16, 13, "esy"),
    ];
    assert_eq!(found, expected);
    let said = outcome.diagnostics.iter().map(|problem| (problem.message.as_str(), problem.hint.as_deref().unwrap()));
    assert_eq!(
        said.collect::<Vec<_>>(),
        [
            ("60 m is no whole number of lengths of 25 m", "swim 50 m or 75 m"),
            ("a rest needs a unit; found `20`", "`20 s`?"),
            ("unknown focus phrase `head-stil`", "did you mean `head-still`?"),
            ("`@` has two meanings: send-off or pace?", "write `on 1:30` for the send-off, or the key `pace: 1:30`"),
            ("a set has no key `temp`", "did you mean `tempo`?"),
            (
                "breathing every 7 is refused; at most every 5",
                "long stretches without breath can make a swimmer faint under water without warning; breathe every 2, 3 or 4"
            ),
            ("unknown text to say `welcom`", "did you mean `welcome`?"),
            ("unknown drill `fisst`", "did you mean `fist`?"),
            ("the first step would go past `to`", "a smaller step, or no `step` for even steps"),
            ("`effort` is `esy`; allowed: `easy`, `steady`, `brisk`, `fast` or `build`", "did you mean `easy`?"),
        ]
    );
}

#[test]
fn a_missing_pack_is_one_mistake() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("a.yaml");
    fs::write(&script, SCRIPT.replace("pack: first-lengths", "pack: fist-lengths")).unwrap();
    let outcome = plan(&PracticeRequest { script, ..PracticeRequest::default() }).unwrap();
    let unknown: Vec<_> = outcome.diagnostics.iter().filter(|problem| problem.code.word() == "unknown-name").collect();
    assert_eq!(unknown.len(), 1, "{unknown:?}");
    assert!(unknown[0].message.contains("fist-lengths"));
}

#[test]
fn a_countdown_that_fills_its_send_off_is_refused() {
    // Ten strokes at 0.6 s and a wall of 1 s are 7 s, so the send-off itself can be made.
    let swimmer = "lengthwise-profile: 1\nname: Quick\npool: 12 m\nwall: 1 s\nstroke: [{ tempo: 0.60 s, count: 10 }]\n";
    let script = |countdown: u32| {
        format!(
            "lengthwise: 1\ntitle: Sprint\npool: 12 m\nsettings: {{ countdown: {countdown} s }}\npractice:\n  \
             - {{ set: Sprint, swim: 3 x 12 m, send-off: 9 s }}\n"
        )
    };
    let folder = tempfile::tempdir().unwrap();
    let (profile, path) = (folder.path().join("quick.yaml"), folder.path().join("sprint.yaml"));
    fs::write(&profile, swimmer).unwrap();
    let found = |countdown| {
        fs::write(&path, script(countdown)).unwrap();
        let request = PracticeRequest {
            script: path.clone(),
            swimmer: Some(WhoSwims::Profile(profile.clone())),
            ..PracticeRequest::default()
        };
        let outcome = plan(&request).unwrap();
        outcome.diagnostics.iter().map(|problem| (problem.message.clone(), problem.hint.clone())).collect::<Vec<_>>()
    };
    let message = "the countdown of 0:09 fills the whole send-off of 0:09".to_owned();
    let hint = "`on 0:20` leaves room, or a shorter `countdown` in the settings".to_owned();
    assert_eq!(found(9), [(message, Some(hint))]);
    assert!(!found(8).iter().any(|(message, _)| message.contains("countdown")), "{:?}", found(8));
}
