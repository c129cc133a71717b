//! FLAC files: lossless 16-bit stereo or mono in blocks of 4096 frames, encoded side by side (flacenc).
//!
//! Blocks do not depend on each other, so the bytes are the same for any number of threads and any division of the sound.
//! Practices are mostly silence and mostly the same on both channels: a silent block is written without looking for a
//! predictor, and of two equal channels one is encoded. The checksum of all samples, which cannot be divided, has a
//! thread of its own. What the file says of itself is in `flac/comments`.

pub mod comments;

use super::Sink;
use super::crew::Crew;
use super::spec::{Promised, Spec};
use crate::mixer::sample::{Frame, to_mono};
use flacenc::bitsink::ByteSink;
use flacenc::component::{BitRepr, ChannelAssignment, Constant, FrameHeader, FrameOffset, StreamInfo, SubFrame};
use flacenc::config;
use flacenc::error::{Verified, Verify};
use flacenc::source::{Context, Fill, FrameBuf};
use std::fmt::Display;
use std::io::{self, Seek, SeekFrom, Write};
use std::sync::Arc;

/// Frames in a block: what every decoder takes at any rate (the format's streamable subset).
const BLOCK: usize = 4096;
/// Blocks that go to a thread at once: 1 MiB of frames.
const BATCH: usize = 64;
/// Where STREAMINFO begins: behind `fLaC` and the block's own head.
const STREAM_INFO: u64 = 8;

/// A FLAC on its way into a writer.
#[derive(Debug)]
pub struct Flac<W> {
    out: W,
    start: StreamHead,
    left: Promised,
    /// Frames of blocks that are not full yet or not yet enough for a batch.
    pending: Vec<Frame>,
    blocks: u64,
    encoding: Crew<FlacBatch, io::Result<Encoded>>,
    summing: Crew<FlacSound, [u8; 16]>,
    sizes: Option<(u32, u32)>,
}

/// What is written first, and again when everything is known.
#[derive(Clone, Copy, Debug)]
struct StreamHead {
    rate: u32,
    mono: bool,
    frames: u64,
}

#[derive(Clone, Debug)]
enum FlacSound {
    Frames(Arc<Vec<Frame>>),
    /// So many whole blocks of silence.
    Silence(u64),
}

#[derive(Debug)]
struct FlacBatch {
    first: u64,
    sound: FlacSound,
}

#[derive(Debug, Default)]
struct Encoded {
    bytes: Vec<u8>,
    /// The smallest and the largest block in bytes.
    sizes: Option<(u32, u32)>,
}

impl<W: Write + Seek> Flac<W> {
    /// Writes everything before the sound.
    ///
    /// # Errors
    /// Those of the writer; where the format cannot hold so many frames.
    pub fn begin(mut out: W, spec: &Spec) -> io::Result<Self> {
        let start = StreamHead { rate: spec.rate.hertz(), mono: spec.mono, frames: spec.frames };
        // 36 bits in the head, 31 for a block's number.
        if spec.frames >> 36 != 0 || spec.frames.div_ceil(BLOCK as u64) >> 31 != 0 {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "FLAC cannot hold a sound of this length"));
        }
        out.write_all(b"fLaC")?;
        out.write_all(&[0, 0, 0, 34])?;
        out.write_all(&start.stream_info(None, [0; 16]))?;
        out.write_all(&comments::block(spec))?;
        let mut encoders = Vec::new();
        for _ in 0..spec.workers.max(1) {
            encoders.push(FlacEncoder::new(start)?);
        }
        let encoding = Crew::new(encoders.len(), || {
            let mut encoder = encoders.pop();
            move |batch| encoder.as_mut().ok_or_else(|| other("no encoder"))?.batch(&batch)
        });
        let summing = Crew::new(1, || {
            let mut sum = Checksum::new(start.mono);
            move |sound| sum.add(&sound)
        });
        let pending = Vec::with_capacity(BATCH * BLOCK);
        Ok(Self { out, start, left: Promised::of(spec), pending, blocks: 0, encoding, summing, sizes: None })
    }

    /// Writes what is left, corrects the head, and gives the writer back.
    ///
    /// # Errors
    /// Those of the writer; `InvalidData` where fewer frames came than were promised.
    pub fn finish(mut self) -> io::Result<W> {
        self.left.kept()?;
        self.send()?;
        while let Some(encoded) = self.encoding.oldest()? {
            self.write(encoded?)?;
        }
        // The sum of nothing, which a practice never is, is the sum of no bytes.
        let mut sum = Checksum::new(self.start.mono).add(&FlacSound::Silence(0));
        while let Some(further) = self.summing.oldest()? {
            sum = further;
        }
        self.out.seek(SeekFrom::Start(STREAM_INFO))?;
        self.out.write_all(&self.start.stream_info(self.sizes, sum))?;
        self.out.seek(SeekFrom::End(0))?;
        self.out.flush()?;
        Ok(self.out)
    }

    /// Hands over what is pending.
    fn send(&mut self) -> io::Result<()> {
        if self.pending.is_empty() {
            return Ok(());
        }
        let frames = std::mem::replace(&mut self.pending, Vec::with_capacity(BATCH * BLOCK));
        let blocks = frames.len().div_ceil(BLOCK) as u64;
        self.hand_over(blocks, FlacSound::Frames(Arc::new(frames)))
    }

    fn hand_over(&mut self, blocks: u64, sound: FlacSound) -> io::Result<()> {
        self.summing.give(sound.clone())?;
        let encoded = self.encoding.give(FlacBatch { first: self.blocks, sound })?;
        self.blocks += blocks;
        encoded.map_or(Ok(()), |encoded| self.write(encoded?))
    }

    fn write(&mut self, encoded: Encoded) -> io::Result<()> {
        self.sizes = wider(self.sizes, encoded.sizes);
        self.out.write_all(&encoded.bytes)
    }
}

