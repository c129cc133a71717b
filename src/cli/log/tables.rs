//! `log export` and `log import`: the notebook as a folder of tables.

use crate::cli::args::{ExportTables, ImportTables};
use crate::cli::failure::Failure;
use crate::cli::leftovers::sweep;
use crate::cli::notebook::{existing, failed, open};
use crate::cli::today::LocalTime;
use crate::cli::ui::Ui;
use crate::diag::shown::{Shown, ShownPath, printable};
use crate::disk;
use crate::notebook::exchange::csv::WrongCell;
use crate::notebook::exchange::read::{self, Exchanged};
use crate::notebook::exchange::write;
use crate::notebook::place::counted;
use crate::notebook::{ImportDone, Notebook, NotedOtherwise, OpenFor, Wanted};
use crate::sink::file::{FileError, Fresh, Replace};
use crate::sink::folder::FilesUnderWay;
use serde_json::json;
use std::io::Write;
use std::path::Path;

/// The largest table, in bytes: a squad of two hundred over ten years has 200 MB of repeats.
const LARGEST: u64 = 512 << 20;
/// So many problems are told; the rest is counted.
const MOST_TOLD: usize = 30;

/// Writes the tables into a new folder, whole or not at all.
pub(super) fn export(args: &ExportTables, ui: &mut Ui) -> Result<(), Failure> {
    let notebook = existing(&args.notebook, OpenFor::Reading)?;
    let practices = notebook.practices(&Wanted::default()).map_err(failed)?;
    let swimmers = notebook.swimmers().map_err(failed)?;
    let compared = notebook.comparisons().map_err(failed)?;
    let files = write::tables(&practices, &swimmers, &compared);
    let world = |error: FileError| match error {
        FileError::Exists { path } => {
            Failure::World(format!("{} exists already and stays as it is; choose another name", path.shown()))
        }
        other => Failure::world(&other),
    };
    if args.folder.symlink_metadata().is_ok() {
        return Err(world(FileError::Exists { path: args.folder.clone() }));
    }
    sweep(&args.folder, ui)?;
    let batch = FilesUnderWay::beside(&args.folder).map_err(world)?;
    let failed = |error: std::io::Error| Failure::World(format!("cannot write into {}: {error}", args.folder.shown()));
    for (name, text) in &files {
        let path = batch.path().join(name);
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).map_err(failed)?;
        }
        // How somebody swims is for nobody else to read.
        let mut file = Fresh::create_private(&path, Replace::Never).map_err(world)?;
        file.write_all(text.as_bytes()).and_then(|()| file.flush()).map_err(failed)?;
        file.commit_to_disk().map_err(world)?;
    }
    batch.into_folder(None).map_err(world)?;
    let (folder, practices) = (args.folder.shown(), counted(practices.len(), "practice"));
    ui.message(format!("{practices} of {} written into {folder}\n", counted(swimmers.len(), "swimmer")));
    Ok(())
}

/// Takes the tables of a folder in.
pub(super) fn import(args: &ImportTables, ui: &mut Ui) -> Result<(), Failure> {
    if !args.folder.is_dir() {
        let folder = args.folder.shown();
        return Err(Failure::World(format!("there is no folder {folder}: name one that `lengthwise log export` made")));
    }
    let get = |path: &str| text(&args.folder.join(path));
    let found = read::tables(&get).map_err(|wrong| told(&wrong, "imported", ui))?;
    let mut notebook = open(&args.notebook, ui)?;
    let what = format!("imported {} from {}", counted(found.practices.len(), "practice"), args.folder.shown());
    take_in(&mut notebook, &found, &what, args.replace, args.json, ui)
}

/// A text file of the folder.
fn text(path: &Path) -> Result<String, String> {
    let bytes = disk::read(path, LARGEST).map_err(|error| format!("cannot be read: {error}"))?;
    String::from_utf8(bytes).map_err(|_| "it is not UTF-8 text: save it as \"CSV UTF-8\"".to_owned())
}

/// Says what is wrong with tables, all of it up to a measure.
pub(super) fn told(wrong: &[WrongCell], what: &str, ui: &mut Ui) -> Failure {
    for cell in wrong.iter().take(MOST_TOLD) {
        ui.error(&printable(&cell.to_string()));
    }
    let more = wrong.len().saturating_sub(MOST_TOLD);
    let more = if more > 0 { format!("{more} more problems; ") } else { String::new() };
    ui.message(format!("{more}nothing was {what}\n"));
    Failure::Shown
}

/// Takes practices into the notebook, and says what came of it.
pub(super) fn take_in(
    notebook: &mut Notebook,
    found: &Exchanged,
    what: &str,
    replace: bool,
    as_json: bool,
    ui: &mut Ui,
) -> Result<(), Failure> {
    let done = notebook.import(&LocalTime::now().note(), what, found, replace).map_err(failed)?;
    let done = done.map_err(|NotedOtherwise(differing)| {
        for what in differing.iter().take(MOST_TOLD) {
            ui.error(&format!("the notebook has another: {}", printable(what)));
        }
        let more = differing.len().saturating_sub(MOST_TOLD);
        let more = if more > 0 { format!("{more} more; ") } else { String::new() };
        ui.message(format!("{more}nothing was taken in: --replace puts these in the place of the notebook's\n"));
        Failure::Shown
    })?;
    let ImportDone { added, replaced, same, profiles, comparisons } = done;
    if as_json {
        let record = json!({ "added": added, "replaced": replaced, "same": same, "profiles": profiles, "comparisons": comparisons });
        return Ok(ui.result(Shown::json(&record))?);
    }
    let parts = [(added, "new"), (replaced, "replaced"), (same, "there already")];
    let parts = parts.iter().filter(|(number, _)| *number > 0).map(|(number, word)| format!("{number} {word}"));
    let mut parts: Vec<String> = parts.collect();
    parts.extend((profiles > 0).then(|| counted(profiles, "profile")));
    parts.extend((comparisons > 0).then(|| counted(comparisons, "comparison")));
    ui.result(format!("{}\n", if parts.is_empty() { "nothing to take in".to_owned() } else { parts.join(" · ") }))?;
    if added + replaced + profiles + comparisons > 0 {
        ui.message("`lengthwise log undo` takes it back\n");
    }
    Ok(())
}
