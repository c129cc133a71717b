//! Ogg taken apart: its pages, and what a stream of Vorbis or Opus states of itself (RFC 3533; the Vorbis I specification,
//! section 4.2.2; RFC 7845).

use super::stated::{DecodeError, Stated};

/// One page of an Ogg stream.
pub(super) struct OggPage<'a> {
    pub granule: u64,
    pub serial: u32,
    pub last: bool,
    /// Sizes of the segments of its body.
    pub table: &'a [u8],
    pub body: &'a [u8],
    rest: &'a [u8],
}

/// Splits the first page off; `None` where the bytes do not hold a whole one.
pub(super) fn page(bytes: &[u8]) -> Option<OggPage<'_>> {
    if bytes.get(..4)? != b"OggS" {
        return None;
    }
    let segments = usize::from(*bytes.get(26)?);
    let table = bytes.get(27..27 + segments)?;
    let len: usize = table.iter().map(|&size| usize::from(size)).sum();
    let (body, rest) = bytes.get(27 + segments..)?.split_at_checked(len)?;
    let granule = u64::from(le_u32(bytes, 6)?) | u64::from(le_u32(bytes, 10)?) << 32;
    Some(OggPage { granule, serial: le_u32(bytes, 14)?, last: bytes.get(5)? & 4 != 0, table, body, rest })
}

/// The pages of the one stream there is, to the one that is marked as its last.
pub(super) fn pages(bytes: &[u8]) -> Result<Vec<OggPage<'_>>, DecodeError> {
    let mut found: Vec<OggPage<'_>> = Vec::new();
    let mut rest = bytes;
    loop {
        let page = page(rest).ok_or(DecodeError::Truncated)?;
        if found.first().is_some_and(|first| first.serial != page.serial) {
            return Err(DecodeError::Broken("it holds several streams".to_owned()));
        }
        rest = page.rest;
        let last = page.last;
        found.push(page);
        if last {
            return Ok(found);
        }
    }
}

/// Of Vorbis: the rate from the identification header, the frames from the granule position of the last page.
pub(super) fn vorbis(bytes: &[u8]) -> Result<Stated, DecodeError> {
    let pages = pages(bytes)?;
    let rate = pages.first().and_then(|first| le_u32(first.body, 12)).ok_or(DecodeError::Truncated)?;
    Ok(Stated::new(rate, pages.last().map_or(0, |last| last.granule)))
}

pub(super) fn le_u32(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..at + 4)?.try_into().ok().map(u32::from_le_bytes)
}
