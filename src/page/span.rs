//! Times on a page, to the millisecond: as fine as a player can seek, and the same in each part of the page.

use crate::units::time::Seconds;
use std::fmt;

/// A time in seconds with three decimals, rounded to the nearest millisecond.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Millis(pub i64);

impl From<Seconds> for Millis {
    fn from(time: Seconds) -> Self {
        Self((time.nanos() + 500_000).div_euclid(1_000_000))
    }
}

impl fmt::Display for Millis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (sign, millis) = (if self.0 < 0 { "-" } else { "" }, self.0.unsigned_abs());
        write!(f, "{sign}{}", millis / 1000)?;
        if millis % 1000 == 0 {
            return Ok(());
        }
        let decimals = format!("{:03}", millis % 1000);
        write!(f, ".{}", decimals.trim_end_matches('0'))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_as_short_as_it_can_be() {
        let shown = |nanos| Millis::from(Seconds::from_nanos(nanos)).to_string();
        assert_eq!(shown(0), "0");
        assert_eq!(shown(1_499_500_000), "1.5");
        assert_eq!(shown(1_499_499_999), "1.499");
        assert_eq!(shown(60_010_000_000), "60.01");
        assert_eq!(shown(-500_000_000), "-0.5");
    }
}
