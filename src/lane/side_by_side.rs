//! Several lanes on one clock, as whoever speaks to all of them from one place has to see them: everybody who leaves, whichever
//! lane it is in. Lanes whose clocks differ are not forced onto one but where a rest is written: there the slowest of all decides,
//! as the slowest of a lane does.

use super::{Lane, LaneSet, LaneStart, LaneSwimmer};
use crate::practice::{Leave, Line};
use crate::units::time::Seconds;

/// Lanes that keep one clock.
#[derive(Clone, Debug)]
pub struct LanesOnOneClock {
    /// Everybody of all lanes as one, in the order of leaving; each has their number and their gap in their own lane.
    pub all: Lane,
    /// Of each of them, which lane they are in, counted from 0.
    pub lane_of: Vec<usize>,
}

/// Two lanes that do not start together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClocksDiffer {
    /// The set, from 0.
    pub set: usize,
    /// The first start that is not the same, from 0.
    pub start: usize,
    /// Which lanes, from 0: the one that leaves, and one that does not leave with it.
    pub lanes: (usize, usize),
    /// When each leaves for it, after the first go of the set; none where it leaves no more.
    pub at: (Seconds, Option<Seconds>),
}

/// Puts lanes side by side; nothing comes of none. A lane may be through with what fills a time before the others are.
///
/// # Errors
/// Where a lane would leave when another does not.
pub fn side_by_side(lanes: &[Lane]) -> Result<Option<LanesOnOneClock>, ClocksDiffer> {
    let mut lanes = lanes.to_vec();
    let sets = lanes.iter().map(|lane| lane.sets.len()).min().unwrap_or(0);
    (0..sets).for_each(|set| rest_alike(&mut lanes, set));
    let order = order(&lanes);
    let mut laid = Vec::with_capacity(sets);
    for set in 0..sets {
        laid.extend(one_clock(&lanes, &order, set)?);
    }
    // The lists one behind another.
    let listed = |lane: usize| lanes.iter().take(lane).map(|lane| lane.swimmers.len()).sum::<usize>();
    let swimmer = |(lane, who): &(usize, usize)| {
        let who = lanes.get(*lane)?.swimmers.get(*who)?.clone();
        Some(LaneSwimmer { listed: who.listed + listed(*lane), ..who })
    };
    let swimmers: Vec<LaneSwimmer> = order.iter().filter_map(swimmer).collect();
    let gap = lanes.iter().map(|lane| lane.gap).min();
    let all = lanes.into_iter().next().zip(gap).map(|(first, gap)| Lane { gap, swimmers, sets: laid, ..first });
    let lane_of = order.into_iter().map(|(lane, _)| lane).collect();
    Ok(all.map(|all| LanesOnOneClock { all, lane_of }))
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

/// The starts of a set as all lanes have them.
fn one_clock(lanes: &[Lane], order: &[(usize, usize)], set: usize) -> Result<Option<LaneSet>, ClocksDiffer> {
    let own: Vec<&[LaneStart]> = lanes.iter().map(|lane| starts(lane, set)).collect();
    let most = (0..own.len()).rev().max_by_key(|lane| own.get(*lane).map_or(0, |starts| starts.len()));
    let Some(known) = most.and_then(|most| lanes.get(most)?.sets.get(set)) else { return Ok(None) };
    let most = most.unwrap_or(0);
    let lines = lanes.get(most).map_or(&[][..], |lane| lines(lane, set));
    let fills = |start: &LaneStart| lines.get(start.line).is_some_and(|line| line.within.is_some());
    let mut left: Vec<_> = own.iter().map(|starts| starts.iter().peekable()).collect();
    let mut all: Vec<LaneStart> = Vec::with_capacity(known.starts.len());
    for (index, start) in known.starts.iter().enumerate() {
        let mut here: Vec<Option<&LaneStart>> = Vec::with_capacity(left.len());
        for (lane, left) in left.iter_mut().enumerate() {
            match left.peek() {
                Some(next) if (next.at, next.line) == (start.at, start.line) => here.push(left.next()),
                // It is through with what fills a time, and waits for what comes after.
                next if fills(start) && next.is_none_or(|next| next.line != start.line && next.at > start.at) => {
                    here.push(None);
                }
                next => {
                    let at = (start.at, next.map(|next| next.at));
                    return Err(ClocksDiffer { set, start: index, lanes: (most, lane), at });
                }
            }
        }
        let swims = order.iter().map(|(lane, who)| here.get(*lane)?.as_ref()?.swims.get(*who)?.clone()).collect();
        all.push(LaneStart { swims, ..start.clone() });
    }
    if let Some((lane, next)) = left.iter_mut().enumerate().find_map(|(lane, left)| Some((lane, left.next()?))) {
        let at = (next.at, None);
        return Err(ClocksDiffer { set, start: all.len(), lanes: (lane, most), at });
    }
    // The set is over for all when it is over for the last.
    let over = own.iter().filter_map(|starts| starts.last()).filter_map(|last| Some(last.at + last.after?)).max();
    if let Some((last, over)) = all.last_mut().zip(over) {
        last.after = last.after.map(|after| after.max(over - last.at));
    }
    Ok(Some(LaneSet { starts: all, ..known.clone() }))
}
