//! A session through a device: what is asked for, what the device does, and what is done about it.
//!
//! Where there is no device the practice goes on without one: the mixer is pulled by the monotonic clock and nobody hears
//! it, so that commands, gos and touches are as ever. Meanwhile a device is looked for, through a new connection each time;
//! once one runs, a new mixer starts at that moment of the practice. How is in `seek`, how the practice keeps to the clock
//! of the pool in `pace`, how it is found that the sound comes out of another device in `elsewhere`.

mod elsewhere;
mod pace;
mod seek;

use super::input::Input;
use super::outlet::{DeviceSearch, Facts, Outlet, WhichOutput};
use super::performance::{Performance, Programme, SessionEnd};
use super::record::{RecordPlace, Recorder, date_time};
use super::snapshot::{DeviceState, Snapshot};
use super::timekeeper::Timekeeper;
use super::watch::{Verdict, Watch};
use crate::conductor::command::{Command, DeskCommand, Timing};
use crate::device::output::FoundOutput;
use crate::device::{DeviceError, Pending, Wish};
use crate::timeline::bank::BankError;
use crate::timeline::lower::BankMismatch;
use crate::units::frame::PracticeFrame;
use crate::units::time::Seconds;
use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, bounded, never};
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::Scope;
use std::time::{Duration, Instant, SystemTime};

/// Between two looks at everything.
const TICK: Duration = Duration::from_millis(10);
/// Between two snapshots.
const SHOW: Duration = Duration::from_millis(50);
/// How long the first device may take.
const PATIENCE: Duration = Duration::from_secs(5);
/// From a command to its effect, beyond two blocks of the device.
const AHEAD: Seconds = Seconds::from_millis(15);
/// Frames at a time without a device.
const UNHEARD: usize = 512;

/// How a session is to run.
pub struct Live<'l> {
    /// Which device.
    pub wish: Wish,
    /// The search for it, which may have begun long ago.
    pub finding: Pending<FoundOutput>,
    /// Where the record goes.
    pub place: RecordPlace,
    /// What is asked for.
    pub inputs: Receiver<Input>,
    /// Who looks at it; snapshots that nobody takes are dropped.
    pub snapshots: Option<Sender<Snapshot>>,
    /// Set by a signal.
    pub stop: &'l AtomicBool,
}

/// Why there was no session.
#[derive(Debug)]
pub enum NoSession {
    /// No device.
    Device(DeviceError),
    /// No clips.
    Bank(BankError),
    /// A mistake of this program.
    Internal(BankMismatch),
    /// The record cannot be begun.
    Record(std::io::Error),
}

impl fmt::Display for NoSession {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Device(error) => error.fmt(f),
            Self::Bank(error) => error.fmt(f),
            Self::Internal(error) => error.fmt(f),
            Self::Record(error) => write!(f, "cannot begin the session record: {error}"),
        }
    }
}

impl std::error::Error for NoSession {}

/// Plays a practice to its end. `tell` hears what happens, a line each.
///
/// # Errors
/// Where it cannot begin. What goes wrong later is part of the session.
pub fn play(programme: Programme<'_>, live: Live<'_>, tell: &mut dyn FnMut(&str)) -> Result<SessionEnd, NoSession> {
    let found = live.finding.wait(PATIENCE).map_err(NoSession::Device)?;
    let bank = Arc::new((programme.banks)(found.rate()).map_err(NoSession::Bank)?);
    let head = Performance::head(&programme, found.name(), found.rate(), date_time(SystemTime::now()));
    let recorder = Recorder::begin(&live.place, &head).map_err(NoSession::Record)?;
    let begun = Performance::begin(programme, Arc::clone(&bank), recorder);
    let (performance, mixer) = begun.map_err(NoSession::Internal)?;
    let (start, starts) = bounded(1);
    // There is room for one, and nobody else has the sender.
    let _ = start.send(mixer);
    let facts = Facts::of(&found);
    let playing = found.play(starts).wait(PATIENCE).map_err(NoSession::Device)?;
    std::thread::scope(|scope| {
        let time = Timekeeper::new(facts.block());
        let outlet = Outlet::Device { watch: Watch::new(facts.block()), playing, facts, before: 0 };
        let which_output = WhichOutput { asked: Instant::now(), pending: None };
        let mut session = Session {
            performance,
            bank,
            outlet,
            live,
            scope,
            time,
            missed_blocks: 0,
            begun: false,
            which_output,
            tell,
        };
        session.run()
    })
}

struct Session<'scope, 'env, 's> {
    performance: Performance<'env>,
    bank: Arc<crate::audio::bank::Bank>,
    outlet: Outlet,
    live: Live<'s>,
    scope: &'scope Scope<'scope, 'env>,
    time: Timekeeper,
    missed_blocks: u64,
    /// Whether the device has taken the first frames.
    begun: bool,
    /// Whether the sound has gone to another output is asked from time to time.
    which_output: WhichOutput,
    tell: &'s mut dyn FnMut(&str),
}

