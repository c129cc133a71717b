//! Hearing, while somebody speaks, when they have begun and when they are through. Rough and quick: where exactly speech
//! begins and ends in the finished take, `audio::take` finds.

/// A window is so many milliseconds.
const WINDOW: u32 = 10;
/// Speech stands so far above the room, in dB: over the flicker of noise in short windows, below a soft syllable.
const ABOVE: f64 = 8.0;
/// Nothing below this level counts as speech, in dBFS: a silent room's converter noise.
const FLOOR: f64 = -68.0;
/// So many loud windows, a fifth of a second at most apart, are speech and not a key or a door.
const BEGUN: u32 = 8;
/// So many quiet windows behind speech are its end: longer than a pause between two short sentences.
const ENDED: u32 = 110;
/// Loud windows further apart than this belong to different sounds.
const APART: u32 = 20;

/// The level of the room: the median of its windows, so that a click or an early word does not count.
#[derive(Debug, Default)]
pub(super) struct Room {
    windows: Windows,
    levels: Vec<f64>,
}

impl Room {
    pub fn hear(&mut self, samples: &[f32], rate: u32) {
        self.windows.take(samples, rate, |level| self.levels.push(level));
    }

    /// Its level in dBFS, the mean power of a window.
    pub fn level(&self) -> Option<f64> {
        let mut levels = self.levels.clone();
        levels.sort_by(f64::total_cmp);
        levels.get(levels.len() / 2).copied()
    }
}

/// Listens for the end of speech.
#[derive(Debug)]
pub(super) struct Ending {
    windows: Windows,
    threshold: f64,
    loud: u32,
    quiet: u32,
    begun: bool,
}

impl Ending {
    /// In a room of so many dBFS.
    pub fn in_room(level: f64) -> Self {
        Self { windows: Windows::default(), threshold: (level + ABOVE).max(FLOOR), loud: 0, quiet: 0, begun: false }
    }

    pub fn hear(&mut self, samples: &[f32], rate: u32) {
        let (threshold, loud, quiet, begun) = (self.threshold, &mut self.loud, &mut self.quiet, &mut self.begun);
        self.windows.take(samples, rate, |level| {
            if level > threshold {
                *loud += 1;
                *quiet = 0;
            } else {
                *quiet += 1;
                if *quiet > APART && !*begun {
                    *loud = 0;
                }
            }
            *begun |= *loud >= BEGUN;
        });
    }

    /// Whether somebody has begun to speak.
    pub const fn has_begun(&self) -> bool {
        self.begun
    }

    /// Whether they have begun and are through.
    pub const fn is_over(&self) -> bool {
        self.begun && self.quiet >= ENDED
    }
}

/// Samples cut into windows, whatever the parts they come in.
#[derive(Debug, Default)]
struct Windows {
    sum: f64,
    squares: f64,
    heard: u32,
}

impl Windows {
    fn take(&mut self, samples: &[f32], rate: u32, mut level: impl FnMut(f64)) {
        let len = (rate * WINDOW / 1_000).max(1);
        for sample in samples {
            let sample = f64::from(*sample);
            self.sum += sample;
            self.squares += sample * sample;
            self.heard += 1;
            if self.heard >= len {
                let mean = self.sum / f64::from(len);
                // Around the window's own mean: a microphone's constant offset is not sound, nor is most of a mains hum.
                let power = self.squares / f64::from(len) - mean * mean;
                level(10.0 * libm::log10(power.max(1e-12)));
                *self = Self::default();
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: u32 = 16_000;

    /// Noise of a peak amplitude from a small generator.
    fn noise(millis: u32, peak: f32, seed: &mut u32) -> Vec<f32> {
        let next = |_| {
            *seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (*seed >> 8) as f32 / (1 << 23) as f32 - 1.0
        };
        (0..RATE * millis / 1_000).map(next).map(|x| x * peak).collect()
    }

    #[test]
    fn speech_ends_a_second_after_its_last_sound_in_any_room() {
        for (room, voice) in [(0.0, 0.01), (0.001, 0.05), (0.02, 0.2), (0.0005, 0.9)] {
            let mut seed = 7;
            let mut before = Room::default();
            before.hear(&noise(1_000, room, &mut seed), RATE);
            let mut ending = Ending::in_room(before.level().unwrap());
            ending.hear(&noise(2_000, room, &mut seed), RATE);
            assert!(!ending.has_begun() && !ending.is_over(), "room {room}");
            for part in [600, 200] {
                ending.hear(&noise(part, voice, &mut seed), RATE);
                assert!(ending.has_begun(), "room {room}, voice {voice}");
                ending.hear(&noise(700, room, &mut seed), RATE);
                assert!(!ending.is_over(), "a pause is no end");
            }
            ending.hear(&noise(450, room, &mut seed), RATE);
            assert!(ending.is_over(), "room {room}, voice {voice}");
        }
    }

    #[test]
    fn clicks_and_offsets_are_not_speech() {
        let mut seed = 1;
        let mut room = Room::default();
        // A key in the count-in, and a constant offset, do not raise the room's level.
        room.hear(&vec![0.1; 8_000], RATE);
        room.hear(&noise(30, 0.8, &mut seed), RATE);
        room.hear(&vec![0.1; 16_000], RATE);
        assert!(room.level().unwrap() < -60.0, "{:?}", room.level());
        let mut ending = Ending::in_room(-80.0);
        for _ in 0..20 {
            ending.hear(&noise(30, 0.8, &mut seed), RATE);
            ending.hear(&noise(400, 0.0, &mut seed), RATE);
        }
        assert!(!ending.has_begun());
    }
}
