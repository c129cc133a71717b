//! Which format a recording has, by its content, and what FLAC states of its length (RFC 9639, section 8.2).

use super::ogg;
use super::stated::{DecodeError, Stated};

/// The format, by content: names may lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Container {
    Wav,
    Vorbis,
    Opus,
    /// Ogg with something else in it.
    Ogg,
    Flac,
    /// With whatever sound in it.
    Mp4,
    /// AAC alone, each frame with its header.
    Adts,
    Mpeg,
    Other,
}

pub(super) fn kind(bytes: &[u8]) -> Container {
    match bytes {
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'A', b'V', b'E', ..] => Container::Wav,
        [b'O', b'g', b'g', b'S', ..] => match ogg::page(bytes).map(|first| first.body) {
            Some([1, b'v', b'o', b'r', b'b', b'i', b's', ..]) | None => Container::Vorbis,
            Some([b'O', b'p', b'u', b's', b'H', b'e', b'a', b'd', ..]) => Container::Opus,
            Some(_) => Container::Ogg,
        },
        [_, _, _, _, b'f', b't', b'y', b'p', ..] => Container::Mp4,
        [b'f', b'L', b'a', b'C', ..] => Container::Flac,
        [b'I', b'D', b'3', ..] => Container::Mpeg,
        // Twelve set bits, then either version and the layer that means AAC (ISO/IEC 13818-7, section 6.2).
        [0xff, b, ..] if b & 0xf6 == 0xf0 => Container::Adts,
        // Eleven set bits, then a version and a layer that are not reserved.
        [0xff, b, ..] if b & 0xe0 == 0xe0 && b & 0x18 != 0x08 && b & 0x06 != 0 => Container::Mpeg,
        _ => Container::Other,
    }
}

/// Rate and frames of the stream information block; 0 frames where the length is not stated.
pub(super) fn flac(bytes: &[u8]) -> Result<Stated, DecodeError> {
    // Magic 4, block header 4, block and frame sizes 10; then rate 20 bits, channels 3, bits 5, frames 36.
    if bytes.get(4).is_some_and(|kind| kind & 0x7f != 0) {
        return Err(DecodeError::Broken("it does not begin with its stream information".to_owned()));
    }
    let field = bytes.get(18..26).ok_or(DecodeError::Truncated)?;
    let bits = field.iter().fold(0_u64, |bits, &byte| bits << 8 | u64::from(byte));
    Ok(Stated::new((bits >> 44) as u32, bits & 0xf_ffff_ffff))
}
