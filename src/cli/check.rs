//! `check`: what is wrong with a script, or its plan.

use super::args::{Check, ScriptArgs};
use super::failure::Failure;
use super::request::request;
use super::together::{for_one_speaker, is_for_lanes, prepared};
use super::ui::Ui;
use super::{explain, table, together};
use crate::diag::{Severity, has_errors};
use crate::plan::json;
use crate::prepare::{self, Prepared, WhoSwims};
use crate::timeline::dump::{dump, dump_tracks};

/// Runs the command.
pub fn run(args: &Check, ui: &mut Ui) -> Result<(), Failure> {
    if let Some(code) = &args.explain {
        return explain::run(code, ui);
    }
    let Some(input) = args.input() else {
        return Err(Failure::Usage("check what? Name a SCRIPT, or a code with --explain".into()));
    };
    if is_for_lanes(&args.lanes, &input) {
        return of_lanes(args, &input, ui);
    }
    let outcome = prepare::plan(&request(&input)).map_err(|error| Failure::world(&error))?;
    show(args, &outcome, ui)
}

/// What was found in a practice, and its plan.
fn show(args: &Check, outcome: &Prepared, ui: &mut Ui) -> Result<(), Failure> {
    if args.json {
        let text = json::plan(outcome.planned.as_ref().map(|p| &p.plan), None, &outcome.diagnostics, &outcome.sources);
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

/// The plan of each lane, as a speaker at the poolside has it.
fn of_lanes(args: &Check, input: &ScriptArgs, ui: &mut Ui) -> Result<(), Failure> {
    if let Some(WhoSwims::Named(name)) = &input.swimmer {
        let outcome = together::one_of(&args.lanes, input, name)?;
        return show(args, &outcome, ui);
    }
    if args.timeline && !args.json {
        return show(args, &for_one_speaker(&args.lanes, input)?, ui);
    }
    let mut outcome = prepared(&args.lanes, input)?;
    let first = outcome.lanes.first();
    if args.json && outcome.lanes.len() > 1 {
        let all = for_one_speaker(&args.lanes, input)?;
        // What is wrong with one speaker is wrong with nothing else; what it leaves out is told beside the rest.
        let cautions = all.diagnostics.iter().filter(|problem| problem.severity() == Severity::Caution);
        let more: Vec<_> = cautions.filter(|caution| !outcome.diagnostics.contains(caution)).cloned().collect();
        outcome.diagnostics.extend(more);
        let lanes: Vec<_> = outcome.lanes.iter().map(|lane| (&lane.planned.plan, &lane.lane)).collect();
        let one = all.planned.as_ref().map(|planned| &planned.plan).ok_or(together::refusal(&all));
        ui.result(json::lanes(&lanes, one, &outcome.diagnostics, &all.sources))?;
    } else if args.json {
        let (plan, lane) = (first.map(|lane| &lane.planned.plan), first.map(|lane| &lane.lane));
        ui.result(json::plan(plan, lane, &outcome.diagnostics, &outcome.sources))?;
    } else {
        ui.problems(&outcome.diagnostics, &outcome.sources);
        for lane in &outcome.lanes {
            ui.result(together::table(lane))?;
            ui.result(table::plan(&lane.planned, ui))?;
        }
        if outcome.lanes.len() > 1 {
            ui.result(together::at_one_speaker(&for_one_speaker(&args.lanes, input)?, &outcome.lanes))?;
        }
    }
    if has_errors(&outcome.diagnostics) { Err(Failure::Shown) } else { Ok(()) }
}
