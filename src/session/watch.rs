//! Watches a device by the frames that it takes: whether it stands still. Whether it is late is `pool`'s job.

use crate::device::health::Health;
use crate::units::time::Seconds;
use std::time::{Duration, Instant};

/// A device that takes nothing for so long, or for six blocks, stands still.
const STILL: Duration = Duration::from_secs(1);
/// So long after a device has been opened it may take its time: one was seen to pause for 0.8 s behind its first blocks.
const OPENING: Duration = Duration::from_secs(3);
/// Between two looks that lie further apart it was this program that stood still.
const ASLEEP: Duration = Duration::from_millis(500);

/// What a look tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Verdict {
    Well,
    Failed(&'static str),
    Stalled,
}

/// Judges a device by the frames that it takes.
#[derive(Debug)]
pub(super) struct Watch {
    /// How long it may stand.
    still: Duration,
    opened: Instant,
    looked: Instant,
    moved: Instant,
    seen: u64,
}

impl Watch {
    /// For a device that takes blocks of such a length.
    pub(super) fn new(block: Seconds) -> Self {
        let (now, blocks) = (Instant::now(), block.scaled(6, 1).nanos().unsigned_abs());
        Self { still: STILL.max(Duration::from_nanos(blocks)), opened: now, looked: now, moved: now, seen: 0 }
    }

    /// How long ago it last took frames.
    pub(super) fn since_moved(&self) -> Seconds {
        Seconds::from_nanos(self.moved.elapsed().as_nanos() as i64)
    }

    /// How it is.
    pub(super) fn look(&mut self, health: &Health) -> Verdict {
        let (frames, now) = (health.frames(), Instant::now());
        if now - std::mem::replace(&mut self.looked, now) > ASLEEP {
            self.moved = now;
        }
        if let Some(reason) = health.failure() {
            return Verdict::Failed(reason.words());
        }
        if frames != self.seen {
            (self.seen, self.moved) = (frames, now);
            return Verdict::Well;
        }
        let still = if now - self.opened < OPENING { OPENING } else { self.still };
        if now - self.moved > still { Verdict::Stalled } else { Verdict::Well }
    }
}