impl<W: Write + Seek> Sink for Flac<W> {
    type Error = io::Error;

    fn sound(&mut self, mut frames: &[Frame]) -> io::Result<()> {
        self.left.take(frames.len() as u64)?;
        while !frames.is_empty() {
            let (now, later) = frames.split_at(frames.len().min(BATCH * BLOCK - self.pending.len()));
            self.pending.extend_from_slice(now);
            frames = later;
            if self.pending.len() == BATCH * BLOCK {
                self.send()?;
            }
        }
        Ok(())
    }

    fn silence(&mut self, mut frames: u64) -> io::Result<()> {
        self.left.take(frames)?;
        let mut fill = |this: &mut Self, up_to: usize| {
            let now = frames.min(up_to as u64);
            this.pending.resize(this.pending.len() + now as usize, [0; 2]);
            frames -= now;
            frames
        };
        let left = fill(self, self.pending.len().next_multiple_of(BLOCK) - self.pending.len());
        if left >= BLOCK as u64 || self.pending.len() == BATCH * BLOCK {
            self.send()?;
        }
        let blocks = left / BLOCK as u64;
        if blocks > 0 {
            self.hand_over(blocks, FlacSound::Silence(blocks))?;
        }
        frames = left % BLOCK as u64;
        self.pending.resize(self.pending.len() + frames as usize, [0; 2]);
        Ok(())
    }
}

impl StreamHead {
    /// The STREAMINFO block, by the format's definition. The smallest block does not count the last one, which may be
    /// shorter; flacenc's own would.
    fn stream_info(self, sizes: Option<(u32, u32)>, sum: [u8; 16]) -> Vec<u8> {
        let (smallest, largest) = sizes.unwrap_or_default();
        let mut bytes = [(BLOCK as u16).to_be_bytes(); 2].concat();
        for size in [smallest, largest] {
            bytes.extend(size.to_be_bytes().iter().skip(1));
        }
        let channels = if self.mono { 0 } else { 1_u64 };
        let fields = u64::from(self.rate) << 44 | channels << 41 | 15 << 36 | self.frames;
        bytes.extend(fields.to_be_bytes());
        bytes.extend(sum);
        bytes
    }
}

/// The MD5 of the samples as they would lie in a WAV, which is what the format asks for.
struct Checksum {
    context: Context,
    mono: bool,
    bytes: Vec<u8>,
}

impl Checksum {
    fn new(mono: bool) -> Self {
        Self { context: Context::new(16, if mono { 1 } else { 2 }), mono, bytes: Vec::new() }
    }

    /// Adds and returns the sum so far.
    fn add(&mut self, sound: &FlacSound) -> [u8; 16] {
        static ZEROS: [u8; BLOCK * 4] = [0; BLOCK * 4];
        match sound {
            FlacSound::Silence(blocks) => {
                let zeros = if self.mono { ZEROS.split_at(BLOCK * 2).0 } else { &ZEROS };
                (0..*blocks).for_each(|_| self.take(zeros));
            }
            FlacSound::Frames(frames) => {
                for frames in frames.chunks(BLOCK) {
                    let mut bytes = std::mem::take(&mut self.bytes);
                    bytes.clear();
                    if self.mono {
                        bytes.extend(frames.iter().flat_map(|frame| to_mono(*frame).to_le_bytes()));
                    } else {
                        bytes.resize(4 * frames.len(), 0);
                        for (bytes, [left, right]) in bytes.chunks_exact_mut(4).zip(frames) {
                            let pair = u32::from(*left as u16) | u32::from(*right as u16) << 16;
                            bytes.copy_from_slice(&pair.to_le_bytes());
                        }
                    }
                    self.take(&bytes);
                    self.bytes = bytes;
                }
            }
        }
        self.context.md5_digest()
    }

