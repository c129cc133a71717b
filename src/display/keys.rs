//! The keys of the live screen: what each asks for as things stand. What a command does to the sound is the conductor's job.

use super::key_tables::{Does, KEYS, KeyRow, LANE_KEYS, NUMBERS, Whose};
use crate::conductor::command::{Command, CourseCommand, DeskCommand, LaneCommand};
use crate::session::input::Input;
use crate::session::snapshot::Snapshot;
use crate::units::time::Seconds;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Asked {
    /// Something of the session.
    Session(Input),
    /// The first digit of a tempo.
    Digit(char),
    /// Something of a swimmer whose number comes next.
    Whose(Whose),
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

/// The keys that there are: those of a lane where several share one.
pub const fn table(snapshot: &Snapshot) -> &'static [KeyRow] {
    if snapshot.situation.lane.is_empty() { KEYS } else { LANE_KEYS }
}

/// The number that a key is.
pub fn number(key: &KeyEvent) -> Option<u32> {
    let KeyCode::Char(digit) = key.code else { return None };
    digit.to_digit(10).filter(|_| NUMBERS.contains(&key.code) && key.kind == KeyEventKind::Press)
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
    let Some(row) = table(snapshot).iter().find(|row| row.keys.contains(&key.code)) else { return Asked::Nothing };
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
        Does::Number => match number(key) {
            Some(number) => LaneCommand::Touch(number).into(),
            None => return Asked::Nothing,
        },
        Does::Whose(whose) => return Asked::Whose(whose),
        Does::Gap(by) => {
            let gap = snapshot.situation.gap.unwrap_or(Seconds::ZERO);
            LaneCommand::Gap(gap + Seconds::from_secs(by)).into()
        }
        Does::Top => return Asked::Top,
        Does::Seen => return Asked::Seen,
        Does::Help => return Asked::Help,
        Does::Stop => return Asked::Stop,
    };
    Asked::Session(Input::Do(command))
}

/// A table for `--help`, a key a line. Arrows are words here: manual pages are typeset where there are none.
pub fn help(table: &[KeyRow]) -> String {
    let lines = table.iter().map(|row| {
        let shown = row.shown.replace('→', "right").replace('←', "left");
        let line = if row.line.is_empty() { String::new() } else { format!("   {}", row.line) };
        format!("  {shown:<9} {:<27}{line}", row.words).trim_end().to_owned()
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// A table as LIVE.md and LANES.md have it.
pub fn markdown(table: &[KeyRow]) -> String {
    let code = |text: &str, by: &str| text.split(by).map(|part| format!("`{part}`")).collect::<Vec<_>>().join(" ");
    let rows = table.iter().map(|row| {
        let line = if row.line.is_empty() { String::new() } else { code(row.line, " | ") };
        format!("| {} | {} | {line} |\n", code(row.shown, ", "), row.words)
    });
    format!("| key | what it does | as a line |\n| --- | --- | --- |\n{}", rows.collect::<String>())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conductor::situation::{LanePlace, SwimmerIs};
    use crate::session::input::parse;
    use std::collections::BTreeSet;

    fn press(code: KeyCode) -> KeyEvent {
        KeyEvent::new(code, KeyModifiers::NONE)
    }

    #[test]
    fn no_key_means_two_things() {
        for table in [KEYS, LANE_KEYS] {
            let mut seen = BTreeSet::new();
            for row in table {
                for key in row.keys {
                    assert!(seen.insert(format!("{key:?}")), "{key:?} is in the table twice");
                }
                assert!(!row.keys.is_empty() && !row.words.is_empty() && row.words.len() < 30, "{row:?}");
            }
        }
    }

    /// Three in a lane, of whom the second sits out.
    fn lane() -> Snapshot {
        let place =
            |number, whereabouts| LanePlace { number, whereabouts, split: None, next_go: None, owes_touch: false };
        let mut snapshot = Snapshot::default();
        snapshot.situation.gap = Some(Seconds::from_secs(5));
        snapshot.situation.lane = vec![place(1, SwimmerIs::Wall), place(3, SwimmerIs::Wall), place(2, SwimmerIs::Out)];
        snapshot
    }

    #[test]
    fn in_a_lane_numbers_are_swimmers() {
        let snapshot = lane();
        let ask = |code| asked(&press(KeyCode::Char(code)), &snapshot);
        let line = |line| Asked::Session(parse(line).unwrap());
        assert_eq!((ask('3'), ask('w'), ask('x')), (line("touch 3"), line("gap 6"), line("gap 4")));
        // A touch by number has no key without one, and there are no beats to make faster.
        assert!(['t', 'f', 's', 'm', '.', '0', '9'].into_iter().all(|key| ask(key) == Asked::Nothing));
        for (key, two, three) in [('o', "in 2", "out 3"), ('p', "ahead 2", "ahead 3"), ('k', "caught 2", "caught 3")] {
            let Asked::Whose(whose) = ask(key) else { panic!("{key}") };
            let of = |number| whose.of(number, &snapshot);
            assert_eq!((of(2), of(3)), (parse(two).unwrap(), parse(three).unwrap()), "{key}");
        }
        let mut held = press(KeyCode::Char('3'));
        held.kind = KeyEventKind::Repeat;
        assert_eq!((asked(&held, &snapshot), number(&held)), (Asked::Nothing, None));
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
        for table in [KEYS, LANE_KEYS] {
            let (help, markdown) = (help(table), markdown(table));
            assert!(table.iter().all(|row| help.contains(row.words) && markdown.contains(row.words)));
            assert!(help.lines().all(|line| line.len() < 100));
        }
    }
}
