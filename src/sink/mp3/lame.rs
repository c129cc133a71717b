//! LAME, by the crate mp3lame-encoder: one encoder for a chunk of sound, and the two frames that are the same in every
//! file: the silent one, and the one that tells players how much to play.
//!
//! The bit reservoir is off: no frame uses room of those before it, so that frames of several encoders can stand behind
//! each other. For speech and beats between silences it would gain next to nothing.

use super::super::spec::Spec;
use super::kilobits;
use crate::mixer::sample::{Frame, to_mono};
use mp3lame_encoder::{Bitrate, Builder, Encoder, FlushGap, InterleavedPcm, Mode, MonoPcm, Quality, VbrMode, ffi};
use std::fmt;
use std::io;

/// Frames given to LAME at once.
const PIECE: usize = 1 << 14;
/// What LAME may need to put down its last frames (`lame_encode_flush` in its interface).
const LAST: usize = 7200;
/// Samples that come out of a decoder before the first one that went in: the encoder's part, as LAME states it in the tag.
pub const ENCODER_DELAY: u64 = 576;
/// The decoder's part, as every reader of the tag takes it.
pub const DECODER_DELAY: u64 = 529;

/// How the frames of one file are made.
#[derive(Clone, Copy, Debug)]
pub struct Lame {
    rate: u32,
    mono: bool,
    kilobits: u32,
}

impl Lame {
    /// For a file.
    ///
    /// # Errors
    /// `InvalidInput` where the format cannot do what is asked for.
    pub fn new(spec: &Spec) -> io::Result<Self> {
        let unfit = |error| io::Error::new(io::ErrorKind::InvalidInput, error);
        let kilobits = kilobits(spec.rate, spec.kilobits).map_err(unfit)?;
        Ok(Self { rate: spec.rate.hertz(), mono: spec.mono, kilobits })
    }

    /// Samples of each channel in a frame: 1152 in MPEG-1, half of it in the lower rates' MPEG-2 and -2.5.
    pub const fn block_len(self) -> usize {
        if self.rate >= 32_000 { 1152 } else { 576 }
    }

    /// All frames of a sound, one for each block and some more for what comes out late.
    ///
    /// # Errors
    /// Where LAME fails.
    pub fn encode(self, sound: &[Frame]) -> io::Result<Vec<u8>> {
        let mut encoder = self.encoder(false)?;
        self.all(&mut encoder, sound)
    }

    fn all(self, encoder: &mut Encoder, sound: &[Frame]) -> io::Result<Vec<u8>> {
        let (mut bytes, mut samples) = (Vec::new(), Vec::new());
        for frames in sound.chunks(PIECE) {
            bytes.reserve(mp3lame_encoder::max_required_buffer_size(frames.len()));
            let encoded = if self.mono {
                samples.clear();
                samples.extend(frames.iter().map(|frame| to_mono(*frame)));
                encoder.encode_to_vec(MonoPcm(samples.as_slice()), &mut bytes)
            } else {
                encoder.encode_to_vec(InterleavedPcm(frames.as_flattened()), &mut bytes)
            };
            encoded.map_err(other)?;
        }
        bytes.reserve(LAST);
        encoder.flush_to_vec::<FlushGap>(&mut bytes).map_err(other)?;
        Ok(bytes)
    }

    /// The frame that plays nothing, and the Info tag of a file that is all such frames.
    ///
    /// # Errors
    /// Where LAME fails.
    pub fn silent_and_info(self) -> io::Result<(Vec<u8>, Vec<u8>)> {
        let mut encoder = self.encoder(true)?;
        let bytes = self.all(&mut encoder, &vec![[0; 2]; 16 * self.block_len()])?;
        let mut info = Vec::with_capacity(encoder.lame_tag_size());
        encoder.lame_tag_encode_to_vec(&mut info).ok_or_else(|| other("LAME gives no Info tag"))?;
        // Far enough from both ends to be the steady one; without the byte more that keeps the average of odd sizes.
        let frames = self.frames(&bytes)?;
        let silent = frames.iter().skip(6).take(8).min_by_key(|frame| frame.len());
        Ok((silent.ok_or_else(|| other("LAME gives no frames"))?.to_vec(), info))
    }

    /// Divides encoded bytes into frames, by the size that each one's head states (ISO/IEC 11172-3, 2.4.3.1).
    ///
    /// # Errors
    /// Where something else stands between them.
    pub fn frames(self, mut bytes: &[u8]) -> io::Result<Vec<&[u8]>> {
        let mut frames = Vec::new();
        while let [0xff, second, third, ..] = *bytes {
            if second & 0xe0 != 0xe0 {
                break;
            }
            let padding = usize::from(third >> 1 & 1);
            let size = self.block_len() / 8 * 1000 * self.kilobits as usize / self.rate as usize + padding;
            let Some((frame, rest)) = bytes.split_at_checked(size) else { break };
            frames.push(frame);
            bytes = rest;
        }
        if bytes.is_empty() { Ok(frames) } else { Err(other("LAME's frames are not as long as they say")) }
    }

    // LAME's switch for the reservoir is not among what the safe interface offers.
    #[expect(unsafe_code, reason = "the builder keeps its structure alive; the function only sets a number in it")]
    fn encoder(self, info: bool) -> io::Result<Encoder> {
        let mut lame = Builder::new().ok_or(io::ErrorKind::OutOfMemory)?;
        lame.set_num_channels(if self.mono { 1 } else { 2 }).map_err(other)?;
        lame.set_sample_rate(self.rate).map_err(other)?;
        // Left to itself it would choose another rate for few kilobits, and the frames would not be ours any more.
        lame.set_output_sample_rate(std::num::NonZeroU32::new(self.rate)).map_err(other)?;
        lame.set_mode(if self.mono { Mode::Mono } else { Mode::JointStereo }).map_err(other)?;
        lame.set_vbr_mode(VbrMode::Off).map_err(other)?;
        lame.set_brate(bitrate(self.kilobits)).map_err(other)?;
        lame.set_quality(Quality::Good).map_err(other)?;
        lame.set_to_write_vbr_tag(info).map_err(other)?;
        // SAFETY: `as_ptr` gives the builder's own valid structure, which nothing else uses meanwhile; the call stores an
        // integer in it and neither keeps nor frees the pointer.
        let set = unsafe { ffi::lame_set_disable_reservoir(lame.as_ptr(), 1) };
        if set < 0 {
            return Err(other("LAME does not turn its bit reservoir off"));
        }
        lame.build().map_err(other)
    }
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

/// An error of this part.
pub fn other(error: impl fmt::Display) -> io::Error {
    io::Error::other(format!("encoding MP3: {error}"))
}
