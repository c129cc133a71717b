//! Lines of text as they are typed or come by a pipe: what is no line for a person to have written is told, and the next one is
//! read.

use crate::diag::shown::Printer;
use crate::messages::Messages;
use crossbeam_channel::{Receiver, bounded};
use std::fmt;
use std::io::{self, BufRead, Read};

/// The longest line, in bytes.
const LONGEST: u64 = 64 << 10;

/// Why a line is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum BadLine {
    TooLong,
    NotUtf8,
}

impl fmt::Display for BadLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::TooLong => "a line of more than 64 kB is left out",
            Self::NotUtf8 => "a line that is not UTF-8 text is left out",
        })
    }
}

/// The lines of an input, without their ends, until it ends or fails.
struct Lines<R>(R);

impl<R: BufRead> Iterator for Lines<R> {
    type Item = Result<String, BadLine>;

    fn next(&mut self) -> Option<Self::Item> {
        let mut line = Vec::new();
        if (&mut self.0).take(LONGEST + 1).read_until(b'\n', &mut line).ok()? == 0 {
            return None;
        }
        if line.last() != Some(&b'\n') && line.len() as u64 > LONGEST {
            self.0.skip_until(b'\n').ok()?;
            return Some(Err(BadLine::TooLong));
        }
        let text = String::from_utf8(line).map_err(|_| BadLine::NotUtf8);
        Some(text.map(|text| text.trim_end_matches(['\n', '\r']).to_owned()))
    }
}

/// So many lines may wait to be looked at: a script of them is read as it is needed.
const WAITING: usize = 64;

/// What comes on standard input, a line each, as `parse` understands it. What it does not understand is told by
/// `messages`.
pub(super) fn on_stdin<T: Send + 'static, E: fmt::Display + 'static>(
    parse: fn(&str) -> Result<T, E>,
    messages: Messages,
) -> Receiver<T> {
    let mut messages = Printer::new(messages, false);
    let (to, from) = bounded(WAITING);
    // It ends with the input; a read that waits for ever ends with the program.
    std::thread::spawn(move || {
        for line in Lines(io::stdin().lock()) {
            let told = match line {
                Ok(line) if line.trim().is_empty() => continue,
                Ok(line) => match parse(&line) {
                    Ok(parsed) => match to.send(parsed) {
                        Ok(()) => continue,
                        Err(_) => return,
                    },
                    Err(why) => why.to_string(),
                },
                Err(why) => why.to_string(),
            };
            // Where messages cannot be written there is nobody to tell.
            let _ = messages.put(&format!("{told}\n").into());
        }
    });
    from
}

/// What is typed, a line each, empty ones too; it ends with the input.
pub(super) fn typed() -> Receiver<Result<String, BadLine>> {
    let (to, from) = bounded(WAITING);
    std::thread::spawn(move || {
        for line in Lines(io::stdin().lock()) {
            if to.send(line).is_err() {
                return;
            }
        }
    });
    from
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bad_line_costs_nothing_but_itself() {
        let long = "x".repeat(LONGEST as usize);
        let input = [b"louder\r\n\n\xff\xfe\nsofter\n", long.as_bytes(), b"\n", long.as_bytes(), b"y\nlast"].concat();
        // A reader that gives little at a time.
        let lines: Vec<_> = Lines(io::BufReader::with_capacity(7, &input[..])).collect();
        let text = |text: &str| Ok(text.to_owned());
        assert_eq!(
            lines,
            [
                text("louder"),
                text(""),
                Err(BadLine::NotUtf8),
                text("softer"),
                text(&long),
                Err(BadLine::TooLong),
                text("last")
            ]
        );
    }
}
