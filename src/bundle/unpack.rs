//! What comes out of a bundle's entries: as many bytes as stated, with the sums stated, into a folder that is nobody's yet.
//!
//! No size is believed before that many bytes have come: inflating stops at the first byte too many. What the files hold is
//! not looked at here.

use super::archive::{Archive, ArchiveEntry, Method};
use super::fault::BundleFault;
use super::name::{EntryKind, EntryRefused, LARGEST_TEXT, SUMS};
use super::sums::{self, Sum};
use crate::sink::file::FileError;
use flate2::bufread::DeflateDecoder;
use rawzip::{Crc32, ReaderAt};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs::{self, OpenOptions};
use std::io::{self, BufReader, Read, Write};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

/// An entry that becomes this many times as large is a trap: recordings and texts become ten times as large at most.
const MOST_TIMES: u64 = 100;
/// Below this size, in bytes, it may: a short text can repeat itself.
const SMALL: u64 = 1 << 16;
/// How many bytes are taken at a time.
const PIECE: usize = 1 << 15;

/// Unpacks every file into `folder`, which is empty, and holds it against `SHA256SUMS`. Gives up between two files where
/// `stop` says so.
pub(super) fn unpack<R: ReaderAt>(archive: &Archive<R>, folder: &Path, stop: &AtomicBool) -> Result<(), BundleFault> {
    let mut found = BTreeMap::new();
    for entry in archive.entries.iter().filter(|entry| entry.name.kind != EntryKind::Folder) {
        if stop.load(Ordering::Relaxed) {
            return Err(BundleFault::Stopped);
        }
        // The path is made of plain parts only: see `name`.
        let path = folder.join(&entry.name.path);
        let system = |doing: &'static str| {
            let path = path.clone();
            move |source: io::Error| BundleFault::Write(FileError::System { doing, path, source })
        };
        if let Some(around) = path.parent() {
            fs::create_dir_all(around).map_err(system("create"))?;
        }
        let mut file = OpenOptions::new().write(true).create_new(true).open(&path).map_err(system("create"))?;
        let mut sum = Sha256::new();
        inflate(archive, entry, |bytes| {
            sum.update(bytes);
            file.write_all(bytes).map_err(system("write"))
        })?;
        found.insert(entry.name.path.as_str(), (entry, Sum::from(sum.finalize())));
    }
    check_sums(archive, &found)
}

/// Every file but the list itself is in `SHA256SUMS` with its sum, and nothing else is.
fn check_sums<R: ReaderAt>(
    archive: &Archive<R>,
    found: &BTreeMap<&str, (&ArchiveEntry, Sum)>,
) -> Result<(), BundleFault> {
    let list = archive.find(SUMS).ok_or_else(|| BundleFault::whole("lacks the checksums"))?;
    let wrong = |why: EntryRefused| BundleFault::entry(list.name.whole().as_bytes(), why);
    let listed = sums::parse(&text(archive, list)?).map_err(wrong)?;
    for (path, (entry, sum)) in found.iter().filter(|(path, _)| **path != SUMS) {
        match listed.get(*path) {
            Some(listed) if listed == sum => {}
            Some(_) => {
                let why = format!("is not what {SUMS} says: it was changed or damaged on the way");
                return Err(BundleFault::entry(entry.name.whole().as_bytes(), why));
            }
            None => return Err(BundleFault::entry(entry.name.whole().as_bytes(), format!("is not in {SUMS}"))),
        }
    }
    match listed.keys().find(|path| !found.contains_key(path.as_str()) || *path == SUMS) {
        Some(path) => Err(wrong(format!("names `{}`, which is not there", super::name::shown(path)).into())),
        None => Ok(()),
    }
}

/// The bytes of an entry that is a text.
pub(super) fn text<R: ReaderAt>(archive: &Archive<R>, entry: &ArchiveEntry) -> Result<Vec<u8>, BundleFault> {
    let mut text = Vec::with_capacity(entry.size.min(LARGEST_TEXT) as usize);
    inflate(archive, entry, |bytes| {
        text.extend_from_slice(bytes);
        Ok(())
    })?;
    Ok(text)
}

/// Gives the bytes of an entry to `take` as they come out, exactly as many as stated.
fn inflate<R: ReaderAt>(
    archive: &Archive<R>,
    entry: &ArchiveEntry,
    mut take: impl FnMut(&[u8]) -> Result<(), BundleFault>,
) -> Result<(), BundleFault> {
    let wrong = |why: &str| BundleFault::entry(entry.name.whole().as_bytes(), why);
    let found = archive.zip.get_entry(entry.way).map_err(|_| wrong("does not lie where the directory says"))?;
    let packed = BufReader::with_capacity(PIECE, found.reader());
    let mut source = match entry.method {
        Method::Stored => EntrySource::Stored(packed),
        Method::Deflated => EntrySource::Deflated(DeflateDecoder::new(packed)),
    };
    let trap = entry.packed.saturating_mul(MOST_TIMES).max(SMALL);
    let (mut crc, mut size, mut piece) = (Crc32::new(), 0_u64, vec![0; PIECE]);
    loop {
        let read = match source.read(&mut piece) {
            Ok(read) => read,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            // What cannot be inflated is told by these kinds, others are the disk's.
            Err(error) if matches!(error.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::InvalidData) => {
                return Err(wrong("cannot be unpacked: it is damaged"));
            }
            Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => {
                return Err(wrong("cannot be unpacked: it breaks off"));
            }
            Err(error) => return Err(BundleFault::Read(error)),
        };
        let Some(bytes) = piece.get(..read).filter(|bytes| !bytes.is_empty()) else { break };
        size += read as u64;
        if size > entry.size {
            return Err(wrong(&format!("becomes more than the {} bytes stated", entry.size)));
        }
        if size > trap {
            return Err(wrong(&format!("becomes more than {MOST_TIMES} times as large, as nothing in a pack does")));
        }
        crc.update(bytes);
        take(bytes)?;
    }
    if size != entry.size {
        return Err(wrong(&format!("becomes {size} bytes instead of the {} stated", entry.size)));
    }
    if let EntrySource::Deflated(decoder) = &source
        && decoder.total_in() != entry.packed
    {
        return Err(wrong("hides bytes behind what is unpacked"));
    }
    if crc.checksum() != entry.crc {
        return Err(wrong("is not what its CRC says: it was damaged on the way"));
    }
    Ok(())
}

enum EntrySource<R: io::BufRead> {
    Stored(R),
    Deflated(DeflateDecoder<R>),
}

impl<R: io::BufRead> Read for EntrySource<R> {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::Stored(source) => source.read(bytes),
            Self::Deflated(decoder) => decoder.read(bytes),
        }
    }
}
