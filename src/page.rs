//! Pages to look at, listen to and print: single HTML files that need nothing else and ask nothing of anybody.
//!
//! What is swum, heard and meant is decided elsewhere; here it is only shown. Texts of scripts and packs stand on a page as they
//! were typed: templates escape them, and characters that steer are shown by their numbers.

mod chart;
pub mod document;
mod drawing;
pub mod lane;
pub mod practice;
mod repeats;
pub mod review;
mod said;
mod sheet;
mod span;
pub mod typed;
