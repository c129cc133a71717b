//! Recording the texts of a pack: what is wanted, the take in hand, and where takes are kept.
//!
//! `desk` is the whole course of it as a machine without clock, device or file: samples and answers go in, events come out.
//! `live` runs it on a microphone. How good a take is, `audio::take` says.

mod aloud;
pub mod answer;
pub mod desk;
mod ending;
pub mod live;
pub mod snapshot;
pub mod store;

use crate::audio::take::{LONGEST_PHRASE, LONGEST_SHORT};
use crate::pack::library::Role;
use crate::units::time::Seconds;

/// A text to be recorded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prompt {
    /// What it is for.
    pub role: Role,
    /// Its id in the manifest.
    pub id: String,
    /// Whether it is the short form of a phrase.
    pub short: bool,
    /// The words.
    pub text: String,
    /// Whether the pack has a recording of its own of it.
    pub recorded: bool,
}

impl Prompt {
    /// The folder of its recording below the pack's `clips`.
    pub fn folder(&self) -> &'static str {
        Role::ALL.iter().find(|(_, role)| *role == self.role).map_or("says", |(folder, _)| folder)
    }

    /// The name of its recording, without the ending: the id, and `.short` behind it for a short form.
    pub fn stem(&self) -> String {
        if self.short { format!("{}.short", self.id) } else { self.id.clone() }
    }

    /// How long it may last, where its use sets a limit.
    pub fn limit(&self) -> Option<Seconds> {
        match (self.role, self.short) {
            (Role::Phrase, false) => Some(LONGEST_PHRASE),
            (Role::Phrase, true) => Some(LONGEST_SHORT),
            _ => None,
        }
    }
}
