//! A pack's folder as one file: stable bytes for the same files, whatever the file system says of them.
//!
//! What belongs to a pack is for `content` to say.

use super::archive::Archive;
use super::content::{self, About, BundleFile, Content};
use super::fault::BundleError;
use super::name::{EntryKind, SUMS};
use super::sums::{self, Sum};
use super::{raise, unpack};
use crate::diag::{Code, Diagnostic};
use crate::disk;
use crate::pack::manifest;
use crate::sink::file::{FileError, Fresh, Replace};
use flate2::Compression;
use flate2::write::DeflateEncoder;
use rawzip::time::UtcDateTime;
use rawzip::{CompressionMethod, DataDescriptorOutput, ErrorKind, FileReader, ZipArchiveWriter};
use sha2::{Digest, Sha256};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// What becomes smaller than this part of itself is stored as it is: a reader may take it for a trap.
const TRAP: usize = 50;
/// 1 January 1980, in seconds of Unix.
const FIRST_DAY: i64 = 315_532_800;

/// What to make a bundle of.
#[derive(Clone, Debug)]
pub struct BundleRequest {
    /// The pack's folder.
    pub folder: PathBuf,
    /// The file to write; `NAME-vN.zip` in the current folder where it is not given.
    pub output: Option<PathBuf>,
    /// Whether the version in the manifest is raised by one first.
    pub raise: bool,
    /// Set, it stops the work before anything has a name.
    pub stop: Arc<AtomicBool>,
}

/// A bundle that was made.
#[derive(Clone, Debug)]
pub struct Bundled {
    /// The file.
    pub output: PathBuf,
    /// Whether the file was there with the same bytes, and nothing was written.
    pub same: bool,
    /// How many bytes it has.
    pub bytes: u64,
    /// Its SHA-256, in hexadecimal digits.
    pub sum: String,
    /// What is in it.
    pub about: About,
    /// What of the folder is not in it.
    pub left_out: Vec<String>,
}

/// Makes a bundle.
///
/// # Errors
/// Where the pack is wrong in any part, or a file cannot be read or written. The manifest and an existing bundle are as
/// they were then.
pub fn bundle(request: &BundleRequest) -> Result<Bundled, BundleError> {
    let folder = request.folder.canonicalize().map_err(BundleError::read(&request.folder))?;
    let name = folder.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    if !manifest::is_id(&name) {
        let message = format!("a pack cannot be called `{}`, as its folder is", super::name::shown(&name));
        let hint = "name the folder by lower-case letters, digits and `-`, such as `tuesday-lane`";
        return Err(BundleError::refused(Diagnostic::whole(Code::PackBroken, message).hint(hint)));
    }
    let raised = if request.raise { Some(raised(&folder, &name)?) } else { None };
    let Content { about, pieces, left_out } = content::read(&folder, &name, raised.clone())?;
    let output = request.output.clone().unwrap_or_else(|| format!("{name}-v{}.zip", about.version).into());
    let mut fresh = Summed::new(Fresh::create(&output, Replace::Yes)?);
    zip(&name, &pieces, &mut fresh, &output, &request.stop)?;
    let (fresh, bytes, sum) = fresh.finish();
    let same = is_same(&output, bytes, &sum, &about)?;
    if !same {
        if let Some(text) = raised {
            let path = folder.join(manifest::FILE);
            let mut manifest = Fresh::create(&path, Replace::Yes)?;
            manifest.write_all(text.as_bytes()).and_then(|()| manifest.flush()).map_err(unwritten(&path))?;
            manifest.commit()?;
        }
        fresh.commit()?;
    }
    Ok(Bundled { output, same, bytes, sum: sums::hex(&sum), about, left_out })
}

fn unwritten(path: &Path) -> impl FnOnce(io::Error) -> FileError {
    let path = path.to_owned();
    move |source| FileError::System { doing: "write", path, source }
}

/// Whether the output is there already with the same bytes. What is there with others is in the way, unless it is an older
/// bundle of the same pack.
fn is_same(output: &Path, bytes: u64, sum: &Sum, about: &About) -> Result<bool, BundleError> {
    let mut old = match disk::open(output) {
        Ok(old) => old,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(false),
        Err(error) => return Err(BundleError::read(output)(error)),
    };
    let len = old.metadata().map_err(BundleError::read(output))?.len();
    if len == bytes {
        let mut hash = Sha256::new();
        io::copy(&mut old, &mut hash).map_err(BundleError::read(output))?;
        if Sum::from(hash.finalize()) == *sum {
            return Ok(true);
        }
    }
    let taken = |why: String| Err(BundleError::Taken { path: output.to_owned(), why });
    match version(old, len) {
        Some((name, version)) if name == about.name && version < about.version => Ok(false),
        Some((name, version)) if name == about.name && version == about.version => taken(format!(
            "holds other content of version {version} of this pack: raise `version` in {}, or let --raise do it",
            manifest::FILE
        )),
        Some((name, version)) => taken(format!("is version {version} of the pack `{name}`: choose another file by -o")),
        None => taken("is no bundle: choose another file by -o".into()),
    }
}

