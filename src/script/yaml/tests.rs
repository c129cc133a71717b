//! What the tree keeps of a text, where its parts stand, and that its budgets hold to the last one.

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
    let Kind::Map(mut pairs) = root.kind else { panic!("{text}") };
    (pairs.remove(0).1, sources)
}

#[test]
fn texts_stay_as_written() {
    for written in ["1.20", "no", "~", "null", "1:30", "0x10", "1e3", "-6 dB", "4 × 50 m", "2026-01-01", "true"] {
        let (node, sources) = value(&format!("a: {written}   # why\n"));
        assert_eq!(sources.slice(node.span), written);
        assert!(matches!(&node.kind, Kind::Scalar(scalar) if scalar.text == written && scalar.plain));
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
        let Kind::Scalar(Scalar { text: found, .. }) = &node.kind else { panic!("{text}") };
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
    let text = "a: b\nc: [d, e\nf: }\n";
    let id = sources.add("test.yaml", text);
    let (root, problems) = read(id, text);
    let root = root.unwrap();
    assert_eq!(problems.iter().map(|problem| problem.code).collect::<Vec<_>>(), [Code::Yaml]);
    let Kind::Map(pairs) = &root.kind else { panic!("{root:?}") };
    assert!(root.cut && pairs[1].1.cut && !pairs[0].1.cut);
}

#[test]
fn a_byte_order_mark_moves_nothing() {
    let (node, sources) = value("\u{feff}ä: 50 m\n");
    assert_eq!(sources.slice(node.span), "50 m");
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
