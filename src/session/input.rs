//! What a key or a line on standard input asks of a session.

use crate::conductor::command::Command;

/// What was asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Input {
    /// Steer the practice.
    Do(Command),
    /// End it here.
    Stop,
}
