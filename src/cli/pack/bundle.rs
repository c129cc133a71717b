//! `pack bundle`: a pack in one file. What belongs into it is not known here.

use super::check;
use super::open::{contents, failure, quoted, voice};
use super::shelf::shelf;
use crate::authoring::pack_check;
use crate::bundle::write::{BundleRequest, Bundled, bundle};
use crate::cli::args::Bundle;
use crate::cli::failure::Failure;
use crate::cli::leftovers::sweep;
use crate::cli::ui::{Ui, stop_on_signals};
use crate::diag::shown::{Shown, ShownPath};
use crate::pack::{builtin, manifest};
use serde_json::json;
use std::path::Path;
use std::sync::Arc;

/// The most names of files that are listed as left out.
const MOST_LISTED: usize = 12;

/// Runs the command.
pub fn run(args: &Bundle, ui: &mut Ui) -> Result<(), Failure> {
    let shelf = shelf(&args.shelves);
    // What is not a pack at all is reported by its bundling.
    let pack = args.folder.to_str().and_then(|folder| shelf.open(folder).ok());
    let folder = match &pack {
        Some(pack) => pack.folder.clone().ok_or_else(|| {
            let name = &pack.name;
            Failure::Usage(format!("`{name}` comes with the program: whoever has that has the pack"))
        })?,
        None => args.folder.clone(),
    };
    // Only what keeps it from being used counts here: nothing needs to be said.
    let checked = pack.map(|pack| pack_check::check(pack, &shelf, None));
    if let Some(checked) = checked.as_ref().filter(|checked| checked.has_errors()) {
        return Err(check::refuse(checked, args.json, ui));
    }
    let stop = Arc::default();
    stop_on_signals(&stop)?;
    let request = BundleRequest { folder: folder.clone(), output: args.output.clone(), raise: args.raise, stop };
    // Where it is not named, the file lies here.
    sweep(args.output.as_deref().unwrap_or(Path::new("NAME.zip")), ui)?;
    sweep(&folder.join(manifest::FILE), ui)?;
    let bundled = bundle(&request).map_err(|error| failure(error, args.json, ui))?;
    let cautions = checked.map_or(0, |checked| checked.findings.len());
    let text = if args.json { json(&bundled) } else { text(&bundled, &folder, cautions) };
    Ok(ui.result(text)?)
}

fn json(bundled: &Bundled) -> Shown {
    let Bundled { output, same, bytes, sum, about, left_out } = bundled;
    let record = json!({
        "output": output.to_string_lossy().into_owned(), "written": !same, "bytes": bytes, "sha256": sum,
        "pack": about, "left_out": left_out,
    });
    Shown::json(&record)
}

fn text(bundled: &Bundled, folder: &Path, cautions: usize) -> Shown {
    let Bundled { output, same, bytes, about, left_out, .. } = bundled;
    let size = libm::ceil(*bytes as f64 / 1024.0);
    let file = output.shown();
    let done = if *same { "is there already, with the same content" } else { "written" };
    let mut text = Shown::heading(&file) + format!(" {done}: {size} KiB\n");
    text.push(format!("{}, version {} · {}\n", about.name, about.version, contents(about)));
    text.push(voice(about));
    if !left_out.is_empty() {
        let listed: Vec<&str> = left_out.iter().take(MOST_LISTED).map(String::as_str).collect();
        let more = match left_out.len().saturating_sub(MOST_LISTED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        text.push(format!("Left out, as no part of the pack: {}{more}\n", listed.join(", ")));
    }
    if cautions > 0 {
        let folder = quoted(&folder.shown());
        text.push(format!("Found in its recordings: {cautions}; `lengthwise pack check {folder}` tells\n"));
    }
    text.push("Whoever gets it: lengthwise pack open FILE\n");
    if builtin::pack(&about.name).is_some() {
        text.push("Its name is that of a pack of the program: it is opened with --into DIR only\n");
    }
    text
}
