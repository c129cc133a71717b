//! What everybody asks of the disk alike: folders that are this user's alone.

use std::fs::DirBuilder;
use std::io;
use std::path::Path;

/// Makes a folder, and those on the way to it, that this user alone can look into.
///
/// # Errors
/// Where the system refuses. One that is there stays as it is.
pub fn make_private(folder: &Path) -> io::Result<()> {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}
