//! `pack list`: the cue packs there are.

use super::shelf::shelf;
use crate::cli::args::List;
use crate::cli::columns::columns;
use crate::cli::failure::Failure;
use crate::cli::ui::Ui;
use crate::diag::shown::{Shown, ShownPath};
use crate::pack::shelf::Standing;
use serde_json::{Value, json};

/// Runs the command.
pub fn run(args: &List, ui: &mut Ui) -> Result<(), Failure> {
    for folder in &args.shelves.packs {
        let unread = |error| Failure::World(format!("cannot look into {}: {error}", folder.shown()));
        std::fs::read_dir(folder).map_err(unread)?;
    }
    let found = shelf(&args.shelves).list();
    let text = if args.json {
        let packs: Vec<Value> = found.iter().map(record).collect();
        Shown::json(&json!({ "packs": packs }))
    } else {
        table(&found)
    };
    Ok(ui.result(text)?)
}

fn record(standing: &Standing) -> Value {
    let Standing { name, place, says, hidden } = standing;
    let mut record = json!({ "name": name, "place": place, "hidden": hidden, "readable": says.is_some() });
    if let (Some(says), Some(record)) = (says, record.as_object_mut()) {
        record.extend([
            ("title".to_owned(), json!(says.title)),
            ("voice".to_owned(), json!(says.voice)),
            ("language".to_owned(), json!(says.language)),
            ("version".to_owned(), json!(says.version)),
            ("texts".to_owned(), json!(says.texts)),
            ("recordings".to_owned(), json!(says.recordings)),
            ("scripts".to_owned(), json!(says.scripts)),
        ]);
    }
    record
}

fn table(found: &[Standing]) -> Shown {
    let heads = ["name", "title", "voice", "language", "texts", "recorded", "scripts", "where"].map(str::to_owned);
    let row = |standing: &Standing| {
        let (name, place) = (standing.name.clone(), standing.place.clone());
        let place = if standing.hidden { format!("{place} (behind another of this name)") } else { place };
        match &standing.says {
            Some(says) => [
                name,
                says.title.clone(),
                says.voice.clone(),
                says.language.clone(),
                says.texts.to_string(),
                says.recordings.to_string(),
                says.scripts.to_string(),
                place,
            ],
            None => {
                [&name, "(its pack.yaml cannot be read)", "", "", "", "", "", &place].map(|cell: &str| cell.to_owned())
            }
        }
    };
    let rows: Vec<[String; 8]> = std::iter::once(heads).chain(found.iter().map(row)).collect();
    let mut lines = columns(&rows).into_iter();
    let head = lines.next().map(|head| Shown::faint(&head) + "\n");
    head.into_iter().chain(lines.map(|line| Shown::from(line + "\n"))).collect()
}
