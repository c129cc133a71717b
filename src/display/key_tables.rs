//! The tables of keys, for one swimmer and for a lane, from which the screen's own line, `--help` and the pages are made. What a
//! key asks for as things stand is for `keys`.

use crate::conductor::command::{Command, CourseCommand, DeskCommand, LaneCommand, Unit};
use crate::conductor::situation::SwimmerIs;
use crate::session::input::Input;
use crate::session::snapshot::Snapshot;
use crate::timeline::segment::Bus;
use crate::units::level::Decibels;
use ratatui::crossterm::event::KeyCode;

/// One row of the table.
#[derive(Debug)]
pub struct KeyRow {
    /// The keys that mean it; the first is the one shown where there is little room.
    pub(super) keys: &'static [KeyCode],
    /// The keys as a person writes them.
    pub shown: &'static str,
    /// What it does, in one or two words.
    pub short: &'static str,
    /// What it does.
    pub words: &'static str,
    /// The same as a line on standard input; empty where the screen alone knows it.
    pub line: &'static str,
    pub(super) does: Does,
}

/// What a key does; some depend on how things stand.
#[derive(Clone, Copy, Debug)]
pub(super) enum Does {
    PauseOrResume,
    MuteOrNot,
    Plain(Command),
    Digit,
    Number,
    Whose(Whose),
    Gap(i64),
    Top,
    Seen,
    Help,
    Stop,
}

/// What is asked of a swimmer of a lane whose number comes next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// They sit out, or swim again.
    OutOrIn,
    /// They leave one place earlier.
    Ahead,
    /// They were caught.
    Caught,
}

impl Whose {
    /// What a number behind it asks for, as things stand.
    pub fn of(self, number: u32, snapshot: &Snapshot) -> Input {
        let place = snapshot.situation.lane.iter().find(|place| place.number == number);
        let out = place.is_some_and(|place| place.whereabouts == SwimmerIs::Out);
        let command = match self {
            Self::OutOrIn if out => LaneCommand::In(number),
            Self::OutOrIn => LaneCommand::Out(number),
            Self::Ahead => LaneCommand::Ahead(number),
            Self::Caught => LaneCommand::Caught(number),
        };
        Input::Do(command.into())
    }
}

/// One step of a fader.
const STEP: Decibels = Decibels::of(1.0);
/// One step down.
const STEP_DOWN: Decibels = Decibels::of(-1.0);

/// The keys of a lane's swimmers.
pub(super) const NUMBERS: [KeyCode; 8] = [
    KeyCode::Char('1'),
    KeyCode::Char('2'),
    KeyCode::Char('3'),
    KeyCode::Char('4'),
    KeyCode::Char('5'),
    KeyCode::Char('6'),
    KeyCode::Char('7'),
    KeyCode::Char('8'),
];

/// The keys that a number begins with.
const DIGITS: [KeyCode; 10] = [
    KeyCode::Char('0'),
    KeyCode::Char('1'),
    KeyCode::Char('2'),
    KeyCode::Char('3'),
    KeyCode::Char('4'),
    KeyCode::Char('5'),
    KeyCode::Char('6'),
    KeyCode::Char('7'),
    KeyCode::Char('8'),
    KeyCode::Char('9'),
];

const PAUSE: KeyRow =
    row(&[KeyCode::Char(' ')], "space", "pause", "pause, or go on", "pause | resume", Does::PauseOrResume);
const NEXT: KeyRow = row(
    &[KeyCode::Char('n'), KeyCode::Right],
    "n, →",
    "next",
    "on to the next repeat",
    "next",
    Does::Plain(Command::Course(CourseCommand::Next(Unit::Repeat))),
);
const BACK: KeyRow = row(
    &[KeyCode::Char('b'), KeyCode::Left],
    "b, ←",
    "back",
    "back to the repeat before",
    "back",
    Does::Plain(Command::Course(CourseCommand::Back(Unit::Repeat))),
);
const HOLD: KeyRow = row(
    &[KeyCode::Char('h')],
    "h",
    "hold",
    "hold the next start",
    "hold",
    Does::Plain(Command::Course(CourseCommand::Hold)),
);
const GO: KeyRow = row(
    &[KeyCode::Char('g')],
    "g",
    "go",
    "let it come; skip the talk",
    "go",
    Does::Plain(Command::Course(CourseCommand::Release)),
);
const AGAIN: KeyRow = row(
    &[KeyCode::Char('a')],
    "a",
    "again",
    "say the phrase again",
    "again",
    Does::Plain(Command::Course(CourseCommand::Again)),
);
const UNDO: KeyRow = row(
    &[KeyCode::Char('u')],
    "u",
    "undo",
    "take the last one back",
    "undo",
    Does::Plain(Command::Course(CourseCommand::Undo)),
);
const NEXT_SET: KeyRow = row(
    &[KeyCode::Char('N')],
    "N",
    "next set",
    "on to the next set",
    "next set",
    Does::Plain(Command::Course(CourseCommand::Next(Unit::Set))),
);
const SET_BEFORE: KeyRow = row(
    &[KeyCode::Char('B')],
    "B",
    "set before",
    "back to the set before",
    "back set",
    Does::Plain(Command::Course(CourseCommand::Back(Unit::Set))),
);
const VOICE_UP: KeyRow = row(
    &[KeyCode::Char('+'), KeyCode::Char('=')],
    "+",
    "voice up",
    "voice 1 dB louder",
    "voice up",
    Does::Plain(Command::Desk(DeskCommand::Level(Bus::Voice, STEP))),
);
const VOICE_DOWN: KeyRow = row(
    &[KeyCode::Char('-')],
    "-",
    "voice down",
    "voice 1 dB softer",
    "voice down",
    Does::Plain(Command::Desk(DeskCommand::Level(Bus::Voice, STEP_DOWN))),
);
const CLOCK: KeyRow = row(&[KeyCode::Char('c')], "c", "clock", "the pace clock is at the top", "", Does::Top);
const SEEN: KeyRow = row(&[KeyCode::Enter], "enter", "seen", "what went wrong is seen", "", Does::Seen);
const HELP: KeyRow = row(&[KeyCode::Char('?')], "?", "keys", "show all keys, or hide them", "", Does::Help);
const STOP: KeyRow = row(&[KeyCode::Char('q')], "q", "stop", "stop; asks once", "stop", Does::Stop);

