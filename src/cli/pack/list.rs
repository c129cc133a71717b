//! `pack list`: the cue packs there are.

use super::super::Failure;
use super::super::args::List;
use super::super::ui::Ui;

/// Runs the command.
pub fn run(args: &List, _ui: &mut Ui) -> Result<(), Failure> {
    Err(Failure::Usage(format!("not there yet: {args:?}")))
}
