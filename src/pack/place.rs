//! Where a pack lies, and the files in it: a folder, or a part of the binary.
//!
//! What the files are to the pack is for `inventory` to say.

use crate::diag::shown::ShownPath;
use crate::disk;
use crate::pack::recorded::Bytes;
use crate::pack::{builtin, manifest};
use include_dir::Dir;
use std::fmt;
use std::fs::DirEntry;
use std::io;
use std::path::{Path, PathBuf};

/// The largest manifest that is read, in bytes.
pub const LARGEST_MANIFEST: u64 = 1 << 20;

/// Where a pack lies.
#[derive(Clone, Debug)]
pub enum PackPlace {
    /// In a folder.
    Folder {
        /// Its path as the user knows it.
        shown: PathBuf,
        /// The same free of links.
        real: PathBuf,
    },
    /// In the binary.
    BuiltIn(&'static builtin::BuiltInPack),
}

impl PartialEq for PackPlace {
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Folder { real: a, .. }, Self::Folder { real: b, .. }) => a == b,
            (Self::BuiltIn(a), Self::BuiltIn(b)) => a.name == b.name,
            _ => false,
        }
    }
}

impl Eq for PackPlace {}

impl fmt::Display for PackPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder { shown, .. } => shown.shown().fmt(f),
            Self::BuiltIn(_) => f.write_str("built in"),
        }
    }
}

impl PackPlace {
    /// A folder, if it is a pack's.
    pub fn folder(path: &Path) -> Option<Self> {
        let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
        path.join(manifest::FILE).is_file().then_some(())?;
        Some(Self::Folder { shown: path.to_owned(), real: path.canonicalize().ok()? })
    }

    /// The name of the pack.
    pub fn name(&self) -> String {
        match self {
            Self::Folder { real, .. } => {
                real.file_name().map_or_else(|| "pack".to_owned(), |name| name.to_string_lossy().into_owned())
            }
            Self::BuiltIn(pack) => pack.name.to_owned(),
        }
    }

    /// The folder around a pack's folder, where its neighbours lie.
    pub fn around(&self) -> Option<&Path> {
        match self {
            Self::Folder { real, .. } => real.parent(),
            Self::BuiltIn(_) => None,
        }
    }

    /// Where the manifest lies, if on the disk.
    pub fn manifest_file(&self) -> Option<PathBuf> {
        match self {
            Self::Folder { real, .. } => Some(real.join(manifest::FILE)),
            Self::BuiltIn(_) => None,
        }
    }

    /// The manifest: the name that messages show, and its text.
    pub fn manifest(&self) -> (String, io::Result<String>) {
        match self {
            Self::Folder { shown, real } => {
                let text = inside(real, &real.join(manifest::FILE))
                    .and_then(|path| disk::read(&path, LARGEST_MANIFEST))
                    .and_then(|bytes| {
                        let error = |_| io::Error::new(io::ErrorKind::InvalidData, "it is not UTF-8 text");
                        String::from_utf8(bytes).map_err(error)
                    });
                (shown.join(manifest::FILE).to_string_lossy().into_owned(), text)
            }
            Self::BuiltIn(pack) => {
                (format!("built in: {}/{}", pack.name, manifest::FILE), Ok(pack.manifest().to_owned()))
            }
        }
    }

    /// How messages name a file of the pack.
    pub fn shown(&self, path: &str) -> String {
        match self {
            Self::Folder { shown, .. } => shown.join(path).shown(),
            Self::BuiltIn(pack) => format!("built in: {}/{path}", pack.name),
        }
    }

    /// What lies in a folder of the pack, `""` for its own, sorted by name.
    pub(in crate::pack) fn list(&self, path: &str) -> io::Result<Vec<(String, Lying)>> {
        let mut found = match self {
            Self::BuiltIn(pack) => {
                let folder = if path.is_empty() { Some(&pack.dir) } else { pack.dir.get_dir(path) };
                let entries = folder.into_iter().flat_map(Dir::entries);
                entries.filter_map(|entry| Some((name(entry.path())?, embedded(entry)))).collect()
            }
            Self::Folder { real, .. } => {
                // The kind of an entry comes with the listing: only links cost a further look.
                let lying = |entry: io::Result<DirEntry>| {
                    let entry = entry?;
                    let kind = entry.file_type()?;
                    let led = if kind.is_symlink() { inside(real, &entry.path()).ok() } else { Some(entry.path()) };
                    let lying = match led {
                        None => Lying::LinkOut,
                        Some(path) if kind.is_file() || path.is_file() => Lying::File(Bytes::File(path)),
                        Some(path) if kind.is_dir() || path.is_dir() => Lying::Folder,
                        Some(_) => Lying::Strange,
                    };
                    Ok(match entry.file_name().into_string() {
                        Ok(name) => (name, lying),
                        Err(name) => (name.to_string_lossy().into_owned(), Lying::Strange),
                    })
                };
                real.join(path).read_dir()?.map(lying).collect::<io::Result<Vec<_>>>()?
            }
        };
        found.sort_by(|(a, _), (b, _)| a.cmp(b));
        Ok(found)
    }
}

/// What an entry of a folder is to a pack.
pub(in crate::pack) enum Lying {
    /// A file, or a link to one in the pack.
    File(Bytes),
    /// A folder, or a link to one in the pack.
    Folder,
    /// A link that is not followed.
    LinkOut,
    /// Neither, or its name is not UTF-8.
    Strange,
}

/// A link out of a pack's folder, or to nothing. It is not followed: a pack that someone passed on must not reach the rest of
/// a disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LinkOut;

/// The end of a sentence that begins with the link's name.
impl fmt::Display for LinkOut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("is a link out of the pack's folder, or to nothing: put the file itself there")
    }
}

impl std::error::Error for LinkOut {}

fn name(path: &Path) -> Option<String> {
    path.file_name().map(|name| name.to_string_lossy().into_owned())
}

fn embedded(entry: &'static include_dir::DirEntry<'static>) -> Lying {
    match entry {
        include_dir::DirEntry::Dir(_) => Lying::Folder,
        include_dir::DirEntry::File(file) => Lying::File(Bytes::Static(file.contents())),
    }
}

/// A path free of links, which must lie in the folder.
fn inside(folder: &Path, path: &Path) -> io::Result<PathBuf> {
    let real = path.canonicalize()?;
    if real.starts_with(folder) {
        return Ok(real);
    }
    let why = format!("{} {LinkOut}", path.shown());
    Err(io::Error::new(io::ErrorKind::InvalidInput, why))
}
