//! The edge tempo: the quickest of the range, at which the stroke still holds together. It moves by what was counted there.

use super::past;
use crate::notebook::entry::LoggedPractice;
use crate::swimmer::fit::breaking::Breaking;
use crate::units::time::Tempo;

/// So many of the last counts at the edge are looked at. Our choice: two practices' worth, so that one bad day decides nothing.
pub const LOOKED_AT: usize = 4;
/// A count of so many strokes over the relaxed one still holds. Common practice, no source.
pub const HELD: f64 = 1.0;
/// So many of them must hold before it gets quicker. Our choice.
pub const ENOUGH_HELD: usize = 3;
/// A count of more than so many over the relaxed one has fallen apart. Our choice: a stroke more than [`HELD`] may be a miscount.
pub const LOST: f64 = 2.0;
/// So many of them make it slower. Our choice.
pub const ENOUGH_LOST: usize = 2;
/// How much quicker it gets, in hundredths of a second. Our choice: 2 to 4 % of the tempos swum.
pub const QUICKER: u64 = 3;
/// How much slower it gets, in hundredths of a second. Our choice: further back than one step on, so that it holds again soon.
pub const SLOWER: u64 = 5;
/// How much quicker than the relaxed tempo the first edge is, and every edge at least, in hundredths of a second. Our choice:
/// one step that everybody hears.
pub const NARROWEST: u64 = 5;

/// The quickest tempo that an edge may have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeLimit {
    /// Which.
    pub tempo: Tempo,
    /// What says so.
    pub why: WhyLimit,
}

/// What says that an edge may be no quicker.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WhyLimit {
    /// The model: quicker strokes would be so much shorter that the swimmer is slower.
    Model,
    /// The counts leave their line there, in seconds a stroke: the break, and its 80 % interval. The edge may go to the quick end
    /// of it, beyond which the stroke is as good as surely another one.
    Break {
        /// The break.
        tempo: f64,
        /// The quick end.
        low: f64,
        /// The slow end.
        high: f64,
    },
}

impl EdgeLimit {
    /// By the model, or by a break that the counts tell. Never nearer to the relaxed tempo than a range needs.
    pub fn of(model: Tempo, breaking: Option<&Breaking>, relaxed: Tempo) -> Self {
        let by_model = Self { tempo: model, why: WhyLimit::Model };
        let Some(Breaking::At { tempo, low, high, .. }) = breaking else { return by_model };
        let quick = past::to_hundredth(*low).centis().min(relaxed.centis().saturating_sub(NARROWEST));
        if quick <= model.centis() {
            return by_model;
        }
        Self { tempo: Tempo::from_centis(quick), why: WhyLimit::Break { tempo: *tempo, low: *low, high: *high } }
    }
}

/// What becomes of the edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EdgeMove {
    /// There was none before.
    First,
    /// The counts held.
    Quicker,
    /// The counts fell apart.
    Slower,
    /// The counts neither hold nor fall apart.
    Between,
    /// Too few counts, there or at the relaxed tempo.
    Uncounted,
    /// They held, but it may be no quicker: the model or a break in the counts says so.
    AtLimit,
    /// They fell apart, but the range is as narrow as it may be.
    AtNarrowest,
}

/// What the counts at an edge say.
#[derive(Clone, Debug, PartialEq)]
pub struct EdgeFinding {
    /// The edge before.
    pub from: Option<Tempo>,
    /// The edge that follows.
    pub to: Tempo,
    /// Why.
    pub moved: EdgeMove,
    /// The relaxed count, if there is one.
    pub relaxed: Option<f64>,
    /// The last counts at the edge.
    pub counts: Vec<f64>,
    /// How quick it may be.
    pub limit: EdgeLimit,
}

