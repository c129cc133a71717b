//! The language reference and the schema for editors against the parser: neither knows a key, a word or a value that is not
//! read, or lacks one that is.

use lengthwise::diag::explain::{self, ExampleFile};
use lengthwise::diag::{Code, Diagnostic, Severity, Sources};
use lengthwise::pack::builtin;
use lengthwise::plan::json;
use lengthwise::prepare::{self, PracticeRequest};
use lengthwise::script::parse::parse_partly;
use lengthwise::script::schema;
use lengthwise::script::templates;
use lengthwise::swimmer::lanes;
use lengthwise::timeline::dump::dump;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

const LANGUAGE: &str = include_str!("../../cue-packs/LANGUAGE.md");

fn problems_of(script: &str) -> Vec<Diagnostic> {
    let mut sources = Sources::new();
    let source = sources.add("a.yaml", script);
    let (script, mut problems) = parse_partly(source, &sources);
    // Who shares a lane is read by another reader, which knows swimmers.
    problems.extend(script.iter().flat_map(|script| lanes::of_script(script).1));
    problems
}

/// The plan and every cue of a script, or its problems.
fn planned(script: &str) -> Result<String, Vec<Diagnostic>> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.yaml");
    fs::write(&path, script).unwrap();
    let outcome = prepare::plan(&PracticeRequest { script: path, ..PracticeRequest::default() }).unwrap();
    if !outcome.diagnostics.is_empty() {
        return Err(outcome.diagnostics);
    }
    let planned = outcome.planned.unwrap();
    let plan = json::plan(Some(&planned.plan), None, &[], &outcome.sources).text(false);
    Ok(plan + &dump(&planned.built.timeline, &planned.library))
}

/// The keys of each map of the language, and the words of each key that has only words: as the parser tells them when it
/// meets one that nobody has.
fn language() -> BTreeMap<String, BTreeSet<String>> {
    let probe = "lengthwise: 1\npool: 25 m\nqqq: 1\n\
        lane: { qqq: 1, regroup: { qqq: 1 }, lanes: [{ lane: 1, qqq: 1 }], swimmers: [{ name: A, lane: 1, qqq: 1 }] }\nsettings: { qqq: 1 }\nbeats: { a: { qqq: 1, accent: { qqq: 1 } } }\npractice:\n\
        - { set: A, qqq: 1, swim: 50 m, tempo: { qqq: 1 }, focus: { qqq: 1 }, breathe: { qqq: 1 }, strokes: { qqq: 1 },\n\
           lengths: [{ qqq: 1 }] }\n- { set: B, course: { qqq: 1 } }\n- { set: C, do: [{ qqq: 1 }] }\n\
        - { say: a, qqq: 1 }\n- { rest: 1 s, qqq: 1 }\n";
    let quoted = |list: &str| list.split('`').skip(1).step_by(2).map(str::to_owned).collect();
    let mut found = BTreeMap::new();
    for problem in problems_of(probe).iter().filter(|problem| problem.code == Code::UnknownKey) {
        let (place, _) = problem.message.split_once(" has no key").unwrap();
        let (_, keys) = problem.hint.as_deref().unwrap().split_once("llowed: ").unwrap();
        let place = if place == "a swimmer" { "a swimmer of a lane" } else { place };
        found.insert(place.to_owned(), quoted(keys));
    }
    let words = "lengthwise: 1\ntitle: A\npool: 25 m\nbeats: { a: { sound: qqq } }\npractice:\n- set: A\n  swim: 50 m\n  \
        phase: qqq\n  effort: qqq\n  part: qqq\n  stroke: qqq\n  gear: [qqq]\n  count: qqq\n  test: qqq\n  end: qqq\n  \
        focus: { phrases: a, change: qqq, order: qqq }\n";
    for problem in problems_of(words) {
        let (key, words) = problem.message.split_once(" is `qqq`; allowed: ").unwrap();
        found.insert(format!("words of {}", key.trim_matches('`')), quoted(words));
    }
    found
}

/// A row of a table of LANGUAGE.md: key, value, what holds where it is not written.
type Row = (String, String, String);

