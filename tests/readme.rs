//! The README and the pages in `cue-packs` against the program: their examples run in an empty folder, their console blocks are
//! what is printed, their tables are complete.
//!
//! A page is gone through from top to bottom, as a reader would. What a block before says to be "saved as" a file is that file; a
//! `sh` block's lines run and succeed; of a `console` block what is printed is compared. A word behind `sh` says what a machine
//! without ears lacks (`device`, `telephone`, `voice`): those lines are only read, as arguments. `LENGTHWISE_BLESS=1 cargo test
//! --test readme` writes what the console prints anew. That the pages have every option is in `rules`.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use clap::Parser;
use lengthwise::cli::args::Args;
use lengthwise::diag::{Code, Sources};
use lengthwise::prepare::{self, PracticeRequest, WhoSwims};
use lengthwise::swimmer::roster::{self, RosterForm};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

#[cfg(unix)]
#[path = "readme/pages.rs"]
mod pages;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The README and the pages, by their paths in the repository.
fn pages() -> BTreeMap<PathBuf, String> {
    let folder = fs::read_dir(root().join("cue-packs")).unwrap().map(|entry| entry.unwrap().path());
    let pages = folder.filter(|path| path.extension().is_some_and(|ending| ending == "md"));
    let pages = pages.chain([root().join("README.md")]);
    pages.map(|path| (path.strip_prefix(root()).unwrap().to_owned(), fs::read_to_string(&path).unwrap())).collect()
}

/// A block of a page: what its fence says of it, its text, and the words before it.
#[derive(Debug)]
struct Block<'a> {
    fence: &'a str,
    text: &'a str,
    before: &'a str,
}

fn blocks(page: &str) -> Vec<Block<'_>> {
    let parts: Vec<&str> = page.split("```").collect();
    parts
        .chunks_exact(2)
        .map(|pair| {
            let (fence, text) = pair[1].split_once('\n').unwrap();
            Block { fence, text, before: pair[0] }
        })
        .collect()
}

impl Block<'_> {
    /// The file that the paragraph before it says it is saved as.
    fn name(&self) -> Option<&str> {
        let paragraph = self.before.trim_end().rsplit("\n\n").next()?;
        let (_, rest) = paragraph.rsplit_once("as `")?;
        let (name, after) = rest.split_once('`')?;
        (after.starts_with([':', ',']) && name.contains('.')).then_some(name)
    }
}

/// The text of a page's block that is saved under a name.
fn file(page: &str, name: &str) -> String {
    let text = fs::read_to_string(root().join(page)).unwrap();
    let found = blocks(&text).into_iter().find(|block| block.name() == Some(name));
    assert!(found.is_some(), "{page} has no {name}");
    found.unwrap().text.to_owned()
}

#[test]
fn the_examples_have_no_problems() {
    let folder = tempfile::tempdir().unwrap();
    let ida = folder.path().join("ida.yaml");
    fs::write(&ida, file("cue-packs/SWIMMERS.md", "ida.yaml")).unwrap();
    for name in ["all-keys.yaml", "more.yaml", "open.yaml", "tuesday.yaml"] {
        let script = folder.path().join(name);
        fs::write(&script, file("cue-packs/LANGUAGE.md", name)).unwrap();
        for swimmer in [None, Some(WhoSwims::Profile(ida.clone()))] {
            let request = PracticeRequest { script: script.clone(), swimmer, ..PracticeRequest::default() };
            let outcome = prepare::plan(&request).unwrap();
            assert_eq!(outcome.diagnostics, [], "{request:?}");
            assert!(outcome.planned.is_some());
        }
    }
    let mut sources = Sources::new();
    for (name, form) in [("squad.yaml", RosterForm::Yaml), ("squad.csv", RosterForm::Table)] {
        let id = sources.add("roster", file("cue-packs/SWIMMERS.md", name));
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
    let script = ["all-keys.yaml", "more.yaml", "open.yaml"].map(|name| file("cue-packs/LANGUAGE.md", name)).concat();
    let profile = file("cue-packs/SWIMMERS.md", "ida.yaml");
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
    let page = &pages()[Path::new("cue-packs/OPTIONS.md")];
    let (_, table) = page.split_once("| code | | means |\n| --- | --- | --- |\n").unwrap();
    let table = table.split("\n\n").next().unwrap();
    assert_eq!(format!("{}\n", table.trim_end()), rows, "the table of codes in OPTIONS.md");
}

#[test]
fn the_readme_is_short_and_leads_to_every_page() {
    let pages = pages();
    let readme = &pages[Path::new("README.md")];
    let lines = readme.lines().count();
    assert!(lines <= 170, "README.md has {lines} lines: what is not for a newcomer goes to a page in cue-packs");
    let index = &pages[Path::new("cue-packs/README.md")];
    for path in pages.keys().filter(|path| !path.ends_with("README.md")) {
        let name = path.file_name().unwrap().to_str().unwrap();
        assert!(index.contains(&format!("({name})")), "cue-packs/README.md lacks {name}");
    }
    for (path, text) in &pages {
        for (_, link) in text.match_indices("](").map(|(at, _)| (at, text[at + 2..].split(')').next().unwrap())) {
            let target = root().join(path).parent().unwrap().join(link.split('#').next().unwrap());
            assert!(link.contains("://") || target.exists(), "{}: {link} is not there", path.display());
        }
    }
}

/// Whether a line of a page that is not run is at least one that the program takes.
fn taken(line: &str) -> Result<(), String> {
    let line = line.split(" #").next().unwrap().trim();
    let words = line.split('"').enumerate().flat_map(|(at, part)| {
        // What stands in quotes is one word; that is all of a shell that these lines need.
        if at % 2 == 1 { vec![part] } else { part.split_whitespace().collect() }
    });
    Args::try_parse_from(words).map(|_| ()).map_err(|error| format!("{line}: {error}"))
}
