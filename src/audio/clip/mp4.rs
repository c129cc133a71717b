//! What an MP4 file (m4a) states of its sound, without decoding it (ISO/IEC 14496-12, section 8): rate, frames, and how many
//! decoded frames come before the first one that was recorded. Encoders of AAC put 1,024 or more there; the edit list says so.

use super::stated::{DecodeError, Stated};

/// The boxes that lie in another, each with its kind and content, as far as they are whole.
struct Boxes<'a>(&'a [u8]);

impl<'a> Iterator for Boxes<'a> {
    type Item = ([u8; 4], &'a [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        let size = be(self.0, 0, 4)?;
        let kind = self.0.get(4..8)?.try_into().ok()?;
        let (head, size) = match size {
            // To the end of what there is.
            0 => (8, self.0.len()),
            1 => (16, usize::try_from(be(self.0, 8, 8)?).ok()?),
            size => (8, usize::try_from(size).ok()?),
        };
        let content = self.0.get(head..size)?;
        self.0 = self.0.get(size..)?;
        Some((kind, content))
    }
}

/// The content of the first box of a kind.
fn inside<'a>(bytes: &'a [u8], path: &[&[u8; 4]]) -> Option<&'a [u8]> {
    path.iter()
        .try_fold(bytes, |bytes, wanted| Boxes(bytes).find(|(kind, _)| kind == *wanted).map(|(_, content)| content))
}

/// A number of so many bytes, the highest first.
fn be(bytes: &[u8], at: usize, len: usize) -> Option<u64> {
    Some(bytes.get(at..at + len)?.iter().fold(0, |number, byte| number << 8 | u64::from(*byte)))
}

/// A time scale and a duration in it, of a movie's or a track's header: 32 bit each, or in version 1 the duration 64.
fn scaled(header: &[u8]) -> Option<(u64, u64)> {
    let (scale, duration, len) = if *header.first()? == 1 { (20, 24, 8) } else { (12, 16, 4) };
    Some((be(header, scale, 4)?, be(header, duration, len)?))
}

/// Of the first track with sound. Frames are 0 where no length is stated, as in a file that was written in fragments.
pub(super) fn stated(bytes: &[u8]) -> Result<Stated, DecodeError> {
    // A file that was cut off misses the boxes that describe it or a part of the sound.
    let sound = inside(bytes, &[b"mdat"]);
    let movie = inside(bytes, &[b"moov"]).filter(|_| sound.is_some()).ok_or(DecodeError::Truncated)?;
    let none = || DecodeError::Broken("it is a film without sound".to_owned());
    let track = Boxes(movie)
        .filter(|(kind, _)| kind == b"trak")
        .find(|(_, track)| inside(track, &[b"mdia", b"hdlr"]).and_then(|handler| handler.get(8..12)) == Some(b"soun"));
    let (_, track) = track.ok_or_else(none)?;
    read(movie, track).ok_or_else(|| DecodeError::Broken("its description is damaged".to_owned()))
}

fn read(movie: &[u8], track: &[u8]) -> Option<Stated> {
    let (scale, duration) = scaled(inside(track, &[b"mdia", b"mdhd"])?)?;
    let entry = inside(track, &[b"mdia", b"minf", b"stbl", b"stsd"])?;
    // Count and flags 8, then the entry: size and kind 8, reserved 8, version 8, channels, bits, 4 more; the rate in 16.16.
    let rate = u32::try_from(be(entry, 8 + 8 + 8 + 8 + 8, 4)? >> 16).ok()?;
    let edit = inside(track, &[b"edts", b"elst"]).and_then(|list| edit(list, inside(movie, &[b"mvhd"])?));
    let (skip, lasts) = edit.unwrap_or((0, None));
    let in_frames = |time: u64| {
        Some(u128::from(time) * u128::from(rate) / u128::from(scale).max(1)).and_then(|n| u64::try_from(n).ok())
    };
    let (all, skip) = (in_frames(duration)?, in_frames(skip)?);
    let heard = all.saturating_sub(skip);
    let frames =
        lasts.and_then(|(time, scale)| u64::try_from(u128::from(time) * u128::from(rate) / u128::from(scale)).ok());
    // An edit's duration is rounded to the movie's scale, often to 1 ms: it may take away, never add.
    let close = |frames: &u64| *frames + u64::from(rate) / 500 < heard;
    Some(Stated { skip, ..Stated::new(rate, frames.filter(close).unwrap_or(heard)) })
}

/// Where an edit list's first real edit begins in the track's scale, and how long it lasts in the movie's.
fn edit(list: &[u8], header: &[u8]) -> Option<(u64, Option<(u64, u64)>)> {
    let long = *list.first()? == 1;
    let (size, field) = if long { (20, 8) } else { (12, 4) };
    let empty = if long { u64::MAX } else { u64::from(u32::MAX) };
    let count = usize::try_from(be(list, 4, 4)?).ok()?;
    let (movie, _) = scaled(header)?;
    let edits = list.get(8..)?.chunks_exact(size).take(count.min(16));
    let mut edits = edits.filter_map(|edit| Some((be(edit, 0, field)?, be(edit, field, field)?)));
    let (lasts, begins) = edits.find(|(_, begins)| *begins != empty)?;
    Some((begins, (lasts > 0 && movie > 0).then_some((lasts, movie))))
}
