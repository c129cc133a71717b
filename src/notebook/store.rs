//! The file: found, made, looked at, opened; and a change of it, whole or not at all.

use super::fault::NotebookFault;
use super::{schema, step};
use crate::disk::{Access, FolderForFiles};
use rusqlite::limits::Limit;
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};
use std::convert::Infallible;
use std::fs::{File, OpenOptions};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long another program that writes is waited for.
const PATIENCE: Duration = Duration::from_secs(5);
/// What every SQLite file begins with.
const MAGIC: &[u8; 16] = b"SQLite format 3\0";
/// Statements that are kept compiled.
const STATEMENTS: usize = 32;

/// An open notebook.
#[derive(Debug)]
pub struct Notebook {
    path: PathBuf,
    connection: Connection,
    made: bool,
}

/// What a notebook is opened for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OpenFor {
    /// To look into it.
    Reading,
    /// To change it: its soundness is looked at first.
    Writing,
}

impl Notebook {
    /// Opens a notebook, and makes it if there is none. An older one is brought to the newest version first.
    ///
    /// # Errors
    /// Where it is something else, damaged, newer than the program, or the system refuses. The file is not touched then.
    pub fn open(path: &Path, purpose: OpenFor) -> Result<Self, NotebookFault> {
        let world = |error: io::Error| NotebookFault::World { path: path.to_owned(), why: error.to_string() };
        let sql = |error: rusqlite::Error| NotebookFault::of(path, &error);
        // What has begun to be made and was killed is still empty.
        let made = if path.exists() { look(path)? } else { make(path).map_err(world)? };
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut connection = Connection::open_with_flags(path, flags).map_err(sql)?;
        connection.busy_timeout(PATIENCE).map_err(sql)?;
        connection.set_prepared_statement_cache_capacity(STATEMENTS);
        // The statements that take a change back are kept in the file: they are to reach no other.
        connection.set_limit(Limit::SQLITE_LIMIT_ATTACHED, 0).map_err(sql)?;
        let version = schema::version(&connection).map_err(sql)?;
        if version > schema::NEWEST {
            return Err(NotebookFault::Newer { path: path.to_owned(), version, known: schema::NEWEST });
        }
        let blank = made || version == 0 && is_blank(&connection).map_err(sql)?;
        if !blank {
            let application: i32 =
                connection.pragma_query_value(None, "application_id", |row| row.get(0)).map_err(sql)?;
            if application != schema::APPLICATION {
                return Err(NotebookFault::Foreign(path.to_owned()));
            }
        }
        if purpose == OpenFor::Writing || version < schema::NEWEST {
            sound(&connection)
                .map_err(sql)?
                .map_or(Ok(()), |why| Err(NotebookFault::Damaged { path: path.to_owned(), why }))?;
        }
        prepare(&mut connection, version < schema::NEWEST).map_err(sql)?;
        Ok(Self { path: path.to_owned(), connection, made })
    }

    /// Opens the notebook if there is one.
    ///
    /// # Errors
    /// As [`Notebook::open`].
    pub fn open_existing(path: &Path, purpose: OpenFor) -> Result<Option<Self>, NotebookFault> {
        if path.exists() { Self::open(path, purpose).map(Some) } else { Ok(None) }
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether opening it made it.
    pub const fn made(&self) -> bool {
        self.made
    }

    /// What is wrong with the whole file by SQLite's full check; nothing where it is sound.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub fn integrity(&self) -> Result<Option<String>, NotebookFault> {
        let check = self.connection.query_row("PRAGMA integrity_check(1)", [], |row| row.get::<_, String>(0));
        check.map(|found| (found != "ok").then_some(found)).map_err(|error| self.fault(&error))
    }

    /// One change, whole or not at all; when this returns, it is on the disk. `what` tells it in `log undo`, `moment` when it
    /// was made.
    ///
    /// # Errors
    /// Those of `work`, and where the change cannot be kept.
    pub fn change<T>(
        &mut self,
        moment: &str,
        what: &str,
        work: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<T>,
    ) -> Result<T, NotebookFault> {
        let made: Result<T, Infallible> = self.change_if(moment, what, |change| work(change).map(Ok))?;
        let Ok(made) = made;
        Ok(made)
    }

    /// The same where the work may find that nothing is to be changed after all, and why.
    ///
    /// # Errors
    /// As [`Notebook::change`].
    pub fn change_if<T, U>(
        &mut self,
        moment: &str,
        what: &str,
        work: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<Result<T, U>>,
    ) -> Result<Result<T, U>, NotebookFault> {
        let path = &self.path;
        let whole = || {
            let change = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            step::begin(&change, moment, what)?;
            // Dropped without a commit, it has not been.
            let made = match work(&change)? {
                Ok(made) => made,
                Err(why) => return Ok(Err(why)),
            };
            step::end(&change)?;
            change.commit()?;
            Ok(Ok(made))
        };
        whole().map_err(|error: rusqlite::Error| NotebookFault::of(path, &error))
    }

    pub(super) const fn connection(&self) -> &Connection {
        &self.connection
    }

    pub(super) const fn connection_mut(&mut self) -> &mut Connection {
        &mut self.connection
    }

    pub(super) fn fault(&self, error: &rusqlite::Error) -> NotebookFault {
        NotebookFault::of(&self.path, error)
    }
}

/// Looks at a file that is there, before SQLite opens it. Whether it is still empty.
fn look(path: &Path) -> Result<bool, NotebookFault> {
    let world = |error: io::Error| NotebookFault::World { path: path.to_owned(), why: error.to_string() };
    let file = crate::disk::open(path).map_err(world)?;
    let mut begin = Vec::new();
    file.take(MAGIC.len() as u64).read_to_end(&mut begin).map_err(world)?;
    match &begin[..] {
        [] => Ok(true),
        begin if begin == MAGIC => Ok(false),
        _ => Err(NotebookFault::Foreign(path.to_owned())),
    }
}

/// Makes an empty file that is its user's alone.
fn make(path: &Path) -> io::Result<bool> {
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        let kept = FolderForFiles::make(folder, Access::Private)?;
        empty(path)?;
        drop(kept);
        // The file's name is on the disk only when its folder is.
        File::open(folder)?.sync_all()?;
    } else {
        empty(path)?;
    }
    Ok(true)
}

fn empty(path: &Path) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        // Another made it at the same time.
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Ok(()),
        made => made.map(drop),
    }
}

/// Whether nothing is in a database yet: a run that is killed while it makes a notebook can leave it so, with SQLite's head
/// and without our mark.
fn is_blank(connection: &Connection) -> rusqlite::Result<bool> {
    connection.query_row("SELECT NOT EXISTS (SELECT 1 FROM sqlite_schema)", [], |row| row.get(0))
}

/// What SQLite's quick check finds first.
fn sound(connection: &Connection) -> rusqlite::Result<Option<String>> {
    let found: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    Ok((found != "ok").then_some(found))
}

/// Settings of a connection, and the newest tables.
fn prepare(connection: &mut Connection, older: bool) -> rusqlite::Result<()> {
    connection.pragma_update(None, "journal_mode", "WAL")?;
    // A change that was acknowledged survives a power cut.
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", true)?;
    // A notebook from elsewhere may bring SQL of its own.
    connection.pragma_update(None, "trusted_schema", false)?;
    if older {
        let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        schema::migrate(&change)?;
        change.commit()?;
    }
    Ok(())
}
