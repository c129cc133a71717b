//! Which parts of a sound an MP3 encoder must see at all: practices are mostly silence, and frames of silence are alike.
//!
//! Input blocks and output frames have the same length, one block the other's number. A block reaches into the frame
//! before it and, by the filters' overlap, into those after it; a stretch is what the busy blocks reach. Everything here
//! is counted on the grid of blocks, so that it is the same for any division of the sound. Nothing is encoded here.

use crate::mixer::sample::Frame;

/// Frames before and after a busy block that are not silent.
const BEFORE: u64 = 1;
const AFTER: u64 = 3;
/// Blocks that an encoder is given before the first frame that counts, so that what it remembers is right.
const LEAD: u64 = 2;
/// Blocks of one chunk, from which on it is handed over: the work of one thread at a time.
const CHUNK: usize = 512;

/// Stretches that one encoder is given after each other.
#[derive(Debug, Default)]
pub struct Chunk {
    /// Whole blocks.
    pub sound: Vec<Frame>,
    /// What its frames are for, in their order.
    pub takes: Vec<Counted>,
}

/// Some frames that count, between such as do not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counted {
    /// Frames of silence in the file before them.
    pub silent: u64,
    /// The first of them among the frames of the chunk.
    pub from: usize,
    /// How many they are.
    pub frames: usize,
}

/// Cuts a sound into the stretches that the encoder must see, as the frames come.
#[derive(Debug)]
pub struct Stretches {
    block_len: usize,
    /// Frames that the file is to have.
    total: u64,
    /// The block under way.
    partial: Vec<Frame>,
    block: u64,
    /// Frames that are accounted for.
    accounted: u64,
    open: Option<OpenStretch>,
    chunk: Chunk,
}

/// A stretch under way, whose blocks are the last ones of the chunk.
#[derive(Debug)]
struct OpenStretch {
    silent: u64,
    first: u64,
    last: u64,
    /// Its first block within the chunk, in blocks.
    at: usize,
}

impl Stretches {
    /// For blocks of so many frames of sound, and so many frames of the file.
    pub fn new(block_len: usize, total: u64) -> Self {
        let partial = Vec::with_capacity(block_len);
        Self { block_len, total, partial, block: 0, accounted: 0, open: None, chunk: Chunk::default() }
    }

