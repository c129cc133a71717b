//! The keys of the live screen: one table from which the screen's own line, `--help` and the README are made. What a
//! command does to the sound is the conductor's job.

use crate::conductor::command::{Command, CourseCommand, DeskCommand, Unit};
use crate::session::input::Input;
use crate::session::snapshot::Snapshot;
use crate::timeline::segment::Bus;
use crate::units::level::Decibels;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// One row of the table.
#[derive(Debug)]
pub struct KeyRow {
    /// The keys that mean it; the first is the one shown where there is little room.
    keys: &'static [KeyCode],
    /// The keys as a person writes them.
    pub shown: &'static str,
    /// What it does, in one or two words.
    pub short: &'static str,
    /// What it does.
    pub words: &'static str,
    /// The same as a line on standard input; empty where the screen alone knows it.
    pub line: &'static str,
    does: Does,
}

/// What a key does; some depend on how things stand.
#[derive(Clone, Copy, Debug)]
enum Does {
    PauseOrResume,
    MuteOrNot,
    Plain(Command),
    Digit,
    Top,
    Seen,
    Help,
    Stop,
}

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Asked {
    /// Something of the session.
    Session(Input),
    /// The first digit of a tempo.
    Digit(char),
    /// The hand of the pool's pace clock is at the top.
    Top,
    /// What went wrong has been seen.
    Seen,
    /// All keys to be shown, or hidden again.
    Help,
    /// The end, which needs a second word.
    Stop,
    /// The end, as an interrupt asks for it: a second one needs no other word.
    Interrupt,
    /// Everything drawn again, where something else wrote onto the screen.
    Redraw,
    /// Nothing: a key without a meaning.
    Nothing,
}

/// One step of a fader.
const STEP: Decibels = Decibels::of(1.0);
/// One step down.
const STEP_DOWN: Decibels = Decibels::of(-1.0);

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

