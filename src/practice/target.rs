//! Targets held against what is known of the swimmer: a pace that nobody like that swims, a count far under their own, a rest far
//! beyond what was written or would be taken.

use super::line::{Context, stretch};
use super::{CLOCK, Leave, Line, Repeat};
use crate::diag::{Code, Diagnostic};
use crate::script::{BodyPart, Effort, Gear, PaceBase, Stroke, Swim};
use crate::units::time::Seconds;

/// So many strokes under the predicted count a target is beyond.
const STROKES_UNDER: f64 = 2.0;

/// A rest is far beyond the written one where it is twice as long, and by so much longer. Common practice, no source.
const STRETCHED: Seconds = Seconds::from_secs(20);
/// A send-off leaves more rest than anybody takes where it is above this, and longer than the swim itself: whoever does not swim fast
/// cools down. Common practice, no source.
const LONG_REST: Seconds = Seconds::from_secs(60);

/// Reports rests of a line that nobody would want: one that a file must stretch far beyond what is written, since it does not know
/// the touch, and a send-off that suits a much slower swimmer.
pub fn much_rest<'a>(
    line: &Line,
    repeats: impl Iterator<Item = &'a Repeat>,
    context: &Context<'_>,
) -> Option<Diagnostic> {
    let who = context.swimmer.called();
    let repeats: Vec<&Repeat> = repeats.collect();
    if line.within.is_some() {
        // A squad waits until a time is over, however long that is for the quickest.
        return None;
    }
    if let Leave::SendOff(send_off) = line.leave {
        let slowest = repeats.iter().map(|repeat| repeat.predicted).max()?;
        let rest = send_off - slowest;
        // Sprints want long rests, and so does what is measured; after a lone swim it is a break.
        let sprint = matches!(line.effort, Some(Effort::Fast | Effort::Build));
        let wanted = sprint || line.test.is_some() || repeats.len() < 2;
        let much = !wanted && rest > LONG_REST && rest > slowest;
        return much.then(|| {
            let message =
                format!("{who} would rest {rest} on {send_off}, longer than the {slowest} that the swim takes");
            let quicker = (slowest + Seconds::from_secs(20)).ceil_to(CLOCK);
            let hint = format!("`on {quicker}` leaves 20 s or more; `rest: 20 s` fits whoever swims it");
            Diagnostic::at(Code::MuchRest, line.span, message).hint(hint)
        });
    }
    let stretched = |repeat: &&Repeat| {
        let (written, left) = (repeat.rest?, repeat.interval? - repeat.predicted);
        (left >= written + written && left - written >= STRETCHED).then_some((left, written, repeat.predicted))
    };
    let (left, written, predicted) = repeats.iter().filter_map(stretched).max()?;
    let message = format!(
        "a file leaves {left} of rest where {written} is written: it predicts {predicted} for {who} and cannot know the touch"
    );
    let hint = "swim shorter repeats, or write the rest that there is; played live, the rest counts from the touch";
    Some(Diagnostic::at(Code::MuchRest, line.span, message).hint(hint))
}

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
