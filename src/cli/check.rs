//! `check`: what is wrong with a script, or its plan.

use super::args::Check;
use super::failure::Failure;
use super::request::request;
use super::ui::Ui;
use super::{explain, table};
use crate::diag::has_errors;
use crate::plan::json;
use crate::prepare;
use crate::timeline::dump::{dump, dump_tracks};

/// Runs the command.
pub fn run(args: &Check, ui: &mut Ui) -> Result<(), Failure> {
    if let Some(code) = &args.explain {
        return explain::run(code, ui);
    }
    let Some(input) = args.input() else {
        return Err(Failure::Usage("check what? Name a SCRIPT, or a code with --explain".into()));
    };
    let outcome = prepare::plan(&request(&input)).map_err(|error| Failure::world(&error))?;
    if args.json {
        let text = json::plan(outcome.planned.as_ref().map(|p| &p.plan), &outcome.diagnostics, &outcome.sources);
        ui.result(text)?;
    } else {
        ui.problems(&outcome.diagnostics, &outcome.sources);
        if let Some(planned) = &outcome.planned {
            let text = match (args.timeline, planned.built.tracks.is_empty()) {
                (false, _) => table::plan(planned, ui),
                (true, true) => dump(&planned.built.timeline, &planned.library).into(),
                (true, false) => dump_tracks(&planned.built, &planned.library).into(),
            };
            ui.result(text)?;
        }
    }
    if has_errors(&outcome.diagnostics) { Err(Failure::Shown) } else { Ok(()) }
}
