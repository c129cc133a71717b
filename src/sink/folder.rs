//! Several files that are all there or none: written into a hidden folder beside the target, then moved.
//!
//! What else lies in a folder that is replaced stays in it. Whose files those are that may go is for the caller to say.

use super::file::{FileError, Replace};
use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// Files under way. Dropped before they are moved, they are removed.
#[derive(Debug)]
pub struct FilesUnderWay {
    temp: TempDir,
    target: PathBuf,
}

/// What may happen to a folder of the target's name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Old {
    /// The files in it that are ours and may be deleted.
    pub ours: Vec<String>,
    /// Whether new files take the place of others of the same name too.
    pub force: bool,
}

impl FilesUnderWay {
    /// Begins files that are to be in the folder `target`, or beside the file `target`.
    ///
    /// # Errors
    /// Where its folder is not there or cannot be written to.
    pub fn beside(target: &Path) -> Result<Self, FileError> {
        // A link is followed, so that what it points to is replaced; a blank name is a mistake.
        let target = if target.is_symlink() {
            target.canonicalize().map_err(FileError::system("create", target))?
        } else {
            target.into()
        };
        let Some(name) = target.file_name() else { return Err(FileError::NotAFile { path: target }) };
        let folder = parent(&target);
        fs::metadata(folder).map_err(FileError::system("create", &target))?;
        let temp = hidden(name, ".part", folder).map_err(FileError::system("create", &target))?;
        Ok(Self { temp, target })
    }

    /// Where to write them.
    pub fn path(&self) -> &Path {
        self.temp.path()
    }

    /// Makes the files the folder that was named. With `old`, a folder of that name gives way to it: its files that are ours are
    /// deleted, the others move over.
    ///
    /// # Errors
    /// Where something is in the way, or cannot be moved; what was there is as it was then.
    pub fn into_folder(self, old: Option<&Old>) -> Result<(), FileError> {
        let Self { temp, target } = self;
        let Some(old) = old.filter(|_| target.exists()) else {
            return fs::rename(temp.path(), &target).map_err(FileError::system("rename", &target));
        };
        let kept = others(&target, &old.ours).map_err(FileError::system("read", &target))?;
        if let Some(name) = kept.iter().find(|name| !old.force && temp.path().join(name).exists()) {
            return Err(FileError::Exists { path: target.join(name) });
        }
        // The old folder steps aside under a name of its own: a place in a new hidden folder.
        let aside = hidden(target.file_name().unwrap_or_default(), ".old", parent(&target))
            .map_err(FileError::system("create", &target))?;
        let before = aside.path().join("before");
        fs::rename(&target, &before).map_err(FileError::system("rename", &target))?;
        if let Err(source) = fs::rename(temp.path(), &target) {
            // Where even this fails, the folder is kept under its hidden name.
            return match fs::rename(&before, &target) {
                Ok(()) => Err(FileError::system("rename", &target)(source)),
                Err(source) => Err(FileError::system("rename", &aside.keep())(source)),
            };
        }
        for name in kept {
            let (from, to) = (before.join(&name), target.join(&name));
            if to.exists() {
                continue;
            }
            if let Err(source) = fs::rename(&from, &to) {
                let lost = aside.keep().join("before").join(&name);
                return Err(FileError::system("move back", &lost)(source));
            }
        }
        // What is left is ours, or was to be replaced.
        aside.close().map_err(FileError::system("tidy", &target))
    }

    /// Makes the files the folder that was named, in the place of the one that is there, which is kept whole as `before`.
    ///
    /// # Errors
    /// Where one of them cannot be moved; what was there is in its place then.
    pub fn instead(self, before: &Path) -> Result<(), FileError> {
        let Self { temp, target } = self;
        fs::rename(&target, before).map_err(FileError::system("rename", &target))?;
        fs::rename(temp.path(), &target).map_err(|source| match fs::rename(before, &target) {
            Ok(()) => FileError::system("rename", &target)(source),
            Err(source) => FileError::system("rename", before)(source),
        })
    }

    /// Moves files into the folder that holds the target, each as it may replace another.
    ///
    /// # Errors
    /// Where one of the names is taken or cannot be moved to; those moved before it are taken away again.
    pub fn spill(self, files: &[(String, Replace)]) -> Result<(), FileError> {
        let folder = parent(&self.target);
        if let Some((name, _)) =
            files.iter().find(|(name, replace)| *replace == Replace::Never && folder.join(name).exists())
        {
            return Err(FileError::Exists { path: folder.join(name) });
        }
        for (index, (name, _)) in files.iter().enumerate() {
            let to = folder.join(name);
            if let Err(source) = fs::rename(self.temp.path().join(name), &to) {
                for (name, _) in files.iter().take(index) {
                    // The first failure is the one to tell.
                    let _ = fs::remove_file(folder.join(name));
                }
                return Err(FileError::system("rename", &to)(source));
            }
        }
        Ok(())
    }
}

fn parent(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A hidden folder, readable as any program would make it: it becomes the result.
fn hidden(name: &std::ffi::OsStr, suffix: &str, folder: &Path) -> io::Result<TempDir> {
    let mut prefix = OsString::from(".");
    prefix.push(name);
    prefix.push(".");
    let mut builder = tempfile::Builder::new();
    builder.prefix(&prefix).suffix(suffix);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o777));
    }
    builder.tempdir_in(folder)
}

