//! Without a device: the practice goes on by the clock, and another device is looked for.

use super::super::faults::FaultKind;
use super::super::input::clock;
use super::super::outlet::{DeviceSearch, Facts, Handover, Outlet};
use super::super::record::RecordEvent;
use super::super::watch::Watch;
use super::{Session, span};
use crate::device::output;
use crate::units::frame::PracticeFrame;
use crossbeam_channel::bounded;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// After a failure the next attempt waits for this, then twice as long, up to the second.
const RETRY: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(1));
/// An attempt that takes longer than this is given up.
const ATTEMPT: Duration = Duration::from_secs(6);

impl Session<'_, '_, '_> {
    /// The device is gone: the practice goes on by the clock from the last frame that it took.
    pub(super) fn lose(&mut self, why: &'static str, stalled: bool) {
        let Outlet::Device { facts, watch, .. } = &self.outlet else { return };
        let (was, stood) = (facts.name.clone(), watch.since_moved());
        let heard = self.performance.heard(self.position());
        // What it had stored may not have come out.
        let given = heard.minus(2 * u64::from(facts.buffer)).time(self.performance.rate);
        let from = heard.time(self.performance.rate);
        self.performance.say(heard, &format!("no sound: {why}"));
        let now = if self.performance.paused { from } else { self.due().unwrap_or(from + stood) };
        self.performance.falls_silent(given, from);
        let Ok(mixer) = self.performance.reseat(Arc::clone(&self.bank), now) else { return };
        self.time.is_on_time();
        self.outlet = Outlet::Nothing {
            mixer: Box::new(mixer),
            since: Instant::now(),
            rendered: 0,
            from,
            why,
            was,
            stalled,
            search: DeviceSearch::Wait,
            retry: RETRY.0,
            begun: Instant::now(),
        };
    }

    /// One step on the way to another device.
    pub(super) fn seek(&mut self) {
        let wish = self.live.wish.clone();
        let Outlet::Nothing { search, retry, begun, .. } = &mut self.outlet else { return };
        let again = match std::mem::replace(search, DeviceSearch::Wait) {
            DeviceSearch::Wait if begun.elapsed() >= *retry => Some(DeviceSearch::Find(output::find(&wish))),
            DeviceSearch::Wait => return,
            DeviceSearch::Find(pending) => match pending.poll() {
                None if begun.elapsed() < ATTEMPT => {
                    *search = DeviceSearch::Find(pending);
                    return;
                }
                Some(Ok(found)) if found.rate() == self.bank.rate => {
                    let (facts, handover) = (Facts::of(&found), Handover::new());
                    Some(DeviceSearch::Open(
                        facts,
                        Arc::clone(&self.bank),
                        found.play(handover.starts.clone()),
                        handover,
                    ))
                }
                Some(Ok(found)) => {
                    let (to, from) = bounded(1);
                    let (banks, rate) = (self.performance.programme.banks, found.rate());
                    self.scope.spawn(move || to.send((banks)(rate)));
                    Some(DeviceSearch::Bank(found, from))
                }
                _ => None,
            },
            DeviceSearch::Bank(found, from) => match from.try_recv() {
                Ok(Ok(bank)) => {
                    let (facts, handover) = (Facts::of(&found), Handover::new());
                    Some(DeviceSearch::Open(facts, Arc::new(bank), found.play(handover.starts.clone()), handover))
                }
                Err(crossbeam_channel::TryRecvError::Empty) => {
                    *search = DeviceSearch::Bank(found, from);
                    return;
                }
                _ => None,
            },
            DeviceSearch::Open(facts, bank, pending, handover) => match pending.poll() {
                None if begun.elapsed() < ATTEMPT => {
                    *search = DeviceSearch::Open(facts, bank, pending, handover);
                    return;
                }
                Some(Ok(playing)) => Some(DeviceSearch::Run(facts, bank, playing, handover)),
                _ => None,
            },
            DeviceSearch::Run(facts, bank, playing, handover) => {
                if playing.health().frames() > 0 {
                    let position = self.performance.controls.figures.position();
                    let at = self.performance.heard(position).time(self.performance.rate);
                    self.bank = bank;
                    Some(DeviceSearch::Hand { facts, playing, handover, at, since: Instant::now(), offered: false })
                } else if begun.elapsed() < ATTEMPT && playing.health().failure().is_none() {
                    *search = DeviceSearch::Run(facts, bank, playing, handover);
                    return;
                } else {
                    None
                }
            }
            hand @ DeviceSearch::Hand { .. } => {
                self.hand(hand);
                return;
            }
        };
        match again {
            Some(next) => *search = next,
            None => *retry = (*retry * 2).min(RETRY.1),
        }
        *begun = Instant::now();
    }

    /// Offers the device a mixer that starts where the practice is now; once it has taken one there is sound again.
    fn hand(&mut self, hand: DeviceSearch) {
        let DeviceSearch::Hand { facts, playing, handover, at, since, offered } = hand else { return };
        let Outlet::Nothing { from, why, begun, was, .. } = &self.outlet else { return };
        let (from, why, begun, was) = (*from, *why, *begun, was.clone());
        if offered && handover.starts.try_recv().is_err() {
            let now = self.performance.heard(self.position()).time(self.performance.rate);
            let heard = PracticeFrame::at(now, self.performance.rate);
            self.performance.note(heard, RecordEvent::Gap { from, why: why.to_owned() });
            let elsewhere = (facts.name != was).then(|| was.clone());
            let device = RecordEvent::Device { name: facts.name.clone(), rate: facts.rate.hertz(), was: elsewhere };
            self.performance.note(heard, device);
            let (gone, name) = (clock(now - from), &facts.name);
            self.performance.say(heard, &format!("sound again after {gone}: {name}, {} Hz", facts.rate.hertz()));
            let words = format!("no sound from {from} to {now}: {why}; now through {name}");
            self.performance.faults.add(FaultKind::Sound, "sound was away", words);
            if *name != was {
                let words = format!("now through {name}, no longer through {was}");
                self.performance.say(heard, &words);
                self.performance.faults.add(FaultKind::Output, "other output", words);
            }
            self.performance.silence.end(now);
            self.time.has_device(facts.block());
            self.outlet = Outlet::Device { watch: Watch::new(facts.block()), playing, facts, before: 0 };
            return;
        }
        let now = if self.performance.paused { at } else { self.due().unwrap_or(at + span(since.elapsed())) };
        let failed = playing.health().failure().is_some() || begun.elapsed() > ATTEMPT;
        let Ok(made) = self.performance.reseat(Arc::clone(&self.bank), now) else { return };
        let Outlet::Nothing { mixer, since, rendered, search, .. } = &mut self.outlet else { return };
        if failed {
            // Back to the clock, with the mixer that nobody took.
            (**mixer, *since, *rendered) = (made, Instant::now(), 0);
        } else {
            let _ = handover.start.send(made);
            *search = DeviceSearch::Hand { facts, playing, handover, at: now, since: Instant::now(), offered: true };
        }
    }
}
