//! A lane simulated many times: who comes up to whom, where and how likely; what rest each gets; whether the talk reaches everybody.
//!
//! Runs are independent and counted, so that any number of threads gives the same figures.

use super::figures::LaneFigures;
use super::run::{Luck, SetRunner, StartRun};
use crate::cores;
use std::collections::BTreeMap;

/// Talk at the wall reaches all from so long after the last touch until so long before the leader's go; in less than the third no
/// phrase fits. Seconds; our choice, no source.
const SETTLED: f64 = 3.0;
const BEFORE_GO: f64 = 8.0;
const PHRASE: f64 = 6.0;
/// So many runs are done one after another by one thread.
const CHUNK: u64 = 25;
/// Rests are counted in bins of half a second, from a minute late on.
const BINS: usize = 400;
const BIN: f64 = 0.5;
const LATEST: f64 = -60.0;

/// How much is simulated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trials {
    /// How many runs, at least 1.
    pub runs: u64,
    /// Which chance.
    pub seed: u64,
    /// How many threads, at least 1.
    pub workers: usize,
}

/// What came of a set.
#[derive(Clone, Debug, PartialEq)]
pub struct SetOutcome {
    /// The set as it is predicted, without chance.
    pub predicted: Vec<StartRun>,
    /// What came of each swimmer, in the order of the lane.
    pub swimmers: Vec<SwimmerOutcome>,
    /// Who came up to whom, most likely first.
    pub catches: Vec<Catch>,
    /// The share of rests in which a phrase reaches everybody; 1 where there is no rest.
    pub talk: f64,
    /// The seconds in which talk reaches everybody, in the mean of all rests; negative where the last is not back.
    pub talk_len: Option<f64>,
    /// The most who stand at the wall while somebody turns there, as predicted.
    pub standing: usize,
}

/// What came of one swimmer in a set.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SwimmerOutcome {
    /// The mean time from the own go to the touch, in seconds.
    pub time: f64,
    /// The mean rest until the next own go, negative for late; absent where no start follows.
    pub rest: Option<f64>,
    /// The rest that one in ten is shorter than.
    pub worst_rest: Option<f64>,
    /// The share of starts that were left late.
    pub late: f64,
    /// The share of runs in which they came up to somebody.
    pub caught: f64,
}

/// Somebody comes up to somebody in a set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Catch {
    /// Who comes up, by the place in the lane.
    pub behind: usize,
    /// To whom.
    pub front: usize,
    /// In which share of the runs.
    pub chance: f64,
    /// The start in which it is first most often, from 0.
    pub start: usize,
    /// How far the one behind has swum then, in metres: the middle of all.
    pub metre: f64,
}

/// Simulates every set of some lanes, the work shared by `trials.workers` threads. The lanes do not touch each other.
pub fn simulate(lanes: &[LaneFigures], trials: Trials) -> Vec<Vec<SetOutcome>> {
    let sets = lanes.iter().enumerate().flat_map(|(lane, figures)| (0..figures.sets.len()).map(move |set| (lane, set)));
    let chunks = trials.runs.max(1).div_ceil(CHUNK);
    let jobs: Vec<(usize, usize, u64)> =
        sets.flat_map(|(lane, set)| (0..chunks).map(move |chunk| (lane, set, chunk))).collect();
    let work = |runner: &mut SetRunner, (lane, set, chunk): &(usize, usize, u64)| {
        let figures = lanes.get(*lane)?;
        let mut tally = SetTally::new(figures.swimmers.len());
        // Lanes have a luck of their own each.
        let seed = trials.seed.wrapping_add((*lane as u64) << 40);
        for run in chunk * CHUNK..((chunk + 1) * CHUNK).min(trials.runs.max(1)) {
            runner.run(figures, *set, Luck::Drawn { seed, run });
            tally.count(&runner.starts);
        }
        Some(tally)
    };
    let mut tallies = cores::share(trials.workers, &jobs, SetRunner::default, work).into_iter().flatten();
    let mut runner = SetRunner::watching();
    let mut of_set = |figures: &LaneFigures, set: usize| {
        let mut whole = SetTally::new(figures.swimmers.len());
        tallies.by_ref().take(usize::try_from(chunks).unwrap_or(usize::MAX)).for_each(|tally| whole.add(tally));
        runner.run(figures, set, Luck::Predicted);
        whole.outcome(runner.starts.clone())
    };
    lanes.iter().map(|figures| (0..figures.sets.len()).map(|set| of_set(figures, set)).collect()).collect()
}

/// What was counted over runs of a set.
struct SetTally {
    runs: u32,
    swimmers: Vec<SwimmerTally>,
    /// Of each pair, who comes up and to whom, the first time in each run: start and metre.
    pairs: BTreeMap<(usize, usize), Vec<(u32, f32)>>,
    rests: u32,
    reached: u32,
    talk: f64,
}

#[derive(Clone)]
struct SwimmerTally {
    starts: u32,
    time: f64,
    late: u32,
    caught: u32,
    rests: u32,
    rest: f64,
    bins: Vec<u32>,
}

