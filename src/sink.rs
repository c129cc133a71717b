//! Sinks: where finished sound goes, and the loop that renders a practice into one.
//!
//! Formats are in `sink/*`; what is rendered comes from the conductor and the mixer, which do not know of sinks.

pub mod behind;
pub mod crew;
mod facts;
pub mod file;
pub mod flac;
pub mod folder;
pub mod leftover;
pub mod meter;
mod moves;
pub mod mp3;
pub mod names;
pub mod output;
pub mod playlist;
pub mod spec;
pub mod split;
pub mod spool;
pub mod take;
pub mod wav;
mod work;

use crate::audio::bank::Bank;
use crate::conductor::{Conductor, Supply};
use crate::mixer::sample::{Frame, to_i16};
use crate::mixer::{Mixer, QUANTUM, Stretch};
use crate::timeline::Timeline;
use crate::timeline::lower::BankMismatch;
use crate::units::time::SampleRate;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Takes the frames of one render in their order.
pub trait Sink {
    /// What can go wrong.
    type Error: std::error::Error;

    /// Takes frames that are heard.
    ///
    /// # Errors
    /// Where they cannot be put away.
    fn sound(&mut self, frames: &[Frame]) -> Result<(), Self::Error>;

    /// Takes so many frames of digital silence.
    ///
    /// # Errors
    /// Where they cannot be put away.
    fn silence(&mut self, frames: u64) -> Result<(), Self::Error>;
}

impl<S: Sink + ?Sized> Sink for &mut S {
    type Error = S::Error;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), S::Error> {
        S::sound(self, frames)
    }

    fn silence(&mut self, frames: u64) -> Result<(), S::Error> {
        S::silence(self, frames)
    }
}

/// Frames between two looks at the stop flag and two reports of progress.
pub const BLOCK: u64 = 1 << 16;

/// What came of a render.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rendered {
    /// Frames given to the sink.
    pub frames: u64,
    /// Events that could not be played; 0 unless the timeline contradicts itself.
    pub missed: u32,
    /// Voices cut short because more than [`crate::mixer::VOICES`] sounded at once.
    pub stolen: u32,
}

/// Why a render ended early.
#[derive(Debug)]
pub enum RenderError<E> {
    /// The bank was not made for the timeline.
    Bank(BankMismatch),
    /// The sink failed.
    Sink(E),
    /// The stop flag was set.
    Stopped,
}

impl<E: fmt::Display> fmt::Display for RenderError<E> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bank(error) => error.fmt(f),
            Self::Sink(error) => error.fmt(f),
            Self::Stopped => f.write_str("stopped before the end"),
        }
    }
}

impl<E: std::error::Error + 'static> std::error::Error for RenderError<E> {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Bank(error) => Some(error),
            Self::Sink(error) => Some(error),
            Self::Stopped => None,
        }
    }
}

/// The number of frames that [`render`] gives for a timeline.
pub fn frames(timeline: &Timeline, rate: SampleRate) -> u64 {
    rate.frames(timeline.len())
}

/// Renders a whole practice at the bank's rate: exactly [`frames`] of them. `progress` hears the frames done and all of
/// them after each [`BLOCK`]; `stop` is looked at as often.
///
/// # Errors
/// See [`RenderError`]. What the sink has taken until then is its own to discard.
pub fn render<S: Sink + ?Sized>(
    timeline: &Timeline,
    bank: &Arc<Bank>,
    sink: &mut S,
    progress: &mut dyn FnMut(u64, u64),
    stop: &AtomicBool,
) -> Result<Rendered, RenderError<S::Error>> {
    let total = frames(timeline, bank.rate);
    let mut conductor = Conductor::new(timeline, Arc::clone(bank), Supply::file(BLOCK)).map_err(RenderError::Bank)?;
    let (mut mixer, controls) = Mixer::new(bank.rate);
    // The first frames out of the mixer are its look-ahead; the last ones of the practice come that much later.
    let mut early = mixer.latency();
    let mut done = 0;
    let mut block: Vec<Frame> = Vec::with_capacity(BLOCK as usize + QUANTUM);
    while done < total {
        // Only a flag: nothing else is read through it.
        if stop.load(Ordering::Relaxed) {
            return Err(RenderError::Stopped);
        }
        // First what the mixer no longer needs, which makes room for what it needs next.
        mixer.receive();
        conductor.pump(&controls, mixer.position());
        mixer.receive();
        let mut room = BLOCK;
        while room > 0 && done < total {
            let known = conductor.covered().since(mixer.position());
            let quanta = known.min(room) / QUANTUM as u64;
            // The border of what the mixer knows: it must hear of the next leg first. Right after it has, there is always
            // more, unless more legs than it has room for begin within one quantum.
            if quanta == 0 && room < BLOCK {
                break;
            }
            let stretch = mixer.pull(quanta.max(1));
            let frames = stretch.frames();
            room = room.saturating_sub(frames);
            let skipped = frames.min(early);
            early -= skipped;
            let taken = (frames - skipped).min(total - done);
            done += taken;
            match stretch {
                Stretch::Silence(_) => {
                    flush(&mut block, sink)?;
                    sink.silence(taken).map_err(RenderError::Sink)?;
                }
                Stretch::Sound { left, right } => {
                    let sides = left.iter().zip(right).take(taken as usize);
                    if std::ptr::eq(left, right) {
                        block.extend(sides.map(|(left, _)| [to_i16(*left); 2]));
                    } else {
                        block.extend(sides.map(|(left, right)| [to_i16(*left), to_i16(*right)]));
                    }
                }
            }
        }
        flush(&mut block, sink)?;
        progress(done, total);
    }
    let (missed, stolen) = mixer.losses();
    Ok(Rendered { frames: done, missed, stolen })
}

fn flush<S: Sink + ?Sized>(block: &mut Vec<Frame>, sink: &mut S) -> Result<(), RenderError<S::Error>> {
    if !block.is_empty() {
        sink.sound(block).map_err(RenderError::Sink)?;
        block.clear();
    }
    Ok(())
}

#[cfg(test)]
mod tests;
