//! How the entries of a bundle lie in its file: every byte belongs to one of them, and the two places that describe an
//! entry agree.
//!
//! Readers of ZIP differ in what they believe: the directory at the end, the header before each entry, the first of two
//! names or the last. A bundle that two readers could understand differently is refused, and so is whatever a pack has no
//! use for. Layout and field names follow PKWARE's APPNOTE.TXT 6.3.10. What comes out of an entry is not looked at here.

use super::fault::{BundleFault, MOST_BYTES, MOST_ENTRIES};
use super::name;
use super::name::{EntryKind, EntryName, EntryRefused};
use rawzip::extra_fields::{ExtraFieldId, ExtraFields};
use rawzip::{CompressionMethod, EntryFlags, ErrorKind, RECOMMENDED_BUFFER_SIZE, ReaderAt, ZipArchive};
use rawzip::{ZipArchiveEntryWayfinder, ZipFileHeaderRecord, ZipLocalFileHeader, ZipLocator};
use std::collections::BTreeMap;

/// The record at the end of a ZIP without a comment, in bytes.
const END: u64 = 22;
/// A record of the directory without its texts, in bytes.
const RECORD: u64 = 46;
/// The record behind an entry whose header left its size open, in bytes, without and with its mark.
const DESCRIPTOR: [u64; 2] = [12, 16];
/// The largest names and extra fields of one header, in bytes.
const LOCAL: usize = 4_096;

/// Bits of an entry's flags that a pack may have: how hard it was deflated (1, 2), sizes behind it (3), names in UTF-8 (11).
const FLAGS: u16 = 0b1000_0000_1110;
/// Attributes of DOS that a file may have: read-only, hidden, system, folder, archive, normal.
const ATTRIBUTES: u32 = 0b1011_0111;
const FOLDER: u32 = 0b1_0000;

/// How an entry is packed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Method {
    Stored,
    Deflated,
}

/// An entry that lies as it should.
#[derive(Debug)]
pub(super) struct ArchiveEntry {
    pub name: EntryName,
    pub method: Method,
    pub way: ZipArchiveEntryWayfinder,
    /// The CRC-32 stated.
    pub crc: u32,
    /// The size stated.
    pub size: u64,
    /// The bytes it takes in the file.
    pub packed: u64,
    raw: Vec<u8>,
    flags: EntryFlags,
    offset: u64,
}

/// A bundle whose entries are known, and lie as they should.
pub(super) struct Archive<R> {
    pub zip: ZipArchive<R>,
    /// The pack's name.
    pub pack: String,
    /// In the order in which they lie.
    pub entries: Vec<ArchiveEntry>,
}

/// The record at the end: where the directory lies.
struct End {
    entries: usize,
    directory: u64,
    at: u64,
}

impl<R: ReaderAt> Archive<R> {
    /// Reads where the entries lie in a file of `len` bytes.
    pub fn read(reader: R, len: u64) -> Result<Self, BundleFault> {
        if len > MOST_BYTES {
            return Err(BundleFault::whole(format!("has {len} bytes; a bundle has at most {} MiB", MOST_BYTES >> 20)));
        }
        let mut buffer = vec![0; RECOMMENDED_BUFFER_SIZE];
        let end = End::read(&reader, len, &mut buffer)?;
        let zip = ZipLocator::new().locate_in_reader(reader, &mut buffer, len).map_err(|(_, error)| fault(error))?;
        let mut entries = Vec::new();
        let mut at = end.directory;
        let mut records = zip.entries(&mut buffer);
        while let Some(record) = records.next_entry().map_err(fault)? {
            if record.central_directory_offset() != at || entries.len() == end.entries {
                return Err(BundleFault::whole("has a directory with something between its entries, or behind them"));
            }
            let texts = [
                record.file_path().as_bytes().len(),
                record.extra_fields().remaining_bytes().len(),
                record.comment().as_bytes().len(),
            ];
            at += RECORD + texts.iter().sum::<usize>() as u64;
            entries.push(ArchiveEntry::of(&record)?);
        }
        if at != end.at || entries.len() != end.entries {
            let told = end.entries;
            return Err(BundleFault::whole(format!("says that it has {told} entries, but has {}", entries.len())));
        }
        let pack = agree(&entries)?;
        entries.sort_by_key(|entry| entry.offset);
        let archive = Self { zip, pack, entries };
        archive.check_layout(end.directory)?;
        Ok(archive)
    }