    /// Takes sound up to the end of a block, and returns what is left of it.
    pub fn sound<'a>(&mut self, frames: &'a [Frame]) -> (&'a [Frame], Option<Chunk>) {
        let (now, later) = frames.split_at(frames.len().min(self.block_len - self.partial.len()));
        self.partial.extend_from_slice(now);
        let chunk = if self.partial.len() == self.block_len { self.whole_block() } else { None };
        (later, chunk)
    }

    /// Takes silence up to the end of a block, or whole blocks of it that nothing reaches into; returns what is left.
    pub fn silence(&mut self, frames: u64) -> (u64, Option<Chunk>) {
        let len = self.block_len as u64;
        if self.partial.is_empty() && self.open.is_none() && frames >= len {
            self.block += frames / len;
            return (frames % len, None);
        }
        let now = frames.min(len - self.partial.len() as u64);
        self.partial.resize(self.partial.len() + now as usize, [0; 2]);
        let chunk = if self.partial.len() == self.block_len { self.whole_block() } else { None };
        (frames - now, chunk)
    }

    /// After the last sound: the last chunk, and the frames of silence behind it.
    pub fn finish(&mut self) -> (Vec<Chunk>, u64) {
        let mut chunks = Vec::new();
        while !self.partial.is_empty() || self.open.is_some() {
            self.partial.resize(self.block_len, [0; 2]);
            chunks.extend(self.whole_block());
        }
        if !self.chunk.takes.is_empty() {
            chunks.push(std::mem::take(&mut self.chunk));
        }
        (chunks, self.total.saturating_sub(self.accounted))
    }

    fn whole_block(&mut self) -> Option<Chunk> {
        let busy = self.partial.iter().any(|frame| *frame != [0; 2]);
        let block = self.block;
        self.block += 1;
        if busy && self.open.is_none() {
            let first = block.saturating_sub(BEFORE).max(self.accounted);
            let silent = first - self.accounted;
            let at = self.chunk.sound.len() / self.block_len;
            let lead = (block + LEAD - first) as usize;
            self.chunk.sound.resize(self.chunk.sound.len() + lead * self.block_len, [0; 2]);
            self.open = Some(OpenStretch { silent, first, last: block + AFTER, at });
        }
        let Some(open) = &mut self.open else {
            self.partial.clear();
            return None;
        };
        self.chunk.sound.append(&mut self.partial);
        if busy {
            open.last = block + AFTER;
        }
        if block > open.last {
            // Behind its last frame an encoder has seen a block more, which it looks ahead to.
            let OpenStretch { silent, first, last, at } = *open;
            self.open = None;
            self.take(silent, first, last + 1, at);
            return self.full();
        }
        if self.chunk.sound.len() / self.block_len >= 2 * CHUNK {
            // Sound that is never silent is cut after all; the next encoder begins with blocks that this one had.
            let OpenStretch { silent, first, last, at } = *open;
            let cut = block - 1;
            self.take(silent, first, cut, at);
            let kept = (LEAD + 2) as usize * self.block_len;
            let sound = self.chunk.sound.iter().copied().skip(self.chunk.sound.len() - kept).collect();
            self.open = Some(OpenStretch { silent: 0, first: cut, last, at: 0 });
            return Some(std::mem::replace(&mut self.chunk, Chunk { sound, takes: Vec::new() }));
        }
        None
    }

    fn take(&mut self, silent: u64, first: u64, end: u64, at: usize) {
        let end = end.min(self.total);
        let frames = end.saturating_sub(first) as usize;
        self.chunk.takes.push(Counted { silent, from: at + LEAD as usize, frames });
        self.accounted = end;
    }

    fn full(&mut self) -> Option<Chunk> {
        (self.chunk.sound.len() / self.block_len >= CHUNK).then(|| std::mem::take(&mut self.chunk))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The chunks of a sound given in pieces, silent ones as silence.
    fn chunks(sound: &[Frame], len: usize, total: u64, cuts: &[usize]) -> (Vec<Chunk>, u64) {
        let mut stretches = Stretches::new(len, total);
        let mut chunks = Vec::new();
        for cut in cuts.windows(2) {
            let mut piece = &sound[cut[0]..cut[1]];
            if piece.iter().all(|frame| *frame == [0; 2]) {
                let mut left = piece.len() as u64;
                while left > 0 {
                    let (rest, chunk) = stretches.silence(left);
                    left = rest;
                    chunks.extend(chunk);
                }
            } else {
                while !piece.is_empty() {
                    let (rest, chunk) = stretches.sound(piece);
                    piece = rest;
                    chunks.extend(chunk);
                }
            }
        }
        let (last, silent) = stretches.finish();
        chunks.extend(last);
        (chunks, silent)
    }

    proptest! {
        #![proptest_config(crate::cases::cases(64))]

        #[test]
        fn every_busy_block_is_seen_with_its_neighbours_and_every_frame_is_there_once(
            runs in prop::collection::vec((0_usize..60, 0_usize..1400), 0..12),
            cuts in prop::collection::vec(0.0..1.0_f64, 0..10),
        ) {
            // Blocks of four frames, so that much happens in little sound.
            const LEN: usize = 4;
            let mut sound = Vec::new();
            for (n, (silent, busy)) in runs.iter().enumerate() {
                sound.extend(vec![[0; 2]; silent * 3]);
                // Mostly short, sometimes longer than a chunk may be.
                let busy = if n % 5 == 4 { busy * 8 } else { busy / 20 };
                let begin = sound.len();
                sound.extend((begin..begin + busy).map(|at| [1, at as i16]));
            }
            let total = (sound.len() as u64 + 5).div_ceil(LEN as u64);
            let whole = chunks(&sound, LEN, total, &[0, sound.len()]);
            let mut cuts: Vec<usize> = cuts.iter().map(|cut| (cut * sound.len() as f64) as usize).collect();
            cuts.extend([0, sound.len()]);
            cuts.sort_unstable();
            let divided = chunks(&sound, LEN, total, &cuts);
            prop_assert_eq!(whole.1, divided.1);
            prop_assert_eq!(whole.0.len(), divided.0.len());
            let mut frame = 0;
            for (chunk, other) in whole.0.iter().zip(&divided.0) {
                prop_assert!(chunk.sound == other.sound && chunk.takes == other.takes);
                prop_assert!(chunk.sound.len().is_multiple_of(LEN) && chunk.sound.len() / LEN <= 2 * CHUNK);
                for take in &chunk.takes {
                    // What is passed over is silent, and so is all that reaches into it.
                    for silent in frame..frame + take.silent {
                        let from = (silent as usize).saturating_sub(AFTER as usize) * LEN;
                        let to = sound.len().min((silent as usize + 1 + BEFORE as usize) * LEN);
                        prop_assert!(sound[from.min(to)..to].iter().all(|frame| *frame == [0; 2]));
                    }
                    frame += take.silent;
                    // The encoder has the blocks of the frames that count, the lead before and one behind.
                    for at in 0..take.frames + LEAD as usize + 1 {
                        let block = frame as i64 + at as i64 - LEAD as i64;
                        let held = &chunk.sound[(take.from - LEAD as usize + at) * LEN..][..LEN];
                        for (offset, held) in held.iter().enumerate() {
                            let place = block * LEN as i64 + offset as i64;
                            let expected = usize::try_from(place).ok().and_then(|place| sound.get(place));
                            prop_assert_eq!(*held, expected.copied().unwrap_or_default());
                        }
                    }
                    frame += take.frames as u64;
                }
            }
            prop_assert_eq!(frame + whole.1, total);
        }
    }
}
