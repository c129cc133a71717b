//! Several files that are all there or none: written into a hidden folder, then moved.
//!
//! A folder that is there is never missing for a moment, nor is anything in it that is not ours: where it holds our files alone,
//! the two folders change places in one call; else our files are replaced one by one, and what is stopped there the next run
//! finishes. Whose files those are that may go is for the caller to say.

use super::facts;
use super::file::{FileError, Replace, parent};
use super::moves::Moves;
use super::work::WorkFolder;
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Files under way. Dropped before they are moved, they are removed.
#[derive(Debug)]
pub struct FilesUnderWay {
    work: WorkFolder,
    target: PathBuf,
    place: WorkPlace,
}

/// Where the work folder lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum WorkPlace {
    Beside,
    /// In the target: beside it is another disk, or nothing may be written.
    Inside,
}

/// What may happen to a folder of the target's name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Old {
    /// The files in it that are ours and may be deleted, as paths below it.
    pub ours: Vec<PathBuf>,
    /// Whether new files take the place of others of the same name too.
    pub force: bool,
    /// The file that says whose the folder is: it comes after all others.
    pub last: PathBuf,
}

impl FilesUnderWay {
    /// Begins files that are to be in the folder `target`, or beside the file `target`.
    ///
    /// # Errors
    /// Where its folder is not there or cannot be written to.
    pub fn beside(target: &Path) -> Result<Self, FileError> {
        let system = || FileError::system("create", target);
        // What is there goes by its own name: a link is followed, so that what it points to is replaced, and `.` has one.
        let there = target.symlink_metadata().is_ok();
        let own = if there { target.canonicalize().map_err(system())? } else { target.into() };
        let folder = parent(&own);
        fs::metadata(folder).map_err(system())?;
        let Some(name) = own.file_name() else {
            // The root of everything has no name and nothing beside it.
            return if own.is_dir() { Self::inside(own) } else { Err(FileError::NotAFile { path: own }) };
        };
        if there && own.is_dir() && is_mounted(&own) {
            return Self::inside(own);
        }
        match WorkFolder::create(folder, name) {
            Ok(work) => Ok(Self { work, target: own, place: WorkPlace::Beside }),
            Err(error) if own.is_dir() && is_forbidden(&error) => Self::inside(own),
            Err(error) => Err(system()(error)),
        }
    }

    fn inside(target: PathBuf) -> Result<Self, FileError> {
        let name = target.file_name().unwrap_or("root".as_ref());
        let work = WorkFolder::create(&target, name).map_err(FileError::system("write to", &target))?;
        Ok(Self { work, target, place: WorkPlace::Inside })
    }

    /// Where to write them.
    pub fn path(&self) -> PathBuf {
        self.work.new_files()
    }

    /// A failure to write one of the files, said of what it is to be in `folder`: the hidden name means nothing to a reader.
    pub fn named(&self, error: FileError, folder: &Path) -> FileError {
        match error {
            FileError::System { doing, path, source } => {
                let path = match path.strip_prefix(self.path()) {
                    Ok(name) => folder.join(name),
                    Err(_) => path,
                };
                FileError::System { doing, path, source }
            }
            other => other,
        }
    }

    /// Keeps a copy of the folder that is there as `before`, whole, with second names for its files where the disk has them.
    ///
    /// # Errors
    /// Where it cannot be made; there is no `before` then.
    pub fn keep_old(&self, before: &Path) -> Result<(), FileError> {
        let copy = self.work.path().join("old");
        let made = copy_folder(&self.target, &copy).and_then(|()| fs::rename(&copy, before));
        made.map_err(FileError::system("keep the earlier one as", before))
    }

