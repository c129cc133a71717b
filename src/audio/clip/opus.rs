//! Opus in Ogg (RFC 7845): the packets are found here and decoded by a library, which knows nothing of containers.
//!
//! Always at 48 kHz, the rate in which the container counts.

use super::mono::Mono;
use super::ogg::{OggPage, pages};
use super::stated::{DecodeError, Stated};
use ropus::{Channels, DecodeMode, Decoder};

/// Frames a second, whatever was recorded (RFC 7845, section 4).
const RATE: u32 = 48_000;

/// The most frames of a packet: 120 ms (RFC 6716, section 3.2.5).
const LONGEST_PACKET: usize = 5_760;

/// What the header says, with the packets behind it.
pub(super) struct OpusStream<'a> {
    channels: u16,
    /// What every sample is multiplied by.
    gain: f64,
    packets: Vec<Vec<u8>>,
    pages: Vec<OggPage<'a>>,
    pub stated: Stated,
}

impl<'a> OpusStream<'a> {
    /// Takes the stream apart without decoding it.
    pub fn open(bytes: &'a [u8]) -> Result<Self, DecodeError> {
        let pages = pages(bytes)?;
        let head = pages.first().map(|first| first.body).unwrap_or_default();
        let [version, channels, skip @ .., _, _, _, _, low, high, family] =
            head.get(8..19).ok_or(DecodeError::Truncated)?
        else {
            return Err(DecodeError::Truncated);
        };
        let skip = skip.iter().rev().fold(0_u64, |skip, byte| skip << 8 | u64::from(*byte));
        // Other families have more than two channels or no order of them; no telephone records so.
        if version & 0xf0 != 0 || *family != 0 || !(1..=2).contains(channels) {
            return Err(DecodeError::Broken("it is Opus of more than two channels: convert it to WAV".to_owned()));
        }
        // In 256ths of a decibel (section 5.1).
        let gain = libm::exp10(f64::from(i16::from_le_bytes([*low, *high])) / 256.0 / 20.0);
        let mut stream =
            Self { channels: u16::from(*channels), gain, packets: Vec::new(), pages, stated: Stated::new(RATE, 0) };
        let end = stream.collect()?;
        stream.stated = Stated { skip, ..Stated::new(RATE, end.saturating_sub(skip)) };
        Ok(stream)
    }

    /// Puts the packets together and says where the sound ends, in frames from the first packet's.
    fn collect(&mut self) -> Result<u64, DecodeError> {
        let (mut packet, mut tags, mut heard) = (Vec::new(), false, 0_u64);
        let (mut before, mut end) = (None, 0);
        for page in self.pages.iter().skip(1) {
            let mut body = page.body;
            for size in page.table {
                let (part, rest) = body.split_at_checked(usize::from(*size)).ok_or(DecodeError::Truncated)?;
                packet.extend_from_slice(part);
                body = rest;
                if *size == 255 {
                    continue;
                }
                let whole = std::mem::take(&mut packet);
                // The second packet of a stream is the one with its tags.
                if std::mem::replace(&mut tags, true) {
                    heard += duration(&whole).ok_or(DecodeError::Truncated)?;
                    self.packets.push(whole);
                }
            }
            if heard > 0 && page.granule != u64::MAX {
                // A stream that was cut out of a longer one begins later (section 4.5).
                let began = *before.get_or_insert(if page.last { 0 } else { page.granule.saturating_sub(heard) });
                end = page.granule.saturating_sub(began).min(heard);
            }
        }
        Ok(end)
    }

    /// Decodes all of it.
    pub fn decode(self) -> Result<Vec<i16>, DecodeError> {
        let broken = |error: &dyn std::fmt::Display| DecodeError::Broken(error.to_string());
        let channels = if self.channels == 1 { Channels::Mono } else { Channels::Stereo };
        let mut decoder = Decoder::new(RATE, channels).map_err(|error| broken(&error))?;
        let mut mono = Mono::new(self.channels);
        let mut room = vec![0_i16; LONGEST_PACKET * usize::from(self.channels)];
        for packet in &self.packets {
            let frames = decoder.decode(packet, &mut room, DecodeMode::Normal).map_err(|error| broken(&error))?;
            for sample in room.iter().take(frames * usize::from(self.channels)) {
                mono.push(f64::from(*sample) / 32_768.0 * self.gain);
            }
        }
        Ok(mono.samples)
    }
}

/// How many frames a packet holds; `None` where that is more than a packet may (RFC 6716, section 3.1 and 3.2.5).
fn duration(packet: &[u8]) -> Option<u64> {
    let (first, rest) = packet.split_first()?;
    let config = first >> 3;
    let frame = match config {
        0..=11 => [480, 960, 1_920, 2_880].get(usize::from(config & 3)),
        12..=15 => [480, 960].get(usize::from(config & 1)),
        _ => [120, 240, 480, 960].get(usize::from(config & 3)),
    }?;
    let count = match first & 3 {
        0 => 1,
        1 | 2 => 2,
        _ => u64::from(rest.first()? & 0x3f),
    };
    (1..=LONGEST_PACKET as u64).contains(&(frame * count)).then_some(frame * count)
}
