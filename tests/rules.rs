//! The house rules that no compiler checks: layers, sizes, heads of files, where outside crates may be named, and that
//! the pages know every option. What the program does is not tested here.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on fails")]

#[path = "rules/graph.rs"]
mod graph;

use clap::CommandFactory;
use graph::{House, circles};
use lengthwise::diag::Code;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The layers from the lowest up, each a row of families (top-level modules). A file names only lower layers and its own
/// family; in a row that is ordered it may also name what stands to its left.
const LAYERS: [(&str, bool, &[&str]); 6] = [
    ("base", false, &["units", "diag", "progress", "cores", "disk", "messages", "cases", "chance"]),
    ("text", true, &["audio", "script", "whiteboard"]),
    ("people", false, &["pack", "swimmer"]),
    ("plan", true, &["practice", "lane", "timeline", "plan"]),
    (
        "work",
        true,
        &[
            "mixer",
            "conductor",
            "device",
            "sink",
            "bundle",
            "session",
            "recording",
            "tapping",
            "notebook",
            "review",
            "prepare",
            "next",
            "render",
            "authoring",
        ],
    ),
    ("faces", true, &["display", "page", "cli", "main", "lib"]),
];

/// Outside crates that one family alone may name, so that changing one of them stays a small thing.
const CONFINED: [(&str, &[&str]); 27] = [
    ("serde_yaml", &["script", "pack"]),
    ("clap", &["cli"]),
    ("clap_complete", &["cli"]),
    ("clap_mangen", &["cli"]),
    ("indicatif", &["cli"]),
    ("terminal_size", &["cli"]),
    ("signal_hook", &["cli"]),
    // In the tests of sinks it reads what was written.
    ("rodio", &["audio", "sink"]),
    ("cpal", &["device"]),
    ("ratatui", &["display"]),
    ("maud", &["page"]),
    ("base64", &["page"]),
    ("plotters", &["cli"]),
    ("ttspico", &["pack"]),
    ("flacenc", &["sink"]),
    ("id3", &["sink"]),
    ("mp3lame_encoder", &["sink"]),
    ("rawzip", &["bundle"]),
    ("any_ascii", &["sink"]),
    ("flate2", &["bundle"]),
    ("sha2", &["bundle", "next", "notebook", "page", "render"]),
    ("rustix", &["disk", "messages", "sink"]),
    ("csv_core", &["swimmer", "notebook"]),
    ("nalgebra", &["swimmer"]),
    ("statrs", &["swimmer"]),
    ("rusqlite", &["notebook"]),
    ("jiff", &["units", "session", "cli"]),
];

/// The most lines of a file.
const CAP: usize = 500;

/// (layer, place in its row where the order counts) of a family.
fn rank(family: &str) -> (usize, Option<usize>) {
    let found = LAYERS.iter().enumerate().find_map(|(layer, (_, ordered, row))| {
        let place = row.iter().position(|known| *known == family)?;
        Some((layer, ordered.then_some(place)))
    });
    found.unwrap_or_else(|| panic!("`{family}` has no layer: enter it in LAYERS"))
}

fn may_name(family: &str, other: &str) -> bool {
    let ((layer, place), (below, left)) = (rank(family), rank(other));
    family == other || below < layer || (below == layer && place.zip(left).is_some_and(|(place, left)| left < place))
}

/// Every Rust file below a folder of the crate: its name from there, and its text.
fn files(folder: &str) -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let (mut folders, mut found) = (vec![root.clone()], Vec::new());
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                // What is built there is nobody's source.
                folders.extend(Some(path).filter(|path| !path.ends_with("target")));
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                found.push((path.strip_prefix(&root).unwrap().to_owned(), fs::read_to_string(&path).unwrap()));
            }
        }
    }
    assert!(!found.is_empty(), "no Rust files in {folder}");
    found.sort();
    found
}

/// The top-level module of a file of `src`.
fn family(path: &Path) -> String {
    Path::new(path.iter().next().unwrap()).file_stem().unwrap().to_str().unwrap().to_owned()
}

/// The names that follow `prefix` (with `::` behind the name where `path` says so) in code, comments left out.
fn named<'t>(text: &'t str, prefix: &'t str) -> impl Iterator<Item = &'t str> {
    let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
    code.flat_map(move |line| line.split(prefix).skip(1))
        .map(|rest| rest.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap_or_default())
}

