//! Bundles: a cue pack as one file that can be sent, and the way back into a folder of packs.
//!
//! A bundle is a plain ZIP that any tool opens: one folder with the pack's name, in it what a pack is made of and
//! `SHA256SUMS`. The sums tell damage, not who made it: nobody signs. What a file from elsewhere may ask for is
//! decided in `name` (where its entries may lie), `archive` (how they lie in the file), `unpack` (how much comes out of
//! them) and `content` (what they hold); `install` moves a pack into its place only when all of that is good.

mod archive;
pub mod content;
mod fault;
pub mod install;
pub mod name;
mod raise;
mod sums;
mod unpack;
pub mod write;

pub use fault::{BundleError, MOST_BYTES, MOST_ENTRIES, Refusal};
