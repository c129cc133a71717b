//! Four beats in the rest that show a tempo to come.

use super::speak::Utterance;
use crate::pack::library::Spoken;
use crate::units::time::{Seconds, Tempo};

/// How many beats are shown.
pub const BEATS: u64 = 4;
/// Room for the last beat to die away: beats are at most 200 ms long.
const TAIL: Seconds = Seconds::from_millis(200);

/// A preview as something to be placed: it takes time but has no words.
pub fn silent(tempo: Tempo) -> Utterance {
    let len = tempo.strokes(BEATS - 1) + TAIL;
    Utterance { id: "preview".into(), parts: vec![(Seconds::ZERO, Spoken { text: String::new(), clip: None, len })] }
}
