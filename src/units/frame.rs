//! Frames on the two clocks of a live practice. In a pause the practice's clock stands still and the output's goes on, so
//! a frame of one is never a frame of the other.

use super::time::{SampleRate, Seconds};

/// A frame of the practice, counted from its beginning.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PracticeFrame(u64);

/// A frame put out, counted from when the mixer was made; pauses count.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct OutputFrame(u64);

macro_rules! clock {
    ($frame:ident) => {
        impl $frame {
            /// Where the clock begins.
            pub const ZERO: Self = Self(0);
            /// After everything.
            pub const NEVER: Self = Self(u64::MAX);

            /// The frame of this number.
            pub const fn new(number: u64) -> Self {
                Self(number)
            }

            /// Its number.
            pub const fn number(self) -> u64 {
                self.0
            }

            /// So many frames later; beyond the last number it is [`NEVER`](Self::NEVER).
            pub const fn plus(self, frames: u64) -> Self {
                Self(self.0.saturating_add(frames))
            }

            /// So many frames earlier, at the earliest the first.
            pub const fn minus(self, frames: u64) -> Self {
                Self(self.0.saturating_sub(frames))
            }

            /// Frames from another one to this; 0 where that one is later.
            pub const fn since(self, earlier: Self) -> u64 {
                self.0.saturating_sub(earlier.0)
            }
        }
    };
}

clock!(PracticeFrame);
clock!(OutputFrame);

impl PracticeFrame {
    /// The frame nearest to a time of the practice; before its beginning it is the first.
    pub fn at(time: Seconds, rate: SampleRate) -> Self {
        Self(rate.frames(time))
    }

    /// Its time, rounded down to a nanosecond.
    pub fn time(self, rate: SampleRate) -> Seconds {
        rate.time(self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_stay_on_their_clock() {
        let rate = SampleRate::CD;
        assert_eq!(PracticeFrame::at(Seconds::from_secs(2), rate), PracticeFrame::new(88_200));
        assert_eq!(PracticeFrame::new(44_100).time(rate), Seconds::from_secs(1));
        assert_eq!(PracticeFrame::new(5).minus(9), PracticeFrame::ZERO);
        assert_eq!(PracticeFrame::NEVER.plus(1), PracticeFrame::NEVER);
        assert_eq!(OutputFrame::new(9).since(OutputFrame::new(4)), 5);
        assert_eq!(OutputFrame::new(4).since(OutputFrame::new(9)), 0);
    }
}
