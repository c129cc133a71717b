//! What a script says that its water cannot have: lengths without walls, yards in the open, a course in a pool.

use crate::diag::{Code, Diagnostic, Span};
use crate::script::tree::Problems;
use crate::script::{Breathe, Change, Far, Rest, Script, Swim, Water, WrittenItem};
use crate::units::swim::{Distance, PoolUnit};

/// Checks every swim against the water. A default that many swims took over is told once, since
/// [`settle`](super::settle) drops what appears twice.
pub(super) fn check_water(script: &Script, problems: &mut Problems) {
    for item in &script.practice {
        let WrittenItem::Set(set) = item else { continue };
        for swim in &set.swims {
            match script.water.value {
                Water::Open => open(swim, script.water.span, problems),
                Water::Pool(_) => pool(swim, script.water.span, problems),
            }
        }
    }
}

fn pool(swim: &Swim, water: Span, problems: &mut Problems) {
    if let Far::Course { .. } = swim.far.value {
        let problem = Diagnostic::at(Code::Conflict, swim.far.span, "`course` goes around marks in open water");
        problems.push(problem.label(water, "a pool").hint("`pool: open water`, or a `swim` in lengths of the pool"));
    }
}

fn open(swim: &Swim, water: Span, problems: &mut Problems) {
    let mut walls = |span: Option<Span>, what: &str, hint: &str| {
        if let Some(span) = span {
            let problem = Diagnostic::at(Code::Conflict, span, format!("{what}: open water has no lengths"));
            problems.push(problem.label(water, "open water").hint(hint));
        }
    };
    let lengths = swim.lengths.first().and_then(|first| {
        let spans = [
            first.drill.as_ref().map(|found| found.span),
            first.focus.as_ref().map(|found| found.span),
            first.part.map(|found| found.span),
            first.stroke.map(|found| found.span),
            first.effort.map(|found| found.span),
        ];
        spans.into_iter().flatten().next()
    });
    walls(lengths, "`lengths`", "write a swim for each part under `do`");
    walls(swim.end_far.filter(|far| far.value).map(|far| far.span), "`end: far`", "remove `end`");
    walls(swim.strokes.map(|found| found.span), "`strokes` in one length", "`call: every 100 strokes` tells the count");
    walls(swim.count.map(|found| found.span), "`count`", "`call: every 100 strokes` tells the count");
    let by_length = swim.breathe.filter(|breathe| breathe.value == Breathe::ByLength);
    walls(by_length.map(|found| found.span), "`by length`", "`{ right: 20, left: 20 }` changes sides by strokes");
    let change = swim.focus.as_ref().map(|focus| focus.value.change).filter(|change| change.value == Change::Length);
    walls(change.map(|found| found.span), "a focus that changes each length", "`change: 40 strokes`, or `repeat`");

    let mut metres = |span: Span, distances: &[Distance]| {
        if let Some(yards) = distances.iter().find(|distance| distance.unit() == PoolUnit::Yard) {
            let problem = Diagnostic::at(Code::BadValue, span, "open water is measured in metres; found yards");
            problems.push(problem.hint(format!("`{} yd` are about `{:.0} m`", yards.count(), yards.metres())));
        }
    };
    match &swim.far.value {
        Far::Distances(distances) => metres(swim.far.span, distances),
        // Yards of a lap are refused where they are read.
        Far::Time(_) | Far::Course { .. } => {}
    }
    if let Some(rest) = swim.rest
        && let Rest::PerDistance { per, .. } = rest.value
    {
        metres(rest.span, &[per]);
    }
}
