//! Behaviour of the whole crate, one module each; tests of single files are beside them.

#![allow(missing_docs, clippy::unwrap_used, reason = "tests, also in their helpers")]

#[path = "main/golden.rs"]
mod golden;
