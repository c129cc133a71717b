//! Recording the texts of a pack: what is wanted, the take in hand, and where takes are kept.
//!
//! `desk` is the whole course of it as a machine without clock, device or file: samples and answers go in, events come out.
//! `live` runs it on a microphone. How good a take is, `audio::take` says.

mod aloud;
pub mod answer;
pub mod desk;
mod ending;
pub mod live;
mod meter;
mod microphone;
pub mod reading;
pub mod snapshot;
pub mod store;

use crate::audio::take::TextTime;
use crate::pack::inventory::RecordingKey;
use crate::pack::role::Role;
use std::fmt;

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
    /// Which recording of the pack says it.
    pub fn key(&self) -> RecordingKey {
        RecordingKey::new(self.role, &self.id, self.short)
    }

    /// The name of its recording, without the extension.
    pub fn stem(&self) -> String {
        self.key().stem
    }
}

/// How long texts should take to say; each is asked for when a take of it is there, since finding out takes a moment.
pub struct TextTimes(Box<TextTimer>);

type TextTimer = dyn Fn(&str) -> Option<TextTime>;

impl TextTimes {
    /// As a function says.
    pub fn new(time: impl Fn(&str) -> Option<TextTime> + 'static) -> Self {
        Self(Box::new(time))
    }

    /// Nobody knows: takes are not compared with their texts.
    pub fn unknown() -> Self {
        Self::new(|_| None)
    }

    /// Of one text.
    pub fn of(&self, text: &str) -> Option<TextTime> {
        (self.0)(text)
    }
}

impl fmt::Debug for TextTimes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("TextTimes")
    }
}
