//! Cutting what was laid in absolute time into legs. What is heard when was decided before.

use super::{Beat, Cue, Grid, Leg, LegKind};
use crate::units::time::{Seconds, beat_time};
use std::ops::Range;

/// Cuts cues and grids in absolute time into legs that begin at `bounds`; what comes before the first is its own too.
pub fn slice(bounds: &[(Seconds, LegKind)], end: Seconds, mut cues: Vec<Cue>, laid: &[Grid]) -> Vec<Leg> {
    cues.sort_by_key(|cue| cue.at);
    let mut cues = cues.into_iter().peekable();
    let mut legs = Vec::with_capacity(bounds.len());
    // Grids are in order and each sounds in two legs or three: those that are over need no further look.
    let mut live = 0;
    for (index, (origin, kind)) in bounds.iter().enumerate() {
        let until = bounds.get(index + 1).map_or(end.max(*origin), |(next, _)| *next);
        let mut own = Vec::new();
        while let Some(mut cue) = cues.next_if(|cue| cue.at < until || index + 1 == bounds.len()) {
            cue.at = cue.at - *origin;
            own.push(cue);
        }
        // What is cut in at a frame keeps a beat that is rounded up to it.
        let low = if index == 0 { *origin - Seconds::from_millis(1) } else { *origin };
        let over = |grid: &&Grid| {
            grid.beats.last().is_none_or(|last| beat_time(grid.origin, u64::from(last.k), grid.tempo) < *origin)
        };
        live += laid.iter().skip(live).take_while(over).count();
        let begun = laid.iter().skip(live).take_while(|grid| grid.origin < until);
        let grids = begun.filter_map(|grid| within(grid, low..until, *origin)).collect();
        legs.push(Leg { kind: *kind, origin: *origin, len: until - *origin, cues: own, grids });
    }
    legs
}

/// The part of a grid that sounds within a leg, relative to the leg.
fn within(grid: &Grid, range: Range<Seconds>, origin: Seconds) -> Option<Grid> {
    let place = |at: Seconds| grid.tempo.first_at_or_after(at - grid.origin);
    let (first, end) = (place(range.start), place(range.end));
    let from = grid.beats.partition_point(|beat| u64::from(beat.k) < first);
    let to = grid.beats.partition_point(|beat| u64::from(beat.k) < end);
    let beats: Vec<Beat> = grid.beats.get(from..to)?.to_vec();
    (!beats.is_empty()).then(|| Grid { origin: grid.origin - origin, tempo: grid.tempo, beats })
}
