//! Levels: decibels for people, linear gain for the mixer, loudness.

use std::fmt;

/// A level or a change of level in dB, −120 to +40.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Decibels(f64);

impl Decibels {
    /// No change.
    pub const ZERO: Self = Self(0.0);

    /// `None` where the value is not a number or outside −120 to +40 dB.
    pub fn new(db: f64) -> Option<Self> {
        (-120.0..=40.0).contains(&db).then_some(Self(db))
    }

    /// A constant known to be in range; values outside are clamped.
    pub const fn of(db: f64) -> Self {
        Self(if db < -120.0 {
            -120.0
        } else if db > 40.0 {
            40.0
        } else {
            db
        })
    }

    /// In dB.
    pub const fn db(self) -> f64 {
        self.0
    }

    /// The linear factor on amplitude, `10^(dB/20)`, the same bits on every machine.
    pub fn gain(self) -> Gain {
        Gain(libm::pow(10.0, self.0 / 20.0) as f32)
    }
}

impl fmt::Display for Decibels {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{:.1} dB", self.0))
    }
}

/// A linear factor on amplitude. Internal: files and flags speak in dB.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Gain(f32);

impl Gain {
    /// Unchanged.
    pub const UNITY: Self = Self(1.0);

    /// The factor itself.
    pub const fn factor(self) -> f32 {
        self.0
    }
}

/// A sound level at an ear, A-weighted, in dB re 20 µPa, 40 to 130.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct SoundLevel(f64);

impl SoundLevel {
    /// `None` where the value is not a number or outside 40 to 130 dBA.
    pub fn new(dba: f64) -> Option<Self> {
        (40.0..=130.0).contains(&dba).then_some(Self(dba))
    }

    /// In dBA.
    pub const fn dba(self) -> f64 {
        self.0
    }
}

impl fmt::Display for SoundLevel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{:.1} dBA", self.0))
    }
}

/// Loudness by ITU-R BS.1770 in LUFS, −70 to 0.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Lufs(f64);

impl Lufs {
    /// `None` where the value is not a number or outside −70 to 0 LUFS.
    pub fn new(lufs: f64) -> Option<Self> {
        (-70.0..=0.0).contains(&lufs).then_some(Self(lufs))
    }

    /// A constant known to be in range; values outside are clamped.
    pub const fn of(lufs: f64) -> Self {
        Self(if lufs < -70.0 {
            -70.0
        } else if lufs > 0.0 {
            0.0
        } else {
            lufs
        })
    }

    /// In LUFS.
    pub const fn lufs(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Lufs {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{:.1} LUFS", self.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decibels_are_linear_factors() {
        for (db, factor) in [(0.0, 1.0), (-20.0, 0.1), (20.0, 10.0), (-6.0, 0.501_187_2)] {
            assert!((Decibels::new(db).unwrap().gain().factor() - factor as f32).abs() < 1e-6 * factor as f32);
        }
        assert!(Decibels::new(f64::NAN).is_none() && Decibels::new(40.1).is_none());
        assert!(Lufs::new(0.5).is_none() && Lufs::new(-16.0).is_some());
    }
}