/// The pack and the version that an existing bundle says it is.
fn version(file: File, len: u64) -> Option<(String, u32)> {
    let archive = Archive::read(FileReader::from(file), len).ok()?;
    let text = unpack::text(&archive, archive.find(manifest::FILE)?).ok()?;
    let version = manifest::stated_version(std::str::from_utf8(&text).ok()?)?;
    Some((archive.pack, version))
}

/// Writes the pieces, and their sums as a file of their own, in the order of their names.
fn zip(
    name: &str,
    pieces: &[BundleFile],
    into: &mut Summed,
    output: &Path,
    stop: &AtomicBool,
) -> Result<(), BundleError> {
    let sums = sums::lines(pieces.iter().map(|piece| (piece.path.as_str(), &piece.sum))).into_bytes();
    let mut zip = ZipArchiveWriter::new(into);
    let mut listed = false;
    for piece in pieces {
        if stop.load(Ordering::Relaxed) {
            return Err(BundleError::Stopped);
        }
        if !listed && piece.path.as_str() > SUMS {
            add(&mut zip, name, SUMS, &sums).map_err(failed(output))?;
            listed = true;
        }
        let path = match &piece.from {
            content::BytesFrom::File(path) => path.clone(),
            content::BytesFrom::Text(_) => PathBuf::from(&piece.path),
        };
        let bytes = content::bytes(&piece.from, EntryKind::Clip.most()).map_err(BundleError::read(&path))?;
        let changed = || io::Error::other("it changed while it was read; try again");
        let bytes = bytes.map_err(|_| BundleError::read(&path)(changed()))?;
        if Sum::from(Sha256::digest(&bytes)) != piece.sum {
            return Err(BundleError::read(path)(changed()));
        }
        add(&mut zip, name, &piece.path, &bytes).map_err(failed(output))?;
    }
    if !listed {
        add(&mut zip, name, SUMS, &sums).map_err(failed(output))?;
    }
    zip.finish().map_err(failed(output))?;
    Ok(())
}

fn failed(output: &Path) -> impl Fn(rawzip::Error) -> BundleError {
    move |error| {
        let source = match error.into_kind() {
            ErrorKind::IO(error) => error,
            other => io::Error::other(other.to_string()),
        };
        BundleError::File(unwritten(output)(source))
    }
}

/// Adds a file: plain, readable by everybody, of the first day that ZIP knows.
fn add(zip: &mut ZipArchiveWriter<&mut Summed>, name: &str, path: &str, bytes: &[u8]) -> Result<(), rawzip::Error> {
    let mut deflated = DeflateEncoder::new(Vec::with_capacity(bytes.len() / 2), Compression::new(6));
    deflated.write_all(bytes)?;
    let deflated = deflated.finish()?;
    // Stored entries whose size follows them cannot be read by every tool that reads from a pipe: they are the exception.
    let (packed, method) = if deflated.len() < bytes.len() / TRAP {
        (bytes, CompressionMethod::STORE)
    } else {
        (deflated.as_slice(), CompressionMethod::DEFLATE)
    };
    let path = format!("{name}/{path}");
    let file = zip.new_file(path.as_str()).compression_method(method).unix_permissions(0o100_644);
    let (mut entry, _) = file.last_modified(UtcDateTime::from_unix(FIRST_DAY)).start()?;
    entry.write_all(packed)?;
    entry.finish(DataDescriptorOutput::new(rawzip::crc32(bytes), bytes.len() as u64))?;
    Ok(())
}

/// A file that is counted and summed on its way.
struct Summed {
    fresh: Fresh,
    hash: Sha256,
    bytes: u64,
}

impl Summed {
    fn new(fresh: Fresh) -> Self {
        Self { fresh, hash: Sha256::new(), bytes: 0 }
    }

    fn finish(self) -> (Fresh, u64, Sum) {
        (self.fresh, self.bytes, self.hash.finalize().into())
    }
}

impl Write for Summed {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.fresh.write(bytes)?;
        self.hash.update(bytes.split_at(written).0);
        self.bytes += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.fresh.flush()
    }
}

/// The manifest's text with its version raised.
fn raised(folder: &Path, name: &str) -> Result<String, BundleError> {
    let path = folder.join(manifest::FILE);
    let text = fs::read_to_string(&path).map_err(BundleError::read(&path))?;
    raise::raised(&text).map_err(|why| {
        let message = format!("the version in `{name}/{}` cannot be raised: {why}", manifest::FILE);
        BundleError::refused(Diagnostic::whole(Code::PackBroken, message))
    })
}
