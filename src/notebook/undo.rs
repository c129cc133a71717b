//! Taking back the last change, whatever it was.

use super::fault::NotebookFault;
use super::store::Notebook;
use rusqlite::{OptionalExtension, TransactionBehavior};

/// A change that was taken back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Undone {
    /// When it was made.
    pub moment: String,
    /// What it was.
    pub what: String,
}

impl Notebook {
    /// Takes back the last change that was not taken back; `None` where there is none.
    ///
    /// # Errors
    /// Where that cannot be kept.
    pub fn undo(&mut self) -> Result<Option<Undone>, NotebookFault> {
        let path = self.path().to_owned();
        let mut whole = || {
            let back = self.connection_mut().transaction_with_behavior(TransactionBehavior::Immediate)?;
            let last = back.query_row("SELECT step, moment, what FROM change ORDER BY step DESC LIMIT 1", [], |row| {
                Ok((row.get::<_, i64>(0)?, Undone { moment: row.get(1)?, what: row.get(2)? }))
            });
            let Some((step, undone)) = last.optional()? else { return Ok(None) };
            // Rows come back one by one, and a row may come before the one it belongs to.
            back.pragma_update(None, "defer_foreign_keys", true)?;
            let ways: Vec<String> = back
                .prepare("SELECT sql FROM way_back WHERE step = ?1 ORDER BY id DESC")?
                .query_map([step], |row| row.get(0))?
                .collect::<rusqlite::Result<_>>()?;
            for way in ways {
                back.execute(&way, [])?;
            }
            back.execute("DELETE FROM change WHERE step = ?1", [step])?;
            back.commit()?;
            Ok(Some(undone))
        };
        whole().map_err(|error: rusqlite::Error| NotebookFault::of(&path, &error))
    }
}
