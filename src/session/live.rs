//! A session through a device: what is asked for, what the device does, and what is done about it.
//!
//! Where there is no device the practice goes on without one: the mixer is pulled by the monotonic clock and nobody hears
//! it, so that commands, gos and touches are as ever. Meanwhile a device is looked for, through a new connection each time;
//! once one runs, a new mixer starts at that moment of the practice.

use super::course::{Course, Piece};
use super::input::{Input, clock};
use super::record::{Event, Place, Recorder, date_time};
use super::snapshot::{DeviceState, Snapshot};
use super::watch::{Verdict, Watch};
use crate::audio::bank::Bank;
use crate::conductor::command::Command;
use crate::device::output::{self, FoundOutput, Playing};
use crate::device::{DeviceError, Pending, Wish};
use crate::mixer::Mixer;
use crate::units::time::{SampleRate, Seconds};
use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, bounded, never};
use std::fmt;
use std::path::PathBuf;
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
/// After a failure the next attempt waits for this, then twice as long, up to the second.
const RETRY: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(1));
/// An attempt that takes longer than this is given up.
const ATTEMPT: Duration = Duration::from_secs(6);
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
    pub place: Place,
    /// What is asked for.
    pub inputs: Receiver<Input>,
    /// Who looks at it; snapshots that nobody takes are dropped.
    pub snapshots: Option<Sender<Snapshot>>,
    /// Set by a signal.
    pub stop: &'l AtomicBool,
}

/// How a session ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ended {
    /// Whether a signal ended it.
    pub interrupted: bool,
    /// Where the record is.
    pub record: Option<PathBuf>,
    /// Why the record is not whole, if so.
    pub record_failed: Option<String>,
    /// How long the practice went.
    pub at: Seconds,
    /// Blocks that the device did not get in time.
    pub missed_blocks: u64,
    /// Cues that could not be played.
    pub missed_cues: u64,
}

/// Why there was no session.
#[derive(Debug)]
pub enum NoSession {
    /// No device.
    Device(DeviceError),
    /// No clips.
    Bank(String),
    /// The record cannot be begun.
    Record(std::io::Error),
}

impl fmt::Display for NoSession {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Device(error) => error.fmt(f),
            Self::Bank(why) => f.write_str(why),
            Self::Record(error) => write!(f, "cannot begin the session record: {error}"),
        }
    }
}

impl std::error::Error for NoSession {}

/// Plays a practice to its end. `tell` hears what happens, a line each.
///
/// # Errors
/// Where it cannot begin. What goes wrong later is part of the session.
pub fn play(piece: Piece<'_>, live: Live<'_>, tell: &mut dyn FnMut(&str)) -> Result<Ended, NoSession> {
    let found = live.finding.wait(PATIENCE).map_err(NoSession::Device)?;
    let bank = Arc::new((piece.banks)(found.rate()).map_err(NoSession::Bank)?);
    let head = Course::head(&piece, found.name(), found.rate(), date_time(SystemTime::now()));
    let recorder = Recorder::begin(&live.place, &head).map_err(NoSession::Record)?;
    let mismatch = |error: crate::timeline::lower::BankMismatch| NoSession::Bank(error.to_string());
    let (course, mixer) = Course::begin(piece, Arc::clone(&bank), recorder).map_err(mismatch)?;
    let (start, starts) = bounded(1);
    // There is room for one, and nobody else has the sender.
    let _ = start.send(mixer);
    let facts = Facts::of(&found);
    let playing = found.play(starts).wait(PATIENCE).map_err(NoSession::Device)?;
    std::thread::scope(|scope| {
        let output = Output::Device { watch: Watch::new(facts.rate, facts.buffer), playing, facts, before: 0 };
        let mut session = Session { course, bank, output, live, scope, missed_blocks: 0, tell };
        session.run()
    })
}

/// What is told of a device.
#[derive(Clone, Debug)]
struct Facts {
    name: String,
    rate: SampleRate,
    buffer: u32,
}

