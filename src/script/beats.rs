//! Beat tracks as written: which beats sound, and how.

use crate::units::level::Decibels;
use crate::units::time::Seconds;

/// The sounds a beat can have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Timbre {
    /// A wood block.
    Wood,
    /// A small bell.
    Bell,
    /// A short dry tick.
    Tick,
    /// A low knock.
    Low,
    /// A high knock.
    High,
}

impl Timbre {
    /// Every timbre with the word scripts use for it.
    pub const ALL: [(&'static str, Self); 5] =
        [("wood", Self::Wood), ("bell", Self::Bell), ("tick", Self::Tick), ("low", Self::Low), ("high", Self::High)];
}

/// One sound of a beat track: a timbre, changed where the script says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeatSound {
    /// `sound`
    pub timbre: Timbre,
    /// `pitch` in Hz, 200 to 4,000; the timbre's own where absent.
    pub pitch: Option<u32>,
    /// `length`, 20 to 200 ms; the timbre's own where absent.
    pub length: Option<Seconds>,
    /// `level` against the settings' beat level, −40 to +6 dB.
    pub level: Decibels,
}

/// A beat track: which strokes sound, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct BeatTrack {
    /// The sound of a plain beat.
    pub sound: BeatSound,
    /// `every`: `stroke` is 1, `2 strokes` is 2 and so on (1 to 8): every N-th beat of the grid sounds.
    pub every: u32,
    /// `accent`: every N-th stroke of a length (2 to 16) sounds different.
    pub accent: Option<(u32, BeatSound)>,
}
