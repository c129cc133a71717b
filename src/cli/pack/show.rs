//! `pack show`: what a pack holds.

use super::shelf::{open, shelf};
use crate::cli::args::Show;
use crate::cli::columns::columns;
use crate::cli::failure::Failure;
use crate::cli::ui::Ui;
use crate::diag::has_errors;
use crate::diag::shown::{Shown, ShownPath};
use crate::pack::library::Role;
use crate::pack::shelf::{HeardFrom, OpenedPack, PackLine};
use crate::plan::json::problem;
use crate::script::BeatTrack;
use crate::units::time::Seconds;
use serde_json::{Value, json};

/// Runs the command.
pub fn run(args: &Show, ui: &mut Ui) -> Result<(), Failure> {
    let opened = open(&shelf(&args.shelves), &args.pack)?;
    let text = if args.json {
        Shown::json(&record(&opened))
    } else {
        ui.problems(&opened.problems, &opened.sources);
        page(&opened)
    };
    ui.result(text)?;
    if has_errors(&opened.problems) { Err(Failure::Shown) } else { Ok(()) }
}

/// Where a text is heard from: in words, and for how long.
fn heard(source: &HeardFrom) -> (String, Option<Seconds>) {
    match source {
        HeardFrom::Own(own) => ("recorded".to_owned(), Some(own.len)),
        HeardFrom::Borrowed(pack, len) => (format!("from {pack}"), Some(*len)),
        HeardFrom::Broken(_) => ("cannot be read".to_owned(), None),
        HeardFrom::Missing => ("missing".to_owned(), None),
    }
}

fn page(opened: &OpenedPack) -> Shown {
    let mut text = Shown::heading(&opened.name) + "\n";
    let Some(manifest) = &opened.manifest else { return text };
    let mut fact = |name: &str, value: &str| text.push(format!("{name:<10} {value}\n"));
    fact("title", &manifest.title);
    fact("where", &opened.place);
    fact("version", &manifest.version().to_string());
    fact("language", &manifest.language);
    fact("voice", &manifest.voice);
    fact("agreed", &manifest.agreed);
    fact("licence", &manifest.licence);
    let uses: Vec<&str> = manifest.uses.iter().map(|name| name.value.as_str()).collect();
    if !uses.is_empty() {
        fact("uses", &uses.join(", "));
    }
    for (key, role) in Role::ALL {
        let lines: Vec<&PackLine> = opened.lines.iter().filter(|line| line.role == role).collect();
        if lines.is_empty() {
            continue;
        }
        text.push(Shown::from("\n") + Shown::heading(&format!("{key}: {}", lines.len())) + "\n");
        let rows: Vec<[String; 4]> = lines.into_iter().map(row).collect();
        text.extend(columns(&rows).into_iter().map(|line| format!("  {line}\n")));
    }
    if !manifest.beats.is_empty() {
        text.push(Shown::from("\n") + Shown::heading("beats") + "\n");
        let rows: Vec<[String; 2]> =
            manifest.beats.iter().map(|(id, track)| [id.value.clone(), track_words(track)]).collect();
        text.extend(columns(&rows).into_iter().map(|line| format!("  {line}\n")));
    }
    if !opened.scripts.is_empty() {
        text.push(Shown::from("\n") + Shown::heading("scripts") + "\n");
        text.extend(opened.scripts.iter().map(|script| format!("  {}\n", script.shown())));
    }
    text
}

fn row(line: &PackLine) -> [String; 4] {
    let (from, len) = heard(&line.source);
    let id = if line.short { "  short".to_owned() } else { line.id.clone() };
    [id, len.map_or_else(|| "-".to_owned(), |len| format!("{:.1} s", len.as_f64())), from, line.text.clone()]
}

fn track_words(track: &BeatTrack) -> String {
    let accent = track.accent.as_ref().map_or_else(String::new, |(every, _)| format!(", an accent every {every}"));
    format!("every {}{accent}", ordinal(track.every))
}

fn ordinal(every: u32) -> String {
    if every == 1 { "stroke".to_owned() } else { format!("{every} strokes") }
}

fn record(opened: &OpenedPack) -> Value {
    let manifest = opened.manifest.as_ref();
    let texts: Vec<Value> = opened
        .lines
        .iter()
        .map(|line| {
            let PackLine { role, id, short, text, source, .. } = line;
            let (from, file) = match source {
                HeardFrom::Own(own) => ("own".to_owned(), Some(own.name.clone())),
                HeardFrom::Borrowed(pack, _) => (pack.clone(), None),
                HeardFrom::Broken(file) => ("unreadable".to_owned(), Some(file.clone())),
                HeardFrom::Missing => ("missing".to_owned(), None),
            };
            let len = heard(source).1.map(Seconds::as_f64);
            json!({ "section": role.folder(), "id": id, "short": short, "text": text, "heard_from": from, "file": file, "length_s": len })
        })
        .collect();
    let problems: Vec<Value> = opened.problems.iter().map(|found| problem(found, &opened.sources)).collect();
    json!({
        "name": opened.name,
        "place": opened.place,
        "title": manifest.map(|m| &m.title),
        "version": manifest.map(|m| m.version()),
        "language": manifest.map(|m| &m.language),
        "voice": manifest.map(|m| &m.voice),
        "agreed": manifest.map(|m| &m.agreed),
        "licence": manifest.map(|m| &m.licence),
        "uses": manifest.map(|m| m.uses.iter().map(|name| &name.value).collect::<Vec<_>>()),
        "texts": texts,
        "beats": manifest.map(|m| m.beats.iter().map(|(id, _)| &id.value).collect::<Vec<_>>()),
        "scripts": opened.scripts,
        "diagnostics": problems,
    })
}
