//! What a drill moves and how long it takes, as packs say it: scripts name drills, and people are predicted by this.

use crate::diag::Code;
use crate::script::BodyPart;
use crate::script::quantity::scan::Scan;
use crate::script::quantity::{Misread, Read};
use std::ops::RangeInclusive;

/// Hundredths of the easy time that a drill may take.
const TIME: RangeInclusive<u64> = 80..=500;

/// What moves the swimmer in a drill, and how long that takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DrillMovement {
    /// Arms and legs, legs, or hands.
    pub part: BodyPart,
    /// Hundredths of the easy time, 80 to 500.
    pub time: u32,
}

impl DrillMovement {
    /// A drill of which nothing more is said. A part takes as long in a drill as swum by itself.
    pub const fn of(part: BodyPart) -> Self {
        Self { part, time: Self::usual_time(part) }
    }

    /// How long a part takes, in hundredths of the easy time; for arms and legs, how long a drill with them does. Assumptions;
    /// common practice, no source.
    pub const fn usual_time(part: BodyPart) -> u32 {
        match part {
            BodyPart::Swim | BodyPart::Pull => 125,
            BodyPart::Kick => 160,
            BodyPart::Scull => 250,
        }
    }
}

/// How many times the easy time something takes, in hundredths: `1.25`.
pub fn factor(text: &str) -> Read<u32> {
    const WHAT: &str = "a factor of the easy time";
    let mut scan = Scan::new(text);
    let number = scan.need(WHAT, "1.25")?;
    scan.end(WHAT)?;
    let found = number.times(100).filter(|found| TIME.contains(found)).and_then(|found| u32::try_from(found).ok());
    found.ok_or_else(|| {
        let message = format!("{WHAT} of {}; 0.8 to 5 in hundredths is allowed", scan.shown(number.range.clone()));
        Misread::within(Code::OutOfRange, number.range.clone(), message).hint("for example `1.25`")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_are_hundredths() {
        for (text, found) in [("1.25", 125), ("2", 200), ("0,8", 80), ("5.00", 500)] {
            assert_eq!(factor(text), Ok(found), "{text}");
        }
        for text in ["0.79", "5.01", "1.255", "1.2 s", "quick", "-1"] {
            assert!(factor(text).is_err(), "{text}");
        }
    }
}
