//! What would make a lane work better: who leaves first, how far apart, on what, and who swims less.
//!
//! Every piece of advice is simulated before it is given. Orders are tried one by one in lanes of up to six; in larger ones each
//! swimmer is moved to every other place as long as that helps.

use super::figures::{LaneFigures, StartFigures, on_the_clock};
use super::run::{Luck, SetRunner};
use super::simulate::{SetOutcome, Trials, simulate};
use crate::script::lane::SwimShare;

/// Gaps that are tried besides the one written, in seconds: club guidance names 5 and 10.
const GAPS: [f64; 3] = [5.0, 10.0, 15.0];
/// A lane in which nobody is caught by the prediction, and in no set likelier than this by chance, is left as it is; and a change
/// is worth its trouble where it takes at least so much from that chance. Our choices, no source.
const LIKELY: f64 = 0.25;
const WORTH: f64 = 0.1;
/// In lanes of up to so many, every order is tried.
const ALL_ORDERS: usize = 6;
/// An interval that never keeps anybody.
const ENDLESS: f64 = 100_000.0;
/// So many may stand at the wall while somebody turns there: of a lane 2.5 m wide each takes 0.6 m, and half is left for who turns.
/// Our choice, no source.
pub const ROOM_AT_THE_WALL: usize = 2;
/// Shares of a distance that are tried, the largest first.
const SHARES: [(u32, u32); 9] = [(7, 8), (5, 6), (4, 5), (3, 4), (2, 3), (5, 8), (3, 5), (1, 2), (3, 8)];

/// What a coach is told, in the order of its weight.
#[derive(Clone, Debug, PartialEq)]
pub enum Advice {
    /// Leave in another order, or farther apart, or both.
    Leave {
        /// The order, as present places, where it is another one.
        order: Option<Vec<usize>>,
        /// The gap in seconds, where it is another one.
        gap: Option<f64>,
        /// How likely somebody is caught in the set where that is likeliest: now, and then.
        chance: (f64, f64),
    },
    /// Somebody is caught whatever the order: another lane suits them.
    OtherLane {
        /// Their place.
        who: usize,
        /// As above, then without them.
        chance: (f64, f64),
    },
    /// A set leaves somebody less than the rest that is wanted.
    SendOff {
        /// The set.
        set: usize,
        /// The quickest send-off that leaves everybody that rest, in seconds.
        send_off: f64,
        /// Or somebody swims less, on the send-off as it is: their place, and the metres of their longest repeat.
        instead: Option<(usize, SwimShare, f64)>,
    },
    /// More stand at the wall than there is room for while somebody turns.
    TooFull {
        /// The set.
        set: usize,
        /// How many stand.
        standing: usize,
    },
}

/// What was found for a lane.
#[derive(Clone, Debug, PartialEq)]
pub struct LaneAdvice {
    /// The advice; none where nothing is to be changed.
    pub advice: Vec<Advice>,
    /// The order that is advised or kept, as present places.
    pub order: Vec<usize>,
    /// The gap that is advised or kept, in seconds.
    pub gap: f64,
    /// Of each set the quickest send-off that leaves everybody the wanted rest, in that order and gap; absent where nothing
    /// follows within the set.
    pub send_offs: Vec<Option<f64>>,
}

/// How well an order and a gap do.
#[derive(Clone, Copy, Debug, PartialEq)]
struct OrderScore {
    /// How often somebody is caught by the prediction.
    caught: usize,
    /// How likely, in the set and for the swimmer where that is likeliest.
    chance: f64,
}

impl OrderScore {
    fn is_good(self) -> bool {
        self.caught == 0 && self.chance <= LIKELY
    }

    fn is_better_than(self, other: Self) -> bool {
        self.caught < other.caught || (self.caught == other.caught && self.chance + WORTH < other.chance)
    }
}

/// Looks for a better order, gap, send-off and distance. `rest` is what everybody should have between swims, in seconds;
/// `outcomes` are those of the lane as it is.
pub fn search(lane: &LaneFigures, outcomes: &[SetOutcome], rest: f64, trials: Trials) -> LaneAdvice {
    let mut advice = Vec::new();
    let now = OrderScore { caught: caught(lane), chance: likeliest(outcomes) };
    let (order, gap) = leave(lane, now, trials);
    let same: Vec<usize> = (0..lane.swimmers.len()).collect();
    let best = LaneFigures { gap, ..lane.in_order(&order) };
    let then = score(&best, trials);
    if order != same || gap != lane.gap {
        let changed = (order != same).then(|| order.clone());
        let gap = (gap != lane.gap).then_some(gap);
        advice.push(Advice::Leave { order: changed, gap, chance: (now.chance, then.chance) });
    }
    if !then.is_good() && lane.swimmers.len() > 1 {
        advice.extend(other_lane(&best, &order, then, trials));
    }
    let mut send_offs = Vec::with_capacity(lane.sets.len());
    for set in 0..lane.sets.len() {
        let quickest = quickest(&best, set, rest);
        send_offs.push(quickest);
        let sent = |start: &StartFigures| Some(start.after? - start.regroup);
        let kept = lane.sets.get(set).and_then(|set| set.starts.iter().filter_map(sent).min_by(f64::total_cmp));
        if let (Some(quickest), Some(kept)) = (quickest, kept)
            && least_rest(&best, set).is_some_and(|least| least < rest - 0.5)
            && quickest > kept
        {
            let instead =
                shorter(&best, set, rest).and_then(|(place, share, metres)| Some((*order.get(place)?, share, metres)));
            advice.push(Advice::SendOff { set, send_off: quickest, instead });
        }
        let standing = outcomes.get(set).map_or(0, |outcome| outcome.standing);
        if standing > ROOM_AT_THE_WALL {
            advice.push(Advice::TooFull { set, standing });
        }
    }
    LaneAdvice { advice, order, gap, send_offs }
}

