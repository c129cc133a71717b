//! Files that are whole or not there: written under a temporary name beside the target, then renamed.
//!
//! What a half file could do at the pool side is the reason: a render that stops for any cause leaves the target as it
//! was. Nothing is forced to disk before the rename: that costs seconds on slow media and guards only against a power
//! cut, after which the practice is rendered again.

use super::facts;
use crate::diag::shown::ShownPath;
use crate::disk::Access;
use crate::disk::part::work_file;
use std::fmt;
use std::fs::{self, File};
use std::io::{self, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// A file that cannot be written.
#[derive(Debug)]
pub enum FileError {
    /// There is a file of that name already.
    Exists {
        /// Which.
        path: PathBuf,
    },
    /// The name belongs to something else than a file.
    NotAFile {
        /// Which.
        path: PathBuf,
    },
    /// The name belongs to something else than a folder.
    NotAFolder {
        /// Which.
        path: PathBuf,
    },
    /// The system refused.
    System {
        /// What was tried: `create`, `write`, `rename`.
        doing: &'static str,
        /// The target.
        path: PathBuf,
        /// What it said.
        source: io::Error,
    },
}

impl fmt::Display for FileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Exists { path } => {
                write!(f, "{} exists already; choose another name or replace it with --force", path.shown())
            }
            Self::NotAFile { path } => write!(f, "{} is not a regular file; choose another name", path.shown()),
            Self::NotAFolder { path } => write!(f, "{} is not a folder; choose another name", path.shown()),
            Self::System { doing, path, source } => {
                write!(f, "cannot {doing} {}: {source}", path.shown())?;
                match source.kind() {
                    io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                        f.write_str("; free some space, or choose a lower rate, mono, or another disk")
                    }
                    io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                        f.write_str("; choose a folder that you may write to")
                    }
                    io::ErrorKind::NotADirectory => f.write_str("; a part of its path is a file"),
                    io::ErrorKind::NotFound => f.write_str("; make its folder first, or choose another"),
                    _ => Ok(()),
                }
            }
        }
    }
}

impl std::error::Error for FileError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::System { source, .. } => Some(source),
            Self::Exists { .. } | Self::NotAFile { .. } | Self::NotAFolder { .. } => None,
        }
    }
}

impl FileError {
    /// What the system refused, when it was tried on a file or folder.
    pub fn system(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> Self + use<> {
        let path = path.to_owned();
        move |source| Self::System { doing, path, source }
    }
}

/// What standard output is called where a file could be named.
const STDOUT: &str = "-";

/// Whether a path means standard output.
pub fn is_stdout(path: &Path) -> bool {
    [STDOUT, "/dev/stdout", "/dev/fd/1", "/proc/self/fd/1"].iter().any(|name| path == Path::new(name))
}

/// What happens to a file that has the target's name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Replace {
    /// It stays, and the new one is given up.
    Never,
    /// It gives way to the new one, once that is whole.
    Yes,
}

/// A file under way. Dropped without [`commit`](Self::commit), it is removed.
#[derive(Debug)]
pub struct Fresh {
    place: FreshPlace,
}

/// Where a file under way goes.
#[derive(Debug)]
enum FreshPlace {
    Named {
        temp: NamedTempFile,
        target: PathBuf,
        replace: Replace,
    },
    /// To standard output, when all of it is there: what reads it gets the same bytes that a file has.
    Stdout(File),
}

impl Fresh {
    /// Begins `path`; a link is followed, so that what it points to is replaced.
    ///
    /// # Errors
    /// Where the target exists and may not be replaced, is not a regular file, or its folder cannot be written to.
    pub fn create(path: &Path, replace: Replace) -> Result<Self, FileError> {
        Self::begin(path, replace, Access::Usual)
    }

    /// As [`create`](Self::create); a file that is new can be read by this user alone.
    ///
    /// # Errors
    /// As there.
    pub fn create_private(path: &Path, replace: Replace) -> Result<Self, FileError> {
        Self::begin(path, replace, Access::Private)
    }

    fn begin(path: &Path, replace: Replace, access: Access) -> Result<Self, FileError> {
        let system = |source| FileError::System { doing: "create", path: path.to_owned(), source };
        let target = match fs::metadata(path) {
            Ok(found) if !found.is_file() => return Err(FileError::NotAFile { path: path.to_owned() }),
            Ok(_) if replace == Replace::Never => return Err(FileError::Exists { path: path.to_owned() }),
            Ok(_) => path.canonicalize().map_err(system)?,
            Err(error) if error.kind() == io::ErrorKind::NotFound => path.to_owned(),
            Err(error) => return Err(system(error)),
        };
        let Some(name) = target.file_name() else { return Err(FileError::NotAFile { path: target }) };
        let folder = parent(&target);
        // Asked first: of a folder that is not there the system says more than the maker of temporary files.
        fs::metadata(folder).map_err(system)?;
        let temp = work_file(folder, name, access).map_err(system)?;
        Ok(Self { place: FreshPlace::Named { temp, target, replace } })
    }