/// The tables of keys, by the place that their heading names.
fn tables() -> BTreeMap<String, Vec<Row>> {
    let mut tables = BTreeMap::new();
    for section in LANGUAGE.split("\n## ").skip(1) {
        let (heading, body) = section.split_once('\n').unwrap();
        let rows = body.lines().skip_while(|line| !line.starts_with("| key ")).skip(2);
        let row = |line: &str| {
            let cells: Vec<_> = line.trim_matches('|').split(" | ").map(|cell| cell.trim().to_owned()).collect();
            let [key, value, absent] = <[String; 3]>::try_from(cells).unwrap_or_else(|cells| panic!("{cells:?}"));
            (key.trim_matches('`').to_owned(), value, absent)
        };
        let rows: Vec<Row> = rows.take_while(|line| line.starts_with('|')).map(row).collect();
        if !rows.is_empty() {
            let place = heading[..1].to_lowercase() + &heading[1..];
            tables.insert(place, rows);
        }
    }
    tables
}

#[test]
fn the_reference_has_every_key_and_no_other() {
    let mut language = language();
    language.retain(|place, _| !place.starts_with("words of"));
    // A set's table has what a swim's lacks.
    let swim = language["a swim"].clone();
    language.get_mut("a set").unwrap().retain(|key| !swim.contains(key));
    let keys = |rows: Vec<Row>| rows.into_iter().map(|row| row.0).collect::<BTreeSet<_>>();
    let written: BTreeMap<_, _> = tables().into_iter().map(|(place, rows)| (place, keys(rows))).collect();
    assert_eq!(written, language);
}

/// A script with `key: value` in one place, and around it what must be there.
fn script_with(place: &str, key: &str, value: &str) -> String {
    let entry = format!("{key}: {value}");
    let unless = |known: &str, text: &str| if key == known { String::new() } else { format!("{text}\n") };
    let head = "lengthwise: 1\ntitle: A\npool: 25 m\npack: first-lengths\n";
    let set = |line: &str| format!("{head}practice:\n- set: A\n  swim: 4 x 50 m\n  rest: 1:00\n  {line}\n");
    match place {
        "the script" => {
            let wanted = [
                "lengthwise: 1",
                "title: A",
                "pool: 25 m",
                "pack: first-lengths",
                "practice: [{ set: A, swim: 50 m }]",
            ];
            let line = |line: &str| if line.starts_with(&format!("{key}:")) { entry.clone() } else { line.to_owned() };
            let mut lines: Vec<_> = wanted.into_iter().map(line).collect();
            if !lines.contains(&entry) {
                lines.push(entry);
            }
            lines.join("\n")
        }
        "the map of settings" => {
            format!("{head}settings:\n  {entry}\npractice: [{{ set: A, swim: 4 x 50 m on 2:00, tempo: 1.20 s }}]\n")
        }
        "a beat track" | "an accent" => {
            let own = if place == "an accent" {
                format!(
                    "    sound: wood\n    accent:\n{}{}      {entry}\n",
                    unless("every", "      every: 3"),
                    unless("sound", "      sound: bell")
                )
            } else {
                format!("{}    {entry}\n", unless("sound", "    sound: wood"))
            };
            format!(
                "{head}beats:\n  own:\n{own}practice: [{{ set: A, swim: 4 x 50 m on 2:00, tempo: 1.20 s, beats: own }}]\n"
            )
        }
        "a set" if key == "set" => format!("{head}practice:\n- {entry}\n  swim: 50 m\n"),
        "a set" if key == "do" => format!("{head}practice:\n- set: A\n  {entry}\n"),
        "a set" if key == "between-rounds" => set(&format!("rounds: 2\n  {entry}")),
        "a set" => set(&entry),
        "a swim" => {
            let swim = match key {
                "course" => String::new(),
                "for" => "    swim: 50 m\n".to_owned(),
                _ => unless("swim", "    swim: 4 x 50 m"),
            };
            let rest = if key == "send-off" || value.contains("on 1:30") {
                String::new()
            } else {
                unless("rest", "    rest: 1:00")
            };
            format!("{head}practice:\n- set: A\n  do:\n  - {entry}\n{swim}{rest}")
        }
        "a range" => {
            let pace = value.contains(':') || value == "5 s";
            let (name, first, last) = match (pace, value.contains("/min")) {
                (true, _) => ("pace", "2:20", "1:30"),
                (_, true) => ("tempo", "40 /min", "70 /min"),
                (_, false) => ("tempo", "1.50 s", "0.90 s"),
            };
            let (from, to) = (unless("from", &format!("    from: {first}")), unless("to", &format!("    to: {last}")));
            set(&format!("{name}:\n{from}{to}    {entry}"))
        }
        "a focus" => {
            let phrases = unless("phrases", "    phrases: [reach-forward, head-still]");
            set(&format!("focus:\n{phrases}    {entry}"))
        }
        "an entry of `lengths`" => set(&format!("lengths:\n  - {entry}")),
        "`strokes`" => set(&format!("strokes:\n    {entry}")),
        "breathing by sides" => {
            let other = if key == "right" { "left: 20" } else { "right: 20" };
            set(&format!("breathe:\n    {entry}\n    {other}"))
        }
        "a course" => {
            let lap = unless("lap", "    lap: 380 m");
            let head = head.replace("25 m", "open water");
            format!("{head}practice:\n- set: A\n  course:\n{lap}    {entry}\n")
        }
        "the lane" => {
            let swimmers = unless("swimmers", "  swimmers: [{ name: A, hundred: 1:50, lane: 1 }]");
            format!("{head}lane:\n{swimmers}  {entry}\npractice: [{{ set: A, swim: 4 x 50 m, rest: 1:00 }}]\n")
        }
        "a regroup" => {
            let (every, pause) = (unless("every", "    every: 4 repeats"), unless("for", "    for: 45 s"));
            set(&format!("regroup:\n{every}{pause}    {entry}"))
        }
        "an entry of `lanes`" => {
            let name = unless("lane", "    lane: A");
            let lane = if key == "lane" { value } else { "A" };
            let swimmers = format!("  swimmers: [{{ name: A, hundred: 1:50, lane: {lane} }}]");
            let lanes = format!("  lanes:\n  -\n{name}    {entry}\n");
            format!("{head}lane:\n{swimmers}\n{lanes}practice: [{{ set: A, swim: 4 x 50 m, rest: 1:00 }}]\n")
        }
        "a swimmer of a lane" => {
            let known = match key {
                "hundred" | "profile" | "stroke" | "pace" => String::new(),
                _ => "    hundred: 1:50\n".to_owned(),
            };
            let name = unless("name", "    name: A");
            let swimmer = format!("  swimmers:\n  -\n{name}{known}    {entry}\n");
            format!("{head}lane:\n{swimmer}practice: [{{ set: A, swim: 4 x 50 m, rest: 1:00 }}]\n")
        }
        "a `say` entry" => format!("{head}practice:\n- {entry}\n"),
        "a standing rest" => format!("{head}practice:\n- {entry}\n"),
        _ => panic!("no script for {place}"),
    }
}

