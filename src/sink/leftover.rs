//! What runs that were stopped have left: looked for before new work begins, finished where it was whole, else removed.
//!
//! Only what has the name of work in hand, belongs to this user, and has a lock that is free, is touched.

use super::file::{FileError, parent};
use super::moves::Moves;
use super::work::WorkFolder;
use crate::diag::shown::ShownPath;
use crate::disk::is_own;
use crate::disk::part::{named_for, remove_left};
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

/// Something that was left, and what became of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Leftover {
    /// Files that were whole have got their places in this folder.
    Finished(PathBuf),
    /// Something unfinished was removed; what it was to be.
    Removed(PathBuf),
}

impl fmt::Display for Leftover {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("left by a run that was stopped: ")?;
        match self {
            Self::Finished(folder) => write!(f, "the new files of {}, now in place", folder.shown()),
            Self::Removed(path) => write!(f, "unfinished {}, removed", path.shown()),
        }
    }
}

/// Looks beside a file or folder that is to be made, and in it.
///
/// # Errors
/// Where files that were left cannot get their places. What cannot be looked at, or removed, stays.
pub fn sweep(target: &Path) -> Result<Vec<Leftover>, FileError> {
    let mut found = sweep_in(parent(target))?;
    found.extend(sweep_in(target)?);
    Ok(found)
}

/// Looks in a folder.
///
/// # Errors
/// As [`sweep`].
pub fn sweep_in(folder: &Path) -> Result<Vec<Leftover>, FileError> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let (Some(name), Ok(kind)) = (named_for(&name), entry.file_type()) else { continue };
        let path = entry.path();
        if !entry.metadata().is_ok_and(|found| is_own(&found)) {
            // Another user's work, or a trap.
            continue;
        }
        if kind.is_file() {
            found.extend(remove_left(&path).then(|| Leftover::Removed(folder.join(name))));
        } else if kind.is_dir() {
            match WorkFolder::take_over(&path) {
                Some(work) => found.push(recover(work, folder.join(name))?),
                // Where there is not even a lock yet, or no more. This fails where it holds something.
                None => found.extend(fs::remove_dir(&path).is_ok().then(|| Leftover::Removed(folder.join(name)))),
            }
        }
    }
    found.sort_by(|a, b| a.path().cmp(b.path()));
    Ok(found)
}

impl Leftover {
    fn path(&self) -> &Path {
        match self {
            Self::Finished(path) | Self::Removed(path) => path,
        }
    }
}

fn recover(work: WorkFolder, named: PathBuf) -> Result<Leftover, FileError> {
    match Moves::left_in(&work) {
        None => {
            work.remove().map_err(FileError::system("remove what a stopped run left of", &named))?;
            Ok(Leftover::Removed(named))
        }
        Some(moves) => {
            let folder = moves.folder(&work);
            moves.finish(work)?;
            Ok(Leftover::Finished(folder))
        }
    }
}
