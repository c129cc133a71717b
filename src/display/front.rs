//! What the screen knows besides the session: what is open over it, the clock on the wall, what somebody has seen.

use super::entry::TypedTempo;
use super::key_tables::Whose;
use crate::units::time::Seconds;

/// What is asked or shown over the rest.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Over {
    /// Nothing.
    #[default]
    Nothing,
    /// All keys.
    Keys,
    /// Whether to stop.
    Stop,
    /// A tempo, as far as it is typed.
    Tempo(TypedTempo),
    /// Whose number.
    Whose(Whose),
}

/// What the screen knows besides the session.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Front {
    /// What is asked or shown over the rest.
    pub over: Over,
    /// When the hand of the pool's pace clock was at the top, by the session's clock; none where nobody has said.
    pub top: Option<Seconds>,
    /// The number of the last fault that somebody has seen.
    pub seen: u32,
}
