//! A practice that is planned: all that rendering, playing and showing it need.

use crate::audio::voice::HeardThrough;
use crate::pack::library::Library;
use crate::plan::Plan;
use crate::practice::{Audience, Practice};
use crate::swimmer::Swimmer;
use crate::timeline::bank::BankSettings;
use crate::timeline::built::Built;
use std::path::PathBuf;

/// A practice, planned and laid out in time.
#[derive(Debug)]
pub struct Planned {
    /// The practice.
    pub practice: Practice,
    /// The packs' texts and recordings.
    pub library: Library,
    /// What is heard, and when.
    pub built: Built,
    /// The numbers.
    pub plan: Plan,
    /// Whom it is for.
    pub swimmer: Swimmer,
    /// The texts it was read from: script, profile, roster.
    pub(super) texts: Vec<PathBuf>,
}

impl Planned {
    /// The files that it was made from, those of its packs too.
    pub fn inputs(&self) -> impl Iterator<Item = PathBuf> {
        self.texts.iter().cloned().chain(self.library.files())
    }

    /// How the clips of a practice are made ready.
    pub fn bank_settings(&self) -> BankSettings {
        let output = match self.practice.audience {
            Audience::Headphones | Audience::Player => HeardThrough::Headphones,
            Audience::Speaker => HeardThrough::Speaker,
        };
        BankSettings::of(&self.practice.settings, output)
    }
}
