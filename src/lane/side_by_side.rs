//! Several lanes on one clock, as whoever speaks to all of them from one place has to see them: everybody who leaves, whichever
//! lane it is in. Sets begin together. Where a rest is written the slowest of all lanes decides how long it is, as the slowest of a
//! lane does; lanes of send-offs of their own leave when they do, on the marks of a pace clock.

use super::together::{first_of, together};
use super::{Lane, LaneSet, LaneStart, LaneSwimmer};
use crate::practice::{CLOCK, Leave, Line, Practice};
use crate::units::time::Seconds;
use std::ops::Range;

/// Lanes that keep one clock.
#[derive(Clone, Debug)]
pub struct LanesOnOneClock {
    /// Everybody of all lanes as one, in the order of leaving; each has their number and their gap in their own lane. Of a set in
    /// which lanes leave at times of their own it has the starts of the lane that is through last, the first of them with everybody.
    pub all: Lane,
    /// Of each of them, which lane they are in, counted from 0.
    pub lane_of: Vec<usize>,
    /// The lanes, each with the rests of the slowest.
    pub lanes: Vec<Lane>,
    /// Every go of each set, in the order in which they come.
    pub gos: Vec<Vec<LaneGo>>,
    /// Of each set, whether its lanes leave at times of their own.
    pub apart: Vec<bool>,
}

/// When somebody leaves.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LaneGo {
    /// From the first go of the set, on which the lanes begin together.
    pub at: Seconds,
    /// Who, as a place in the order of all.
    pub who: usize,
    /// Whether they are the first of their lane to leave then.
    pub leads: bool,
    /// Whether their lane leaves for the last time in the set.
    pub last: bool,
    /// The first repeat that they swim, of their own practice's set, and the one behind the last.
    pub swims: (usize, usize),
}

impl LaneGo {
    /// What they swim, among the repeats of their own practice's set.
    pub const fn swims(&self) -> Range<usize> {
        self.swims.0..self.swims.1
    }
}

/// A go between two marks of the pace clock, where lanes do not leave together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OffTheMarks {
    /// The set, from 0.
    pub set: usize,
    /// Whose go.
    pub name: String,
    /// The lane.
    pub lane: String,
    /// When, after the first go of the set.
    pub at: Seconds,
}

impl LanesOnOneClock {
    /// What all of them swim, as [`together`] has it; of a set in which lanes leave at times of their own nothing is said of when.
    pub fn practice(&self) -> Option<Practice> {
        let mut practice = together(&self.all)?;
        for (ordinal, set) in practice.sets_mut().enumerate().filter(|(set, _)| self.apart.get(*set) == Some(&true)) {
            for (index, line) in set.lines.iter_mut().enumerate() {
                let own = |lane: &Lane| lines(lane, ordinal).get(index).map(|line| line.leave);
                let promised = matches!(line.leave, Leave::SendOff(_));
                if !promised || self.lanes.iter().any(|lane| own(lane) != Some(line.leave)) {
                    line.leave = Leave::Open;
                }
            }
        }
        Some(practice)
    }
}