/// What the parser holds against a value. That it does not go with its surroundings is not its fault.
fn refused(place: &str, key: &str, value: &str) -> Vec<Diagnostic> {
    let mut found = problems_of(&script_with(place, key, value));
    found.retain(|problem| problem.code != Code::Conflict && problem.severity() == Severity::Error);
    found
}

/// The value one step lower or higher in its last digits; `None` where there is no such step.
fn beside(value: &str, step: i64) -> Option<String> {
    let end = value.rfind(|c: char| c.is_ascii_digit())? + 1;
    let digits = value[..end].rfind(|c: char| !c.is_ascii_digit()).map_or(0, |at| at + 1);
    let negative = value[..digits].ends_with('-');
    let number: i64 = value[digits..end].parse().ok()?;
    let moved = if negative { -number + step } else { number + step };
    let before = value[..digits].trim_end_matches('-');
    if moved < 0 && !before.is_empty() {
        return None;
    }
    let width = if moved < 0 { end - digits + 1 } else { end - digits };
    Some(format!("{before}{moved:0width$}{}", &value[end..]))
}

#[test]
fn the_next_value_is_found() {
    let cases = [
        ("3 s", -1, "2 s"),
        ("1:00:00", 1, "1:00:01"),
        ("-8 LUFS", 1, "-7 LUFS"),
        ("2.5 s", 1, "2.6 s"),
        ("0 s", -1, "-1 s"),
    ];
    for (value, step, wanted) in cases {
        assert_eq!(beside(value, step).as_deref(), Some(wanted));
    }
}

#[test]
fn every_value_of_the_reference_is_read_and_the_next_one_outside_is_not() {
    let (mut values, mut edges) = (0, 0);
    for (place, rows) in tables() {
        for (key, written, _) in rows {
            // Words that only name other keys or parts of the language stand without backticks in the value's column.
            for value in written.split('`').skip(1).step_by(2) {
                assert_eq!(refused(&place, &key, value), [], "{place}: `{key}: {value}`");
                values += 1;
            }
            for range in written.split("from `").skip(1) {
                let Some((low, rest)) = range.split_once("` to `") else {
                    panic!("{place}, {key}: from where to where? {range}")
                };
                let (high, _) = rest.split_once('`').unwrap();
                for outside in [beside(low, -1), beside(high, 1)].into_iter().flatten() {
                    assert_ne!(refused(&place, &key, &outside), [], "{place}: `{key}: {outside}` is outside");
                    edges += 1;
                }
            }
        }
    }
    assert!(values > 150 && edges > 50, "{values} values, {edges} edges");
}

