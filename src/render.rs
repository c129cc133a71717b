//! A planned practice as sound that is kept: one file, tracks for a player, a file for each set, those of several scripts or
//! of a whole squad; and what it does to the ears.
//!
//! Formats and folders are `sink`'s, what is heard is the timeline's.

mod batch;
pub mod dry_run;
pub mod exposure;
pub mod file;
pub mod inputs;
pub mod made;
pub mod origin;
pub mod player;
pub mod several;
pub mod split;
pub mod squad;
pub mod target;

pub use batch::{Done, PracticeEnd, Tally, Unmade};
pub use made::{FileFigures, MadeFile, NotRendered, PracticeFiles};
pub use target::Target;
