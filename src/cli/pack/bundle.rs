//! `pack bundle`: a pack in one file.

use super::super::Failure;
use super::super::args::Bundle;
use super::super::ui::Ui;

/// Runs the command.
pub fn run(args: &Bundle, _ui: &mut Ui) -> Result<(), Failure> {
    Err(Failure::Usage(format!("not there yet: {args:?}")))
}
