//! What makes a change one that can be taken back.

use rusqlite::{Transaction, params};

/// So many changes can be taken back.
const KEPT: i64 = 50;

/// From here on triggers write down the way back.
pub(super) fn begin(change: &Transaction<'_>, moment: &str, what: &str) -> rusqlite::Result<()> {
    change.execute("INSERT INTO change (moment, what) VALUES (?1, ?2)", params![moment, what])?;
    change.execute("INSERT INTO under_way (step) VALUES (?1)", [change.last_insert_rowid()])?;
    Ok(())
}

/// The change is complete; the oldest that are too many can no longer be taken back, nor one that changed nothing.
pub(super) fn end(change: &Transaction<'_>) -> rusqlite::Result<()> {
    change.execute("DELETE FROM under_way", [])?;
    change.execute("DELETE FROM change WHERE NOT EXISTS (SELECT 1 FROM way_back WHERE step = change.step)", [])?;
    change.execute("DELETE FROM change WHERE step <= (SELECT max(step) FROM change) - ?1", [KEPT])?;
    Ok(())
}
