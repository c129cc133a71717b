//! A next practice that is asked for: decided, written, planned, and sized until it fits.

use super::decide::{Choices, Circumstances, OneChange, decide};
use super::fit::{Extent, PracticeRoom, WINDOW, fewer, resize};
use super::focus::{AROUND, FocusWithDrill};
use super::parts::{Distances, PartKind, PracticePart, parts};
use super::side::{BreathBalance, begin};
use super::state::PracticeKind;
use super::volume::{ALIKE, LESS, SORE};
use super::write::{Manuscript, PartBreaths, breaths, script, target};
use super::{past, reason};
use crate::diag::{Diagnostic, Sources};
use crate::notebook::PhrasePair;
use crate::notebook::entry::LoggedPractice;
use crate::pack::library::{Library, Role};
use crate::pack::speech::Speech;
use crate::plan::Plan;
use crate::practice::{Audience, Breaths, Practice, Repeat};
use crate::prepare::{Filled, lay_out};
use crate::script::parse::parse;
use crate::script::{Effort, PaceBase};
use crate::swimmer::{SwimStretch, Swimmer};
use crate::timeline::built::Built;
use crate::units::calendar::Day;
use crate::units::swim::{PoolLength, Side};
use crate::units::time::Tempo;
use std::fmt;

/// So often a practice is laid out anew before its sizes only shrink, and before it is taken as it is.
const TRIES: (usize, usize) = (4, 9);

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub struct NextOrder<'a> {
    /// The swimmer's name in the notebook.
    pub name: &'a str,
    /// How they swim.
    pub swimmer: &'a Swimmer,
    /// Their practices, the oldest first.
    pub practices: &'a [LoggedPractice],
    /// The day of the practice.
    pub today: Day,
    /// How long it may take, in minutes.
    pub minutes: u32,
    /// Where.
    pub pool: PoolLength,
    /// The pack whose drills and phrases are used.
    pub pack: &'a str,
    /// What that pack and those that it uses offer.
    pub library: &'a Library,
    /// The voice that says what has no recording.
    pub speech: Option<&'a Speech>,
    /// Two phrases that are being compared.
    pub compared: Option<&'a PhrasePair>,
    /// Whether the bound on the week's load is to be passed over.
    pub any_load: bool,
}

/// A next practice.
#[derive(Debug)]
pub struct NextPractice {
    /// The script.
    pub script: String,
    /// What was chosen, and why.
    pub choices: Choices,
    /// The reason in one sentence.
    pub reason: String,
    /// Why it is shorter than asked for, if it is.
    pub shorter: Option<String>,
    /// Its numbers.
    pub plan: Plan,
    /// What was found wrong with it; nothing, unless the swimmer is unlike all others.
    pub problems: Vec<Diagnostic>,
    /// The text that they point into.
    pub sources: Sources,
    /// The practice as it would be swum.
    pub practice: Practice,
}

/// Why there is none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoNext {
    /// The time is too short.
    TooShort(u32, u32),
    /// The load of the week is at its bound.
    Load {
        /// The load up to now.
        so_far: i64,
        /// The bound.
        most: i64,
        /// When the next week begins.
        monday: Day,
    },
    /// What was written cannot be planned: the pack lacks something.
    Unplanned(String),
}

impl fmt::Display for NoNext {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooShort(asked, enough) => {
                write!(f, "{asked} minutes are too short for a practice of this swimmer; {enough} are enough")
            }
            Self::Load { so_far, most, monday } => write!(
                f,
                "this week's load is {so_far}, and {most} is 110 % of the mean of the weeks before: too little is left for a \
                 practice; rest until {monday}, or pass over it with --any-load (the evidence for such a bound is weak)"
            ),
            Self::Unplanned(why) => write!(f, "the script cannot be planned for this swimmer: {why}"),
        }
    }
}

impl std::error::Error for NoNext {}

/// The foci of a library that are gone around, each with the first drill that is for it.
pub fn around(library: &Library) -> Vec<FocusWithDrill> {
    let mut found: Vec<FocusWithDrill> = Vec::new();
    for (drill, phrase) in library.pairs() {
        if found.iter().all(|one| one.phrase != phrase) && library.entry(Role::Drill, drill).is_some() {
            found.push(FocusWithDrill { phrase: phrase.to_owned(), drill: Some(drill.to_owned()) });
        }
    }
    found.truncate(AROUND);
    found
}

/// The pack of the last practice whose script names one.
pub fn last_pack(practices: &[LoggedPractice]) -> Option<String> {
    practices.iter().rev().find_map(|practice| {
        let mut sources = Sources::new();
        let source = sources.add("script", practice.script.as_ref()?.text.as_str());
        Some(parse(source, &sources).0?.pack?.value)
    })
}

/// The pack for somebody who has none yet: for short repeats, or for tempos. Our choice.
pub fn usual_pack(swimmer: &Swimmer, pool: PoolLength) -> &'static str {
    if distances(swimmer, pool).slow { "first-lengths" } else { "tempo-range" }
}

