//! How a stream fares, as its callback and its host publish it and others read it: figures, nothing that waits.

use cpal::ErrorKind;
use std::sync::atomic::{AtomicBool, AtomicU8, AtomicU32, AtomicU64, Ordering};

/// Why a stream runs no more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// The device is gone.
    Removed,
    /// The sound server is gone.
    ServerGone,
    /// Anything else that the system reports.
    Failed,
    /// The mixer failed: a mistake of this program.
    Broken,
}

impl Reason {
    /// For the screen and the record.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Removed => "the device is gone",
            Self::ServerGone => "the sound server is gone",
            Self::Failed => "the device failed",
            Self::Broken => "the mixer failed",
        }
    }

    const fn code(self) -> u8 {
        match self {
            Self::Removed => 1,
            Self::ServerGone => 2,
            Self::Failed => 3,
            Self::Broken => 4,
        }
    }
}

/// The figures of one stream. Each stands alone, so all accesses are relaxed.
#[derive(Debug, Default)]
pub struct Health {
    frames: AtomicU64,
    largest: AtomicU32,
    underruns: AtomicU32,
    reason: AtomicU8,
    silent: AtomicBool,
}

impl Health {
    /// Frames given to the device, or taken from it, since it was opened.
    pub fn frames(&self) -> u64 {
        self.frames.load(Ordering::Relaxed)
    }

    /// The most frames that it moved at once of late. A stream that begins, or has stalled, asks for all that it stores;
    /// with each block that counts for less, so that it is forgotten in a few seconds.
    pub fn largest(&self) -> u32 {
        self.largest.load(Ordering::Relaxed)
    }

    /// How often frames came too late, to it or from it.
    pub fn underruns(&self) -> u32 {
        self.underruns.load(Ordering::Relaxed)
    }

    /// Why it runs no more, if so.
    pub fn failure(&self) -> Option<Reason> {
        let code = self.reason.load(Ordering::Relaxed);
        [Reason::Removed, Reason::ServerGone, Reason::Failed, Reason::Broken].into_iter().find(|r| r.code() == code)
    }

    /// So many frames in all have gone to or come from the device, and so many of them just now.
    pub(super) fn moved(&self, all: u64, now: u64) {
        self.frames.store(all, Ordering::Relaxed);
        let (now, before) = (u32::try_from(now).unwrap_or(u32::MAX), self.largest());
        // Nobody but the stream's own thread writes it.
        self.largest.store(now.max(before - before.saturating_sub(now).div_ceil(8)), Ordering::Relaxed);
    }

    pub(super) fn fail(&self, reason: Reason) {
        // The first reason is the true one: the others follow from it.
        let _ = self.reason.compare_exchange(0, reason.code(), Ordering::Relaxed, Ordering::Relaxed);
    }

    pub(super) fn count_underrun(&self) {
        self.underruns.fetch_add(1, Ordering::Relaxed);
    }

    /// The callback gives and takes nothing from its next block on, whoever still calls it.
    pub(super) fn silence(&self) {
        self.silent.store(true, Ordering::Relaxed);
    }

    pub(super) fn is_silenced(&self) -> bool {
        self.silent.load(Ordering::Relaxed)
    }

    /// What a stream's error means for it. Some hosts report one from the audio thread, and a million times a second: this only
    /// sets figures.
    pub(super) fn hear(&self, kind: ErrorKind) {
        match kind {
            ErrorKind::Xrun => self.count_underrun(),
            ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied | ErrorKind::DeviceBusy => {}
            ErrorKind::DeviceNotAvailable => self.fail(Reason::Removed),
            ErrorKind::StreamInvalidated | ErrorKind::HostUnavailable => self.fail(Reason::ServerGone),
            _ => self.fail(Reason::Failed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_first_block_of_twice_the_size_is_forgotten_in_two_seconds() {
        let health = Health::default();
        health.moved(4_096, 4_096);
        assert_eq!(health.largest(), 4_096);
        // Of 46 ms each, and not quite alike.
        for block in 1..=40 {
            health.moved(4_096 + block * 2_048, if block % 2 == 0 { 2_048 } else { 2_030 });
        }
        assert!((2_040..=2_100).contains(&health.largest()), "{}", health.largest());
        health.moved(1 << 20, 3_000);
        assert_eq!(health.largest(), 3_000);
    }
}
