//! Watches a device by the frames that it takes: whether it stands still, and whether it lost some on the way.

use crate::device::health::Health;
use crate::units::time::{SampleRate, Seconds};
use std::time::{Duration, Instant};

/// A device that takes nothing for so long, or for six blocks, stands still.
const STILL: Duration = Duration::from_secs(1);
/// So long after a device has been opened it may take its time: one was seen to pause for 0.8 s behind its first blocks.
const OPENING: Duration = Duration::from_secs(3);
/// A reading that is later than this, and than a block and a half, is a slip and no chance of the scheduler's.
const SLIP: f64 = 0.030;

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
    rate: SampleRate,
    block: f64,
    opened: Instant,
    moved: Instant,
    seen: u64,
    /// By how much the device is behind the clock when all is well, in seconds; it follows slowly, as clocks differ.
    usual: Option<f64>,
}

impl Watch {
    pub(super) fn new(rate: SampleRate, buffer: u32) -> Self {
        let block = f64::from(buffer) / f64::from(rate.hertz());
        Self { rate, block, opened: Instant::now(), moved: Instant::now(), seen: 0, usual: None }
    }

    /// When it last took frames.
    pub(super) fn moved(&self) -> Instant {
        self.moved
    }

    /// How long that is ago.
    pub(super) fn since_moved(&self) -> Seconds {
        Seconds::from_nanos(self.moved.elapsed().as_nanos() as i64)
    }

    /// How it is, and blocks that it went without since the last look.
    pub(super) fn look(&mut self, health: &Health) -> (Verdict, u64) {
        let (frames, now) = (health.frames(), Instant::now());
        let undisturbed = frames == health.frames();
        if let Some(reason) = health.failure() {
            return (Verdict::Failed(reason.words()), 0);
        }
        if frames == self.seen {
            let still = STILL.max(Duration::from_secs_f64(6.0 * self.block));
            let still = if now - self.opened < OPENING { OPENING } else { still };
            let verdict = if now - self.moved > still { Verdict::Stalled } else { Verdict::Well };
            return (verdict, 0);
        }
        (self.seen, self.moved) = (frames, now);
        let slipped = if undisturbed { self.slipped(frames, now) } else { 0 };
        (Verdict::Well, slipped)
    }

    fn slipped(&mut self, frames: u64, now: Instant) -> u64 {
        let behind = (now - self.opened).as_secs_f64() - self.rate.time(frames).as_f64();
        // The first blocks fill the device's buffer, faster than the clock.
        if now - self.opened < Duration::from_secs(1) {
            self.usual = None;
            return 0;
        }
        let usual = *self.usual.get_or_insert(behind);
        let late = behind - usual;
        if late > (1.5 * self.block).max(SLIP) {
            self.usual = Some(behind);
            return libm::round(late / self.block).max(1.0) as u64;
        }
        // Half a block of scatter is the device's own; a lower reading is at once the usual one.
        self.usual = Some(if late < 0.0 { behind } else { usual + late * 0.002 });
        0
    }
}