#[test]
fn what_the_reference_assumes_changes_nothing_when_written_out() {
    let (mut tried, mut wrong) = (0, Vec::new());
    for (place, rows) in tables() {
        for (key, _, absent) in rows {
            let Some(value) = absent.strip_prefix('`').and_then(|rest| rest.strip_suffix('`')) else { continue };
            let with = script_with(&place, &key, value);
            let line =
                with.lines().find(|line| line.trim().trim_start_matches("- ") == format!("{key}: {value}")).unwrap();
            // The first key of an entry carries its dash.
            let without = match line.trim_start().strip_prefix("- ") {
                Some(_) => with.replace(&format!("{line}\n"), "").replace("    swim: 4", "  - swim: 4"),
                None => with.replace(&format!("{line}\n"), ""),
            };
            let without = without.replace("settings:\npractice", "practice");
            assert_ne!(with, without);
            let (with, without) = (planned(&with), planned(&without));
            if with != without || with.is_err() {
                let lines = |plan: &Result<String, _>| {
                    plan.as_deref().map_or(Vec::new(), |plan| plan.lines().map(str::to_owned).collect())
                };
                let other: Vec<_> = lines(&with).into_iter().filter(|line| !lines(&without).contains(line)).collect();
                wrong.push(format!("{place}: `{key}: {value}` makes {other:#?} {:?}", with.err()));
            }
            tried += 1;
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(tried >= 14, "{tried} defaults");
}

/// The YAML blocks of the reference.
fn examples() -> impl Iterator<Item = &'static str> {
    LANGUAGE.split("```yaml\n").skip(1).map(|rest| rest.split("```").next().unwrap())
}

#[test]
fn the_examples_of_the_reference_pass_and_have_every_key() {
    let mut all = String::new();
    for example in examples() {
        if let Err(problems) = planned(example) {
            panic!("{example}\n{problems:#?}");
        }
        all += example;
    }
    for (place, keys) in language().iter().filter(|(place, _)| !place.starts_with("words of")) {
        let lacking: Vec<_> = keys
            .iter()
            .filter(|key| !all.contains(&format!("{key}: ")) && !all.contains(&format!("{key}:\n")))
            .collect();
        assert!(lacking.is_empty(), "no example has {lacking:?} of {place}");
    }
}

// The schema.

/// Leaves scripts as JSON, as an editor would read them, for the validator in `tests/schema`, which is a crate of its own so
/// that nothing else waits for it.
fn leave_for_the_validator(name: &str, scripts: &[impl AsRef<str>]) {
    let read =
        |script: &str| -> Value { serde_yaml::from_str(script).unwrap_or_else(|error| panic!("{script}\n{error}")) };
    let read: Vec<_> = scripts.iter().map(|script| read(script.as_ref())).collect();
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("schema");
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("schema.json"), schema::schema()).unwrap();
    fs::write(folder.join(name), serde_json::to_string_pretty(&read).unwrap()).unwrap();
}

const GOOD: &str =
    "lengthwise: 1\ntitle: A\npool: 25 m\npractice:\n- { set: A, swim: 4 x 50 m, rest: 20 s, tempo: 1.20 s }\n";

