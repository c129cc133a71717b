//! A next practice that is asked for: decided, planned, and sized until it fits.

use super::decide::{Choices, Circumstances, OneChange, decide};
use super::desk::{LaidNext, WritingDesk};
use super::fit::{Extent, PracticeRoom};
use super::order::{NextOrder, NextPractice, NoNext, around, distances};
use super::sore::{self, Spared};
use super::state::{self, PracticeKind};
use super::volume::{ALIKE, LESS, SORE};
use super::{past, reason};
use crate::units::time::Tempo;

/// Decides, writes and plans the next practice.
///
/// # Errors
/// See [`NoNext`].
pub fn next_practice(order: &NextOrder<'_>) -> Result<NextPractice, NoNext> {
    if let Some(pain) = state::pain(order.practices).filter(|pain| sore::is_alarm(pain)) {
        return Err(NoNext::Alarm(pain.to_owned()));
    }
    let around = around(order.library);
    let far = distances(order.swimmer, order.pool);
    let mut choices = decide(&Circumstances {
        swimmer: order.name,
        practices: order.practices,
        today: order.today,
        usual: order.swimmer.usual,
        limit: limit(order),
        breaking: order.breaking,
        around: &around,
        long: f64::from(far.timed) * order.pool.unit().metres(),
        compared: order.compared,
    });
    let minutes = minutes(order, &mut choices)?;
    let room = PracticeRoom { seconds: 60.0 * minutes, metres: metres(&choices) };
    let spared = choices.pain.as_deref().map(|pain| Spared::of(pain, order.library, order.practices.len()));
    let spared = spared.unwrap_or_default();
    let desk = WritingDesk { order, far, spared, room };
    let laid = desk.lay(&choices)?;
    let extent = Extent::of(&laid.plan);
    if let Some(bound) = choices.volume
        && choices.kind == PracticeKind::Ordinary
        && choices.change == OneChange::Nothing
        && extent.metres > ALIKE * bound.furthest
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
