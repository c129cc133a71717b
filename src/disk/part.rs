//! Work in hand on the disk: hidden files beside their place, each locked while its process lives.
//!
//! The lock goes with the process, however that ends: so whoever finds one free knows that nobody will come back for it.

use super::{Access, is_own};
use std::ffi::{OsStr, OsString};
use std::fs::{self, File, TryLockError};
use std::io;
use std::path::Path;
use tempfile::{Builder, NamedTempFile};

/// What the names of all work in hand end in; nobody else's do.
const SUFFIX: &str = ".lengthwise-part";
/// How many letters make such a name one that nothing else has.
const LETTERS: usize = 6;
/// The longest name, in bytes, that is part of such a name whole: systems take 255.
const LONGEST: usize = 220;
/// So often work is begun again that somebody took for a leftover between its making and its locking.
pub const TRIES: usize = 20;

/// A file for work in hand in the folder `around`, for what is to be called `name`. Dropped, it goes.
///
/// # Errors
/// Where the system makes none.
pub fn work_file(around: &Path, name: &OsStr, access: Access) -> io::Result<NamedTempFile> {
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
pub fn named_for(name: &OsStr) -> Option<&str> {
    let inner = name.to_str()?.strip_prefix('.')?.strip_suffix(SUFFIX)?;
    let (name, letters) = inner.rsplit_once('.')?;
    (letters.len() == LETTERS && !name.is_empty()).then_some(name)
}

/// Takes the lock of a file that was just made. `false` where a sweep has it, which takes the file for a leftover; a disk
/// without locks is swept by nobody.
pub fn hold(file: &File) -> bool {
    !matches!(file.try_lock(), Err(TryLockError::WouldBlock))
}

/// Begins `make` with a hidden name of its own, as long as systems take.
///
/// # Errors
/// Those of `make`, without the hidden name.
pub fn named<T>(name: &OsStr, make: impl FnOnce(&mut Builder<'_, '_>) -> io::Result<T>) -> io::Result<T> {
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

/// Removes a file that was work in hand, if it is this user's and nobody is at work on it. `false` where it stays.
pub fn remove_left(path: &Path) -> bool {
    if !fs::symlink_metadata(path).is_ok_and(|found| found.is_file() && is_own(&found)) {
        // Another user's work, or a trap.
        return false;
    }
    let Ok(file) = File::options().read(true).write(true).open(path) else { return false };
    // The lock is held until the name is gone: who has just made the file sees that.
    file.try_lock().is_ok() && fs::remove_file(path).is_ok()
}
