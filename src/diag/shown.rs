//! Text for people's eyes, and where it goes out.
//!
//! Titles, names, paths, arguments and recordings come from anywhere. A character of theirs that steers a terminal or turns
//! the order of letters is shown by its number. Nobody has to think of it: a [`Printer`] takes nothing but [`Shown`], and
//! there is no way to make one of raw text. What the text says is not known here.

use anstyle::Style;
use serde::Serialize;
use std::borrow::Cow;
use std::io::{self, Write};
use std::ops::Add;
use std::path::Path;

/// Whether a character could do something to a screen or to the order of letters, instead of being seen: controls, marks of
/// direction, and format characters without a shape. Joiners stay: writing needs them.
pub fn is_harmful(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// A text of one line: what is harmful in it by its number, as `\u{1b}`, ends of lines too.
pub fn printable(text: &str) -> Cow<'_, str> {
    neutral(text, is_harmful)
}

/// Paths as people see them. Unlike texts of ours, none of them has lines: an end of one in it would end a message's.
pub trait ShownPath {
    /// The path on one line, what is harmful in it by its number.
    fn shown(&self) -> String;
}

impl ShownPath for Path {
    fn shown(&self) -> String {
        printable(&self.to_string_lossy()).into_owned()
    }
}

fn neutral(text: &str, harmful: impl Fn(char) -> bool) -> Cow<'_, str> {
    if !text.contains(&harmful) {
        return Cow::Borrowed(text);
    }
    let escaped = |c: char| if harmful(c) { c.escape_unicode().collect() } else { c.to_string() };
    Cow::Owned(text.chars().map(escaped).collect())
}

/// Text in which nothing is harmful but ends of lines and tabs, with the weight of its parts. All that is made into one is
/// made harmless on the way.
///
/// ```
/// use lengthwise::diag::shown::Shown;
/// let shown = Shown::heading("Tuesday\u{1b}[2J") + ": 1600 m\n";
/// assert_eq!(shown.text(false), "Tuesday\\u{1b}[2J: 1600 m\n");
/// ```
///
/// ```compile_fail
/// // Its parts are its own: nothing raw can be put into them.
/// let shown = lengthwise::diag::shown::Shown { parts: vec![] };
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Shown {
    parts: Vec<Weighted>,
}

/// A stretch of one weight.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Weighted {
    style: Style,
    text: String,
}

impl Shown {
    /// Text of a weight of its own.
    pub fn styled(text: &str, style: Style) -> Self {
        let text = neutral(text, |c| is_harmful(c) && c != '\n' && c != '\t').into_owned();
        Self { parts: vec![Weighted { style, text }] }
    }

    /// A heading.
    pub fn heading(text: &str) -> Self {
        Self::styled(text, Style::new().bold())
    }

    /// A lesser part.
    pub fn faint(text: &str) -> Self {
        Self::styled(text, Style::new().dimmed())
    }

    /// A record for a program, in lines. What is harmful is in its strings only, and stands there as JSON has it: what is read
    /// back is the same.
    #[expect(clippy::expect_used, reason = "records of numbers and texts always serialise")]
    pub fn json(record: &impl Serialize) -> Self {
        let raw = serde_json::to_string_pretty(record).expect("a plain record") + "\n";
        let mut text = String::with_capacity(raw.len());
        for c in raw.chars() {
            if is_harmful(c) && c != '\n' {
                let mut units = [0; 2];
                text.extend(c.encode_utf16(&mut units).iter().map(|unit| format!("\\u{unit:04x}")));
            } else {
                text.push(c);
            }
        }
        Self::from(text)
    }

    /// What the crate that draws problems has made of harmless texts. Of sequences it may have written those for colour only.
    pub(super) fn drawn(text: &str) -> Self {
        let mut pieces = text.split("\u{1b}[");
        let mut shown = Self::from(pieces.next().unwrap_or_default());
        for piece in pieces {
            let color =
                piece.split_once('m').filter(|(codes, _)| codes.bytes().all(|c| c.is_ascii_digit() || c == b';'));
            if let Some((codes, rest)) = color {
                shown.parts.push(Weighted { style: Style::new(), text: format!("\u{1b}[{codes}m") });
                shown.push(rest);
            } else {
                shown.push(format!("\u{1b}[{piece}"));
            }
        }
        shown
    }

