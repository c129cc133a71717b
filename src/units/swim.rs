//! Swimming quantities: distance, pool, pace.

use crate::units::time::Seconds;
use std::fmt;

/// The side a swimmer turns to for air.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// To the left.
    Left,
    /// To the right.
    Right,
}

impl Side {
    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// `left` or `right`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// The unit a pool is measured in; distances and pace of a script use it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PoolUnit {
    /// Metres.
    Metre,
    /// Yards of exactly 0.9144 m (international yard and pound agreement, 1959).
    Yard,
}

impl PoolUnit {
    /// The unit's sign: `m` or `yd`.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Metre => "m",
            Self::Yard => "yd",
        }
    }

    /// Metres in one unit.
    pub const fn metres(self) -> f64 {
        match self {
            Self::Metre => 1.0,
            Self::Yard => 0.9144,
        }
    }
}

/// A distance as written: a whole number of metres or yards, 1 to 100,000.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Distance {
    count: u32,
    unit: PoolUnit,
}

impl Distance {
    /// `None` for 0 or beyond 100,000.
    pub const fn new(count: u32, unit: PoolUnit) -> Option<Self> {
        if count == 0 || count > 100_000 { None } else { Some(Self { count, unit }) }
    }

    /// Whole units.
    pub const fn count(self) -> u32 {
        self.count
    }

    /// The unit it was written in.
    pub const fn unit(self) -> PoolUnit {
        self.unit
    }

    /// In metres.
    pub fn metres(self) -> f64 {
        f64::from(self.count) * self.unit.metres()
    }
}

impl fmt::Display for Distance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} {}", self.count, self.unit.sign()))
    }
}

/// The length of a pool: 10 to 100 whole metres or yards.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct PoolLength(Distance);

impl PoolLength {
    /// `None` outside 10 to 100.
    pub const fn new(distance: Distance) -> Option<Self> {
        if distance.count >= 10 && distance.count <= 100 { Some(Self(distance)) } else { None }
    }

    /// One traverse.
    pub const fn distance(self) -> Distance {
        self.0
    }

    /// One traverse in metres.
    pub fn metres(self) -> f64 {
        self.0.metres()
    }

    /// The unit of the pool.
    pub const fn unit(self) -> PoolUnit {
        self.0.unit
    }

    /// How many lengths a distance is. `None` where it is not a whole number of lengths or in another unit.
    pub fn lengths(self, distance: Distance) -> Option<u32> {
        (distance.unit == self.0.unit && distance.count.is_multiple_of(self.0.count))
            .then(|| distance.count / self.0.count)
    }
}

impl fmt::Display for PoolLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// Pace: time per 100 of the pool's unit, 0:30 to 10:00.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Pace(Seconds);

impl Pace {
    /// `None` outside 0:30 to 10:00 per 100.
    pub fn new(per_hundred: Seconds) -> Option<Self> {
        (Seconds::from_secs(30)..=Seconds::from_secs(600)).contains(&per_hundred).then_some(Self(per_hundred))
    }

    /// Time per 100.
    pub const fn per_hundred(self) -> Seconds {
        self.0
    }

    /// The time for `count` units at this pace, to the nanosecond.
    pub fn time_for(self, count: u32) -> Seconds {
        self.0.scaled(i64::from(count), 100)
    }
}

impl fmt::Display for Pace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn yards_are_exact() {
        // International yard, 1959: 0.9144 m exactly, so 25 yd = 22.86 m.
        let pool = PoolLength::new(Distance::new(25, PoolUnit::Yard).unwrap()).unwrap();
        assert!((pool.metres() - 22.86).abs() < 1e-12);
        assert_eq!(pool.lengths(Distance::new(100, PoolUnit::Yard).unwrap()), Some(4));
        assert_eq!(pool.lengths(Distance::new(100, PoolUnit::Metre).unwrap()), None);
        assert_eq!(pool.lengths(Distance::new(60, PoolUnit::Yard).unwrap()), None);
    }

    #[test]
    fn pace_scales_with_distance() {
        let pace = Pace::new(Seconds::from_secs(125)).unwrap();
        assert_eq!(pace.time_for(50), Seconds::from_millis(62_500));
        assert!(Pace::new(Seconds::from_secs(29)).is_none());
    }
}
