//! A session without a device, as fast as it can be computed: commands come at given moments, and everything that comes of
//! it is the same each time. Also a record played again.
//!
//! Moments are those of the output, counted from its beginning: in a pause the practice stands still, the output does not.

use super::input::{self, Input, NotUnderstood};
use super::performance::{Performance, Programme, SessionEnd};
use super::record::{Head, RecordEvent, RecordLine, RecordPlace, Recorder};
use crate::conductor::command::{Command, DeskCommand, Timing};
use crate::mixer::sample::{Frame, to_i16};
use crate::timeline::bank::BankError;
use crate::timeline::lower::BankMismatch;
use crate::units::frame::{OutputFrame, PracticeFrame};
use crate::units::time::{SampleRate, Seconds};
use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Frames that the simulated device takes at a time.
const BLOCK: usize = 512;
/// From a command to its effect, beyond two blocks, as with a device.
const AHEAD: Seconds = Seconds::from_millis(15);
/// What a simulated device is called in a record.
const NAME: &str = "simulated";
/// Output that is simulated at most beyond the practice itself: a pause without a resume must end.
const PATIENCE: Seconds = Seconds::from_secs(2 * 3600);

/// One thing to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimedInput {
    /// After so many frames of the output.
    pub output: OutputFrame,
    /// What.
    pub input: Input,
    /// The frames of key and effect where a record has them.
    pub exact: Option<Timing>,
}

/// Why there was no simulated session.
#[derive(Debug)]
pub enum NotSimulated<E> {
    /// No clips.
    Bank(BankError),
    /// A mistake of this program.
    Internal(BankMismatch),
    /// The record cannot be begun.
    Record(std::io::Error),
    /// The sound cannot be put away.
    Sound(E),
    /// The stop flag was set.
    Stopped,
}

impl<E: fmt::Display> fmt::Display for NotSimulated<E> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bank(error) => error.fmt(f),
            Self::Internal(error) => error.fmt(f),
            Self::Record(error) => write!(f, "cannot begin the session record: {error}"),
            Self::Sound(error) => error.fmt(f),
            Self::Stopped => f.write_str("stopped before the end"),
        }
    }
}

/// Reads lines of `TIME command`, in any order; the problems with their lines.
///
/// # Errors
/// All lines that cannot be read, each with its number.
pub fn read_inputs(text: &str, rate: SampleRate) -> Result<Vec<TimedInput>, Vec<String>> {
    let (mut inputs, mut problems) = (Vec::new(), Vec::new());
    for (number, line) in (1..).zip(text.lines()) {
        let line = line.split('#').next().unwrap_or_default();
        if line.trim().is_empty() {
            continue;
        }
        match input::parse_timed(line) {
            Ok((at, input)) => {
                inputs.push(TimedInput { output: OutputFrame::new(rate.frames(at)), input, exact: None })
            }
            Err(why) => problems.push(format!("line {number}: {why}")),
        }
    }
    // Stable: what comes at one moment comes in the order of the lines.
    inputs.sort_by_key(|timed| timed.output);
    if problems.is_empty() { Ok(inputs) } else { Err(problems) }
}

/// Why a session cannot be played again from its record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotReplayable {
    /// A command of it is none.
    Command(NotUnderstood),
    /// The sound was away in between.
    Gap,
}

impl fmt::Display for NotReplayable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Command(why) => why.fmt(f),
            Self::Gap => f.write_str("the sound was away in this session, so it cannot be played again exactly"),
        }
    }
}

impl std::error::Error for NotReplayable {}

/// What a record says was asked for, at the frames at which it was asked for and took effect.
///
/// # Errors
/// Where the record cannot be played again exactly: the sound was away in between.
pub fn inputs_of(lines: &[RecordLine]) -> Result<Vec<TimedInput>, NotReplayable> {
    let mut inputs: Vec<TimedInput> = Vec::new();
    let mut places: HashMap<u32, usize> = HashMap::new();
    for line in lines {
        match &line.event {
            RecordEvent::Command { id, command, effect, output } => {
                let input = input::parse_recorded(command).map_err(NotReplayable::Command)?;
                let pressed = PracticeFrame::new(line.frame);
                // The command goes by one of the two clocks, and the record has its frame.
                let (practice, output_effect) = (PracticeFrame::new(*effect), OutputFrame::new(*effect));
                let exact = Some(Timing { pressed, practice, output: output_effect });
                places.insert(*id, inputs.len());
                inputs.push(TimedInput { output: OutputFrame::new(*output), input, exact });
            }
            // A late one took effect when it did.
            RecordEvent::Taken { id, effect, late: true } => {
                let of_command = places.get(id).and_then(|place| inputs.get_mut(*place));
                if let Some(TimedInput { exact: Some(timing), .. }) = of_command {
                    (timing.practice, timing.output) = (PracticeFrame::new(*effect), OutputFrame::new(*effect));
                }
            }
            RecordEvent::Gap { .. } => {
                return Err(NotReplayable::Gap);
            }
            _ => {}
        }
    }
    Ok(inputs)
}

