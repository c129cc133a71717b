//! What a file or folder keeps when a new one takes its place: its mode and its owner.

use std::fs::{self, Metadata};
use std::io;
use std::path::Path;

/// Gives `new` the mode of the one whose place it takes, and its owner as far as the system lets this user. `false` where the
/// owner is another afterwards.
#[cfg(unix)]
pub(super) fn keep(old: &Metadata, new: &Path) -> io::Result<bool> {
    use std::os::unix::fs::{MetadataExt, PermissionsExt, chown};
    let owners = |of: &Metadata| (of.uid(), of.gid());
    let made = fs::metadata(new)?;
    if owners(&made) != owners(old) {
        // Only root gives files away. A group that this user is in may have them.
        let _ = chown(new, Some(old.uid()), Some(old.gid())).or_else(|_| chown(new, None, Some(old.gid())));
    }
    let made = fs::metadata(new)?;
    let same = owners(&made) == owners(old);
    // To run as its owner is nothing that another owner's file may do.
    let kept = if same { 0o7777 } else { 0o777 };
    let mode = old.permissions().mode() & kept;
    // Asked first: disks without modes refuse to change them.
    if made.permissions().mode() & 0o7777 != mode {
        fs::set_permissions(new, fs::Permissions::from_mode(mode))?;
    }
    Ok(same)
}

/// Other systems keep rights by the folder.
#[cfg(not(unix))]
pub(super) fn keep(_: &Metadata, _: &Path) -> io::Result<bool> {
    Ok(true)
}

/// As [`keep`] for a file that may take nobody's place.
pub(super) fn keep_if_there(old: &Path, new: &Path) -> io::Result<()> {
    match fs::metadata(old) {
        Ok(old) => keep(&old, new).map(|_| ()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(error),
    }
}
