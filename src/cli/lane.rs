//! `lane`: a group in its lanes, simulated, with advice.

mod advice;
mod chart;
mod drawn;
mod json;
mod page;
mod picture;
mod report;

use super::args::LaneArgs;
use super::failure::Failure;
use super::new::save;
use super::notebook::known_from;
use super::page_file::{check_name, may_replace, write};
use super::request::user_packs;
use super::ui::Ui;
use crate::cores;
use crate::diag::shown::ShownPath;
use crate::lane::figures::LaneFigures;
use crate::lane::search::search;
use crate::lane::simulate::{Trials, simulate};
use crate::page::typed::DecimalMark;
use crate::prepare::PracticeRequest;
use crate::prepare::lanes::{PreparedLanes, lanes};
use crate::sink::file::Replace;
use report::{LaneReport, LanesReport};

/// Runs the command.
pub fn run(args: &LaneArgs, ui: &mut Ui) -> Result<(), Failure> {
    let request = PracticeRequest {
        script: args.script.clone(),
        packs: args.packs.clone(),
        user_packs: user_packs(),
        known: known_from(&args.notebook),
        ..PracticeRequest::default()
    };
    let prepared = lanes(&request, args.lane.as_deref()).map_err(|error| Failure::world(&error))?;
    let PreparedLanes { title, lanes, diagnostics, sources, .. } = &prepared;
    if !args.json || lanes.is_none() {
        ui.problems(diagnostics, sources);
    }
    let Some(lanes) = lanes else { return Err(Failure::Shown) };
    let figures: Vec<LaneFigures> = lanes.iter().map(LaneFigures::of).collect();
    let trials = Trials { runs: args.runs.into(), seed: args.seed, workers: cores::count() };
    let outcomes = simulate(&figures, trials);
    let reports = lanes.iter().zip(&figures).zip(&outcomes).map(|((lane, figures), outcomes)| {
        let advice = search(figures, outcomes, args.rest.into(), trials);
        LaneReport { lane, figures, outcomes, advice }
    });
    let report = LanesReport {
        title,
        goes: &prepared.goes(),
        rest: args.rest,
        runs: args.runs,
        seed: args.seed,
        lanes: reports.collect(),
    };
    if let Some(picture) = &args.picture {
        let text = picture::svg(&report).map_err(|error| Failure::World(format!("cannot draw the lanes: {error}")))?;
        save(picture, &text, if args.force { Replace::Yes } else { Replace::Never })?;
        ui.message(format!("wrote {}\n", picture.shown()));
    }
    if let Some(output) = &args.page {
        check_name(output)?;
        let page = drawn::drawn(&report, DecimalMark::comma(args.decimal_comma));
        let replace = may_replace(output, &page.identity(), args.force);
        return write(output, &page.html(), replace, ui);
    }
    let text = if args.json { json::json(&report) } else { page::page(&report) };
    Ok(ui.result(text)?)
}
