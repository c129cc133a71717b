//! Lengthwise turns a written swim practice into sound that reaches the swimmer at the stroke where it matters.
//!
//! A *cue script* is read by [`script`] into what is written, with the place of every value; [`practice`] makes sense of it
//! for one [`swimmer`] and the texts of the [`pack`]s: repeats with predicted times. [`timeline`] decides what is heard
//! when, as legs in exact time, and lowers a leg to frames; [`plan`] adds up what a coach reads. The [`conductor`] lowers one
//! leg after another and feeds the [`mixer`], which is pulled for frames by a [`sink`] and knows nothing of files, devices or
//! wall clocks. [`prepare`] goes from a script's name to a plan, [`render`] from there to files, and [`cli`] is the program. What
//! was swum is kept in the [`notebook`], and what it means [`review`] says.
//!
//! What a user did wrong is data ([`diag`]), collected on the way and shown in the text where it stands.
//!
//! # Layers
//!
//! A module names only modules of lower layers, so each can be read with nothing but what is below it in mind:
//!
//! | layer | modules |
//! | --- | --- |
//! | faces | [`display`], then [`cli`] |
//! | work | [`mixer`], then [`conductor`], then [`device`] and [`sink`], then [`bundle`], then [`session`], then [`recording`], then [`tapping`], then [`notebook`], then [`review`], then [`prepare`], then [`render`], then [`authoring`]; each may name those before it |
//! | plan | [`practice`], then [`lane`], then [`timeline`], then [`plan`]; likewise |
//! | people | [`pack`], [`swimmer`] |
//! | text | [`audio`], then [`script`], then [`whiteboard`]; likewise |
//! | base | [`units`], [`diag`], [`progress`], [`cores`], [`disk`], [`messages`] |
//!
//! # From a script to a file
//!
//! ```
//! use lengthwise::prepare::{self, PracticeRequest};
//!
//! let request = PracticeRequest { script: "first-lengths/level-body".into(), ..PracticeRequest::default() };
//! let outcome = prepare::plan(&request)?;
//! assert!(outcome.diagnostics.is_empty());
//! let planned = outcome.planned.expect("no problems");
//! // The go of the first repeat; the whole practice is in exact nanoseconds.
//! let go = planned.built.strand.starts[0].go;
//! assert!(go < planned.built.timeline.len());
//! # Ok::<(), prepare::Unreadable>(())
//! ```
//!
//! [`render::file::render`] writes the practice as a sound file that is whole or not there.

pub mod audio;
pub mod authoring;
pub mod bundle;
#[cfg(test)]
#[path = "../tests/cases.rs"]
mod cases;
#[cfg(test)]
#[path = "../tests/kit/chance.rs"]
mod chance;
pub mod cli;
pub mod conductor;
pub mod cores;
pub mod device;
pub mod diag;
pub mod disk;
pub mod display;
pub mod lane;
pub mod messages;
pub mod mixer;
pub mod next;
pub mod notebook;
pub mod pack;
pub mod page;
pub mod plan;
pub mod practice;
pub mod prepare;
pub mod progress;
pub mod recording;
pub mod render;
pub mod review;
pub mod script;
pub mod session;
pub mod sink;
pub mod swimmer;
pub mod tapping;
pub mod timeline;
pub mod units;
pub mod whiteboard;
