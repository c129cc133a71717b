//! What a coach can ask for while a practice plays, what is answered, and what the record hears of. Plain data; how a line
//! or a key becomes a command is the session's job, what a command does to the sound the conductor's.

use crate::mixer::Effect;
use crate::timeline::segment::Bus;
use crate::units::frame::{OutputFrame, PracticeFrame};
use crate::units::level::Decibels;
use crate::units::time::{SampleRate, Seconds, Tempo};
use std::fmt;

/// What `Next` and `Back` go by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// One repeat.
    Repeat,
    /// One set.
    Set,
}

/// What can be asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Command {
    /// Of the desk: the practice stays as it is.
    Desk(DeskCommand),
    /// Of the course: what is swum, and when.
    Course(CourseCommand),
}

/// What can be asked of the desk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DeskCommand {
    /// The practice stands still.
    Pause,
    /// It goes on.
    Resume,
    /// Change of a fader, −40 to +6 dB in total.
    Level(Bus, Decibels),
    /// Beats off or on.
    Mute(bool),
}

/// What can be asked of the course.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CourseCommand {
    /// On to the next repeat or set.
    Next(Unit),
    /// Back to the repeat or set before.
    Back(Unit),
    /// The swimmer is at the wall.
    Touch,
    /// No next go until released.
    Hold,
    /// The next go may come.
    Release,
    /// Hundredths of a second for the rest of the set; negative is faster.
    Tempo(i32),
    /// This tempo for the beats that sound, or for the next start that has some; the rest of the set changes by as much.
    TempoTo(Tempo),
    /// The phrase again.
    Again,
    /// Of a lane: who has touched, and who leaves when.
    Lane(LaneCommand),
    /// The last touch, hold, release, skip or change of tempo is taken back.
    Undo,
    /// The practice is put to the clock of the pool: so much of it is left out, or, where negative, comes again, which must
    /// be silence. What has not been said by then is said in the time that is left. The session asks for it, nobody by a key.
    Shift(Seconds),
}

/// What can be asked of a lane; swimmers go by their number, from 1 in the planned order of leaving. What changes who leaves
/// when holds from the next start on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LaneCommand {
    /// This swimmer is at the wall.
    Touch(u32),
    /// They sit out until they join again.
    Out(u32),
    /// They swim again.
    In(u32),
    /// They change places with whoever leaves in front of them.
    Ahead(u32),
    /// So long from one go to the next.
    Gap(Seconds),
    /// Somebody has caught them: the gap gets wider.
    Caught(u32),
}

impl From<LaneCommand> for Command {
    fn from(command: LaneCommand) -> Self {
        Self::Course(CourseCommand::Lane(command))
    }
}

impl From<DeskCommand> for Command {
    fn from(command: DeskCommand) -> Self {
        Self::Desk(command)
    }
}

impl From<CourseCommand> for Command {
    fn from(command: CourseCommand) -> Self {
        Self::Course(command)
    }
}

/// When a command was asked for, and from when on the sound may change, on either clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Timing {
    /// What was heard when somebody asked for it.
    pub pressed: PracticeFrame,
    /// When it may take effect.
    pub practice: PracticeFrame,
    /// The same on the output's clock: while the practice stands still only that goes on.
    pub output: OutputFrame,
}

impl Timing {
    /// How far the output's clock is ahead of the practice's: more with each pause.
    pub(super) fn apart(self, rate: SampleRate) -> Seconds {
        rate.time(self.output.number()) - self.practice.time(rate)
    }
}

/// A command that was taken, counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CommandId(pub u32);

/// Why a command was not taken: a sentence for the screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused(pub String);

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A command that has taken effect.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Acknowledged {
    /// Which.
    pub id: CommandId,
    /// The frame on which it took effect.
    pub effect: Effect,
    /// Where the practice was then.
    pub at: PracticeFrame,
    /// Whether that was later than asked for.
    pub late: bool,
}

/// What the record keeps of the swimming; times are the practice's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Happened {
    /// A go was heard.
    Go {
        /// Which set, from 0.
        set: usize,
        /// Which repeat of it, from 0.
        repeat: usize,
        /// When.
        at: Seconds,
    },
    /// The swim went on without a stop: this repeat began without a go.
    Joined {
        /// Which set, from 0.
        set: usize,
        /// Which repeat of it, from 0.
        repeat: usize,
        /// When, as expected or as the turn before it was keyed.
        at: Seconds,
    },
    /// Somebody pressed the key at a touch.
    Touch {
        /// Which set.
        set: usize,
        /// Which repeat.
        repeat: usize,
        /// When.
        at: Seconds,
        /// From the go.
        split: Seconds,
        /// The time that was expected.
        predicted: Seconds,
    },
    /// The go came before the touch of the repeat before: nobody swam this one.
    Missed {
        /// Which set.
        set: usize,
        /// Which repeat.
        repeat: usize,
    },
    /// The go was due in a time that was left out: nobody heard it.
    Unheard {
        /// Which set.
        set: usize,
        /// Which repeat.
        repeat: usize,
        /// When it was due.
        at: Seconds,
    },
    /// Left out by a command.
    Skipped {
        /// Which set.
        set: usize,
        /// Which repeat.
        repeat: usize,
    },
    /// One swimmer of a lane, by number: the repeat is one of their own practice.
    Own {
        /// Whose.
        number: u32,
        /// What.
        own: OwnEvent,
    },
    /// A command was taken back, and with it what came of it.
    Undone {
        /// Which.
        command: CourseCommand,
    },
    /// The tempo was changed from here on.
    Tempo {
        /// Which set.
        set: usize,
        /// When.
        at: Seconds,
        /// The new one.
        tempo: Tempo,
    },
}

impl Happened {
    /// A go that turns out to have been heard by nobody: when it was due, and what is to be told instead. Nothing else is lost.
    pub fn lost(self) -> Option<(Seconds, Self)> {
        match self {
            Self::Go { set, repeat, at } => Some((at, Self::Unheard { set, repeat, at })),
            Self::Own { number, own: OwnEvent { set, repeat, kind: OwnKind::Go { at } } } => {
                let kind = OwnKind::Unheard { at };
                Some((at, Self::Own { number, own: OwnEvent { set, repeat, kind } }))
            }
            _ => None,
        }
    }
}

/// What happened to one swimmer of a lane in a start of theirs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OwnEvent {
    /// Which set, from 0.
    pub set: usize,
    /// Which repeat of their own practice's set, from 0: the last of those that are swum without a stop, or the first where
    /// they begin.
    pub repeat: usize,
    /// What.
    pub kind: OwnKind,
}

/// Kinds of what happens to one swimmer of a lane.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OwnKind {
    /// Their go was heard.
    Go {
        /// When.
        at: Seconds,
    },
    /// Their go was due in a time without sound, or that was left out.
    Unheard {
        /// When it was due.
        at: Seconds,
    },
    /// They touched.
    Touch {
        /// When.
        at: Seconds,
        /// From their go.
        split: Seconds,
        /// The time that was expected.
        predicted: Seconds,
        /// How many repeats the split is of: more than one where they are swum without a stop.
        repeats: usize,
    },
    /// They touched too late for their go, and leave last instead.
    Late {
        /// When.
        at: Seconds,
    },
    /// They touched too late to leave at all.
    Missed,
    /// Left out by a command.
    Skipped,
}