impl Session<'_, '_, '_> {
    fn run(&mut self) -> Result<SessionEnd, NoSession> {
        let mut shown = Instant::now();
        let (reason, interrupted) = loop {
            match self.live.inputs.recv_timeout(TICK) {
                Ok(Input::Do(command)) => self.command(command),
                Ok(Input::Stop) => break ("stopped", false),
                Err(RecvTimeoutError::Timeout) => {}
                // At the end of the input it plays on.
                Err(RecvTimeoutError::Disconnected) => self.live.inputs = never(),
            }
            // Only a flag: nothing else is read through it.
            if self.live.stop.load(Ordering::Relaxed) {
                break ("stopped by a signal", true);
            }
            self.step();
            if self.performance.over(self.position()) {
                self.drain();
                break ("the end", false);
            }
            if shown.elapsed() >= SHOW {
                shown = Instant::now();
                self.show();
            }
        };
        if reason != "the end" {
            self.fade();
        }
        self.performance.end(self.position(), reason);
        self.pass_on();
        Ok(self.performance.ended(self.position(), interrupted, self.missed_blocks))
    }

    fn position(&self) -> PracticeFrame {
        self.performance.controls.figures.position()
    }

    fn pass_on(&mut self) {
        for line in self.performance.take_lines() {
            (self.tell)(&line);
        }
    }

    fn show(&mut self) {
        let Some(snapshots) = &self.live.snapshots else { return };
        let state = match &self.outlet {
            Outlet::Device { facts, .. } => {
                let Facts { name, rate, buffer } = facts.clone();
                DeviceState::Playing { name, rate: rate.hertz(), buffer }
            }
            Outlet::Nothing { from, stalled: true, was, .. } => {
                DeviceState::Stalled { name: was.clone(), since: *from }
            }
            Outlet::Nothing { from, why, .. } => DeviceState::Lost { since: *from, why: (*why).to_owned() },
        };
        let snapshot = self.performance.snapshot(self.position(), state, self.missed_blocks);
        let snapshot = Snapshot { behind: self.time.shown(), clock: self.time.clock.now(), ..snapshot };
        // Who does not look misses one.
        let _ = snapshots.try_send(snapshot);
    }

    /// Frames that the output takes at a time.
    fn block(&self) -> u64 {
        match &self.outlet {
            Outlet::Device { playing, facts, .. } => u64::from(playing.health().largest().max(facts.buffer)),
            Outlet::Nothing { .. } => UNHEARD as u64,
        }
    }

    fn command(&mut self, command: Command) {
        let timing = self.timing();
        self.performance.asked(command, timing);
    }

    /// What is asked for now was pressed then, and can be heard from then on.
    fn timing(&self) -> Timing {
        let figures = &self.performance.controls.figures;
        let lead = 2 * self.block() + self.performance.rate.frames(AHEAD);
        let (practice, output) = (figures.position().plus(lead), figures.put_out().plus(lead));
        // What is heard as the key is pressed: of what has been mixed, two blocks wait in the device when it has just asked.
        let heard = self.performance.heard(figures.position());
        let pressed = match &self.outlet {
            Outlet::Device { watch, .. } => {
                let since = self.performance.rate.frames(watch.since_moved()).min(self.block());
                heard.plus(if self.performance.paused { 0 } else { since }).minus(2 * self.block())
            }
            Outlet::Nothing { .. } => heard,
        };
        Timing { pressed, practice, output }
    }

    /// Lets what is heard fade out before the device is closed.
    fn fade(&mut self) {
        if self.performance.paused || !matches!(self.outlet, Outlet::Device { .. }) {
            return;
        }
        let at = self.position();
        let timing = Timing { pressed: at, practice: at, output: self.performance.controls.figures.put_out() };
        // No command of anybody's: it goes past the record.
        let _ = self.performance.conductor.command(DeskCommand::Pause.into(), timing);
        self.drain();
    }

    /// Waits until the device has played what it has been given.
    fn drain(&mut self) {
        if let Outlet::Device { facts, .. } = &self.outlet {
            let blocks = 2 * u64::from(facts.buffer) + facts.rate.frames(AHEAD);
            let nanos = facts.rate.time(blocks).nanos();
            let until = Instant::now() + Duration::from_nanos(nanos.unsigned_abs()).min(Duration::from_millis(500));
            while Instant::now() < until {
                self.performance
                    .conductor
                    .pump(&self.performance.controls, self.performance.controls.figures.position());
                std::thread::sleep(TICK.min(until.saturating_duration_since(Instant::now())));
            }
        }
    }

    /// Says once that the practice plays, and where: from then on nothing is waited for.
    fn begins(&mut self) {
        let Outlet::Device { facts, playing, .. } = &self.outlet else { return };
        if !self.begun && playing.health().frames() > 0 {
            self.begun = true;
            let words = format!("playing through {}, {} Hz", facts.name, facts.rate.hertz());
            self.performance.say(PracticeFrame::default(), &words);
        }
    }

    fn step(&mut self) {
        match &mut self.outlet {
            Outlet::Device { playing, watch, before, .. } => {
                let health = playing.health();
                let underruns = health.underruns() - *before;
                *before += underruns;
                let verdict = watch.look(health);
                self.waited(u64::from(underruns));
                self.begins();
                match verdict {
                    Verdict::Well => self.performance.pump(self.position()),
                    Verdict::Failed(why) => self.lose(why, false),
                    Verdict::Stalled => self.lose("the device takes no more sound", true),
                }
            }
            Outlet::Nothing { search: DeviceSearch::Hand { .. }, .. } => self.seek(),
            Outlet::Nothing { mixer, since, rendered, .. } => {
                let due = self.performance.rate.frames(span(since.elapsed()));
                let mut mix = [0.0; 2 * UNHEARD];
                while *rendered < due {
                    self.performance.pull(mixer, &mut mix);
                    *rendered += UNHEARD as u64;
                }
                self.performance.pump(mixer.position());
                self.seek();
            }
        }
        self.keep_time();
        self.look_elsewhere();
        self.pass_on();
    }
}

fn span(duration: Duration) -> Seconds {
    Seconds::from_nanos(duration.as_nanos() as i64)
}
