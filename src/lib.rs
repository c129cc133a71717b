//! Lengthwise turns a written swim practice into sound that reaches the swimmer at the stroke where it matters.

pub mod audio;
pub mod cli;
pub mod conductor;
pub mod diag;
pub mod job;
pub mod mixer;
pub mod pack;
pub mod plan;
pub mod practice;
pub mod progress;
pub mod script;
pub mod sink;
pub mod swimmer;
pub mod timeline;
pub mod units;
