//! Where a pack lies, and the files in it: a folder, or a part of the binary.
//!
//! What the files mean is not here.

use crate::pack::library::{self, Bytes};
use crate::pack::{builtin, manifest};
use include_dir::Dir;
use std::cmp::Reverse;
use std::collections::HashMap;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// The largest manifest that is read, in bytes.
pub const LARGEST_MANIFEST: u64 = 1 << 20;

/// The formats of recordings, the one that is taken first.
const FORMATS: [&str; 4] = ["wav", "flac", "ogg", "mp3"];

/// A recording not yet measured: the name that messages show, and where its bytes are.
pub(in crate::pack) struct Encoded {
    pub name: String,
    pub bytes: Bytes,
}

/// Where a pack lies.
#[derive(Clone)]
pub(in crate::pack) enum Place {
    /// A folder, its path as the user knows it, and free of links.
    Folder { shown: PathBuf, real: PathBuf },
    /// In the binary.
    BuiltIn(&'static builtin::BuiltInPack),
}

impl PartialEq for Place {
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Folder { real: a, .. }, Self::Folder { real: b, .. }) => a == b,
            (Self::BuiltIn(a), Self::BuiltIn(b)) => a.name == b.name,
            _ => false,
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder { shown, .. } => shown.display().fmt(f),
            Self::BuiltIn(_) => f.write_str("built in"),
        }
    }
}

impl Place {
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

    /// The manifest: the name that messages show, and its text.
    pub fn manifest(&self) -> (String, io::Result<String>) {
        match self {
            Self::Folder { shown, real } => {
                let text = inside(real, &real.join(manifest::FILE))
                    .and_then(|path| library::read_at_most(&path, LARGEST_MANIFEST))
                    .and_then(|bytes| {
                        let error = |_| io::Error::new(io::ErrorKind::InvalidData, "it is not UTF-8 text");
                        String::from_utf8(bytes).map_err(error)
                    });
                (shown.join(manifest::FILE).display().to_string(), text)
            }
            Self::BuiltIn(pack) => {
                (format!("built in: {}/{}", pack.name, manifest::FILE), Ok(pack.manifest().to_owned()))
            }
        }
    }

    /// Every file in a folder below `clips`, whatever it is, sorted: its folder and its name. Hidden ones are left out, and
    /// what cannot be listed.
    pub fn clip_files(&self) -> Vec<(String, String)> {
        let name = |path: &Path| path.file_name().map(|name| name.to_string_lossy().into_owned());
        let mut found: Vec<(String, String)> = match self {
            Self::BuiltIn(pack) => {
                let folders = pack.dir.get_dir("clips").into_iter().flat_map(Dir::dirs);
                let files = folders.flat_map(|folder| folder.files().map(|file| (folder.path(), file.path())));
                files.filter_map(|(folder, file)| name(folder).zip(name(file))).collect()
            }
            Self::Folder { real, .. } => {
                let inside = |path: &Path| {
                    let listed = std::fs::read_dir(path).into_iter().flatten().flatten();
                    listed.map(|entry| entry.path()).collect::<Vec<_>>()
                };
                let folders = inside(&real.join("clips")).into_iter().filter(|path| path.is_dir());
                let files =
                    folders.flat_map(|folder| inside(&folder).into_iter().map(move |file| (folder.clone(), file)));
                files.filter_map(|(folder, file)| name(&folder).zip(name(&file))).collect()
            }
        };
        found.retain(|(folder, file)| !folder.starts_with('.') && !file.starts_with('.'));
        found.sort();
        found
    }

    /// The recordings of a role by their names without the format's extension, such as `reach-forward.short`.
    pub fn recordings(&self, role: &str) -> io::Result<HashMap<String, Encoded>> {
        let mut found = HashMap::new();
        match self {
            Self::BuiltIn(pack) => {
                for file in pack.dir.get_dir(Path::new("clips").join(role)).into_iter().flat_map(Dir::files) {
                    let name = || format!("built in: {}/{}", pack.name, file.path().display());
                    let contents: &'static [u8] = contents(file);
                    take(&mut found, file.path(), || Ok(Encoded { name: name(), bytes: Bytes::Static(contents) }))?;
                }
            }
            Self::Folder { shown, real } => {
                let folder = real.join("clips").join(role);
                let listing = match inside(real, &folder).and_then(std::fs::read_dir) {
                    Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(found),
                    listing => listing?,
                };
                for file in listing {
                    let file = file?;
                    take(&mut found, Path::new(&file.file_name()), || {
                        // The kind of an entry comes with the listing: only links cost a further look.
                        let path = file.path();
                        let path = if file.file_type()?.is_symlink() { inside(real, &path)? } else { path };
                        let name = shown.join("clips").join(role).join(file.file_name());
                        Ok(Encoded { name: name.display().to_string(), bytes: Bytes::File(path) })
                    })?;
                }
            }
        }
        Ok(found)
    }
}

/// Which of two recordings of a text is taken: the lesser one. By the format, then of two spellings of its extension that which is
/// later in the order of bytes: `x.WAV` gives way to `x.wav`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rank(usize, Reverse<String>);

/// The rank of a file among the recordings of its text; none where its name has not the extension of a format that can be read.
pub fn rank(file: &Path) -> Option<Rank> {
    let extension = file.extension()?.to_str()?;
    let format = FORMATS.iter().position(|format| extension.eq_ignore_ascii_case(format))?;
    Some(Rank(format, Reverse(extension.to_owned())))
}

fn contents(file: &'static include_dir::File<'static>) -> &'static [u8] {
    file.contents()
}

/// Adds a file if it is a recording and none that is taken before it is there.
fn take(
    found: &mut HashMap<String, Encoded>,
    path: &Path,
    recording: impl FnOnce() -> io::Result<Encoded>,
) -> io::Result<()> {
    let (Some(new), Some(stem)) = (rank(path), path.file_stem().and_then(|stem| stem.to_str())) else { return Ok(()) };
    let old = found.get(stem).and_then(|old| rank(Path::new(&old.name)));
    if old.is_none_or(|old| new < old) {
        found.insert(stem.to_owned(), recording()?);
    }
    Ok(())
}

/// A path free of links, which must lie in the folder: a pack that someone passed on must not reach the rest of a disk.
fn inside(folder: &Path, path: &Path) -> io::Result<PathBuf> {
    let real = path.canonicalize()?;
    if real.starts_with(folder) {
        return Ok(real);
    }
    let why = format!("{} is a link out of the pack's folder: put the file itself there", path.display());
    Err(io::Error::new(io::ErrorKind::InvalidInput, why))
}
