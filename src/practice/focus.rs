//! Which focus phrase is in force when: the sequence of a set's changes laid over its repeats.

use super::calls::{is_sure, may_be_off};
use super::strokes::{self, push_off};
use super::{FocusFrom, FocusPoint, Repeat};
use crate::diag::{Code, Diagnostic, Span};
use crate::script::{Change, Focus, FocusOrder};
use std::ops::Range;

/// Lays a focus over the repeats that share it and reports what would not work.
pub fn assign(focus: &Focus, span: Span, repeats: &mut [&mut Repeat], seed: u64) -> Vec<Diagnostic> {
    let mut diagnostics = Vec::new();
    let phrases = focus.phrases.len().max(1);
    let change = if phrases == 1 { Change::Set } else { focus.change.value };
    let spans: Vec<Vec<(FocusPoint, usize)>> = spans(change, repeats);
    let changes = spans.iter().flatten().map(|(_, change)| change + 1).max().unwrap_or(0);
    let order = sequence(focus.order, phrases, changes, seed);
    let mut heard = vec![false; phrases];
    for (repeat, spans) in repeats.iter_mut().zip(spans) {
        repeat.focus.clear();
        for (from, change) in spans {
            let phrase = order.get(change).copied().unwrap_or(0);
            if let Some(heard) = heard.get_mut(phrase) {
                *heard = true;
            }
            if repeat.focus.last().is_none_or(|last| last.phrase != phrase) {
                repeat.focus.push(FocusFrom { from, phrase });
            }
        }
    }
    if let Change::Strokes(_) = change
        && repeats.iter().any(|repeat| strokes::counted(repeat).is_empty())
    {
        let message = "the focus changes by strokes, but these strokes cannot be counted";
        diagnostics
            .push(Diagnostic::at(Code::Conflict, span, message).hint("use `change: length` or `change: repeat`"));
    } else {
        for (phrase, _) in focus.phrases.iter().zip(&heard).filter(|(_, heard)| !**heard) {
            let message = format!("`{}` never comes: the focus changes {changes} time(s) only", phrase.value);
            diagnostics.push(
                Diagnostic::at(Code::FocusUnheard, phrase.span, message)
                    .hint("change it more often, or name fewer phrases"),
            );
        }
    }
    diagnostics.extend(uncertain(repeats, span));
    diagnostics
}

/// For each repeat the places of its changes, each with the number of the change in the whole set.
fn spans(change: Change, repeats: &[&mut Repeat]) -> Vec<Vec<(FocusPoint, usize)>> {
    let mut before = 0;
    let mut first_round = None;
    let spans = |repeat: &Repeat| match change {
        Change::Set => vec![(FocusPoint::Length(0), 0)],
        Change::Round => {
            let first = *first_round.get_or_insert(repeat.round);
            vec![(FocusPoint::Length(0), (repeat.round - first) as usize)]
        }
        Change::Repeat => {
            before += 1;
            vec![(FocusPoint::Length(0), before - 1)]
        }
        Change::Length => {
            before += repeat.lengths.len();
            let from = before - repeat.lengths.len();
            (0..repeat.count_lengths()).map(|length| (FocusPoint::Length(length), from + length as usize)).collect()
        }
        Change::Strokes(n) => {
            let (n, count) = (n.max(1) as usize, strokes::counted(repeat).len());
            let all: Range<usize> = before..before + count;
            before = all.end;
            // The change in force at the start, then those that begin on a stroke of this repeat.
            let begun = std::iter::once((FocusPoint::Length(0), all.start / n));
            let later = (all.start + 1..all.end).filter(|stroke| stroke.is_multiple_of(n));
            begun.chain(later.map(|stroke| (FocusPoint::Stroke((stroke - all.start) as u32), stroke / n))).collect()
        }
    };
    repeats.iter().map(|repeat| &**repeat).map(spans).collect()
}

/// Which phrase each change brings.
fn sequence(order: FocusOrder, phrases: usize, changes: usize, seed: u64) -> Vec<usize> {
    match order {
        FocusOrder::InTurn => (0..changes).map(|change| change % phrases).collect(),
        FocusOrder::Blocked => (0..changes).map(|change| change * phrases / changes.max(1)).collect(),
        FocusOrder::Shuffled => {
            let mut random = Random(seed);
            let mut sequence: Vec<usize> = Vec::with_capacity(changes + phrases);
            while sequence.len() < changes {
                let mut round: Vec<usize> = (0..phrases).collect();
                for i in (1..phrases).rev() {
                    round.swap(i, random.below(i + 1));
                }
                // Each round brings every phrase once; none is heard twice running across the seam.
                if sequence.last() == round.first() && phrases > 1 {
                    round.swap(0, phrases - 1);
                }
                sequence.extend(round);
            }
            sequence.truncate(changes);
            sequence
        }
    }
}

