//! A practice that makes sense: every repeat with its distance, manner, predicted time, rest and focus.
//!
//! [`expand`] makes one from a script, the packs' texts and the swimmer. A [`Practice`] can be swum as it stands:
//! names are resolved, send-offs can be made, ranges fit their sets. When things are heard is the timeline's job.

pub mod breath;
pub mod calls;
mod expand;
mod fill;
mod focus;
mod line;
mod names;
mod progression;
mod repeats;
pub mod strokes;
mod target;

pub use breath::{Breath, Breaths};
pub use expand::{check_partly, expand};
pub use repeats::at_tempo;

use crate::diag::Span;
use crate::pack::library::Spoken;
use crate::script::movement::DrillMovement;
use crate::script::{
    BeatTrack, BodyPart, Breathe, CallOut, Change, CountOn, Effort, Far, Gear, Phase, Remind, Rest, Settings, Stroke,
    Test, Water,
};
use crate::units::swim::{Distance, Pace, PoolUnit, Side};
use crate::units::time::{Seconds, Tempo};
use std::sync::Arc;

/// Starts of a file fall on whole multiples of this from its beginning, within sets and between them, as on a pace clock.
pub const CLOCK: Seconds = Seconds::from_secs(5);

/// Who hears it, and through what.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Audience {
    /// One swimmer, under water too.
    #[default]
    Headphones,
    /// Whoever stands at the wall: sound from the poolside does not reach a head in the water.
    Speaker,
    /// One swimmer, through a small player that plays files by their names and pauses between them: see
    /// `timeline`'s tracks.
    Player,
}

impl Audience {
    /// Whether it is heard under water too.
    pub const fn in_ear(self) -> bool {
        match self {
            Self::Headphones | Self::Player => true,
            Self::Speaker => false,
        }
    }
}

/// Whether a practice is swum alone or in a lane.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Company {
    /// By one swimmer.
    #[default]
    Alone,
    /// By one of a lane, who hears what is theirs.
    InLane,
    /// By a whole lane that hears one speaker.
    Together,
}

/// A whole practice.
#[derive(Clone, Debug)]
pub struct Practice {
    /// Its title.
    pub title: String,
    /// What is swum in.
    pub water: Water,
    /// Levels, countdown, seed.
    pub settings: Settings,
    /// Who hears it.
    pub audience: Audience,
    /// Whether others swim it beside them.
    pub company: Company,
    /// The side of the first breath where a script does not say.
    pub side: Side,
    /// The swimmer's name, where a pack has it recorded: said before anything else, so that whoever has picked up another's
    /// player notices at once.
    pub name: Option<(String, Spoken)>,
    /// What happens, in order.
    pub items: Vec<Item>,
}

impl Practice {
    /// The sets, in order.
    pub fn sets(&self) -> impl Iterator<Item = &Set> {
        self.items.iter().filter_map(|item| if let Item::Set(set) = item { Some(set) } else { None })
    }

    /// The sets, in order, to be changed.
    pub fn sets_mut(&mut self) -> impl Iterator<Item = &mut Set> {
        self.items.iter_mut().filter_map(|item| if let Item::Set(set) = item { Some(set) } else { None })
    }

    /// Whether any set asks for a change of focus under way.
    pub fn changes_focus(&self) -> bool {
        self.sets().flat_map(|set| &set.repeats).any(|repeat| repeat.focus.len() > 1)
    }

