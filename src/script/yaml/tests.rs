//! What the tree keeps of a text, where its parts stand, and that its budgets hold to the last one.

use super::budget::{MOST_EVENTS, MOST_KEYS};
use super::*;
use crate::diag::Sources;

fn tree(text: &str) -> (Node, Sources) {
    let mut sources = Sources::new();
    let id = sources.add("test.yaml", text);
    let (node, problems) = read(id, text);
    assert_eq!(problems, [], "{text}");
    (node.unwrap(), sources)
}

/// The value of the only key.
fn value(text: &str) -> (Node, Sources) {
    let (root, sources) = tree(text);
    let NodeKind::Map(mut pairs) = root.kind else { panic!("{text}") };
    (pairs.remove(0).1, sources)
}

#[test]
fn texts_stay_as_written() {
    for written in ["1.20", "no", "~", "null", "1:30", "0x10", "1e3", "-6 dB", "4 × 50 m", "2026-01-01", "true"] {
        let (node, sources) = value(&format!("a: {written}   # why\n"));
        assert_eq!(sources.slice(node.span), written);
        assert!(matches!(&node.kind, NodeKind::Scalar(scalar) if scalar.text == written && scalar.plain));
    }
    let (nothing, sources) = value("tempo:\n");
    assert!(nothing.is_nothing());
    assert_eq!(sources.slice(nothing.span), "tempo", "a value left out is marked at its key");
    assert!(!value("tempo: ''\n").0.is_nothing());
}

#[test]
fn parts_are_marked_where_they_stand() {
    // A text, and the end of its value as it stands in the source.
    for (text, part) in [
        ("ä: 4 x 50 m\n", " m"),
        ("ä: 4 x  50 m\n", "50 m"),
        ("ä: \"4 x  50 m\"\n", "50 m"),
        ("ä: '4 x  50 m'\n", "50 m"),
        ("ä: &a 4 x  50 m\n", "50 m"),
    ] {
        let (node, sources) = value(text);
        let NodeKind::Scalar(Scalar { text: found, .. }) = &node.kind else { panic!("{text}") };
        let start = found.len() - part.len();
        assert_eq!(sources.slice(node.part(start..found.len())), part, "{text}");
    }
    // Escapes and folded lines move the bytes: all of the value is marked.
    for text in ["a: \"4\\x20x 50 m\"\n", "a: 4 x\n  50 m\n", "a: 'it''s'\n"] {
        let (node, _) = value(text);
        assert_eq!(node.part(0..1), node.span, "{text}");
    }
}

#[test]
fn collections_end_with_their_last_value() {
    for (text, marked) in [
        ("a:\n  - b\n  - c: d   # e\n\n# f\n", "- b\n  - c: d"),
        ("a: { b: c }  # d\n", "{ b: c }"),
        ("a: [b,\n c]\n", "[b,\n c]"),
        ("a:\n  b: c\n\n\n", "b: c"),
    ] {
        let (node, sources) = value(text);
        assert_eq!(sources.slice(node.span), marked, "{text}");
    }
}

#[test]
fn a_text_that_breaks_off_keeps_what_it_had() {
    let mut sources = Sources::new();
    let text = "a: b\nc:\n  - d\n  - [e, f\ng: }\n";
    let id = sources.add("test.yaml", text);
    let (root, problems) = read(id, text);
    let root = root.unwrap();
    assert_eq!(problems.iter().map(|problem| problem.code).collect::<Vec<_>>(), [Code::Yaml]);
    let NodeKind::Map(pairs) = &root.kind else { panic!("{root:?}") };
    assert!(root.cut && pairs[1].1.cut && !pairs[0].1.cut);
    assert!(
        matches!(&pairs[1].1.kind, NodeKind::List(items) if items.len() == 1),
        "brackets that were open are left out"
    );
}

#[test]
fn a_byte_order_mark_moves_nothing() {
    let (node, sources) = value("\u{feff}ä: 50 m\n");
    assert_eq!(sources.slice(node.span), "50 m");
}

