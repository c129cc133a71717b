//! Strokes tapped on a key, from the deck or from a film: taps with their times go in, and out come the count of each length,
//! its tempo with an interval, how the tempo drifts, and the breaths. It has no clock: whoever reads the keys knows the times.
//!
//! A tap that is missing or double shows in the intervals. It is corrected in the tempo; in the count it is a question.

mod breaths;
mod length;
mod machine;
mod place;
mod slope;
mod tap;
pub mod words;

pub use breaths::TappedBreaths;
pub use length::{TappedLength, TappedTempo, TempoDrift};
pub use machine::{TappedSwim, Tapping};
pub use place::TapDoubt;
pub use tap::{BadTap, Tap, TapKey, parse};
