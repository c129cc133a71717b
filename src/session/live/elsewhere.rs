//! Whether the system has moved the sound to another output: a sound server does that without a word, and without a gap.
//!
//! A stream cannot be asked where it ends. It follows the system's default output, so that is asked from time to time, on a
//! thread of its own; where somebody has named a device the sound stays there or is lost.

use super::super::faults::FaultKind;
use super::super::outlet::WhichOutput;
use super::super::record::RecordEvent;
use super::{Outlet, Session};
use crate::device::output;
use std::time::{Duration, Instant};

/// Between two questions.
const AGAIN: Duration = Duration::from_secs(3);

impl Session<'_, '_, '_> {
    /// Asks now and then which output is the system's, and tells where the sound has gone.
    pub(super) fn look_elsewhere(&mut self) {
        let Outlet::Device { facts, .. } = &mut self.outlet else { return };
        if self.live.wish.name.is_some() {
            return;
        }
        let found = match &self.which_output.pending {
            // One that hangs is asked no more.
            Some(pending) => pending.poll(),
            None if self.which_output.asked.elapsed() >= AGAIN => {
                self.which_output = WhichOutput { asked: Instant::now(), pending: Some(output::find(&self.live.wish)) };
                return;
            }
            None => return,
        };
        let Some(found) = found else { return };
        self.which_output.pending = None;
        let Some(found) = found.ok().filter(|found| found.name() != facts.name) else { return };
        let (name, rate) = (found.name().to_owned(), facts.rate.hertz());
        let was = std::mem::replace(&mut facts.name, name.clone());
        let heard = self.performance.heard(self.position());
        let words = format!("now through {name}, no longer through {was}");
        self.performance.say(heard, &words);
        self.performance.faults.add(FaultKind::Output, "other output", words);
        self.performance.note(heard, RecordEvent::Device { name, rate, was: Some(was) });
    }
}
