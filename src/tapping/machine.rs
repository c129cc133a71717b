//! Taps one after another, with what is taken back, parted into lengths at the walls.

use super::length::TappedLength;
use super::place::StrokeTap;
use super::slope::median;
use super::tap::{Tap, TapKey};

/// What has been tapped so far.
#[derive(Clone, Debug, PartialEq)]
pub struct Tapping {
    /// Seconds in the water for a second of taps: a film at half speed has 0.5.
    speed: f64,
    done: Vec<TapStep>,
}

/// Something that can be taken back.
#[derive(Clone, Debug, PartialEq)]
enum TapStep {
    Tapped(Tap),
    Dropped(Vec<Self>),
}

/// Everything that was tapped, length by length.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TappedSwim {
    /// The lengths, in order; the last may be under way.
    pub lengths: Vec<TappedLength>,
}

impl Tapping {
    /// Nothing yet, of a film at so much of its true speed; 1 at the pool.
    pub const fn new(speed: f64) -> Self {
        Self { speed, done: Vec::new() }
    }

    /// Takes a tap, not earlier than the one before. Whether it changed anything.
    pub fn hear(&mut self, tap: Tap) -> bool {
        match tap.key {
            TapKey::Undo => match self.done.pop() {
                Some(TapStep::Dropped(back)) => self.done.extend(back),
                Some(TapStep::Tapped(_)) => {}
                None => return false,
            },
            TapKey::Anew => {
                let is_wall = |done: &TapStep| matches!(done, TapStep::Tapped(tap) if tap.key == TapKey::Wall);
                let from = self.done.iter().rposition(is_wall).map_or(0, |wall| wall + 1);
                let dropped = self.done.split_off(from);
                if !dropped.iter().any(|done| matches!(done, TapStep::Tapped(_))) {
                    self.done.extend(dropped);
                    return false;
                }
                self.done.push(TapStep::Dropped(dropped));
            }
            _ => self.done.push(TapStep::Tapped(tap)),
        }
        true
    }

    /// The taps that count, in order.
    pub fn taps(&self) -> impl Iterator<Item = Tap> {
        self.done.iter().filter_map(|done| match done {
            TapStep::Tapped(tap) => Some(*tap),
            TapStep::Dropped(_) => None,
        })
    }

    /// What they come to.
    pub fn swim(&self) -> TappedSwim {
        let mut swim = TappedSwim::default();
        let (mut taps, mut begun) = (Vec::new(), None);
        for tap in self.taps() {
            let at = tap.at.as_f64() * self.speed;
            match tap.key {
                TapKey::Stroke => taps.push(StrokeTap { at, breath: None }),
                TapKey::Breath(side) => taps.push(StrokeTap { at, breath: Some(side) }),
                TapKey::Wall => {
                    // Without strokes it is the push-off, or the wall tapped again.
                    if !taps.is_empty() {
                        swim.add(&std::mem::take(&mut taps), (begun, Some(at)));
                    }
                    begun = Some(at);
                }
                TapKey::Anew | TapKey::Undo => {}
            }
        }
        if !taps.is_empty() {
            swim.add(&taps, (begun, None));
        }
        swim
    }
}

impl TappedSwim {
    fn add(&mut self, taps: &[StrokeTap], walls: (Option<f64>, Option<f64>)) {
        let before = self.lengths.last().and_then(|length| length.tempo).map(|tempo| tempo.seconds);
        self.lengths.push(TappedLength::of(taps, before, walls));
    }

    /// The lengths that were swum to their end: those with a wall; all where no wall was tapped.
    pub fn whole(&self) -> impl Iterator<Item = (u32, &TappedLength)> {
        let walls = self.lengths.iter().any(|length| length.closed);
        (1..).zip(&self.lengths).filter(move |(_, length)| length.closed || !walls)
    }

    /// The tempo of it all in seconds a stroke: the median of its lengths.
    pub fn tempo(&self) -> Option<f64> {
        median(self.lengths.iter().filter_map(|length| Some(length.tempo?.seconds)).collect())
    }

    /// The count of a length: the median of the whole lengths whose count is beyond doubt.
    pub fn count(&self) -> Option<f64> {
        median(self.whole().filter_map(|(_, length)| length.count.map(f64::from)).collect())
    }
}

#[cfg(test)]
mod tests;
