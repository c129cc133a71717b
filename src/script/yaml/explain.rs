//! The YAML parser's errors in words of this house: what the usual slip behind each is, and where.

use super::budget::DEEPEST;
use crate::diag::crop;
use serde_yaml::granit_parser::{ErrorKind, ScanError};
use std::ops::Range;

/// What is said of a text that is no YAML.
pub(super) struct Explained {
    pub(super) message: String,
    /// The bytes to mark.
    pub(super) range: Range<usize>,
    /// Where it was noticed, if that is another place.
    pub(super) noticed: Option<Range<usize>>,
    pub(super) hint: String,
}

/// Explains an error. `open` is where the innermost bracket or brace that is not closed yet stands.
pub(super) fn explain(error: &ScanError, text: &str, open: Option<usize>) -> Explained {
    let at = error.marker().byte_offset().unwrap_or(text.len()).min(text.len());
    let at = (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
    let mut found = kind(error, text, at, open);
    found.hint += "; what follows is not checked yet";
    found
}

fn kind(error: &ScanError, text: &str, at: usize, open: Option<usize>) -> Explained {
    let next = text.get(at..).and_then(|rest| rest.chars().next());
    let here = at..at + next.map_or(0, char::len_utf8);
    let told = |message: &str, hint: &str| Explained {
        message: format!("not YAML: {message}"),
        range: here.clone(),
        noticed: None,
        hint: hint.to_owned(),
    };
    // In a text that goes on, the parser names its beginning, however many lines above the tab.
    let many = matches!(error.kind(), ErrorKind::TabInPlainScalar | ErrorKind::TabInBlockIndentation);
    if let Some(tab) = first_tab(text, at, if many { usize::MAX } else { 1 }) {
        return Explained { range: tab..tab + 1, ..told("a tab indents this line", "indent with spaces") };
    }
    let line = text.get(line_start(text, at)..).unwrap_or("").lines().next().unwrap_or("");
    match error.kind() {
        ErrorKind::RecursionLimitExceeded => Explained {
            message: format!("more than {DEEPEST} lists and maps inside each other"),
            ..told("", "a script needs five or six")
        },
        ErrorKind::UnclosedQuotedScalar => told("this quote is not closed", "close it, or leave quotes out"),
        ErrorKind::MismatchedFlowCollectionEnd { open, close } => told(
            &format!("`{open}` is closed by `{close}`"),
            &format!("close it with its own mark before the `{close}`"),
        ),
        ErrorKind::MisplacedFlowCollectionEnd => {
            told(&format!("`{}` closes nothing", next.unwrap_or(']')), "remove it, or open it before")
        }
        ErrorKind::SimpleKeyExpected => no_key(text, at, line),
        ErrorKind::UnexpectedCharacter { .. } if matches!(next, Some('@' | '`' | '%')) => {
            told("a text cannot begin with this character", "put the text in quotes")
        }
        ErrorKind::MappingValueNotAllowed => second_colon(text, at, line, told("a second `: ` in one value", "")),
        ErrorKind::InvalidTrailingDoubleQuotedScalar | ErrorKind::InvalidTrailingSingleQuotedScalar => {
            told("text after a closing quote", "put all of the value in quotes, or none of it")
        }
        _ if text.get(..at).is_some_and(|before| before.trim_end().ends_with(']')) => unit_list(text, at)
            .unwrap_or_else(|| {
                told("text after a closing `]`", "put the value in quotes, or remove what follows the list")
            }),
        ErrorKind::UnclosedFlowCollection { open } => {
            let close = if *open == '{' { '}' } else { ']' };
            told(&format!("`{open}` is not closed"), &format!("close it with `{close}`"))
        }
        _ => match open.filter(|open| *open < at) {
            Some(open) if line_start(text, open) < line_start(text, at) || next.is_none() => {
                let mark = text.get(open..).and_then(|rest| rest.chars().next()).unwrap_or('[');
                let close = if mark == '{' { '}' } else { ']' };
                let message = format!("`{mark}` is not closed");
                let noticed = (at < text.len()).then(|| here.clone());
                Explained { range: open..open + 1, noticed, ..told(&message, &format!("close it with `{close}`")) }
            }
            Some(_) => told("a comma or a closing mark is missing before this", "separate entries by commas"),
            None => match error.kind() {
                ErrorKind::ExpectedBlockMappingKey | ErrorKind::ExpectedBlockSequenceEntry => told(
                    "this line fits none of those above it",
                    "indent keys of one map, and `-` of one list, by the same number of spaces",
                ),
                _ => {
                    let info = error.info();
                    let first = info.lines().next().unwrap_or("");
                    told(first, "look at indentation, brackets and quotes just before this place")
                }
            },
        },
    }
}

/// `[50, 100] m`: to YAML a list with rubbish behind it. `at` is behind the list.
fn unit_list(text: &str, at: usize) -> Option<Explained> {
    /// Longer lists are shortened in the hint.
    const SHOWN: usize = 40;
    let start = text.get(..at)?.rfind('[')?;
    let list = text.get(start + 1..at)?.trim_end().strip_suffix(']')?;
    let numbers: Vec<&str> = list.split(',').map(str::trim).collect();
    let number = |text: &&str| {
        text.starts_with(|c: char| c.is_ascii_digit()) && text.chars().all(|c| c.is_ascii_digit() || c == '.')
    };
    let after = text.get(at..)?.split(['\n', ',', '}', ']', '#']).next()?.trim_end();
    let unit = after.split_whitespace().next().filter(|unit| unit.chars().all(|c| c.is_alphabetic() || c == '/'))?;
    if !numbers.iter().all(number) {
        return None;
    }
    let (mut each, mut quoted) = (String::new(), format!("\"{}\"", text.get(start..at + after.len())?));
    for number in &numbers {
        let comma = if each.is_empty() { "" } else { ", " };
        each = format!("{each}{comma}{number} {unit}");
    }
    if each.len() > SHOWN || quoted.contains('\n') {
        (each, quoted) = (format!("50 {unit}, 100 {unit}"), format!("\"[50, 100] {unit}\""));
    }
    Some(Explained {
        message: format!("not YAML: a list ends with its `]`, and `{}` stands behind it", crop(after)),
        range: start..at + after.len(),
        noticed: None,
        hint: format!("give each its unit, `[{each}]`, or put all of it in quotes: `{quoted}`"),
    })
}

/// A line of a map without its `: `.
fn no_key(text: &str, at: usize, line: &str) -> Explained {
    let entry = line.trim_start().trim_start_matches("- ").trim();
    // Up to the colon that lacks its blank, if there is one.
    let (message, hint, len) = match entry.split_once(':') {
        Some((key, value)) if !value.is_empty() && !value.starts_with(' ') => {
            ("a blank is missing after the colon", format!("`{}: {}`", crop(key), crop(value)), key.len() + 1)
        }
        _ => match entry.split_once(' ') {
            Some((key, value)) => ("a colon is missing", format!("`{}: {}`?", crop(key), crop(value)), entry.len()),
            None => ("a line of a map is `key: value`", "add the colon and a value".to_owned(), entry.len()),
        },
    };
    let start = line_start(text, at) + line.find(entry).unwrap_or(0);
    Explained { message: format!("not YAML: {message}"), range: start..start + len, noticed: None, hint }
}

/// `title: Fast: slow`, or a key indented so far that it goes on with the value above it.
fn second_colon(text: &str, at: usize, line: &str, told: Explained) -> Explained {
    let start = line_start(text, at);
    let first = text.get(start..at).is_some_and(|before| !before.contains(": "));
    if first && start > 0 {
        let key = start + (line.len() - line.trim_start().len());
        let message = "not YAML: this line goes on with the value above it".to_owned();
        let hint = "a key stands exactly under the other keys of its map".to_owned();
        return Explained { message, range: key..at.max(key), hint, ..told };
    }
    Explained { hint: "put a text with `: ` in it in quotes, and each key on a line of its own".to_owned(), ..told }
}

fn line_start(text: &str, at: usize) -> usize {
    text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |newline| newline + 1)
}

/// The first tab in the indentation of the line of some place, or of the lines after it.
fn first_tab(text: &str, at: usize, lines: usize) -> Option<usize> {
    let mut from = line_start(text, at);
    for line in text.get(from..).unwrap_or("").split_inclusive('\n').take(lines) {
        let indent = line.len() - line.trim_start_matches([' ', '\t']).len();
        let tab = line.get(..indent).and_then(|indent| indent.find('\t'));
        // A line of blanks alone indents nothing.
        if let Some(tab) = tab.filter(|_| !line.trim().is_empty()) {
            return Some(from + tab);
        }
        from += line.len();
    }
    None
}