/// What the last counts at the edge ask for. `relaxed` is the relaxed count.
pub fn judge(counts: &[f64], relaxed: Option<f64>) -> EdgeMove {
    let Some(relaxed) = relaxed else { return EdgeMove::Uncounted };
    let counts = past::last(counts, LOOKED_AT);
    let held = counts.iter().filter(|count| **count <= relaxed + HELD).count();
    let lost = counts.iter().filter(|count| **count > relaxed + LOST).count();
    if lost >= ENOUGH_LOST {
        EdgeMove::Slower
    } else if held >= ENOUGH_HELD {
        EdgeMove::Quicker
    } else if counts.len() < ENOUGH_HELD {
        EdgeMove::Uncounted
    } else {
        EdgeMove::Between
    }
}

/// The edge that follows from the practices. Only counts since the edge was last moved are looked at. `relaxed` is the tempo
/// without effort, `bound` how quick it may be.
pub fn next_edge(practices: &[LoggedPractice], relaxed: Tempo, bound: EdgeLimit) -> EdgeFinding {
    let limit = bound.tempo;
    let narrowest = relaxed.centis().saturating_sub(NARROWEST).max(limit.centis());
    let from = past::last_with_range(practices).and_then(past::edge);
    let Some(before) = from else {
        let to = Tempo::from_centis(narrowest);
        return EdgeFinding { from, to, moved: EdgeMove::First, relaxed: None, counts: Vec::new(), limit: bound };
    };
    let ranges = practices.iter().rev().filter(|practice| past::edge(practice).is_some());
    let mut since: Vec<_> =
        ranges.take_while(|practice| past::edge(practice).is_some_and(|at| past::is_same(at, before))).collect();
    since.reverse();
    let counts = past::counts_at(since, before);
    let counts = past::last(&counts, LOOKED_AT).to_vec();
    let at_ease = past::counts_at(practices, relaxed);
    let at_ease = past::median(past::last(&at_ease, LOOKED_AT));
    let moved = match judge(&counts, at_ease) {
        EdgeMove::Quicker if before.centis() < limit.centis() + QUICKER => EdgeMove::AtLimit,
        EdgeMove::Slower if before.centis() >= narrowest => EdgeMove::AtNarrowest,
        moved => moved,
    };
    let to = match moved {
        EdgeMove::Quicker => before.centis() - QUICKER,
        EdgeMove::Slower => (before.centis() + SLOWER).min(narrowest),
        _ => before.centis(),
    };
    EdgeFinding { from, to: Tempo::from_centis(to), moved, relaxed: at_ease, counts, limit: bound }
}

/// Swimmers hear no smaller step of tempo (Friberg & Sundberg 1995: about 2.5 % at these tempos), as a share.
pub const HEARD: f64 = 0.025;
/// A step of a ladder in hundredths of a second where it is large enough to be heard. Common practice, no source.
const STEP: u64 = 5;
/// The slowest tempo of the language, in hundredths of a second.
const SLOWEST: u64 = 250;

