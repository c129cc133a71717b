//! A practice as it stands on a whiteboard: `200 easy; 4x50 on 1:30 drill fist; 8x50 on 1:20 1.30-0.95; 100 easy`.
//!
//! [`read`](read::read) understands such a text or says what it does not, [`explain`](explain::explain) puts what was
//! understood into words, and [`write`](write::write) makes a cue script of it. Nothing is dropped: a word without a meaning
//! here is an error, and whatever the board leaves open is assumed aloud. Whether the practice can be swum is not known
//! here; the script goes the way of every script, and [`BoardScript::back`](write::BoardScript::back) brings its problems
//! back to the board.

pub mod board;
mod by_repeat;
pub mod context;
mod draft;
pub mod explain;
mod lex;
mod manner;
mod names;
pub mod read;
mod reader;
mod rounds;
mod selector;
mod swim;
mod values;
mod words;
pub mod write;

#[cfg(test)]
mod tests;
