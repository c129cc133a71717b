//! Where the sound of a session goes: a device, or nowhere while one is looked for.

use super::watch::Watch;
use crate::audio::bank::Bank;
use crate::device::Pending;
use crate::device::output::{FoundOutput, Playing};
use crate::mixer::Mixer;
use crate::timeline::bank::BankError;
use crate::units::time::{SampleRate, Seconds};
use crossbeam_channel::{Receiver, Sender, bounded};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// What is shown of a device.
#[derive(Clone, Debug)]
pub(super) struct Facts {
    pub(super) name: String,
    pub(super) rate: SampleRate,
    pub(super) buffer: u32,
}

impl Facts {
    pub(super) fn of(found: &FoundOutput) -> Self {
        Self { name: found.name().to_owned(), rate: found.rate(), buffer: found.buffer() }
    }

    /// How long a block is.
    pub(super) fn block(&self) -> Seconds {
        self.rate.time(u64::from(self.buffer))
    }
}

/// What pulls the mixer.
#[expect(clippy::large_enum_variant, reason = "there is one of it, and it moves only when a device comes or goes")]
pub(super) enum Outlet {
    Device {
        playing: Playing,
        facts: Facts,
        watch: Watch,
        /// Underruns that have been counted.
        before: u32,
    },
    Nothing {
        mixer: Box<Mixer>,
        /// The clock of this stretch, and the frames rendered by it.
        since: Instant,
        rendered: u64,
        /// When the gap began in the practice, and why.
        from: Seconds,
        why: &'static str,
        /// The name of the device before.
        was: String,
        /// Whether that takes no more sound without saying why.
        stalled: bool,
        search: DeviceSearch,
        retry: Duration,
        begun: Instant,
    },
}

/// Hands a mixer to a device; what has not been taken can be taken back.
#[derive(Clone)]
pub(super) struct Handover {
    pub(super) start: Sender<Mixer>,
    pub(super) starts: Receiver<Mixer>,
}

impl Handover {
    pub(super) fn new() -> Self {
        let (start, starts) = bounded(1);
        Self { start, starts }
    }
}

/// On the way to another device.
#[expect(clippy::large_enum_variant, reason = "there is one of it, and it moves only when a device comes or goes")]
pub(super) enum DeviceSearch {
    Wait,
    Find(Pending<FoundOutput>),
    Bank(FoundOutput, Receiver<Result<Bank, BankError>>),
    Open(Facts, Arc<Bank>, Pending<Playing>, Handover),
    Run(Facts, Arc<Bank>, Playing, Handover),
    /// A mixer waits for the device to take it: made again until it does, or the practice would wait with it. A new device
    /// was seen to let 0.5 s pass between its first block and its second.
    Hand {
        facts: Facts,
        playing: Playing,
        handover: Handover,
        at: Seconds,
        since: Instant,
        offered: bool,
    },
}

/// The question which output is the system's.
#[derive(Debug)]
pub(super) struct WhichOutput {
    /// When it was asked last.
    pub(super) asked: Instant,
    /// The answer that is waited for.
    pub(super) pending: Option<Pending<FoundOutput>>,
}
