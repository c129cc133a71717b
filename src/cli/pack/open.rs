//! `pack open`: a pack from such a file, put in place.

use super::super::Failure;
use super::super::args::Open;
use super::super::ui::Ui;

/// Runs the command.
pub fn run(args: &Open, _ui: &mut Ui) -> Result<(), Failure> {
    Err(Failure::Usage(format!("not there yet: {args:?}")))
}
