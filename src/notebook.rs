//! The notebook: what was swum and observed, in one file for a swimmer or a squad.
//!
//! It is a SQLite database. Whatever is acknowledged has been synced to the disk, each command is one transaction, and each can
//! be taken back. What the numbers mean is not said here.

pub mod answers;
mod backup;
pub mod entry;
pub mod evidence;
pub mod exchange;
mod fault;
pub mod from_record;
pub mod from_taps;
pub mod hash;
mod history;
mod import;
pub mod known;
pub mod lengths;
pub mod near;
pub mod outline;
mod pair;
pub mod place;
mod put;
pub mod questions;
mod replace;
#[cfg(test)]
pub(crate) mod sample;
mod schema;
mod scripts;
pub mod sheet;
mod step;
mod store;
mod summary;
mod undo;
pub mod written;

pub use backup::BackupDone;
pub use fault::NotebookFault;
pub use history::{KeptPractice, Wanted};
pub use import::{ImportDone, NotedOtherwise};
pub use pair::{KeptComparison, PhrasePair};
pub use put::PracticeId;
pub use replace::ChangedMeanwhile;
pub use store::{Notebook, OpenFor};
pub use summary::PracticeSummary;
pub use undo::Undone;

#[cfg(test)]
mod tests;
