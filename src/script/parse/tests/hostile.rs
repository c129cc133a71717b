//! Texts made to do harm: what they cost, and how little is printed of them.

use super::{HEAD, found, good, run, set};
use crate::cases::amount;
use crate::diag::render::render;
use crate::script::yaml;
use std::fmt::Write;

#[test]
fn aliases_are_read_within_a_budget() {
    let script = good(&format!(
        "{HEAD}practice:\n  - set: A\n    swim: 50 m\n    tempo: &fall {{ from: 1.3 s, to: 1.1 s }}\n  - set: B\n    swim: 50 m\n    tempo: *fall\n"
    ));
    assert_eq!(script.practice.len(), 2);
    let lacking = format!(
        "{HEAD}practice:\n  - set: A\n    swim: 50 m\n    tempo: &t {{ step: 1 s }}\n  - set: B\n    swim: 50 m\n    tempo: *t\n"
    );
    assert_eq!(found(&lacking), ["missing-key@step", "missing-key@step"], "`from` and `to`, not each twice");
    // A mistake under an anchor is one mistake, however often it is used.
    let twice = format!(
        "{HEAD}practice:\n  - set: A\n    swim: 50 m\n    tempo: &t 1.3\n  - set: B\n    swim: 50 m\n    tempo: *t\n"
    );
    assert_eq!(found(&twice), ["unit-missing@1.3"]);

    let mut bomb = String::from("a: &a [x, x, x, x, x, x, x, x, x, x]\n");
    for (name, of) in ('b'..='z').zip('a'..) {
        bomb += &format!("{name}: &{name} [{}]\n", vec![format!("*{of}"); 10].join(", "));
    }
    assert!(found(&bomb).iter().any(|problem| problem.starts_with("yaml@*")));
    let mut chain = String::from("- &a0 [x]\n");
    for n in 1..20_000 {
        chain += &format!("- &a{n} [*a{}]\n", n - 1);
    }
    assert!(found(&chain).iter().any(|problem| problem.starts_with("yaml@*")));
    assert!(found("a: &a [*a]\n").iter().any(|problem| problem == "yaml@*a"));
    let deep = "[".repeat(50_000);
    assert!(found(&deep).iter().any(|problem| problem.starts_with("yaml@")));
    let keys: String = (0..50_000).map(|n| format!("k{n}: 1\n")).collect();
    assert!(found(&keys).iter().any(|problem| problem.starts_with("yaml@")));
    assert!(found(&"x".repeat(yaml::LARGEST + 1))[0].starts_with("yaml@"));
}

/// Everything a terminal would get to see, wide and with colour.
fn printed(text: &str) -> String {
    let (script, problems, sources) = run(text);
    assert!(script.is_none() && !problems.is_empty());
    render(&problems, &sources, true, 120).text(true)
}

#[test]
fn little_is_printed_of_much() {
    let long = "x".repeat(900_000);
    let wide = "泳".repeat(300_000);
    let many = |line: &str| format!("{HEAD}practice:\n{}", line.repeat(amount(500, 2_000)));
    let mut keys = set("swim: 50 m");
    for n in 0..900 {
        writeln!(keys, "    {}{n}: 1", "k".repeat(900)).unwrap();
    }
    let texts = [
        set(&format!("swim: {long}")),
        set(&format!("swim: 4 x {long} m")),
        set(&format!("swim: {wide}")),
        set(&format!("swim: [{}] m", "1, ".repeat(300_000))),
        set(&format!("swim: \"[{}]\"", "50 m, ".repeat(150_000))),
        set(&format!("{long}: 1\nswim: 50 m")),
        set(&format!("swim: 50 m\neffort: {long}")),
        set(&format!("swim: 50 m\nbreathe: every 3 {long}")),
        set(&format!("swim: 50 m\nsecond-half: 2 s {long}")),
        set(&format!("swim: 50 m\ngear: [{}]", "fins, ".repeat(40_000))),
        set(&format!("swim: 50 m\nfocus: *{long}")),
        set(&format!("swim: 50 m\n{} {long}", "y".repeat(1_000))),
        set(&format!("swim: 50 m\nlengths: [{}]", "a, ".repeat(40_000))),
        format!("{HEAD}title: {long}\n"),
        keys,
        many("  - set: A\n    swim: 50\n    tempo: 1.2\n    sendoff: 1:30\n"),
        many("  - { set: A, swim: 50 m, wrong: 1, effort: eazy, part: kick, tempo: 1.2 s }\n"),
    ];
    for text in texts {
        let length = printed(&text).len();
        let begins: String = text.chars().skip(HEAD.len()).take(60).collect();
        assert!(length < 20_000, "{length} bytes of {begins:?}");
    }
}

#[test]
fn copies_of_defaults_are_bounded() {
    // 14,000 swims that would each take over 40,000 phrases: some 20 GB.
    let phrases = "a, ".repeat(40_000);
    let swims = "      - { swim: 50 m }\n".repeat(14_000);
    let problems = found(&set(&format!("focus: [{phrases}]\ndo:\n")).replace("do:\n", &format!("do:\n{swims}")));
    let codes: Vec<_> = problems.iter().filter_map(|problem| problem.split('@').next()).collect();
    assert_eq!(codes, ["out-of-range", "too-long"]);
    // The bound is met to the swim, within one list and over sets.
    let list = |count: usize| set(&format!("do: [{}]", "{ swim: 50 m }, ".repeat(count)));
    assert_eq!(good(&list(2_000)).practice.len(), 1);
    assert_eq!(found(&list(2_001)), ["too-long@{ swim: 50 m }"]);
    let sets = |count: usize| format!("{HEAD}practice:\n{}", "  - { set: A, swim: 50 m }\n".repeat(count));
    assert_eq!(good(&sets(2_000)).practice.len(), 2_000);
    assert_eq!(found(&sets(2_001)), ["too-long@{ set: A, swim: 50 m }"]);
    let long = |key: &str, item: &str| found(&set(&format!("swim: 50 m\n{key}: [{}]", item.repeat(201)))).join(" ");
    for (key, item) in [("tempo", "1.2 s, "), ("pace", "1:30, "), ("focus", "a, "), ("gear", "fins, ")] {
        assert!(long(key, item).starts_with("out-of-range@["), "{key}");
    }
}
