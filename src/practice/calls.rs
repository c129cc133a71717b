//! Calls of lengths: how many are left, where half is, the last one; and how sure it is on which length a swimmer is.
//!
//! A file knows the go and predicts the rest, so a length can be called only while the prediction cannot be off by much.

use super::strokes::push_off;
use super::{Line, Repeat};
use crate::diag::{Code, Diagnostic, Span};
use crate::script::CallOut;
use crate::units::time::Seconds;

/// What is called as a length begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthCall {
    /// Half of the repeat is swum.
    Half,
    /// It is the last length.
    Last,
    /// So many lengths are left.
    Left(u32),
}

/// The lengths left are called when they are so many, or twice, three times ... as many: one call in four lengths.
const EVERY: u32 = 4;

/// What is called in a repeat, each with the length that begins there, counted from 0.
pub fn of(repeat: &Repeat) -> impl Iterator<Item = (u32, LengthCall)> {
    let count = repeat.count_lengths();
    let call = move |length: u32| match count - length {
        1 => Some(LengthCall::Last),
        left if left * 2 == count => Some(LengthCall::Half),
        // Close to half there would be little else to hear.
        left if left.is_multiple_of(EVERY) && count >= 2 * EVERY => Some(LengthCall::Left(left)),
        _ => None,
    };
    (1..count).filter_map(move |length| Some((length, call(length)?)))
}

/// How much earlier or later than predicted a swimmer may be at a moment of a repeat: the half-width of the 80 % interval, which
/// grows evenly.
pub fn may_be_off(repeat: &Repeat, reached: Seconds) -> Seconds {
    let share = reached.as_f64() / repeat.predicted.as_f64().max(1e-9);
    Seconds::from_estimate(repeat.uncertainty.as_f64() * share)
}

/// Whether what is said of a length at a moment of a repeat will be true: that interval is at most a quarter of a length.
pub fn is_sure(repeat: &Repeat, reached: Seconds) -> bool {
    let length = repeat.predicted.as_f64() / repeat.lengths.len().max(1) as f64;
    may_be_off(repeat, reached).as_f64() <= 0.25 * length
}

/// Reports calls that will not be heard, since nobody knows so far into a repeat on which length a swimmer is.
pub fn unsure<'a>(line: &Line, repeats: impl Iterator<Item = &'a Repeat>, who: &str, span: Span) -> Option<Diagnostic> {
    if !line.calls.contains(&CallOut::Lengths) || line.test.is_some() {
        return None;
    }
    let surely = |repeat: &&Repeat| {
        let unsure = of(repeat).map(|(length, _)| length).find(|length| !is_sure(repeat, push_off(repeat, *length)));
        Some((unsure?, repeat.count_lengths()))
    };
    let (length, count) = repeats.filter_map(|repeat| surely(&repeat)).min()?;
    let message =
        format!("not all of {count} lengths are called: from length {} on {who} may be on another one", length + 1);
    let hint = "swim shorter repeats, or `call: each repeat`; a profile with counts at two tempos is surer";
    Some(Diagnostic::at(Code::CallUnsure, span, message).hint(hint))
}
