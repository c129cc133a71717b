//! The microphone of a recording: opened, listened to, and looked for again where it goes away.
//!
//! What is made of the sound, and what is told of all this, is `live`'s job.

use crate::device::input::{self, FoundInput, Listening};
use crate::device::{DeviceError, Pending, Wish};
use crate::units::time::SampleRate;
use crossbeam_channel::RecvTimeoutError;
use std::time::{Duration, Instant};

/// How long a wait for sound lasts before answers and everything else are looked at.
const LOOK: Duration = Duration::from_millis(10);
/// How long the system may take to find or open a microphone.
const PATIENCE: Duration = Duration::from_secs(5);
/// A microphone that gives nothing for so long is gone, whatever the system says.
const STALLED: Duration = Duration::from_secs(2);
/// How long to wait before a lost microphone is looked for again.
const RETRY: Duration = Duration::from_secs(1);

/// A microphone, there or not.
pub(super) struct Microphone {
    wish: Wish,
    state: MicrophoneState,
}

enum MicrophoneState {
    Open(OpenMicrophone),
    Lost(Instant),
    Finding(Pending<FoundInput>),
    Opening(Pending<Listening>, String),
}

struct OpenMicrophone {
    listening: Listening,
    name: String,
    /// The frames that had come, and when the last of them came.
    moved: (u64, Instant),
    /// The losses that have been told.
    torn: u32,
}

/// What a look at the microphone has found.
#[derive(Default)]
pub(super) struct MicrophoneLook {
    /// A part of the sound is missing.
    pub(super) torn: bool,
    /// What has become of it, if that is something else.
    pub(super) change: Option<MicrophoneChange>,
}

/// What becomes of a microphone.
pub(super) enum MicrophoneChange {
    /// It gives no more sound, and is looked for.
    Gone,
    /// It, or another one, gives sound again.
    Back {
        /// What people call it.
        name: String,
        /// Frames a second.
        rate: SampleRate,
    },
}

impl OpenMicrophone {
    fn new(listening: Listening, name: String) -> Self {
        Self { listening, name, moved: (0, Instant::now()), torn: 0 }
    }

    /// Waits for sound and hands on all there is; whether it still comes, and whether a part is missing.
    fn hear(&mut self, mut hear: impl FnMut(&[f32], SampleRate)) -> MicrophoneLook {
        let first = self.listening.heard().recv_timeout(LOOK);
        for block in first.iter().copied().chain(self.listening.heard().try_iter()) {
            hear(block.samples(), self.listening.rate());
        }
        let health = self.listening.health();
        let torn = health.underruns() > self.torn;
        self.torn = health.underruns();
        if health.frames() > self.moved.0 {
            self.moved = (health.frames(), Instant::now());
        }
        let gone = health.failure().is_some()
            || self.moved.1.elapsed() > STALLED
            || matches!(first, Err(RecvTimeoutError::Disconnected));
        MicrophoneLook { torn, change: gone.then_some(MicrophoneChange::Gone) }
    }
}

impl Microphone {
    /// Finds and opens one.
    ///
    /// # Errors
    /// Where there is none, or it does not answer.
    pub(super) fn open(wish: Wish) -> Result<Self, DeviceError> {
        let found = input::find(&wish).wait(PATIENCE)?;
        let name = found.name().to_owned();
        let listening = found.listen().wait(PATIENCE)?;
        Ok(Self { wish, state: MicrophoneState::Open(OpenMicrophone::new(listening, name)) })
    }

    /// Its name and its rate, as long as it is there.
    pub(super) fn facts(&self) -> Option<(&str, SampleRate)> {
        match &self.state {
            MicrophoneState::Open(open) => Some((&open.name, open.listening.rate())),
            _ => None,
        }
    }

    /// Whether it is there.
    pub(super) const fn is_open(&self) -> bool {
        matches!(self.state, MicrophoneState::Open(_))
    }

    /// Waits a moment for sound and hands on all there is; looks after it.
    pub(super) fn look(&mut self, hear: impl FnMut(&[f32], SampleRate)) -> MicrophoneLook {
        if let MicrophoneState::Open(open) = &mut self.state {
            let look = open.hear(hear);
            if look.change.is_some() {
                self.state = MicrophoneState::Lost(Instant::now());
            }
            return look;
        }
        std::thread::sleep(LOOK);
        MicrophoneLook { change: self.seek(), ..MicrophoneLook::default() }
    }

    /// One step on the way to another one.
    fn seek(&mut self) -> Option<MicrophoneChange> {
        let failed = || MicrophoneState::Lost(Instant::now());
        match &mut self.state {
            MicrophoneState::Open(_) => {}
            MicrophoneState::Lost(since) if since.elapsed() < RETRY => {}
            MicrophoneState::Lost(_) => self.state = MicrophoneState::Finding(input::find(&self.wish)),
            MicrophoneState::Finding(pending) => match pending.poll()? {
                Ok(found) => {
                    let name = found.name().to_owned();
                    self.state = MicrophoneState::Opening(found.listen(), name);
                }
                Err(_) => self.state = failed(),
            },
            MicrophoneState::Opening(pending, name) => match pending.poll()? {
                Ok(listening) => {
                    let (name, rate) = (std::mem::take(name), listening.rate());
                    self.state = MicrophoneState::Open(OpenMicrophone::new(listening, name.clone()));
                    return Some(MicrophoneChange::Back { name, rate });
                }
                Err(_) => self.state = failed(),
            },
        }
        None
    }

    /// What was heard until now goes.
    pub(super) fn forget(&mut self) {
        if let MicrophoneState::Open(open) = &mut self.state {
            while open.listening.heard().try_recv().is_ok() {}
            open.torn = open.listening.health().underruns();
        }
    }
}
