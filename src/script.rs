//! The cue script as written: every value read, with its place, nothing yet checked against the rest.
//!
//! [`parse`](parse::parse) makes one of these from text; `practice` makes sense of it. Names (phrases, drills,
//! beat tracks) are plain texts here.

mod beats;
pub mod lane;
pub mod movement;
mod own;
pub mod parse;
pub mod quantity;
pub mod schema;
mod synonyms;
pub mod templates;
pub mod tree;
mod value;
mod words;
pub mod yaml;

pub use beats::{BeatSound, BeatTrack, Timbre};
pub use value::{
    CallOut, Effort, OpeningTalk, PaceBase, Progression, Range, Remind, StrokeTarget, UsualTempo, Values, Written,
};
pub use words::{BodyPart, CountOn, Gear, PaceMarks, Phase, Stroke, Test};

use crate::diag::{Span, Spanned};
use crate::script::yaml::Node;
use crate::units::level::{Decibels, Lufs};
use crate::units::swim::{Distance, Pace, PoolLength, Side};
use crate::units::time::{Seconds, Tempo};
use lane::Regroup;

/// A whole cue script.
#[derive(Clone, Debug, PartialEq)]
pub struct Script {
    /// `title`
    pub title: Spanned<String>,
    /// `pool`
    pub water: Spanned<Water>,
    /// `pack`; absent means the pack the script lies in.
    pub pack: Option<Spanned<String>>,
    /// `settings`
    pub settings: Settings,
    /// `beats`: beat tracks of this script.
    pub beats: Vec<(Spanned<String>, BeatTrack)>,
    /// `lane`, as written: who shares it is read by the reader of rosters, which knows swimmers.
    pub lane: Option<Node>,
    /// `practice`, in order; at most 2,000 swims in all its sets.
    pub practice: Vec<WrittenItem>,
}

/// `pool`: what is swum in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Water {
    /// A pool of this length.
    Pool(PoolLength),
    /// `open water`: no walls, no lengths.
    Open,
}

/// `settings`, each with its default where not written.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// `countdown`: pips once a second for so long before each go, with silence around them; 3 (default) to 10 whole seconds.
    pub countdown: Seconds,
    /// `voice`: loudness of the voice; default −16 LUFS.
    pub voice: Lufs,
    /// `beats`: level of the beats against the voice; default −6 dB.
    pub beats: Decibels,
    /// `ducking`: how far beats step back under the voice; default 12 dB (0 to 40).
    pub ducking: Decibels,
    /// `gear-change`: what a change of gear adds to the rest before a swim, 0 s to 5 min; default 30 s.
    pub gear_change: Seconds,
    /// `seed` of shuffled focus orders; default 1.
    pub seed: u64,
    /// `opening`; default full.
    pub opening: OpeningTalk,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            countdown: Seconds::from_secs(3),
            voice: Lufs::of(-16.0),
            beats: Decibels::of(-6.0),
            ducking: Decibels::of(12.0),
            gear_change: Seconds::from_secs(30),
            seed: 1,
            opening: OpeningTalk::Full,
        }
    }
}

/// One entry of `practice`.
#[derive(Clone, Debug, PartialEq)]
pub enum WrittenItem {
    /// `say: ID`
    Say(Spanned<String>),
    /// `rest: 1:00`, standing.
    Rest(Spanned<Seconds>),
    /// `set: Title`
    Set(Box<WrittenSet>),
}

/// Repeats under one heading: either its own swim, or `rounds` of a list.
#[derive(Clone, Debug, PartialEq)]
pub struct WrittenSet {
    /// `set`: the title.
    pub title: Spanned<String>,
    /// Where the whole entry stands.
    pub span: Span,
    /// `phase`
    pub phase: Option<Phase>,
    /// `rounds`, 1 to 100; 1 where absent.
    pub rounds: Spanned<u32>,
    /// `between-rounds`: a rest after the last swim of a round instead of that swim's own.
    pub between_rounds: Option<Spanned<Seconds>>,
    /// `regroup`: in a lane, how often it stands longer.
    pub regroup: Option<Regroup>,
    /// The swims of one round: one from the set's own keys, or those of `do`.
    pub swims: Vec<Swim>,
    /// Whether the swims were written under `do`.
    pub listed: bool,
}