/// Puts lanes side by side; nothing comes of none. A lane may be through with what fills a time before the others are.
///
/// # Errors
/// Where lanes that do not leave together do so between the marks of a pace clock: starts would run into each other.
pub fn side_by_side(lanes: &[Lane]) -> Result<Option<LanesOnOneClock>, OffTheMarks> {
    let mut lanes = lanes.to_vec();
    let sets = lanes.iter().map(|lane| lane.sets.len()).min().unwrap_or(0);
    (0..sets).for_each(|set| rest_alike(&mut lanes, set));
    let order = order(&lanes);
    let (mut laid, mut gos, mut apart) = (Vec::with_capacity(sets), Vec::new(), Vec::new());
    for set in 0..sets {
        let together = one_clock(&lanes, &order, set);
        let own = all_gos(&lanes, &order, set);
        let alike = lanes.iter().all(|lane| Some(lane.gap) == lanes.first().map(|first| first.gap));
        if together.is_none() || !alike {
            let off = own.iter().find(|go| go.at != go.at.ceil_to(CLOCK));
            let whose = off.and_then(|go| {
                let lane = lanes.get(order.get(go.who)?.0)?;
                let name = lane.swimmers.get(order.get(go.who)?.1)?.name.clone();
                Some(OffTheMarks { set, name, lane: lane.name.clone(), at: go.at })
            });
            whose.map_or(Ok(()), Err)?;
        }
        apart.push(together.is_none());
        laid.extend(together.or_else(|| of_the_last(&lanes, &order, set)));
        gos.push(own);
    }
    // The lists one behind another.
    let listed = |lane: usize| lanes.iter().take(lane).map(|lane| lane.swimmers.len()).sum::<usize>();
    let swimmer = |(lane, who): &(usize, usize)| {
        let who = lanes.get(*lane)?.swimmers.get(*who)?.clone();
        Some(LaneSwimmer { listed: who.listed + listed(*lane), ..who })
    };
    let swimmers: Vec<LaneSwimmer> = order.iter().filter_map(swimmer).collect();
    let gap = lanes.iter().map(|lane| lane.gap).min();
    let all = lanes.first().cloned().zip(gap).map(|(first, gap)| Lane { gap, swimmers, sets: laid, ..first });
    let lane_of = order.into_iter().map(|(lane, _)| lane).collect();
    Ok(all.map(|all| LanesOnOneClock { all, lane_of, lanes, gos, apart }))
}

/// Every go of a set.
fn all_gos(lanes: &[Lane], order: &[(usize, usize)], set: usize) -> Vec<LaneGo> {
    let of = |(who, (lane, place)): (usize, &(usize, usize))| {
        let offset = lanes.get(*lane)?.swimmers.get(*place)?.offset;
        let all = starts(lanes.get(*lane)?, set);
        let end = all.iter().rposition(|start| first_of(start).is_some());
        let go = move |(index, start): (usize, &LaneStart)| {
            let swims = start.swims.get(*place)?.clone()?;
            let (leads, last) = (first_of(start) == Some(*place), Some(index) == end && index > 0);
            Some(LaneGo { at: start.at + offset, who, leads, last, swims: (swims.start, swims.end) })
        };
        Some(all.iter().enumerate().filter_map(go).collect::<Vec<_>>())
    };
    let mut gos: Vec<LaneGo> = order.iter().enumerate().filter_map(of).flatten().collect();
    gos.sort();
    gos
}

/// A set whose lanes leave at times of their own, as the lane has it that touches last: on its first start all begin.
fn of_the_last(lanes: &[Lane], order: &[(usize, usize)], set: usize) -> Option<LaneSet> {
    let ends = |lane: &Lane| starts(lane, set).last().map(|last| last.at + last.after.unwrap_or_default());
    let touched = |lane: &Lane| {
        let touch = |index: usize| (0..lane.swimmers.len()).filter_map(move |who| lane.touch(set, index, who)).max();
        let last = |(index, start): (usize, &LaneStart)| Some(start.at + touch(index)?);
        starts(lane, set).iter().enumerate().filter_map(last).max()
    };
    let last = (0..lanes.len()).rev().max_by_key(|lane| lanes.get(*lane).and_then(touched))?;
    let mut laid = lanes.get(last)?.sets.get(set)?.clone();
    let over = lanes.iter().filter_map(ends).max();
    for (index, start) in laid.starts.iter_mut().enumerate() {
        let swim = |(lane, who): &(usize, usize)| {
            let own = starts(lanes.get(*lane).filter(|_| index == 0 || *lane == last)?, set).get(index)?;
            own.swims.get(*who)?.clone()
        };
        start.swims = order.iter().map(swim).collect();
    }
    // The set is over for all when it is over for the last.
    if let Some((last, over)) = laid.starts.last_mut().zip(over) {
        last.after = last.after.map(|after| after.max(over - last.at));
    }
    Some(laid)
}