    /// Begins what goes to standard output.
    ///
    /// # Errors
    /// Where the system has no room for it meanwhile.
    pub fn to_stdout() -> Result<Self, FileError> {
        let meanwhile = tempfile::tempfile().map_err(FileError::system("create", &std::env::temp_dir()))?;
        Ok(Self { place: FreshPlace::Stdout(meanwhile) })
    }

    /// The file that is to be.
    pub fn target(&self) -> &Path {
        match &self.place {
            FreshPlace::Named { target, .. } => target,
            FreshPlace::Stdout(_) => Path::new(STDOUT),
        }
    }

    fn file(&self) -> &File {
        match &self.place {
            FreshPlace::Named { temp, .. } => temp.as_file(),
            FreshPlace::Stdout(file) => file,
        }
    }

    /// Gives the finished file its name.
    ///
    /// # Errors
    /// Where it cannot be renamed, or another file has taken the name meanwhile and may not be replaced.
    pub fn commit(self) -> Result<(), FileError> {
        let (temp, target, replace) = match self.place {
            FreshPlace::Named { temp, target, replace } => (temp, target, replace),
            FreshPlace::Stdout(mut file) => {
                let mut out = io::stdout().lock();
                let sent = file.rewind().and_then(|()| io::copy(&mut file, &mut out)).and_then(|_| out.flush());
                return sent.map_err(FileError::system("write to", Path::new("standard output")));
            }
        };
        if replace == Replace::Yes {
            facts::keep_if_there(&target, temp.path()).map_err(FileError::system("write", &target))?;
        }
        let renamed = match replace {
            Replace::Yes => temp.persist(&target),
            // Some disks know neither a rename that spares what is there nor second names.
            Replace::Never => temp.persist_noclobber(&target).or_else(|error| match target.symlink_metadata() {
                Err(gone) if gone.kind() == io::ErrorKind::NotFound => error.file.persist(&target),
                _ => Err(error),
            }),
        };
        match renamed {
            Ok(_) => Ok(()),
            Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => Err(FileError::Exists { path: target }),
            Err(error) => Err(FileError::System { doing: "rename", path: target, source: error.error }),
        }
    }
}

impl Fresh {
    /// As [`commit`](Self::commit), and on the disk before it returns, as far as the system can be made to: for what cannot
    /// be made again.
    ///
    /// # Errors
    /// As there; where the disk cannot be made to take it, nothing has its name yet.
    pub fn commit_to_disk(self) -> Result<(), FileError> {
        let target = self.target().to_owned();
        self.file().sync_all().map_err(FileError::system("write", &target))?;
        self.commit()?;
        // The name is on the disk when its folder is. Some systems cannot do that to a folder; the file is there all the same.
        let _ = File::open(parent(&target)).and_then(|folder| folder.sync_all());
        Ok(())
    }
}

impl Write for Fresh {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file().write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file().flush()
    }
}

impl Seek for Fresh {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.file().seek(to)
    }
}

/// The folder that a path lies in.
pub(super) fn parent(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<_> =
            fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_file_appears_only_when_it_is_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.wav");
        let mut fresh = Fresh::create(&path, Replace::Never).unwrap();
        fresh.write_all(b"sound").unwrap();
        assert!(!path.exists());
        let [part] = names(folder.path()).try_into().unwrap();
        assert!(part.starts_with(".out.wav.") && part.ends_with(".lengthwise-part"), "{part}");
        fresh.commit().unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"sound");
        assert_eq!(names(folder.path()), ["out.wav"]);
    }

    #[test]
    fn a_file_given_up_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.wav");
        fs::write(&path, b"old").unwrap();
        drop(Fresh::create(&path, Replace::Yes).unwrap());
        assert_eq!(names(folder.path()), ["out.wav"]);
        assert_eq!(fs::read(&path).unwrap(), b"old");
    }

    #[test]
    fn existing_files_are_kept_unless_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out.wav");
        let fresh = Fresh::create(&path, Replace::Never).unwrap();
        fs::write(&path, b"old").unwrap();
        assert!(matches!(fresh.commit(), Err(FileError::Exists { .. })));
        let error = Fresh::create(&path, Replace::Never).unwrap_err().to_string();
        assert!(error.contains("out.wav") && error.contains("--force"), "{error}");
        let mut fresh = Fresh::create(&path, Replace::Yes).unwrap();
        fresh.write_all(b"new").unwrap();
        fresh.commit().unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(names(folder.path()), ["out.wav"]);
    }

    #[test]
    fn folders_are_not_replaced_and_missing_ones_are_named() {
        let folder = tempfile::tempdir().unwrap();
        assert!(matches!(Fresh::create(folder.path(), Replace::Yes), Err(FileError::NotAFile { .. })));
        let error = Fresh::create(&folder.path().join("gone/out.wav"), Replace::Never).unwrap_err().to_string();
        assert!(
            error.contains("gone/out.wav") && error.contains("make its folder") && !error.contains("-part"),
            "{error}"
        );
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link() {
        let folder = tempfile::tempdir().unwrap();
        let (file, link) = (folder.path().join("file.wav"), folder.path().join("link.wav"));
        fs::write(&file, b"old").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        Fresh::create(&link, Replace::Yes).unwrap().commit().unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read(&file).unwrap(), b"");
    }
}
