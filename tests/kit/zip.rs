//! A writer of ZIP files, byte by byte after PKWARE's APPNOTE.TXT, that also writes what no honest tool does. It shares no
//! code with the program.

#![allow(dead_code, reason = "each test binary uses its part")]

use flate2::Compression;
use flate2::write::DeflateEncoder;
use sha2::{Digest, Sha256};
use std::io::Write;

/// An entry as it is to be written; every field may lie.
#[derive(Clone, Debug)]
pub struct Entry {
    pub name: Vec<u8>,
    /// The name in the header before the data.
    pub local_name: Vec<u8>,
    pub method: u16,
    /// The bytes that lie in the file.
    pub packed: Vec<u8>,
    pub crc: u32,
    /// The size stated in the directory.
    pub size: u32,
    /// The size stated before the data.
    pub local_size: u32,
    pub flags: u16,
    pub attributes: u32,
    pub extra: Vec<u8>,
    pub comment: Vec<u8>,
    /// What lies behind the data.
    pub behind: Vec<u8>,
    /// Where the directory says that it begins, if not where it does.
    pub offset: Option<u32>,
}

impl Entry {
    pub fn stored(name: impl AsRef<[u8]>, bytes: impl AsRef<[u8]>) -> Self {
        let (name, bytes) = (name.as_ref().to_vec(), bytes.as_ref().to_vec());
        let size = bytes.len() as u32;
        Self {
            local_name: name.clone(),
            name,
            method: 0,
            crc: crc(&bytes),
            packed: bytes,
            size,
            local_size: size,
            flags: 0,
            attributes: 0o100_644 << 16,
            extra: Vec::new(),
            comment: Vec::new(),
            behind: Vec::new(),
            offset: None,
        }
    }

    pub fn deflated(name: impl AsRef<[u8]>, bytes: impl AsRef<[u8]>) -> Self {
        let mut encoder = DeflateEncoder::new(Vec::new(), Compression::best());
        encoder.write_all(bytes.as_ref()).unwrap();
        Self { method: 8, packed: encoder.finish().unwrap(), ..Self::stored(name, bytes) }
    }

    fn fields(&self, size: u32) -> Vec<u8> {
        let mut bytes = [20, self.flags, self.method, 0, 0x21].map(u16::to_le_bytes).concat();
        bytes.extend([self.crc, self.packed.len() as u32, size].map(u32::to_le_bytes).concat());
        bytes
    }

    fn local(&self) -> Vec<u8> {
        let mut bytes = b"PK\x03\x04".to_vec();
        bytes.extend(self.fields(self.local_size));
        bytes.extend([self.local_name.len() as u16, self.extra.len() as u16].map(u16::to_le_bytes).concat());
        bytes.extend([self.local_name.as_slice(), &self.extra, &self.packed, &self.behind].concat());
        bytes
    }

    fn central(&self, offset: u32) -> Vec<u8> {
        let mut bytes = b"PK\x01\x02\x14\x03".to_vec();
        bytes.extend(self.fields(self.size));
        let lens = [self.name.len(), self.extra.len(), self.comment.len(), 0, 0].map(|len| (len as u16).to_le_bytes());
        bytes.extend(lens.concat());
        bytes.extend([self.attributes, self.offset.unwrap_or(offset)].map(u32::to_le_bytes).concat());
        bytes.extend([self.name.as_slice(), &self.extra, &self.comment].concat());
        bytes
    }
}

/// A file as it is to be written.
#[derive(Clone, Debug, Default)]
pub struct Zip {
    pub entries: Vec<Entry>,
    /// What lies in front of everything; `shifted` tells whether the offsets count it.
    pub front: Vec<u8>,
    pub shifted: bool,
    /// What lies between the entries and the directory, and between the directory and the end.
    pub between: Vec<u8>,
    pub before_end: Vec<u8>,
    /// What is counted as entries, if not their number.
    pub count: Option<u16>,
    pub disk: u16,
    pub comment: Vec<u8>,
    /// What follows the end.
    pub junk: Vec<u8>,
}

impl Zip {
    pub fn bytes(&self) -> Vec<u8> {
        let mut bytes = self.front.clone();
        let shift = if self.shifted { 0 } else { bytes.len() };
        let mut central = Vec::new();
        for entry in &self.entries {
            central.extend(entry.central((bytes.len() - shift) as u32));
            bytes.extend(entry.local());
        }
        bytes.extend(&self.between);
        let directory = (bytes.len() - shift) as u32;
        bytes.extend(&central);
        bytes.extend(&self.before_end);
        let count = self.count.unwrap_or(self.entries.len() as u16);
        bytes.extend(b"PK\x05\x06");
        bytes.extend([self.disk, 0, count, count].map(u16::to_le_bytes).concat());
        bytes.extend([central.len() as u32, directory].map(u32::to_le_bytes).concat());
        bytes.extend((self.comment.len() as u16).to_le_bytes());
        bytes.extend([self.comment.as_slice(), &self.junk].concat());
        bytes
    }

    /// The entry of a name that ends so.
    pub fn entry(&mut self, end: &str) -> &mut Entry {
        let found = self.entries.iter_mut().find(|entry| entry.name.ends_with(end.as_bytes()));
        found.unwrap_or_else(|| panic!("no entry {end}"))
    }

    /// Puts an entry behind the others.
    pub fn with(mut self, entry: Entry) -> Self {
        self.entries.push(entry);
        self
    }
}

/// A pack as honest tools would zip it, with its sums: a name below the pack's folder and the bytes for each file.
pub fn pack(name: &str, files: &[(&str, Vec<u8>)]) -> Zip {
    let sums: String = files.iter().map(|(path, bytes)| format!("{}  {path}\n", sum(bytes))).collect();
    let entries = files.iter().map(|(path, bytes)| Entry::deflated(format!("{name}/{path}"), bytes));
    let entries = entries.chain([Entry::stored(format!("{name}/SHA256SUMS"), sums)]).collect();
    Zip { entries, ..Zip::default() }
}

pub fn sum(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// CRC-32 of ISO 3309, bit by bit.
pub fn crc(bytes: &[u8]) -> u32 {
    let step = |crc: u32, byte: &u8| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| (crc >> 1) ^ (0xedb8_8320 & (crc & 1).wrapping_neg()))
    };
    !bytes.iter().fold(!0, step)
}

/// A recording: WAV, one channel of 16 bit at 24 kHz, of a tone with some noise in it.
pub fn wav(frames: u32, hertz: f64) -> Vec<u8> {
    let mut bytes = b"RIFF".to_vec();
    bytes.extend((36 + frames * 2).to_le_bytes());
    bytes.extend(b"WAVEfmt \x10\0\0\0\x01\0\x01\0");
    bytes.extend([24_000_u32, 48_000].map(u32::to_le_bytes).concat());
    bytes.extend(b"\x02\0\x10\0data");
    bytes.extend((frames * 2).to_le_bytes());
    let mut noise = 12_345_u32;
    for frame in 0..frames {
        noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let tone = libm::sin(f64::from(frame) * hertz * std::f64::consts::TAU / 24_000.0) * 8_000.0;
        bytes.extend((tone as i16 + (noise >> 24) as i16).to_le_bytes());
    }
    bytes
}
