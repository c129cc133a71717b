//! Many practices made at once: one list shared out to all cores, one stock of recordings, and what came of each. What
//! fails does not stop the others.

use super::made::NotRendered;
use crate::cores;
use crate::diag::{Diagnostic, Severity};
use crate::prepare::Planned;
use crate::sink::file::FileError;
use crate::timeline::bank::Stock;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// A practice whose files are there now; `F` says what was made. Whoever is shown it, on the thread that made it, says what
/// shall be kept: the practice itself is not, so that memory does not grow with the batch.
#[derive(Debug)]
pub struct Done<'a, F> {
    /// Where: a file, or a folder of tracks.
    pub output: &'a Path,
    /// What it is.
    pub planned: &'a Planned,
    /// What was found on the way.
    pub diagnostics: &'a [Diagnostic],
    /// What was made.
    pub files: F,
}

/// How the making of one practice ended. `R` is what is kept of one that is there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PracticeEnd<R> {
    /// It was made.
    Made(R),
    /// It lies there as it would be made.
    Unchanged(R),
    /// It is not there.
    Unmade(Unmade),
}

/// Why a practice of a batch was not made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unmade {
    /// The swimmer's data or the script has an error: the first one, in words.
    Wrong(String),
    /// A file could not be read or written.
    Failed(String),
    /// Not begun or not finished when it was asked to stop.
    Stopped,
}

impl From<NotRendered> for Unmade {
    fn from(error: NotRendered) -> Self {
        match error {
            NotRendered::Stopped => Self::Stopped,
            other => Self::Failed(other.to_string()),
        }
    }
}

impl From<FileError> for Unmade {
    fn from(error: FileError) -> Self {
        Self::Failed(error.to_string())
    }
}

impl<R> From<Result<Self, Unmade>> for PracticeEnd<R> {
    fn from(result: Result<Self, Unmade>) -> Self {
        result.unwrap_or_else(Self::Unmade)
    }
}

/// How many practices of a batch ended in which way.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Made now.
    pub made: usize,
    /// There before, and left as they are.
    pub unchanged: usize,
    /// With errors in the script or the swimmer's data.
    pub wrong: usize,
    /// Where a file could not be read or written.
    pub failed: usize,
    /// Not finished when it was asked to stop.
    pub stopped: usize,
}

impl Tally {
    /// Counts one more.
    pub const fn count<R>(&mut self, end: &PracticeEnd<R>) {
        let number = match end {
            PracticeEnd::Made(_) => &mut self.made,
            PracticeEnd::Unchanged(_) => &mut self.unchanged,
            PracticeEnd::Unmade(Unmade::Wrong(_)) => &mut self.wrong,
            PracticeEnd::Unmade(Unmade::Failed(_)) => &mut self.failed,
            PracticeEnd::Unmade(Unmade::Stopped) => &mut self.stopped,
        };
        *number += 1;
    }

    /// Those whose files are there.
    pub const fn there(&self) -> usize {
        self.made + self.unchanged
    }

    /// Those whose files are not.
    pub const fn unmade(&self) -> usize {
        self.wrong + self.failed + self.stopped
    }

    /// All of them.
    pub const fn all(&self) -> usize {
        self.there() + self.unmade()
    }
}

/// What all threads of a batch work with.
pub(super) struct Shared<'a> {
    /// Set when the work shall end early.
    pub stop: &'a AtomicBool,
    /// Recordings made ready, for all practices.
    pub stock: Stock,
}

impl<'a> Shared<'a> {
    pub fn new(stop: &'a AtomicBool) -> Self {
        Self { stop, stock: Stock::default() }
    }

    pub fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// Works through a list on all cores. The results are in its order; `progress` hears how many are done, of how many.
pub(super) fn share_out<T: Sync, R: Send>(
    items: &[T],
    progress: impl Fn(u64, u64) + Sync,
    work: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    let (done, total) = (AtomicU64::new(0), items.len() as u64);
    cores::share(
        cores::count(),
        items,
        || (),
        |(), item| {
            let result = work(item);
            progress(done.fetch_add(1, Ordering::Relaxed) + 1, total);
            result
        },
    )
}

/// The first error's message.
pub(super) fn first_error(problems: &[Diagnostic]) -> Option<String> {
    problems.iter().find(|problem| problem.severity() == Severity::Error).map(|problem| problem.message.clone())
}
