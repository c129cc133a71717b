//! A sink on a thread of its own: what is mixed next does not wait for what is being written.
//!
//! Pieces go over by a bounded queue, so that a slow disk holds the mixing up instead of filling the memory, and their
//! buffers come back to be filled again. What the sink does with them is its own business.

use super::Sink;
use crate::mixer::sample::Frame;
use crossbeam_channel::{Receiver, Sender, bounded};
use std::fmt;

/// Pieces that wait to be taken, at most; with pieces of a block each, 4 MiB.
const WAITING: usize = 16;

/// The near end of a sink on another thread; see [`behind`].
#[derive(Debug)]
pub struct Behind {
    to: Sender<QueuedSound>,
    empty: Receiver<Vec<Frame>>,
}

#[derive(Debug)]
enum QueuedSound {
    Sound(Vec<Frame>),
    Silence(u64),
}

/// The sink has failed. Why is for [`behind`] to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gone;

impl fmt::Display for Gone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the sink has failed")
    }
}

impl std::error::Error for Gone {}

/// Does `work` here while `sink` takes on another thread what the work gives it, in the same order. When this returns,
/// the sink has taken everything, or has failed: then the work met [`Gone`], or came to its end before it could. ///
/// # Errors
/// The sink's own first error.
///
/// # Panics
/// Where the sink or the work panics.
pub fn behind<S: Sink<Error: Send> + Send, R>(
    sink: &mut S,
    work: impl FnOnce(&mut Behind) -> R,
) -> (R, Result<(), S::Error>) {
    let (to, pieces) = bounded(WAITING);
    let (back, empty) = bounded(WAITING);
    std::thread::scope(|scope| {
        let taking = scope.spawn(move || take(sink, &pieces, &back));
        let mut near = Behind { to, empty };
        let worked = work(&mut near);
        // For as long as it lives, the sink waits for more.
        drop(near);
        match taking.join() {
            Ok(taken) => (worked, taken),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}

fn take<S: Sink>(sink: &mut S, pieces: &Receiver<QueuedSound>, back: &Sender<Vec<Frame>>) -> Result<(), S::Error> {
    for piece in pieces {
        match piece {
            QueuedSound::Silence(frames) => sink.silence(frames)?,
            QueuedSound::Sound(mut frames) => {
                sink.sound(&frames)?;
                frames.clear();
                // With no room left there are buffers enough, and after the last piece nobody wants them.
                let _ = back.try_send(frames);
            }
        }
    }
    Ok(())
}

impl Sink for Behind {
    type Error = Gone;

    fn sound(&mut self, frames: &[Frame]) -> Result<(), Gone> {
        let mut piece = self.empty.try_recv().unwrap_or_default();
        piece.extend_from_slice(frames);
        self.to.send(QueuedSound::Sound(piece)).map_err(|_| Gone)
    }

    fn silence(&mut self, frames: u64) -> Result<(), Gone> {
        self.to.send(QueuedSound::Silence(frames)).map_err(|_| Gone)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io;

    /// Keeps what it takes, and fails when it has taken so many frames.
    struct Small {
        taken: Vec<Frame>,
        most: usize,
    }

    impl Sink for Small {
        type Error = io::Error;

        fn sound(&mut self, frames: &[Frame]) -> io::Result<()> {
            self.taken.extend_from_slice(frames);
            if self.taken.len() > self.most { Err(io::ErrorKind::StorageFull.into()) } else { Ok(()) }
        }

        fn silence(&mut self, frames: u64) -> io::Result<()> {
            self.sound(&vec![[0; 2]; frames as usize])
        }
    }

    /// Gives so many pieces, sounds and silences in turn, each longer than the one before; how many were taken.
    fn give<E: std::error::Error>(to: &mut dyn Sink<Error = E>, pieces: i16) -> usize {
        let mut one = |n: i16| match n % 2 {
            0 => to.sound(&vec![[n, -n]; n as usize]),
            _ => to.silence(n as u64),
        };
        (0..pieces).take_while(|n| one(*n).is_ok()).count()
    }

    #[test]
    fn everything_arrives_in_order() {
        let [mut here, mut there] = [usize::MAX; 2].map(|most| Small { taken: Vec::new(), most });
        assert_eq!(give(&mut here, 300), 300);
        let (given, taken) = behind(&mut there, |to| give(to, 300));
        assert!(given == 300 && taken.is_ok());
        assert!(here.taken == there.taken && there.taken.len() == (0..300).sum::<usize>());
    }

    #[test]
    fn the_sinks_error_comes_back_and_ends_the_work() {
        let mut sink = Small { taken: Vec::new(), most: 1_000 };
        let (given, taken) = behind(&mut sink, |to| give(to, i16::MAX));
        assert_eq!(taken.unwrap_err().kind(), io::ErrorKind::StorageFull);
        assert!(given < 100 + 2 * WAITING, "{given} pieces were given after it");
        // A sink that fails at the very last piece is heard as well.
        let mut sink = Small { taken: Vec::new(), most: 1 };
        let (given, taken) = behind(&mut sink, |to| to.silence(2));
        assert!(given.is_ok() && taken.is_err());
    }

    #[test]
    fn work_that_stops_early_leaves_a_sink_that_has_all_of_it() {
        let mut sink = Small { taken: Vec::new(), most: usize::MAX };
        let (_, taken) = behind(&mut sink, |to| to.sound(&[[1, 2]; 5]));
        assert!(taken.is_ok() && sink.taken == [[1, 2]; 5]);
    }
}
