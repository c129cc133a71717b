//! One render into several sinks, one after the other, without a gap: what they take end to end is what one would take.
//!
//! Where the borders are is the caller's job, and what a sink is, and what is done with one that is full.

use super::Sink;
use crate::mixer::sample::Frame;

/// A sink of several parts, each a sink of its own, opened and closed as the frames reach it.
pub struct SplitSink<S, O, C> {
    /// Frames of each part, none of them 0.
    parts: Vec<u64>,
    /// Which part is being filled.
    at: usize,
    current: Option<S>,
    left: u64,
    open: O,
    close: C,
}

impl<S, E, O, C> SplitSink<S, O, C>
where
    S: Sink<Error = E>,
    O: FnMut(usize) -> Result<S, E>,
    C: FnMut(S) -> Result<(), E>,
{
    /// Parts that end before each of the `borders`, rising frames, and at `end`. A part without frames is left out: `open`
    /// is asked for the sinks by the numbers of those that remain, `close` takes each when it is full.
    pub fn new(borders: &[u64], end: u64, open: O, close: C) -> Self {
        let ends = borders.iter().copied().chain([end]);
        let begins = std::iter::once(0).chain(borders.iter().copied());
        let parts: Vec<u64> =
            begins.zip(ends).map(|(begin, end)| end.saturating_sub(begin)).filter(|n| *n > 0).collect();
        Self { parts, at: 0, current: None, left: 0, open, close }
    }

    /// The frames of each part.
    pub fn parts(&self) -> &[u64] {
        &self.parts
    }

    /// Gives up to so many frames to the sink whose turn it is; how many it was.
    fn give(&mut self, most: u64, give: impl FnOnce(&mut S, u64) -> Result<(), E>) -> Result<u64, E> {
        let sink = match &mut self.current {
            Some(sink) => sink,
            None => {
                // Beyond the last part nothing comes: then it takes what there is.
                self.left = self.parts.get(self.at).copied().unwrap_or(u64::MAX);
                self.current.insert((self.open)(self.at)?)
            }
        };
        let given = most.min(self.left);
        give(sink, given)?;
        self.left -= given;
        if self.left == 0 {
            self.at += 1;
            if let Some(full) = self.current.take() {
                (self.close)(full)?;
            }
        }
        Ok(given)
    }
}

impl<S, E, O, C> Sink for SplitSink<S, O, C>
where
    E: std::error::Error,
    S: Sink<Error = E>,
    O: FnMut(usize) -> Result<S, E>,
    C: FnMut(S) -> Result<(), E>,
{
    type Error = E;

    fn sound(&mut self, mut frames: &[Frame]) -> Result<(), E> {
        while !frames.is_empty() {
            let given =
                self.give(frames.len() as u64, |sink, n| sink.sound(frames.get(..n as usize).unwrap_or(frames)))?;
            (_, frames) = frames.split_at(given as usize);
        }
        Ok(())
    }

    fn silence(&mut self, mut frames: u64) -> Result<(), E> {
        while frames > 0 {
            frames -= self.give(frames, |sink, n| sink.silence(n))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::convert::Infallible;

    #[derive(Default)]
    struct CollectedFrames(usize, Vec<Frame>);

    impl Sink for CollectedFrames {
        type Error = Infallible;

        fn sound(&mut self, frames: &[Frame]) -> Result<(), Infallible> {
            self.1.extend_from_slice(frames);
            Ok(())
        }

        fn silence(&mut self, frames: u64) -> Result<(), Infallible> {
            self.sound(&vec![[0; 2]; frames as usize])
        }
    }

    proptest! {
        #![proptest_config(crate::cases::cases(64))]
        #[test]
        fn parts_end_to_end_are_the_whole(
            pieces in prop::collection::vec((any::<bool>(), 0_u64..50), 0..20),
            mut borders in prop::collection::vec(0_u64..600, 0..8),
        ) {
            let end = pieces.iter().map(|(_, frames)| frames).sum();
            borders.retain(|border| *border < end);
            borders.sort_unstable();
            let (mut whole, mut closed) = (CollectedFrames::default(), Vec::new());
            let mut split = SplitSink::new(&borders, end, |n| Ok(CollectedFrames(n, Vec::new())), |full| { closed.push(full); Ok(()) });
            for (number, (sounds, frames)) in pieces.iter().enumerate() {
                let sound: Vec<Frame> = (0..*frames).map(|n| [number as i16 + 1, n as i16]).collect();
                let to: [&mut dyn Sink<Error = Infallible>; 2] = [&mut whole, &mut split];
                for sink in to {
                    if *sounds { sink.sound(&sound).unwrap() } else { sink.silence(*frames).unwrap() }
                }
            }
            let parts = split.parts().to_vec();
            prop_assert!(closed.iter().map(|part| part.1.len() as u64).eq(parts), "every one is closed when it is full");
            prop_assert!(closed.iter().map(|part| part.0).eq(0..closed.len()));
            let ends: Vec<u64> = closed.iter().scan(0, |at, part| { *at += part.1.len() as u64; Some(*at) }).collect();
            let expected: std::collections::BTreeSet<u64> = borders.iter().copied().chain([end]).filter(|b| *b > 0).collect();
            prop_assert!(ends.into_iter().eq(expected));
            prop_assert_eq!(closed.into_iter().flat_map(|part| part.1).collect::<Vec<_>>(), whole.1);
        }
    }
}
