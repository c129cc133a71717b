//! The next practice: what the notebook's practices ask for, as a cue script that is its coach's to change.
//!
//! Each rule is a function over the practices, with its numbers and where they come from beside it: [`edge`], [`usual`], [`focus`], [`shape`],
//! [`volume`], [`side`], [`state`], [`load`], [`words`], [`verdict`]. [`decide`] lets one of them change something, [`write`](mod@write) puts it into
//! words, [`fit`] into the time there is, [`compose`] does all of it. Nothing is read or written here.

pub mod compose;
pub mod decide;
pub mod desk;
pub mod edge;
pub mod fit;
pub mod focus;
pub mod load;
pub mod manuscript;
pub mod order;
pub mod parts;
pub mod past;
pub mod reason;
pub mod sets;
pub mod shape;
pub mod side;
pub mod sore;
pub mod state;
pub mod usual;
pub mod verdict;
pub mod volume;
pub mod words;
pub mod write;

#[cfg(test)]
mod tests;
