//! What a session knows of the clock of the pool: how far behind it is, what of that has been told, what is being done about
//! it. The measuring is `pool`'s job, the doing `live`'s.

use super::monotonic::Monotonic;
use super::pool::PoolClock;
use crate::conductor::command::CommandId;
use crate::units::time::Seconds;
use std::time::Instant;

/// Behind by so much, people are told.
pub(super) const TOLD: Seconds = Seconds::from_millis(100);

/// How a session keeps to the clock of the pool.
#[derive(Debug)]
pub(super) struct Timekeeper {
    pub(super) clock: Monotonic,
    pub(super) pool: PoolClock,
    pub(super) block: Seconds,
    /// How far behind it was when that was last told or taken for granted.
    pub(super) known: Seconds,
    /// On its way to the mixer, with how much is made good by it.
    pub(super) under_way: Option<(CommandId, Seconds)>,
    /// When a place to make it good was last looked for.
    pub(super) looked: Instant,
}

impl Timekeeper {
    /// For a device that takes blocks of such a length.
    pub(super) fn new(block: Seconds) -> Self {
        let (clock, pool) = (Monotonic::start(), PoolClock::new(block));
        Self { clock, pool, block, known: Seconds::ZERO, under_way: None, looked: Instant::now() }
    }

    /// How far behind it is, where people should know.
    pub(super) fn shown(&self) -> Option<Seconds> {
        Some(self.pool.behind()).filter(|behind| *behind >= TOLD)
    }

    /// The practice has been put where it is due.
    pub(super) fn is_on_time(&mut self) {
        self.pool.shifted(self.pool.behind());
        (self.known, self.under_way) = (Seconds::ZERO, None);
    }

    /// Another device goes on from where it is due, in blocks of such a length.
    pub(super) fn has_device(&mut self, block: Seconds) {
        self.block = block;
        self.pool.has_device(block);
    }
}
