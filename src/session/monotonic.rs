//! The time that goes by on deck: also while this program is stopped, and, on Linux, while the machine is suspended. The
//! standard library's clock stands still in a suspension there; elsewhere it is taken as it is.

use crate::units::time::Seconds;
use std::time::{Duration, Instant};

/// Between two looks at how long the machine has been up.
const LOOK: Duration = Duration::from_millis(250);
/// A suspension is at least so long: the figure that tells of it has hundredths.
const LEAST: Seconds = Seconds::from_secs(1);

/// A clock that runs from its beginning on.
#[derive(Debug)]
pub(super) struct Monotonic {
    begun: Instant,
    looked: Instant,
    /// How long the machine had been up when the clock began, suspensions included.
    up: Option<Seconds>,
    /// How long it has been suspended since.
    suspended: Seconds,
}

impl Monotonic {
    pub(super) fn start() -> Self {
        let now = Instant::now();
        Self { begun: now, looked: now, up: up(), suspended: Seconds::ZERO }
    }

    /// How much time has gone by.
    pub(super) fn now(&mut self) -> Seconds {
        let awake = Seconds::from_nanos(self.begun.elapsed().as_nanos() as i64);
        if self.looked.elapsed() >= LOOK {
            self.looked = Instant::now();
            self.look(awake, up());
        }
        awake + self.suspended
    }

    /// Compares the time spent awake with how long the machine has been up now.
    fn look(&mut self, awake: Seconds, up: Option<Seconds>) {
        let Some((up, then)) = up.zip(self.up) else { return };
        let more = up - then - awake - self.suspended;
        if more >= LEAST {
            self.suspended += more;
        }
    }
}

/// How long the machine has been up, suspensions included: Linux alone tells it as a text.
fn up() -> Option<Seconds> {
    up_of(&std::fs::read_to_string("/proc/uptime").ok()?)
}

fn up_of(text: &str) -> Option<Seconds> {
    let seconds: f64 = text.split_whitespace().next()?.parse().ok()?;
    // A hundred days are more than `from_estimate` takes.
    (seconds.is_finite() && seconds >= 0.0).then(|| Seconds::from_nanos((seconds * 1e9) as i64))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_suspension_is_time_that_has_gone_by() {
        // proc(5): the uptime of the system in seconds, including time spent in suspend, then the time spent idle.
        assert_eq!(up_of("15032385.53 2900.10\n"), Some(Seconds::from_millis(15_032_385_530)));
        assert_eq!((up_of(""), up_of("x 1"), up_of("NaN 1")), (None, None, None));
        let mut clock = Monotonic { up: Some(Seconds::from_secs(100)), ..Monotonic::start() };
        let mut look = |awake: i64, up: i64| {
            clock.look(Seconds::from_millis(awake), Some(Seconds::from_millis(up)));
            clock.suspended
        };
        // The text has hundredths, and is read a little later than the clock.
        assert_eq!(look(10_000, 110_020), Seconds::ZERO);
        assert_eq!(look(10_000, 130_000), Seconds::from_secs(20));
        assert_eq!(look(3_610_000, 3_730_030), Seconds::from_secs(20));
        assert_eq!(look(3_610_000, 3_760_000), Seconds::from_secs(50));
        clock.look(Seconds::from_secs(4_000), None);
        assert!(clock.now() >= Seconds::from_secs(50));
    }
}