impl SetTally {
    fn new(swimmers: usize) -> Self {
        let one = SwimmerTally { starts: 0, time: 0.0, late: 0, caught: 0, rests: 0, rest: 0.0, bins: vec![0; BINS] };
        let swimmers = vec![one; swimmers];
        Self { runs: 0, swimmers, pairs: BTreeMap::new(), rests: 0, reached: 0, talk: 0.0 }
    }

    /// Counts a run.
    fn count(&mut self, starts: &[StartRun]) {
        self.runs += 1;
        let mut met: Vec<(usize, usize)> = Vec::new();
        for (place, tally) in self.swimmers.iter_mut().enumerate() {
            let swims = || {
                let of = |(index, start): (usize, &StartRun)| Some((index, *start.swims.get(place)?.as_ref()?));
                starts.iter().enumerate().filter_map(of)
            };
            let mut next = swims().skip(1);
            let mut caught = false;
            for (index, swim) in swims() {
                tally.starts += 1;
                tally.time += swim.touch - swim.go;
                tally.late += u32::from(swim.is_late());
                if let Some((_, next)) = next.next() {
                    let rest = next.go - swim.touch;
                    tally.rests += 1;
                    tally.rest += rest;
                    let bin = (((rest - LATEST) / BIN) as usize).min(BINS - 1);
                    if let Some(count) = tally.bins.get_mut(bin) {
                        *count += 1;
                    }
                }
                if let Some(contact) = swim.contact {
                    caught = true;
                    let pair = (place, contact.front);
                    if !met.contains(&pair) {
                        met.push(pair);
                        let first = (u32::try_from(index).unwrap_or(u32::MAX), contact.metre as f32);
                        self.pairs.entry(pair).or_default().push(first);
                    }
                }
            }
            tally.caught += u32::from(caught);
        }
        for pair in starts.windows(2) {
            let [start, next] = pair else { continue };
            let len = next.at - BEFORE_GO - (start.last_touch() + SETTLED);
            self.rests += 1;
            self.talk += len;
            self.reached += u32::from(len >= PHRASE);
        }
    }

    fn add(&mut self, other: Self) {
        self.runs += other.runs;
        for (own, more) in self.swimmers.iter_mut().zip(other.swimmers) {
            own.starts += more.starts;
            own.time += more.time;
            own.late += more.late;
            own.caught += more.caught;
            own.rests += more.rests;
            own.rest += more.rest;
            own.bins.iter_mut().zip(more.bins).for_each(|(own, more)| *own += more);
        }
        for (pair, firsts) in other.pairs {
            self.pairs.entry(pair).or_default().extend(firsts);
        }
        self.rests += other.rests;
        self.reached += other.reached;
        self.talk += other.talk;
    }

    fn outcome(self, predicted: Vec<StartRun>) -> SetOutcome {
        let runs = f64::from(self.runs.max(1));
        let mut catches: Vec<Catch> = self
            .pairs
            .into_iter()
            .map(|((behind, front), mut firsts)| {
                let mut starts: BTreeMap<u32, u32> = BTreeMap::new();
                firsts.iter().for_each(|(start, _)| *starts.entry(*start).or_default() += 1);
                // Of equals the first.
                let start = starts.iter().max_by_key(|(start, count)| (**count, std::cmp::Reverse(**start)));
                firsts.sort_by(|a, b| a.1.total_cmp(&b.1));
                let metre = firsts.get(firsts.len() / 2).map_or(0.0, |(_, metre)| f64::from(*metre));
                let chance = firsts.len() as f64 / runs;
                Catch { behind, front, chance, start: start.map_or(0, |(start, _)| *start as usize), metre }
            })
            .collect();
        catches.sort_by(|a, b| b.chance.total_cmp(&a.chance));
        let rests = f64::from(self.rests.max(1));
        SetOutcome {
            standing: predicted.iter().map(|start| start.standing).max().unwrap_or(0),
            predicted,
            swimmers: self.swimmers.iter().map(|tally| tally.outcome(runs)).collect(),
            catches,
            talk: if self.rests == 0 { 1.0 } else { f64::from(self.reached) / rests },
            talk_len: (self.rests > 0).then(|| self.talk / rests),
        }
    }
}

impl SwimmerTally {
    fn outcome(&self, runs: f64) -> SwimmerOutcome {
        let starts = f64::from(self.starts.max(1));
        let mut left = self.rests.div_ceil(10);
        let worst = self.bins.iter().position(|count| {
            left = left.saturating_sub(*count);
            left == 0
        });
        SwimmerOutcome {
            time: self.time / starts,
            rest: (self.rests > 0).then(|| self.rest / f64::from(self.rests)),
            worst_rest: worst.filter(|_| self.rests > 0).map(|bin| LATEST + BIN * bin as f64),
            late: f64::from(self.late) / starts,
            caught: f64::from(self.caught) / runs,
        }
    }
}
