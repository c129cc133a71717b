//! The last stretch of a practice that nobody heard: a go in it was none, whether it was told already or not.

use crate::conductor::command::Happened;
use crate::units::time::Seconds;
use std::collections::VecDeque;

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

/// So many gos a device can have been given at once, at the most: eight of a lane, and as many of the start before.
const TOLD: usize = 16;

/// The last gos that were told: what a device had stored of them is lost with it.
#[derive(Debug, Default)]
pub(super) struct ToldGos(VecDeque<Happened>);

impl ToldGos {
    /// Takes note of one.
    pub(super) fn told(&mut self, go: Happened) {
        if self.0.len() >= TOLD {
            self.0.pop_front();
        }
        self.0.push_back(go);
    }

    /// Takes out those from a moment on, each with when it was and as it is told when it was not heard.
    pub(super) fn lost_since(&mut self, given: Seconds) -> Vec<(Seconds, Happened)> {
        let lost = self.0.iter().filter_map(|go| go.lost()).filter(|(at, _)| *at >= given).collect();
        self.0.retain(|go| go.lost().is_none_or(|(at, _)| at < given));
        lost
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conductor::command::{OwnEvent, OwnKind};

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

    #[test]
    fn every_go_that_a_device_had_been_given_is_lost_with_it() {
        let secs = Seconds::from_secs;
        let go = |number: u32, at: i64| {
            let own = OwnEvent { set: 0, repeat: 2, kind: OwnKind::Go { at: secs(at) } };
            Happened::Own { number, own }
        };
        let mut gos = ToldGos::default();
        [go(1, 100), go(2, 105), go(3, 110)].into_iter().for_each(|go| gos.told(go));
        let lost = gos.lost_since(secs(104));
        let unheard = |at: i64| OwnKind::Unheard { at: secs(at) };
        let told = lost.iter().map(|(at, lost)| match lost {
            Happened::Own { number, own } => (*at, *number, own.kind),
            other => panic!("{other:?}"),
        });
        assert_eq!(told.collect::<Vec<_>>(), [(secs(105), 2, unheard(105)), (secs(110), 3, unheard(110))]);
        // Each is lost once, and what came before was heard.
        assert_eq!(gos.lost_since(secs(0)).len(), 1);
    }
}
