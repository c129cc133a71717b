//! The marks of a swim with a pace: each wall when it is due by that pace. What they sound like is `audio::synth`'s job.

use super::speak::Utterance;
use super::start::Start;
use crate::audio::synth;
use crate::pack::library::Spoken;
use crate::practice::strokes::push_off;
use crate::practice::{Audience, Line, Practice, Set};
use crate::units::time::Seconds;

/// When each wall of a start is due, with its number from 1, the touch included; and whether it can be heard: from `quiet` on
/// nothing may sound. Nobody under water hears a speaker at the poolside.
pub(super) fn due(
    start: &Start,
    line: &Line,
    audience: Audience,
    quiet: Option<Seconds>,
) -> impl Iterator<Item = (u32, Seconds, bool)> {
    let lengths = if line.marks && audience.in_ear() { start.repeat.count_lengths() } else { 0 };
    let at = move |number| start.go + push_off(&start.repeat, number);
    let free = move |at: Seconds| quiet.is_none_or(|quiet| at + synth::WALL <= quiet);
    (1..=lengths).map(move |number| (number, at(number), free(at(number))))
}

/// Whether a set is the first one in which walls are marked: there it is said what the mark means.
pub(super) fn begin_with(practice: &Practice, set: &Set) -> bool {
    let marked = |set: &&Set| set.lines.iter().any(|line| line.marks);
    practice.audience.in_ear() && practice.sets().find(marked).is_some_and(|first| std::ptr::eq(first, set))
}

/// A mark as something to be placed in a talk: it takes time but has no words.
pub(super) fn shown() -> Utterance {
    let parts = vec![(Seconds::ZERO, Spoken { text: String::new(), clip: None, len: synth::WALL })];
    Utterance { id: "wall".into(), parts }
}
