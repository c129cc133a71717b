//! `log remove`, `log undo`, `log backup`: what changes or copies the notebook as it is.

use super::kept::{kept, line_of};
use crate::cli::args::{BackupNotebook, RemovePractice, UndoChange};
use crate::cli::failure::Failure;
use crate::cli::notebook::{existing, failed};
use crate::cli::today::LocalTime;
use crate::cli::ui::Ui;
use crate::diag::shown::{ShownPath, printable};
use crate::notebook::OpenFor;

/// Takes a practice out.
pub(super) fn remove(args: &RemovePractice, ui: &mut Ui) -> Result<(), Failure> {
    let mut notebook = existing(&args.notebook, OpenFor::Writing)?;
    let (id, practice) = kept(&notebook, args.number)?;
    let what = format!("removed {}", line_of(&practice));
    notebook.remove(&LocalTime::now().note(), &what, id).map_err(failed)?;
    ui.message(format!("{what}; `lengthwise log undo` brings it back\n"));
    Ok(())
}

/// Takes the last change back.
pub(super) fn undo(args: &UndoChange, ui: &mut Ui) -> Result<(), Failure> {
    let mut notebook = existing(&args.notebook, OpenFor::Writing)?;
    match notebook.undo().map_err(failed)? {
        Some(undone) => {
            ui.message(format!("taken back: {} (of {})\n", printable(&undone.what), printable(&undone.moment)));
            Ok(())
        }
        None => Err(Failure::Usage("there is nothing to take back".into())),
    }
}

/// Copies the notebook.
pub(super) fn backup(args: &BackupNotebook, ui: &mut Ui) -> Result<(), Failure> {
    let notebook = existing(&args.notebook, OpenFor::Reading)?;
    let done = notebook.backup(&args.to).map_err(failed)?;
    ui.message(format!("a whole copy: {} ({} kB)\n", done.path.shown(), done.bytes.div_ceil(1000)));
    Ok(())
}
