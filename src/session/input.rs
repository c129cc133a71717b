//! What can be asked of a session, and how a line of text asks for it. Which keys stand for what is the screen's job.

use crate::conductor::command::{Command, CourseCommand, DeskCommand, LaneCommand, Unit};
use crate::timeline::segment::Bus;
use crate::units::level::Decibels;
use crate::units::time::{Decimal, Seconds, Tempo};
use std::fmt;

/// What was asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Input {
    /// Steer the practice.
    Do(Command),
    /// End it here.
    Stop,
}

/// Why a line asks for nothing: a sentence that says what is wrong and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotUnderstood(String);

impl fmt::Display for NotUnderstood {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NotUnderstood {}

/// Every line with what it does, for help.
pub const LINES: [(&str, &str); 19] = [
    ("pause", "the practice stands still"),
    ("resume", "it goes on"),
    ("next", "on to the next repeat"),
    ("next set", "on to the next set"),
    ("back", "to the repeat before"),
    ("back set", "to the set before"),
    ("touch", "the swimmer is at the wall: take the split"),
    ("hold", "no next go until `go`"),
    ("go", "release a hold; before the first go: no more talk"),
    ("faster 0.01", "tempo for the rest of the set, in seconds"),
    ("slower 0.01", "likewise"),
    ("tempo 1.08", "this tempo, in seconds, now or from the next start; the rest of the set changes by as much"),
    ("voice up 2", "level of the voice in dB; also `down`"),
    ("beats up 2", "level of the beats in dB; also `down`"),
    ("mute", "beats off"),
    ("unmute", "beats on"),
    ("again", "the phrase once more"),
    ("undo", "take back the last touch, hold, `go`, skip or change of tempo"),
    ("stop", "end the session"),
];

/// Every line that is a lane's alone, with what it does.
pub const LANE_LINES: [(&str, &str); 6] = [
    ("touch 3", "number three is at the wall: take the split"),
    ("out 3", "number three sits out from the next start on; who waits at the wall is not called any more"),
    ("in 3", "number three swims again from the next start on"),
    ("ahead 3", "number three and whoever leaves in front of them change places"),
    ("gap 10", "so many seconds from one go to the next one's"),
    ("caught 3", "number three was caught: the gap gets wider, up to the next 5 s"),
];

/// The most swimmers that share a lane.
const MOST_NUMBER: u32 = 8;

/// Reads a line, whatever its case.
///
/// # Errors
/// A sentence that says what is wrong and what would be right.
pub fn parse(line: &str) -> Result<Input, NotUnderstood> {
    let low = line.trim().to_lowercase();
    let words: Vec<&str> = low.split_whitespace().collect();
    let command: Command = match words.as_slice() {
        ["stop"] => return Ok(Input::Stop),
        ["pause"] => DeskCommand::Pause.into(),
        ["resume"] => DeskCommand::Resume.into(),
        ["next"] => CourseCommand::Next(Unit::Repeat).into(),
        ["next", "set"] => CourseCommand::Next(Unit::Set).into(),
        ["back"] => CourseCommand::Back(Unit::Repeat).into(),
        ["back", "set"] => CourseCommand::Back(Unit::Set).into(),
        ["touch"] => CourseCommand::Touch.into(),
        ["touch", who @ ..] => LaneCommand::Touch(number(who, "touch")?).into(),
        ["out", who @ ..] => LaneCommand::Out(number(who, "out")?).into(),
        ["in", who @ ..] => LaneCommand::In(number(who, "in")?).into(),
        ["ahead", who @ ..] => LaneCommand::Ahead(number(who, "ahead")?).into(),
        ["caught", who @ ..] => LaneCommand::Caught(number(who, "caught")?).into(),
        ["gap", gap @ ..] => LaneCommand::Gap(gap_of(gap)?).into(),
        ["hold"] => CourseCommand::Hold.into(),
        ["go"] => CourseCommand::Release.into(),
        ["faster", by @ ..] => CourseCommand::Tempo(-hundredths(by)?).into(),
        ["slower", by @ ..] => CourseCommand::Tempo(hundredths(by)?).into(),
        ["tempo", value @ ..] => CourseCommand::TempoTo(tempo(value)?).into(),
        ["voice", way, by @ ..] => DeskCommand::Level(Bus::Voice, level(way, by)?).into(),
        ["beats", way, by @ ..] => DeskCommand::Level(Bus::Beats, level(way, by)?).into(),
        ["mute"] => DeskCommand::Mute(true).into(),
        ["unmute"] => DeskCommand::Mute(false).into(),
        ["again"] => CourseCommand::Again.into(),
        ["undo"] => CourseCommand::Undo.into(),
        _ => {
            let known: Vec<&str> = LINES.iter().chain(&LANE_LINES).map(|(line, _)| *line).collect();
            let why = format!("`{}` is no command; there are: {}", line.trim(), known.join(", "));
            return Err(NotUnderstood(why));
        }
    };
    Ok(Input::Do(command))
}

/// A swimmer's number in their lane.
fn number(who: &[&str], what: &str) -> Result<u32, NotUnderstood> {
    let number = match who {
        [number] => number.parse().ok().filter(|number| (1..=MOST_NUMBER).contains(number)),
        _ => None,
    };
    number.ok_or_else(|| {
        let said = [&[what], who].concat().join(" ");
        NotUnderstood(format!("`{said}`: say who by their number in the lane, 1 to {MOST_NUMBER}: `{what} 3`"))
    })
}

/// From one swimmer's go to the next one's; whether it fits the lane is the lane's to say.
fn gap_of(gap: &[&str]) -> Result<Seconds, NotUnderstood> {
    let seconds = match gap {
        [text] | [text, "s"] => time_of(text.trim_end_matches('s')),
        _ => None,
    };
    seconds.ok_or_else(|| NotUnderstood(format!("`gap {}`: a gap is a number of seconds: `gap 10`", gap.join(" "))))
}

/// A step of 0.01 s where no number is given.
fn hundredths(by: &[&str]) -> Result<i32, NotUnderstood> {
    let text = match by {
        [] => return Ok(1),
        [text] | [text, "s"] => text.trim_end_matches('s'),
        _ => return Err(NotUnderstood("a tempo changes by one number, such as `faster 0.02`".to_owned())),
    };
    let seconds: f64 = text.parse().map_err(|_| NotUnderstood(format!("`{text}` is no number of seconds")))?;
    let steps = libm::round(seconds * 100.0);
    if !(1.0..=200.0).contains(&steps) || (steps - seconds * 100.0).abs() > 1e-6 {
        return Err(NotUnderstood(format!("`{text}`: a tempo moves in steps of 0.01 s, up to 2 s")));
    }
    Ok(steps as i32)
}

/// A tempo to the hundredth of a second, 0.40 to 2.50.
fn tempo(value: &[&str]) -> Result<Tempo, NotUnderstood> {
    let text = match value {
        [text] | [text, "s"] => text.trim_end_matches('s'),
        _ => return Err(NotUnderstood("a tempo is one number of seconds, such as `tempo 1.08`".to_owned())),
    };
    let seconds: f64 = text.parse().map_err(|_| NotUnderstood(format!("`{text}` is no number of seconds")))?;
    let hundredths = libm::round(seconds * 100.0);
    if !(40.0..=250.0).contains(&hundredths) || (hundredths - seconds * 100.0).abs() > 1e-6 {
        return Err(NotUnderstood(format!("`{text}`: a tempo is 0.40 to 2.50 s, in hundredths, such as `tempo 1.08`")));
    }
    Ok(Tempo::from_centis(hundredths as u64))
}

/// A step of 2 dB where no number is given.
fn level(way: &str, by: &[&str]) -> Result<Decibels, NotUnderstood> {
    let db = match by {
        [] => 2.0,
        [text] | [text, "db"] => {
            let number = text.trim_end_matches("db").parse().ok().filter(|db| (0.1..=46.0).contains(db));
            number.ok_or_else(|| NotUnderstood(format!("`{text}` is no change of level: 0.1 to 46 dB")))?
        }
        _ => return Err(NotUnderstood("a level changes by one number of dB, such as `voice up 2`".to_owned())),
    };
    match way {
        "up" => Ok(Decibels::of(db)),
        "down" => Ok(Decibels::of(-db)),
        _ => Err(NotUnderstood(format!("`{way}`: a level goes `up` or `down`"))),
    }
}

/// The line that asks for a command; [`parse_recorded`] reads it back.
pub fn words(command: Command) -> String {
    let tempo = |steps: i32| format!("{}.{:02}", steps.unsigned_abs() / 100, steps.unsigned_abs() % 100);
    let way = |level: Decibels| format!("{} {}", if level.db() < 0.0 { "down" } else { "up" }, level.db().abs());
    match command {
        Command::Desk(DeskCommand::Pause) => "pause".to_owned(),
        Command::Desk(DeskCommand::Resume) => "resume".to_owned(),
        Command::Course(CourseCommand::Next(Unit::Repeat)) => "next".to_owned(),
        Command::Course(CourseCommand::Next(Unit::Set)) => "next set".to_owned(),
        Command::Course(CourseCommand::Back(Unit::Repeat)) => "back".to_owned(),
        Command::Course(CourseCommand::Back(Unit::Set)) => "back set".to_owned(),
        Command::Course(CourseCommand::Touch) => "touch".to_owned(),
        Command::Course(CourseCommand::Hold) => "hold".to_owned(),
        Command::Course(CourseCommand::Release) => "go".to_owned(),
        Command::Course(CourseCommand::Tempo(steps)) if steps < 0 => format!("faster {}", tempo(steps)),
        Command::Course(CourseCommand::Tempo(steps)) => format!("slower {}", tempo(steps)),
        Command::Course(CourseCommand::TempoTo(to)) => format!("tempo {}.{:02}", to.centis() / 100, to.centis() % 100),
        Command::Desk(DeskCommand::Level(Bus::Beats, by)) => format!("beats {}", way(by)),
        Command::Desk(DeskCommand::Level(_, by)) => format!("voice {}", way(by)),
        Command::Desk(DeskCommand::Mute(true)) => "mute".to_owned(),
        Command::Desk(DeskCommand::Mute(false)) => "unmute".to_owned(),
        Command::Course(CourseCommand::Again) => "again".to_owned(),
        Command::Course(CourseCommand::Undo) => "undo".to_owned(),
        Command::Course(CourseCommand::Shift(by)) => format!("{SHIFT}{}", decimal(by)),
        Command::Course(CourseCommand::Lane(command)) => match command {
            LaneCommand::Touch(number) => format!("touch {number}"),
            LaneCommand::Out(number) => format!("out {number}"),
            LaneCommand::In(number) => format!("in {number}"),
            LaneCommand::Ahead(number) => format!("ahead {number}"),
            LaneCommand::Caught(number) => format!("caught {number}"),
            LaneCommand::Gap(gap) => format!("gap {}", decimal(gap)),
        },
    }
}

/// Seconds with as many places as they have.
fn decimal(time: Seconds) -> String {
    Decimal(time).to_string().trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// What the session itself asks for, with the time that it leaves out.
const SHIFT: &str = "shift ";

/// Reads a line of a record: what people ask for, and what the session has asked for itself.
///
/// # Errors
/// A sentence that says what is wrong.
pub fn parse_recorded(line: &str) -> Result<Input, NotUnderstood> {
    let by = line.strip_prefix(SHIFT).and_then(|by| match by.strip_prefix('-') {
        Some(by) => Some(Seconds::ZERO - time_of(by)?),
        None => time_of(by),
    });
    match by {
        Some(by) => Ok(Input::Do(CourseCommand::Shift(by).into())),
        None => parse(line),
    }
}

/// Reads `TIME command`: `1:05.25 touch`, `65.25 touch`. The time is exact to the nanosecond.
///
/// # Errors
/// A sentence that says what is wrong.
pub fn parse_timed(line: &str) -> Result<(Seconds, Input), NotUnderstood> {
    let line = line.trim();
    let (time, command) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let at = time_of(time).ok_or_else(|| NotUnderstood(format!("`{time}` is no time; write `1:05.25 touch`")))?;
    Ok((at, parse(command)?))
}

/// Reads a time as people write it: `1:05.25`, `65.25`; exact to the nanosecond.
pub fn time_of(text: &str) -> Option<Seconds> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let parts: Vec<&str> = whole.split(':').collect();
    let fits = |part: &&str| !part.is_empty() && part.len() <= 6 && digits(part);
    if parts.len() > 3 || fraction.len() > 9 || !digits(fraction) || !parts.iter().all(fits) {
        return None;
    }
    let mut seconds = 0_i64;
    for (index, part) in parts.iter().enumerate() {
        let part: i64 = part.parse().ok().filter(|part| index == 0 || *part < 60)?;
        seconds = seconds * 60 + part;
    }
    let nanos: i64 = format!("{fraction:0<9}").parse().ok()?;
    Some(Seconds::from_secs(seconds) + Seconds::from_nanos(nanos))
}

/// A time as a session's lines show it: `1:02.345`.
pub fn clock(time: Seconds) -> String {
    let millis = time.nanos().max(0) / 1_000_000;
    let (seconds, millis) = (millis / 1000, millis % 1000);
    match seconds / 3600 {
        0 => format!("{}:{:02}.{millis:03}", seconds / 60, seconds % 60),
        hours => format!("{hours}:{:02}:{:02}.{millis:03}", seconds / 60 % 60, seconds % 60),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_commands_are_each_others() {
        for (line, _) in LINES.into_iter().chain(LANE_LINES) {
            match parse(line).unwrap() {
                Input::Do(command) => assert_eq!(words(command), line),
                Input::Stop => assert_eq!(line, "stop"),
            }
        }
        for by in [Seconds::from_millis(3_140), Seconds::from_secs(20), Seconds::from_millis(-41)] {
            let own = CourseCommand::Shift(by).into();
            assert_eq!(parse_recorded(&words(own)), Ok(Input::Do(own)));
            assert!(parse(&words(own)).is_err(), "nobody asks for it");
        }
        assert_eq!(parse_recorded("touch"), parse("touch"));
        assert_eq!(parse(" Faster 0.03s "), Ok(Input::Do(CourseCommand::Tempo(-3).into())));
        assert_eq!(parse("tempo 1.3 s"), Ok(Input::Do(CourseCommand::TempoTo(Tempo::from_centis(130)).into())));
        assert_eq!(
            parse("voice down 1.5 dB"),
            Ok(Input::Do(DeskCommand::Level(Bus::Voice, Decibels::of(-1.5)).into()))
        );
        for wrong in [
            "",
            "faster 0",
            "faster 0.005",
            "faster x",
            "tempo",
            "tempo 1.085",
            "tempo 0.3",
            "tempo fast",
            "voice louder",
            "beats up 100",
            "next lap",
            "touch me",
            "touch 0",
            "touch 9",
            "touch 3 4",
            "out",
            "gap",
            "gap wide",
        ] {
            assert!(parse(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn times_are_exact() {
        let at = |text: &str| parse_timed(&format!("{text} touch")).map(|(at, _)| at.nanos());
        assert_eq!(at("1:05.25"), Ok(65_250_000_000));
        assert_eq!(at("65.000000001"), Ok(65_000_000_001));
        assert_eq!(at("1:00:00"), Ok(3_600_000_000_000));
        for wrong in [":", "1:60", "1:2:3:4", "-1", "1e3", "1.0000000001", "x"] {
            assert!(at(wrong).is_err(), "{wrong}");
        }
        assert_eq!(clock(Seconds::from_millis(62_345)), "1:02.345");
        assert_eq!(clock(Seconds::from_millis(3_600_001)), "1:00:00.001");
    }
}
