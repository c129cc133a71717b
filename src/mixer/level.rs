//! Levels over a run of frames: fader ramps and the ducking curve, each a pure function of the absolute frame.
//!
//! Nothing here steps from frame to frame, so how a practice is cut into blocks cannot be heard.

use super::sample::QUANTUM;
use crate::timeline::segment::{DuckPoint, duck_after};

/// A straight way from one gain to another.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ramp {
    from: f32,
    to: f32,
    start: u64,
    len: u32,
}

impl Ramp {
    pub(super) const fn resting(gain: f32) -> Self {
        Self { from: gain, to: gain, start: 0, len: 0 }
    }

    /// From where it is at `start` to `to`, within `len` frames.
    pub(super) fn turn(&mut self, to: f32, start: u64, len: u32) {
        *self = Self { from: self.at(start), to, start, len };
    }

    /// Moves with the practice's clock by so many frames.
    pub(super) fn skip(&mut self, frames: i64) {
        self.start = self.start.saturating_add_signed(frames);
    }

    pub(super) fn at(&self, frame: u64) -> f32 {
        let done = frame.saturating_sub(self.start);
        if done >= u64::from(self.len) {
            self.to
        } else {
            self.from + (self.to - self.from) * (done as f32 / self.len as f32)
        }
    }

    /// The one value from `frame` on, if it no longer moves.
    fn rest(&self, frame: u64) -> Option<f32> {
        (frame.saturating_sub(self.start) >= u64::from(self.len)).then_some(self.to)
    }
}

/// The gain over one run.
#[expect(clippy::large_enum_variant, reason = "lives on the stack for one run; a box would allocate in the callback")]
pub(super) enum Level {
    /// The same on every frame.
    Flat(f32),
    /// One for each frame.
    Curve([f32; QUANTUM]),
}

impl Level {
    pub(super) fn by_ramp(self, ramp: &Ramp, frame: u64) -> Self {
        match ramp.rest(frame) {
            Some(gain) => self.by_flat(gain),
            None => self.by_curve(|i| ramp.at(frame + i)),
        }
    }

    /// Times the ducking curve, of which `corner` says how many points lie at or before `frame`.
    pub(super) fn by_duck(self, points: &[DuckPoint], corner: usize, frame: u64, frames: usize) -> Self {
        let before = corner.checked_sub(1).and_then(|i| points.get(i));
        let after = points.get(corner);
        match (before, after) {
            (None, None) => self,
            (Some(point), None) => self.by_flat(point.gain),
            (None, Some(point)) if frame + frames as u64 <= point.frame => self.by_flat(point.gain),
            (Some(a), Some(b)) if a.gain == b.gain && frame + frames as u64 <= b.frame => self.by_flat(a.gain),
            _ => {
                let mut next = corner;
                self.by_curve(|i| duck_at(points, &mut next, frame + i))
            }
        }
    }

    /// The largest value.
    pub(super) fn top(&self) -> f32 {
        match self {
            Self::Flat(gain) => *gain,
            Self::Curve(gains) => gains.iter().fold(0.0, |top, gain| f32::max(top, *gain)),
        }
    }

    fn by_flat(mut self, factor: f32) -> Self {
        match &mut self {
            Self::Flat(gain) => *gain *= factor,
            Self::Curve(gains) => gains.iter_mut().for_each(|gain| *gain *= factor),
        }
        self
    }

    fn by_curve(self, mut factor: impl FnMut(u64) -> f32) -> Self {
        let mut gains = match self {
            Self::Flat(gain) => [gain; QUANTUM],
            Self::Curve(gains) => gains,
        };
        (0..).zip(&mut gains).for_each(|(i, gain)| *gain *= factor(i));
        Self::Curve(gains)
    }
}

fn duck_at(points: &[DuckPoint], next: &mut usize, frame: u64) -> f32 {
    while points.get(*next).is_some_and(|point| point.frame <= frame) {
        *next += 1;
    }
    duck_after(points, *next, frame)
}

#[cfg(test)]
mod tests {
    use super::*;

    const DUCK: [DuckPoint; 4] = [
        DuckPoint { frame: 100, gain: 1.0 },
        DuckPoint { frame: 110, gain: 0.5 },
        DuckPoint { frame: 300, gain: 0.5 },
        DuckPoint { frame: 320, gain: 1.0 },
    ];

    fn at(frame: u64) -> f32 {
        let corner = DUCK.partition_point(|point| point.frame <= frame);
        match Level::Flat(1.0).by_duck(&DUCK, corner, frame, QUANTUM) {
            Level::Flat(gain) => gain,
            Level::Curve(gains) => gains[0],
        }
    }

    #[test]
    fn ducking_runs_straight_between_its_corners() {
        for (frame, gain) in
            [(0, 1.0), (100, 1.0), (105, 0.75), (110, 0.5), (299, 0.5), (310, 0.75), (320, 1.0), (999, 1.0)]
        {
            assert_eq!(at(frame), gain, "frame {frame}");
        }
    }

    #[test]
    fn flat_stretches_need_no_curve() {
        assert!(matches!(Level::Flat(1.0).by_duck(&DUCK, 2, 120, QUANTUM), Level::Flat(0.5)));
        assert!(matches!(Level::Flat(1.0).by_duck(&DUCK, 0, 36, QUANTUM), Level::Flat(1.0)));
        assert!(matches!(Level::Flat(1.0).by_duck(&DUCK, 0, 37, QUANTUM), Level::Curve(_)));
    }

    #[test]
    fn a_ramp_that_is_turned_goes_on_from_where_it_is() {
        let mut ramp = Ramp::resting(1.0);
        ramp.turn(0.0, 1000, 100);
        assert_eq!((ramp.at(999), ramp.at(1000), ramp.at(1050), ramp.at(1100)), (1.0, 1.0, 0.5, 0.0));
        ramp.turn(1.0, 1050, 100);
        assert_eq!((ramp.at(1050), ramp.at(1100), ramp.at(1150)), (0.5, 0.75, 1.0));
    }
}
