//! Targets held against what is known of the swimmer: a pace that nobody like that swims, a count far under their own.

use super::line::{Context, stretch};
use super::{Line, Repeat};
use crate::diag::{Code, Diagnostic};
use crate::script::{BodyPart, Effort, Gear, PaceBase, Stroke, Swim};

/// So many strokes under the predicted count a target is beyond.
const STROKES_UNDER: f64 = 2.0;

/// Reports targets of a line that are beyond the swimmer.
pub fn beyond<'a>(
    line: &Line,
    swim: &Swim,
    repeats: impl Iterator<Item = &'a Repeat>,
    context: &Context<'_>,
) -> Vec<Diagnostic> {
    let (swimmer, who) = (context.swimmer, context.swimmer.called());
    let mut found = Vec::new();
    let plain = line.part == BodyPart::Swim
        && matches!(line.stroke, None | Some(Stroke::Crawl))
        && !line.gear.iter().any(|gear| matches!(gear, Gear::Fins | Gear::Paddles));
    let quickest = line.paces.iter().map(|pace| pace.per_hundred()).min();
    let fast = swimmer.pace_of(PaceBase::Effort(Effort::Fast), stretch(context.script.water.value));
    if let (Some(quickest), Some(pace)) = (quickest.filter(|quickest| plain && *quickest < fast), &swim.pace) {
        let message = format!("a pace of {quickest} is quicker than {fast}, the fast pace of {who}");
        let problem = Diagnostic::at(Code::TargetBeyond, pace.span, message);
        found.push(problem.hint("`pace: fast`, or a profile that says how fast they are"));
    }
    let predicted = repeats.flat_map(|repeat| &repeat.lengths).filter_map(|length| length.count).fold(0.0, f64::max);
    if let (Some(most), Some(target)) = (line.at_most, swim.strokes)
        && f64::from(most) <= libm::round(predicted) - STROKES_UNDER
    {
        let message = format!("at most {most} strokes, and {predicted:.0} are predicted for {who}");
        let problem = Diagnostic::at(Code::TargetBeyond, target.span, message);
        found.push(problem.hint("`at-most: predicted` holds the count, `predicted - 1` takes one away"));
    }
    found
}
