//! Questions to a person: what a command must know and has not been given.

use super::failure::Failure;
use super::ui::Ui;
use std::io::{self, BufRead, Read};

/// The longest line that is taken for an answer.
const LONGEST_ANSWER: u64 = 4096;

/// A question, and the line that answers it.
pub fn ask(ui: &mut Ui, question: &str) -> Result<String, Failure> {
    ui.message(format!("{question}\n> "));
    let mut line = String::new();
    let read = io::stdin().lock().take(LONGEST_ANSWER).read_line(&mut line);
    match read {
        Ok(0) => Err(refused(&format!("\"{question}\" was not answered"))),
        Ok(_) => Ok(line.trim().to_owned()),
        Err(error) => Err(Failure::World(format!("cannot read an answer from standard input: {error}"))),
    }
}

/// The end of a command that was not told what it must know.
pub fn refused(why: &str) -> Failure {
    Failure::Usage(format!("nothing was made: {why}"))
}
