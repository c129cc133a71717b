//! Which beats of a repeat's grid are counted strokes, and on which length.
//!
//! The grid has beat 0 at the go and runs through the turns. A beat in the first `wall` seconds of a length meets
//! no stroke (push-off and glide) and is not counted; every other beat before the touch is.

use super::{Place, Repeat};
use crate::units::time::{Seconds, Tempo};

/// One counted stroke.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stroke {
    /// Its beat on the grid.
    pub k: u32,
    /// Its length, from 0.
    pub length: u32,
    /// Its number within the length, from 1.
    pub number: u32,
}

/// When a length begins, from the repeat's start.
pub fn push_off(repeat: &Repeat, length: u32) -> Seconds {
    repeat.length.time.times(u64::from(length))
}

/// The tempo of the strokes: heard or expected; `None` where strokes cannot be counted.
pub fn tempo(repeat: &Repeat) -> Option<Tempo> {
    repeat.length.count.and(repeat.length.tempo)
}

/// The counted strokes of a repeat, in order; none where strokes cannot be counted.
pub fn counted(repeat: &Repeat, wall: Seconds) -> Vec<Stroke> {
    let Some(tempo) = tempo(repeat) else { return Vec::new() };
    let mut strokes = Vec::new();
    for length in 0..repeat.lengths {
        let first = tempo.first_at_or_after(push_off(repeat, length) + wall);
        let end = tempo.first_at_or_after(push_off(repeat, length + 1));
        strokes.extend((first..end).zip(1..).map(|(k, number)| Stroke { k: k as u32, length, number }));
    }
    strokes
}

/// How many strokes are counted on each length.
pub fn per_length(repeat: &Repeat, wall: Seconds) -> Vec<u32> {
    let mut counts = vec![0; repeat.lengths as usize];
    for stroke in counted(repeat, wall) {
        if let Some(count) = counts.get_mut(stroke.length as usize) {
            *count += 1;
        }
    }
    counts
}

/// Which phrase is in force at each counted stroke.
pub fn focus_of_strokes<'a>(repeat: &'a Repeat, strokes: &'a [Stroke]) -> impl Iterator<Item = usize> + 'a {
    strokes.iter().enumerate().filter_map(|(index, stroke)| {
        let begun = |from: Place| match from {
            Place::Length(length) => length <= stroke.length,
            Place::Stroke(first) => first as usize <= index,
        };
        repeat.focus.iter().rev().find(|focus| begun(focus.from)).map(|focus| focus.phrase)
    })
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::swimmer::Prediction;

    /// A repeat of `lengths` lengths of `millis` each at `tempo`.
    pub(crate) fn repeat(lengths: u32, millis: i64, tempo: Tempo) -> Repeat {
        let time = Seconds::from_millis(millis);
        Repeat {
            line: 0,
            round: 0,
            number: 0,
            lengths,
            length: Prediction { time, count: Some(1.0), tempo: Some(tempo) },
            predicted: time.times(u64::from(lengths)),
            uncertainty: Seconds::ZERO,
            interval: None,
            tempo: Some(tempo),
            focus: Vec::new(),
        }
    }

    #[test]
    fn wall_windows_are_not_counted() {
        // By hand: 1.0 s beats, 20.5 s lengths, 4 s walls. Length 1: beats 4 to 20; length 2 pushes off at 20.5:
        // beats at 24.5 or later and before 41: 25 to 40.
        let repeat = repeat(2, 20_500, Tempo::from_centis(100));
        let strokes = counted(&repeat, Seconds::from_secs(4));
        assert_eq!(per_length(&repeat, Seconds::from_secs(4)), [17, 16]);
        assert_eq!(strokes[0], Stroke { k: 4, length: 0, number: 1 });
        assert_eq!(strokes[17], Stroke { k: 25, length: 1, number: 1 });
        assert_eq!(strokes[32], Stroke { k: 40, length: 1, number: 16 });
    }

    #[test]
    fn strokes_belong_to_the_focus_in_force() {
        let mut repeat = repeat(2, 20_500, Tempo::from_centis(100));
        let strokes = counted(&repeat, Seconds::from_secs(4));
        repeat.focus = vec![
            super::super::FocusFrom { from: Place::Length(0), phrase: 0 },
            super::super::FocusFrom { from: Place::Length(1), phrase: 1 },
        ];
        assert_eq!(focus_of_strokes(&repeat, &strokes).filter(|p| *p == 1).count(), 16);
        repeat.focus[1].from = Place::Stroke(10);
        assert_eq!(focus_of_strokes(&repeat, &strokes).filter(|p| *p == 1).count(), 23);
    }
}