/// The first tempo and the step, in seconds, of a ladder of so many repeats that ends at the edge. Every step is heard.
pub fn ladder(edge: Tempo, repeats: u32) -> (Tempo, f64) {
    let steps = u64::from(repeats.saturating_sub(1));
    let first = |step: u64| edge.centis() + steps * step;
    // The slowest tempo has the smallest share.
    let is_heard = |step: u64| step as f64 >= HEARD * first(step) as f64;
    let step = (STEP..=20).find(|step| is_heard(*step)).unwrap_or(20);
    (Tempo::from_centis(first(step).min(SLOWEST)), step as f64 / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next::tests::{SwumPractice, day};

    #[test]
    fn counts_decide() {
        let judge = |counts: &[f64]| judge(counts, Some(18.0));
        for (counts, moved) in [
            (&[19.0, 18.0, 19.0, 22.0][..], EdgeMove::Quicker),
            (&[19.0, 18.0, 19.0], EdgeMove::Quicker),
            (&[25.0, 25.0, 19.0, 18.0, 19.0, 17.0], EdgeMove::Quicker),
            (&[19.0, 21.0, 21.0, 19.0], EdgeMove::Slower),
            (&[21.0, 21.0], EdgeMove::Slower),
            (&[19.0, 20.0, 20.0, 19.0], EdgeMove::Between),
            (&[19.0, 19.0], EdgeMove::Uncounted),
            (&[], EdgeMove::Uncounted),
        ] {
            assert_eq!(judge(counts), moved, "{counts:?}");
        }
        assert_eq!(super::judge(&[19.0; 4], None), EdgeMove::Uncounted);
    }

    #[test]
    fn the_edge_moves_by_the_counts_since_it_moved_last() {
        let [relaxed, limit] = [130, 80].map(Tempo::from_centis);
        let at = |on: u8, edge: f64, counts: &[f64]| {
            SwumPractice::on(on).count(1.30, 18.0).tempo(1.40).counts(edge, counts).done()
        };
        let limit = EdgeLimit { tempo: limit, why: WhyLimit::Model };
        let next = |practices: &[LoggedPractice]| next_edge(practices, relaxed, limit);
        let first = next(&[]);
        assert_eq!((first.to.centis(), first.moved), (125, EdgeMove::First));
        let held = [at(1, 1.20, &[19.0, 19.0]), at(3, 1.20, &[19.0, 18.0])];
        let found = next(&held);
        assert_eq!((found.to.centis(), found.moved, found.relaxed), (117, EdgeMove::Quicker, Some(18.0)));
        // What was counted at the edge before it moved is another matter.
        let moved = [at(1, 1.17, &[19.0; 4]), at(3, 1.20, &[19.0, 19.0]), at(5, 1.17, &[20.0])];
        assert_eq!((next(&moved).to.centis(), next(&moved).moved), (117, EdgeMove::Uncounted));
        assert_eq!(next(&[at(1, 1.10, &[21.0, 21.0])]).to.centis(), 115);
        assert_eq!(next(&[at(1, 1.22, &[21.0, 21.0])]).to.centis(), 125, "not nearer to the relaxed tempo");
        assert_eq!(next(&[at(1, 1.25, &[21.0, 21.0])]).moved, EdgeMove::AtNarrowest);
        assert_eq!(next(&[at(1, 0.82, &[19.0; 4])]).moved, EdgeMove::AtLimit);
        assert_eq!(day(1).days_since(day(1)), 0);
    }

    #[test]
    fn a_break_in_the_counts_bounds_the_edge() {
        let [relaxed, model] = [130, 80].map(Tempo::from_centis);
        let at = |tempo: f64| {
            let found = Breaking::At { tempo, low: tempo - 0.03, high: tempo + 0.02, more: None };
            EdgeLimit::of(model, Some(&found), relaxed)
        };
        assert_eq!(at(1.10).tempo.centis(), 107);
        assert_eq!(at(1.32).tempo.centis(), 125, "a range is left");
        assert_eq!((at(0.82).tempo, at(0.82).why), (model, WhyLimit::Model));
        assert_eq!(EdgeLimit::of(model, None, relaxed).tempo, model);
        let held = [SwumPractice::on(1).count(1.30, 18.0).tempo(1.40).counts(1.08, &[19.0; 4]).done()];
        let found = next_edge(&held, relaxed, at(1.10));
        assert_eq!((found.to.centis(), found.moved), (108, EdgeMove::AtLimit));
        assert_eq!(next_edge(&held, relaxed, at(1.05)).to.centis(), 105);
    }

    #[test]
    fn every_step_of_a_ladder_is_heard() {
        for edge in 60..=200 {
            for repeats in 2..=6 {
                let (first, step) = ladder(Tempo::from_centis(edge), repeats);
                let slowest = first.as_f64();
                assert!(step / slowest >= HEARD - 1e-9 || first.centis() == 250, "{edge} {repeats}");
            }
        }
        let (first, step) = ladder(Tempo::from_centis(110), 5);
        assert_eq!((first.centis(), step), (130, 0.05));
    }
}
