//! What a sound file is to be: its sound, its places, and what it says of itself.
//!
//! How each format writes this down is in its own file; nothing here knows of bytes.

use crate::units::time::SampleRate;
use std::io;

/// The program named in every file.
pub const SOFTWARE: &str = concat!("Lengthwise ", env!("CARGO_PKG_VERSION"));
/// What its name begins with, whatever the version.
pub const FAMILY: &str = "Lengthwise ";

/// A named place in the sound.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Marker {
    /// Which frame. WAV cannot store places beyond 2^32 frames and leaves them out.
    pub frame: u64,
    /// What is there.
    pub label: String,
}

/// What a player shows. WAV has no place for the set.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tags {
    /// The file's title.
    pub title: String,
    /// The practice it belongs to.
    pub album: String,
    /// The set it holds, where it is one set's.
    pub set: Option<String>,
    /// Its number among the tracks, and how many there are.
    pub track: Option<(u32, u32)>,
}

/// What is to be written.
#[derive(Clone, Debug)]
pub struct Spec {
    /// Frames a second.
    pub rate: SampleRate,
    /// One channel, the mean of both, instead of two.
    pub mono: bool,
    /// How many frames will come.
    pub frames: u64,
    /// Places, in their order.
    pub markers: Vec<Marker>,
    /// What tells this render's source from others, found again by [`existing`](super::output::existing).
    pub identity: String,
    /// What a player shows.
    pub tags: Tags,
    /// How many threads may encode at once; the bytes are the same for any number.
    pub workers: usize,
    /// Kilobits a second of MP3, where not the usual ones.
    pub kilobits: Option<u32>,
}

/// A stretch of the sound with a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chapter<'a> {
    /// Its first frame.
    pub start: u64,
    /// The frame after its last.
    pub end: u64,
    /// What is there.
    pub label: &'a str,
}

impl Spec {
    /// So many stereo frames of a sound that says nothing of itself.
    pub fn plain(rate: SampleRate, frames: u64) -> Self {
        let (markers, identity, tags) = (Vec::new(), String::new(), Tags::default());
        Self { rate, mono: false, frames, markers, identity, tags, workers: 1, kilobits: None }
    }

    /// From each marker to the next, the last to the end.
    pub fn chapters(&self) -> impl Iterator<Item = Chapter<'_>> {
        let ends = self.markers.iter().skip(1).map(|next| next.frame).chain([self.frames]);
        self.markers.iter().zip(ends).map(|(marker, end)| Chapter { start: marker.frame, end, label: &marker.label })
    }

    /// A place in milliseconds, rounded to the nearest, a half up.
    #[expect(clippy::expect_used, reason = "a rate is 8 kHz or more, so there are fewer milliseconds than frames")]
    pub fn milliseconds(&self, frame: u64) -> u64 {
        let rate = u128::from(self.rate.hertz());
        u64::try_from((u128::from(frame) * 2000 + rate) / (2 * rate)).expect("fewer than frames")
    }
}

/// Frames that a file has been promised and that have not come: heads are written before the sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Promised(u64);

impl Promised {
    /// All frames of a file.
    pub const fn of(spec: &Spec) -> Self {
        Self(spec.frames)
    }

    /// So many have come.
    ///
    /// # Errors
    /// `InvalidData` where they are more than were left.
    pub fn take(&mut self, frames: u64) -> io::Result<()> {
        let left = self.0.checked_sub(frames);
        self.0 = left
            .ok_or_else(|| io::Error::new(io::ErrorKind::InvalidData, "more frames came than the header promises"))?;
        Ok(())
    }

    /// Whether all have come.
    ///
    /// # Errors
    /// `InvalidData` where some have not.
    pub fn kept(self) -> io::Result<()> {
        if self.0 == 0 {
            return Ok(());
        }
        let message = format!("{} of the frames promised in the header are missing", self.0);
        Err(io::Error::new(io::ErrorKind::InvalidData, message))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chapters_follow_each_other_to_the_end() {
        let markers = [(441, "one"), (44_100, "two")];
        let markers = markers.map(|(frame, label)| Marker { frame, label: label.into() }).to_vec();
        let spec = Spec { markers, ..Spec::plain(SampleRate::CD, 100_000) };
        let chapters: Vec<_> = spec.chapters().map(|c| (c.start, c.end, c.label)).collect();
        assert_eq!(chapters, [(441, 44_100, "one"), (44_100, 100_000, "two")]);
        // 22.05 frames are half a millisecond.
        assert_eq!([0, 22, 23, 441, 44_100].map(|frame| spec.milliseconds(frame)), [0, 0, 1, 10, 1000]);
        assert_eq!(spec.milliseconds(u64::MAX), 418_293_516_410_647_429);
    }
}
