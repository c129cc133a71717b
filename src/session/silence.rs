//! The last stretch of a practice that nobody heard: a go in it was none.

use crate::units::time::Seconds;

/// From a moment of the practice to another, or without an end as long as there is no sound.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Silence {
    from: Option<Seconds>,
    to: Option<Seconds>,
}

impl Silence {
    /// There is no sound from here on.
    pub(super) fn begin(&mut self, from: Seconds) {
        (self.from, self.to) = (Some(from), None);
    }

    /// There is sound again.
    pub(super) fn end(&mut self, at: Seconds) {
        self.to = Some(at);
    }

    /// Whether nobody heard what was due then.
    pub(super) fn covers(&self, at: Seconds) -> bool {
        self.from.is_some_and(|from| at >= from) && self.to.is_none_or(|to| at < to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_silence_goes_from_the_last_frame_that_was_heard_to_the_first_one_again() {
        let secs = Seconds::from_secs;
        let mut silence = Silence::default();
        assert!(!silence.covers(secs(5)));
        silence.begin(secs(10));
        assert!(!silence.covers(secs(9)) && silence.covers(secs(10)) && silence.covers(secs(900)));
        silence.end(secs(20));
        // A go that is reported late, when there is sound again, was lost all the same.
        assert!(silence.covers(secs(19)) && !silence.covers(secs(20)));
        silence.begin(secs(30));
        assert!(!silence.covers(secs(15)) && silence.covers(secs(30)));
    }
}
