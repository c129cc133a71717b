//! The Info tag: a first frame that plays nothing and says how many frames there are, and how much of the beginning and
//! the end is the codec's own, so that a player gives back exactly the frames that went in.
//!
//! LAME writes it for one encoder's whole output; here it is corrected for the output of several. The places of its fields
//! are those of LAME's own source (`VbrTag.c`, 3.100).

use super::lame::{DECODER_DELAY, ENCODER_DELAY, other};
use std::io;

/// From the word `Info`: frames, bytes, the table of hundredths, the encoder's part with the delays and the checksums.
const FRAMES: usize = 8;
const BYTES: usize = 12;
const TABLE: usize = 16;
const DELAYS: usize = 141;
const LENGTH: usize = 148;
const SOUND_SUM: usize = 152;
const OWN_SUM: usize = 154;

/// Frames of a file for so much sound: all of it comes out of a decoder, and what comes before it.
pub fn frames(sound: u64, block_len: u64) -> u64 {
    (sound + ENCODER_DELAY + DECODER_DELAY).div_ceil(block_len)
}

/// Puts the numbers of the whole file into a tag of LAME's. `bytes` are all of the sound's frames, `sum` their checksum.
///
/// # Errors
/// Where the tag is not as expected.
pub fn correct(mut tag: Vec<u8>, sound: u64, block_len: u64, bytes: u64, sum: u16) -> io::Result<Vec<u8>> {
    let unknown = || other("LAME's Info tag is not as expected");
    let all = bytes + tag.len() as u64;
    let at = tag.windows(4).position(|word| word == b"Info").ok_or_else(unknown)?;
    let frames = frames(sound, block_len);
    let padding = frames * block_len - sound - ENCODER_DELAY;
    // A count stops where its field ends, as a WAV's does: the size after a day or more, the frames after years.
    let all = u32::try_from(all).unwrap_or(u32::MAX).to_be_bytes();
    let mut put = |field: usize, value: &[u8]| -> io::Result<()> {
        let place = tag.get_mut(at + field..).and_then(|rest| rest.get_mut(..value.len())).ok_or_else(unknown)?;
        place.copy_from_slice(value);
        Ok(())
    };
    put(FRAMES, &u32::try_from(frames).unwrap_or(u32::MAX).to_be_bytes())?;
    put(BYTES, &all)?;
    // Frames are of one size, but for a byte.
    let table: Vec<u8> = (0..100_u32).map(|hundredth| (hundredth * 256 / 100) as u8).collect();
    put(TABLE, &table)?;
    let [.., high, middle, low] = (ENCODER_DELAY << 12 | padding).to_be_bytes();
    put(DELAYS, &[high, middle, low])?;
    put(LENGTH, &all)?;
    put(SOUND_SUM, &sum.to_be_bytes())?;
    let own = tag.get(..at + OWN_SUM).ok_or_else(unknown)?;
    let own = checksum(0, own).to_be_bytes();
    tag.get_mut(at + OWN_SUM..at + OWN_SUM + 2).ok_or_else(unknown)?.copy_from_slice(&own);
    Ok(tag)
}

static CRC: [u16; 256] = {
    let mut table = [0; 256];
    let mut byte = 0;
    while byte < 256 {
        let (mut crc, mut bit) = (byte as u16, 0);
        while bit < 8 {
            crc = if crc & 1 == 1 { crc >> 1 ^ 0xa001 } else { crc >> 1 };
            bit += 1;
        }
        table[byte] = crc;
        byte += 1;
    }
    table
};

/// CRC-16 (polynomial 0x8005, reflected) of what came before and more bytes.
pub fn checksum(before: u16, bytes: &[u8]) -> u16 {
    bytes.iter().fold(before, |crc, byte| crc >> 8 ^ CRC[usize::from(crc as u8 ^ byte)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn checksum_test_vector() {
        // CRC-16/ARC of "123456789" is 0xBB3D (the catalogue of parametrised CRC algorithms; from memory).
        assert_eq!(checksum(0, b"123456789"), 0xbb3d);
    }

    #[test]
    fn a_file_has_room_for_what_comes_late() {
        assert_eq!([0, 1, 47, 48, 1199, 1200].map(|sound| frames(sound, 1152)), [1, 1, 1, 2, 2, 3]);
    }
}
