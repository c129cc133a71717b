//! What a session shows of itself: plain data, copied for the screen some twenty times a second. How it looks is the
//! screen's job; what it means for the sound the conductor's.

use super::swim::SwimFacts;
use crate::conductor::doubt::AskedTouch;
use crate::conductor::situation::Situation;
use crate::units::time::Seconds;

/// A session at one moment.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Snapshot {
    /// The practice's title.
    pub title: String,
    /// The practice clock.
    pub elapsed: Seconds,
    /// The whole practice as planned.
    pub total: Seconds,
    /// Whether it stands still by command.
    pub paused: bool,
    /// Where the practice is.
    pub situation: Situation,
    /// What is swum, or comes in a rest.
    pub swum: Option<SwimFacts>,
    /// What comes after that; none at the end.
    pub next: Option<SwimFacts>,
    /// The clock of the pool: the time since the session began, also in a pause.
    pub clock: Seconds,
    /// The touch that is asked about.
    pub doubt: Option<AskedTouch>,
    /// What went wrong, the newest at the end.
    pub faults: Vec<Fault>,
    /// The highest sample of the last while, 0 to 1 of full scale.
    pub level: f32,
    /// What the sound goes to.
    pub device: DeviceState,
    /// How far the practice is behind the clock of the pool, where that is to be known.
    pub behind: Option<Seconds>,
    /// Blocks that the device waited for in vain.
    pub missed_blocks: u64,
    /// Cues that were due while there was no sound.
    pub missed_cues: u64,
    /// The last command and what came of it, or why it was refused.
    pub last: Option<String>,
    /// The last few touches, the newest at the end.
    pub splits: Vec<Split>,
    /// What the swimmers of a lane are called, the one with number 1 first; nobody where none is shared.
    pub names: Vec<String>,
}

impl Snapshot {
    /// What a swimmer of the lane is called, with their number.
    pub fn called(&self, number: u32) -> String {
        let name = usize::try_from(number).ok().and_then(|number| self.names.get(number.checked_sub(1)?));
        name.map_or_else(|| number.to_string(), |name| format!("{number} {name}"))
    }
}

/// Something that went wrong and that somebody must see.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Fault {
    /// Which, from 1 on; rises.
    pub number: u32,
    /// In two or three words, for reading from afar.
    pub short: String,
    /// A sentence.
    pub words: String,
}

/// A touch taken by key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Split {
    /// Which set, from 0.
    pub set: usize,
    /// Which repeat of it, from 0.
    pub repeat: usize,
    /// From the go to the touch.
    pub split: Seconds,
    /// The time that was expected.
    pub predicted: Seconds,
    /// Whose in a lane, by number.
    pub number: Option<u32>,
}

/// What the sound goes to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum DeviceState {
    /// A simulated device: nothing is heard.
    #[default]
    Simulated,
    /// A device that takes sound.
    Playing {
        /// Its name.
        name: String,
        /// Frames a second.
        rate: u32,
        /// Frames that it asks for at a time.
        buffer: u32,
    },
    /// A device that takes no more sound without saying why.
    Stalled {
        /// Its name.
        name: String,
        /// The practice clock when it stopped.
        since: Seconds,
    },
    /// No device.
    Lost {
        /// The practice clock when it went.
        since: Seconds,
        /// Why, as the system put it.
        why: String,
    },
}
