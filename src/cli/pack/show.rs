//! `pack show`: what a pack holds.

use super::super::Failure;
use super::super::args::Show;
use super::super::ui::Ui;

/// Runs the command.
pub fn run(args: &Show, _ui: &mut Ui) -> Result<(), Failure> {
    Err(Failure::Usage(format!("not there yet: {args:?}")))
}
