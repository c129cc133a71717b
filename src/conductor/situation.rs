//! Where a practice is at a moment: what the screen shows and the record is written beside. Pure reading.

use crate::practice::{FocusPoint, Repeat, Set};
use crate::units::time::{Seconds, Tempo};

/// What goes on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Activity {
    /// Nobody swims and no go is near: the opening, the closing.
    #[default]
    Talk,
    /// From a go to the touch.
    Swim,
    /// From a touch to the next go.
    Rest,
    /// A rest without end until released.
    Hold,
    /// The practice is over.
    Over,
}

/// Where a practice is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Situation {
    /// What goes on.
    pub phase: Activity,
    /// The set being swum, or the next one in a rest; from 0.
    pub set: usize,
    /// Its repeat likewise.
    pub repeat: usize,
    /// The go of the current repeat in a swim, of the one before in a rest.
    pub go: Option<Seconds>,
    /// Its predicted touch.
    pub predicted_touch: Option<Seconds>,
    /// The split taken by key.
    pub touched: Option<Seconds>,
    /// The next go; none in a hold, before a swim that goes on without a stop, or where nothing follows.
    pub next_go: Option<Seconds>,
    /// Whether the next start waits until it is released, also while somebody still swims.
    pub held: bool,
    /// From the go of `repeat` to the next one of its set, where that is sure: not where a rest counts from the touch.
    pub every: Option<Seconds>,
    /// The start after `repeat`.
    pub coming: Option<ComingStart>,
    /// What a touch soon after the go comes to where nobody has keyed the one before.
    pub late: Option<LateTouch>,
    /// The tempo heard.
    pub tempo: Option<Tempo>,
    /// Hundredths of a second that the tempo was changed by.
    pub nudge: i32,
    /// Words of the focus in force, or to come.
    pub focus: Option<String>,
    /// The predicted length now, and all lengths of the repeat.
    pub length: Option<(u32, u32)>,
    /// Change of the voice's fader in dB.
    pub voice_db: f64,
    /// Change of the beats' fader in dB.
    pub beats_db: f64,
    /// Whether beats are off.
    pub muted: bool,
    /// The swimmers of a lane as they leave next, those who sit out last; none where nobody shares one.
    pub lane: Vec<LanePlace>,
    /// From one go of the lane to the next one's, from the next start on.
    pub gap: Option<Seconds>,
}

/// Where a swimmer of a lane is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LanePlace {
    /// Their number, from 1.
    pub number: u32,
    /// Where.
    pub whereabouts: SwimmerIs,
    /// Their last split that was keyed.
    pub split: Option<Seconds>,
    /// Their next go; none where none is known yet.
    pub next_go: Option<Seconds>,
    /// Whether a touch soon after their go is that of the start before: nobody has keyed it, but others' were.
    pub owes_touch: bool,
}

/// Where somebody is, as far as gos and keys tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SwimmerIs {
    /// At the wall: not away yet, or touched.
    Wall,
    /// Away, and no touch was keyed.
    Swims {
        /// Their go.
        go: Seconds,
        /// The touch that is expected.
        due: Seconds,
    },
    /// Too late for their go: they leave last.
    Late,
    /// They sit out.
    Out,
}

/// What a touch soon after a go is taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LateTouch {
    /// The turn into a swim that goes on without a stop.
    Turn,
    /// The touch of the repeat before: the one whose go has just been is then missed.
    Missed,
}

/// A start that comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ComingStart {
    /// Its set, from 0.
    pub set: usize,
    /// Its repeat, from 0.
    pub repeat: usize,
    /// Its go; none where it, or one before it, waits to be released, or where the swim goes on without a stop.
    pub go: Option<Seconds>,
    /// Whether the swim before goes on into it without a stop.
    pub joined: bool,
}

/// Which length is swum so long after the go, as predicted; from 0.
pub(super) fn length(repeat: &Repeat, since: Seconds) -> u32 {
    let mut end = Seconds::ZERO;
    let done = repeat.lengths.iter().take_while(|length| {
        end += length.time;
        end <= since
    });
    let last = repeat.count_lengths().saturating_sub(1);
    u32::try_from(done.count()).map_or(last, |done| done.min(last))
}

/// The words of the focus in force.
pub(super) fn focus(set: &Set, repeat: &Repeat, length: u32, since: Seconds) -> Option<String> {
    let phrase = in_force(repeat, length, since)?;
    Some(set.lines.get(repeat.line)?.focus.get(phrase)?.full.text.to_string())
}

/// The focus in force. Where it changes by strokes, the tempo tells how many have been swum.
pub(super) fn in_force(repeat: &Repeat, length: u32, since: Seconds) -> Option<usize> {
    let strokes = repeat.tempo.map_or(0, |tempo| tempo.first_at_or_after(since));
    let begun = |place: &FocusPoint| match *place {
        FocusPoint::Length(from) => from <= length,
        FocusPoint::Stroke(from) => u64::from(from) <= strokes,
    };
    repeat.focus.iter().rev().find(|from| begun(&from.from)).map(|focus| focus.phrase)
}