/// The order and the gap to choose: the smallest change that is good, else what is best.
fn leave(lane: &LaneFigures, now: OrderScore, trials: Trials) -> (Vec<usize>, f64) {
    let same: Vec<usize> = (0..lane.swimmers.len()).collect();
    if now.is_good() {
        return (same, lane.gap);
    }
    let mut best = (now, same.clone(), lane.gap);
    let gaps = GAPS.into_iter().filter(|gap| *gap != lane.gap);
    let tried: Vec<(Option<Vec<usize>>, f64)> = std::iter::once((None, lane.gap))
        .chain(gaps.clone().filter(|gap| *gap > lane.gap).map(|gap| (Some(same.clone()), gap)))
        .chain(gaps.map(|gap| (None, gap)))
        .collect();
    for (order, gap) in tried {
        let other = LaneFigures { gap, ..lane.clone() };
        let order = order.unwrap_or_else(|| best_order(&other));
        let score = score(&other.in_order(&order), trials);
        if score.is_good() {
            return (order, gap);
        }
        if score.is_better_than(best.0) {
            best = (score, order, gap);
        }
    }
    (best.1, best.2)
}

/// How often somebody is caught by the prediction in a set at the most, and how likely.
fn score(lane: &LaneFigures, trials: Trials) -> OrderScore {
    let outcomes = simulate(std::slice::from_ref(lane), trials);
    OrderScore { caught: caught(lane), chance: outcomes.first().map_or(0.0, |outcomes| likeliest(outcomes)) }
}

/// The chance of whoever is likeliest to come up to somebody, in the set where that is.
pub fn likeliest(outcomes: &[SetOutcome]) -> f64 {
    outcomes.iter().flat_map(|set| &set.swimmers).map(|swimmer| swimmer.caught).fold(0.0, f64::max)
}

/// How many swims come up to somebody by the prediction.
pub fn caught(lane: &LaneFigures) -> usize {
    caught_below(lane, usize::MAX)
}

/// The same, given up where it is no longer below a bound.
fn caught_below(lane: &LaneFigures, bound: usize) -> usize {
    let mut runner = SetRunner::default();
    let mut count = 0;
    for set in 0..lane.sets.len() {
        runner.run(lane, set, Luck::Predicted);
        let swims = runner.starts.iter().flat_map(|start| &start.swims).flatten();
        count += swims.filter(|swim| swim.contact.is_some()).count();
        if count >= bound {
            break;
        }
    }
    count
}

/// The order in which the fewest are caught by the prediction; of equals the one that is found first, from the fastest first on.
pub fn best_order(lane: &LaneFigures) -> Vec<usize> {
    let mut best = by_speed(lane);
    let mut fewest = caught(&lane.in_order(&best));
    if fewest == 0 {
        return best;
    }
    if lane.swimmers.len() <= ALL_ORDERS {
        let mut order = best.clone();
        order.sort_unstable();
        loop {
            let count = caught_below(&lane.in_order(&order), fewest);
            if count < fewest {
                (best, fewest) = (order.clone(), count);
            }
            if fewest == 0 || !next_order(&mut order) {
                return best;
            }
        }
    }
    loop {
        let before = fewest;
        for from in 0..best.len() {
            for to in 0..best.len() {
                let mut order = best.clone();
                let who = order.remove(from);
                order.insert(to, who);
                let count = caught_below(&lane.in_order(&order), fewest);
                if count < fewest {
                    (best, fewest) = (order, count);
                }
            }
        }
        if fewest == 0 || fewest == before {
            return best;
        }
    }
}

