//! What the headers of a recording state, without decoding it: which format, which rate, how many frames.
//!
//! Only what is needed to know a length. Ogg and Vorbis: RFC 3533 and the Vorbis I specification, section 4.2.2;
//! FLAC: RFC 9639, section 8.2.

use super::stated::{DecodeError, Stated};

/// The format, by content: names may lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Container {
    Wav,
    Ogg,
    Flac,
    Mpeg,
    Other,
}

pub(super) fn kind(bytes: &[u8]) -> Container {
    match bytes {
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'A', b'V', b'E', ..] => Container::Wav,
        [b'O', b'g', b'g', b'S', ..] => Container::Ogg,
        [b'f', b'L', b'a', b'C', ..] => Container::Flac,
        [b'I', b'D', b'3', ..] => Container::Mpeg,
        // Eleven set bits, then a version and a layer that are not reserved.
        [0xff, b, ..] if b & 0xe0 == 0xe0 && b & 0x18 != 0x08 && b & 0x06 != 0 => Container::Mpeg,
        _ => Container::Other,
    }
}

/// The rate from the identification header, the frames from the granule position of the last page.
pub(super) fn ogg(bytes: &[u8]) -> Result<Stated, DecodeError> {
    let broken = |why: &str| DecodeError::Broken(why.to_owned());
    let first = page(bytes).ok_or(DecodeError::Truncated)?;
    if first.body.get(..7) != Some(b"\x01vorbis") {
        return Err(broken("it is Ogg, but not Vorbis: convert it to Ogg Vorbis or WAV"));
    }
    let rate = le_u32(first.body, 12).ok_or(DecodeError::Truncated)?;
    let mut rest = bytes;
    loop {
        let page = page(rest).ok_or(DecodeError::Truncated)?;
        if page.serial != first.serial {
            return Err(broken("it holds several streams"));
        }
        if page.last {
            return Ok(Stated { rate, frames: page.granule });
        }
        rest = page.rest;
    }
}

/// One page of an Ogg stream.
struct OggPage<'a> {
    granule: u64,
    serial: u32,
    last: bool,
    body: &'a [u8],
    rest: &'a [u8],
}

/// Splits the first page off; `None` where the bytes do not hold a whole one.
fn page(bytes: &[u8]) -> Option<OggPage<'_>> {
    if bytes.get(..4)? != b"OggS" {
        return None;
    }
    let segments = usize::from(*bytes.get(26)?);
    let table = bytes.get(27..27 + segments)?;
    let len: usize = table.iter().map(|&size| usize::from(size)).sum();
    let (body, rest) = bytes.get(27 + segments..)?.split_at_checked(len)?;
    let granule = u64::from(le_u32(bytes, 6)?) | u64::from(le_u32(bytes, 10)?) << 32;
    Some(OggPage { granule, serial: le_u32(bytes, 14)?, last: bytes.get(5)? & 4 != 0, body, rest })
}

/// Rate and frames of the stream information block; 0 frames where the length is not stated.
pub(super) fn flac(bytes: &[u8]) -> Result<Stated, DecodeError> {
    // Magic 4, block header 4, block and frame sizes 10; then rate 20 bits, channels 3, bits 5, frames 36.
    if bytes.get(4).is_some_and(|kind| kind & 0x7f != 0) {
        return Err(DecodeError::Broken("it does not begin with its stream information".to_owned()));
    }
    let field = bytes.get(18..26).ok_or(DecodeError::Truncated)?;
    let bits = field.iter().fold(0_u64, |bits, &byte| bits << 8 | u64::from(byte));
    Ok(Stated { rate: (bits >> 44) as u32, frames: bits & 0xf_ffff_ffff })
}

fn le_u32(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..at + 4)?.try_into().ok().map(u32::from_le_bytes)
}
