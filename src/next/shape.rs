//! The shape of an ordinary practice: what most of it is, so that no two running are alike. It is read back from what was swum.

use super::focus::WhyFocus;
use super::past;
use super::state::{AWAY, pain};
use crate::diag::Sources;
use crate::notebook::entry::LoggedPractice;
use crate::script::WrittenItem;
use crate::script::parse::parse;

/// A practice in which so much of the way is no whole stroke was one of drills. Our choice.
const DRILLED: f64 = 0.10;
/// So many practices after something hurt, and after a time away, are gentle ones. Our choice.
const GENTLE: usize = 2;
/// So many practices are looked back at.
const LOOKED_AT: usize = 12;

/// What most of a practice is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PracticeShape {
    /// Up the tempos, and counts at the edge.
    Tempos,
    /// A drill and the whole stroke in turn, with less and less of the drill.
    Pairs,
    /// From easy to fast, both sides, and even pace.
    Paces,
    /// Longer swims.
    Long,
}

impl PracticeShape {
    /// Its word, for programs.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Tempos => "tempos",
            Self::Pairs => "pairs",
            Self::Paces => "paces",
            Self::Long => "long",
        }
    }

    /// That of a practice that was swum; swims of so many metres are `long`. None where it was for measuring, or has no shape.
    pub fn of(practice: &LoggedPractice, long: f64) -> Option<Self> {
        let swum = || practice.swum();
        let mut whole = swum().filter(|one| one.plain.count() == one.lengths.max(1) && one.tempo.is_none());
        if swum().any(|one| one.test) {
            None
        } else if past::edge(practice).is_some() {
            Some(Self::Tempos)
        } else if has_pace(practice) {
            Some(Self::Paces)
        } else if whole.any(|one| one.metres > long - 1.0) {
            Some(Self::Long)
        } else {
            is_drilled(practice).then_some(Self::Pairs)
        }
    }
}

/// Whether a pace was written for any of it.
fn has_pace(practice: &LoggedPractice) -> bool {
    let Some(copy) = &practice.script else { return false };
    let mut sources = Sources::new();
    let source = sources.add("script", copy.text.as_str());
    let items = parse(source, &sources).0.map_or_else(Vec::new, |script| script.practice);
    items.iter().any(|item| match item {
        WrittenItem::Set(set) => set.swims.iter().any(|swim| swim.pace.is_some()),
        WrittenItem::Say(_) | WrittenItem::Rest(_) => false,
    })
}

/// Whether whole strokes were swum, and enough besides.
fn is_drilled(practice: &LoggedPractice) -> bool {
    let (plain, all) = practice.swum().fold((0.0, 0.0), |(plain, all), one| {
        let share = f64::from(one.plain.count()) / f64::from(one.lengths.max(1));
        (plain + one.metres * share, all + one.metres)
    });
    plain > 0.0 && all - plain >= DRILLED * all
}

/// Why it is this shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhyShape {
    /// The focus is new, and begins with its drill.
    NewFocus,
    /// The second practice with a focus: does it hold as the tempo rises?
    SecondTime,
    /// The third: does it hold over distance, or at a pace?
    ThirdTime,
    /// Something hurt, or there was a time away.
    Gentle,
    /// The last one had no edge.
    TemposAgain,
    /// It lies furthest back.
    FurthestBack,
}

/// A shape with why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ShapeChoice {
    /// Which.
    pub shape: PracticeShape,
    /// Why.
    pub why: WhyShape,
}

/// Which practice with its focus the next one is, from 1; none where the focus has no say: another change goes first, or two
/// phrases take turns.
pub fn stage(why: Option<WhyFocus>) -> Option<usize> {
    match why? {
        WhyFocus::First | WhyFocus::Untouched(_) | WhyFocus::New | WhyFocus::LongAgo(_) => Some(1),
        WhyFocus::GoesOn(times) => Some(times),
        // Nothing new: it has had its drill all along.
        WhyFocus::Won(times) => Some(times.max(2)),
        WhyFocus::Waits | WhyFocus::Compared => None,
    }
}

/// Chooses the shape. Our choice, as a coach alternates: a new focus begins with its drill, then it is taken up the tempos, then
/// over distance or to pace, whichever lies further back. Where the focus has no say, every other practice goes up the tempos. No
/// shape comes twice running. After something hurt and after a time away nothing is quick for two practices.
///
/// `stage` is that of [`stage()`]; swims of so many metres are `long`; without a drill there are no pairs.
pub fn choose(practices: &[LoggedPractice], stage: Option<usize>, has_drill: bool, long: f64) -> ShapeChoice {
    use PracticeShape::{Long, Paces, Pairs, Tempos};
    let shapes: Vec<_> =
        practices.iter().rev().take(LOOKED_AT).map(|practice| PracticeShape::of(practice, long)).collect();
    let can = |shape: PracticeShape| shapes.first() != Some(&Some(shape)) && (has_drill || shape != Pairs);
    let furthest = |among: &[PracticeShape]| {
        let back = |shape: PracticeShape| shapes.iter().position(|known| *known == Some(shape)).unwrap_or(LOOKED_AT);
        // Of those that lie equally far back the first.
        among.iter().rev().copied().filter(|shape| can(*shape)).max_by_key(|shape| back(*shape))
    };
    let wanted = match stage {
        _ if is_gentle(practices) => furthest(&[Pairs, Long]).map(|shape| (shape, WhyShape::Gentle)),
        Some(1) => Some((Pairs, WhyShape::NewFocus)),
        Some(2) => Some((Tempos, WhyShape::SecondTime)),
        Some(3) => furthest(&[Long, Paces]).map(|shape| (shape, WhyShape::ThirdTime)),
        _ => None,
    };
    let again = || Some((Tempos, WhyShape::TemposAgain)).filter(|(shape, _)| can(*shape));
    let other = || furthest(&[Long, Paces, Pairs]).map(|shape| (shape, WhyShape::FurthestBack));
    let wanted = wanted.filter(|(shape, _)| can(*shape)).or_else(again).or_else(other);
    wanted.map_or(ShapeChoice { shape: Long, why: WhyShape::FurthestBack }, |(shape, why)| ShapeChoice { shape, why })
}

