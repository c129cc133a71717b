//! `pack new`: begins a cue pack.

use super::super::Failure;
use super::super::args::NewPack;
use super::super::ui::Ui;

/// Runs the command.
pub fn run(args: &NewPack, _ui: &mut Ui) -> Result<(), Failure> {
    Err(Failure::Usage(format!("not there yet: {args:?}")))
}
