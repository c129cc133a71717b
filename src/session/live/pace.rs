//! Keeping a practice to the clock of the pool: what the device has lost is told, and made good where nobody notices.

use super::super::faults::FaultKind;
use super::super::record::RecordEvent;
use super::super::timekeeper::TOLD;
use super::{Outlet, Session};
use crate::conductor::command::{Command, CourseCommand};
use crate::units::time::{NANOS, Seconds};
use std::time::{Duration, Instant};

/// Behind by more than this, and by more than a block and a half, at once: blocks were lost, it is no chance of the
/// scheduler's.
const SLIP: Seconds = Seconds::from_millis(30);
/// Off by less, and by less than a quarter of a block, nothing is done: readings scatter by so much.
const LEAST: Seconds = Seconds::from_millis(40);
/// Behind by so much, somebody must see it: a swimmer notices.
const ALARM: Seconds = Seconds::from_millis(500);
/// Between two looks for a place to make it good.
const AGAIN: Duration = Duration::from_millis(100);

impl Session<'_, '_, '_> {
    /// Where the practice is due now, if that is known.
    pub(super) fn due(&mut self) -> Option<Seconds> {
        let now = self.time.clock.now();
        self.time.pool.due(now)
    }

    /// Blocks did not come in time.
    pub(super) fn waited(&mut self, blocks: u64) {
        if blocks > 0 {
            self.missed_blocks += blocks;
            let heard = self.performance.heard(self.position());
            self.performance.note(heard, RecordEvent::Underrun { blocks });
            self.performance.say(heard, &format!("the device had to wait for {blocks} blocks"));
        }
    }

    /// Looks at the clock, tells what has been lost since, and makes it good if this is the place.
    pub(super) fn keep_time(&mut self) {
        if self.performance.paused {
            self.time.pool.stand();
        }
        if let Some((id, by)) = self.time.under_way {
            if !self.performance.waits_for(id) {
                self.time.under_way = None;
                self.time.pool.shifted(by);
                self.time.known = self.time.pool.behind();
                if by >= TOLD {
                    let heard = self.performance.heard(self.position());
                    self.performance.say(heard, &format!("{} made good", words(by)));
                    self.performance.faults.amend(FaultKind::Behind, &format!("; {} made good", words(by)));
                }
            }
            return;
        }
        if self.performance.paused {
            return;
        }
        let practice = self.position().time(self.performance.rate);
        let now = self.time.clock.now();
        self.time.pool.read(now, practice);
        let behind = self.time.pool.behind();
        let lost = behind - self.time.known;
        if lost > SLIP.max(self.time.block.scaled(3, 2)) {
            self.time.known = behind;
            let blocks = lost.as_f64() / self.time.block.as_f64().max(0.001);
            self.waited(libm::round(blocks).max(1.0) as u64);
            if behind >= TOLD {
                let heard = self.performance.heard(self.position());
                self.performance.note(heard, RecordEvent::Behind { by: behind });
                self.performance.say(heard, &format!("{} behind", words(behind)));
                if behind >= ALARM {
                    let at = Seconds::from_secs(heard.time(self.performance.rate).nanos() / NANOS);
                    let told = format!("{} behind the clock at {at}", words(behind));
                    self.performance.faults.add(FaultKind::Behind, &format!("{} behind", words(behind)), told);
                }
            }
        } else {
            // What comes slowly is the device's own clock.
            self.time.known += if lost < Seconds::ZERO { lost } else { lost.scaled(1, 500) };
        }
        let least = LEAST.max(self.time.block.scaled(1, 4));
        if (behind >= least || behind <= Seconds::ZERO - least) && self.time.looked.elapsed() >= AGAIN {
            self.time.looked = Instant::now();
            self.shift(behind);
        }
    }

    fn shift(&mut self, behind: Seconds) {
        // Nobody hears it: there is nothing to be kept in time.
        if !matches!(self.outlet, Outlet::Device { .. }) {
            return;
        }
        let by = Seconds::from_millis(behind.nanos() / 1_000_000);
        let timing = self.timing();
        if self.performance.conductor.may_shift(timing.practice, by) {
            let command = Command::Course(CourseCommand::Shift(by));
            self.time.under_way = self.performance.command(command, timing).map(|id| (id, by));
        }
    }
}

/// As people say it: `3.1 s`.
fn words(time: Seconds) -> String {
    format!("{:.1} s", time.as_f64())
}