/// Every key, the most needed first: a narrow screen shows what it has room for.
pub const KEYS: &[KeyRow] = &[
    row(&[KeyCode::Char(' ')], "space", "pause", "pause, or go on", "pause | resume", Does::PauseOrResume),
    row(
        &[KeyCode::Char('t')],
        "t",
        "touch",
        "the swimmer is at the wall",
        "touch",
        Does::Plain(Command::Course(CourseCommand::Touch)),
    ),
    row(
        &[KeyCode::Char('n'), KeyCode::Right],
        "n, →",
        "next",
        "on to the next repeat",
        "next",
        Does::Plain(Command::Course(CourseCommand::Next(Unit::Repeat))),
    ),
    row(
        &[KeyCode::Char('b'), KeyCode::Left],
        "b, ←",
        "back",
        "back to the repeat before",
        "back",
        Does::Plain(Command::Course(CourseCommand::Back(Unit::Repeat))),
    ),
    row(
        &[KeyCode::Char('h')],
        "h",
        "hold",
        "hold the next start",
        "hold",
        Does::Plain(Command::Course(CourseCommand::Hold)),
    ),
    row(
        &[KeyCode::Char('g')],
        "g",
        "go",
        "let it come; skip the talk",
        "go",
        Does::Plain(Command::Course(CourseCommand::Release)),
    ),
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
    row(
        &[KeyCode::Char('a')],
        "a",
        "again",
        "say the phrase again",
        "again",
        Does::Plain(Command::Course(CourseCommand::Again)),
    ),
    row(
        &[KeyCode::Char('u')],
        "u",
        "undo",
        "take the last one back",
        "undo",
        Does::Plain(Command::Course(CourseCommand::Undo)),
    ),
    row(&[KeyCode::Char('m')], "m", "beats off", "beats off, or on", "mute | unmute", Does::MuteOrNot),
    row(
        &[KeyCode::Char('N')],
        "N",
        "next set",
        "on to the next set",
        "next set",
        Does::Plain(Command::Course(CourseCommand::Next(Unit::Set))),
    ),
    row(
        &[KeyCode::Char('B')],
        "B",
        "set before",
        "back to the set before",
        "back set",
        Does::Plain(Command::Course(CourseCommand::Back(Unit::Set))),
    ),
    row(
        &[KeyCode::Char('+'), KeyCode::Char('=')],
        "+",
        "voice up",
        "voice 1 dB louder",
        "voice up",
        Does::Plain(Command::Desk(DeskCommand::Level(Bus::Voice, STEP))),
    ),
    row(
        &[KeyCode::Char('-')],
        "-",
        "voice down",
        "voice 1 dB softer",
        "voice down",
        Does::Plain(Command::Desk(DeskCommand::Level(Bus::Voice, STEP_DOWN))),
    ),
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
    row(&[KeyCode::Char('c')], "c", "clock", "the pace clock is at the top", "", Does::Top),
    row(&[KeyCode::Enter], "enter", "seen", "what went wrong is seen", "", Does::Seen),
    row(&[KeyCode::Char('?')], "?", "keys", "show all keys, or hide them", "", Does::Help),
    row(&[KeyCode::Char('q')], "q", "stop", "stop; asks once", "stop", Does::Stop),
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

/// What a key asks for as things stand. Only presses and repeats count, and no combinations but those of a terminal.
pub fn asked(key: &KeyEvent, snapshot: &Snapshot) -> Asked {
    if key.kind == KeyEventKind::Release {
        return Asked::Nothing;
    }
    if key.modifiers.contains(KeyModifiers::CONTROL) {
        return match key.code {
            KeyCode::Char('c' | 'd') => Asked::Interrupt,
            KeyCode::Char('l') => Asked::Redraw,
            _ => Asked::Nothing,
        };
    }
    if key.modifiers.contains(KeyModifiers::ALT) {
        return Asked::Nothing;
    }
    let Some(row) = KEYS.iter().find(|row| row.keys.contains(&key.code)) else { return Asked::Nothing };
    // A key held down must not take a touch twice or run through the practice; only levels and tempo may repeat.
    let steps = matches!(
        row.does,
        Does::Plain(Command::Desk(DeskCommand::Level(..)) | Command::Course(CourseCommand::Tempo(_)))
    );
    if key.kind == KeyEventKind::Repeat && !steps {
        return Asked::Nothing;
    }
    let command = match row.does {
        Does::PauseOrResume if snapshot.paused => Command::Desk(DeskCommand::Resume),
        Does::PauseOrResume => Command::Desk(DeskCommand::Pause),
        Does::MuteOrNot => Command::Desk(DeskCommand::Mute(!snapshot.situation.muted)),
        Does::Plain(command) => command,
        Does::Digit => match key.code {
            KeyCode::Char(digit) => return Asked::Digit(digit),
            _ => return Asked::Nothing,
        },
        Does::Top => return Asked::Top,
        Does::Seen => return Asked::Seen,
        Does::Help => return Asked::Help,
        Does::Stop => return Asked::Stop,
    };
    Asked::Session(Input::Do(command))
}

/// The table for `--help`, a key a line. Arrows are words here: manual pages are typeset where there are none.
pub fn help() -> String {
    let lines = KEYS.iter().map(|row| {
        let shown = row.shown.replace('→', "right").replace('←', "left");
        let line = if row.line.is_empty() { String::new() } else { format!("   {}", row.line) };
        format!("  {shown:<9} {:<27}{line}", row.words).trim_end().to_owned()
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// The table as the README has it.
pub fn markdown() -> String {
    let code = |text: &str, by: &str| text.split(by).map(|part| format!("`{part}`")).collect::<Vec<_>>().join(" ");
    let rows = KEYS.iter().map(|row| {
        let line = if row.line.is_empty() { String::new() } else { code(row.line, " | ") };
        format!("| {} | {} | {line} |\n", code(row.shown, ", "), row.words)
    });
    format!("| key | what it does | as a line |\n| --- | --- | --- |\n{}", rows.collect::<String>())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::input::parse;
    use std::collections::BTreeSet;

    fn press(code: KeyCode) -> KeyEvent {
        KeyEvent::new(code, KeyModifiers::NONE)
    }

    #[test]
    fn no_key_means_two_things() {
        let mut seen = BTreeSet::new();
        for row in KEYS {
            for key in row.keys {
                assert!(seen.insert(format!("{key:?}")), "{key:?} is in the table twice");
            }
            assert!(!row.keys.is_empty() && !row.words.is_empty() && row.words.len() < 29, "{row:?}");
        }
    }

    #[test]
    fn a_key_goes_by_how_things_stand() {
        let mut snapshot = Snapshot::default();
        let ask = |snapshot: &Snapshot, code| asked(&press(code), snapshot);
        assert_eq!(ask(&snapshot, KeyCode::Char(' ')), Asked::Session(Input::Do(Command::Desk(DeskCommand::Pause))));
        assert_eq!(
            ask(&snapshot, KeyCode::Char('m')),
            Asked::Session(Input::Do(Command::Desk(DeskCommand::Mute(true))))
        );
        assert_eq!(
            ask(&snapshot, KeyCode::Char('t')),
            Asked::Session(Input::Do(Command::Course(CourseCommand::Touch)))
        );
        assert_eq!(ask(&snapshot, KeyCode::Enter), Asked::Seen, "a touch is meant");
        (snapshot.paused, snapshot.situation.muted) = (true, true);
        assert_eq!(ask(&snapshot, KeyCode::Char(' ')), Asked::Session(Input::Do(Command::Desk(DeskCommand::Resume))));
        assert_eq!(
            ask(&snapshot, KeyCode::Char('m')),
            Asked::Session(Input::Do(Command::Desk(DeskCommand::Mute(false))))
        );
        assert_eq!(ask(&snapshot, KeyCode::Char('q')), Asked::Stop);
        assert_eq!(ask(&snapshot, KeyCode::Char('x')), Asked::Nothing);
    }

    #[test]
    fn a_key_held_down_touches_once() {
        let mut key = press(KeyCode::Char('t'));
        key.kind = KeyEventKind::Repeat;
        assert_eq!(asked(&key, &Snapshot::default()), Asked::Nothing);
        key.code = KeyCode::Char('f');
        assert_eq!(
            asked(&key, &Snapshot::default()),
            Asked::Session(Input::Do(Command::Course(CourseCommand::Tempo(-1))))
        );
        key.kind = KeyEventKind::Release;
        assert_eq!(asked(&key, &Snapshot::default()), Asked::Nothing);
        let interrupt = KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL);
        assert_eq!(asked(&interrupt, &Snapshot::default()), Asked::Interrupt);
    }

    #[test]
    fn every_line_asks_for_what_its_key_does() {
        let mut changed = Snapshot { paused: true, ..Snapshot::default() };
        changed.situation.muted = true;
        for row in KEYS.iter().filter(|row| !row.line.is_empty()) {
            for (line, snapshot) in row.line.split(" | ").zip([Snapshot::default(), changed.clone()]) {
                let Ok(Input::Do(Command::Desk(DeskCommand::Level(bus, by)))) = parse(line) else {
                    let asked = match asked(&press(row.keys[0]), &snapshot) {
                        Asked::Session(input) => input,
                        other => {
                            assert_eq!(other, Asked::Stop, "{line}");
                            Input::Stop
                        }
                    };
                    assert_eq!(parse(line), Ok(asked), "{line}");
                    continue;
                };
                // A line without a number takes a larger step than a key.
                let Asked::Session(Input::Do(Command::Desk(DeskCommand::Level(own, step)))) =
                    asked(&press(row.keys[0]), &snapshot)
                else {
                    panic!("{line}");
                };
                assert!(own == bus && by.db().signum() == step.db().signum(), "{line}");
            }
        }
    }

    #[test]
    fn help_and_readme_have_every_key() {
        for row in KEYS {
            assert!(help().contains(row.words) && markdown().contains(row.words), "{}", row.words);
        }
        assert!(help().lines().all(|line| line.len() < 100));
    }
}
