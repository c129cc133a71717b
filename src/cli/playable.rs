//! What `play` is to play: a practice of one's own, or a lane's at its speaker.

use super::args::PlayArgs;
use super::failure::Failure;
use super::request::request;
use super::together::{is_for_lanes, only_one, prepared};
use super::ui::Ui;
use crate::diag::has_errors;
use crate::prepare;
use crate::prepare::piece::Playable;

/// Plans it, and tells what was found on the way.
pub fn playable(args: &PlayArgs, ui: &mut Ui) -> Result<Playable, Failure> {
    let (found, diagnostics, sources) = if is_for_lanes(&args.lanes, &args.input) {
        let prepared = prepared(&args.lanes, &args.input)?;
        only_one(&prepared)?;
        let lane = prepared.lanes.into_iter().next().map(|lane| Playable::Lane(Box::new(lane)));
        (lane, prepared.diagnostics, prepared.sources)
    } else {
        let outcome = prepare::plan(&request(&args.input)).map_err(|error| Failure::world(&error))?;
        (outcome.planned.map(|planned| Playable::Alone(Box::new(planned))), outcome.diagnostics, outcome.sources)
    };
    ui.problems(&diagnostics, &sources);
    found.filter(|_| !has_errors(&diagnostics)).ok_or(Failure::Shown)
}
