//! What comes of laying out a practice: the timeline, and what a plan, a player and steering need to know of it.

use super::start::Start;
use super::strand::Strand;
use super::{Leg, Sound, Timeline};
use crate::diag::{Code, Diagnostic};
use crate::pack::library::Spoken;
use crate::units::time::Seconds;
use std::collections::BTreeSet;
use std::ops::Range;

/// A cue that found no room.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dropped {
    /// Where it would have been heard at the earliest.
    pub at: Seconds,
    /// What.
    pub id: String,
    /// The words.
    pub text: String,
}

/// What is not heard, or not as it was meant.
#[derive(Clone, Debug, Default)]
pub struct Findings {
    /// What is not heard.
    pub dropped: Vec<Dropped>,
    /// Cautions: drops, missing recordings.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that are heard as a tone, having no recording.
    pub unrecorded: BTreeSet<String>,
    /// The texts that the built-in voice says.
    pub voiced: BTreeSet<String>,
    /// The ids of what could not be said with the sounds of a practice under way.
    pub unsayable: BTreeSet<String>,
}

impl Findings {
    /// Takes note of a text that is heard; `voiced` where the built-in voice says it.
    pub(super) fn heard(&mut self, spoken: &Spoken, voiced: bool) {
        if spoken.clip.is_none() {
            if self.unrecorded.insert(spoken.text.clone()) {
                let message = format!("no recording for \"{}\": a tone will be heard", spoken.text);
                let hint = "record it into the pack, or say it in words that have recordings";
                self.diagnostics.push(Diagnostic::whole(Code::NoRecording, message).hint(hint));
            }
        } else if voiced {
            self.voiced.insert(spoken.text.clone());
        }
    }
}

/// One track for a player.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Track {
    /// What it is called.
    pub title: String,
    /// Which set, from 0; none for the first track, in which nobody swims.
    pub set: Option<usize>,
    /// Which part of the set, and of how many, from 1.
    pub part: (usize, usize),
    /// Its repeats within the set, from 0.
    pub repeats: Range<usize>,
    /// Its legs in the timeline of the whole.
    pub legs: Range<usize>,
    /// When it begins if the player never pauses.
    pub begins: Seconds,
    /// How long it lasts.
    pub len: Seconds,
}

/// A timeline with what a plan needs to know of it.
#[derive(Clone, Debug)]
pub struct Built {
    /// What is heard, and when.
    pub timeline: Timeline,
    /// Every start in order, and what is heard of each. For a player only the starts: its tracks are not steered.
    pub strand: Strand,
    /// Where a lane hears it: those who leave behind the first, each with what is heard of their starts alone.
    pub followers: Vec<Strand>,
    /// For a player: the tracks, which the timeline has end to end. Empty for others.
    pub tracks: Vec<Track>,
    /// What is not heard, or not as it was meant.
    pub findings: Findings,
}

impl Built {
    /// Which of the tracks a start is in.
    pub fn track_of(&self, start: &Start) -> Option<usize> {
        self.tracks.iter().position(|track| track.set == Some(start.set) && track.repeats.contains(&start.ordinal))
    }
}

impl Timeline {
    /// Adds sounds that it has not yet; its own keep their places.
    pub(super) fn learn(&mut self, sounds: impl IntoIterator<Item = Sound>) {
        for sound in sounds {
            if !self.sounds.contains(&sound) {
                self.sounds.push(sound);
            }
        }
    }

    /// Some of the legs as a timeline that begins at 0, with the sounds of the whole: one bank serves all tracks.
    ///
    /// # Panics
    /// Where there are no such legs: a track of another timeline.
    #[expect(clippy::expect_used, reason = "a track that belongs to the timeline is within it")]
    pub fn part(&self, legs: Range<usize>) -> Self {
        let legs = self.legs.get(legs).expect("a track of this timeline");
        let begins = legs.first().map_or(Seconds::ZERO, |leg| leg.origin);
        let moved = |leg: &Leg| Leg { origin: leg.origin - begins, ..leg.clone() };
        Self { legs: legs.iter().map(moved).collect(), sounds: self.sounds.clone(), ducking: self.ducking }
    }
}
