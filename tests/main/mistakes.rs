//! Ten mistakes in one script: all told in one run, each pointing at the right characters.

use lengthwise::prepare::{Request, plan};
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
fn all_mistakes_are_told_in_one_run_at_their_places() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("fehler.yaml");
    fs::write(&script, SCRIPT).unwrap();
    let outcome = plan(&Request { script, ..Request::default() }).unwrap();
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
}

#[test]
fn a_missing_pack_is_one_mistake() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("a.yaml");
    fs::write(&script, SCRIPT.replace("pack: first-lengths", "pack: fist-lengths")).unwrap();
    let outcome = plan(&Request { script, ..Request::default() }).unwrap();
    let unknown: Vec<_> = outcome.diagnostics.iter().filter(|problem| problem.code.word() == "unknown-name").collect();
    assert_eq!(unknown.len(), 1, "{unknown:?}");
    assert!(unknown[0].message.contains("fist-lengths"));
}
