//! What the texts of a pack are for: each role has a key in the manifest and a folder of recordings.

use crate::audio::take::{LONGEST_PHRASE, LONGEST_SHORT};
use crate::units::time::Seconds;

/// What a spoken text is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// A focus phrase.
    Phrase,
    /// How to swim a drill.
    Drill,
    /// A text that a script says by name.
    Say,
    /// The title of a set.
    Title,
    /// A word or phrase of the announcer.
    Word,
    /// A swimmer's name.
    Name,
}

impl Role {
    /// Every role with its key in a manifest, which is also its folder of clips.
    pub const ALL: [(&'static str, Self); 6] = [
        ("phrases", Self::Phrase),
        ("drills", Self::Drill),
        ("says", Self::Say),
        ("titles", Self::Title),
        ("words", Self::Word),
        ("names", Self::Name),
    ];

    /// Its key in a manifest, which is also its folder of clips.
    pub fn folder(self) -> &'static str {
        Self::ALL.iter().find(|(_, role)| *role == self).map_or("", |(folder, _)| folder)
    }

    /// How long a text of this role may last for its use, where that is known; `short` for the short form of a phrase.
    pub const fn longest(self, short: bool) -> Option<Seconds> {
        match (self, short) {
            (Self::Phrase, true) => Some(LONGEST_SHORT),
            (Self::Phrase, false) => Some(LONGEST_PHRASE),
            _ => None,
        }
    }
}
