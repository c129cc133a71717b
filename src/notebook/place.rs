//! Places in a practice as people write them: `3` is set 3, `3.2` its second repeat, `3.2.1` the first length of that. In words
//! it is `set 3 repeat 2 length 1`, which no spreadsheet takes for a day.

use super::entry::{LoggedPractice, LoggedRepeat, LoggedSet};
use super::outline::AskedSwim;
use std::fmt;

/// An answer that cannot be taken: what was found and what is allowed, in one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrongAnswer(pub String);

impl fmt::Display for WrongAnswer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for WrongAnswer {}

/// A place, all numbers from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WrittenPlace {
    /// Which set.
    pub set: u32,
    /// Which repeat of it.
    pub repeat: Option<u32>,
    /// Which length of that.
    pub length: Option<u32>,
}

/// The words that may stand before the numbers, in this order.
const WORDS: [&str; 3] = ["set", "repeat", "length"];

impl WrittenPlace {
    /// Reads a place.
    ///
    /// # Errors
    /// Where it is none.
    pub fn parse(text: &str) -> Result<Self, WrongAnswer> {
        let wrong =
            || WrongAnswer(format!("`{}` is no place in a practice: 3 is set 3, 3.2 its second repeat", text.trim()));
        let lower = text.to_lowercase();
        let (mut words, mut numbers) = (Vec::new(), Vec::new());
        for part in lower.split(|c: char| c == '.' || c.is_whitespace()).filter(|part| !part.is_empty()) {
            if WORDS.contains(&part) {
                words.push(part);
            } else {
                numbers.push(part.parse().ok().filter(|number: &u32| *number >= 1).ok_or_else(wrong)?);
            }
        }
        let in_order = words.is_empty() || WORDS.get(..numbers.len()) == Some(&words[..]);
        match numbers[..] {
            _ if !in_order || text.contains("..") || text.trim().ends_with('.') => Err(wrong()),
            [set] => Ok(Self { set, repeat: None, length: None }),
            [set, repeat] => Ok(Self { set, repeat: Some(repeat), length: None }),
            [set, repeat, length] => Ok(Self { set, repeat: Some(repeat), length: Some(length) }),
            _ => Err(wrong()),
        }
    }
}

/// A set of a practice by its number.
///
/// # Errors
/// Where there is none.
pub fn set(practice: &LoggedPractice, number: u32) -> Result<&LoggedSet, WrongAnswer> {
    practice.sets.iter().find(|set| set.number == number).ok_or_else(|| {
        WrongAnswer(format!("there is no set {number}: the practice has {}", counted(practice.sets.len(), "set")))
    })
}

/// A repeat by its numbers.
///
/// # Errors
/// Where there is none.
pub fn repeat(practice: &LoggedPractice, swim: AskedSwim) -> Result<&LoggedRepeat, WrongAnswer> {
    let set = set(practice, swim.set)?;
    set.repeats.iter().find(|repeat| repeat.number == swim.repeat).ok_or_else(|| {
        let there = counted(set.repeats.len(), "repeat");
        WrongAnswer(format!("there is no repeat {} of set {}: it has {there}", swim.repeat, swim.set))
    })
}

/// `1 repeat`, `8 repeats`.
pub fn counted(number: usize, what: &str) -> String {
    format!("{number} {what}{}", if number == 1 { "" } else { "s" })
}

impl fmt::Display for AskedSwim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.set, self.repeat)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_numbers_or_words() {
        let place = |set, repeat, length| Ok(WrittenPlace { set, repeat, length });
        assert_eq!(WrittenPlace::parse("3"), place(3, None, None));
        assert_eq!(WrittenPlace::parse(" 3.12 "), place(3, Some(12), None));
        assert_eq!(WrittenPlace::parse("Set 3 repeat 2 length 1"), place(3, Some(2), Some(1)));
        assert_eq!(WrittenPlace::parse("3.2.1"), place(3, Some(2), Some(1)));
        for wrong in ["", "0", "3.0", "3.2.1.4", "a", "-1", "3,2", "repeat 3", "set 3 length 2", "3.", "3..2", "set"] {
            assert!(WrittenPlace::parse(wrong).is_err(), "{wrong}");
        }
    }
}
