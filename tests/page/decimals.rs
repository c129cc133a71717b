//! Decimal commas: the page's own numbers have them, in every kind of page; what somebody typed does not change.

use super::{Browser, printed};
use serde_json::{Value, json};
use std::path::Path;

const SCRIPT: &str = "lengthwise: 1\ntitle: Version 2.5\npool: 25 m\npack: first-lengths\npractice:\n  \
    - { set: Part 1.1, swim: 4 x 100 m on 2:50, tempo: 1.25 s }\n";
const LANE: &str = "lengthwise-roster: 1\npool: 25 m\norder: as listed\nswimmers:\n  - { name: Bo 7.5, hundred: 1:40.5 }\n  \
    - { name: Ida 8.5, hundred: 1:28.5 }\n";

/// Every piece of text that is shown, and whether somebody typed it.
fn pieces(browser: &mut Browser, page: &Path) -> Vec<(String, bool)> {
    browser.open(page);
    assert_eq!(browser.complaints(), [""; 0]);
    let pieces = browser.value(
        "(() => { const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), found = [];\
         while (walk.nextNode()) { const node = walk.currentNode; if (node.parentElement.closest('script, style')) continue;\
         if (node.parentElement.closest('bdi')) found.push([node.data, true]);\
         else node.data.split(/([\\u2068][^\\u2069]*[\\u2069])/).forEach((part, k) => found.push([part, k % 2 === 1])); }\
         return found; })()",
    );
    let piece = |piece: &Value| (piece[0].as_str().unwrap().to_owned(), piece[1].as_bool().unwrap());
    pieces.as_array().unwrap().iter().map(piece).collect()
}

/// A text with its decimal points as commas.
fn commas(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let digit = |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(char::is_ascii_digit);
    let comma =
        |(at, c): (usize, &char)| if *c == '.' && digit(at.checked_sub(1)) && digit(Some(at + 1)) { ',' } else { *c };
    letters.iter().enumerate().map(comma).collect()
}

#[test]
fn only_the_pages_own_numbers_change() {
    let Some(mut browser) = Browser::start() else { return };
    let home = tempfile::tempdir().unwrap();
    for (name, text) in [("two.yaml", SCRIPT), ("lane.yaml", LANE)] {
        std::fs::write(home.path().join(name), text).unwrap();
    }
    let log = ["log", "two.yaml", "--swimmer", "Eve 9.5", "--new-swimmer", "--day", "2026-11-27", "--effort", "4"];
    printed(home.path(), &[&log[..], &["--minutes", "40", "--count", "1=22", "--time", "1.2=1:41.5"]].concat());
    let pages = [
        ("practice.html", vec!["page", "two.yaml", "--no-speech", "-o", "practice.html"], "Part 1.1"),
        (
            "lane.html",
            vec!["lane", "two.yaml", "--lane", "lane.yaml", "--runs", "20", "--page", "lane.html"],
            "Ida 8.5",
        ),
        ("review.html", vec!["review", "--as-of", "2026-11-28", "--page", "review.html"], "Part 1.1"),
    ];
    for (name, args, typed) in pages {
        let path = home.path().join(name);
        printed(home.path(), &args);
        let points = pieces(&mut browser, &path);
        printed(home.path(), &[&args[..], &["--decimal-comma", "--force"]].concat());
        let found = pieces(&mut browser, &path);
        assert!(found.iter().any(|(text, is_typed)| *is_typed && text.contains(typed)), "{name}: {found:?}");
        let changed = points.iter().filter(|(text, is_typed)| !is_typed && commas(text) != *text).count();
        assert!(changed > 3, "{name}: {changed} numbers with decimals");
        let wanted: Vec<(String, bool)> =
            points.into_iter().map(|(text, typed)| (if typed { text } else { commas(&text) }, typed)).collect();
        assert_eq!(found, wanted, "{name}");
        // What charts and the player work with is the same as ever.
        let places = browser.value("[...document.querySelectorAll('[data-y], [data-at]')].every((mark) => !(mark.dataset.y ?? mark.dataset.at).includes(','))");
        assert_eq!(places, json!(true), "{name}");
    }
}
