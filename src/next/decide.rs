//! All rules together: what kind of practice, and the one thing that changes.

use super::edge::{EdgeFinding, EdgeLimit, EdgeMove, NARROWEST, next_edge};
use super::focus::{self, FocusChoice, FocusWithDrill, WhyFocus};
use super::load::{self, LoadBound};
use super::shape::{self, PracticeShape, ShapeChoice};
use super::side::{self, BreathBalance};
use super::state::{self, PracticeKind};
use super::usual::{RelaxedFinding, next_relaxed};
use super::verdict::{JudgedPair, PairVerdict};
use super::volume::{self, VolumeBound};
use super::words;
use crate::notebook::PhrasePair;
use crate::notebook::entry::LoggedPractice;
use crate::review::breaths::breaths;
use crate::swimmer::fit::breaking::Breaking;
use crate::units::calendar::Day;
use crate::units::swim::Side;
use crate::units::time::Tempo;

/// What the rules look at.
#[derive(Clone, Copy, Debug)]
pub struct Circumstances<'a> {
    /// Who swims.
    pub swimmer: &'a str,
    /// The practices of the swimmer, the oldest first.
    pub practices: &'a [LoggedPractice],
    /// The day of the practice.
    pub today: Day,
    /// The tempo by feel without effort, as profile and counts have it.
    pub usual: Tempo,
    /// The quickest tempo that the model says can be held.
    pub limit: Tempo,
    /// Where the counts leave their line, if they tell.
    pub breaking: Option<&'a Breaking>,
    /// The foci to go around.
    pub around: &'a [FocusWithDrill],
    /// Swims of so many metres are long ones.
    pub long: f64,
    /// Two phrases that are being compared.
    pub compared: Option<&'a JudgedPair>,
}

/// What changes from last time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OneChange {
    /// Nothing.
    Nothing,
    /// The focus.
    Focus,
    /// The edge tempo.
    Tempo,
    /// The side that is breathed to more.
    Side,
    /// The relaxed tempo.
    Relaxed,
    /// How far.
    Volume,
}

impl OneChange {
    /// Its word, for programs.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::Focus => "focus",
            Self::Tempo => "tempo",
            Self::Side => "side",
            Self::Relaxed => "relaxed",
            Self::Volume => "volume",
        }
    }
}

/// One thing changes at a time, the first of these that is due; the others wait. Our choice. A stroke that falls apart comes first.
/// Then the breathing, whose bound is the tightest; then the focus, so that three practices do not become five; a quicker edge can wait, the relaxed
/// tempo, whose counts begin anew, longer, and going further can wait for anything.
pub const ORDER: [&str; 6] =
    ["a slower edge", "the side", "the focus", "a quicker edge", "the relaxed tempo", "the volume"];

/// What is chosen, each with its reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Choices {
    /// The kind of practice.
    pub kind: PracticeKind,
    /// Its shape, if it is an ordinary one.
    pub shape: ShapeChoice,
    /// The one change; going further is decided when the practice is laid out.
    pub change: OneChange,
    /// The edge of the range.
    pub edge: EdgeFinding,
    /// Whether the edge is to move and waits for another change.
    pub edge_waits: bool,
    /// The relaxed tempo.
    pub relaxed: Tempo,
    /// What it follows from.
    pub ease: RelaxedFinding,
    /// The focus; none where the pack has none.
    pub focus: Option<FocusChoice>,
    /// What came of two phrases that took turns, while that is news.
    pub judged: Option<JudgedPair>,
    /// The breaths of the last four weeks.
    pub breaths: BreathBalance,
    /// The side that gets more breaths.
    pub side: Option<Side>,
    /// How far at most; none before the first practice.
    pub volume: Option<VolumeBound>,
    /// How much of the week's load is left, where that is known.
    pub load: Option<LoadBound>,
    /// Whether it is an easier one because the week's load leaves no room for another.
    pub spared: bool,
    /// What hurts.
    pub pain: Option<String>,
    /// Days since the last practice.
    pub away: Option<i32>,
}

/// Breaths of the last four weeks, and whether the last practice leaned to a side.
pub fn balance(practices: &[LoggedPractice], today: Day) -> (BreathBalance, Option<Side>) {
    let lately = practices.iter().filter(|practice| today.days_since(practice.day) <= side::DAYS);
    let found = breaths(lately);
    // As it was written, not as it was swum: whoever breathes to the other side all the same is not told something new each time.
    let leaned = practices.last().and_then(|last| {
        let (left, right) = last.repeats().fold((0, 0), |sum, (_, one)| (sum.0 + one.breaths.0, sum.1 + one.breaths.1));
        BreathBalance::of(left.into(), right.into()).leaning()
    });
    (BreathBalance::of(found.left as f64, found.right as f64), leaned)
}

