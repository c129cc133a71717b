//! One tap, and how a line of text gives it: `1.08`, `2.16 b`, `26.4 wall`.

use crate::session::input::time_of;
use crate::units::swim::Side;
use crate::units::time::Seconds;
use std::fmt;

/// What was tapped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TapKey {
    /// A hand goes in.
    Stroke,
    /// A hand goes in and the swimmer breathes with that stroke, to this side if it was said.
    Breath(Option<Side>),
    /// The wall: a push-off before the first stroke, else a turn or the touch.
    Wall,
    /// The length is to begin anew: what was tapped since the last wall goes.
    Anew,
    /// The last of these is taken back.
    Undo,
}

/// A tap with its time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tap {
    /// When, from any beginning.
    pub at: Seconds,
    /// What.
    pub key: TapKey,
}

/// Why a line is no tap: a sentence that says what is wrong and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadTap(String);

impl fmt::Display for BadTap {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for BadTap {}

/// The words of a line behind its time.
const WORDS: [(&str, &str, TapKey); 5] = [
    ("b", "breath", TapKey::Breath(None)),
    ("l", "left", TapKey::Breath(Some(Side::Left))),
    ("r", "right", TapKey::Breath(Some(Side::Right))),
    ("w", "wall", TapKey::Wall),
    ("n", "new", TapKey::Anew),
];

/// Reads the taps of a text, a line each, in rising time; empty lines and those that begin with `#` are none.
///
/// # Errors
/// Every line that is wrong: its number from 1, what is wrong and what is allowed.
pub fn parse(text: &str) -> Result<Vec<Tap>, Vec<BadTap>> {
    let (mut taps, mut wrong): (Vec<Tap>, Vec<BadTap>) = (Vec::new(), Vec::new());
    for (number, line) in (1..).zip(text.lines()) {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        match tap(line) {
            Ok(tap) if taps.last().is_some_and(|last: &Tap| last.at > tap.at) => {
                wrong
                    .push(BadTap(format!("line {number}: `{line}` is earlier than the tap before it; sort the lines")));
            }
            Ok(tap) => taps.push(tap),
            Err(why) => wrong.push(BadTap(format!("line {number}: {why}"))),
        }
    }
    if wrong.is_empty() { Ok(taps) } else { Err(wrong) }
}

fn tap(line: &str) -> Result<Tap, String> {
    let (time, word) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let at = time_of(time)
        .ok_or_else(|| format!("`{time}` is not a time in seconds; write `1.08`, or `1.08 b` with a breath"))?;
    let word = word.trim().to_lowercase();
    if word.is_empty() {
        return Ok(Tap { at, key: TapKey::Stroke });
    }
    let known = WORDS.iter().find(|(short, long, _)| word == *short || word == *long);
    let key = known.map(|(.., key)| *key).ok_or_else(|| {
        let words: Vec<String> = WORDS.iter().map(|(short, long, _)| format!("`{short}` or `{long}`")).collect();
        format!("`{word}` is not known; behind the time there may be {}", words.join(", "))
    })?;
    Ok(Tap { at, key })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_taps() {
        let text = "# from a film\n0.00 wall\n3.1\n\n 4.18 B \n5.26 left\n1:02.5 r\n1:03 w\n";
        let taps = parse(text).unwrap();
        let found: Vec<_> = taps.iter().map(|tap| (tap.at.nanos() / 1_000_000, tap.key)).collect();
        assert_eq!(
            found,
            [
                (0, TapKey::Wall),
                (3_100, TapKey::Stroke),
                (4_180, TapKey::Breath(None)),
                (5_260, TapKey::Breath(Some(Side::Left))),
                (62_500, TapKey::Breath(Some(Side::Right))),
                (63_000, TapKey::Wall),
            ]
        );
    }

    #[test]
    fn every_wrong_line_is_told_with_its_number() {
        let wrong = parse("0.0\nx\n1.0 q\n1.0\n0.5\n2.0\n").unwrap_err();
        let told: Vec<String> = wrong.iter().map(ToString::to_string).collect();
        assert_eq!(told.len(), 3);
        for (told, words) in told.iter().zip([["line 2", "`x`"], ["line 3", "`b` or `breath`"], ["line 5", "earlier"]])
        {
            assert!(words.iter().all(|word| told.contains(word)), "{told}");
        }
    }
}
