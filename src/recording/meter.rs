//! How loud a microphone is at the moment, for a screen: no take is judged by it.

/// A sample's size in dBFS, −120 for silence.
pub(super) fn decibels(peak: f32) -> f64 {
    20.0 * libm::log10(f64::from(peak).max(1e-6))
}

/// The level of the moment and of the last seconds, in dBFS.
#[derive(Debug)]
pub(super) struct InputMeter {
    now: f64,
    held: f64,
    peak: f32,
    heard: u32,
    since_held: u32,
}

impl Default for InputMeter {
    fn default() -> Self {
        Self { now: -120.0, held: -120.0, peak: 0.0, heard: 0, since_held: 0 }
    }
}

impl InputMeter {
    /// Parts of a second: a picture of the moment, and how many of them a peak is held for.
    const PARTS: u32 = 15;
    const HOLD: u32 = 30;

    /// The level of the moment in dBFS.
    pub const fn now(&self) -> f64 {
        self.now
    }

    /// The largest level of the last seconds in dBFS.
    pub const fn held(&self) -> f64 {
        self.held
    }

    /// Takes what the microphone heard.
    pub fn hear(&mut self, samples: &[f32], rate: u32) {
        self.peak = samples.iter().fold(self.peak, |peak, sample| peak.max(sample.abs()));
        self.heard += samples.len() as u32;
        if self.heard >= rate / Self::PARTS {
            self.now = decibels(self.peak);
            (self.peak, self.heard) = (0.0, 0);
            self.since_held += 1;
            if self.now >= self.held || self.since_held > Self::HOLD {
                (self.held, self.since_held) = (self.now, 0);
            }
        }
    }
}
