//! A planned practice as a programme to be played live, or as if live.

use super::planned::Planned;
use super::together::LanePlanned;
use crate::conductor::{LaneScore, Score};
use crate::lane::Lane;
use crate::session::Programme;
use crate::timeline::bank;
use crate::timeline::lane::with_calls;
use crate::timeline::vocabulary::with_vocabulary;

/// What can be played live.
#[derive(Debug)]
pub enum Playable {
    /// A practice that somebody swims alone.
    Alone(Box<Planned>),
    /// A lane at its speaker, whose swimmers are steered one by one.
    Lane(Box<LanePlanned>),
}

impl Playable {
    /// The practice with its numbers; a lane's as a whole.
    pub fn planned(&self) -> &Planned {
        match self {
            Self::Alone(planned) => planned,
            Self::Lane(lane) => &lane.planned,
        }
    }

    /// Who shares the lane, where several do.
    pub fn lane(&self) -> Option<&Lane> {
        match self {
            Self::Alone(_) => None,
            Self::Lane(planned) => Some(&planned.lane),
        }
    }

    /// Makes a programme of it and hands it to whoever plays it; `script` tells the script from others.
    pub fn with_programme<T>(&self, script: &str, play: impl FnOnce(Programme<'_>) -> T) -> T {
        match self {
            Self::Alone(planned) => with_programme(planned, script, play),
            Self::Lane(whole) => {
                let LanePlanned { lane, voice, planned } = whole.as_ref();
                hand_over(planned, Some(LaneScore { lane, voice }), script, play)
            }
        }
    }
}

/// Makes a programme of a practice that somebody swims alone.
pub fn with_programme<T>(planned: &Planned, script: &str, play: impl FnOnce(Programme<'_>) -> T) -> T {
    hand_over(planned, None, script, play)
}

fn hand_over<T>(
    planned: &Planned,
    lane: Option<LaneScore<'_>>,
    script: &str,
    play: impl FnOnce(Programme<'_>) -> T,
) -> T {
    let (library, settings) = (&planned.library, planned.bank_settings());
    // Steering may need words that the plan has no use for.
    let mut timeline = with_vocabulary(&planned.built, &planned.practice, library);
    if let Some(LaneScore { lane, voice }) = lane {
        timeline = with_calls(timeline, (lane, voice), library);
    }
    let sounds = &timeline.sounds;
    let banks = |rate| bank::build(sounds, library, rate, &settings);
    let Planned { practice, built, swimmer, .. } = planned;
    play(Programme {
        timeline: &timeline,
        score: Score { practice, strand: &built.strand, library, swimmer, lane },
        plan: &planned.plan,
        banks: &banks,
        script,
        swimmer: planned.swimmer.name.as_deref(),
    })
}
