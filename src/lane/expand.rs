//! From a script and the swimmers of a lane to the lane.

use super::shape::{LaneLine, lines, shaped};
use super::{Lane, LaneSwimmer, clock, share};
use crate::diag::{Diagnostic, Severity, has_errors};
use crate::pack::library::Library;
use crate::practice::{self, Audience, Leave, Practice};
use crate::script::lane::{LaneOrder, SwimShare};
use crate::script::{Script, Water, WrittenItem};
use crate::swimmer::Swimmer;
use crate::swimmer::lanes::WrittenLane;
use crate::swimmer::roster::Member;
use crate::units::time::Seconds;
use std::ops::Range;

/// Makes a lane of a script. `swimmers` are those that `written` lists, in its order, as they are known. The lane is absent
/// exactly where an error is among the diagnostics, each of which is told once however many swimmers share it; that somebody
/// cannot make a send-off is no error here but what the simulation finds.
pub fn expand(
    script: &Script,
    library: &Library,
    written: &WrittenLane,
    swimmers: &[Swimmer],
    audience: Audience,
) -> (Option<Lane>, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    let Water::Pool(pool) = script.water.value else { return (None, diagnostics) };
    let rules = lines(script, written.send_off);
    let mut all = |counts: Option<&[Vec<u32>]>| -> Option<Vec<Practice>> {
        let one = |(swimmer, member): (&Swimmer, &Member)| {
            let own = (!member.focus.is_empty()).then(|| script.with_focus(&member.focus));
            let script = shaped(own.as_ref().unwrap_or(script), &rules, member.share, counts);
            let (practice, found) = practice::expand(&script, library, swimmer, audience);
            for problem in found {
                let same = |other: &Diagnostic| (other.code, other.span) == (problem.code, problem.span);
                // What a rest that only stands in for a send-off looks like is nobody's concern.
                if problem.severity() == Severity::Error && !diagnostics.iter().any(same) {
                    diagnostics.push(problem);
                }
            }
            practice
        };
        // All are tried before the first bad one ends it.
        let made: Vec<Option<Practice>> = swimmers.iter().zip(&written.swimmers).map(one).collect();
        made.into_iter().collect()
    };
    let Some(first) = all(None) else { return (None, diagnostics) };
    let order = order(&first, written.order);
    let offset = |place: usize| written.gap.scaled(i64::try_from(place).unwrap_or(0), 1);
    let counts = counts(&first, &order, &rules, offset);
    let fills = rules.iter().flatten().any(|line| line.within.is_some());
    let practices = if fills { all(Some(&counts)) } else { Some(first) };
    let Some(mut practices) = practices.filter(|_| !has_errors(&diagnostics)) else { return (None, diagnostics) };
    let regroups = script.practice.iter().filter_map(|item| match item {
        WrittenItem::Set(set) => Some(set.regroup.or(written.regroup)),
        WrittenItem::Say(_) | WrittenItem::Rest(_) => None,
    });
    let laid = rules.iter().zip(regroups).enumerate();
    let mut sets: Vec<_> =
        laid.filter_map(|(set, (rules, regroup))| clock::lay(&mut practices, set, rules, regroup)).collect();
    practices.iter_mut().for_each(|practice| restore(practice, &rules));
    let mut lane_swimmers = Vec::with_capacity(practices.len());
    let mut swims: Vec<Vec<Vec<Option<Range<usize>>>>> = Vec::new();
    for (place, listed) in order.iter().enumerate() {
        let (Some(practice), Some(swimmer), Some(member)) =
            (practices.get(*listed), swimmers.get(*listed), written.swimmers.get(*listed))
        else {
            continue;
        };
        let mut practice = practice.clone();
        let own = practice.sets_mut().map(|set| {
            let all = clock::swims(set);
            let places = match member.share {
                SwimShare::Repeats { swum, of } => share::leave_out(set, swum, of),
                SwimShare::Whole | SwimShare::Distance { .. } => (0..set.repeats.len()).collect(),
            };
            let now = |place: usize| places.iter().position(|kept| *kept == place);
            all.into_iter().map(|swim| Some(now(swim.start)?..now(swim.end - 1)? + 1)).collect()
        });
        swims.push(own.collect());
        lane_swimmers.push(LaneSwimmer {
            name: member.name.clone(),
            number: u32::try_from(place + 1).unwrap_or(u32::MAX),
            listed: *listed,
            swimmer: swimmer.clone(),
            share: member.share,
            practice,
            offset: offset(place),
        });
    }
    for (ordinal, set) in sets.iter_mut().enumerate() {
        for (index, start) in set.starts.iter_mut().enumerate() {
            let own = |swims: &Vec<Vec<Option<Range<usize>>>>| swims.get(ordinal)?.get(index)?.clone();
            start.swims = swims.iter().map(own).collect();
        }
    }
    let lane = Lane {
        name: written.name.clone(),
        circle: written.circle,
        pool,
        gap: written.gap,
        send_off: written.send_off,
        swimmers: lane_swimmers,
        sets,
    };
    (Some(lane), diagnostics)
}

/// The places in the list, in the order of leaving.
fn order(practices: &[Practice], order: LaneOrder) -> Vec<usize> {
    let mut places: Vec<usize> = (0..practices.len()).collect();
    if order == LaneOrder::FastestFirst {
        let speeds: Vec<f64> = practices.iter().map(speed).collect();
        let speed = |place: &usize| speeds.get(*place).copied().unwrap_or(0.0);
        // Who is as fast stays in the order written.
        places.sort_by(|a, b| speed(b).total_cmp(&speed(a)));
    }
    places
}

/// Metres a second, rests left out.
fn speed(practice: &Practice) -> f64 {
    let repeats = || practice.sets().flat_map(|set| &set.repeats);
    let time = repeats().map(|repeat| repeat.predicted).sum::<Seconds>().as_f64();
    repeats().map(|repeat| repeat.distance.metres()).sum::<f64>() / time.max(1.0)
}

/// How many repeats of each line are swum where they fill a time.
fn counts(
    practices: &[Practice],
    order: &[usize],
    rules: &[Vec<LaneLine>],
    offset: impl Fn(usize) -> Seconds,
) -> Vec<Vec<u32>> {
    let of_set = |(ordinal, rules): (usize, &Vec<LaneLine>)| {
        let leaves = |listed: usize| order.iter().position(|place| *place == listed).map_or(Seconds::ZERO, &offset);
        let sets = practices.iter().enumerate();
        let sets = sets.filter_map(|(listed, practice)| Some((practice.sets().nth(ordinal)?, leaves(listed))));
        let sets: Vec<_> = sets.collect();
        (0..rules.len()).map(|line| clock::fitting(&sets, line, rules)).collect()
    };
    rules.iter().enumerate().map(of_set).collect()
}

/// Gives the lines back what is the lane's: it is spoken.
fn restore(practice: &mut Practice, rules: &[Vec<LaneLine>]) {
    for (set, rules) in practice.sets_mut().zip(rules) {
        for (line, rule) in set.lines.iter_mut().zip(rules) {
            line.within = rule.within;
            if let Some(send_off) = rule.send_off {
                line.leave = Leave::SendOff(send_off);
            }
        }
    }
}

#[cfg(test)]
mod tests;
