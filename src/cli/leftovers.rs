//! What runs that were stopped have left, seen to and told before a command makes anything. How: `sink::leftover`.

use super::failure::Failure;
use super::ui::Ui;
use crate::sink::file::FileError;
use crate::sink::leftover::{self, Leftover};
use std::path::Path;

/// Looks beside what is to be made, and in it.
pub(super) fn sweep(target: &Path, ui: &mut Ui) -> Result<(), Failure> {
    tell(leftover::sweep(target), ui)
}

/// Says what became of leftovers.
pub(super) fn tell(found: Result<Vec<Leftover>, FileError>, ui: &mut Ui) -> Result<(), Failure> {
    for leftover in found.map_err(|error| Failure::world(&error))? {
        ui.message(format!("{leftover}\n"));
    }
    Ok(())
}
