//! A whole copy of the notebook while it is in use.

use super::fault::NotebookFault;
use super::store::Notebook;
use crate::disk::{Access, part};
use rusqlite::Connection;
use rusqlite::backup::Backup;
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Pages that are copied at a time: others may write between two times.
const PAGES: i32 = 4096;

/// A copy that is on the disk.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BackupDone {
    /// Where.
    pub path: PathBuf,
    /// How large, in bytes.
    pub bytes: u64,
}

impl Notebook {
    /// Copies the notebook to a new file by SQLite's online backup, checks the copy, and gives it its name when it is whole.
    ///
    /// # Errors
    /// Where something of that name is there, the notebook is damaged, or the disk refuses.
    pub fn backup(&self, to: &Path) -> Result<BackupDone, NotebookFault> {
        let world = |error: io::Error| NotebookFault::World { path: to.to_owned(), why: error.to_string() };
        let sql = |error: rusqlite::Error| NotebookFault::of(self.path(), &error);
        let name = to.file_name().ok_or_else(|| world(io::Error::other("it is no name of a file")))?;
        let around = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        if to.symlink_metadata().is_ok() {
            return Err(world(io::Error::other("it is there already and stays as it is: choose another name")));
        }
        let work = part::work_file(around, name, Access::Private).map_err(world)?;
        let mut copy = Connection::open(work.path()).map_err(sql)?;
        Backup::new(self.connection(), &mut copy)
            .and_then(|backup| backup.run_to_completion(PAGES, Duration::from_millis(1), None))
            .map_err(sql)?;
        let found: String = copy.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0)).map_err(sql)?;
        if found != "ok" {
            return Err(NotebookFault::Damaged { path: self.path().to_owned(), why: found });
        }
        // A copy is one file: what SQLite keeps beside a notebook in use stays behind.
        copy.pragma_update(None, "journal_mode", "DELETE").map_err(sql)?;
        copy.close().map_err(|(_, error)| sql(error))?;
        work.as_file().sync_all().map_err(world)?;
        let file = work.persist_noclobber(to).map_err(|error| world(error.error))?;
        File::open(around).and_then(|folder| folder.sync_all()).map_err(world)?;
        let bytes = file.metadata().map_err(world)?.len();
        Ok(BackupDone { path: to.to_owned(), bytes })
    }
}
