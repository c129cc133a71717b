//! Values of a swim that may follow the swimmer, and how they run over its repeats. What they come to is `practice`'s to say.

use crate::diag::Spanned;
use crate::units::time::Seconds;

/// `effort` of a swim.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effort {
    /// `easy`
    Easy,
    /// `steady`
    Steady,
    /// `brisk`
    Brisk,
    /// `fast`
    Fast,
    /// `build`: from easy to fast within each repeat.
    Build,
}

impl Effort {
    /// Every effort with its word.
    pub const ALL: [(&'static str, Self); 5] = [
        ("easy", Self::Easy),
        ("steady", Self::Steady),
        ("brisk", Self::Brisk),
        ("fast", Self::Fast),
        ("build", Self::Build),
    ];
}

/// A value as written: absolute, or against what is known of whoever swims.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written<T, B> {
    /// The same for everybody.
    Fixed(T),
    /// `usual - 0.05 s`: so much from a base of the swimmer's own.
    Following {
        /// What it follows.
        base: B,
        /// How much is added; negative for less.
        plus: Seconds,
    },
}

/// The one base of tempos, `usual`: the tempo at which the swimmer swims by feel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UsualTempo;

/// A base of paces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PaceBase {
    /// The swimmer's pace of an effort: `easy`, `steady`, `brisk`, `fast`.
    Effort(Effort),
    /// `critical`: the pace of the critical speed.
    Critical,
}

impl PaceBase {
    /// Every base with its word.
    pub const ALL: [(&'static str, Self); 5] = [
        ("easy", Self::Effort(Effort::Easy)),
        ("steady", Self::Effort(Effort::Steady)),
        ("brisk", Self::Effort(Effort::Brisk)),
        ("fast", Self::Effort(Effort::Fast)),
        ("critical", Self::Critical),
    ];
}

/// `at-most` of `strokes`, in one length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StrokeTarget {
    /// `19`: 4 to 200 strokes.
    Fixed(u32),
    /// `predicted + 1`: so many more than the highest count predicted for a length, -20 to 20.
    Predicted(i32),
}

/// A value for each repeat.
#[derive(Clone, Debug, PartialEq)]
pub struct Progression<T> {
    /// Which values.
    pub shape: Values<T>,
    /// Whether they were written per minute (`50 /min`): even steps then run in strokes a minute, and so are they spoken.
    pub per_minute: bool,
}

/// One value for all repeats, a list that cycles, or a range.
#[derive(Clone, Debug, PartialEq)]
pub enum Values<T> {
    /// The same every time.
    One(T),
    /// Each in turn, from the start again when used up; 1 to 200.
    List(Vec<T>),
    /// Even steps in the unit written, first to last over the repeats of the swim, again in each round.
    Range(Range<T>),
}

/// `{ from: 1.30 s, to: 0.95 s }`, with `step` if written.
#[derive(Clone, Debug, PartialEq)]
pub struct Range<T> {
    /// `from`
    pub from: Spanned<T>,
    /// `to`
    pub to: Spanned<T>,
    /// `step`, positive; as a ratio (numerator, denominator) of the unit written.
    pub step: Option<Spanned<(u64, u64)>>,
}

/// `call`: what is called while somebody swims, or before they go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CallOut {
    /// `every 100 strokes`, 20 to 1,000: the count.
    Strokes(u32),
    /// `lengths`: how many are left, where half is, the last one.
    Lengths,
    /// `each repeat`: which one it is, before each go.
    EachRepeat,
}

/// `remind`: how soon a focus that does not change is said again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Remind {
    /// `every 4 lengths`, 1 to 100: in a pool.
    Lengths(u32),
    /// `every 90 s`, 30 s to 10 min: in open water.
    Time(Seconds),
    /// `never`
    Never,
}

/// `opening` of a practice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OpeningTalk {
    /// `full`: all that somebody must know who hears it for the first time.
    Full,
    /// `short`: the words of care alone.
    Short,
}

impl OpeningTalk {
    /// Each with its word.
    pub const ALL: [(&'static str, Self); 2] = [("full", Self::Full), ("short", Self::Short)];
}
