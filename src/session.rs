//! A session: one practice played live or as if live, steered, watched and recorded.
//!
//! The sound is the conductor's and the mixer's; devices are opened by `sink`; terminals and signals belong to the faces.

pub mod audition;
mod faults;
pub mod input;
pub mod live;
mod monotonic;
mod outlet;
mod performance;
mod pool;
pub mod record;
mod silence;
pub mod simulated;
pub mod snapshot;
pub mod swim;
mod timekeeper;
mod watch;

pub use performance::{MakeBank, Programme, SessionEnd};
