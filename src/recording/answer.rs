//! What the person at the microphone can say to a recording: a line of text or a key for each.

use std::fmt;

/// An answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Count in.
    Begin,
    /// End the take now.
    Done,
    /// Keep it, and go on to the next text.
    Keep,
    /// Throw it away and record the same text again.
    Again,
    /// Hear it again.
    Play,
    /// Leave this text as it is and go on.
    Skip,
    /// Go back to the text before.
    Back,
    /// End here.
    Stop,
}

/// One row of the table from which help, the screen's foot and MAKE.md are made.
#[derive(Debug)]
pub struct AnswerRow {
    /// The answer.
    pub answer: Answer,
    /// The line that gives it.
    pub line: &'static str,
    /// The key of its own; `space` and `enter` stand for what comes next anyway.
    pub key: char,
    /// What it does.
    pub words: &'static str,
}

/// Every answer, in the order of a text's course.
pub const ROWS: [AnswerRow; 8] = [
    row(Answer::Begin, "begin", 'r', "count in and record"),
    row(Answer::Done, "done", 'd', "end the take now; silence ends it too"),
    row(Answer::Keep, "keep", 'k', "keep the take, go on to the next text"),
    row(Answer::Again, "again", 'a', "throw the take away, record the text again"),
    row(Answer::Play, "play", 'p', "hear the take once more"),
    row(Answer::Skip, "skip", 's', "leave the text as it is, go on"),
    row(Answer::Back, "back", 'b', "back to the text before"),
    row(Answer::Stop, "stop", 'q', "end here; what is kept stays"),
];

const fn row(answer: Answer, line: &'static str, key: char, words: &'static str) -> AnswerRow {
    AnswerRow { answer, line, key, words }
}

/// A line that is not an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoAnswer {
    line: String,
}

impl fmt::Display for NoAnswer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let known: Vec<&str> = ROWS.iter().map(|row| row.line).collect();
        write!(f, "`{}` is no answer; there are: {}", self.line, known.join(", "))
    }
}

impl std::error::Error for NoAnswer {}

/// Reads a line, whatever its case.
///
/// # Errors
/// Where it is none of the answers there are.
pub fn parse(line: &str) -> Result<Answer, NoAnswer> {
    let line = line.trim();
    let low = line.to_lowercase();
    let found = ROWS.iter().find(|row| row.line == low).map(|row| row.answer);
    found.ok_or_else(|| NoAnswer { line: line.to_owned() })
}

/// The answer of a key, whatever its case.
pub fn of_key(key: char) -> Option<Answer> {
    ROWS.iter().find(|row| row.key == key.to_ascii_lowercase()).map(|row| row.answer)
}

/// The table for `--help`.
pub fn help() -> String {
    let line = |row: &AnswerRow| format!("  {}  {:<7}{}", row.key, row.line, row.words);
    ROWS.iter().map(line).collect::<Vec<_>>().join("\n") + "\nspace and enter do what comes next: begin, done or keep."
}

/// The table for MAKE.md.
pub fn markdown() -> String {
    let line = |row: &AnswerRow| format!("| `{}` | `{}` | {} |\n", row.key, row.line, row.words);
    "| key | line | does |\n| --- | --- | --- |\n".to_owned() + &ROWS.iter().map(line).collect::<String>()
}

impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let line = ROWS.iter().find(|row| row.answer == *self).map_or("", |row| row.line);
        f.write_str(line)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_answer_has_its_line_and_its_key() {
        for row in &ROWS {
            assert_eq!(parse(&format!(" {} ", row.answer.to_string().to_uppercase())), Ok(row.answer));
            assert_eq!(of_key(row.key), Some(row.answer));
            assert_eq!(ROWS.iter().filter(|other| other.key == row.key).count(), 1);
        }
        assert!(parse("yes").unwrap_err().to_string().contains("`yes` is no answer; there are: begin, done, keep"));
    }
}
