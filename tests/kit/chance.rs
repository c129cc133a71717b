//! Chance that is the same each time, for simulated people.

#![allow(dead_code, reason = "each test binary uses its part")]

/// The generator SplitMix64 (Steele, Lea & Flood 2014), from a seed.
pub struct SplitMix(pub u64);

impl SplitMix {
    /// All 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Even in 0 to 1, without 1.
    pub fn even(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Even between two bounds.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }

    /// Normal with mean 0 and deviation 1 (Box & Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.even()));
        radius * libm::cos(std::f64::consts::TAU * self.even())
    }

    /// One of some.
    pub fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[(self.even() * of.len() as f64) as usize]
    }
}