impl Facts {
    fn of(found: &FoundOutput) -> Self {
        Self { name: found.name().to_owned(), rate: found.rate(), buffer: found.buffer() }
    }
}

/// What pulls the mixer.
#[expect(clippy::large_enum_variant, reason = "there is one of it, and it moves only when a device comes or goes")]
enum Output {
    Device {
        playing: Playing,
        facts: Facts,
        watch: Watch,
        /// Underruns told.
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
        /// Whose it was, where it stalled.
        stalled: Option<String>,
        stage: Stage,
        retry: Duration,
        begun: Instant,
    },
}

/// The way of a mixer to a device; what has not been taken can be taken back.
#[derive(Clone)]
struct Way {
    start: Sender<Mixer>,
    starts: Receiver<Mixer>,
}

impl Way {
    fn new() -> Self {
        let (start, starts) = bounded(1);
        Self { start, starts }
    }
}

/// On the way to another device.
#[expect(clippy::large_enum_variant, reason = "there is one of it, and it moves only when a device comes or goes")]
enum Stage {
    Wait,
    Find(Pending<FoundOutput>),
    Bank(FoundOutput, Receiver<Result<Bank, String>>),
    Open(Facts, Arc<Bank>, Pending<Playing>, Way),
    Run(Facts, Arc<Bank>, Playing, Way),
    /// A mixer waits for the device to take it: made anew until it does, or the practice would wait with it. A new device
    /// was seen to let 0.5 s pass between its first block and its second.
    Hand {
        facts: Facts,
        playing: Playing,
        way: Way,
        at: Seconds,
        since: Instant,
        offered: bool,
    },
}

struct Session<'scope, 'env, 's> {
    course: Course<'env>,
    bank: Arc<Bank>,
    output: Output,
    live: Live<'s>,
    scope: &'scope Scope<'scope, 'env>,
    missed_blocks: u64,
    tell: &'s mut dyn FnMut(&str),
}

