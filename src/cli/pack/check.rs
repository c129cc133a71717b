//! `pack check`: every script and every recording of a pack.

use super::super::Failure;
use super::super::args::CheckPack;
use super::super::ui::Ui;

/// Runs the command.
pub fn run(args: &CheckPack, _ui: &mut Ui) -> Result<(), Failure> {
    Err(Failure::Usage(format!("not there yet: {args:?}")))
}