/// Whether something hurt, or a time away ended, in the last practices.
pub fn is_gentle(practices: &[LoggedPractice]) -> bool {
    // The sore one, or the one that came back, and those after it.
    let late = past::last(practices, GENTLE + 1);
    let before = practices.len() - late.len();
    let hurt = (before..practices.len()).any(|at| practices.get(..=at).and_then(pain).is_some());
    let back = late.windows(2).any(|pair| match pair {
        [before, after] => after.day.days_since(before.day) >= AWAY,
        _ => false,
    });
    back || hurt
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next::tests::{SwumPractice, day};
    use crate::notebook::entry::ScriptCopy;
    use PracticeShape::{Long, Paces, Pairs, Tempos};

    fn swum(shape: PracticeShape, on: u8) -> LoggedPractice {
        let begun = SwumPractice::on(on).tempo(1.3);
        match shape {
            Tempos => begun.tempo(1.2).done(),
            Pairs => begun.drilled(100.0).done(),
            Long => begun.whole(200.0).done(),
            Paces => {
                let text = "lengthwise: 1\ntitle: Paces\npool: 25 m\npack: first-lengths\npractice:\n  - set: Even\n    swim: 2 x 100 m\n    rest: 20 s\n    pace: steady\n";
                let script = ScriptCopy { name: "paces".into(), text: text.into() };
                LoggedPractice { script: Some(script), ..begun.whole(200.0).done() }
            }
        }
    }

    #[test]
    fn a_shape_is_read_back_from_what_was_swum() {
        for shape in [Tempos, Pairs, Long, Paces] {
            assert_eq!(PracticeShape::of(&swum(shape, 1), 200.0), Some(shape));
        }
        assert_eq!(PracticeShape::of(&swum(Long, 1), 400.0), None);
        assert_eq!(
            PracticeShape::of(&SwumPractice::on(1).tempo(1.3).tempo(1.2).timed(200.0).done(), 200.0),
            None,
            "a test"
        );
    }

    #[test]
    fn the_focus_and_the_last_shape_decide() {
        let after = |shapes: &[PracticeShape], stage: Option<usize>| {
            let practices: Vec<_> = (1..).zip(shapes).map(|(on, shape)| swum(*shape, on)).collect();
            let ShapeChoice { shape, why } = choose(&practices, stage, true, 200.0);
            (shape, why)
        };
        assert_eq!(after(&[Long], Some(1)), (Pairs, WhyShape::NewFocus));
        assert_eq!(after(&[Long, Pairs], Some(2)), (Tempos, WhyShape::SecondTime));
        assert_eq!(after(&[Long, Pairs, Tempos], Some(3)), (Paces, WhyShape::ThirdTime));
        assert_eq!(after(&[Paces, Pairs, Tempos], Some(3)), (Long, WhyShape::ThirdTime));
        // Never twice running, whatever the focus asks for.
        assert_eq!(after(&[Pairs], Some(1)), (Tempos, WhyShape::TemposAgain));
        assert_eq!(after(&[Tempos], Some(2)), (Long, WhyShape::FurthestBack));
        // Where the focus has no say, every other one goes up the tempos.
        assert_eq!(after(&[Tempos, Long], None), (Tempos, WhyShape::TemposAgain));
        assert_eq!(after(&[Pairs, Tempos, Long, Tempos], None), (Paces, WhyShape::FurthestBack));
        assert_eq!(choose(&[swum(Tempos, 1)], Some(1), false, 200.0).shape, Long, "no drill, no pairs");
    }

    #[test]
    fn nothing_is_quick_after_something_hurt_and_after_a_time_away() {
        let hurt = |on: u8| SwumPractice::on(on).pain(Some("left shoulder")).done();
        let fine = |on: u8| SwumPractice::on(on).drilled(100.0).tempo(1.3).pain(Some("")).done();
        let shape = |practices: &[LoggedPractice]| choose(practices, Some(2), true, 200.0);
        assert_eq!(shape(&[hurt(1), SwumPractice::on(3).pain(Some("")).done()]).shape, Pairs);
        let next = shape(&[hurt(1), fine(3)]);
        assert_eq!((next.shape, next.why), (Long, WhyShape::Gentle));
        assert_eq!(shape(&[hurt(1), fine(3), fine(5)]).why, WhyShape::Gentle);
        assert_eq!(shape(&[hurt(1), fine(3), fine(5), fine(7)]).why, WhyShape::SecondTime);
        let unsaid = SwumPractice::on(3).pain(None).done();
        assert_eq!(shape(&[hurt(1), unsaid, fine(5), fine(7)]).why, WhyShape::Gentle, "it hurt until somebody said no");
        assert_eq!(shape(&[fine(1), fine(15)]).why, WhyShape::Gentle);
        assert_eq!(shape(&[fine(1), fine(15), fine(17)]).why, WhyShape::Gentle);
        assert_eq!(shape(&[fine(1), fine(15), fine(17), fine(19)]).why, WhyShape::SecondTime);
        assert_eq!(day(15).days_since(day(1)), AWAY);
    }
}
