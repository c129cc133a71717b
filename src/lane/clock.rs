//! The clock of a lane: one interval for all of its swimmers, and what it looks like on the pace clock at the wall.

use super::shape::{LaneLine, STAND_IN};
use super::{LaneSet, LaneStart};
use crate::practice::{CLOCK, Practice, Set};
use crate::script::lane::Regroup;
use crate::units::time::{Seconds, gcd};
use std::ops::Range;

/// Swims that follow each other without a stop, as places among a set's repeats: one start of the lane each.
pub(super) fn swims(set: &Set) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut first = 0;
    for (place, repeat) in set.repeats.iter().enumerate() {
        if !repeat.joins {
            found.push(first..place + 1);
            first = place + 1;
        }
    }
    found
}

/// From one start to the next as somebody would leave alone, with a written rest; `None` where nothing is written.
fn own_interval(set: &Set, swim: &Range<usize>) -> Option<Seconds> {
    let repeats = set.repeats.get(swim.clone())?;
    let (last, before) = repeats.split_last()?;
    Some(before.iter().map(|repeat| repeat.predicted).sum::<Seconds>() + last.interval?)
}

/// The send-off that is in force after a swim; `None` where a rest is, or nothing.
fn send_off_after(set: &Set, swim: &Range<usize>, rules: &[LaneLine]) -> Option<Seconds> {
    let last = set.repeats.get(swim.end.checked_sub(1)?)?;
    let rule = rules.get(last.line)?;
    let ends_round = set.repeats.get(swim.end).is_some_and(|next| next.round != last.round);
    rule.send_off.filter(|_| !(rule.between && ends_round))
}

/// The longest rest that somebody has after a swim, where no send-off is in force.
fn rest_after(sets: &[&Set], swim: &Range<usize>, rules: &[LaneLine]) -> Option<Seconds> {
    let own = |set: &&Set| set.repeats.get(swim.end.checked_sub(1)?)?.rest;
    let free = send_off_after(sets.first()?, swim, rules).is_none();
    sets.iter().filter_map(own).max().filter(|_| free)
}

/// The interval after a swim that everybody in the lane keeps to.
fn common(sets: &[&Set], swim: &Range<usize>, rules: &[LaneLine]) -> Option<Seconds> {
    let first = sets.first()?;
    let last = first.repeats.get(swim.end.checked_sub(1)?)?;
    match send_off_after(first, swim, rules) {
        Some(send_off) => {
            // What was laid over the stand-in is a change of gear. A send-off counts from the last push-off of a swim.
            let change = last.rest.map_or(Seconds::ZERO, |rest| rest - STAND_IN);
            let joined = |set: &&Set| {
                let repeats = set.repeats.get(swim.start..swim.end - 1)?;
                Some(repeats.iter().map(|repeat| repeat.predicted).sum::<Seconds>())
            };
            let before = sets.iter().filter_map(joined).max().unwrap_or(Seconds::ZERO);
            let interval = before + send_off + change;
            Some(if before == Seconds::ZERO { interval } else { interval.ceil_to(CLOCK) })
        }
        None => sets.iter().filter_map(|set| own_interval(set, swim)).max().map(|longest| longest.ceil_to(CLOCK)),
    }
}

/// How many repeats of a line end within the time that it fills, for everybody in the lane: the last of them leaves `offset`
/// behind the leader.
pub(super) fn fitting(sets: &[(&Set, Seconds)], line: usize, rules: &[LaneLine]) -> u32 {
    let Some(within) = rules.get(line).and_then(|rule| rule.within) else { return 1 };
    let alone: Vec<&Set> = sets.iter().map(|(set, _)| *set).collect();
    let own = |set: &&Set| set.repeats.iter().enumerate().filter(|(_, r)| r.line == line && r.round == 0).count();
    let all = alone.iter().map(own).min().unwrap_or(0);
    let first = alone.first().and_then(|set| set.repeats.iter().position(|r| r.line == line && r.round == 0));
    let Some(first) = first else { return 1 };
    let (mut at, mut fits) = (Seconds::ZERO, 0);
    for place in first..first + all {
        let touch = |(set, offset): &(&Set, Seconds)| Some(*offset + set.repeats.get(place)?.predicted);
        if sets.iter().filter_map(touch).max().is_none_or(|last| at + last > within) {
            break;
        }
        fits += 1;
        at += common(&alone, &(place..place + 1), rules).unwrap_or(Seconds::ZERO);
    }
    fits.max(1)
}

