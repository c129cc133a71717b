//! How far: never much more than of late, and less after a time away.

use super::past;
use crate::notebook::entry::LoggedPractice;

/// The last practices whose mean is the measure. Our choice.
pub const OF_LATE: usize = 4;
/// At most so much of the mean of late. Common practice, no source; the evidence that such a bound prevents injury is weak.
pub const MOST: f64 = 1.10;
/// So much of it after a time away and on an easier day. Our choice.
pub const LESS: f64 = 0.80;
/// So much of it where something hurts. Our choice.
pub const SORE: f64 = 0.50;
/// Practices are as far as each other within so much more. Our choice: a repeat or two.
pub const ALIKE: f64 = 1.05;

/// How far a practice may go, in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VolumeBound {
    /// The mean of late.
    pub of_late: f64,
    /// The furthest of late: kinds of practice differ in how far they go, and what was swum lately is nothing new.
    pub furthest: f64,
    /// At most so far where nothing else changes.
    pub most: f64,
    /// At most so far where something else changes.
    pub alike: f64,
}

/// The bound that follows from the practices; none before the first one.
pub fn bound(practices: &[LoggedPractice]) -> Option<VolumeBound> {
    let of_late = past::mean(past::last(practices, OF_LATE).iter().map(LoggedPractice::metres))?;
    let furthest = past::last(practices, OF_LATE).iter().map(LoggedPractice::metres).fold(of_late, f64::max);
    let most = MOST * of_late;
    Some(VolumeBound { of_late, furthest, most, alike: (ALIKE * furthest).min(most) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next::tests::SwumPractice;

    #[test]
    fn never_much_more_than_of_late() {
        assert_eq!(bound(&[]), None);
        let far = |metres: f64| SwumPractice::on(1).tempo(1.3).tempo(1.2).metres(metres).done();
        let bound = |metres: &[f64]| bound(&metres.iter().map(|metres| far(*metres)).collect::<Vec<_>>()).unwrap();
        let found = bound(&[9_000.0, 1_000.0, 1_000.0, 1_000.0, 1_200.0]);
        assert_eq!((found.of_late, found.furthest), (1_050.0, 1_200.0));
        assert!((found.most - 1_155.0).abs() < 1e-9 && (found.alike - 1_155.0).abs() < 1e-9);
        let found = bound(&[1_200.0, 1_000.0]);
        assert!((found.most - 1_210.0).abs() < 1e-9 && (found.alike - 1_210.0).abs() < 1e-9);
    }
}
