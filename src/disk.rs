//! What everybody asks of the disk alike: folders that are this user's alone, and whether two names are one file.

use std::fs::{self, DirBuilder, Metadata};
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

/// Whether two paths lead to one and the same file that is there, be it by links or second names.
pub fn same_file(one: &Path, other: &Path) -> bool {
    let (Ok(first), Ok(second)) = (fs::metadata(one), fs::metadata(other)) else { return false };
    match (number(&first), number(&second)) {
        (Some(first), Some(second)) => first == second,
        _ => one.canonicalize().is_ok_and(|one| other.canonicalize().is_ok_and(|other| one == other)),
    }
}

/// The disk and the file's number on it, where the system has such.
#[cfg(unix)]
fn number(file: &Metadata) -> Option<(u64, u64)> {
    use std::os::unix::fs::MetadataExt;
    Some((file.dev(), file.ino()))
}

#[cfg(not(unix))]
const fn number(_: &Metadata) -> Option<(u64, u64)> {
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_file_is_known_by_all_its_names() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        for name in ["a", "b"] {
            fs::write(path(name), "same bytes").unwrap();
        }
        fs::hard_link(path("a"), path("second")).unwrap();
        assert!(same_file(&path("a"), &path("a")) && same_file(&path("a"), &path("second")));
        assert!(same_file(&path("a"), &folder.path().join("../").join(folder.path().file_name().unwrap()).join("a")));
        assert!(!same_file(&path("a"), &path("b")) && !same_file(&path("gone"), &path("gone")));
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(path("a"), path("link")).unwrap();
            assert!(same_file(&path("link"), &path("second")));
        }
    }
}