/// Lays the lane's starts over a set, and its intervals over everybody's own repeats. `set` counts the sets.
pub(super) fn lay(
    practices: &mut [Practice],
    set: usize,
    rules: &[LaneLine],
    regroup: Option<Regroup>,
) -> Option<LaneSet> {
    let sets: Vec<&Set> = practices.iter().filter_map(|practice| practice.sets().nth(set)).collect();
    let first = *sets.first()?;
    let (mut at, mut filled) = (Seconds::ZERO, Seconds::ZERO);
    let mut starts = Vec::new();
    let swims = swims(first);
    let mut pauses = Vec::with_capacity(swims.len());
    for (index, swim) in swims.iter().enumerate() {
        let line = first.repeats.get(swim.start)?.line;
        let last = first.repeats.get(swim.end - 1)?;
        let mut after = common(&sets, swim, rules);
        if let (Some(within), Some(interval)) = (rules.get(last.line).and_then(|rule| rule.within), after) {
            filled += interval;
            let next = first.repeats.get(swim.end);
            if next.is_none_or(|next| (next.line, next.round) != (last.line, last.round)) {
                // The time is over before anything follows it.
                let left = within - (std::mem::take(&mut filled) - interval);
                after = Some(interval.max(left.ceil_to(CLOCK)));
            }
        }
        // After the last start the lane stands anyway, and time that is filled is not made longer.
        let fills = rules.get(last.line).is_some_and(|rule| rule.within.is_some());
        let pauses_here = |regroup: &Regroup| {
            !fills && index + 1 < swims.len() && (index + 1).is_multiple_of(regroup.every.max(1) as usize)
        };
        let pause = regroup.filter(pauses_here).map(|regroup| regroup.pause);
        after = after.map(|after| after + pause.unwrap_or(Seconds::ZERO));
        pauses.push(pause);
        let rest = rest_after(&sets, swim, rules).map(|rest| rest + pause.unwrap_or(Seconds::ZERO));
        starts.push(LaneStart {
            at,
            after,
            rest,
            regroup: pause,
            line,
            swims: vec![Some(swim.clone()); practices.len()],
        });
        at += after.unwrap_or(Seconds::ZERO);
    }
    let laid = LaneSet { title: first.title.text.clone(), span: first.span, starts };
    for practice in practices {
        let Some(own) = practice.sets_mut().nth(set) else { continue };
        for ((swim, start), pause) in swims.iter().zip(&laid.starts).zip(&pauses) {
            let Some((last, before)) = own.repeats.get_mut(swim.clone()).and_then(<[_]>::split_last_mut) else {
                continue;
            };
            let joined = before.iter().map(|repeat| repeat.predicted).sum::<Seconds>();
            // Live too: everybody waits for the clock, not for the touch.
            (last.interval, last.rest, last.regroup) = (start.after.map(|after| after - joined), None, *pause);
        }
    }
    Some(laid)
}

/// What a pace clock with one sweeping hand shows at one start after another: seconds from 0 to 59, from the reading of the
/// first, until they come again. Readings are told to the second.
pub fn marks(first: Seconds, send_off: Seconds) -> Vec<u32> {
    const MINUTE: u64 = 60;
    let seconds = |time: Seconds| (time.nanos().max(0) as u64).div_ceil(Seconds::from_secs(1).nanos() as u64);
    let (first, send_off) = (seconds(first) % MINUTE, seconds(send_off));
    let count = MINUTE / gcd(send_off, MINUTE).max(1);
    (0..count).map(|start| ((first + start * send_off) % MINUTE) as u32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pace_clock_comes_round() {
        // 60 / gcd(send-off, 60) readings: convention of pool decks and arithmetic. "60" on the clock is 0 here.
        let of = |minutes: i64, seconds: i64| marks(Seconds::ZERO, Seconds::from_secs(minutes * 60 + seconds));
        assert_eq!(of(1, 35), [0, 35, 10, 45, 20, 55, 30, 5, 40, 15, 50, 25]);
        assert_eq!(of(1, 10), [0, 10, 20, 30, 40, 50]);
        assert_eq!(of(1, 20), [0, 20, 40]);
        assert_eq!(of(2, 0), [0]);
        assert_eq!(marks(Seconds::from_secs(5), Seconds::from_secs(90)), [5, 35]);
    }
}