    fn take(&mut self, bytes: &[u8]) {
        // It never fails: the bytes are added and counted.
        let _ = self.context.fill_le_bytes(bytes, 2);
    }
}

/// One thread's means of encoding.
struct FlacEncoder {
    start: StreamHead,
    config: Verified<config::Encoder>,
    one: (StreamInfo, FrameBuf),
    two: (StreamInfo, FrameBuf),
    samples: Vec<i32>,
}

impl FlacEncoder {
    fn new(start: StreamHead) -> io::Result<Self> {
        let mut config = config::Encoder::default();
        config.multithread = false;
        config.block_size = BLOCK;
        // Fixed predictors alone: half the time of the linear ones, and for beats, speech and silence about their size.
        config.subframe_coding.use_lpc = false;
        // Counts bits instead of estimating them by logarithms, which are not the same on every machine.
        config.subframe_coding.fixed.order_sel = config::OrderSel::BitCount;
        let channels = |channels| {
            let info = StreamInfo::new(start.rate as usize, channels, 16).map_err(other)?;
            io::Result::Ok((info, FrameBuf::with_size(channels, BLOCK).map_err(other)?))
        };
        let config = config.into_verified().map_err(|(_, error)| other(error))?;
        Ok(Self { start, config, one: channels(1)?, two: channels(2)?, samples: Vec::with_capacity(2 * BLOCK) })
    }

    fn batch(&mut self, batch: &FlacBatch) -> io::Result<Encoded> {
        let mut out = ByteSink::new();
        let mut sizes = None;
        let mut before = 0;
        let mut note = |out: &ByteSink| {
            let size = (out.as_slice().len() - before) as u32;
            before = out.as_slice().len();
            sizes = wider(sizes, Some((size, size)));
        };
        match &batch.sound {
            FlacSound::Silence(blocks) => {
                for number in batch.first..batch.first + blocks {
                    self.silent(number, BLOCK, &mut out)?;
                    note(&out);
                }
            }
            FlacSound::Frames(frames) => {
                for (number, block) in (batch.first..).zip(frames.chunks(BLOCK)) {
                    self.block(number, block, &mut out)?;
                    note(&out);
                }
            }
        }
        Ok(Encoded { bytes: out.into_inner(), sizes })
    }

    fn block(&mut self, number: u64, frames: &[Frame], out: &mut ByteSink) -> io::Result<()> {
        if frames.iter().all(|frame| *frame == [0; 2]) {
            return self.silent(number, frames.len(), out);
        }
        let same = self.start.mono || frames.iter().all(|[left, right]| left == right);
        self.samples.clear();
        if self.start.mono {
            self.samples.extend(frames.iter().map(|frame| i32::from(to_mono(*frame))));
        } else if same {
            self.samples.extend(frames.iter().map(|[left, _]| i32::from(*left)));
        } else {
            self.samples.extend(frames.iter().flatten().map(|sample| i32::from(*sample)));
        }
        let (info, buffer) = if same { &mut self.one } else { &mut self.two };
        buffer.fill_interleaved(&self.samples).map_err(other)?;
        let frame = flacenc::encode_fixed_size_frame(&self.config, buffer, number as usize, info).map_err(other)?;
        if self.start.mono || !same {
            return frame.write(out).map_err(other);
        }
        let (_, channels) = frame.into_parts();
        self.pair(number, frames.len(), channels.into_iter().next(), out)
    }

    fn silent(&self, number: u64, len: usize, out: &mut ByteSink) -> io::Result<()> {
        let silent = Constant::new(len, 0, 16).map_err(other)?.into();
        self.pair(number, len, Some(silent), out)
    }

    /// A block of one channel, or of two that are equal: the left and no difference.
    fn pair(&self, number: u64, len: usize, left: Option<SubFrame>, out: &mut ByteSink) -> io::Result<()> {
        let (channels, side) = if self.start.mono {
            (ChannelAssignment::Independent(1), None)
        } else {
            (ChannelAssignment::LeftSide, Some(Constant::new(len, 0, 17).map_err(other)?.into()))
        };
        let place = FrameOffset::Frame(u32::try_from(number).map_err(other)?);
        let header = FrameHeader::new(len, channels, 16, self.start.rate as usize, place).map_err(other)?;
        let frame = flacenc::component::Frame::new(header, left.into_iter().chain(side)).map_err(other)?;
        frame.write(out).map_err(other)
    }
}

fn wider(a: Option<(u32, u32)>, b: Option<(u32, u32)>) -> Option<(u32, u32)> {
    match (a, b) {
        (Some((a, b)), Some((c, d))) => Some((a.min(c), b.max(d))),
        (one, other) => one.or(other),
    }
}

fn other(error: impl Display) -> io::Error {
    io::Error::other(format!("encoding FLAC: {error}"))
}

#[cfg(test)]
mod tests;
