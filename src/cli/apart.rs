//! `render --lane-files`: a file for each swimmer of a lane, all on one clock.

use super::args::{AudienceArg, CaptionsPlace, Render, ScriptArgs};
use super::failure::Failure;
use super::options::{format, target};
use super::request::request;
use super::roster::make;
use super::ui::Ui;
use crate::diag::has_errors;
use crate::prepare::apart::{PreparedApart, apart};
use crate::prepare::together::LaneRequest;
use crate::render::squad::{Shard, Squad, SquadOrder};
use crate::units::time::SampleRate;
use std::path::Path;

/// Runs the command.
pub fn run(args: &Render, input: &ScriptArgs, folder: &Path, rate: SampleRate, ui: &mut Ui) -> Result<(), Failure> {
    let usage = |message: &str| Err(Failure::Usage(message.to_owned()));
    if args.scripts.len() > 1 {
        return usage("the files of a lane are made of one script at a time");
    }
    if args.reading.audience != AudienceArg::Headphones {
        return usage(
            "--lane-files is for the ear, a file each, since players pause between tracks as long as they like: leave --for out",
        );
    }
    if matches!(args.captions(), CaptionsPlace::In(_)) {
        return usage("--captions=FILE is for one file; of a lane, say --captions alone");
    }
    let target = target(args, format(args.format), rate)?;
    let lanes = LaneRequest { file: args.lanes.lane.clone(), name: args.lanes.lane_name.clone() };
    let prepared = apart(&request(input), &lanes).map_err(|error| Failure::world(&error))?;
    ui.problems(&prepared.diagnostics, &prepared.sources);
    if has_errors(&prepared.diagnostics) {
        return Err(Failure::Shown);
    }
    let to_the_pool = to_the_pool(&prepared);
    let captions = args.captions() != CaptionsPlace::Nowhere;
    let order = SquadOrder { folder, player: false, captions, target, force: args.force };
    make(args, &Squad::of_lanes(prepared), &order, Shard::WHOLE, (&to_the_pool, ui))
}

/// How the files become a lane, and how exact that is.
fn to_the_pool(prepared: &PreparedApart) -> String {
    let PreparedApart { drift, gap, .. } = prepared;
    format!(
        "each swimmer's file goes on their own player. ALL PRESS START ON ONE SIGNAL.\n\
         With starts 0.3 s apart and clocks 50 millionths off, two players come to be {:.1} s apart by the end: {:.1} s\n\
         of a gap of {} s are left. Who presses late, or pauses, starts again with the others.",
        drift.as_f64(),
        (*gap - *drift).as_f64(),
        gap.as_f64(),
    )
}
