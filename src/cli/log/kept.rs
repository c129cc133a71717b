//! Practices that are in the notebook, by their numbers and in a line.

use crate::cli::failure::Failure;
use crate::cli::notebook::failed;
use crate::diag::shown::{ShownPath, printable};
use crate::notebook::entry::LoggedPractice;
use crate::notebook::{KeptPractice, Notebook, PracticeId};

/// The practice of a number.
pub(super) fn kept(notebook: &Notebook, number: i64) -> Result<KeptPractice, Failure> {
    let id = PracticeId::new(number);
    match notebook.practice(id).map_err(failed)? {
        Some(practice) => Ok((id, practice)),
        None => {
            let path = notebook.path().shown();
            Err(Failure::Usage(format!(
                "there is no practice {number} in {path}: `lengthwise log list` shows the numbers"
            )))
        }
    }
}

/// `Level body, Ida, 2026-11-29`.
pub(super) fn line_of(practice: &LoggedPractice) -> String {
    format!("{}, {}, {}", printable(&practice.title), printable(&practice.swimmer), practice.day)
}

/// A distance in the unit of its pool.
pub(super) fn far(metres: f64, pool: &str) -> String {
    if pool.ends_with("yd") {
        // The international yard of 1959.
        format!("{:.0} yd", metres / 0.9144)
    } else {
        format!("{metres:.0} m")
    }
}
