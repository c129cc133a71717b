//! A lane in numbers: what is needed to simulate it often, and to try other orders, gaps, send-offs and distances.

use super::{Lane, LaneSwimmer};
use crate::lane::shape::lengths_of;
use crate::practice::CLOCK;
use crate::script::lane::SwimShare;

/// So much of a predicted time's spread is the swimmer's own, from day to day and repeat to repeat; the rest is what is not known
/// of them, and those who share a lane know how fast they are beside each other. Of a bare `hundred` it leaves 2 %: trained swimmers
/// scatter by 1.4 % from race to race (Pyne, Trewin & Hopkins 2004, from memory), and a practice is less even. Our choice.
const OWN_SHARE: f64 = 0.4;

/// A lane, ready to be simulated. All times are in seconds.
#[derive(Clone, Debug, PartialEq)]
pub struct LaneFigures {
    /// The pool, in metres.
    pub pool: f64,
    /// From one swimmer's go to the next one's.
    pub gap: f64,
    /// Who swims, in the order of leaving.
    pub swimmers: Vec<SwimmerFigures>,
    /// The sets.
    pub sets: Vec<SetFigures>,
}

/// A swimmer, in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct SwimmerFigures {
    /// Their name.
    pub name: String,
    /// Their place in the lane as it was written or ordered before, from 0: it tells them apart whatever the order, and theirs is the
    /// same luck in every order.
    pub who: usize,
    /// The standard deviation of their own times around what is predicted, as a share of it.
    pub spread: f64,
}

/// A set, in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct SetFigures {
    /// The starts, in order.
    pub starts: Vec<StartFigures>,
}

/// A start, in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct StartFigures {
    /// To the leader's next go, where there is one in the set.
    pub after: Option<f64>,
    /// By how much that is longer than the send-off, since the lane regroups.
    pub regroup: f64,
    /// Of each swimmer the predicted time of each length; `None` for who sits out.
    pub lengths: Vec<Option<Vec<f64>>>,
}

impl LaneFigures {
    /// Those of a lane.
    pub fn of(lane: &Lane) -> Self {
        let swimmer = |(who, swimmer): (usize, &LaneSwimmer)| SwimmerFigures {
            name: swimmer.name.clone(),
            who,
            spread: OWN_SHARE * swimmer.swimmer.spread,
        };
        let sets = lane.sets.iter().enumerate().map(|(ordinal, set)| {
            let count = set.starts.len();
            let starts = set.starts.iter().enumerate().map(|(index, start)| {
                let of = |(who, swim): (&LaneSwimmer, &Option<std::ops::Range<usize>>)| {
                    let repeats = who.practice.sets().nth(ordinal)?.repeats.get(swim.clone()?)?;
                    Some(repeats.iter().flat_map(|repeat| &repeat.lengths).map(|length| length.time.as_f64()).collect())
                };
                StartFigures {
                    after: start.after.filter(|_| index + 1 < count).map(|after| after.as_f64()),
                    regroup: start.regroup.map_or(0.0, |regroup| regroup.as_f64()),
                    lengths: lane.swimmers.iter().zip(&start.swims).map(of).collect(),
                }
            });
            SetFigures { starts: starts.collect() }
        });
        Self {
            pool: lane.pool.metres(),
            gap: lane.gap.as_f64(),
            swimmers: lane.swimmers.iter().enumerate().map(swimmer).collect(),
            sets: sets.collect(),
        }
    }

    /// The same swimmers in another order: `order` has their present places, each once.
    #[must_use]
    pub fn in_order(&self, order: &[usize]) -> Self {
        fn pick<T: Clone>(values: &[T], order: &[usize]) -> Vec<T> {
            order.iter().filter_map(|place| values.get(*place).cloned()).collect()
        }
        let start = |start: &StartFigures| StartFigures { lengths: pick(&start.lengths, order), ..*start };
        let set = |set: &SetFigures| SetFigures { starts: set.starts.iter().map(start).collect() };
        Self {
            pool: self.pool,
            gap: self.gap,
            swimmers: pick(&self.swimmers, order),
            sets: self.sets.iter().map(set).collect(),
        }
    }

    /// One set alone.
    pub fn only(&self, set: usize) -> Self {
        let sets = self.sets.get(set).cloned().into_iter().collect();
        Self { sets, swimmers: self.swimmers.clone(), ..*self }
    }

    /// Every interval of a set as long as this, and longer where the lane regroups; changes of gear are no longer in it.
    #[must_use]
    pub fn on(mut self, set: usize, send_off: f64) -> Self {
        let starts = self.sets.get_mut(set).into_iter().flat_map(|set| &mut set.starts);
        for StartFigures { after, regroup, .. } in starts {
            *after = after.map(|_| send_off + *regroup);
        }
        self
    }

    /// A set in which somebody swims a share only.
    #[must_use]
    pub fn sharing(mut self, set: usize, place: usize, share: SwimShare) -> Self {
        let starts = self.sets.get_mut(set).into_iter().flat_map(|set| &mut set.starts);
        for (index, start) in starts.enumerate() {
            let Some(own) = start.lengths.get_mut(place) else { continue };
            match share {
                SwimShare::Whole => {}
                SwimShare::Repeats { swum, of } => {
                    if u32::try_from(index).unwrap_or(0) % of.max(1) >= swum {
                        *own = None;
                    }
                }
                SwimShare::Distance { parts, of } => {
                    if let Some(lengths) = own {
                        let all = u32::try_from(lengths.len()).unwrap_or(u32::MAX);
                        lengths.truncate(lengths_of(all, parts, of) as usize);
                    }
                }
            }
        }
        self
    }

    /// How long a swim takes by the prediction.
    pub fn predicted(&self, set: usize, start: usize, place: usize) -> Option<f64> {
        let lengths = self.sets.get(set)?.starts.get(start)?.lengths.get(place)?;
        lengths.as_ref().map(|lengths| lengths.iter().sum())
    }

    /// The offset of a place from the leader's go.
    pub fn offset(&self, place: usize) -> f64 {
        self.gap * place as f64
    }
}

/// A time rounded up to what starts fall on.
pub fn on_the_clock(seconds: f64) -> f64 {
    let step = CLOCK.as_f64();
    // What is a hair above a mark is on it.
    libm::ceil((seconds - 1e-6) / step) * step
}