    /// The unit of its distances.
    pub const fn unit(&self) -> PoolUnit {
        match self.water {
            Water::Pool(pool) => pool.unit(),
            Water::Open => PoolUnit::Metre,
        }
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
    pub id: Arc<str>,
    /// Words, recording, length.
    pub full: Spoken,
    /// The short form of a phrase.
    pub short: Option<Spoken>,
    /// Where the script names it.
    pub span: Span,
}

/// A drill of a pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drill {
    /// How it is swum, in words.
    pub how: Text,
    /// What it moves, and how long that takes.
    pub movement: DrillMovement,
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
    /// The time that they fill, where the script gives that instead of a number.
    pub within: Option<Seconds>,
    /// How far each, as written.
    pub far: Far,
    /// The stroke tempos of a round's repeats: empty without tempo, one where it never changes.
    pub tempos: Vec<Tempo>,
    /// The paces of a round's repeats likewise.
    pub paces: Vec<Pace>,
    /// Whether the tempo was written in strokes a minute.
    pub per_minute: bool,
    /// How hard it should feel.
    pub effort: Option<Effort>,
    /// What moves the swimmer.
    pub part: BodyPart,
    /// The stroke, where written.
    pub stroke: Option<Stroke>,
    /// What is worn, sorted.
    pub gear: Vec<Gear>,
    /// The drill.
    pub drill: Option<Drill>,
    /// What the lengths of a repeat are, in turn; empty where all are alike.
    pub kinds: Vec<LengthKind>,
    /// The beat track; absent where no beat sounds.
    pub beats: Option<BeatTrack>,
    /// Whether the script names the beat track.
    pub beats_asked: bool,
    /// The breathing pattern.
    pub breathe: Option<Breathe>,
    /// Every how many strokes to look ahead.
    pub sight: Option<u32>,
    /// What is called, each kind once.
    pub calls: Vec<CallOut>,
    /// How soon a focus that has not changed is said again.
    pub remind: Remind,
    /// Whether each wall is marked when it is due.
    pub marks: bool,
    /// A count not to be passed on any length.
    pub at_most: Option<u32>,
    /// Which lengths to count.
    pub count: Option<CountOn>,
    /// Whether it is a test.
    pub test: Option<Test>,
    /// How much faster the second half is; negative for slower.
    pub second_half: Option<Seconds>,
    /// When the next repeat starts.
    pub leave: Leave,
    /// The focus phrases, those of `kinds` last.
    pub focus: Vec<Text>,
    /// Whether and how the focus changes.
    pub change: Option<Change>,
    /// Whether each phrase comes several times running before the next one does.
    pub blocked: bool,
}

/// What one length of a repeat is, where lengths differ.
#[derive(Clone, Debug)]
pub struct LengthKind {
    /// The drill.
    pub drill: Option<Drill>,
    /// Which of the line's phrases.
    pub focus: Option<usize>,
    /// What moves the swimmer, where it differs.
    pub part: Option<BodyPart>,
    /// The stroke, where it differs.
    pub stroke: Option<Stroke>,
    /// How hard, where it differs.
    pub effort: Option<Effort>,
}

/// When the next repeat starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leave {
    /// So long after this one's start.
    SendOff(Seconds),
    /// So long after the touch, as written; files round it to a send-off. Nothing at all joins the two.
    Rest(Rest),
    /// Nothing follows within the set.
    Open,
}

/// One swim.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeat {
    /// Which line of its set.
    pub line: usize,
    /// Which round, from 0.
    pub round: u32,
    /// Which repeat of its line in this round, from 0.
    pub number: u32,
    /// How far.
    pub distance: Distance,
    /// Whether the distance is this program's estimate, in a swim by time.
    pub estimated: bool,
    /// What is expected of each length; in open water all of the repeat is one.
    pub lengths: Vec<Length>,
    /// The predicted time of the whole repeat.
    pub predicted: Seconds,
    /// The half-width of the 80 % interval of the touch.
    pub uncertainty: Seconds,
    /// How much later than this one the last of a lane touches; zero for whoever swims alone.
    pub behind: Seconds,
    /// By how much the interval is longer, since the lane regroups.
    pub regroup: Option<Seconds>,
    /// From this start to the next, in a file; absent where nothing follows within the set and none is asked for.
    pub interval: Option<Seconds>,
    /// From the touch to the next start, where that is what the script asks for: live, the touch is known. Includes
    /// the time to change gear.
    pub rest: Option<Seconds>,
    /// Whether the next repeat follows without a stop.
    pub joins: bool,
    /// Whether this repeat follows the one before without a stop.
    pub joined: bool,
    /// From the start to beat 0 of its grid: 0 but in a joined swim, whose grid begins on a beat of the one before.
    pub offset: Seconds,
    /// The tempo that is heard, if any.
    pub tempo: Option<Tempo>,
    /// The focus as it changes: the first entry is in force from the start.
    pub focus: Vec<FocusFrom>,
}

impl Repeat {
    /// How many lengths.
    #[expect(clippy::expect_used, reason = "they were made from a count of 32 bits")]
    pub fn count_lengths(&self) -> u32 {
        u32::try_from(self.lengths.len()).expect("made from such a count")
    }
}

/// What is expected of one length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Length {
    /// Its time, a whole number of milliseconds.
    pub time: Seconds,
    /// Seconds of it without strokes, from the push-off.
    pub wall: Seconds,
    /// Strokes, not rounded; absent where they cannot be counted.
    pub count: Option<f64>,
    /// The stroke tempo, heard or expected.
    pub tempo: Option<Tempo>,
}

/// A focus and the moment it comes into force.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FocusFrom {
    /// From where on.
    pub from: FocusPoint,
    /// Which of the line's phrases.
    pub phrase: usize,
}

/// A place within a repeat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FocusPoint {
    /// The push-off of a length, from 0.
    Length(u32),
    /// A counted stroke, from 0.
    Stroke(u32),
}
