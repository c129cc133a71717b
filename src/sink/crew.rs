//! Threads that work on pieces as they come, the results in the pieces' order: encoding on all cores.
//!
//! Unlike [`cores`](crate::cores) the pieces are not known beforehand, and only so many are held at a time. What comes of
//! them does not depend on how many threads there are.

use crossbeam_channel::{Receiver, Sender, bounded};
use std::collections::VecDeque;
use std::io;
use std::thread;

type Piece<T, R> = (T, Sender<R>);

/// Threads that work on pieces as they come. Dropped, it lets them end when they have done what they were given.
#[derive(Debug)]
pub struct Crew<T, R> {
    to: Sender<Piece<T, R>>,
    waiting: VecDeque<Receiver<R>>,
    most: usize,
}

impl<T: Send + 'static, R: Send + 'static> Crew<T, R> {
    /// So many threads, at least one; `tools` makes each one's way of working.
    pub fn new<W: FnMut(T) -> R + Send + 'static>(workers: usize, mut tools: impl FnMut() -> W) -> Self {
        let workers = workers.max(1);
        let most = workers * 2 + 1;
        let (to, pieces) = bounded::<Piece<T, R>>(most);
        for _ in 0..workers {
            let (pieces, mut work) = (pieces.clone(), tools());
            thread::spawn(move || {
                for (piece, back) in pieces {
                    // Nobody waits for it where the whole was given up.
                    let _ = back.send(work(piece));
                }
            });
        }
        Self { to, waiting: VecDeque::new(), most }
    }

    /// Gives a piece; with many on their way it waits for the oldest and returns what came of it.
    ///
    /// # Errors
    /// Where a thread has panicked.
    pub fn give(&mut self, piece: T) -> io::Result<Option<R>> {
        let oldest = if self.waiting.len() >= self.most { self.oldest()? } else { None };
        let (back, result) = bounded(1);
        self.to.send((piece, back)).map_err(|_| lost())?;
        self.waiting.push_back(result);
        Ok(oldest)
    }

    /// What came of the oldest piece that is still waited for, if any is.
    ///
    /// # Errors
    /// Where a thread has panicked.
    pub fn oldest(&mut self) -> io::Result<Option<R>> {
        self.waiting.pop_front().map(|result| result.recv().map_err(|_| lost())).transpose()
    }
}

fn lost() -> io::Error {
    io::Error::other("an encoding thread has failed; this is a mistake of this program, please report it")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_the_order_of_the_pieces() {
        for workers in [0, 1, 2, 5] {
            let mut crew =
                Crew::new(workers, || |n: u64| if n.is_multiple_of(3) { (0..n * 100).sum::<u64>() } else { n });
            let mut came = Vec::new();
            for n in 0..200 {
                came.extend(crew.give(n).unwrap());
            }
            while let Some(result) = crew.oldest().unwrap() {
                came.push(result);
            }
            let expected = (0..200_u64).map(|n| if n.is_multiple_of(3) { (0..n * 100).sum() } else { n });
            assert!(came.into_iter().eq(expected), "{workers}");
        }
    }

    #[test]
    fn a_panic_is_an_error() {
        let mut crew = Crew::new(1, || |n: u32| assert_ne!(n, 1, "meant"));
        let results: Vec<_> = (0..2).map(|n| crew.give(n)).collect();
        assert!(results.iter().all(Result::is_ok));
        assert!(crew.oldest().is_ok() && crew.oldest().is_err());
    }
}
