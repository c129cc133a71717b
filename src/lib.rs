//! Lengthwise turns a written swim practice into sound that reaches the swimmer at the stroke where it matters.

pub mod audio;
pub mod conductor;
pub mod diag;
pub mod mixer;
pub mod pack;
pub mod practice;
pub mod script;
pub mod sink;
pub mod swimmer;
pub mod timeline;
pub mod units;
