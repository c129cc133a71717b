//! WAV files: 16-bit stereo or mono, markers at the end, RF64 (EBU Tech 3306) where 4 GiB do not suffice.
//!
//! The length is known before the first frame, so the header is final when it is written: nothing is patched, and a
//! player that knows only the plain 44-byte header gets exactly that whenever the file fits it. Tags are not written, and
//! clips are not read here.

use super::Sink;
use super::spec::{FAMILY, Promised, SOFTWARE, Spec};
use crate::mixer::sample::{Frame, to_mono};
use std::io::{self, Read, Seek, SeekFrom, Write};

/// Bytes handed to the system at once: large enough to make calls rare, small enough to stay in a core's cache.
const CHUNK: usize = 1 << 18;

/// A WAV on its way into a writer.
#[derive(Debug)]
pub struct Wav<W> {
    out: W,
    mono: bool,
    left: Promised,
    tail: Vec<u8>,
    buffer: Vec<u8>,
}

impl<W: Write> Wav<W> {
    /// Writes the header.
    ///
    /// # Errors
    /// Those of the writer.
    pub fn begin(mut out: W, spec: &Spec) -> io::Result<Self> {
        let tail = tail(spec);
        out.write_all(&header(spec, tail.len() as u64))?;
        Ok(Self { out, mono: spec.mono, left: Promised::of(spec), tail, buffer: Vec::with_capacity(CHUNK) })
    }

    /// Writes what comes after the sound, and gives the writer back.
    ///
    /// # Errors
    /// Those of the writer; `InvalidData` where fewer frames came than the header promises.
    pub fn finish(mut self) -> io::Result<W> {
        self.left.kept()?;
        self.flush()?;
        self.out.write_all(&self.tail)?;
        self.out.flush()?;
        Ok(self.out)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.write_all(&self.buffer)?;
        self.buffer.clear();
        Ok(())
    }
}

impl<W: Write> Sink for Wav<W> {
    type Error = io::Error;

    fn sound(&mut self, frames: &[Frame]) -> io::Result<()> {
        self.left.take(frames.len() as u64)?;
        for frames in frames.chunks(CHUNK / 8) {
            if self.mono {
                self.buffer.extend(frames.iter().flat_map(|frame| to_mono(*frame).to_le_bytes()));
            } else {
                let start = self.buffer.len();
                self.buffer.resize(start + 4 * frames.len(), 0);
                let (_, bytes) = self.buffer.split_at_mut(start);
                for (bytes, [left, right]) in bytes.chunks_exact_mut(4).zip(frames) {
                    let pair = u32::from(*left as u16) | u32::from(*right as u16) << 16;
                    bytes.copy_from_slice(&pair.to_le_bytes());
                }
            }
            if self.buffer.len() >= CHUNK / 2 {
                self.flush()?;
            }
        }
        Ok(())
    }

    fn silence(&mut self, frames: u64) -> io::Result<()> {
        static ZEROS: [u8; CHUNK] = [0; CHUNK];
        self.left.take(frames)?;
        let mut left = frames * if self.mono { 2 } else { 4 };
        if self.buffer.len() as u64 + left < CHUNK as u64 / 2 {
            self.buffer.resize(self.buffer.len() + left as usize, 0);
            return Ok(());
        }
        self.flush()?;
        while left > 0 {
            let bytes = left.min(CHUNK as u64);
            self.out.write_all(ZEROS.get(..bytes as usize).unwrap_or(&ZEROS))?;
            left -= bytes;
        }
        Ok(())
    }
}

/// The identity of our own render, from its `LIST/INFO` chunk.
///
/// # Errors
/// Where the file ends early or cannot be read.
pub fn identity(mut file: impl Read + Seek) -> io::Result<Option<String>> {
    let end = file.seek(SeekFrom::End(0))?;
    file.seek(SeekFrom::Start(0))?;
    let mut riff = [0; 12];
    file.read_exact(&mut riff)?;
    let [a, b, c, d, .., e, f, g, h] = riff;
    if !matches!(&[a, b, c, d], b"RIFF" | b"RF64") || &[e, f, g, h] != b"WAVE" {
        return Ok(None);
    }
    let mut at = 12;
    let mut long_data = None;
    while at + 8 <= end {
        file.seek(SeekFrom::Start(at))?;
        let (name, size) = head(&mut file)?;
        let size = match (&name, long_data) {
            (b"data", Some(bytes)) if size == u32::MAX => bytes,
            _ => u64::from(size),
        };
        match &name {
            b"ds64" => {
                let mut sizes = [0; 16];
                file.read_exact(&mut sizes)?;
                long_data = sizes.last_chunk().map(|bytes| u64::from_le_bytes(*bytes));
            }
            // An INFO of ours is short; anything longer is somebody else's.
            b"LIST" if size <= 1 << 16 => {
                let mut list = vec![0; size as usize];
                file.read_exact(&mut list)?;
                if let Some(entries) = list.strip_prefix(b"INFO") {
                    let [software, comment] = [*b"ISFT", *b"ICMT"].map(|wanted| entry(entries, wanted));
                    let ours = software.is_some_and(|software| software.starts_with(FAMILY));
                    return Ok(comment.filter(|_| ours));
                }
            }
            _ => {}
        }
        at = at.saturating_add(8).saturating_add(size).saturating_add(size & 1);
    }
    Ok(None)
}

