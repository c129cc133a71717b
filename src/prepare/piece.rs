//! A planned practice as a piece to be played live, or as if live.

use super::planned::Planned;
use crate::conductor::Score;
use crate::session::Piece;
use crate::timeline::bank;
use crate::timeline::live::with_every_sound;

/// Makes a piece of a practice and hands it to whoever plays it; `script` tells the script from others.
pub fn with_piece<T>(planned: &Planned, script: &str, play: impl FnOnce(Piece<'_>) -> T) -> T {
    let (library, settings) = (&planned.library, planned.bank_settings());
    // Steering may need words that the plan has no use for.
    let timeline = with_every_sound(&planned.built.timeline, &planned.practice, library);
    let sounds = &timeline.sounds;
    let banks = |rate| bank::build(sounds, library, rate, &settings).map_err(|error| error.to_string());
    play(Piece {
        timeline: &timeline,
        score: Score { practice: &planned.practice, swum: &planned.built.swum },
        library,
        model: &planned.swimmer,
        plan: &planned.plan,
        banks: &banks,
        script,
        swimmer: planned.swimmer.name.as_deref(),
    })
}
