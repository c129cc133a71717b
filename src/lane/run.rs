//! One run of one set of a lane: everybody leaves, swims and rests, start after start, by the prediction or with the luck of a day.
//!
//! Everybody's times have a spread of their own (see `figures`). Half of its variance is that of the day, the same in all repeats, half
//! that of the single repeat: our choice, no source.

use super::chance::{bits, normal};
use super::figures::{LaneFigures, SwimmerFigures};
use super::swim::{Contact, LaneWater, Leaving};

/// Who touches after their own go turns and leaves after so many seconds, behind whoever has left meanwhile: our choice, no source.
pub const LEAST_REST: f64 = 3.0;
/// What a time may come to against its prediction, at the least.
const QUICKEST: f64 = 0.5;

/// How a run differs from the prediction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Luck {
    /// Not at all.
    Predicted,
    /// By chance.
    Drawn {
        /// Which chance.
        seed: u64,
        /// Which run of it.
        run: u64,
    },
}

impl Luck {
    /// What a time of somebody is multiplied by, of a set and a start.
    fn factor(self, swimmer: &SwimmerFigures, set: usize, start: usize) -> f64 {
        let Self::Drawn { seed, run } = self else { return 1.0 };
        let own = bits(bits(seed, run), swimmer.who as u64);
        let of_day = normal(own, 0);
        let of_repeat = normal(own, 1 + ((set as u64) << 32) + start as u64);
        (1.0 + swimmer.spread * std::f64::consts::FRAC_1_SQRT_2 * (of_day + of_repeat)).max(QUICKEST)
    }
}

/// One swim of one swimmer, in seconds from the first go of the set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SwimRun {
    /// Their own go.
    pub go: f64,
    /// When they pushed off.
    pub left: f64,
    /// When they touched.
    pub touch: f64,
    /// Whom they came up to first, by the place in the lane, if to anybody.
    pub contact: Option<Contact>,
}

impl SwimRun {
    /// Whether they left after their go because they were not back, or not rested enough.
    pub fn is_late(&self) -> bool {
        self.left > self.go + 1e-6
    }
}

/// The metres from the wall that somebody left who has swum so many, in a pool of so many.
pub fn from_wall(metre: f64, pool: f64) -> f64 {
    let lengths = libm::floor(metre / pool);
    let within = metre - lengths * pool;
    if libm::fmod(lengths, 2.0) > 0.5 { pool - within } else { within }
}

/// One start of a set that was run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StartRun {
    /// The leader's go.
    pub at: f64,
    /// The swims, in the order of the lane; `None` for who sits out.
    pub swims: Vec<Option<SwimRun>>,
    /// The most who stood at the wall while somebody turned there.
    pub standing: usize,
    /// Where each swimmer is, in the order of the lane: when, and how far they have swum, evenly in between. Empty unless it was asked
    /// for.
    pub paths: Vec<Vec<(f64, f64)>>,
}

impl StartRun {
    /// The last touch.
    pub fn last_touch(&self) -> f64 {
        self.swims.iter().flatten().map(|swim| swim.touch).fold(self.at, f64::max)
    }
}

/// What runs use again.
#[derive(Debug, Default)]
pub struct SetRunner {
    under_way: LaneWater,
    /// The starts of the set that was run last.
    pub starts: Vec<StartRun>,
    /// The last touch of each, and who leaves now: their place.
    touched: Vec<Option<f64>>,
}

impl SetRunner {
    /// One that keeps the paths, for pictures.
    pub fn watching() -> Self {
        let mut runner = Self::default();
        runner.under_way.watched = true;
        runner
    }

    /// Runs a set; the result is in `starts`.
    pub fn run(&mut self, figures: &LaneFigures, set: usize, luck: Luck) {
        let count = figures.swimmers.len();
        let all = figures.sets.get(set).map_or(&[][..], |set| &set.starts);
        self.starts.resize_with(all.len(), StartRun::default);
        self.touched.clear();
        self.touched.resize(count, None);
        let mut at = 0.0;
        // Who leaves, and by which place they are known in the lane.
        let mut leaving: Vec<(usize, Leaving<'_>)> = Vec::with_capacity(count);
        let mut alone: Vec<Leaving<'_>> = Vec::with_capacity(count);
        for (index, (start, run)) in all.iter().zip(&mut self.starts).enumerate() {
            leaving.clear();
            for (place, (lengths, swimmer)) in start.lengths.iter().zip(&figures.swimmers).enumerate() {
                let Some(lengths) = lengths.as_deref().filter(|lengths| !lengths.is_empty()) else { continue };
                let go = at + figures.offset(place);
                let ready = self.touched.get(place).copied().flatten().map_or(go, |touched| touched + LEAST_REST);
                let factor = luck.factor(swimmer, set, index);
                leaving.push((place, Leaving { at: go.max(ready), lengths, factor }));
            }
            leaving.sort_by(|a, b| a.1.at.total_cmp(&b.1.at));
            alone.clear();
            alone.extend(leaving.iter().map(|(_, leaving)| *leaving));
            self.under_way.swim(&alone, figures.pool);
            run.at = at;
            run.swims.clear();
            run.swims.resize(count, None);
            for ((place, _), swum) in leaving.iter().zip(&self.under_way.swum) {
                let named = |contact: Contact| {
                    let front = leaving.get(contact.front).map_or(contact.front, |(place, _)| *place);
                    Contact { front, ..contact }
                };
                let go = at + figures.offset(*place);
                let contact = swum.contact.map(named);
                if let (Some(slot), Some(touched)) = (run.swims.get_mut(*place), self.touched.get_mut(*place)) {
                    *slot = Some(SwimRun { go, left: swum.left, touch: swum.touch, contact });
                    *touched = Some(swum.touch);
                }
            }
            run.paths.clear();
            if self.under_way.watched {
                run.paths.resize(count, Vec::new());
                for (row, time, metre) in &self.under_way.seen {
                    let place = leaving.get(*row).map_or(*row, |(place, _)| *place);
                    if let Some(path) = run.paths.get_mut(place) {
                        path.push((*time, *metre));
                    }
                }
            }
            let stands = |time: f64| {
                let swims = || self.under_way.swum.iter();
                count - swims().filter(|swum| swum.left <= time && swum.touch > time).count()
            };
            run.standing = self.under_way.turns.iter().map(|(time, _)| stands(*time)).max().unwrap_or(0);
            at += start.after.unwrap_or(0.0);
        }
    }
}