fn head(file: &mut impl Read) -> io::Result<([u8; 4], u32)> {
    let (mut name, mut size) = ([0; 4], [0; 4]);
    file.read_exact(&mut name)?;
    file.read_exact(&mut size)?;
    Ok((name, u32::from_le_bytes(size)))
}

fn entry(mut entries: &[u8], wanted: [u8; 4]) -> Option<String> {
    while let Ok((name, size)) = head(&mut entries) {
        let text = entries.get(..size as usize)?;
        if name == wanted {
            return String::from_utf8(text.to_vec()).ok().map(|text| text.trim_end_matches('\0').to_owned());
        }
        entries = entries.get(size as usize + (size & 1) as usize..)?;
    }
    None
}

/// Everything before the first sample: 44 bytes, or 80 where a size needs 64 bits.
fn header(spec: &Spec, tail: u64) -> Vec<u8> {
    let channels = if spec.mono { 1_u16 } else { 2 };
    let align = channels * 2;
    let data = spec.frames * u64::from(align);
    let riff = 36 + data + tail;
    let mut bytes = Vec::with_capacity(80);
    let short = u32::try_from(riff).ok().zip(u32::try_from(data).ok());
    match short {
        Some((riff, _)) => {
            bytes.extend(b"RIFF");
            bytes.extend(riff.to_le_bytes());
            bytes.extend(b"WAVE");
        }
        None => {
            bytes.extend(b"RF64\xff\xff\xff\xffWAVEds64");
            bytes.extend(28_u32.to_le_bytes());
            bytes.extend((riff + 36).to_le_bytes());
            bytes.extend(data.to_le_bytes());
            bytes.extend(spec.frames.to_le_bytes());
            bytes.extend(0_u32.to_le_bytes());
        }
    }
    bytes.extend(b"fmt ");
    bytes.extend(16_u32.to_le_bytes());
    bytes.extend(1_u16.to_le_bytes());
    bytes.extend(channels.to_le_bytes());
    bytes.extend(spec.rate.hertz().to_le_bytes());
    bytes.extend((spec.rate.hertz() * u32::from(align)).to_le_bytes());
    bytes.extend(align.to_le_bytes());
    bytes.extend(16_u16.to_le_bytes());
    bytes.extend(b"data");
    bytes.extend(short.map_or(u32::MAX, |(_, data)| data).to_le_bytes());
    bytes
}

/// Everything after the last sample: places, their labels, and whose file this is.
fn tail(spec: &Spec) -> Vec<u8> {
    let places: Vec<(u32, u32, &str)> = (1..)
        .zip(&spec.markers)
        .filter_map(|(id, marker)| Some((id, u32::try_from(marker.frame).ok()?, marker.label.as_str())))
        .collect();
    let mut bytes = Vec::new();
    if !places.is_empty() {
        let mut cues = (places.len() as u32).to_le_bytes().to_vec();
        let mut labels = b"adtl".to_vec();
        for (id, frame, label) in places {
            for field in [id.to_le_bytes(), frame.to_le_bytes(), *b"data", [0; 4], [0; 4], frame.to_le_bytes()] {
                cues.extend(field);
            }
            let mut text = id.to_le_bytes().to_vec();
            text.extend(terminated(label));
            chunk(&mut labels, *b"labl", &text);
        }
        chunk(&mut bytes, *b"cue ", &cues);
        chunk(&mut bytes, *b"LIST", &labels);
    }
    let mut info = b"INFO".to_vec();
    let track = spec.tags.track.map(|(number, of)| format!("{number}/{of}")).unwrap_or_default();
    // Title, product (which readers show as the album) and track, as far as there is one.
    for (name, text) in [(*b"INAM", &spec.tags.title), (*b"IPRD", &spec.tags.album), (*b"ITRK", &track)] {
        if !text.is_empty() {
            chunk(&mut info, name, &terminated(text));
        }
    }
    chunk(&mut info, *b"ISFT", &terminated(SOFTWARE));
    chunk(&mut info, *b"ICMT", &terminated(&spec.identity));
    chunk(&mut bytes, *b"LIST", &info);
    bytes
}

fn terminated(text: &str) -> Vec<u8> {
    text.bytes().filter(|byte| *byte != 0).chain([0]).collect()
}

/// Appends a chunk; an odd one is padded, which its size does not count.
fn chunk(bytes: &mut Vec<u8>, name: [u8; 4], content: &[u8]) {
    bytes.extend(name);
    bytes.extend((content.len() as u32).to_le_bytes());
    bytes.extend(content);
    if content.len() % 2 == 1 {
        bytes.push(0);
    }
}

#[cfg(test)]
mod tests;