#[test]
fn slips_are_named() {
    // A text, what is marked, and pieces of the message and the hint.
    for (text, marked, message, hint) in [
        ("a:\n\t- b\n", "\t", "a tab indents", "with spaces"),
        ("a:\n  - b: c\n\td: e\n", "\t", "a tab indents", "with spaces"),
        ("a: b\ntempo:1.2 s\nc: d\n", "tempo:", "a blank is missing", "`tempo: 1.2 s`"),
        ("a:\n  - b: c\n    tempo:1.2 s\n", "tempo:", "a blank is missing", "`tempo: 1.2 s`"),
        ("a: b\nrest 10 s\nc: d\n", "rest 10 s", "a colon is missing", "`rest: 10 s`"),
        ("a: b\nrest\nc: d\n", "rest", "`key: value`", "add the colon"),
        ("a: \"b\nc: d\n", "\"", "quote is not closed", "close it"),
        ("a: 'b\nc: d\n", "'", "quote is not closed", "close it"),
        ("a: \"b\" c\nd: e\n", "c", "after a closing quote", "all of the value"),
        ("a: [b, c\nd: e\nf: g\n", "[", "`[` is not closed", "`]`"),
        ("a: { b: c, d: e\nf: g\n", "{", "`{` is not closed", "`}`"),
        ("a: [b, c", "[", "`[` is not closed", "`]`"),
        ("a: { b: [c }\n", "[", "`[` is closed by `}`", "before the `}`"),
        ("a: { b: c }}\n", "}", "`}` closes nothing", "remove it"),
        ("a: Fast: slow\n", ":", "second `: `", "quotes"),
        ("a:\n  b: 50 m\n   rest: 15 s\n", "rest", "goes on with the value above", "exactly under"),
        ("a:\n  - b: c\n   d: e\n", "d", "fits none", "same number of spaces"),
        ("a: @b\n", "@", "cannot begin", "quotes"),
        (
            "a: [50, 100] m\nb: c\n",
            "[50, 100] m",
            "`m` stands behind it",
            "`[50 m, 100 m]`, or put all of it in quotes: `\"[50, 100] m\"`",
        ),
        ("a: [50,100]m on 2:30   # twice\n", "[50,100]m on 2:30", "behind it", "`\"[50,100]m on 2:30\"`"),
        ("- { a: [50, 100] yd, b: c }\n", "[50, 100] yd", "`yd`", "`[50 yd, 100 yd]`"),
        ("a: [50,\n  100] m\nb: c\n", "[50,\n  100] m", "`m`", "`\"[50, 100] m\"`"),
        ("a: [b, c] d\n", "d", "after a closing `]`", "quotes"),
        ("a: [b, 2] d\n", "d", "after a closing `]`", "quotes"),
    ] {
        let mut sources = Sources::new();
        let id = sources.add("test.yaml", text);
        let (_, problems) = read(id, text);
        let [problem] = problems.as_slice() else { panic!("{text}: {problems:?}") };
        assert_eq!(sources.slice(problem.span.unwrap()), marked, "{text}: {problem:?}");
        assert!(problem.message.starts_with("not YAML: ") && problem.message.contains(message), "{text}: {problem:?}");
        let found = problem.hint.as_deref().unwrap();
        assert!(found.contains(hint) && found.ends_with("; what follows is not checked yet"), "{text}: {problem:?}");
    }
}

#[test]
fn budgets_are_kept() {
    let nested = |depth: usize| format!("{}{}", "[".repeat(depth), "]".repeat(depth));
    let problems = |text: &str| {
        let mut sources = Sources::new();
        let id = sources.add("test.yaml", text);
        read(id, text).1
    };
    assert_eq!(problems(&nested(DEEPEST)), []);
    assert_eq!(problems(&nested(DEEPEST + 1)).len(), 1);
    assert_eq!(problems(&"[".repeat(9_000))[0].message, "more than 32 lists and maps inside each other");
    let events = |count: usize| format!("[{}]", "a, ".repeat(count));
    // Six events belong to the stream, the document and the list.
    assert_eq!(problems(&events(MOST_EVENTS - 6)), []);
    assert_eq!(problems(&events(MOST_EVENTS - 5)).len(), 1);
    let keys = |count: usize| (0..count).map(|n| format!("k{n}: 1\n")).collect::<String>();
    assert_eq!(problems(&keys(MOST_KEYS)), []);
    assert_eq!(problems(&keys(MOST_KEYS + 1)).len(), 1);
    assert_eq!(problems(&format!("a{}", " ".repeat(LARGEST - 1))), []);
    assert_eq!(problems(&format!("a{}", " ".repeat(LARGEST))).len(), 1);
}