/// Decides.
pub fn decide(at: &Circumstances<'_>) -> Choices {
    let Circumstances { practices, today, .. } = *at;
    let kind = state::kind(practices, today);
    let ease = next_relaxed(practices, at.usual, today);
    let mut relaxed = ease.stays();
    let mut edge = next_edge(practices, relaxed, EdgeLimit::of(at.limit, at.breaking, relaxed));
    let (breathed, leaned) = balance(practices, today);
    let lately = practices.iter().filter(|practice| today.days_since(practice.day) <= side::DAYS).count();
    let lacking = if lately > side::TOO_FEW { breathed.wants(leaned) } else { leaned };
    // The phrase that goes on has the place of both.
    let around = around(at);
    let at = &Circumstances { around: &around, ..*at };
    let wanted = match at.compared.filter(|judged| judged.is_fresh()) {
        Some(judged) => judged.lower().map(|phrase| (same(at, phrase), won(judged))),
        None => focus::wanted(practices, at.around, today),
    };
    let before = focus::present(practices).map(|(focus, _)| focus.to_owned());
    let is_new = |phrase: &str| before.as_deref().is_some_and(|before| before != phrase);

    // While two phrases are compared they are one focus, and no other takes their place.
    let turns = at.compared.filter(|judged| judged.verdict == PairVerdict::Turns);
    let compared = turns.map(|judged| compared(at, judged));
    let has_drill = compared.as_ref().or(wanted.as_ref().map(|(one, _)| one)).is_some_and(|one| one.drill.is_some());
    let shaped = |why| shape::choose(practices, shape::stage(why), has_drill, at.long);
    let mut shape =
        shaped(if compared.is_some() { Some(WhyFocus::Compared) } else { wanted.as_ref().map(|(_, why)| *why) });
    let ordinary = kind == PracticeKind::Ordinary;
    let focus_due = compared.is_none() && wanted.as_ref().is_some_and(|(one, _)| is_new(&one.phrase));
    // One that no drill of the pack is for, or of another pack, cannot go on.
    let cannot_stay =
        focus_due && before.as_ref().is_some_and(|before| at.around.iter().all(|one| one.phrase != *before));
    // The edge can only move where it is swum.
    let at_edge = ordinary && shape.shape == PracticeShape::Tempos;
    let change = if ordinary && cannot_stay {
        OneChange::Focus
    } else if at_edge && edge.moved == EdgeMove::Slower {
        OneChange::Tempo
    } else if ordinary && lacking != leaned {
        OneChange::Side
    } else if ordinary && focus_due {
        OneChange::Focus
    } else if at_edge && edge.moved == EdgeMove::Quicker {
        OneChange::Tempo
    } else if ordinary && ease.moves() && edge.to.centis() + NARROWEST <= ease.to.centis() {
        // A range is left.
        OneChange::Relaxed
    } else {
        OneChange::Nothing
    };
    if change == OneChange::Relaxed {
        relaxed = ease.to;
    }

    let moves = matches!(edge.moved, EdgeMove::Quicker | EdgeMove::Slower);
    let edge_waits = moves && change != OneChange::Tempo;
    if let Some(from) = edge.from.filter(|_| edge_waits) {
        edge.to = from;
    }
    let side = if !ordinary || change == OneChange::Side || lacking == leaned { lacking } else { leaned };
    let focus = match (compared, wanted) {
        (Some(focus), _) => Some((focus, WhyFocus::Compared)),
        (None, Some((one, _))) if ordinary && is_new(&one.phrase) && change != OneChange::Focus => {
            Some((same(at, before.as_deref().unwrap_or_default()), WhyFocus::Waits))
        }
        (None, wanted) => wanted,
    };
    if focus.as_ref().is_some_and(|(_, why)| *why == WhyFocus::Waits) {
        shape = shaped(Some(WhyFocus::Waits));
    }
    let focus = focus.map(|(focus, why)| {
        let kept = focus::kept(practices, at.around, &focus.phrase, today);
        FocusChoice { kept, focus, why }
    });
    let easy = matches!(kind, PracticeKind::Sore | PracticeKind::Easier);
    let alike = |one: &LoggedPractice| !ordinary || PracticeShape::of(one, at.long) == Some(shape.shape);
    Choices {
        kind,
        shape,
        change,
        edge,
        edge_waits,
        relaxed,
        ease,
        focus,
        judged: at.compared.filter(|judged| judged.is_news()).cloned(),
        breaths: breathed,
        side,
        volume: volume::bound(practices),
        load: load::bound(practices, today, (!easy).then_some(&alike as &dyn Fn(&LoggedPractice) -> bool)),
        spared: false,
        pain: state::pain(practices).map(str::to_owned),
        away: practices.last().map(|last| today.days_since(last.day)),
    }
}

/// A focus with the drill that is for it.
fn same(at: &Circumstances<'_>, phrase: &str) -> FocusWithDrill {
    let known = at.around.iter().find(|one| one.phrase == phrase);
    known.cloned().unwrap_or_else(|| FocusWithDrill { phrase: phrase.to_owned(), drill: None })
}

/// The foci to go around: of two phrases that were compared only the one that goes on, with the drill of either.
fn around(at: &Circumstances<'_>) -> Vec<FocusWithDrill> {
    let Some((judged, phrase)) = at.compared.and_then(|judged| Some((judged, judged.lower()?))) else {
        return at.around.to_vec();
    };
    let PhrasePair { first, second, .. } = &judged.pair;
    let is_either = |one: &FocusWithDrill| one.phrase == *first || one.phrase == *second;
    let drill = at.around.iter().find(|one| is_either(one)).and_then(|one| one.drill.clone());
    let goes_on = FocusWithDrill { phrase: phrase.to_owned(), drill };
    let place = at.around.iter().position(is_either).unwrap_or(0);
    let mut others: Vec<FocusWithDrill> = at.around.iter().filter(|one| !is_either(one)).cloned().collect();
    others.insert(place.min(others.len()), goes_on);
    others
}

/// Why the phrase that goes on is the focus.
fn won(judged: &JudgedPair) -> WhyFocus {
    WhyFocus::Won(judged.gone_on + 1)
}

/// The phrase whose turn it is. The drill is the same with both, else it would be the drills that are compared.
fn compared(at: &Circumstances<'_>, judged: &JudgedPair) -> FocusWithDrill {
    let pair = &judged.pair;
    let drill = [&pair.first, &pair.second].into_iter().find_map(|phrase| same(at, phrase).drill);
    FocusWithDrill { phrase: words::turn(pair, at.swimmer, judged.after).to_owned(), drill }
}