impl Session<'_, '_, '_> {
    fn run(&mut self) -> Result<Ended, NoSession> {
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
            if self.course.over(self.position()) {
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
        self.course.end(self.position(), reason);
        self.pass_on();
        Ok(Ended {
            interrupted,
            record: self.course.recorder.path().map(PathBuf::from),
            record_failed: self.course.recorder.failed().map(str::to_owned),
            at: self.course.rate.time(self.course.heard(self.position())),
            missed_blocks: self.missed_blocks,
            missed_cues: u64::from(self.course.controls.figures.missed()),
        })
    }

    fn position(&self) -> u64 {
        self.course.controls.figures.position()
    }

    fn pass_on(&mut self) {
        for line in self.course.take_told() {
            (self.tell)(&line);
        }
    }

    fn show(&mut self) {
        let Some(snapshots) = &self.live.snapshots else { return };
        let state = match &self.output {
            Output::Device { facts, .. } => {
                let Facts { name, rate, buffer } = facts.clone();
                DeviceState::Playing { name, rate: rate.hertz(), buffer }
            }
            Output::Nothing { from, stalled: Some(name), .. } => {
                DeviceState::Stalled { name: name.clone(), since: *from }
            }
            Output::Nothing { from, why, .. } => DeviceState::Lost { since: *from, why: (*why).to_owned() },
        };
        let snapshot = self.course.snapshot(self.position(), state, self.missed_blocks);
        // Who does not look misses one.
        let _ = snapshots.try_send(snapshot);
    }

    /// Frames that the output takes at a time.
    fn block(&self) -> u64 {
        match &self.output {
            Output::Device { playing, facts, .. } => u64::from(playing.health().largest().max(facts.buffer)),
            Output::Nothing { .. } => UNHEARD as u64,
        }
    }

    fn command(&mut self, command: Command) {
        let figures = &self.course.controls.figures;
        let lead = 2 * self.block() + self.course.rate.frames(AHEAD);
        let head = if command == Command::Resume { figures.put_out() } else { figures.position() };
        // What is heard as the key is pressed: of what has been mixed, two blocks wait in the device when it has just asked.
        let heard = self.course.heard(figures.position());
        let pressed = match &self.output {
            Output::Device { watch, .. } => {
                let since = self.course.rate.frames(watch.since_moved()).min(self.block());
                (heard + if self.course.paused { 0 } else { since }).saturating_sub(2 * self.block())
            }
            Output::Nothing { .. } => heard,
        };
        self.course.command(command, pressed, head + lead);
    }

    /// Lets what is heard fade out before the device is closed.
    fn fade(&mut self) {
        if self.course.paused || !matches!(self.output, Output::Device { .. }) {
            return;
        }
        let at = self.position();
        // No command of anybody's: it goes past the record.
        let _ = self.course.conductor.command(Command::Pause, at, at);
        self.drain();
    }

    /// Waits until the device has played what it has been given.
    fn drain(&mut self) {
        if let Output::Device { facts, .. } = &self.output {
            let blocks = 2 * u64::from(facts.buffer) + facts.rate.frames(AHEAD);
            let nanos = facts.rate.time(blocks).nanos();
            let until = Instant::now() + Duration::from_nanos(nanos.unsigned_abs()).min(Duration::from_millis(500));
            while Instant::now() < until {
                self.course.conductor.pump(&self.course.controls, self.course.controls.figures.position());
                std::thread::sleep(TICK.min(until.saturating_duration_since(Instant::now())));
            }
        }
    }

    fn step(&mut self) {
        match &mut self.output {
            Output::Device { playing, watch, before, .. } => {
                let health = playing.health();
                let underruns = health.underruns() - *before;
                *before += underruns;
                let (verdict, slipped) = watch.look(health);
                let blocks = u64::from(underruns) + slipped;
                self.missed_blocks += blocks;
                let position = self.position();
                if blocks > 0 {
                    let heard = self.course.heard(position);
                    self.course.note(heard, Event::Underrun { blocks });
                    self.course.tell(heard, &format!("the device had to wait for {blocks} blocks"));
                }
                match verdict {
                    Verdict::Well => self.course.pump(position),
                    Verdict::Failed(why) => self.lose(why, false),
                    Verdict::Stalled => self.lose("the device takes no more sound", true),
                }
            }
            Output::Nothing { stage: Stage::Hand { .. }, .. } => self.seek(),
            Output::Nothing { mixer, since, rendered, .. } => {
                let due = self.course.rate.frames(span(since.elapsed()));
                let mut mix = [0.0; 2 * UNHEARD];
                while *rendered < due {
                    mixer.render(&mut mix);
                    *rendered += UNHEARD as u64;
                    self.course.pump(mixer.position());
                }
                self.course.pump(mixer.position());
                self.seek();
            }
        }
        self.pass_on();
    }

    /// The device is gone: the practice goes on by the clock from the last frame that it took.
    fn lose(&mut self, why: &'static str, stalled: bool) {
        let Output::Device { facts, watch, .. } = &self.output else { return };
        let (name, since) = (facts.name.clone(), watch.moved());
        let heard = self.course.heard(self.position());
        let from = self.course.rate.time(heard);
        self.course.tell(heard, &format!("no sound: {why}"));
        let Ok(mixer) = self.course.reseat(Arc::clone(&self.bank), from) else { return };
        self.output = Output::Nothing {
            mixer: Box::new(mixer),
            since,
            rendered: 0,
            from,
            why,
            stalled: stalled.then_some(name),
            stage: Stage::Wait,
            retry: RETRY.0,
            begun: Instant::now(),
        };
    }

    /// One step on the way to another device.
    fn seek(&mut self) {
        let wish = self.live.wish.clone();
        let Output::Nothing { stage, retry, begun, .. } = &mut self.output else { return };
        let again = match std::mem::replace(stage, Stage::Wait) {
            Stage::Wait if begun.elapsed() >= *retry => Some(Stage::Find(output::find(&wish))),
            Stage::Wait => return,
            Stage::Find(pending) => match pending.poll() {
                None if begun.elapsed() < ATTEMPT => {
                    *stage = Stage::Find(pending);
                    return;
                }
                Some(Ok(found)) if found.rate() == self.bank.rate => {
                    let (facts, way) = (Facts::of(&found), Way::new());
                    Some(Stage::Open(facts, Arc::clone(&self.bank), found.play(way.starts.clone()), way))
                }
                Some(Ok(found)) => {
                    let (to, from) = bounded(1);
                    let (banks, rate) = (self.course.piece.banks, found.rate());
                    self.scope.spawn(move || to.send((banks)(rate)));
                    Some(Stage::Bank(found, from))
                }
                _ => None,
            },
            Stage::Bank(found, from) => match from.try_recv() {
                Ok(Ok(bank)) => {
                    let (facts, way) = (Facts::of(&found), Way::new());
                    Some(Stage::Open(facts, Arc::new(bank), found.play(way.starts.clone()), way))
                }
                Err(crossbeam_channel::TryRecvError::Empty) => {
                    *stage = Stage::Bank(found, from);
                    return;
                }
                _ => None,
            },
            Stage::Open(facts, bank, pending, way) => match pending.poll() {
                None if begun.elapsed() < ATTEMPT => {
                    *stage = Stage::Open(facts, bank, pending, way);
                    return;
                }
                Some(Ok(playing)) => Some(Stage::Run(facts, bank, playing, way)),
                _ => None,
            },
            Stage::Run(facts, bank, playing, way) => {
                if playing.health().frames() > 0 {
                    let at = self.course.rate.time(self.course.heard(self.course.controls.figures.position()));
                    self.bank = bank;
                    Some(Stage::Hand { facts, playing, way, at, since: Instant::now(), offered: false })
                } else if begun.elapsed() < ATTEMPT && playing.health().failure().is_none() {
                    *stage = Stage::Run(facts, bank, playing, way);
                    return;
                } else {
                    None
                }
            }
            hand @ Stage::Hand { .. } => {
                self.hand(hand);
                return;
            }
        };
        match again {
            Some(next) => *stage = next,
            None => *retry = (*retry * 2).min(RETRY.1),
        }
        *begun = Instant::now();
    }

    /// Offers the device a mixer that starts where the practice is now; once it has taken one there is sound again.
    fn hand(&mut self, hand: Stage) {
        let Stage::Hand { facts, playing, way, at, since, offered } = hand else { return };
        let Output::Nothing { from, why, begun, .. } = &self.output else { return };
        let (from, why, begun) = (*from, *why, *begun);
        if offered && way.starts.try_recv().is_err() {
            let now = self.course.rate.time(self.course.heard(self.position()));
            let heard = self.course.rate.frames(now);
            self.course.note(heard, Event::Gap { from: from.nanos(), why: why.to_owned() });
            self.course.note(heard, Event::Device { name: facts.name.clone(), rate: facts.rate.hertz() });
            let gone = clock(now - from);
            self.course.tell(heard, &format!("sound again after {gone}: {}, {} Hz", facts.name, facts.rate.hertz()));
            self.output = Output::Device { watch: Watch::new(facts.rate, facts.buffer), playing, facts, before: 0 };
            return;
        }
        let now = if self.course.paused { at } else { at + span(since.elapsed()) };
        let failed = playing.health().failure().is_some() || begun.elapsed() > ATTEMPT;
        let Ok(made) = self.course.reseat(Arc::clone(&self.bank), now) else { return };
        let Output::Nothing { mixer, since, rendered, stage, .. } = &mut self.output else { return };
        if failed {
            // Back to the clock, with the mixer that nobody took.
            (**mixer, *since, *rendered) = (made, Instant::now(), 0);
        } else {
            let _ = way.start.send(made);
            *stage = Stage::Hand { facts, playing, way, at: now, since: Instant::now(), offered: true };
        }
    }
}

fn span(duration: Duration) -> Seconds {
    Seconds::from_nanos(i64::try_from(duration.as_nanos()).unwrap_or(i64::MAX))
}