    /// The entry at a path below the pack's folder.
    pub fn find(&self, path: &str) -> Option<&ArchiveEntry> {
        self.entries.iter().find(|entry| entry.name.path == path && entry.name.kind != EntryKind::Folder)
    }

    /// From the first byte to the directory each belongs to one entry, and each entry's header says what the directory says.
    fn check_layout(&self, directory: u64) -> Result<(), BundleFault> {
        let mut buffer = vec![0; LOCAL];
        let ends = self.entries.iter().skip(1).map(|entry| entry.offset).chain([directory]);
        let mut free = 0;
        for (entry, end) in self.entries.iter().zip(ends) {
            let wrong = |why: &str| BundleFault::entry(&entry.raw, why);
            if entry.offset != free {
                return Err(wrong("does not begin where the entry before it ends: something lies in front of it"));
            }
            let found = self.zip.get_entry(entry.way).map_err(|error| fault_in(entry, error))?;
            let local = found.local_header(&mut buffer).map_err(|error| fault_in(entry, error))?;
            entry.check_local(&local)?;
            let (_, stop) = found.compressed_data_range();
            let behind = end.checked_sub(stop).ok_or_else(|| wrong("overlaps what lies behind it"))?;
            if !entry.flags.has_data_descriptor() {
                if behind != 0 {
                    return Err(wrong("is followed by bytes that belong to nothing"));
                }
            } else if !self.describes(entry, stop, behind)? {
                return Err(wrong("is described differently in the directory and behind it"));
            }
            free = end;
        }
        Ok(())
    }

    /// Whether the record of `len` bytes behind an entry says what the directory says.
    fn describes(&self, entry: &ArchiveEntry, at: u64, len: u64) -> Result<bool, BundleFault> {
        let mut bytes = [0; 16];
        let Some(found) = usize::try_from(len).ok().and_then(|len| bytes.get_mut(..len)) else { return Ok(false) };
        if !DESCRIPTOR.contains(&len) {
            return Ok(false);
        }
        self.zip.get_ref().read_exact_at(found, at).map_err(BundleFault::Read)?;
        let numbers: Vec<u32> = found.chunks_exact(4).map(|four| little(four) as u32).collect();
        let wanted = [entry.crc, entry.packed as u32, entry.size as u32];
        Ok(match numbers.as_slice() {
            [mark, rest @ ..] if rest.len() == 3 => *mark == 0x0807_4b50 && *rest == wanted,
            all => *all == wanted,
        })
    }
}

impl End {
    fn read<R: ReaderAt>(reader: &R, len: u64, buffer: &mut [u8]) -> Result<Self, BundleFault> {
        let not_zip = || BundleFault::whole("is no ZIP file, or not the whole of one: copy it again");
        let at = len.checked_sub(END).ok_or_else(not_zip)?;
        let mut bytes = [0; END as usize];
        reader.read_exact_at(&mut bytes, at).map_err(BundleFault::Read)?;
        if !bytes.starts_with(b"PK\x05\x06") {
            return Err(match ZipLocator::new().locate_in_reader(reader, buffer, len) {
                Ok(found) => {
                    let more = at.saturating_sub(found.eocd_offset());
                    BundleFault::whole(format!("goes on for {more} bytes behind its end"))
                }
                Err(_) => not_zip(),
            });
        }
        let field = |at: usize, len: usize| bytes.get(at..at + len).map_or(0, little);
        let [disk, first_disk, here, entries] = [4, 6, 8, 10].map(|at| field(at, 2));
        let [size, directory] = [12, 16].map(|at| field(at, 4));
        let mut locator = [0; 4];
        if let Some(at) = at.checked_sub(20) {
            reader.read_exact_at(&mut locator, at).map_err(BundleFault::Read)?;
        }
        if locator == *b"PK\x06\x07" || entries == 0xffff || size == 0xffff_ffff || directory == 0xffff_ffff {
            return Err(BundleFault::whole("uses ZIP64, for which a pack is too small"));
        }
        if field(20, 2) != 0 {
            return Err(BundleFault::whole("ends before its comment: copy it again"));
        }
        if disk != 0 || first_disk != 0 || here != entries {
            return Err(BundleFault::whole("is a part of several files"));
        }
        if entries == 0 {
            return Err(BundleFault::whole("holds nothing"));
        }
        if entries > MOST_ENTRIES as u64 {
            return Err(BundleFault::whole(format!("has {entries} entries; a bundle has at most {MOST_ENTRIES}")));
        }
        if directory + size != at {
            return Err(BundleFault::whole("has something in front of it, or between its directory and its end"));
        }
        Ok(Self { entries: entries as usize, directory, at })
    }
}