/// One line of a set: N repeats of a distance, and everything said of them. In a set with `do`, a key of the set
/// (tempo, focus, beats ...) is the default of each swim; the parser has already merged them.
#[derive(Clone, Debug, PartialEq)]
pub struct Swim {
    /// Where the swim stands (its `swim` value).
    pub span: Span,
    /// `4 x 50 m`: how many, 1 to 1,000,000 (the day's limit stops more than can be swum).
    pub repeats: Spanned<u32>,
    /// `4 x 50 m`: how far, or how long, each.
    pub far: Spanned<Far>,
    /// `for: 8 min`: as many repeats as end within so long, instead of a number; 10 s to 6 h.
    pub within: Option<Spanned<Seconds>>,
    /// `lengths`: what each length of a repeat is, in turn; empty where not written.
    pub lengths: Vec<WrittenLength>,
    /// `send-off` or the `on 1:30` of the shorthand.
    pub send_off: Option<Spanned<Seconds>>,
    /// `rest`
    pub rest: Option<Spanned<Rest>>,
    /// `pace`
    pub pace: Option<Spanned<Progression<Written<Pace, PaceBase>>>>,
    /// `tempo`
    pub tempo: Option<Spanned<Progression<Written<Tempo, UsualTempo>>>>,
    /// `effort`
    pub effort: Option<Spanned<Effort>>,
    /// `drill`
    pub drill: Option<Spanned<String>>,
    /// `focus`
    pub focus: Option<Spanned<Focus>>,
    /// `breathe`
    pub breathe: Option<Spanned<Breathe>>,
    /// `beats`: name of a beat track, or `none`.
    pub beats: Option<Spanned<String>>,
    /// `second-half: 2 s faster`: how much less time the second half of a repeat takes; negative for slower. 0.1 s to
    /// 5 min either way.
    pub second_half: Option<Spanned<Seconds>>,
    /// `part`
    pub part: Option<Spanned<BodyPart>>,
    /// `stroke`
    pub stroke: Option<Spanned<Stroke>>,
    /// `gear`: everything worn, in the order of [`Gear`], each once; none where not written, empty or `none`.
    pub gear: Option<Spanned<Vec<Gear>>>,
    /// `strokes: { at-most: 19 }`: a target in one length; spoken, never a prediction.
    pub strokes: Option<Spanned<StrokeTarget>>,
    /// `count`: which lengths the swimmer is asked to count.
    pub count: Option<Spanned<CountOn>>,
    /// `test`
    pub test: Option<Spanned<Test>>,
    /// `sight: every 8 strokes`, 4 to 100.
    pub sight: Option<Spanned<u32>>,
    /// `call`
    pub call: Option<Spanned<Vec<CallOut>>>,
    /// `remind`
    pub remind: Option<Spanned<Remind>>,
    /// `marks`
    pub marks: Option<Spanned<PaceMarks>>,
    /// `end: far`: the repeat ends at the far end of the pool; `end: near` (false) undoes it for a swim under `do`.
    pub end_far: Option<Spanned<bool>>,
}

/// How far one repeat goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Far {
    /// A distance for each repeat in turn: one for all, or a list such as `[50 m, 100 m, 150 m]` of as many as there are
    /// repeats, at most 200.
    Distances(Vec<Distance>),
    /// `10 min`: so long, however far that is; 10 s to 6 h.
    Time(Seconds),
    /// `course: { lap: 380 m, laps: 3 }`
    Course {
        /// Once around.
        lap: Distance,
        /// How many times, 1 to 100.
        laps: u32,
    },
}

/// One entry of `lengths`: what differs from the rest of the swim.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WrittenLength {
    /// `drill`
    pub drill: Option<Spanned<String>>,
    /// `focus`: one phrase.
    pub focus: Option<Spanned<String>>,
    /// `part`
    pub part: Option<Spanned<BodyPart>>,
    /// `stroke`
    pub stroke: Option<Spanned<Stroke>>,
    /// `effort`
    pub effort: Option<Spanned<Effort>>,
}

/// `rest`
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rest {
    /// `15 s`; `0 s` joins the swim to the next without a stop.
    Fixed(Seconds),
    /// `10 s per 50 m`
    PerDistance {
        /// So long ...
        time: Seconds,
        /// ... for each of these.
        per: Distance,
    },
}

/// `breathe`
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Breathe {
    /// `every N`, `every N right`: one breath each N strokes, 1 to 20 as written, the first one to the side if given.
    Every(u32, Option<Side>),
    /// `{ right: 20, left: 20 }`: so many strokes with the breaths to one side, then so many to the other; 2 to 400.
    Sides {
        /// Strokes breathing to the right.
        right: u32,
        /// Strokes breathing to the left.
        left: u32,
    },
    /// `by length`: every 2 strokes, to the other side on each length.
    ByLength,
    /// `by repeat`: every 2 strokes, to the other side on each repeat.
    ByRepeat,
}

/// `focus`: phrases and how they change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Focus {
    /// Ids of phrases, 1 to 64.
    pub phrases: Vec<Spanned<String>>,
    /// `change`; default `repeat`, or nothing to change with one phrase.
    pub change: Spanned<Change>,
    /// `order`; default `in turn`.
    pub order: FocusOrder,
}

/// `focus.change`
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// On every length.
    Length,
    /// On every repeat.
    Repeat,
    /// On every round.
    Round,
    /// With the set: one phrase for all of it.
    Set,
    /// Every N counted strokes, 4 to 1,000.
    Strokes(u32),
}

/// `focus.order`
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FocusOrder {
    /// First, second, third, first ...
    InTurn,
    /// All of the first, then all of the second ...
    Blocked,
    /// Balanced but mixed, the same every time for the same seed.
    Shuffled,
}
