//! The face of the questions: prints them, reads lines.

use super::show::swims;
use crate::cli::failure::Failure;
use crate::cli::lines;
use crate::cli::ui::{self, Ui};
use crate::cli::wrap::wrapped;
use crate::diag::shown::{Shown, printable};
use crate::notebook::answers::Answers;
use crate::notebook::entry::{LoggedPractice, ValueSource};
use crate::notebook::outline::Outline;
use crate::notebook::questions::{Heard, Interview, SO_FAR};
use crossbeam_channel::RecvTimeoutError;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// So often it is looked whether somebody wants to stop.
const LOOK: Duration = Duration::from_millis(50);

/// Asks about a practice. Whoever stops before the end has nothing kept.
pub(super) fn ask(outline: &Outline, source: ValueSource, ui: &mut Ui) -> Result<Answers, Failure> {
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    let typed = lines::typed();
    head(&outline.practice, ui);
    let mut interview = Interview::new(outline, source);
    while let Some(question) = interview.question() {
        let (first, rest) = question.split_once('\n').unwrap_or((&question, ""));
        let lines = |text: &str| wrapped(text, ui.width()).join("\n") + "\n";
        let mut asked = Shown::heading(&lines(first));
        for line in rest.lines() {
            // What stands already is no mere help.
            asked.push(if line.starts_with(SO_FAR) { Shown::from(lines(line)) } else { Shown::faint(&lines(line)) });
        }
        ui.message(asked + "> ");
        let line = loop {
            // Only a flag: nothing else is read through it.
            if stop.load(Ordering::Relaxed) {
                return Err(Failure::Interrupted("nothing was kept".into()));
            }
            match typed.recv_timeout(LOOK) {
                Ok(line) => break line,
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => {
                    return Err(Failure::Usage("nothing was kept: the answers ended before the last question".into()));
                }
            }
        };
        match line {
            Err(bad) => ui.message(format!("{bad}\n")),
            Ok(line) => match interview.hear(&line) {
                Heard::Taken | Heard::Back => {}
                Heard::Reply(reply) => ui.message(Shown::heading(reply) + "\n"),
                Heard::Again(wrong) => ui.message(format!("{wrong}\n")),
            },
        }
    }
    Ok(interview.answers())
}

/// The sets with the numbers by which answers name them.
fn head(practice: &LoggedPractice, ui: &mut Ui) {
    ui.message(
        Shown::heading(&printable(&practice.title)) + format!(", {}, {}\n", printable(&practice.swimmer), practice.day),
    );
    for set in &practice.sets {
        ui.message(format!("{:>3}  {} · {}\n", set.number, printable(&set.title), swims(set)));
    }
    ui.message("Enter passes over a question (what is kept already stays), u goes back one.\n");
}