impl ArchiveEntry {
    /// An entry as the directory describes it.
    fn of(record: &ZipFileHeaderRecord<'_>) -> Result<Self, BundleFault> {
        let raw = record.file_path().as_bytes();
        let wrong = |why: EntryRefused| BundleFault::entry(raw, why);
        let name = EntryName::parse(raw).map_err(wrong)?;
        check_flags(record.flags()).map_err(|why| wrong(why.into()))?;
        let method = method(record.compression_method()).map_err(wrong)?;
        check_attributes(record.external_attributes(), name.kind == EntryKind::Folder)
            .map_err(|why| wrong(why.into()))?;
        check_extra(record.extra_fields()).map_err(wrong)?;
        if !record.comment().as_bytes().is_empty() {
            return Err(wrong("has a comment, for which a pack has no use".into()));
        }
        let (size, packed, most) = (record.uncompressed_size_hint(), record.compressed_size_hint(), name.kind.most());
        if size > most {
            return Err(wrong(format!("has {size} bytes; such an entry has at most {most}").into()));
        }
        if name.kind == EntryKind::Folder && (packed, method, record.crc32()) != (0, Method::Stored, 0) {
            return Err(wrong("is a folder and holds bytes of its own".into()));
        }
        if method == Method::Stored && packed != size {
            return Err(wrong(format!("is stored as it is, but {packed} bytes are to become {size}").into()));
        }
        let (flags, offset, way) = (record.flags(), record.local_header_offset(), record.wayfinder());
        Ok(Self { name, method, way, crc: record.crc32(), size, packed, raw: raw.to_vec(), flags, offset })
    }

    /// The header before an entry says what the directory says. Sizes that were not known when it was written are 0 there.
    fn check_local(&self, local: &ZipLocalFileHeader<'_>) -> Result<(), BundleFault> {
        let open = self.flags.has_data_descriptor();
        let same = |here: u64, there: u64| here == there || (open && here == 0);
        let agree = local.file_path().as_bytes() == self.raw.as_slice()
            && local.flags() == self.flags
            && method(local.compression_method()).is_ok_and(|method| method == self.method)
            && same(local.crc32().into(), self.crc.into())
            && same(local.compressed_size_hint(), self.packed)
            && same(local.uncompressed_size_hint(), self.size);
        if !agree {
            let there = local.file_path();
            let there = name::shown(&String::from_utf8_lossy(there.as_bytes()));
            let why = format!("is described differently in the directory and in front of it, where it is `{there}`");
            return Err(BundleFault::entry(&self.raw, why));
        }
        check_extra(local.extra_fields()).map_err(|why| BundleFault::entry(&self.raw, why))
    }
}

/// All entries lie in one folder, under names that are different ones everywhere. Gives the folder's name.
fn agree(entries: &[ArchiveEntry]) -> Result<String, BundleFault> {
    let pack = entries.first().map(|entry| entry.name.pack.clone()).unwrap_or_default();
    let (mut seen, mut total) = (BTreeMap::new(), 0_u64);
    for entry in entries {
        if entry.name.pack != pack {
            return Err(BundleFault::entry(
                &entry.raw,
                format!("does not lie in `{pack}` as others do: a bundle is one pack"),
            ));
        }
        // Names are ASCII: no other letters look or sort alike, and no two forms of one letter are left.
        match seen.insert(entry.name.path.to_ascii_lowercase(), &entry.name.path) {
            Some(other) if *other == entry.name.path => return Err(BundleFault::entry(&entry.raw, "is there twice")),
            Some(other) => {
                let why = format!("differs from `{pack}/{other}` only in capital letters, which some systems ignore");
                return Err(BundleFault::entry(&entry.raw, why));
            }
            None => {}
        }
        total += entry.size;
        if total > MOST_BYTES {
            return Err(BundleFault::whole(format!("becomes more than {} MiB", MOST_BYTES >> 20)));
        }
    }
    for (path, what) in [(crate::pack::manifest::FILE, "manifest"), (name::SUMS, "checksums")] {
        if !entries.iter().any(|entry| entry.name.path == path && entry.name.kind != EntryKind::Folder) {
            return Err(BundleFault::whole(format!("lacks the {what}, `{pack}/{path}`")));
        }
    }
    Ok(pack)
}