    /// Makes the files the folder that was named. With `old`, they take the place of those of our files in a folder that is
    /// there, and what of ours is not made any more goes; everything else stays where it is.
    ///
    /// # Errors
    /// Where something is in the way, or cannot be moved; what was there is as it was then, or, where the disk failed between
    /// two files, the next run finishes it.
    pub fn into_folder(self, old: Option<&Old>) -> Result<(), FileError> {
        let Self { work, target, place } = self;
        let Some(old) = old.filter(|_| target.exists()) else {
            in_order(&work).and_then(|made| fs::rename(made, &target)).map_err(|error| match error.kind() {
                // An empty folder gives way, all else has come first.
                io::ErrorKind::AlreadyExists | io::ErrorKind::DirectoryNotEmpty | io::ErrorKind::NotADirectory => {
                    FileError::Exists { path: target.clone() }
                }
                _ => FileError::system("rename", &target)(error),
            })?;
            return work.remove().map_err(FileError::system("tidy", &target));
        };
        let read = || FileError::system("read", &target);
        let mut new = files(&work.new_files()).map_err(read())?;
        let ours: BTreeSet<&Path> = old.ours.iter().map(PathBuf::as_path).collect();
        let in_the_way = new.iter().find(|name| {
            let there = target.join(name).symlink_metadata();
            there.is_ok_and(|there| there.is_dir() || !old.force && !ours.contains(name.as_path()))
        });
        if let Some(name) = in_the_way {
            return Err(FileError::Exists { path: target.join(name) });
        }
        if place == WorkPlace::Beside && strangers(&target, &ours).map_err(read())?.is_empty() {
            let made = in_order(&work).map_err(FileError::system("write", &target))?;
            if change_places(&made, &target, &new) {
                // What came in meanwhile is nobody's to remove.
                for name in strangers(&made, &ours).map_err(read())? {
                    let to = target.join(&name);
                    if to.symlink_metadata().is_err() {
                        fs::rename(made.join(&name), &to).map_err(FileError::system("move back", &to))?;
                    }
                }
                return work.remove().map_err(FileError::system("tidy", &target));
            }
            fs::rename(&made, work.new_files()).map_err(FileError::system("write", &target))?;
        }
        new.sort_by_key(|name| *name == old.last);
        let gone = old.ours.iter().filter(|name| !new.contains(name)).cloned().collect();
        let replace = |name: PathBuf| {
            let replace = old.force || ours.contains(name.as_path());
            (name, if replace { Replace::Yes } else { Replace::Never })
        };
        let beside = target.file_name().filter(|_| place == WorkPlace::Beside);
        Moves::new(beside.map(Into::into), new.into_iter().map(replace).collect(), gone).run(work)
    }

    /// Moves files into the folder that holds the target, in this order, each as it may replace another.
    ///
    /// # Errors
    /// As [`into_folder`](Self::into_folder).
    pub fn spill(self, files: &[(String, Replace)]) -> Result<(), FileError> {
        let folder = parent(&self.target);
        let taken = |(name, replace): &&(String, Replace)| {
            let there = folder.join(name).symlink_metadata();
            there.is_ok_and(|there| there.is_dir() || *replace == Replace::Never)
        };
        if let Some((name, _)) = files.iter().find(taken) {
            return Err(FileError::Exists { path: folder.join(name) });
        }
        let put = files.iter().map(|(name, replace)| (name.into(), *replace)).collect();
        Moves::new(None, put, Vec::new()).run(self.work)
    }
}

/// Whether the two folders changed places: then the old one lies where the new one was, and the new one has its mode and owner, and
/// its files those of the old. Where `false`, nothing has moved.
fn change_places(made: &Path, target: &Path, new: &[PathBuf]) -> bool {
    // Whoever stands in the folder would be left in the old one.
    let stands_in_it = std::env::current_dir().is_ok_and(|here| here.starts_with(target));
    let as_before = || {
        new.iter().try_for_each(|name| facts::keep_if_there(&target.join(name), &made.join(name)))?;
        facts::keep(&fs::metadata(target)?, made)
    };
    !stands_in_it && as_before().unwrap_or(false) && exchange(made, target).is_ok()
}

