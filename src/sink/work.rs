//! Where work in hand lies until it is whole: hidden files and folders beside their place, each locked while its process lives.
//!
//! The lock goes with the process, however that ends: so whoever finds one free knows that nobody will come back for it. What is
//! done about that is in `leftover`.

use crate::disk::Access;
use std::ffi::{OsStr, OsString};
use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile};

/// What the names of all work in hand end in; nobody else's do.
pub(super) const SUFFIX: &str = ".lengthwise-part";
/// How many letters make such a name one that nothing else has.
const LETTERS: usize = 6;
/// The longest name, in bytes, that is part of such a name whole: systems take 255.
const LONGEST: usize = 220;
/// In a work folder: the file whose lock says that somebody works here.
const LOCK: &str = "lock";
/// In a work folder: what is to come out of it.
const NEW: &str = "new";
/// So often work is begun again that somebody took for a leftover between its making and its locking.
const TRIES: usize = 20;

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

/// A file for work in hand in the folder `around`, for what is to be called `name`. Dropped, it goes.
pub(super) fn work_file(around: &Path, name: &OsStr, access: Access) -> io::Result<NamedTempFile> {
    for _ in 0..TRIES {
        let file = named(name, |builder| {
            #[cfg(unix)]
            {
                use std::os::unix::fs::PermissionsExt;
                builder.permissions(fs::Permissions::from_mode(mode(access)));
            }
            #[cfg(not(unix))]
            let _ = access;
            builder.tempfile_in(around)
        })?;
        if hold(file.as_file()) && file.path().exists() {
            return Ok(file);
        }
    }
    Err(io::ErrorKind::ResourceBusy.into())
}

/// The mode of a new file as Unix has it, before the umask.
#[cfg(unix)]
const fn mode(access: Access) -> u32 {
    match access {
        Access::Usual => 0o666,
        Access::Private => 0o600,
    }
}

/// What work in hand of this name is to be called; `None` for files that are not work in hand.
pub(super) fn named_for(name: &OsStr) -> Option<&str> {
    let inner = name.to_str()?.strip_prefix('.')?.strip_suffix(SUFFIX)?;
    let (name, letters) = inner.rsplit_once('.')?;
    (letters.len() == LETTERS && !name.is_empty()).then_some(name)
}

/// Takes the lock of a file that was just made. `false` where a sweep has it, which takes the file for a leftover; a disk
/// without locks is swept by nobody.
fn hold(file: &File) -> bool {
    !matches!(file.try_lock(), Err(TryLockError::WouldBlock))
}

/// Begins `make` with a hidden name of its own, as long as systems take.
fn named<T>(name: &OsStr, make: impl FnOnce(&mut Builder<'_, '_>) -> io::Result<T>) -> io::Result<T> {
    let mut prefix = OsString::from(".");
    if name.len() > LONGEST {
        prefix.push(name.to_string_lossy().chars().take(LONGEST / 4).collect::<String>());
    } else {
        prefix.push(name);
    }
    prefix.push(".");
    make(Builder::new().prefix(&prefix).suffix(SUFFIX).rand_bytes(LETTERS)).map_err(bare)
}

/// The system's own error: the one of temporary files names the temporary path, which means nothing to a reader.
fn bare(error: io::Error) -> io::Error {
    let code = error.get_ref().and_then(|inner| inner.source()).and_then(|source| source.downcast_ref::<io::Error>());
    match code.and_then(io::Error::raw_os_error) {
        Some(code) => io::Error::from_raw_os_error(code),
        None => io::Error::new(error.kind(), error.kind().to_string()),
    }
}
