//! Any number of channels made one.

/// Averages interleaved channels and rounds to 16 bit.
pub(super) struct Mono {
    channels: u16,
    heard: u16,
    sum: f64,
    pub samples: Vec<i16>,
}

impl Mono {
    pub const fn new(channels: u16) -> Self {
        Self { channels: if channels == 0 { 1 } else { channels }, heard: 0, sum: 0.0, samples: Vec::new() }
    }

    pub fn push(&mut self, sample: f64) {
        self.sum += sample;
        self.heard += 1;
        if self.heard == self.channels {
            // `as` saturates.
            self.samples.push(libm::rint(self.sum / f64::from(self.channels) * 32_768.0) as i16);
            (self.heard, self.sum) = (0, 0.0);
        }
    }
}