/// The new files again, in a folder into which they came in the order of their names: some players play in that order, not
/// by name, and they were made side by side.
fn in_order(work: &WorkFolder) -> io::Result<PathBuf> {
    let (new, made) = (work.new_files(), work.path().join("ordered"));
    fs::create_dir(&made)?;
    for name in files(&new)? {
        fs::create_dir_all(parent(&made.join(&name)))?;
        fs::rename(new.join(&name), made.join(&name))?;
    }
    fs::remove_dir_all(new)?;
    Ok(made)
}

/// Two folders change places in one call, where the system and the disk have it.
#[cfg(any(target_os = "linux", target_vendor = "apple"))]
fn exchange(one: &Path, other: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE)?)
}

#[cfg(not(any(target_os = "linux", target_vendor = "apple")))]
fn exchange(_: &Path, _: &Path) -> io::Result<()> {
    Err(io::ErrorKind::Unsupported.into())
}

/// Whether a folder is where a disk begins, the root of a stick for one, so that nothing can be moved into it from beside it.
fn is_mounted(folder: &Path) -> bool {
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{AtFlags, CWD, StatxAttributes, StatxFlags, statx};
        if let Ok(found) = statx(CWD, folder, AtFlags::empty(), StatxFlags::empty())
            && found.stx_attributes_mask.contains(StatxAttributes::MOUNT_ROOT)
        {
            return found.stx_attributes.contains(StatxAttributes::MOUNT_ROOT);
        }
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        let disk = |path: &Path| fs::metadata(path).map(|found| found.dev()).ok();
        disk(folder) != disk(parent(folder))
    }
    #[cfg(not(unix))]
    {
        false
    }
}

fn is_forbidden(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem)
}

/// All files below a folder, as paths below it.
fn files(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let none = BTreeSet::new();
    walk(folder, &none, &mut |_| true)
}

/// What lies in a folder beside these files of ours, as paths below it; of a folder without ours only its own.
fn strangers(folder: &Path, ours: &BTreeSet<&Path>) -> io::Result<Vec<PathBuf>> {
    walk(folder, ours, &mut |within| ours.iter().any(|own| own.starts_with(within)))
}

/// The entries below a folder that are not among `known`, as paths below it. Folders are gone into where `enter` says so.
fn walk(folder: &Path, known: &BTreeSet<&Path>, enter: &mut dyn FnMut(&Path) -> bool) -> io::Result<Vec<PathBuf>> {
    let (mut found, mut folders) = (Vec::new(), vec![PathBuf::new()]);
    while let Some(within) = folders.pop() {
        for entry in fs::read_dir(folder.join(&within))? {
            let entry = entry?;
            let name = within.join(entry.file_name());
            if entry.file_type()?.is_dir() && enter(&name) {
                folders.push(name);
            } else if !known.contains(name.as_path()) {
                found.push(name);
            }
        }
    }
    found.sort();
    Ok(found)
}

/// A folder with all that is in it again, its files by second names where the disk has them.
fn copy_folder(from: &Path, to: &Path) -> io::Result<()> {
    let (mut folders, mut made) = (vec![PathBuf::new()], Vec::new());
    while let Some(within) = folders.pop() {
        fs::create_dir(to.join(&within))?;
        for entry in fs::read_dir(from.join(&within))? {
            let entry = entry?;
            let name = within.join(entry.file_name());
            if entry.file_type()?.is_dir() {
                folders.push(name);
            } else {
                link_or_copy(&from.join(&name), &to.join(&name))?;
            }
        }
        made.push(within);
    }
    // Last, and from within: a folder that nobody may write to takes no more.
    made.iter()
        .rev()
        .try_for_each(|within| facts::keep(&fs::metadata(from.join(within))?, &to.join(within)).map(|_| ()))
}

/// A second name for a file, or a second file where the disk has one name for each.
///
/// # Errors
/// Where neither can be made.
pub fn link_or_copy(from: &Path, to: &Path) -> io::Result<()> {
    fs::hard_link(from, to).or_else(|_| fs::copy(from, to).map(|_| ()))
}

#[cfg(test)]
mod tests;
