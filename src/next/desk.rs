//! Where a next practice is laid out: written, planned, and sized until it fits.

use super::decide::Choices;
use super::fit::{Extent, PracticeRoom, WINDOW, fewer, resize};
use super::manuscript::{Manuscript, PartBreaths, breaths, target};
use super::order::{NextOrder, NoNext};
use super::parts::{Distances, PartKind, PracticePart, parts};
use super::side::{BreathBalance, begin};
use super::sore::Spared;
use super::state::PracticeKind;
use super::write::script;
use crate::diag::{Diagnostic, Sources};
use crate::pack::library::Role;
use crate::plan::Plan;
use crate::practice::{Audience, Breaths, Practice, Repeat};
use crate::prepare::{Filled, lay_out};
use crate::script::parse::parse;
use crate::timeline::built::Built;
use crate::units::swim::Side;

/// So often a practice is laid out anew before its sizes only shrink, and before it is taken as it is.
const TRIES: (usize, usize) = (4, 9);

/// Where a practice is laid out.
pub(super) struct WritingDesk<'d> {
    pub order: &'d NextOrder<'d>,
    pub far: Distances,
    /// What is swum beside what hurts.
    pub spared: Spared,
    pub room: PracticeRoom,
}

/// A practice that has been laid out.
pub(super) struct LaidNext {
    pub parts: Vec<PracticePart>,
    pub text: String,
    pub plan: Plan,
    pub practice: Practice,
    pub problems: Vec<Diagnostic>,
    pub sources: Sources,
}

