//! A practice that makes sense: every repeat with its distance, manner, predicted time, rest and focus.
//!
//! [`expand`] makes one from a script, the packs' texts and the swimmer. A [`Practice`] can be swum as it stands:
//! names are resolved, send-offs can be made, ranges fit their sets. When things are heard is the timeline's business.

mod breath;
mod expand;
mod focus;
mod line;
mod progression;
pub mod strokes;

pub use breath::Breaths;
pub use expand::expand;

use crate::diag::Span;
use crate::pack::library::Spoken;
use crate::script::{BeatTrack, Breathe, Effort, Phase, Settings};
use crate::swimmer::Prediction;
use crate::units::swim::{Distance, Pace, PoolLength};
use crate::units::time::{Seconds, Tempo};
use std::rc::Rc;

/// A whole practice.
#[derive(Clone, Debug)]
pub struct Practice {
    /// Its title.
    pub title: String,
    /// The pool.
    pub pool: PoolLength,
    /// Levels, countdown, seed.
    pub settings: Settings,
    /// Seconds of each length without strokes.
    pub wall: Seconds,
    /// What happens, in order.
    pub items: Vec<Item>,
}

impl Practice {
    /// The sets, in order.
    pub fn sets(&self) -> impl Iterator<Item = &Set> {
        self.items.iter().filter_map(|item| if let Item::Set(set) = item { Some(set) } else { None })
    }

    /// Whether any set asks for a change of focus under way.
    pub fn changes_focus(&self) -> bool {
        self.sets().flat_map(|set| &set.repeats).any(|repeat| repeat.focus.len() > 1)
    }
}

/// One entry of a practice.
#[derive(Clone, Debug)]
pub enum Item {
    /// Something said between sets.
    Say(Text),
    /// A standing rest from the last touch.
    Rest(Seconds),
    /// Repeats.
    Set(Set),
}

/// A spoken text with its id.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Text {
    /// The id in its pack.
    pub id: Rc<str>,
    /// Words, recording, length.
    pub full: Spoken,
    /// The short form of a phrase.
    pub short: Option<Spoken>,
    /// Where the script names it.
    pub span: Span,
}

/// Repeats under one heading.
#[derive(Clone, Debug)]
pub struct Set {
    /// The title, and its recording if a pack has one.
    pub title: Spoken,
    /// Where it stands in the script.
    pub span: Span,
    /// Its part in the practice.
    pub phase: Option<Phase>,
    /// How often its list is swum.
    pub rounds: u32,
    /// The lines of its list.
    pub lines: Vec<Line>,
    /// Every repeat in the order swum.
    pub repeats: Vec<Repeat>,
}

/// One line of a set's list: what all its repeats have in common.
#[derive(Clone, Debug)]
pub struct Line {
    /// Where it stands in the script.
    pub span: Span,
    /// How many repeats in one round.
    pub repeats: u32,
    /// How far each.
    pub distance: Distance,
    /// How many lengths each.
    pub lengths: u32,
    /// The stroke tempos of a round's repeats: empty without tempo, one where it never changes.
    pub tempos: Vec<Tempo>,
    /// The paces of a round's repeats likewise.
    pub paces: Vec<Pace>,
    /// Whether the tempo was written in strokes a minute.
    pub per_minute: bool,
    /// How hard it should feel.
    pub effort: Option<Effort>,
    /// The drill.
    pub drill: Option<Text>,
    /// The beat track; absent where no beat sounds.
    pub beats: Option<BeatTrack>,
    /// The breathing pattern.
    pub breathe: Option<Breathe>,
    /// When the next repeat starts.
    pub leave: Leave,
    /// The focus phrases.
    pub focus: Vec<Text>,
    /// Whether and how the focus changes.
    pub change: Option<crate::script::Change>,
}

/// When the next repeat starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leave {
    /// So long after this one's start.
    SendOff(Seconds),
    /// So long after the touch, as written; files round it to a send-off.
    Rest(Seconds),
    /// Nothing follows within the set.
    Open,
}

/// One swim.
#[derive(Clone, Debug)]
pub struct Repeat {
    /// Which line of its set.
    pub line: usize,
    /// Which round, from 0.
    pub round: u32,
    /// Which repeat of its line in this round, from 0.
    pub number: u32,
    /// How many lengths.
    pub lengths: u32,
    /// What is expected of each length.
    pub length: Prediction,
    /// The predicted time of the whole repeat.
    pub predicted: Seconds,
    /// The half-width of the 80 % interval of the touch.
    pub uncertainty: Seconds,
    /// From this start to the next, in a file; absent where nothing follows within the set and none is asked for.
    pub interval: Option<Seconds>,
    /// The tempo that is heard, if any.
    pub tempo: Option<Tempo>,
    /// The focus as it changes: the first entry is in force from the start.
    pub focus: Vec<FocusFrom>,
}

/// A focus and the moment it comes into force.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FocusFrom {
    /// From where on.
    pub from: Place,
    /// Which of the line's phrases.
    pub phrase: usize,
}

/// A place within a repeat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// The push-off of a length, from 0.
    Length(u32),
    /// A counted stroke, from 0.
    Stroke(u32),
}