/// The splitmix64 generator (Steele, Lea & Flood 2014): tiny, and the same everywhere for ever, which a shuffled
/// practice needs more than good randomness.
struct Random(u64);

impl Random {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % n.max(1) as u64) as usize
    }
}

/// Cautions where a change under way may meet the swimmer on another length: where the accumulated 80 % interval
/// passes a quarter of a length.
fn uncertain(repeats: &[&mut Repeat], span: Span) -> Option<Diagnostic> {
    let risk = |repeat: &Repeat| {
        let last = repeat.focus.iter().skip(1).next_back()?;
        let reached = match last.from {
            FocusPoint::Length(length) => push_off(repeat, length),
            FocusPoint::Stroke(_) => repeat.predicted,
        };
        // In open water there is no length to miss.
        (repeat.lengths.len() > 1 && !is_sure(repeat, reached)).then(|| may_be_off(repeat, reached).as_f64())
    };
    let off = repeats.iter().filter_map(|repeat| risk(repeat)).max_by(f64::total_cmp)?;
    let message = format!("the last change may come {off:.0} s early or late, more than a quarter of a length");
    Some(Diagnostic::at(Code::FocusUncertain, span, message).hint("use `change: repeat`, or shorter repeats"))
}

#[cfg(test)]
mod tests {
    use super::super::strokes::tests::repeat;
    use super::*;
    use crate::diag::{Sources, Spanned};
    use crate::units::time::{Seconds, Tempo};

    fn laid(change: Change, order: FocusOrder, phrases: usize, repeats: &mut [Repeat]) -> Vec<Diagnostic> {
        let span = Span::new(Sources::new().add("a", "b"), 0, 1);
        let names = (0..phrases).map(|i| Spanned::new(format!("p{i}"), span)).collect();
        let focus = Focus { phrases: names, change: Spanned::new(change, span), order };
        assign(&focus, span, &mut repeats.iter_mut().collect::<Vec<_>>(), 1)
    }

    fn phrases(repeats: &[Repeat]) -> Vec<Vec<usize>> {
        repeats.iter().map(|r| r.focus.iter().map(|f| f.phrase).collect()).collect()
    }

    #[test]
    fn changes_run_on_through_the_set() {
        let mut repeats: Vec<Repeat> = (0..3).map(|_| repeat(2, 20_500, Tempo::from_centis(100))).collect();
        assert!(laid(Change::Length, FocusOrder::InTurn, 3, &mut repeats).is_empty());
        assert_eq!(phrases(&repeats), [[0, 1], [2, 0], [1, 2]]);
        laid(Change::Repeat, FocusOrder::InTurn, 2, &mut repeats);
        assert_eq!(phrases(&repeats), [[0], [1], [0]]);
        laid(Change::Length, FocusOrder::Blocked, 2, &mut repeats);
        assert_eq!(phrases(&repeats), [vec![0], vec![0, 1], vec![1]]);
        // 33 counted strokes a repeat (see strokes): changes at 20, 40, 60, 80.
        laid(Change::Strokes(20), FocusOrder::InTurn, 2, &mut repeats);
        assert_eq!(phrases(&repeats), [vec![0, 1], vec![1, 0, 1], vec![1, 0]]);
        assert_eq!(repeats[1].focus[1].from, FocusPoint::Stroke(7));
    }

    #[test]
    fn shuffles_are_balanced_and_stable() {
        let order = sequence(FocusOrder::Shuffled, 4, 40, 7);
        for phrase in 0..4 {
            assert_eq!(order.iter().filter(|p| **p == phrase).count(), 10);
        }
        assert!(order.windows(2).all(|pair| pair[0] != pair[1]));
        assert_eq!(order, sequence(FocusOrder::Shuffled, 4, 40, 7));
        assert_ne!(order, sequence(FocusOrder::Shuffled, 4, 40, 8));
    }

    #[test]
    fn phrases_that_never_come_are_reported() {
        let mut repeats = vec![repeat(1, 20_500, Tempo::from_centis(100))];
        let found = laid(Change::Repeat, FocusOrder::InTurn, 2, &mut repeats);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].code, Code::FocusUnheard);
    }

    #[test]
    fn far_changes_are_uncertain() {
        let mut repeats = vec![repeat(16, 30_000, Tempo::from_centis(100))];
        repeats[0].uncertainty = Seconds::from_secs(30);
        assert!(
            laid(Change::Length, FocusOrder::InTurn, 2, &mut repeats).iter().any(|d| d.code == Code::FocusUncertain)
        );
        repeats[0].uncertainty = Seconds::from_secs(7);
        assert!(laid(Change::Length, FocusOrder::InTurn, 2, &mut repeats).is_empty());
    }
}
