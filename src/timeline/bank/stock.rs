//! Recordings made ready once for many practices that are made beside each other.

use crate::audio::bank::BankClip;
use crate::audio::voice::HeardThrough;
use crate::units::time::{SampleRate, Seconds};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

/// The most samples that a stock keeps: 32 MiB, several minutes of speech.
const MOST_KEPT: usize = 16 << 20;

/// Recordings made ready once for many practices that are made beside each other. When it is full, what no bank uses at
/// that moment is let go, so that it does not grow with the number of voices.
#[derive(Debug)]
pub struct Stock {
    kept: Mutex<KeptClips>,
    most: usize,
}

#[derive(Debug, Default)]
struct KeptClips {
    clips: HashMap<Treated, BankClip>,
    samples: usize,
}

impl Default for Stock {
    fn default() -> Self {
        Self { kept: Mutex::default(), most: MOST_KEPT }
    }
}

impl KeptClips {
    fn keep(&mut self, key: Treated, clip: BankClip, most: usize) {
        if self.samples + clip.samples.len() > most {
            self.clips.retain(|_, clip| Arc::strong_count(&clip.samples) > 1);
            self.samples = self.clips.values().map(|clip| clip.samples.len()).sum();
        }
        if self.samples + clip.samples.len() <= most {
            self.samples += clip.samples.len();
            if let Some(twice) = self.clips.insert(key, clip) {
                self.samples -= twice.samples.len();
            }
        }
    }
}

/// What decides how a recording sounds: which, how long, at what rate and loudness, through what.
type Treated = (String, Seconds, SampleRate, u64, HeardThrough);

impl Stock {
    /// The clip if it is there, else what `make` makes. Two who want one at once both make it, and make the same.
    pub(super) fn get<E>(&self, key: Treated, make: impl FnOnce() -> Result<BankClip, E>) -> Result<BankClip, E> {
        // Nothing in here can be half done: a thread that panicked has left whole clips.
        let lock = || self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let found = lock().clips.get(&key).cloned();
        match found {
            Some(clip) => Ok(clip),
            None => {
                let clip = make()?;
                lock().keep(key, clip.clone(), self.most);
                Ok(clip)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten clips of 100 to 1,000 samples.
    fn clip(n: usize) -> BankClip {
        BankClip { samples: vec![n as i16; 100 * n].into(), gain: 1.0, true_peak: 0.5 }
    }

    fn key(n: usize) -> Treated {
        (n.to_string(), Seconds::ZERO, SampleRate::CD, 0, HeardThrough::Headphones)
    }

    #[test]
    fn what_is_there_is_not_made_again() {
        let stock = Stock::default();
        let make = |n: usize| stock.get(key(n), || Ok::<_, ()>(clip(n))).unwrap();
        let first = make(3);
        assert!(Arc::ptr_eq(&first.samples, &make(3).samples) && !Arc::ptr_eq(&first.samples, &make(4).samples));
        assert_eq!(stock.get(key(5), || Err("broken")), Err("broken"));
        assert_eq!(stock.get(key(5), || Ok::<_, ()>(clip(5))), Ok(clip(5)), "a failure is not kept");
    }

    #[test]
    fn a_full_stock_lets_go_of_what_nobody_uses() {
        let stock = Stock { most: 2_000, ..Stock::default() };
        let (mut used, mut made) = (Vec::new(), 0);
        for n in (1..=10).chain(1..=10) {
            let clip = stock.get(key(n), || {
                made += 1;
                Ok::<_, ()>(clip(n))
            });
            assert_eq!(clip, Ok(self::clip(n)));
            // One is used all the time.
            used.extend(clip.ok().filter(|_| n == 7));
            let kept = stock.kept.lock().unwrap();
            let samples: usize = kept.clips.values().map(|clip| clip.samples.len()).sum();
            assert!(kept.samples <= 2_000 && samples == kept.samples, "{samples}");
        }
        assert!(Arc::ptr_eq(&used[0].samples, &used[1].samples), "what is used stays");
        assert!((11..20).contains(&made), "{made}");
    }
}
