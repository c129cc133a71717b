//! A planned practice as a programme to be played live, or as if live.

use super::planned::Planned;
use crate::conductor::Score;
use crate::session::Programme;
use crate::timeline::bank;
use crate::timeline::vocabulary::with_vocabulary;

/// Makes a programme of a practice and hands it to whoever plays it; `script` tells the script from others.
pub fn with_programme<T>(planned: &Planned, script: &str, play: impl FnOnce(Programme<'_>) -> T) -> T {
    let (library, settings) = (&planned.library, planned.bank_settings());
    // Steering may need words that the plan has no use for.
    let timeline = with_vocabulary(&planned.built, &planned.practice, library);
    let sounds = &timeline.sounds;
    let banks = |rate| bank::build(sounds, library, rate, &settings);
    let Planned { practice, built, swimmer, .. } = planned;
    play(Programme {
        timeline: &timeline,
        score: Score { practice, strand: &built.strand, library, swimmer },
        plan: &planned.plan,
        banks: &banks,
        script,
        swimmer: planned.swimmer.name.as_deref(),
    })
}