    /// Adds text at the end.
    pub fn push(&mut self, more: impl Into<Self>) {
        self.parts.extend(more.into().parts);
    }

    /// The text, with the sequences that give it weight if they are asked for.
    pub fn text(&self, color: bool) -> String {
        let part =
            |Weighted { style, text }: &Weighted| if color { format!("{style}{text}{style:#}") } else { text.clone() };
        self.parts.iter().map(part).collect()
    }
}

impl From<&str> for Shown {
    fn from(text: &str) -> Self {
        Self::styled(text, Style::new())
    }
}

impl From<String> for Shown {
    fn from(text: String) -> Self {
        Self::from(text.as_str())
    }
}

impl From<&String> for Shown {
    fn from(text: &String) -> Self {
        Self::from(text.as_str())
    }
}

impl<T: Into<Self>> Add<T> for Shown {
    type Output = Self;

    fn add(mut self, more: T) -> Self {
        self.push(more);
        self
    }
}

impl<T: Into<Self>> Extend<T> for Shown {
    fn extend<I: IntoIterator<Item = T>>(&mut self, more: I) {
        more.into_iter().for_each(|more| self.push(more));
    }
}

impl<T: Into<Self>> FromIterator<T> for Shown {
    fn from_iter<I: IntoIterator<Item = T>>(parts: I) -> Self {
        let mut shown = Self::default();
        shown.extend(parts);
        shown
    }
}

/// Where text goes out to somebody.
///
/// ```
/// use lengthwise::diag::shown::{Printer, Shown};
/// Printer::new(std::io::sink(), false).put(&Shown::from("raw")).unwrap();
/// ```
///
/// ```compile_fail
/// use lengthwise::diag::shown::Printer;
/// Printer::new(std::io::sink(), false).put("raw").unwrap();
/// ```
pub struct Printer {
    to: Box<dyn Write + Send>,
    color: bool,
}

impl Printer {
    /// One that writes to `to`, with the sequences of weight and colour if `color` is set.
    pub fn new(to: impl Write + Send + 'static, color: bool) -> Self {
        Self { to: Box::new(to), color }
    }

    /// The process's messages, plain.
    pub fn messages() -> Self {
        Self::new(io::stderr(), false)
    }

    /// Whether it takes colour.
    pub const fn has_color(&self) -> bool {
        self.color
    }

    /// Writes a text.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub fn put(&mut self, text: &Shown) -> io::Result<()> {
        self.to.write_all(text.text(self.color).as_bytes())
    }

    /// Writes what is left.
    ///
    /// # Errors
    /// Where it cannot be written.
    pub fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_steers_a_screen_is_shown_by_its_number() {
        assert_eq!(printable("a\u{1b}[2Jb\r\n"), "a\\u{1b}[2Jb\\u{d}\\u{a}");
        assert_eq!(printable("\u{202e}lmay"), "\\u{202e}lmay");
        assert!(matches!(printable("Übung für Zoë 👩‍🚀 می‌خواهم"), Cow::Borrowed(_)));
        let shown = Shown::heading("one\ttwo\u{9b}0m\n") + "\u{85}three";
        assert_eq!(shown.text(false), "one\ttwo\\u{9b}0m\n\\u{85}three");
        assert_eq!(shown.text(true).matches('\u{1b}').count(), 2, "our own two sequences only");
    }

    #[test]
    fn records_say_the_same_without_harm() {
        let title = "turn \u{202e}round\u{1b}[0m \u{e0041}\"\\ \n";
        let shown = Shown::json(&serde_json::json!({ "title": title })).text(true);
        assert!(!shown.contains(|c: char| is_harmful(c) && c != '\n'), "{shown:?}");
        let read: serde_json::Value = serde_json::from_str(&shown).unwrap();
        assert_eq!(read["title"], title);
    }
}
