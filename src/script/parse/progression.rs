//! Tempo and pace: one value, a list, or a range over the repeats.

use crate::diag::{Code, Diagnostic, Spanned};
use crate::script::quantity::{Read, follow, time};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::{Node, NodeKind};
use crate::script::{PaceBase, Progression, Range, UsualTempo, Values, Written};
use crate::units::swim::Pace;
use crate::units::time::Tempo;

pub(super) type Paces = Progression<Written<Pace, PaceBase>>;
pub(super) type Tempos = Progression<Written<Tempo, UsualTempo>>;
/// The most entries of a list.
const MOST_LISTED: usize = 200;
/// A step as a ratio of the unit written, and whether that is per minute.
type StepRatio = ((u64, u64), bool);
/// A value, and whether it was written per minute.
type ValueInUnit<T, B> = (Written<T, B>, bool);

/// What a tempo and a pace have in common while they are read.
struct ValueReader<T, B> {
    what: &'static str,
    example: (&'static str, &'static str),
    value: fn(&str) -> Read<ValueInUnit<T, B>>,
    step: fn(&str) -> Read<StepRatio>,
    /// How far apart two values are, as a ratio of the unit written.
    apart: fn(T, T, bool) -> (u128, u128),
}

pub(super) fn tempos(node: &Node, problems: &mut Problems) -> Option<Spanned<Tempos>> {
    let reader = ValueReader {
        what: "tempo",
        example: ("from: 1.30 s", "to: 0.95 s"),
        value: follow::tempo,
        step: time::tempo_step,
        apart: |from: Tempo, to: Tempo, per_minute| {
            // Seconds are num/den, strokes a minute 60 den/num.
            let ratio = |tempo: Tempo| {
                let (num, den) = (u128::from(tempo.num()), u128::from(tempo.den()));
                if per_minute { (60 * den, num) } else { (num, den) }
            };
            let ((a, b), (c, d)) = (ratio(from), ratio(to));
            ((a * d).abs_diff(c * b), b * d)
        },
    };
    progression(node, &reader, problems)
}

pub(super) fn paces(node: &Node, problems: &mut Problems) -> Option<Spanned<Paces>> {
    let reader = ValueReader {
        what: "pace",
        example: ("from: 2:05", "to: 1:50"),
        value: |text| follow::pace(text).map(|pace| (pace, false)),
        step: time::pace_step,
        apart: |from: Pace, to: Pace, _| {
            let nanos = |pace: Pace| pace.per_hundred().nanos().unsigned_abs();
            (u128::from(nanos(from).abs_diff(nanos(to))), 1_000_000_000)
        },
    };
    progression(node, &reader, problems)
}

fn progression<T: Copy + PartialEq, B: Copy + PartialEq>(
    node: &Node,
    reader: &ValueReader<T, B>,
    problems: &mut Problems,
) -> Option<Spanned<Progression<Written<T, B>>>> {
    let (shape, per_minute) = match &node.kind {
        NodeKind::Scalar(_) => {
            let (value, per_minute) = tree::read(node, reader.what, reader.value, problems)?.value;
            (Values::One(value), per_minute)
        }
        NodeKind::List(items) => {
            if items.is_empty() && !node.cut {
                let message = format!("the list of `{}` is empty", reader.what);
                problems.push(Diagnostic::at(Code::BadValue, node.span, message));
                return None;
            }
            if items.len() > MOST_LISTED {
                let (what, count) = (reader.what, items.len());
                let message = format!("the list of `{what}` has {count} entries; at most {MOST_LISTED} are allowed");
                problems.push(Diagnostic::at(Code::OutOfRange, node.span, message));
                return None;
            }
            let read = |item| tree::read(item, reader.what, reader.value, problems).map(|found| found.value);
            let values: Vec<_> = items.iter().map(read).collect();
            let values = values.into_iter().collect::<Option<Vec<_>>>()?;
            // Spoken per minute only where all of it was written so.
            let per_minute = values.iter().all(|(_, per_minute)| *per_minute);
            (Values::List(values.into_iter().map(|(value, _)| value).collect()), per_minute)
        }
        NodeKind::Map(_) => {
            let (range, per_minute) = range(node, reader, problems)?;
            (Values::Range(range), per_minute)
        }
    };
    Some(Spanned::new(Progression { shape, per_minute }, node.span))
}

fn range<T: Copy + PartialEq, B: Copy + PartialEq>(
    node: &Node,
    reader: &ValueReader<T, B>,
    problems: &mut Problems,
) -> Option<(Range<Written<T, B>>, bool)> {
    let fields = Fields::of(node, "a range", &["from", "to", "step"], problems)?;
    let from = fields.require("from", reader.example.0, problems);
    let from = from.and_then(|node| tree::read(node, reader.what, reader.value, problems));
    let to = fields.require("to", reader.example.1, problems);
    let to = to.and_then(|node| tree::read(node, reader.what, reader.value, problems));
    let step = fields.read("step", reader.step, problems);
    let (from, to) = (from?, to?);
    let ((first, per_minute), (last, last_per_minute)) = (from.value, to.value);
    let disagrees = |at: crate::diag::Span, message: &str| Diagnostic::at(Code::RangeDisagrees, at, message);
    let unit = |per_minute| if per_minute { "strokes a minute (`/min`)" } else { "seconds (`s`)" };
    if per_minute != last_per_minute {
        let message = format!("`to` is in {}, `from` in {}", unit(last_per_minute), unit(per_minute));
        let problem = disagrees(to.span, &message).label(from.span, "the other unit");
        problems.push(problem.hint("write both in one unit: even steps run in it"));
        return None;
    }
    if first == last {
        problems.push(disagrees(to.span, "`from` and `to` are the same").hint("write one value instead of a range"));
        return None;
    }
    if let Some(step) = &step {
        let ((num, den), step_per_minute) = step.value;
        if step_per_minute != per_minute {
            let message = format!("`step` is in {}, the range in {}", unit(step_per_minute), unit(per_minute));
            problems.push(disagrees(step.span, &message).label(from.span, "the range's unit"));
            return None;
        }
        // Where a value follows the swimmer, `practice` knows how far apart they are.
        let apart = match (first, last) {
            (Written::Fixed(first), Written::Fixed(last)) => Some((reader.apart)(first, last, per_minute)),
            _ => None,
        };
        if apart.is_some_and(|(span_num, span_den)| u128::from(num) * span_den > span_num * u128::from(den)) {
            problems.push(
                disagrees(step.span, "the first step would go past `to`")
                    .label(to.span, "the end of the range")
                    .hint("a smaller step, or no `step` for even steps"),
            );
            return None;
        }
    }
    let step = step.map(|step| step.map(|found| found.0));
    Some((Range { from: from.map(|found| found.0), to: to.map(|found| found.0), step }, per_minute))
}
