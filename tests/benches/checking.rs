//! What checking costs: all problems of a script of a thousand lines, drawn as a person reads them, and a good one of that
//! length up to its plan. Sound is not measured here.

#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, reason = "a benchmark")]

use divan::Bencher;
use lengthwise::diag::Sources;
use lengthwise::diag::render::render;
use lengthwise::pack::load::{Search, open};
use lengthwise::practice::{Audience, expand};
use lengthwise::prepare::{self, PracticeRequest};
use lengthwise::script::parse::parse;
use lengthwise::swimmer::Swimmer;
use std::fmt::Write;

fn main() {
    divan::main();
}

const LINES: usize = 1_000;
const HEAD: &str = "lengthwise: 1\ntitle: A long day\npool: 25 m\npack: first-lengths\npractice:\n";

/// A script of so many lines: its head, then sets from these lines, numbered so that no two are alike.
fn script(set: &[&str]) -> String {
    let mut text = HEAD.to_owned();
    for line in 0..LINES - HEAD.lines().count() {
        let (round, part) = (line / set.len(), line % set.len());
        let first = if part == 0 { "  - " } else { "    " };
        writeln!(text, "{first}{}", set[part].replace('#', &round.to_string())).unwrap();
    }
    text
}

/// Every set has something wrong in each line but its first: in words and units.
fn wrong_words() -> String {
    script(&["set: Set #", "swim: 4 x 50", "tempo: 1.2#", "efort: easy", "breathe: evry 3", "rest: 15 sec, or #"])
}

/// Every set reads well, and names things that there are not, or that cannot be swum.
fn wrong_names() -> String {
    script(&["set: Set #", "swim: 2 x 40 m", "rest: 20 s", "drill: fits#", "focus: reach-forwrad"])
}

fn good() -> String {
    script(&["set: Set #", "swim: 2 x 50 m", "rest: 10 s", "tempo: { from: 1.30 s, to: 1.10 s }", "focus: breathe-out"])
}

/// Parsed, expanded where it parses, its problems drawn; what is asked of it is 20 ms.
fn problems(bencher: Bencher<'_, '_>, text: &str, at_least: usize) {
    let search = Search { built_in: Some("first-lengths".into()), ..Search::default() };
    let (library, _) = open(&search, None, &mut Sources::new());
    let swimmer = Swimmer::assumed();
    assert_eq!(text.lines().count(), LINES);
    bencher.bench_local(|| {
        let mut sources = Sources::new();
        let source = sources.add("script.yaml", text);
        let (script, mut problems) = parse(source, &sources);
        if let Some(script) = script {
            problems.extend(expand(&script, &library, &swimmer, Audience::Headphones).1);
        }
        assert!(problems.len() >= at_least, "{}", problems.len());
        render(&problems, &sources, true, 100)
    });
}

#[divan::bench(sample_count = 50)]
fn problems_in_words_of_1000_lines(bencher: Bencher<'_, '_>) {
    problems(bencher, &wrong_words(), 800);
}

#[divan::bench(sample_count = 50)]
fn problems_in_names_of_1000_lines(bencher: Bencher<'_, '_>) {
    problems(bencher, &wrong_names(), 500);
}

/// From the file to the plan, packs opened on the way, as `check` does it.
#[divan::bench(sample_count = 50)]
fn plan_of_1000_lines(bencher: Bencher<'_, '_>) {
    let folder = tempfile::tempdir().unwrap();
    let request = PracticeRequest { script: folder.path().join("long.yaml"), ..PracticeRequest::default() };
    std::fs::write(&request.script, good()).unwrap();
    bencher.bench_local(|| {
        let outcome = prepare::plan(&request).unwrap();
        outcome.planned.expect("no errors")
    });
}
