//! What a roster may hold, however it is written.

use crate::diag::{Code, Diagnostic, Span};

pub(super) const OF_A_SWIMMER: &[&str] = &[
    "name", "profile", "voice", "focus", "pool", "hundred", "stroke", "usual", "wall", "glide", "pace", "critical",
    "drill", "kick", "side", "player", "lane", "swims", "distance",
];
/// The most swimmers of a roster.
pub(super) const MOST: usize = 10_000;

/// The problem of a roster with more swimmers than that.
pub(super) fn too_many(span: Span, found: usize) -> Diagnostic {
    let message = format!("the roster names {found} swimmers; at most {MOST}");
    Diagnostic::at(Code::OutOfRange, span, message).hint("split it into several rosters")
}
