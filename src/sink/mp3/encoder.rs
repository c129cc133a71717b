//! The MP3 itself: constant bit rate, gapless, encoded side by side.
//!
//! Only the stretches of sound go through LAME, some of them together to one encoder (`stretches`); the frames between are
//! all the same one. The first frame, the Info tag, is known only at the end and is written over a placeholder then.

use super::super::Sink;
use super::super::crew::Crew;
use super::super::spec::{Promised, Spec};
use super::lame::{Lame, other};
use super::stretches::{Chunk, Stretches};
use super::{info, tag};
use crate::mixer::sample::Frame;
use std::io::{self, Seek, SeekFrom, Write};

/// Silent frames written at once.
const RUN: usize = 128;

/// An MP3 on its way into a writer.
#[derive(Debug)]
pub struct Mp3<W> {
    out: W,
    lame: Lame,
    /// How many frames of sound, and how many of them are still to come.
    frames: u64,
    left: Promised,
    stretches: Stretches,
    encoding: Crew<Chunk, io::Result<Vec<EncodedPart>>>,
    /// The Info tag and its place.
    info: Vec<u8>,
    at: u64,
    /// [`RUN`] frames of silence.
    silent: Vec<u8>,
    bytes: u64,
    sum: u16,
}

#[derive(Debug)]
enum EncodedPart {
    Silent(u64),
    Frames(Vec<u8>),
}

impl<W: Write + Seek> Mp3<W> {
    /// Writes everything before the sound.
    ///
    /// # Errors
    /// Those of the writer; where the format cannot do what is asked for.
    pub fn begin(mut out: W, spec: &Spec) -> io::Result<Self> {
        let lame = Lame::new(spec)?;
        let (silent, info) = lame.silent_and_info()?;
        out.write_all(&tag::block(spec)?)?;
        let at = out.stream_position()?;
        out.write_all(&info)?;
        let silent = silent.repeat(RUN);
        let len = lame.block_len();
        let stretches = Stretches::new(len, info::frames(spec.frames, len as u64));
        let encoding = Crew::new(spec.workers, || move |chunk: Chunk| encode(lame, &chunk));
        let (frames, left) = (spec.frames, Promised::of(spec));
        Ok(Self { out, lame, frames, left, stretches, encoding, info, at, silent, bytes: 0, sum: 0 })
    }

    /// Writes what is left, corrects the Info tag, and gives the writer back.
    ///
    /// # Errors
    /// Those of the writer; `InvalidData` where fewer frames came than were promised.
    pub fn finish(mut self) -> io::Result<W> {
        self.left.kept()?;
        let (chunks, silent) = self.stretches.finish();
        for chunk in chunks {
            self.hand_over(Some(chunk))?;
        }
        while let Some(parts) = self.encoding.oldest()? {
            self.write(parts?)?;
        }
        self.write(vec![EncodedPart::Silent(silent)])?;
        let len = self.lame.block_len() as u64;
        let info = info::correct(self.info, self.frames, len, self.bytes, self.sum)?;
        self.out.seek(SeekFrom::Start(self.at))?;
        self.out.write_all(&info)?;
        self.out.seek(SeekFrom::End(0))?;
        self.out.flush()?;
        Ok(self.out)
    }

    fn hand_over(&mut self, chunk: Option<Chunk>) -> io::Result<()> {
        let Some(chunk) = chunk else { return Ok(()) };
        let done = self.encoding.give(chunk)?;
        done.map_or(Ok(()), |parts| self.write(parts?))
    }

    #[expect(clippy::expect_used, reason = "a run ends where the silent bytes do")]
    fn write(&mut self, parts: Vec<EncodedPart>) -> io::Result<()> {
        for part in parts {
            match part {
                EncodedPart::Silent(frames) => {
                    let mut left = frames as usize * self.silent.len() / RUN;
                    while left > 0 {
                        let run = self.silent.get(..left.min(self.silent.len())).expect("cut at their end");
                        self.sum = info::checksum(self.sum, run);
                        self.out.write_all(run)?;
                        self.bytes += run.len() as u64;
                        left -= run.len();
                    }
                }
                EncodedPart::Frames(bytes) => {
                    self.sum = info::checksum(self.sum, &bytes);
                    self.out.write_all(&bytes)?;
                    self.bytes += bytes.len() as u64;
                }
            }
        }
        Ok(())
    }
}

impl<W: Write + Seek> Sink for Mp3<W> {
    type Error = io::Error;

    fn sound(&mut self, mut frames: &[Frame]) -> io::Result<()> {
        self.left.take(frames.len() as u64)?;
        while !frames.is_empty() {
            let (left, chunk) = self.stretches.sound(frames);
            frames = left;
            self.hand_over(chunk)?;
        }
        Ok(())
    }

    fn silence(&mut self, mut frames: u64) -> io::Result<()> {
        self.left.take(frames)?;
        while frames > 0 {
            let (left, chunk) = self.stretches.silence(frames);
            frames = left;
            self.hand_over(chunk)?;
        }
        Ok(())
    }
}

/// The frames of a chunk that count, and the silence before each stretch.
fn encode(lame: Lame, chunk: &Chunk) -> io::Result<Vec<EncodedPart>> {
    let bytes = lame.encode(&chunk.sound)?;
    let frames = lame.frames(&bytes)?;
    let mut parts = Vec::with_capacity(2 * chunk.takes.len());
    for take in &chunk.takes {
        let counted = frames.get(take.from..take.from + take.frames).ok_or_else(|| other("frames are missing"))?;
        parts.extend([EncodedPart::Silent(take.silent), EncodedPart::Frames(counted.concat())]);
    }
    Ok(parts)
}
