//! `pack say`: one text as the swimmer hears it.

use super::super::Failure;
use super::super::args::Say;
use super::super::ui::Ui;

/// Runs the command.
pub fn run(args: &Say, _ui: &mut Ui) -> Result<(), Failure> {
    Err(Failure::Usage(format!("not there yet: {args:?}")))
}
