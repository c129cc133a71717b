//! Short notes that a file system keeps beside a file, and not in it: its extended attributes. Disks that have none (FAT), and
//! copies, go without.

use std::path::Path;

/// Of our own among the attributes that any user may set.
#[cfg(any(target_os = "linux", target_vendor = "apple"))]
const NAME: &str = "user.lengthwise.origin";
/// Longer ones are not ours.
#[cfg(any(target_os = "linux", target_vendor = "apple"))]
const LONGEST: usize = 64;

/// The note of a file, if it has one.
#[cfg(any(target_os = "linux", target_vendor = "apple"))]
pub fn get(path: &Path) -> Option<String> {
    let mut bytes = [0; LONGEST];
    let len = rustix::fs::getxattr(path, NAME, &mut bytes).ok()?;
    String::from_utf8(bytes.get(..len)?.to_vec()).ok()
}

/// Gives a file a note. Where the disk keeps none, it has none.
#[cfg(any(target_os = "linux", target_vendor = "apple"))]
pub fn set(path: &Path, note: &str) {
    let _ = rustix::fs::setxattr(path, NAME, note.as_bytes(), rustix::fs::XattrFlags::empty());
}

/// The note of a file; none on this system.
#[cfg(not(any(target_os = "linux", target_vendor = "apple")))]
pub const fn get(_: &Path) -> Option<String> {
    None
}

/// Does nothing on this system.
#[cfg(not(any(target_os = "linux", target_vendor = "apple")))]
pub const fn set(_: &Path, _: &str) {}