/// Fastest first, by the time of a metre over everything swum.
fn by_speed(lane: &LaneFigures) -> Vec<usize> {
    let pace = |place: &usize| {
        let swims =
            lane.sets.iter().flat_map(|set| &set.starts).filter_map(|start| start.lengths.get(*place)?.as_ref());
        let (mut time, mut lengths) = (0.0, 0);
        for swim in swims {
            time += swim.iter().sum::<f64>();
            lengths += swim.len();
        }
        time / f64::from(u32::try_from(lengths).unwrap_or(u32::MAX).max(1))
    };
    let mut order: Vec<usize> = (0..lane.swimmers.len()).collect();
    order.sort_by(|a, b| pace(a).total_cmp(&pace(b)));
    order
}

/// The next order in the sequence of all; false after the last.
fn next_order(order: &mut [usize]) -> bool {
    let Some(falls) = (1..order.len()).rev().find(|at| order.get(at - 1) < order.get(*at)) else { return false };
    let pivot = falls - 1;
    let above = (falls..order.len()).rev().find(|at| order.get(*at) > order.get(pivot)).unwrap_or(falls);
    order.swap(pivot, above);
    if let Some(rest) = order.get_mut(falls..) {
        rest.reverse();
    }
    true
}

/// The one without whom the fewest are caught, where that helps.
fn other_lane(best: &LaneFigures, order: &[usize], now: OrderScore, trials: Trials) -> Option<Advice> {
    let without = |place: usize| {
        let rest: Vec<usize> = (0..best.swimmers.len()).filter(|other| *other != place).collect();
        (place, score(&best.in_order(&rest), trials))
    };
    let scores = (0..best.swimmers.len()).map(without);
    let (place, then) = scores.min_by(|a, b| (a.1.caught.cmp(&b.1.caught)).then(a.1.chance.total_cmp(&b.1.chance)))?;
    let who = *order.get(place)?;
    // To send somebody away takes more than a hair.
    let helps = 2 * then.caught <= now.caught && then.is_better_than(now);
    helps.then_some(Advice::OtherLane { who, chance: (now.chance, then.chance) })
}

/// The quickest send-off on the clock that leaves everybody the rest by the prediction, who is held up too.
pub fn quickest(lane: &LaneFigures, set: usize, rest: f64) -> Option<f64> {
    let starts = &lane.sets.get(set)?.starts;
    starts.iter().find_map(|start| start.after)?;
    let mut runner = SetRunner::default();
    runner.run(&lane.clone().on(set, ENDLESS), set, Luck::Predicted);
    let before_last = runner.starts.len().saturating_sub(1);
    // Where the lane regroups there is so much more time.
    let swum = runner.starts.iter().zip(starts).take(before_last);
    let needs =
        swum.flat_map(|(run, start)| run.swims.iter().flatten().map(|swim| swim.touch - swim.go - start.regroup));
    let longest = needs.fold(0.0, f64::max);
    Some(on_the_clock(longest + rest))
}

/// The least that anybody rests in a set by the prediction; absent where nobody swims twice.
pub fn least_rest(lane: &LaneFigures, set: usize) -> Option<f64> {
    let mut runner = SetRunner::default();
    runner.run(lane, set, Luck::Predicted);
    rests(&runner).map(|(_, rest)| rest).min_by(f64::total_cmp)
}

/// The rests of a set that was run: whose, and how long.
fn rests(runner: &SetRunner) -> impl Iterator<Item = (usize, f64)> {
    let places = 0..runner.starts.first().map_or(0, |start| start.swims.len());
    places.flat_map(|place| {
        let mut swims = runner.starts.iter().filter_map(move |start| *start.swims.get(place)?);
        let mut before = swims.next();
        swims.filter_map(move |swim| {
            let rest = before.map(|before| swim.go - before.touch);
            before = Some(swim);
            Some((place, rest?))
        })
    })
}

/// Who has too little rest, if it is one swimmer, and the largest share of the distance with which they have enough, and
/// everybody else still has.
fn shorter(lane: &LaneFigures, set: usize, rest: f64) -> Option<(usize, SwimShare, f64)> {
    let mut runner = SetRunner::default();
    runner.run(lane, set, Luck::Predicted);
    let mut short = rests(&runner).filter(|(_, own)| *own < rest).map(|(place, _)| place);
    let who = short.next()?;
    if short.any(|other| other != who) {
        return None;
    }
    SHARES.into_iter().find_map(|(parts, of)| {
        let share = SwimShare::Distance { parts, of };
        let other = lane.clone().sharing(set, who, share);
        let lengths = other.sets.get(set)?.starts.iter().filter_map(|start| start.lengths.get(who)?.as_ref());
        let metres = lengths.map(|lengths| lengths.len() as f64 * lane.pool).fold(0.0, f64::max);
        least_rest(&other, set).filter(|least| *least >= rest).map(|_| (who, share, metres))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_order_comes_once() {
        let mut order = vec![0, 1, 2, 3];
        let mut all = vec![order.clone()];
        while next_order(&mut order) {
            all.push(order.clone());
        }
        let count = all.len();
        all.sort();
        all.dedup();
        assert_eq!((count, all.len()), (24, 24));
    }
}
