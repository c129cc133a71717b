//! Where work in hand of many files lies until it is whole: a hidden folder beside its place, with a lock in it. See `disk::part`;
//! what is done about those that are left is in `leftover`.

use crate::disk::part::{TRIES, hold, named};
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// In a work folder: the file whose lock says that somebody works here.
const LOCK: &str = "lock";
/// In a work folder: what is to come out of it.
const NEW: &str = "new";

/// A folder for work in hand. Dropped, it goes with all that is in it.
#[derive(Debug)]
pub(super) struct WorkFolder {
    path: PathBuf,
    /// Held open for its lock.
    _lock: File,
    stays: bool,
}

impl WorkFolder {
    /// Makes one in the folder `around`, for what is to be called `name`.
    pub(super) fn create(around: &Path, name: &OsStr) -> io::Result<Self> {
        for _ in 0..TRIES {
            let path = named(name, |builder| builder.tempdir_in(around))?.keep();
            let lock = match File::create_new(path.join(LOCK)) {
                Ok(lock) => lock,
                Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
                Err(error) => {
                    // It is empty; what the system refused is the error to tell.
                    let _ = fs::remove_dir(&path);
                    return Err(error);
                }
            };
            if !hold(&lock) {
                continue;
            }
            let work = Self { path, _lock: lock, stays: false };
            // What comes out of it is to be as any program would make it, unlike the folder itself, which is private.
            match fs::create_dir(work.new_files()) {
                Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
                made => return made.map(|()| work),
            }
        }
        Err(io::ErrorKind::ResourceBusy.into())
    }

    /// Takes one over that a process left which is gone; `None` where it is at work or nobody can know.
    pub(super) fn take_over(path: &Path) -> Option<Self> {
        let lock = File::options().read(true).write(true).open(path.join(LOCK)).ok()?;
        lock.try_lock().is_ok().then(|| Self { path: path.to_owned(), _lock: lock, stays: false })
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// The folder of what is to come out of it.
    pub(super) fn new_files(&self) -> PathBuf {
        self.path.join(NEW)
    }

    /// Removes it.
    pub(super) fn remove(mut self) -> io::Result<()> {
        self.stays = true;
        self.clear()
    }

    /// Leaves it to a later run.
    pub(super) fn leave(mut self) {
        self.stays = true;
    }

    /// The lock goes last: a folder without one belongs to nobody who can be asked.
    fn clear(&self) -> io::Result<()> {
        let mut folders = Vec::new();
        for entry in fs::read_dir(&self.path)? {
            let entry = entry?;
            match entry.file_type()?.is_dir() {
                _ if entry.file_name() == LOCK => {}
                true => folders.push(entry.path()),
                // A list of moves goes before what is to be moved.
                false => fs::remove_file(entry.path())?,
            }
        }
        folders.iter().try_for_each(fs::remove_dir_all)?;
        fs::remove_file(self.path.join(LOCK))?;
        fs::remove_dir(&self.path)
    }
}

impl Drop for WorkFolder {
    fn drop(&mut self) {
        if !self.stays {
            // What cannot be removed now, a later run removes.
            let _ = self.clear();
        }
    }
}
