//! What is heard, and when: a practice as alternating legs of cues and beats in exact time.
//!
//! Everything here is pure and independent of any sample rate; [`Lowering`](lower::Lowering) turns one leg into frames.

mod afresh;
pub mod bank;
pub mod beats;
mod before;
pub mod build;
pub mod built;
pub mod captions;
pub mod dump;
pub mod lane;
pub mod lanes;
pub mod lay;
pub mod lower;
pub mod place;
pub mod preview;
pub mod schedule;
pub mod segment;
mod slice;
pub mod speak;
pub mod start;
pub mod strand;
mod tracks;
pub mod under_way;
pub mod vocabulary;
mod walls;

use crate::pack::ClipId;
use crate::script::BeatSound;
use crate::units::level::Decibels;
use crate::units::swim::Side;
use crate::units::time::{Seconds, Tempo};

/// A whole practice in exact time.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// The legs, each beginning where the one before ends, the first at 0.
    pub legs: Vec<Leg>,
    /// Every sound used, in the order of first use; [`SoundId`] is the place in this list.
    pub sounds: Vec<Sound>,
    /// How far beats step back under the voice.
    pub ducking: Decibels,
}

impl Timeline {
    /// When the last leg ends.
    pub fn len(&self) -> Seconds {
        self.legs.last().map_or(Seconds::ZERO, |leg| leg.origin + leg.len)
    }

    /// Whether nothing is heard at all.
    pub fn is_empty(&self) -> bool {
        self.legs.iter().all(|leg| leg.cues.is_empty() && leg.grids.is_empty())
    }
}

/// One stretch of a practice.
#[derive(Clone, Debug, PartialEq)]
pub struct Leg {
    /// What goes on.
    pub kind: LegKind,
    /// When it begins in an undisturbed practice.
    pub origin: Seconds,
    /// How long it lasts in an undisturbed practice.
    pub len: Seconds,
    /// One-shot cues, sorted by time; times are relative to the leg's origin.
    pub cues: Vec<Cue>,
    /// Beat grids that sound within the leg, sorted by origin.
    pub grids: Vec<Grid>,
}

/// What goes on in a leg.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LegKind {
    /// Speech with nobody swimming: the opening and the closing.
    Talk,
    /// From a go to the predicted touch of one repeat, counted over the whole practice from 0.
    Swim {
        /// Which repeat.
        repeat: usize,
    },
    /// From a predicted touch to the next go, with the margin of the beats before and the talk before the go.
    Rest,
}

/// What a cue is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum CueKind {
    /// A stroke, plain or accented.
    Beat,
    /// A stroke on which to breathe.
    Breath,
    /// A stroke on which to look ahead.
    Sight,
    /// The stroke count, spoken.
    Call,
    /// A wall is due by the pace.
    Wall,
    /// The countdown.
    Pip,
    /// The start.
    Go,
    /// A focus phrase.
    Phrase,
    /// "Go in twenty".
    Timer,
    /// The announcement of a set or a repeat.
    Set,
    /// Any other spoken text.
    Say,
    /// Beats in the rest that show a tempo to come.
    Preview,
}

impl CueKind {
    /// The word used in dumps and files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Beat => "beat",
            Self::Breath => "breath",
            Self::Sight => "sight",
            Self::Call => "call",
            Self::Wall => "wall",
            Self::Pip => "pip",
            Self::Go => "go",
            Self::Phrase => "phrase",
            Self::Timer => "timer",
            Self::Set => "set",
            Self::Say => "say",
            Self::Preview => "preview",
        }
    }

    /// Whether the cue is speech: beats step back under it and no two of them overlap.
    pub const fn is_voice(self) -> bool {
        matches!(self, Self::Call | Self::Phrase | Self::Timer | Self::Set | Self::Say)
    }
}

/// One cue: a text and the sounds that say it.
#[derive(Clone, Debug, PartialEq)]
pub struct Cue {
    /// What for.
    pub kind: CueKind,
    /// When it begins, from the leg's origin.
    pub at: Seconds,
    /// How long it sounds.
    pub len: Seconds,
    /// What it is, as a stable name: a phrase's id, `go-in-20`, a drill's name.
    pub id: String,
    /// The words, for reading along; empty for a sound without words.
    pub text: String,
    /// The sounds, each from the cue's own beginning.
    pub parts: Vec<CuePart>,
}

/// One sound of a cue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CuePart {
    /// From the cue's beginning.
    pub after: Seconds,
    /// What sounds.
    pub sound: SoundId,
}

/// Beats at `origin + k × tempo`, as far as they sound within one leg.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// Beat 0, from the leg's origin; negative where the grid began in an earlier leg.
    pub origin: Seconds,
    /// Seconds per stroke.
    pub tempo: Tempo,
    /// The beats that sound, by rising `k`.
    pub beats: Vec<Beat>,
}

/// One sounding beat of a grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Beat {
    /// Its place on the grid.
    pub k: u32,
    /// `Beat`, `Breath` or `Sight`.
    pub kind: CueKind,
    /// What sounds.
    pub sound: SoundId,
}

/// A place in [`Timeline::sounds`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SoundId(pub u32);

impl SoundId {
    /// The same as an index.
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// Something that can sound. Recordings are named, not held: the timeline stays small and pure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sound {
    /// A beat of a track.
    Beat(BeatSound),
    /// The mark of a stroke on which to breathe, on a side where there is one to hear.
    Breath(Option<Side>),
    /// The mark of a stroke on which to look ahead.
    Sight,
    /// The mark of a wall that is due.
    Wall,
    /// A pip of the countdown.
    Pip,
    /// The go.
    Go,
    /// A recording of a pack.
    Clip(ClipId),
    /// Stands where a text has no recording.
    Placeholder,
}

impl Sound {
    /// Linear gain of the left and the right channel. A side is heard by its pitch too: with one ear covered it is
    /// not lost, since the channels stand only 6 dB apart.
    pub const fn pan(self) -> [f32; 2] {
        match self {
            Self::Breath(Some(Side::Left)) => [1.0, 0.501_187_2],
            Self::Breath(Some(Side::Right)) => [0.501_187_2, 1.0],
            _ => [1.0, 1.0],
        }
    }

    /// Which fader it runs through.
    pub const fn bus(self) -> segment::Bus {
        match self {
            Self::Beat(_) | Self::Breath(_) | Self::Sight | Self::Wall => segment::Bus::Beats,
            Self::Pip | Self::Go => segment::Bus::Signals,
            Self::Clip(_) | Self::Placeholder => segment::Bus::Voice,
        }
    }
}
