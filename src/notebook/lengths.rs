//! Some of the lengths of a repeat, as people write them.

use std::fmt;
use std::ops::RangeInclusive;

/// Lengths of a repeat, from 1: `1-4, 6`; nothing where it is none of them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LengthRuns(Vec<RangeInclusive<u32>>);

impl LengthRuns {
    /// Those, given in rising order.
    pub fn of(lengths: impl IntoIterator<Item = u32>) -> Self {
        let mut runs: Vec<RangeInclusive<u32>> = Vec::new();
        for length in lengths {
            match runs.last_mut() {
                Some(run) if run.end().checked_add(1) == Some(length) => *run = *run.start()..=length,
                _ => runs.push(length..=length),
            }
        }
        Self(runs)
    }

    /// Reads what `Display` writes.
    pub fn parse(text: &str) -> Option<Self> {
        let run = |text: &str| {
            let (from, to) = text.split_once('-').unwrap_or((text, text));
            let (from, to): (u32, u32) = (from.trim().parse().ok()?, to.trim().parse().ok()?);
            (1..=to).contains(&from).then_some(from..=to)
        };
        let runs = text.split(',').map(str::trim).filter(|run| !run.is_empty());
        let runs: Vec<_> = runs.map(run).collect::<Option<_>>()?;
        let rising = runs.windows(2).all(|pair| matches!(pair, [one, next] if one.end() < next.start()));
        rising.then_some(Self(runs))
    }

    /// Whether a length is one of them.
    pub fn contains(&self, length: u32) -> bool {
        self.0.iter().any(|run| run.contains(&length))
    }

    /// How many they are.
    pub fn count(&self) -> u32 {
        self.0.iter().map(|run| run.end() - run.start() + 1).sum()
    }
}

impl fmt::Display for LengthRuns {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, run) in self.0.iter().enumerate() {
            let comma = if index > 0 { ", " } else { "" };
            match (run.start(), run.end()) {
                (one, end) if one == end => write!(f, "{comma}{one}")?,
                (from, to) => write!(f, "{comma}{from}-{to}")?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_are_written_and_read() {
        for (lengths, text) in
            [(vec![], ""), (vec![1], "1"), (vec![1, 2, 3, 4], "1-4"), (vec![1, 2, 4, 6, 7], "1-2, 4, 6-7")]
        {
            let runs = LengthRuns::of(lengths.iter().copied());
            assert_eq!((runs.to_string(), LengthRuns::parse(text)), (text.to_owned(), Some(runs.clone())));
            assert_eq!(runs.count() as usize, lengths.len());
            assert!((0..9).all(|length| runs.contains(length) == lengths.contains(&length)));
        }
        for wrong in ["0", "3-2", "2, 1", "1-", "a", "1;2", "4294967296"] {
            assert_eq!(LengthRuns::parse(wrong), None, "{wrong}");
        }
    }
}