/// Every key, the most needed first: a narrow screen shows what it has room for.
pub const KEYS: &[KeyRow] = &[
    PAUSE,
    row(
        &[KeyCode::Char('t')],
        "t",
        "touch",
        "the swimmer is at the wall",
        "touch",
        Does::Plain(Command::Course(CourseCommand::Touch)),
    ),
    NEXT,
    BACK,
    HOLD,
    GO,
    row(
        &[KeyCode::Char('f')],
        "f",
        "faster",
        "tempo 0.01 s faster",
        "faster",
        Does::Plain(Command::Course(CourseCommand::Tempo(-1))),
    ),
    row(
        &[KeyCode::Char('s')],
        "s",
        "slower",
        "tempo 0.01 s slower",
        "slower",
        Does::Plain(Command::Course(CourseCommand::Tempo(1))),
    ),
    AGAIN,
    UNDO,
    row(&[KeyCode::Char('m')], "m", "beats off", "beats off, or on", "mute | unmute", Does::MuteOrNot),
    NEXT_SET,
    SET_BEFORE,
    VOICE_UP,
    VOICE_DOWN,
    row(
        &[KeyCode::Char('.'), KeyCode::Char('>')],
        ".",
        "beats up",
        "beats 1 dB louder",
        "beats up",
        Does::Plain(Command::Desk(DeskCommand::Level(Bus::Beats, STEP))),
    ),
    row(
        &[KeyCode::Char(','), KeyCode::Char('<')],
        ",",
        "beats down",
        "beats 1 dB softer",
        "beats down",
        Does::Plain(Command::Desk(DeskCommand::Level(Bus::Beats, STEP_DOWN))),
    ),
    row(&DIGITS, "0-9", "tempo", "a tempo by its number: 1.08", "", Does::Digit),
    CLOCK,
    SEEN,
    HELP,
    STOP,
];

/// The keys that a lane has, in the same order. What is a swimmer's alone takes their number: at once for a touch, behind another
/// key for what is rarer.
pub const LANE_KEYS: &[KeyRow] = &[
    PAUSE,
    row(&NUMBERS, "1-8", "touch", "this swimmer is at the wall", "touch 3", Does::Number),
    UNDO,
    HOLD,
    GO,
    NEXT,
    BACK,
    row(
        &[KeyCode::Char('o')],
        "o",
        "out, in",
        "o3: 3 sits out or swims again",
        "out 3 | in 3",
        Does::Whose(Whose::OutOrIn),
    ),
    row(&[KeyCode::Char('p')], "p", "passes", "p3: 3 leaves a place earlier", "ahead 3", Does::Whose(Whose::Ahead)),
    row(&[KeyCode::Char('k')], "k", "caught", "k3: 3 was caught: wider gap", "caught 3", Does::Whose(Whose::Caught)),
    row(&[KeyCode::Char('w')], "w", "wider", "1 s more from go to go", "gap 10", Does::Gap(1)),
    row(&[KeyCode::Char('x')], "x", "closer", "1 s less from go to go", "", Does::Gap(-1)),
    AGAIN,
    NEXT_SET,
    SET_BEFORE,
    VOICE_UP,
    VOICE_DOWN,
    CLOCK,
    SEEN,
    HELP,
    STOP,
];

const fn row(
    keys: &'static [KeyCode],
    shown: &'static str,
    short: &'static str,
    words: &'static str,
    line: &'static str,
    does: Does,
) -> KeyRow {
    KeyRow { keys, shown, short, words, line, does }
}

impl KeyRow {
    /// The first of its keys as a person writes it.
    pub fn first(&self) -> &'static str {
        self.shown.split(", ").next().filter(|first| !first.is_empty()).unwrap_or(self.shown)
    }

    /// What it does now, in one or two words.
    pub const fn short_now(&self, snapshot: &Snapshot) -> &'static str {
        match self.does {
            Does::PauseOrResume if snapshot.paused => "go on",
            Does::MuteOrNot if snapshot.situation.muted => "beats on",
            _ => self.short,
        }
    }
}
