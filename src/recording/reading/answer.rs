//! What a person says to a piece of a reading: a line, or its first letter; an empty line keeps.

use std::fmt;

/// An answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadingAnswer {
    /// It is the text that it was taken for: keep it.
    Keep,
    /// It is the text of this id, or that begins with these words: keep it as that.
    Other(String),
    /// It is not to be kept.
    Skip,
    /// The reading of the same text before it was better.
    Before,
    /// Hear it again.
    Play,
    /// Back to the piece before.
    Back,
    /// End here.
    Stop,
}

/// Every answer: the line that gives it, what its first letter stands for too, and what it does.
const ROWS: [(&str, &str); 7] = [
    ("keep", "it is this text: keep it; Enter alone does the same"),
    ("other TEXT", "it is another text, by its id or its first words: keep it as that"),
    ("skip", "leave it out"),
    ("before", "the last one was better: keep the reading of this text before this one"),
    ("play", "hear it again"),
    ("back", "back to the piece before"),
    ("quit", "end here; what is kept stays, the next run goes on"),
];

/// A line that is not an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoReadingAnswer(String);

impl fmt::Display for NoReadingAnswer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let known: Vec<&str> = ROWS.iter().map(|row| row.0).collect();
        write!(f, "`{}` is no answer; there are: {}", self.0, known.join(", "))
    }
}

impl std::error::Error for NoReadingAnswer {}

/// Reads a line, whatever its case. `b` is `before`, `back` is written out.
///
/// # Errors
/// Where it is none of the answers there are.
pub fn parse(line: &str) -> Result<ReadingAnswer, NoReadingAnswer> {
    let line = line.trim();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    match (word.to_lowercase().as_str(), rest.trim()) {
        ("" | "k" | "keep", "") => Ok(ReadingAnswer::Keep),
        ("o" | "other", text) if !text.is_empty() => Ok(ReadingAnswer::Other(text.to_owned())),
        ("s" | "skip", "") => Ok(ReadingAnswer::Skip),
        ("b" | "before", "") => Ok(ReadingAnswer::Before),
        ("p" | "play", "") => Ok(ReadingAnswer::Play),
        ("back", "") => Ok(ReadingAnswer::Back),
        ("q" | "quit" | "stop", "") => Ok(ReadingAnswer::Stop),
        _ => Err(NoReadingAnswer(line.to_owned())),
    }
}

/// The table for `--help`.
pub fn help() -> String {
    ROWS.map(|(line, words)| format!("  {line:<12}{words}")).join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_a_word_and_nothing_are_answers() {
        for (line, meant) in [
            ("", ReadingAnswer::Keep),
            (" K ", ReadingAnswer::Keep),
            ("skip", ReadingAnswer::Skip),
            ("b", ReadingAnswer::Before),
            ("back", ReadingAnswer::Back),
            ("o look down", ReadingAnswer::Other("look down".to_owned())),
            ("other look-down.short", ReadingAnswer::Other("look-down.short".to_owned())),
        ] {
            assert_eq!(parse(line), Ok(meant), "{line}");
        }
        for line in ["other", "keep it", "yes", "skip 2"] {
            assert!(
                parse(line).unwrap_err().to_string().contains("is no answer; there are: keep, other TEXT"),
                "{line}"
            );
        }
        for (line, _) in ROWS {
            let line = line.replace("TEXT", "look down");
            assert!(parse(&line).is_ok(), "{line}");
        }
    }
}
