//! A session without a device, as fast as it can be computed: commands come at given moments, and everything that comes of
//! it is the same each time. Also a record played again.
//!
//! Moments are those of the output, counted from its beginning: in a pause the practice stands still, the output does not.

use super::course::{Course, Piece};
use super::input::{self, Input};
use super::live::Ended;
use super::record::{Event, Head, Line, Place, Recorder};
use crate::conductor::command::Command;
use crate::mixer::sample::{Frame, to_i16};
use crate::units::time::{SampleRate, Seconds};
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
pub struct Cue {
    /// After so many frames of the output.
    pub output: u64,
    /// What.
    pub input: Input,
    /// The frames of key and effect where a record tells them.
    pub exact: Option<(u64, u64)>,
}

/// Why there was no simulated session.
#[derive(Debug)]
pub enum NotSimulated<E> {
    /// No clips.
    Bank(String),
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
            Self::Bank(why) => f.write_str(why),
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
pub fn read_cues(text: &str, rate: SampleRate) -> Result<Vec<Cue>, Vec<String>> {
    let (mut cues, mut problems) = (Vec::new(), Vec::new());
    for (number, line) in (1..).zip(text.lines()) {
        let line = line.split('#').next().unwrap_or_default();
        if line.trim().is_empty() {
            continue;
        }
        match input::parse_timed(line) {
            Ok((at, input)) => cues.push(Cue { output: rate.frames(at), input, exact: None }),
            Err(why) => problems.push(format!("line {number}: {why}")),
        }
    }
    // Stable: what comes at one moment comes in the order of the lines.
    cues.sort_by_key(|cue| cue.output);
    if problems.is_empty() { Ok(cues) } else { Err(problems) }
}

/// What a record says was asked for, at the frames at which it was asked for and took effect.
///
/// # Errors
/// Where the record cannot be played again exactly: the sound was away in between.
pub fn cues_of(lines: &[Line]) -> Result<Vec<Cue>, String> {
    let mut cues: Vec<(u32, Cue)> = Vec::new();
    for line in lines {
        match &line.event {
            Event::Command { id, command, effect, output } => {
                let input = input::parse(command)?;
                let exact = Some((line.frame, *effect));
                cues.push((*id, Cue { output: *output, input, exact }));
            }
            // A late one took effect when it did.
            Event::Taken { id, effect, late: true } => {
                if let Some((_, Cue { exact: Some((_, at)), .. })) =
                    cues.iter_mut().rev().find(|(other, _)| other == id)
                {
                    *at = *effect;
                }
            }
            Event::Gap { .. } => {
                return Err("the sound was away in this session, so it cannot be played again exactly".to_owned());
            }
            _ => {}
        }
    }
    Ok(cues.into_iter().map(|(_, cue)| cue).collect())
}

/// How a session is simulated.
#[derive(Clone)]
pub struct Simulation<'l> {
    /// Frames a second.
    pub rate: SampleRate,
    /// What is done, sorted by `output`.
    pub cues: &'l [Cue],
    /// Where the record goes.
    pub place: Place,
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
    piece: Piece<'_>,
    simulation: Simulation<'_>,
    sound: &mut dyn FnMut(&[Frame]) -> Result<(), E>,
    tell: &mut dyn FnMut(&str),
) -> Result<Ended, NotSimulated<E>> {
    let Simulation { rate, cues, place, started, stop } = simulation;
    let bank = Arc::new((piece.banks)(rate).map_err(NotSimulated::Bank)?);
    let head: Head = Course::head(&piece, NAME, rate, started);
    let recorder = Recorder::begin(&place, &head).map_err(NotSimulated::Record)?;
    let (mut course, mut mixer) =
        Course::begin(piece, bank, recorder).map_err(|e| NotSimulated::Bank(e.to_string()))?;
    let longest = rate.frames(piece.timeline.len() + PATIENCE);
    let lead = 2 * BLOCK as u64 + rate.frames(AHEAD);
    let mut cues = cues.iter().copied().peekable();
    let (mut out, mut frames): (u64, Vec<Frame>) = (0, Vec::with_capacity(BLOCK));
    let mut mix = [0.0; 2 * BLOCK];
    let reason = 'session: loop {
        course.pump(mixer.position());
        // Of what has been mixed, this much has not been given out: less than a quantum, and the limiter's look-ahead.
        let held = course.controls.figures.put_out() - course.latency - out;
        while let Some(cue) = cues.next_if(|cue| match cue.exact {
            // The record's count includes what was held back there.
            Some(_) => cue.output <= course.controls.figures.put_out(),
            None => cue.output <= out,
        }) {
            let Input::Do(command) = cue.input else { break 'session "stopped" };
            let head = match command {
                Command::Resume => course.controls.figures.put_out(),
                _ => mixer.position(),
            };
            let heard = course.heard(mixer.position()).saturating_sub(held);
            let (pressed, effect) = cue.exact.unwrap_or((heard, head + lead));
            course.command(command, pressed, effect);
            course.pump(mixer.position());
        }
        course.take_told().iter().for_each(|line| tell(line));
        if course.over(mixer.position().saturating_sub(held)) {
            break "the end";
        }
        if out > longest {
            break "given up: nothing has moved for two hours";
        }
        if stop.load(Ordering::Relaxed) {
            return Err(NotSimulated::Stopped);
        }
        let until = cues.peek().filter(|cue| cue.exact.is_none()).map_or(u64::MAX, |cue| cue.output);
        // The last block goes frame by frame, so that it ends on the practice's last frame.
        let most = if course.over(mixer.position() + 2 * BLOCK as u64) { 1 } else { BLOCK as u64 };
        let block = until.saturating_sub(out).clamp(1, most) as usize;
        let mix = mix.get_mut(..2 * block).unwrap_or_default();
        mixer.render(mix);
        frames.clear();
        frames.extend(mix.chunks_exact(2).map(|sides| match sides {
            [left, right] => [to_i16(*left), to_i16(*right)],
            _ => [0; 2],
        }));
        sound(&frames).map_err(NotSimulated::Sound)?;
        out += block as u64;
    };
    let position = mixer.position();
    course.end(position, reason);
    course.take_told().iter().for_each(|line| tell(line));
    let ended = Ended {
        interrupted: false,
        record: course.recorder.path().map(Into::into),
        record_failed: course.recorder.failed().map(str::to_owned),
        at: rate.time(course.heard(position)),
        missed_blocks: 0,
        missed_cues: u64::from(course.controls.figures.missed()),
    };
    Ok(ended)
}
