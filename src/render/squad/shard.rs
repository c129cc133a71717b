//! A part of a roster: every so many of its swimmers, so that several machines can share it.

use std::fmt;
use std::str::FromStr;

/// Every so many of a roster's swimmers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Which of them, from 1.
    number: usize,
    /// How many there are.
    of: usize,
}

impl Shard {
    /// The whole roster.
    pub const WHOLE: Self = Self { number: 1, of: 1 };

    pub(super) const fn has(self, index: usize) -> bool {
        index % self.of == self.number - 1
    }
}

/// Why a text is not a shard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotShard {
    /// It is not two numbers with a slash between them.
    Unreadable,
    /// So many parts have no part of this number.
    Beyond {
        /// Which was asked for.
        number: usize,
        /// How many there are.
        of: usize,
    },
}

impl fmt::Display for NotShard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable => f.write_str("write it as 2/5: the second of five"),
            Self::Beyond { number, of } => write!(f, "there is no part {number} of {of}; they are counted from 1"),
        }
    }
}

impl std::error::Error for NotShard {}

impl FromStr for Shard {
    type Err = NotShard;

    fn from_str(text: &str) -> Result<Self, NotShard> {
        let whole = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit()).then(|| text.parse().ok()).flatten();
        let parts = text.split_once('/').and_then(|(number, of)| Some((whole(number)?, whole(of)?)));
        match parts {
            Some((number, of)) if (1..=of).contains(&number) => Ok(Self { number, of }),
            Some((number, of)) => Err(NotShard::Beyond { number, of }),
            None => Err(NotShard::Unreadable),
        }
    }
}

impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.number, self.of)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shards_share_a_roster_out() {
        let shard = |text: &str| text.parse::<Shard>();
        for of in 1..=7 {
            let shards: Vec<Shard> = (1..=of).map(|number| shard(&format!("{number}/{of}")).unwrap()).collect();
            for index in 0..30 {
                assert_eq!(shards.iter().filter(|shard| shard.has(index)).count(), 1);
            }
        }
        assert!(shard("1/3").unwrap().has(0) && shard("3/3").unwrap().has(5) && Shard::WHOLE.has(8));
        for wrong in
            ["", "1", "0/2", "3/2", "1/0", "-1/2", "+1/2", "1/2/3", "one/two", "1.0/2", "99999999999999999999/2"]
        {
            assert!(shard(wrong).is_err(), "{wrong}");
        }
    }
}