fn distances(swimmer: &Swimmer, pool: PoolLength) -> Distances {
    Distances::of(pool, swimmer.pace_of(PaceBase::Effort(Effort::Steady), SwimStretch::Length(pool)).as_f64())
}

/// Decides, writes and plans the next practice.
///
/// # Errors
/// See [`NoNext`].
pub fn next_practice(order: &NextOrder<'_>) -> Result<NextPractice, NoNext> {
    let around = around(order.library);
    let mut choices = decide(&Circumstances {
        swimmer: order.name,
        practices: order.practices,
        today: order.today,
        usual: order.swimmer.usual,
        limit: limit(order),
        around: &around,
        compared: order.compared,
    });
    let minutes = minutes(order, &mut choices)?;
    let room = PracticeRoom { seconds: 60.0 * minutes, metres: metres(&choices) };
    let far = distances(order.swimmer, order.pool);
    let desk = WritingDesk { order, far, room };
    let laid = desk.lay(&choices)?;
    let extent = Extent::of(&laid.plan);
    if let Some(bound) = choices.volume
        && choices.kind == PracticeKind::Ordinary
        && choices.change == OneChange::Nothing
        && extent.metres > ALIKE * bound.last
    {
        choices.change = OneChange::Volume;
    }
    let laid = desk.with_sides(&choices, laid)?;
    let words = desk.words(&choices);
    let shorter = desk.shorter(&choices, Extent::of(&laid.plan), minutes);
    let reason = reason::sentence(&choices, &words);
    let LaidNext { text, plan, practice, problems, sources, .. } = laid;
    Ok(NextPractice { script: text, reason, shorter, plan, problems, sources, practice, choices })
}

/// The quickest tempo that the model says can be held: beyond it quicker strokes are so much shorter that the swimmer is slower.
fn limit(order: &NextOrder<'_>) -> Tempo {
    let (model, pool) = (&order.swimmer.model, order.pool.metres());
    past::to_hundredth(model.tempo_for(0.0, |tempo| model.length_time(pool, tempo)))
}

/// The minutes that there are: those asked for, or what is left of the week's load. Where too little is left for an ordinary
/// practice it becomes an easier one.
fn minutes(order: &NextOrder<'_>, choices: &mut Choices) -> Result<f64, NoNext> {
    /// No practice is shorter. Our choice.
    const LEAST: f64 = 15.0;
    let asked = f64::from(order.minutes);
    let Some(load) = choices.load.filter(|_| !order.any_load) else { return Ok(asked) };
    let least = LEAST.min(asked);
    let left = load.minutes_left().min(asked);
    if left >= least {
        return Ok(libm::floor(left));
    }
    let left = load.easy().minutes_left().min(asked);
    if choices.kind == PracticeKind::Ordinary && left >= least {
        (choices.kind, choices.change) = (PracticeKind::Easier, OneChange::Nothing);
        (choices.load, choices.spared) = (Some(load.easy()), true);
        return Ok(libm::floor(left));
    }
    let monday = order.today.monday().plus_days(7).unwrap_or(order.today);
    Err(NoNext::Load { so_far: load.so_far as i64, most: load.most() as i64, monday })
}

/// How far it may go.
fn metres(choices: &Choices) -> f64 {
    let Some(bound) = choices.volume else { return f64::INFINITY };
    match (choices.kind, choices.change) {
        (PracticeKind::Sore, _) => SORE * bound.of_late,
        (PracticeKind::Return | PracticeKind::Easier, _) => LESS * bound.of_late,
        (PracticeKind::Ordinary, OneChange::Nothing) => bound.most,
        _ => bound.alike,
    }
}

/// Where a practice is laid out.
struct WritingDesk<'d> {
    order: &'d NextOrder<'d>,
    far: Distances,
    room: PracticeRoom,
}

/// A practice that has been laid out.
struct LaidNext {
    parts: Vec<PracticePart>,
    text: String,
    plan: Plan,
    practice: Practice,
    problems: Vec<Diagnostic>,
    sources: Sources,
}

impl WritingDesk<'_> {
    /// The words of the focus and of the one that is kept alive.
    fn words(&self, choices: &Choices) -> (Option<String>, Option<String>) {
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
    fn lay(&self, choices: &Choices) -> Result<LaidNext, NoNext> {
        let has_drill = choices.focus.as_ref().is_some_and(|one| one.focus.drill.is_some());
        let mut parts = parts(choices.kind, has_drill, self.far.slow);
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
    fn with_sides(&self, choices: &Choices, laid: LaidNext) -> Result<LaidNext, NoNext> {
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
            match breaths(part.kind, self.far.slow, choices.kind, choices.side) {
                PartBreaths::OneSide | PartBreaths::EveryThree => sided.push((at, own)),
                _ => fixed = BreathBalance { right: fixed.right + own.right, all: fixed.all + own.all },
            }
        }
        let own: Vec<BreathBalance> = sided.iter().map(|(_, own)| *own).collect();
        let chosen = begin(choices.breaths, fixed, &own, choices.side.is_some());
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
    fn shorter(&self, choices: &Choices, extent: Extent, minutes: f64) -> Option<String> {
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
