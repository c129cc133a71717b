//! A planned practice as sound that is kept: one file, tracks for a player, a file for each set, those of a whole squad; and
//! what it does to the ears.
//!
//! Formats and folders are `sink`'s, what is heard is the timeline's.

pub mod dry_run;
pub mod exposure;
pub mod file;
pub mod player;
pub mod split;
pub mod squad;