fn check_flags(flags: EntryFlags) -> Result<(), &'static str> {
    if flags.is_encrypted() || flags.has_strong_encryption() || flags.is_masked() {
        return Err("is encrypted");
    }
    if flags.bits() & !FLAGS != 0 { Err("has flags for which a pack has no use") } else { Ok(()) }
}

fn method(method: CompressionMethod) -> Result<Method, EntryRefused> {
    match method {
        CompressionMethod::STORE => Ok(Method::Stored),
        CompressionMethod::DEFLATE => Ok(Method::Deflated),
        other => {
            Err(format!("is packed by method {}; only stored and deflated entries are read", other.as_u16()).into())
        }
    }
}

/// What kind of file an entry says that it is. The upper half is the mode of Unix whatever the entry says of its maker:
/// there are readers that take it so.
fn check_attributes(attributes: u32, folder: bool) -> Result<(), &'static str> {
    let mode = attributes >> 16;
    match (mode >> 12, folder) {
        (0 | 0o4, true) | (0 | 0o10, false) => {}
        (0o12, _) => return Err("is a symbolic link"),
        (0o4, false) | (0o10, true) => return Err("is both a file and a folder, by its name and by its mode"),
        _ => return Err("is neither a file nor a folder: a device, a pipe or the like"),
    }
    if mode & 0o7000 != 0 {
        return Err("would run with the rights of somebody else");
    }
    let dos = attributes & 0xffff;
    if dos & !ATTRIBUTES != 0 || (!folder && dos & FOLDER != 0) {
        return Err("has attributes that no plain file or folder has");
    }
    Ok(())
}

/// Extra fields hold times and owners, which are not used; others could give an entry another name, size or secret.
fn check_extra(mut fields: ExtraFields<'_>) -> Result<(), EntryRefused> {
    for (id, _) in fields.by_ref() {
        match id {
            ExtraFieldId::EXTENDED_TIMESTAMP
            | ExtraFieldId::NTFS
            | ExtraFieldId::INFO_ZIP_UNIX_ORIGINAL
            | ExtraFieldId::INFO_ZIP_UNIX
            | ExtraFieldId::INFO_ZIP_UNIX_UID_GID => {}
            ExtraFieldId::ZIP64 => return Err("uses ZIP64, for which a pack is too small".into()),
            ExtraFieldId::INFO_ZIP_UNICODE_PATH => return Err("has a second name".into()),
            other => {
                return Err(format!("has an extra field {:#06x}, for which a pack has no use", other.as_u16()).into());
            }
        }
    }
    if fields.remaining_bytes().is_empty() { Ok(()) } else { Err("has a broken extra field".into()) }
}

/// A number in the order of bytes that ZIP uses.
fn little(bytes: &[u8]) -> u64 {
    bytes.iter().rev().fold(0, |number, byte| number << 8 | u64::from(*byte))
}

fn fault(error: rawzip::Error) -> BundleFault {
    match error.into_kind() {
        ErrorKind::IO(error) if error.kind() != std::io::ErrorKind::UnexpectedEof => BundleFault::Read(error),
        ErrorKind::BufferTooSmall { required } => {
            BundleFault::whole(format!("describes an entry in {required} bytes, which no pack needs"))
        }
        _ => BundleFault::whole("is not the whole of a ZIP file, or its directory is broken: copy it again"),
    }
}

fn fault_in(entry: &ArchiveEntry, error: rawzip::Error) -> BundleFault {
    match error.into_kind() {
        ErrorKind::IO(error) if error.kind() != std::io::ErrorKind::UnexpectedEof => BundleFault::Read(error),
        ErrorKind::BufferTooSmall { required } => {
            BundleFault::entry(&entry.raw, format!("has a header of {required} bytes, which no pack needs"))
        }
        _ => BundleFault::entry(&entry.raw, "does not lie where the directory says"),
    }
}
