//! The parts that a practice is put together from: which there are, how large each may be, how they grow.

use super::shape::PracticeShape;
use super::state::PracticeKind;
use crate::units::swim::PoolLength;

/// Who takes longer than so many seconds for a steady 100 swims short repeats. Common practice, no source.
const SLOW: f64 = 140.0;

/// One set of a practice, by what it is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartKind {
    /// Easy swimming to begin with.
    Start,
    /// A drill, and the whole stroke after it.
    Drill,
    /// At the relaxed tempo, counted at the end.
    Relaxed,
    /// Up the tempos, to the edge.
    Ladder,
    /// At the edge, counted, with easy swims between.
    Edge,
    /// The drill, and a longer swim after it.
    Fade,
    /// Easy, brisk and fast in turn.
    Build,
    /// Even pace, a little quicker each time.
    Pace,
    /// Longer swims.
    Long,
    /// Without a beat: what has stayed of it?
    Unbeaten,
    /// A swim by the clock.
    Timed,
    /// What is swum easily beside what hurts.
    Spared,
    /// Any stroke, easily.
    Free,
    /// Easy swimming to end with.
    End,
}

/// A set with what can be changed of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PracticePart {
    /// What it is for.
    pub kind: PartKind,
    /// How many repeats; rounds, steps or pairs where it has those.
    pub count: u32,
    /// At least so many.
    pub least: u32,
    /// At most so many.
    pub most: u32,
    /// How it grows against the others: the greater the more.
    pub weight: u32,
    /// Seconds of rest after each repeat.
    pub rest: u32,
}

/// What of the swimmer and the pool decides how far repeats are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Distances {
    /// One length.
    pub length: u32,
    /// A repeat, in the pool's unit.
    pub short: u32,
    /// A longer one.
    pub long: u32,
    /// The timed swim, and the long ones.
    pub timed: u32,
    /// Whether the repeats are short ones.
    pub slow: bool,
    /// `m` or `yd`.
    pub unit: &'static str,
}

impl Distances {
    /// For a pool, and somebody who takes so many seconds for a steady 100 of its unit.
    pub fn of(pool: PoolLength, hundred: f64) -> Self {
        let length = pool.distance().count();
        let whole = |far: u32| far.div_ceil(length) * length;
        let slow = hundred > SLOW;
        let (short, long, timed) = if slow { (25, 50, 100) } else { (50, 100, 200) };
        Self { length, short: whole(short), long: whole(long), timed: whole(timed), slow, unit: pool.unit().sign() }
    }

    /// So many metres or yards, in words.
    pub fn far(&self, distance: u32) -> String {
        format!("{distance} {}", self.unit)
    }

    /// What keeps a far end from being taken for a mistake.
    pub fn end(&self, distance: u32) -> &'static str {
        if (distance / self.length.max(1)).is_multiple_of(2) { "" } else { "end: far" }
    }
}

/// The parts of a kind of practice in their order, each as small as it can be; an ordinary one has a shape.
pub fn parts(kind: PracticeKind, shape: PracticeShape, has_drill: bool, slow: bool) -> Vec<PracticePart> {
    use PartKind::{Build, Drill, Edge, End, Fade, Free, Ladder, Long, Pace, Relaxed, Spared, Start, Timed, Unbeaten};
    let rest = if slow { 30 } else { 20 };
    let part = |kind, least, most, weight| PracticePart { kind, count: least, least, most, weight, rest };
    // How they grow is our choice: a third of the time for finding the stroke, a third for what the shape is about, a third to
    // keep it. Each has a counted swim at the relaxed tempo: the others are held against it.
    let found = match (kind, shape) {
        (PracticeKind::Ordinary, PracticeShape::Tempos) => vec![
            part(Start, 2, 10, 4),
            part(Drill, 2, 10, 4),
            part(Relaxed, 2, 6, 3),
            part(Ladder, 4, 6, 5),
            part(Edge, 1, 4, 2),
            part(Unbeaten, 0, 12, 4),
            part(End, 1, 6, 2),
        ],
        (PracticeKind::Ordinary, PracticeShape::Pairs) => vec![
            part(Start, 2, 10, 4),
            part(Drill, 3, 12, 6),
            part(Relaxed, 2, 6, 3),
            part(Fade, 1, 8, 3),
            part(Unbeaten, 0, 12, 3),
            part(End, 1, 6, 2),
        ],
        (PracticeKind::Ordinary, PracticeShape::Paces) => vec![
            part(Start, 2, 10, 4),
            part(Drill, 2, 8, 3),
            part(Relaxed, 2, 5, 3),
            part(Build, 2, 4, 2),
            part(Pace, 2, 8, 4),
            part(End, 1, 8, 3),
        ],
        (PracticeKind::Ordinary, PracticeShape::Long) => vec![
            part(Start, 2, 8, 4),
            part(Drill, 2, 6, 3),
            part(Relaxed, 2, 5, 3),
            part(Long, 1, 8, 3),
            part(End, 1, 6, 2),
        ],
        (PracticeKind::Baseline | PracticeKind::Return, _) => vec![
            part(Start, 2, 12, 4),
            part(Drill, 2, 10, 4),
            part(Relaxed, 2, 6, 3),
            part(Ladder, 4, 6, 5),
            part(Timed, 1, 1, 1),
            part(Unbeaten, 0, 12, 3),
            part(End, 1, 8, 3),
        ],
        (PracticeKind::Easier, _) => vec![
            part(Start, 2, 12, 4),
            part(Drill, 2, 10, 4),
            part(Relaxed, 2, 6, 3),
            part(Unbeaten, 1, 12, 4),
            part(End, 1, 8, 3),
        ],
        (PracticeKind::Sore, _) => {
            vec![part(Start, 2, 12, 3), part(Spared, 2, 12, 3), part(Free, 2, 16, 4), part(End, 1, 8, 2)]
        }
    };
    found.into_iter().filter(|part| !matches!(part.kind, Drill | Fade | Spared) || has_drill).collect()
}

impl PracticePart {
    /// Metres or yards of one more of it, and of none of it.
    pub fn distance(&self, far: &Distances) -> (u32, u32) {
        match self.kind {
            PartKind::Drill => (if far.slow { 2 * far.short } else { 2 * far.length }, 0),
            PartKind::Relaxed => (far.short, far.short),
            // Twice the swims at the edge, a counted one, an easy one.
            PartKind::Edge => (2 * far.short, 4 * far.short),
            PartKind::Fade => (far.short + far.long, 0),
            // Easy, brisk, fast.
            PartKind::Build => (3 * far.short, 0),
            PartKind::Spared => (2 * far.short, 0),
            PartKind::Unbeaten | PartKind::Pace => (far.long, 0),
            PartKind::Timed | PartKind::Long => (far.timed, 0),
            _ => (far.short, 0),
        }
    }

    /// Whether it is swum at all.
    pub const fn is_swum(&self) -> bool {
        self.count > 0 || matches!(self.kind, PartKind::Edge | PartKind::Relaxed)
    }
}