/// The scripts of one side of a page.
fn scripts_of(parts: &[ExampleFile<'static>]) -> impl Iterator<Item = String> {
    parts.iter().filter_map(|part| if let ExampleFile::Script(script) = part { Some(script.to_string()) } else { None })
}

#[test]
fn the_schema_takes_what_check_takes() {
    let mut good = vec![GOOD.to_owned()];
    good.extend(templates::ALL.iter().map(|template| template.text.to_owned()));
    let shipped = builtin::packs().iter().flat_map(|pack| pack.scripts());
    good.extend(shipped.map(|script| script.text.to_owned()));
    good.extend(examples().map(str::to_owned));
    for code in Code::ALL {
        let page = explain::page(*code).unwrap();
        good.extend(scripts_of(&page.mended));
        // What is wrong with a caution is beyond a schema.
        if code.severity() == Severity::Caution {
            good.extend(scripts_of(&page.wrong));
        }
    }
    // Each value of the reference's tables.
    for (place, rows) in tables() {
        for (key, written, _) in rows {
            let values = written.split('`').skip(1).step_by(2).map(|value| script_with(&place, &key, value));
            good.extend(values.filter(|script| problems_of(script).is_empty()));
        }
    }
    assert!(good.len() > 150, "{}", good.len());
    leave_for_the_validator("good.json", &good);
}

#[test]
fn the_schema_marks_what_is_broken() {
    let cases = [
        ("lengthwise: 1", "lengthwise: 2"),
        ("title: A\n", ""),
        ("pool: 25 m", "pool: 25"),
        ("tempo: 1.20 s", "tempo: 1.20"),
        ("tempo: 1.20 s", "temp: 1.20 s"),
        ("tempo: 1.20 s", "effort: eazy"),
        ("tempo: 1.20 s", "send-off: 1:30"),
        ("tempo: 1.20 s", "do: [{ swim: 50 m }]"),
        ("tempo: 1.20 s", "rounds: 0"),
        ("tempo: 1.20 s", "tempo: { from: 1.20 s }"),
        ("tempo: 1.20 s", "gear: [fins, fins]"),
        ("tempo: 1.20 s", "focus: { phrases: a, order: random }"),
        ("tempo: 1.20 s", "lengths: [{}]"),
        ("4 x 50 m", "4 x 50 m @ 1:30"),
        ("4 x 50 m", "4 x 50"),
        ("- { set", "- { sets"),
        ("practice:\n- ", "practice:\n  "),
    ];
    let broken = cases.map(|(right, wrong)| {
        let script = GOOD.replace(right, wrong);
        assert_ne!(script, GOOD);
        assert_ne!(problems_of(&script), [], "{script}");
        script
    });
    leave_for_the_validator("broken.json", &broken);
}

#[test]
fn the_schema_has_the_keys_and_words_of_the_parser() {
    let schema: Value = serde_json::from_str(&schema::schema()).unwrap();
    let defs = &schema["$defs"];
    let keys = |map: &Value| map["properties"].as_object().unwrap().keys().cloned().collect::<BTreeSet<_>>();
    let words = |value: &Value| {
        value["enum"].as_array().unwrap().iter().map(|word| word.as_str().unwrap().to_owned()).collect()
    };
    let lane = &defs["lane"];
    let (swim, set, focus) = (&defs["swim"]["properties"], &defs["set"], &defs["focus"]["anyOf"][1]);
    let mut gear: BTreeSet<String> = words(&swim["gear"]["anyOf"][0]);
    assert_eq!(swim["gear"]["anyOf"][2]["items"]["enum"], swim["gear"]["anyOf"][0]["enum"]);
    gear.retain(|word| word != "none");
    let entries = schema["properties"]["practice"]["items"]["anyOf"].as_array().unwrap();
    let ours = BTreeMap::from([
        ("the script", keys(&schema)),
        ("the map of settings", keys(&schema["properties"]["settings"])),
        ("a beat track", keys(&defs["beat-track"])),
        ("an accent", keys(&defs["beat-track"]["properties"]["accent"])),
        ("a set", keys(set)),
        ("a swim", keys(&defs["swim"])),
        ("a range", keys(&defs["tempo"]["anyOf"][2])),
        ("a focus", keys(focus)),
        ("breathing by sides", keys(&swim["breathe"]["anyOf"][1])),
        ("`strokes`", keys(&swim["strokes"])),
        ("a course", keys(&swim["course"])),
        ("an entry of `lengths`", keys(&defs["length"])),
        ("a regroup", keys(&defs["regroup"])),
        ("the lane", keys(lane)),
        ("an entry of `lanes`", keys(&lane["properties"]["lanes"]["items"])),
        ("a swimmer of a lane", keys(&lane["properties"]["swimmers"]["items"])),
        ("a `say` entry", keys(&entries[1])),
        ("a standing rest", keys(&entries[2])),
        ("words of sound", words(&defs["beat-track"]["properties"]["sound"])),
        ("words of phase", words(&set["properties"]["phase"])),
        ("words of effort", words(&swim["effort"])),
        ("words of part", words(&swim["part"])),
        ("words of stroke", words(&swim["stroke"])),
        ("words of gear", gear),
        ("words of count", words(&swim["count"])),
        ("words of test", words(&swim["test"])),
        ("words of end", words(&swim["end"])),
        ("words of change", words(&focus["properties"]["change"]["anyOf"][0])),
        ("words of order", words(&focus["properties"]["order"])),
    ]);
    let mut language = language();
    // The message about `change` adds the form with strokes.
    if let Some(change) = language.get_mut("words of change") {
        change.remove("12 strokes");
    }
    assert_eq!(ours.into_iter().map(|(place, keys)| (place.to_owned(), keys)).collect::<BTreeMap<_, _>>(), language);
}
