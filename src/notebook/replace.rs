//! A practice in the place of one that was read, as long as nobody changed it meanwhile.

use super::entry::LoggedPractice;
use super::fault::NotebookFault;
use super::history;
use super::put::{self, PracticeId};
use super::store::Notebook;

/// A practice is no longer as it was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChangedMeanwhile;

impl Notebook {
    /// Writes a practice in the place of one that was read before, as long as it is still as it was read: of two who change it at
    /// once the later must not wipe out unseen what the other wrote.
    ///
    /// # Errors
    /// As [`Notebook::add`]; the inner error is that it has changed meanwhile, or gone, and nothing was written.
    pub fn replace(
        &mut self,
        moment: &str,
        what: &str,
        (id, read): (PracticeId, &LoggedPractice),
        practice: &LoggedPractice,
    ) -> Result<Result<(), ChangedMeanwhile>, NotebookFault> {
        self.change_if(moment, what, |change| {
            if history::one(change, id)?.as_ref() != Some(read) {
                return Ok(Err(ChangedMeanwhile));
            }
            put::remove(change, id)?;
            put::write(change, Some(id), practice).map(|_| Ok(()))
        })
    }
}