impl WritingDesk<'_> {
    /// The words of the focus and of the one that is kept alive.
    pub fn words(&self, choices: &Choices) -> (Option<String>, Option<String>) {
        let text = |id: &str| Some(self.order.library.entry(Role::Phrase, id)?.full.text.clone());
        let focus = choices.focus.as_ref().filter(|_| choices.kind != PracticeKind::Sore);
        (focus.and_then(|one| text(&one.focus.phrase)), focus.and_then(|one| text(one.kept.as_ref()?)))
    }

    fn write(&self, choices: &Choices, parts: &[PracticePart], sides: &[Side], extent: Option<Extent>) -> String {
        let order = self.order;
        let predicted = order.swimmer.model.count(order.pool.metres(), choices.edge.to.as_f64());
        let counted = choices.kind != PracticeKind::Sore;
        let closings = order.library.of(Role::Say).map(|(id, _)| id);
        let of = Manuscript {
            swimmer: order.name,
            day: order.today,
            practices: order.practices.len(),
            pool: order.pool.to_string(),
            pack: order.pack,
            choices,
            far: self.far,
            spared: &self.spared,
            words: self.words(choices),
            closing: closings.filter(|id| counted && id.starts_with("closing")).min(),
            at_most: target(choices.edge.relaxed, predicted),
            extent,
        };
        script(&of, parts, sides)
    }

    fn plan(&self, text: String, parts: &[PracticePart]) -> Result<LaidNext, NoNext> {
        let mut sources = Sources::new();
        let source = sources.add("next.yaml", text.as_str());
        let (script, mut problems) = parse(source, &sources);
        let unplanned = |problems: &[Diagnostic]| {
            NoNext::Unplanned(problems.first().map_or_else(String::new, |problem| problem.message.clone()))
        };
        let script = script.ok_or_else(|| unplanned(&problems))?;
        let order = self.order;
        let Filled { laid, diagnostics, .. } =
            lay_out(&script, order.library.clone(), order.swimmer, Audience::Headphones, order.speech);
        problems.extend(diagnostics);
        let (practice, built): (Practice, Built) = laid.ok_or_else(|| unplanned(&problems))?;
        let plan = Plan::of(&practice, &built, order.swimmer);
        Ok(LaidNext { parts: parts.to_vec(), text, plan, practice, problems, sources })
    }

    /// Lays out the largest practice that fits.
    pub fn lay(&self, choices: &Choices) -> Result<LaidNext, NoNext> {
        let has_drill = match choices.kind {
            PracticeKind::Sore => self.spared.aside.is_some(),
            _ => choices.focus.as_ref().is_some_and(|one| one.focus.drill.is_some()),
        };
        let mut parts = parts(choices.kind, choices.shape.shape, has_drill, self.far.slow);
        let right = vec![Side::Right; parts.len()];
        let mut best: Option<LaidNext> = None;
        let mut tries = 0;
        loop {
            tries += 1;
            let laid = self.plan(self.write(choices, &parts, &right, None), &parts)?;
            let fits = Extent::of(&laid.plan).fits(self.room);
            let sized = resize(&parts, &laid.plan, (self.room, &self.far), tries >= TRIES.0);
            let smallest = parts.iter().all(|part| part.count == part.least);
            if fits && best.as_ref().is_none_or(|best| Extent::of(&best.plan).seconds < Extent::of(&laid.plan).seconds)
            {
                best = Some(laid);
            } else if !fits && smallest {
                parts = match (fewer(&parts), best) {
                    (_, Some(best)) => return Ok(best),
                    (Some(fewer), None) => fewer,
                    // The smallest practice there is may go further than the bound, never longer than the time.
                    (None, None) if Extent::of(&laid.plan).seconds <= self.room.seconds => return Ok(laid),
                    (None, None) => {
                        let least = libm::ceil(Extent::of(&laid.plan).seconds / 60.0) as u32;
                        return Err(NoNext::TooShort(self.order.minutes, least));
                    }
                };
                best = None;
                continue;
            }
            match (sized, best) {
                (Some(sized), kept) if tries < TRIES.1 => {
                    parts = sized;
                    best = kept;
                }
                (_, Some(best)) => return Ok(best),
                (Some(sized), None) => {
                    parts = sized;
                    best = None;
                }
                (None, None) => return Err(NoNext::TooShort(self.order.minutes, self.order.minutes + 5)),
            }
        }
    }

    /// The same practice with the sides on which its parts begin, so that the breaths of four weeks come out even.
    pub fn with_sides(&self, choices: &Choices, laid: LaidNext) -> Result<LaidNext, NoNext> {
        let mut sets = laid.practice.sets();
        let mut sided = Vec::new();
        let mut fixed = BreathBalance::default();
        for (at, part) in laid.parts.iter().enumerate() {
            let Some(set) = part.is_swum().then(|| sets.next()).flatten() else { continue };
            let of = |(number, repeat): (usize, &Repeat)| {
                let line = set.lines.get(repeat.line)?;
                Some(Breaths::of_repeat(repeat, line.breathe?, number, laid.practice.side))
            };
            let found = set.repeats.iter().enumerate().filter_map(of);
            let own = found.fold(BreathBalance::default(), |sum, one| {
                let one = BreathBalance::of(one.left.into(), one.right.into());
                BreathBalance { right: sum.right + one.right, all: sum.all + one.all }
            });
            match breaths(part.kind, &self.far, choices) {
                PartBreaths::OneSide | PartBreaths::EveryThree => sided.push((at, own)),
                _ => fixed = BreathBalance { right: fixed.right + own.right, all: fixed.all + own.all },
            }
        }
        let own: Vec<BreathBalance> = sided.iter().map(|(_, own)| *own).collect();
        let chosen = begin(choices.breaths, fixed, &own, choices.side);
        let mut sides = vec![Side::Right; laid.parts.len()];
        for ((at, _), side) in sided.iter().zip(chosen) {
            if let Some(place) = sides.get_mut(*at) {
                *place = side;
            }
        }
        let mut parts = laid.parts.clone();
        let extent = Some(Extent::of(&laid.plan));
        // "Left" may take longer to say than "right": a rest gives way then.
        for _ in 0..TRIES.0 {
            let laid = self.plan(self.write(choices, &parts, &sides, extent), &parts)?;
            if Extent::of(&laid.plan).fits(self.room) {
                return Ok(laid);
            }
            let Some(part) = parts.iter_mut().filter(|part| part.kind != PartKind::Timed).max_by_key(|part| part.rest)
            else {
                break;
            };
            part.rest = part.rest.saturating_sub(5).max(15);
        }
        self.plan(self.write(choices, &parts, &sides, extent), &parts)
    }

    /// Why a practice is shorter than asked for.
    pub fn shorter(&self, choices: &Choices, extent: Extent, minutes: f64) -> Option<String> {
        let asked = f64::from(self.order.minutes);
        if extent.seconds >= 60.0 * asked - WINDOW {
            return None;
        }
        let about = libm::round(extent.seconds / 60.0);
        if minutes < asked {
            let most = choices.load.map_or(0.0, |load| load.most());
            return Some(format!(
                "{about:.0} minutes instead of {asked:.0}: this week's load has no room for more than {most:.0} (weak evidence; --any-load passes over it)"
            ));
        }
        let bound = self.room.metres;
        Some(if bound.is_finite() {
            format!(
                "{about:.0} minutes instead of {asked:.0}: it goes no further than {bound:.0} m, by what was swum of late"
            )
        } else {
            format!("{about:.0} minutes instead of {asked:.0}: more of it would be too much of the same")
        })
    }
}
