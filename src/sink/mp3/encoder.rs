//! The MP3 itself: constant bit rate by LAME, gapless. A first frame that plays nothing (the Info tag) says how many
//! frames there are and how much of the beginning and the end is the codec's own; players that read it give back
//! exactly the frames that went in. It is known only at the end, and written over a placeholder then.

use super::super::Sink;
use super::super::spec::Spec;
use super::{kilobits, tag};
use crate::mixer::sample::{Frame, to_mono};
use mp3lame_encoder::{Bitrate, Builder, Encoder, FlushGap, InterleavedPcm, Mode, MonoPcm, Quality, VbrMode};
use std::fmt;
use std::io::{self, Seek, SeekFrom, Write};

/// Frames given to LAME at once.
const PIECE: usize = 1 << 14;
/// What LAME may need to put down its last frames (`lame_encode_flush` in its interface).
const LAST: usize = 7200;

/// An MP3 on its way into a writer.
pub struct Mp3<W> {
    out: W,
    encoder: Encoder,
    mono: bool,
    left: u64,
    /// Where the Info tag belongs.
    info: u64,
    bytes: Vec<u8>,
    samples: Vec<i16>,
}

impl<W> fmt::Debug for Mp3<W> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Mp3").field("mono", &self.mono).field("left", &self.left).finish_non_exhaustive()
    }
}

impl<W: Write + Seek> Mp3<W> {
    /// Writes everything before the sound.
    ///
    /// # Errors
    /// Those of the writer; where the format cannot do what is asked for.
    pub fn begin(mut out: W, spec: &Spec) -> io::Result<Self> {
        let encoder = encoder(spec)?;
        let head = tag::block(spec)?;
        out.write_all(&head)?;
        let info = out.stream_position()?;
        let (bytes, samples) = (Vec::new(), Vec::with_capacity(PIECE));
        Ok(Self { out, encoder, mono: spec.mono, left: spec.frames, info, bytes, samples })
    }

    /// Writes what is left, puts the Info tag into its place, and gives the writer back.
    ///
    /// # Errors
    /// Those of the writer; `InvalidData` where fewer frames came than were promised.
    pub fn finish(mut self) -> io::Result<W> {
        if self.left != 0 {
            let message = format!("{} of the frames promised are missing", self.left);
            return Err(io::Error::new(io::ErrorKind::InvalidData, message));
        }
        self.bytes.reserve(LAST);
        self.encoder.flush_to_vec::<FlushGap>(&mut self.bytes).map_err(other)?;
        self.write()?;
        self.bytes.reserve(self.encoder.lame_tag_size());
        if self.encoder.lame_tag_encode_to_vec(&mut self.bytes).is_some() {
            self.out.seek(SeekFrom::Start(self.info))?;
            self.write()?;
            self.out.seek(SeekFrom::End(0))?;
        }
        self.out.flush()?;
        Ok(self.out)
    }

    fn count(&mut self, frames: u64) -> io::Result<()> {
        let left = self.left.checked_sub(frames);
        self.left =
            left.ok_or_else(|| io::Error::new(io::ErrorKind::InvalidData, "more frames came than were promised"))?;
        Ok(())
    }

    fn encode(&mut self, frames: &[Frame]) -> io::Result<()> {
        for frames in frames.chunks(PIECE) {
            self.bytes.reserve(mp3lame_encoder::max_required_buffer_size(frames.len()));
            let encoded = if self.mono {
                self.samples.clear();
                self.samples.extend(frames.iter().map(|frame| to_mono(*frame)));
                self.encoder.encode_to_vec(MonoPcm(self.samples.as_slice()), &mut self.bytes)
            } else {
                self.encoder.encode_to_vec(InterleavedPcm(frames.as_flattened()), &mut self.bytes)
            };
            encoded.map_err(other)?;
            self.write()?;
        }
        Ok(())
    }

    fn write(&mut self) -> io::Result<()> {
        self.out.write_all(&self.bytes)?;
        self.bytes.clear();
        Ok(())
    }
}

impl<W: Write + Seek> Sink for Mp3<W> {
    type Error = io::Error;

    fn sound(&mut self, frames: &[Frame]) -> io::Result<()> {
        self.count(frames.len() as u64)?;
        self.encode(frames)
    }

    fn silence(&mut self, mut frames: u64) -> io::Result<()> {
        static ZEROS: [Frame; PIECE] = [[0; 2]; PIECE];
        self.count(frames)?;
        while frames > 0 {
            let now = frames.min(PIECE as u64);
            self.encode(ZEROS.get(..now as usize).unwrap_or_default())?;
            frames -= now;
        }
        Ok(())
    }
}

fn encoder(spec: &Spec) -> io::Result<Encoder> {
    let unfit = |error| io::Error::new(io::ErrorKind::InvalidInput, error);
    let kilobits = kilobits(spec.rate, spec.kilobits).map_err(unfit)?;
    let rate = spec.rate.hertz();
    let mut lame = Builder::new().ok_or(io::ErrorKind::OutOfMemory)?;
    lame.set_num_channels(if spec.mono { 1 } else { 2 }).map_err(other)?;
    lame.set_sample_rate(rate).map_err(other)?;
    // Left to itself it would choose another rate for few kilobits, and the frames would not be ours any more.
    lame.set_output_sample_rate(std::num::NonZeroU32::new(rate)).map_err(other)?;
    lame.set_mode(if spec.mono { Mode::Mono } else { Mode::JointStereo }).map_err(other)?;
    lame.set_vbr_mode(VbrMode::Off).map_err(other)?;
    lame.set_brate(bitrate(kilobits)).map_err(other)?;
    lame.set_quality(Quality::Good).map_err(other)?;
    lame.set_to_write_vbr_tag(true).map_err(other)?;
    lame.build().map_err(other)
}

const fn bitrate(kilobits: u32) -> Bitrate {
    match kilobits {
        64 => Bitrate::Kbps64,
        80 => Bitrate::Kbps80,
        96 => Bitrate::Kbps96,
        112 => Bitrate::Kbps112,
        128 => Bitrate::Kbps128,
        160 => Bitrate::Kbps160,
        192 => Bitrate::Kbps192,
        224 => Bitrate::Kbps224,
        256 => Bitrate::Kbps256,
        _ => Bitrate::Kbps320,
    }
}

fn other(error: impl fmt::Display) -> io::Error {
    io::Error::other(format!("encoding MP3: {error}"))
}