/// What a folder holds beside these files.
fn others(folder: &Path, ours: &[String]) -> io::Result<Vec<OsString>> {
    let names: io::Result<Vec<OsString>> = fs::read_dir(folder)?.map(|entry| Ok(entry?.file_name())).collect();
    Ok(names?.into_iter().filter(|name| !ours.iter().any(|own| name == own.as_str())).collect())
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

    fn batch(target: &Path, files: &[&str]) -> FilesUnderWay {
        let batch = FilesUnderWay::beside(target).unwrap();
        files.iter().for_each(|name| fs::write(batch.path().join(name), "new").unwrap());
        batch
    }

    fn old(ours: &[&str], force: bool) -> Old {
        Old { ours: ours.iter().map(|name| (*name).to_owned()).collect(), force }
    }

    #[test]
    fn a_folder_appears_only_when_it_is_whole() {
        let root = tempfile::tempdir().unwrap();
        let target = root.path().join("tracks");
        let batch = batch(&target, &["00 a", "01 b"]);
        assert!(!target.exists());
        batch.into_folder(None).unwrap();
        assert_eq!((names(root.path()), names(&target)), (vec!["tracks".into()], vec!["00 a".into(), "01 b".into()]));
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = fs::metadata(&target).unwrap().permissions().mode();
            assert_eq!(mode & 0o700, 0o700, "{mode:o}");
        }
        drop(FilesUnderWay::beside(&target).unwrap());
        assert_eq!(names(root.path()), ["tracks"], "what is given up leaves nothing");
        let error = FilesUnderWay::beside(&root.path().join("gone/tracks")).unwrap_err().to_string();
        assert!(error.contains("gone/tracks") && error.contains("make its folder"), "{error}");
    }

    #[test]
    fn of_an_old_folder_only_our_files_go() {
        let root = tempfile::tempdir().unwrap();
        let target = root.path().join("tracks");
        fs::create_dir_all(target.join("photos")).unwrap();
        for name in ["00 a", "02 gone", "notes.txt", "photos/one.jpg"] {
            fs::write(target.join(name), "old").unwrap();
        }
        batch(&target, &["00 a", "01 b"]).into_folder(Some(&old(&["00 a", "02 gone"], false))).unwrap();
        assert_eq!(names(&target), ["00 a", "01 b", "notes.txt", "photos"]);
        assert_eq!(fs::read_to_string(target.join("00 a")).unwrap(), "new");
        assert_eq!(fs::read_to_string(target.join("photos/one.jpg")).unwrap(), "old");
        assert_eq!(names(root.path()), ["tracks"]);
    }

    #[test]
    fn a_name_that_is_somebody_elses_is_replaced_by_force_only() {
        let root = tempfile::tempdir().unwrap();
        let target = root.path().join("tracks");
        fs::create_dir(&target).unwrap();
        fs::write(target.join("01 b"), "old").unwrap();
        let error = batch(&target, &["01 b"]).into_folder(Some(&old(&[], false))).unwrap_err();
        assert!(matches!(&error, FileError::Exists { path } if path.ends_with("01 b")), "{error}");
        assert_eq!(
            (names(root.path()), fs::read_to_string(target.join("01 b")).unwrap()),
            (vec!["tracks".into()], "old".into())
        );
        batch(&target, &["01 b"]).into_folder(Some(&old(&[], true))).unwrap();
        assert_eq!(fs::read_to_string(target.join("01 b")).unwrap(), "new");
        // Without leave nothing that holds something is replaced.
        assert!(batch(&target, &["02 c"]).into_folder(None).is_err());
        assert_eq!((names(root.path()), names(&target)), (vec!["tracks".into()], vec!["01 b".into()]));
    }

    #[test]
    fn a_folder_that_gives_way_is_kept_whole() {
        let root = tempfile::tempdir().unwrap();
        let (target, before) = (root.path().join("pack"), root.path().join("before"));
        batch(&target, &["a", "b"]).into_folder(None).unwrap();
        batch(&target, &["b", "c"]).instead(&before).unwrap();
        assert_eq!((names(&target), names(&before)), (vec!["b".into(), "c".into()], vec!["a".into(), "b".into()]));
        // Where the old one cannot go, the new one does not come.
        let error = batch(&target, &["d"]).instead(&root.path().join("gone/before")).unwrap_err();
        assert!(matches!(error, FileError::System { .. }), "{error}");
        assert_eq!(
            (names(root.path()), names(&target)),
            (vec!["before".into(), "pack".into()], vec!["b".into(), "c".into()])
        );
    }

    #[test]
    fn files_beside_each_other_come_all_or_none() {
        let root = tempfile::tempdir().unwrap();
        let target = root.path().join("mine.wav");
        fs::write(root.path().join("mine 02.wav"), "old").unwrap();
        let both = |replace| [("mine 01.wav".to_owned(), Replace::Never), ("mine 02.wav".to_owned(), replace)];
        let new = || batch(&target, &["mine 01.wav", "mine 02.wav"]);
        assert!(matches!(new().spill(&both(Replace::Never)), Err(FileError::Exists { .. })));
        assert_eq!(names(root.path()), ["mine 02.wav"]);
        new().spill(&both(Replace::Yes)).unwrap();
        assert_eq!(names(root.path()), ["mine 01.wav", "mine 02.wav"]);
        assert_eq!(fs::read_to_string(root.path().join("mine 02.wav")).unwrap(), "new");
    }
}
