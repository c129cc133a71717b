//! What everybody asks of the disk alike: files and nothing else, read up to a limit; folders that are this user's alone; whether
//! two names are one file.

pub mod note;
pub mod part;

use std::ffi::OsString;
use std::fs::{self, DirBuilder, File, FileType, Metadata};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Opens a file to read it. What is no file is refused by its kind, without being opened: a pipe would wait for a writer, a
/// device might never end.
///
/// # Errors
/// Where it is no file, or cannot be opened.
pub fn open(path: &Path) -> io::Result<File> {
    is_file(&fs::metadata(path)?)?;
    let mut options = File::options();
    options.read(true);
    // Another may have taken its place meanwhile.
    #[cfg(any(target_os = "linux", target_vendor = "apple"))]
    std::os::unix::fs::OpenOptionsExt::custom_flags(&mut options, rustix::fs::OFlags::NONBLOCK.bits() as i32);
    let file = options.open(path)?;
    is_file(&file.metadata()?)?;
    Ok(file)
}

fn is_file(found: &Metadata) -> io::Result<()> {
    let kind = found.file_type();
    if kind.is_file() { Ok(()) } else { Err(io::Error::other(other(kind))) }
}

/// What something is that is no file, as a sentence.
fn other(kind: FileType) -> &'static str {
    if kind.is_dir() {
        return "it is a folder";
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        if kind.is_fifo() {
            return "it is a pipe; save what comes out of it as a file first";
        }
    }
    "it is a device, not a file"
}

/// Reads a file unless it is larger than `most` bytes.
///
/// # Errors
/// As [`open`]; `FileTooLarge` where it is larger.
pub fn read(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    let file = open(path)?;
    // Knowing the size saves growing the buffer; the limit holds whatever the size is said to be.
    let mut bytes = Vec::with_capacity(file.metadata()?.len().min(most) as usize + 1);
    if file.take(most + 1).read_to_end(&mut bytes)? as u64 > most {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, format!("it is larger than {} MiB", most >> 20)));
    }
    Ok(bytes)
}

/// This program's folder among a user's files of a kind, from the value of the variable that states where those are and from
/// that of `HOME`, below which they are in `usual` (XDG base directory specification: a relative or empty value is ignored).
pub fn own_folder(stated: Option<OsString>, home: Option<OsString>, usual: &str) -> Option<PathBuf> {
    let absolute = |value: OsString| Some(PathBuf::from(value)).filter(|path| path.is_absolute());
    let files = stated.and_then(absolute).or_else(|| Some(home.and_then(absolute)?.join(usual)))?;
    Some(files.join("lengthwise"))
}

/// Who may look into something new.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// Whoever may look into other files of this user.
    Usual,
    /// This user alone.
    Private,
}

fn make(folder: &Path, access: Access) -> io::Result<()> {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    if access == Access::Private {
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    }
    #[cfg(not(unix))]
    let _ = access;
    builder.create(folder)
}

/// A folder that files are to come into. Dropped, it goes again with those on the way to it, if they were made for this and nothing
/// has come.
#[derive(Debug)]
pub struct FolderForFiles {
    /// The innermost first.
    made: Vec<PathBuf>,
}

impl FolderForFiles {
    /// Makes the folder if it is not there.
    ///
    /// # Errors
    /// Where the system refuses.
    pub fn make(folder: &Path, access: Access) -> io::Result<Self> {
        let missing = folder.ancestors().take_while(|path| !path.as_os_str().is_empty() && !path.exists());
        let made = Self { made: missing.map(Path::to_owned).collect() };
        make(folder, access).map(|()| made)
    }
}

impl Drop for FolderForFiles {
    fn drop(&mut self) {
        // The first that holds something stays, and so do those around it.
        let _ = self.made.iter().try_for_each(fs::remove_dir);
    }
}

/// Whether something belongs to the user who runs the program; everything does where systems have no owners.
#[cfg(any(target_os = "linux", target_vendor = "apple"))]
pub fn is_own(found: &Metadata) -> bool {
    std::os::unix::fs::MetadataExt::uid(found) == rustix::process::geteuid().as_raw()
}

/// Whether something belongs to the user who runs the program; everything does where systems have no owners.
#[cfg(not(any(target_os = "linux", target_vendor = "apple")))]
pub const fn is_own(_: &Metadata) -> bool {
    true
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
    fn only_files_are_read_and_no_more_than_allowed() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        fs::write(&path, [7; 100]).unwrap();
        assert_eq!(read(&path, 100).unwrap(), [7; 100]);
        assert_eq!(read(&path, 99).unwrap_err().kind(), io::ErrorKind::FileTooLarge);
        assert!(read(folder.path(), 1).unwrap_err().to_string().contains("folder"));
        assert_eq!(read(&folder.path().join("gone"), 1).unwrap_err().kind(), io::ErrorKind::NotFound);
        #[cfg(target_os = "linux")]
        {
            assert!(read(Path::new("/dev/zero"), 1).unwrap_err().to_string().contains("device"));
            let pipe = folder.path().join("pipe");
            rustix::fs::mknodat(rustix::fs::CWD, &pipe, rustix::fs::FileType::Fifo, rustix::fs::Mode::RUSR, 0).unwrap();
            assert!(read(&pipe, 1).unwrap_err().to_string().contains("pipe"), "without waiting for a writer");
        }
    }

    #[test]
    fn a_folder_goes_again_where_nothing_came() {
        let root = tempfile::tempdir().unwrap();
        let deep = root.path().join("a/b/c");
        drop(FolderForFiles::make(&deep, Access::Usual).unwrap());
        assert!(!root.path().join("a").exists());
        fs::create_dir(root.path().join("a")).unwrap();
        drop(FolderForFiles::make(&deep, Access::Private).unwrap());
        assert!(root.path().join("a").exists() && !root.path().join("a/b").exists(), "what was there stays");
        let made = FolderForFiles::make(&deep, Access::Usual).unwrap();
        fs::write(root.path().join("a/b/file"), "").unwrap();
        drop(made);
        assert!(root.path().join("a/b").exists() && !deep.exists());
    }

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