#[test]
fn every_path_goes_down() {
    let mut wrong = Vec::new();
    for (path, text) in files("src").iter().filter(|(path, _)| path != Path::new("build.rs")) {
        let family = family(path);
        for other in named(text, "crate::") {
            assert!(!other.is_empty(), "{}: name one module a line, not `crate::{{...}}`", path.display());
            if !may_name(&family, other) {
                wrong.push(format!("{} names crate::{other}", path.display()));
            }
        }
        for (outside, homes) in CONFINED.iter().filter(|(_, homes)| !homes.contains(&family.as_str())) {
            // What stands behind another name is a module of ours.
            let prefix = format!("{outside}::");
            let begins = |at: usize| !text[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':');
            if text.match_indices(&prefix).any(|(at, _)| begins(at)) {
                wrong.push(format!("{} names {outside}, which belongs to {}", path.display(), homes.join(", ")));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_layer_rule_can_fail() {
    assert!(may_name("sink", "mixer") && may_name("cli", "units") && may_name("render", "render"));
    for (family, other) in [("mixer", "sink"), ("units", "diag"), ("audio", "script"), ("pack", "timeline")] {
        assert!(!may_name(family, other), "{family} may not name {other}");
    }
    assert_eq!(
        named("use crate::units::x;\n// crate::cli\nf(crate::diag::Y)", "crate::").collect::<Vec<_>>(),
        ["units", "diag"]
    );
}

/// The files of `src` without the build script.
fn house() -> House {
    let files = files("src");
    House::read(
        files
            .iter()
            .filter(|(path, _)| path != Path::new("build.rs"))
            .map(|(path, text)| (path.as_path(), text.as_str())),
    )
}

#[test]
fn no_file_uses_itself_through_others() {
    let (uses, mut wrong) = (house().uses(), Vec::new());
    let circles = circles(&uses);
    for circle in &circles {
        wrong.push("these files use each other in a circle; move what both need into a file of its own:".to_owned());
        for file in circle {
            let used: Vec<_> = uses[file].intersection(circle).map(String::as_str).collect();
            wrong.push(format!("    {file} uses {}", used.join(", ")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn one_name_has_one_owner() {
    let house = house();
    let owners = house.owners();
    assert!(owners.len() > 300, "only {} types were found", owners.len());
    let mut wrong = Vec::new();
    for (name, files) in owners.iter().filter(|(_, files)| files.len() > 1) {
        wrong.push(format!("{name} is declared in {}: one keeps it, others qualify", files.join(", ")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_rules_of_the_house_can_fail() {
    let read = |files: &[(&str, &str)]| House::read(files.iter().map(|(path, text)| (Path::new(*path), *text)));
    let circle = |files: &[(&str, &str)]| circles(&read(files).uses());
    let parent = ("a.rs", "mod b; struct Shared; fn f() { b::g() }");
    assert_eq!(circle(&[parent, ("a/b.rs", "use super::Shared; pub fn g() {}")]).len(), 1, "a parent and its child");
    assert_eq!(circle(&[parent, ("a/b.rs", "fn g() { assert!(true, \"{}\", super::f()) }")]).len(), 1, "in a macro");
    let door = ("a.rs", "mod b; mod c; pub use b::Shared;");
    assert_eq!(circle(&[door, ("a/b.rs", "struct Shared;"), ("a/c.rs", "use crate::a::Shared;")]).len(), 0);
    assert_eq!(
        circle(&[
            door,
            ("a/b.rs", "use super::c::Other; struct Shared;"),
            ("a/c.rs", "use crate::a::Shared; struct Other;")
        ])
        .len(),
        1
    );
    let tested = ("a.rs", "mod b; struct Shared; #[cfg(test)] mod tests { use super::b::g; }");
    assert_eq!(circle(&[tested, ("a/b.rs", "use super::Shared; fn g() {}")]).len(), 0, "tests may look at everything");
    let house = read(&[
        ("a.rs", "struct Kind; #[cfg(test)] enum Made {}"),
        ("b.rs", "fn f() { enum Kind {} }"),
        ("c.rs", "enum Made {}"),
    ]);
    let owners = house.owners();
    assert_eq!(owners["Kind"], ["a", "b"]);
    assert_eq!(owners["Made"], ["c"]);
}

#[test]
fn no_doc_sends_the_reader_to_the_head_of_its_file() {
    let words = "head of this file";
    let found = files("src").into_iter().filter(|(_, text)| text.to_lowercase().contains(words));
    let found: Vec<String> = found.map(|(path, _)| path.display().to_string()).collect();
    assert!(found.is_empty(), "say it where it is needed, not \"see the {words}\": {found:?}");
}

#[test]
fn the_top_level_stays_small() {
    let known =
        ["Cargo.lock", "Cargo.toml", "DEVELOPERS.md", "LICENSE", "README.md", "cue-packs", "src", "target", "tests"];
    let entries = fs::read_dir(env!("CARGO_MANIFEST_DIR")).unwrap();
    let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    // The README's first command renders a practice into this folder; git leaves that out too.
    let ours = |name: &String| !name.starts_with('.') && !name.ends_with(".wav");
    let more: Vec<_> = names.filter(|name| ours(name) && !known.contains(&name.as_str())).collect();
    assert!(more.is_empty(), "{more:?} belongs into a folder");
}

#[test]
fn files_are_short_and_say_what_they_hold() {
    let mut wrong = Vec::new();
    for folder in ["src", "tests"] {
        for (path, text) in files(folder) {
            let (lines, name) = (text.lines().count(), path.display());
            if lines > CAP {
                wrong.push(format!("{folder}/{name} has {lines} lines, at most {CAP}: split it by what it holds"));
            }
            // A `mod tests;` in a file of its own has its head in the file it tests.
            if !text.starts_with("//! ") && !path.ends_with("tests.rs") {
                wrong.push(format!("{folder}/{name} does not open with `//!`"));
            }
            if path.ends_with("mod.rs") {
                wrong.push(format!("{folder}/{name}: name the file after its module"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The long options in a text.
fn options(text: &str) -> BTreeSet<String> {
    let words = text.split(|c: char| !c.is_ascii_alphanumeric() && c != '-');
    words
        .filter(|word| word.len() > 3 && word.starts_with("--") && !word.starts_with("---"))
        .map(str::to_owned)
        .collect()
}

#[test]
fn every_code_is_said_somewhere() {
    let sources: String = files("src").into_iter().map(|(_, text)| text).collect();
    let unsaid: Vec<_> = Code::ALL.iter().filter(|code| !sources.contains(&format!("Code::{code:?}"))).collect();
    assert!(unsaid.is_empty(), "no problem has the code {unsaid:?}");
}

/// The long options in the help of a command, and of the commands in it.
fn known_options(command: &mut clap::Command) -> BTreeSet<String> {
    let mut known = options(&command.render_long_help().to_string());
    command.get_subcommands_mut().for_each(|inner| known.extend(known_options(inner)));
    known
}

/// A page of what the program does, by its name in `cue-packs`.
fn page(name: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("cue-packs").join(name)).unwrap()
}

#[test]
fn the_pages_have_every_option_and_no_other() {
    let mut command = lengthwise::cli::args::Args::command();
    command.build();
    let known = known_options(&mut command);
    assert!(known.contains("--timeline") && known.contains("--help"), "{known:?}");
    let missing: Vec<_> = known.difference(&options(&page("OPTIONS.md"))).cloned().collect();
    assert!(missing.is_empty(), "OPTIONS.md lacks {}", missing.join(", "));
    let readme = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    let pages = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("cue-packs")).unwrap();
    let names = pages.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let texts = names.filter(|name| name.ends_with(".md")).map(|name| (name.clone(), page(&name)));
    for (name, text) in texts.chain([("README.md".to_owned(), readme)]) {
        // Lines with other programs have options of their own.
        let foreign = |line: &&str| !["cargo", "apt", "make-voice.py"].iter().any(|word| line.contains(word));
        let own = text.lines().filter(foreign).collect::<Vec<_>>().join("\n");
        let strange: Vec<_> = options(&own).difference(&known).cloned().collect();
        assert!(strange.is_empty(), "{name} names {}, which no command has", strange.join(", "));
    }
}

#[test]
fn the_pages_have_every_key() {
    let (live, lane) = (page("LIVE.md"), page("LANES.md"));
    let tables = [
        (&live, lengthwise::display::keys::markdown(lengthwise::display::key_tables::KEYS)),
        (&lane, lengthwise::display::keys::markdown(lengthwise::display::key_tables::LANE_KEYS)),
        (&page("MAKE.md"), lengthwise::recording::answer::markdown()),
        (&live, lengthwise::display::taps::keys::markdown()),
    ];
    for (page, table) in tables {
        assert!(page.contains(&table), "a page needs this table:\n{table}");
    }
}

/// What a path is shown as has one way out: `ShownPath`. Where it is data, its text is taken as it is.
#[test]
fn paths_are_shown_on_one_line() {
    let is_test = |path: &Path| path.ends_with("tests.rs") || path.iter().any(|part| part == "tests");
    let wrong: Vec<String> = files("src")
        .iter()
        .filter(|(path, _)| !is_test(path))
        .filter(|(_, text)| text.split("#[cfg(test)]\nmod tests").next().unwrap().contains(".display()"))
        .map(|(path, _)| path.display().to_string())
        .collect();
    assert!(wrong.is_empty(), "`.display()` shows ends of lines as they are, use `.shown()`: {}", wrong.join(", "));
}
