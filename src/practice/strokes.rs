//! Which beats of a repeat's grid are counted strokes, and on which length.
//!
//! The grid has beat 0 at the go (or on the last beat before a join) and runs through the turns. A beat in the first
//! `wall` seconds of a length meets no stroke (push-off and glide) and is not counted; every other beat before the touch
//! is. Where no beat is heard the same holds of the grid that the expected tempo would have.

use super::{FocusPoint, Length, Repeat};
use crate::units::time::{Seconds, Tempo, beat_time};

/// One counted stroke.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CountedStroke {
    /// Its beat on the grid.
    pub k: u32,
    /// When, from the repeat's start.
    pub at: Seconds,
    /// Its length, from 0.
    pub length: u32,
    /// Its number within the length, from 1.
    pub number: u32,
}

/// When a length begins, from the repeat's start.
pub fn push_off(repeat: &Repeat, length: u32) -> Seconds {
    repeat.lengths.iter().take(length as usize).map(|length| length.time).sum()
}

/// The counted strokes of a repeat, in order; none on lengths where strokes cannot be counted.
pub fn counted(repeat: &Repeat) -> Vec<CountedStroke> {
    let mut strokes = Vec::new();
    let mut begins = Seconds::ZERO;
    for (length, Length { time, wall, count, tempo }) in (0..).zip(&repeat.lengths) {
        if let Some(tempo) = tempo.filter(|_| count.is_some()) {
            let beat = |at: Seconds| tempo.first_at_or_after(at - repeat.offset);
            let beats = beat(begins + *wall)..beat(begins + *time);
            let stroke =
                |(k, number)| CountedStroke { k: k as u32, at: beat_time(repeat.offset, k, tempo), length, number };
            strokes.extend(beats.zip(1..).map(stroke));
        }
        begins += *time;
    }
    strokes
}

/// The tempo of a stroke's length, for windows that are some strokes long.
pub fn tempo_at(repeat: &Repeat, stroke: &CountedStroke) -> Option<Tempo> {
    repeat.lengths.get(stroke.length as usize)?.tempo
}

/// Which phrase is in force at each counted stroke.
pub fn focus_of_strokes<'a>(repeat: &'a Repeat, strokes: &'a [CountedStroke]) -> impl Iterator<Item = usize> + 'a {
    strokes.iter().enumerate().filter_map(|(index, stroke)| {
        let begun = |from: FocusPoint| match from {
            FocusPoint::Length(length) => length <= stroke.length,
            FocusPoint::Stroke(first) => first as usize <= index,
        };
        repeat.focus.iter().rev().find(|focus| begun(focus.from)).map(|focus| focus.phrase)
    })
}

/// How many counted strokes of a repeat each of its line's phrases is in force for; those for which it never is are left out.
#[expect(clippy::expect_used, reason = "a day at the fastest tempo has 216,000 strokes")]
pub fn rehearsed(repeat: &Repeat) -> Vec<(usize, u32)> {
    let counted = counted(repeat);
    let mut phrases: Vec<(usize, u32)> = Vec::new();
    for phrase in focus_of_strokes(repeat, &counted) {
        match phrases.iter_mut().find(|(known, _)| *known == phrase) {
            Some((_, strokes)) => *strokes = strokes.checked_add(1).expect("under a day of strokes"),
            None => phrases.push((phrase, 1)),
        }
    }
    phrases
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::practice::FocusFrom;
    use crate::units::swim::{Distance, PoolUnit};

    /// A repeat of `lengths` lengths of `millis` each at `tempo`, 4 s of each without strokes.
    pub(crate) fn repeat(lengths: usize, millis: i64, tempo: Tempo) -> Repeat {
        let time = Seconds::from_millis(millis);
        let length = Length { time, wall: Seconds::from_secs(4), count: Some(1.0), tempo: Some(tempo) };
        Repeat {
            line: 0,
            round: 0,
            number: 0,
            distance: Distance::new(25 * lengths as u32, PoolUnit::Metre).unwrap(),
            estimated: false,
            lengths: vec![length; lengths],
            predicted: Seconds::from_millis(millis * lengths as i64),
            uncertainty: Seconds::ZERO,
            behind: Seconds::ZERO,
            regroup: None,
            interval: None,
            rest: None,
            joins: false,
            joined: false,
            offset: Seconds::ZERO,
            tempo: Some(tempo),
            focus: Vec::new(),
        }
    }

    /// How many strokes are counted on each length.
    fn per_length(repeat: &Repeat) -> Vec<usize> {
        let strokes = counted(repeat);
        (0..repeat.count_lengths()).map(|length| strokes.iter().filter(|s| s.length == length).count()).collect()
    }

    #[test]
    fn wall_windows_are_not_counted() {
        // By hand: 1.0 s beats, 20.5 s lengths, 4 s walls. Length 1: beats 4 to 20; length 2 pushes off at 20.5:
        // beats at 24.5 or later and before 41: 25 to 40.
        let mut repeat = repeat(2, 20_500, Tempo::from_centis(100));
        let strokes = counted(&repeat);
        assert_eq!(per_length(&repeat), [17, 16]);
        let secs = Seconds::from_secs;
        assert_eq!(strokes[0], CountedStroke { k: 4, at: secs(4), length: 0, number: 1 });
        assert_eq!(strokes[17], CountedStroke { k: 25, at: secs(25), length: 1, number: 1 });
        assert_eq!(strokes[32], CountedStroke { k: 40, at: secs(40), length: 1, number: 16 });
        // A grid that begins 0.7 s late: beats at 4.7 to 19.7 and 24.7 to 40.7.
        repeat.offset = Seconds::from_millis(700);
        assert_eq!(per_length(&repeat), [16, 17]);
        // A drill on the first length is not counted.
        repeat.lengths[0].count = None;
        assert_eq!(per_length(&repeat), [0, 17]);
    }

    #[test]
    fn strokes_belong_to_the_focus_in_force() {
        let mut repeat = repeat(2, 20_500, Tempo::from_centis(100));
        let strokes = counted(&repeat);
        repeat.focus = vec![
            FocusFrom { from: FocusPoint::Length(0), phrase: 0 },
            FocusFrom { from: FocusPoint::Length(1), phrase: 1 },
        ];
        assert_eq!(focus_of_strokes(&repeat, &strokes).filter(|p| *p == 1).count(), 16);
        repeat.focus[1].from = FocusPoint::Stroke(10);
        assert_eq!(focus_of_strokes(&repeat, &strokes).filter(|p| *p == 1).count(), 23);
    }
}
