//! Which stroke each tap of a length is: taps that are missing, double, or interrupted show in their intervals.

use super::slope::median;
use crate::units::swim::Side;

/// No hand goes in so soon after the other, in seconds: tempos begin at 0.4 s.
const SOONEST: f64 = 0.25;
/// An interval under so much of the usual one is a key that was hit twice. Our choice, as the next two: an uneven stroke and a hand
/// that scatters by 40 ms stay well within.
const DOUBLE_BELOW: f64 = 0.5;
/// From here on, in usual intervals, a tap is missing.
const MISSED_FROM: f64 = 1.6;
/// From here on nobody can say how many.
const PAUSE_FROM: f64 = 3.4;
/// Of fewer intervals the length itself tells no usual one.
const ENOUGH: usize = 3;

/// A hand that went in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct StrokeTap {
    /// Seconds in the water.
    pub at: f64,
    /// Whether with a breath, and to which side if it was said.
    pub breath: Option<Option<Side>>,
}

/// A tap that may be more or fewer strokes than one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TapDoubt {
    /// Taps are missing.
    Missed {
        /// Behind which tap of the length, from 1.
        after: u32,
        /// How many.
        taps: u32,
        /// The interval in seconds.
        gap: f64,
    },
    /// The key was hit twice.
    Double {
        /// Which tap of the length is the second, from 1.
        tap: u32,
        /// Seconds after the first.
        gap: f64,
    },
    /// Too long for strokes: a wall that was not tapped, or a stop.
    Pause {
        /// Behind which tap of the length, from 1.
        after: u32,
        /// Seconds.
        gap: f64,
    },
}

/// A tap with its stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct PlacedTap {
    /// Which stroke of the stretch, from 0, missing ones counted.
    pub stroke: f64,
    /// Behind how many pauses.
    pub stretch: u32,
    /// The tap.
    pub tap: StrokeTap,
}

/// Gives every tap its stroke; `before` is the tempo of the length before, for a length that has just begun.
pub(super) fn place(taps: &[StrokeTap], before: Option<f64>) -> (Vec<PlacedTap>, Vec<TapDoubt>) {
    let usual = usual(taps).or(before);
    let (mut placed, mut doubts): (Vec<PlacedTap>, Vec<TapDoubt>) = (Vec::new(), Vec::new());
    for (number, tap) in (1..).zip(taps) {
        let Some(last) = placed.last_mut() else {
            placed.push(PlacedTap { stroke: 0.0, stretch: 0, tap: *tap });
            continue;
        };
        let gap = tap.at - last.tap.at;
        let ratio = usual.map_or(1.0, |usual| gap / usual);
        if gap < SOONEST || ratio < DOUBLE_BELOW {
            // A slip that was mended at once: the breath belongs to the hand.
            last.tap.breath = last.tap.breath.or(tap.breath);
            doubts.push(TapDoubt::Double { tap: number, gap });
            continue;
        }
        let (mut stroke, mut stretch) = (last.stroke + 1.0, last.stretch);
        if ratio >= PAUSE_FROM {
            (stroke, stretch) = (0.0, stretch + 1);
            doubts.push(TapDoubt::Pause { after: number - 1, gap });
        } else if ratio >= MISSED_FROM {
            let missed = (libm::round(ratio) - 1.0).max(1.0);
            stroke += missed;
            doubts.push(TapDoubt::Missed { after: number - 1, taps: missed as u32, gap });
        }
        placed.push(PlacedTap { stroke, stretch, tap: *tap });
    }
    (placed, doubts)
}

/// The usual interval of taps that cannot be double.
fn usual(taps: &[StrokeTap]) -> Option<f64> {
    let mut intervals = Vec::new();
    let mut last: Option<f64> = None;
    for tap in taps {
        let gap = last.map(|last| tap.at - last);
        if gap.is_none_or(|gap| gap >= SOONEST) {
            intervals.extend(gap);
            last = Some(tap.at);
        }
    }
    median(Some(intervals).filter(|intervals| intervals.len() >= ENOUGH)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taps(times: &[f64]) -> Vec<StrokeTap> {
        times.iter().map(|at| StrokeTap { at: *at, breath: None }).collect()
    }

    fn strokes(times: &[f64], before: Option<f64>) -> (Vec<(f64, u32)>, Vec<TapDoubt>) {
        let (placed, doubts) = place(&taps(times), before);
        (placed.iter().map(|placed| (placed.stroke, placed.stretch)).collect(), doubts)
    }

    #[test]
    fn a_missing_tap_is_a_stroke() {
        let (placed, doubts) = strokes(&[0.0, 1.1, 2.2, 4.4, 5.5, 8.8, 9.9], None);
        assert_eq!(placed.iter().map(|(stroke, _)| *stroke).collect::<Vec<_>>(), [0.0, 1.0, 2.0, 4.0, 5.0, 8.0, 9.0]);
        assert!(
            matches!(
                doubts[..],
                [TapDoubt::Missed { after: 3, taps: 1, .. }, TapDoubt::Missed { after: 5, taps: 2, .. }]
            ),
            "{doubts:?}"
        );
    }

    #[test]
    fn a_double_tap_is_one_stroke_and_keeps_its_breath() {
        let mut tapped = taps(&[0.0, 1.1, 1.2, 2.2, 3.3, 4.4]);
        tapped[2].breath = Some(Some(Side::Left));
        let (placed, doubts) = place(&tapped, None);
        assert_eq!(placed.len(), 5);
        assert_eq!(placed[1].tap, StrokeTap { at: 1.1, breath: Some(Some(Side::Left)) });
        assert!(matches!(doubts[..], [TapDoubt::Double { tap: 3, .. }]), "{doubts:?}");
    }

    #[test]
    fn a_pause_is_no_number_of_strokes() {
        let (placed, doubts) = strokes(&[0.0, 1.1, 2.2, 3.3, 8.0, 9.1], None);
        assert_eq!(placed.iter().map(|(_, stretch)| *stretch).collect::<Vec<_>>(), [0, 0, 0, 0, 1, 1]);
        assert!(matches!(doubts[..], [TapDoubt::Pause { after: 4, .. }]), "{doubts:?}");
    }

    #[test]
    fn uneven_strokes_are_no_slips() {
        // A breath every third stroke that takes 0.25 s longer, and a hand that scatters by 40 ms.
        let (_, doubts) = strokes(&[0.0, 1.04, 2.00, 3.33, 4.28, 5.34, 6.63, 7.58, 8.66], None);
        assert_eq!(doubts, []);
    }

    #[test]
    fn a_length_that_has_just_begun_goes_by_the_one_before() {
        assert_eq!(strokes(&[0.0, 2.2], None).1, []);
        assert!(matches!(strokes(&[0.0, 2.2], Some(1.1)).1[..], [TapDoubt::Missed { after: 1, .. }]));
        assert!(matches!(strokes(&[0.0, 0.1], None).1[..], [TapDoubt::Double { tap: 2, .. }]));
    }
}
