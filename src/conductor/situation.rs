//! Where a practice is at a moment: what the screen shows and the record is written beside. Plain data.

use crate::units::time::{Seconds, Tempo};

/// What goes on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Phase {
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

/// See the head of this file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Situation {
    /// What goes on.
    pub phase: Phase,
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
    /// The next go; none in a hold or where nothing follows.
    pub next_go: Option<Seconds>,
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
}