/// Everybody, as lane and place, in the order of leaving; of those who leave together the lanes' order counts.
fn order(lanes: &[Lane]) -> Vec<(usize, usize)> {
    let of_lane = |(index, lane): (usize, &Lane)| {
        let places = lane.swimmers.iter().enumerate();
        places.map(|(who, swimmer)| (swimmer.offset, (index, who))).collect::<Vec<_>>()
    };
    let mut order: Vec<_> = lanes.iter().enumerate().flat_map(of_lane).collect();
    order.sort();
    order.into_iter().map(|(_, place)| place).collect()
}

fn starts(lane: &Lane, set: usize) -> &[LaneStart] {
    lane.sets.get(set).map_or(&[], |set| &set.starts)
}

/// Gives all lanes the longest of their intervals where no send-off says how long it is.
fn rest_alike(lanes: &mut [Lane], set: usize) {
    let counts: Vec<usize> = lanes.iter().map(|lane| starts(lane, set).len()).collect();
    let Some(count) = counts.first().copied().filter(|first| counts.iter().all(|count| count == first)) else { return };
    for index in 0..count {
        let own = |lane: &Lane| starts(lane, set).get(index).and_then(|start| start.after);
        let longest = lanes.iter().filter_map(own).max();
        for lane in lanes.iter_mut() {
            let rests = rests(lane, set, index);
            let Some(starts) = lane.sets.get_mut(set).map(|set| &mut set.starts) else { continue };
            let at = index.checked_sub(1).and_then(|before| starts.get(before)).map(|before| (before.at, before.after));
            let Some(start) = starts.get_mut(index) else { continue };
            if let Some((at, Some(after))) = at {
                start.at = at + after;
            }
            if rests {
                start.after = start.after.and(longest);
            }
        }
    }
}

/// Whether what follows a start is a rest, and no send-off that the lane was given, nor the end of a time that it fills.
fn rests(lane: &Lane, set: usize, start: usize) -> bool {
    let line = starts(lane, set).get(start).and_then(|start| lines(lane, set).get(start.line));
    line.is_some_and(|line| !matches!(line.leave, Leave::SendOff(_)) && line.within.is_none())
}

/// The lines of a set, which are the same for everybody.
fn lines(lane: &Lane, set: usize) -> &[Line] {
    lane.swimmers.first().and_then(|who| who.practice.sets().nth(set)).map_or(&[], |set| &set.lines)
}

/// The starts of a set as all lanes have them, where they start together.
fn one_clock(lanes: &[Lane], order: &[(usize, usize)], set: usize) -> Option<LaneSet> {
    let own: Vec<&[LaneStart]> = lanes.iter().map(|lane| starts(lane, set)).collect();
    let most = (0..own.len()).rev().max_by_key(|lane| own.get(*lane).map_or(0, |starts| starts.len()))?;
    let known = lanes.get(most)?.sets.get(set)?;
    let lines = lines(lanes.get(most)?, set);
    let fills = |start: &LaneStart| lines.get(start.line).is_some_and(|line| line.within.is_some());
    let mut left: Vec<_> = own.iter().map(|starts| starts.iter().peekable()).collect();
    let mut all: Vec<LaneStart> = Vec::with_capacity(known.starts.len());
    for start in &known.starts {
        let mut here: Vec<Option<&LaneStart>> = Vec::with_capacity(left.len());
        for left in &mut left {
            match left.peek() {
                Some(next) if (next.at, next.line) == (start.at, start.line) => here.push(left.next()),
                // It is through with what fills a time, and waits for what comes after.
                next if fills(start) && next.is_none_or(|next| next.line != start.line && next.at > start.at) => {
                    here.push(None);
                }
                _ => return None,
            }
        }
        let swims = order.iter().map(|(lane, who)| here.get(*lane)?.as_ref()?.swims.get(*who)?.clone()).collect();
        all.push(LaneStart { swims, ..start.clone() });
    }
    if left.iter_mut().any(|left| left.next().is_some()) {
        return None;
    }
    // The set is over for all when it is over for the last.
    let over = own.iter().filter_map(|starts| starts.last()).filter_map(|last| Some(last.at + last.after?)).max();
    if let Some((last, over)) = all.last_mut().zip(over) {
        last.after = last.after.map(|after| after.max(over - last.at));
    }
    Some(LaneSet { starts: all, ..known.clone() })
}