/// How a session is simulated.
#[derive(Clone)]
pub struct Simulation<'l> {
    /// Frames a second.
    pub rate: SampleRate,
    /// What is done, sorted by `output`.
    pub inputs: &'l [TimedInput],
    /// Where the record goes.
    pub place: RecordPlace,
    /// When it is said to have begun.
    pub started: String,
    /// Set by a signal.
    pub stop: &'l AtomicBool,
}

/// Plays a practice to its end, or to a `stop`. `sound` takes the frames, `tell` hears what happens, a line each.
///
/// # Errors
/// See [`NotSimulated`].
pub fn simulate<E>(
    programme: Programme<'_>,
    simulation: Simulation<'_>,
    sound: &mut dyn FnMut(&[Frame]) -> Result<(), E>,
    tell: &mut dyn FnMut(&str),
) -> Result<SessionEnd, NotSimulated<E>> {
    let Simulation { rate, inputs, place, started, stop } = simulation;
    let bank = Arc::new((programme.banks)(rate).map_err(NotSimulated::Bank)?);
    let head: Head = Performance::head(&programme, NAME, rate, started);
    let recorder = Recorder::begin(&place, &head).map_err(NotSimulated::Record)?;
    let (mut performance, mut mixer) = Performance::begin(programme, bank, recorder).map_err(NotSimulated::Internal)?;
    let longest = OutputFrame::new(rate.frames(programme.timeline.len() + PATIENCE));
    let lead = 2 * BLOCK as u64 + rate.frames(AHEAD);
    let mut inputs = inputs.iter().copied().peekable();
    let (mut out, mut frames): (OutputFrame, Vec<Frame>) = (OutputFrame::ZERO, Vec::with_capacity(BLOCK));
    let mut mix = [0.0; 2 * BLOCK];
    let reason = 'session: loop {
        // Of what has been mixed, this much has not been given out: less than a quantum, and the limiter's look-ahead.
        let held = performance.controls.figures.put_out().since(out.plus(performance.latency));
        while let Some(timed) = inputs.next_if(|timed| match timed.exact {
            // The record's count includes what was held back there.
            Some(_) => timed.output <= performance.controls.figures.put_out(),
            None => timed.output <= out,
        }) {
            let Input::Do(command) = timed.input else { break 'session "stopped" };
            let pressed = performance.heard(mixer.position()).minus(held);
            let (practice, output) = (mixer.position(), performance.controls.figures.put_out());
            let soon = Timing { pressed, practice: practice.plus(lead), output: output.plus(lead) };
            // Of what goes by the practice's clock the record has no frame of the other.
            let exact = timed.exact.map(|exact| match command {
                Command::Desk(DeskCommand::Resume) => exact,
                _ => Timing { output: output.plus(exact.practice.since(practice)), ..exact },
            });
            performance.command(command, exact.unwrap_or(soon));
            performance.pump(mixer.position());
        }
        performance.take_lines().iter().for_each(|line| tell(line));
        if performance.over(mixer.position().minus(held)) {
            break "the end";
        }
        if out > longest {
            break "given up: nothing has moved for two hours";
        }
        // Only a flag: nothing else is read through it.
        if stop.load(Ordering::Relaxed) {
            return Err(NotSimulated::Stopped);
        }
        let until =
            inputs.peek().filter(|timed| timed.exact.is_none()).map_or(OutputFrame::NEVER, |timed| timed.output);
        // The last block goes frame by frame, so that it ends on the practice's last frame.
        let most = if performance.over(mixer.position().plus(2 * BLOCK as u64)) { 1 } else { BLOCK as u64 };
        let block = until.since(out).clamp(1, most) as usize;
        let mix = mix.get_mut(..2 * block).unwrap_or_default();
        performance.pull(&mut mixer, mix);
        frames.clear();
        frames.extend(mix.as_chunks().0.iter().map(|[left, right]| [to_i16(*left), to_i16(*right)]));
        sound(&frames).map_err(NotSimulated::Sound)?;
        out = out.plus(block as u64);
    };
    let position = mixer.position();
    performance.end(position, reason);
    performance.take_lines().iter().for_each(|line| tell(line));
    Ok(performance.ended(position, false, 0))
}
