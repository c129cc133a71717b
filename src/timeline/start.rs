//! One start of a swimmer: the go, the touch that is expected, and all that hangs on them. Planned or steered, it is the
//! same type: what a command moves is what the plan made.

use super::place::Placed;
use super::speak::Utterance;
use crate::practice::Repeat;
use crate::units::time::Seconds;

/// One start on the practice's clock.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Its set, counted from 0.
    pub set: usize,
    /// Its place in the set, from 0.
    pub ordinal: usize,
    /// The repeat, as it is expected now.
    pub repeat: Repeat,
    /// The go.
    pub go: Seconds,
    /// The touch, expected or taken.
    pub touch: Seconds,
    /// The touch as a key told it; of a repeat that was missed, when that was found.
    pub touched: Option<Seconds>,
    /// How long the clock stood still between the go and the touch that was taken: who swims goes on swimming.
    pub stood: Seconds,
    /// The call of whoever leads it, where a command has made somebody else the first.
    pub leader: Option<Utterance>,
    /// What is said before it between sets and after a skip, placed; else empty within a set.
    pub talk: Vec<Placed>,
    /// Whether it is the first of its set.
    pub opens: bool,
    /// From this go to the next; for the last one to the touch.
    pub after: Seconds,
    /// The standing rest that is written before it.
    pub standing: Option<Seconds>,
    /// By how much it comes later than planned, since its talk explains what a skipped one would have explained.
    pub later: Seconds,
    /// Whether a track of a player begins with it: then the talk before it is that of the track.
    pub begins_track: bool,
}

impl Start {
    /// A repeat of a set that starts at `go` and touches as predicted, with nothing said before it.
    pub(super) fn new(set: usize, ordinal: usize, repeat: &Repeat, go: Seconds) -> Self {
        Self {
            set,
            ordinal,
            repeat: repeat.clone(),
            go,
            touch: go + repeat.predicted + repeat.behind,
            touched: None,
            stood: Seconds::ZERO,
            leader: None,
            talk: Vec::new(),
            opens: ordinal == 0,
            after: repeat.interval.unwrap_or(repeat.predicted),
            standing: None,
            later: Seconds::ZERO,
            begins_track: false,
        }
    }

    /// When what belongs to it begins: the talk before a set, the countdown of another repeat, the join.
    pub fn from(&self, countdown: Seconds) -> Seconds {
        match self.talk.first() {
            Some(talk) => talk.at,
            None if self.repeat.joined => self.go,
            None => self.go - countdown,
        }
    }

    /// Moves it, what is said before it too, to a go.
    pub fn move_to(&mut self, go: Seconds) {
        let by = go - self.go;
        self.talk.iter_mut().for_each(|placed| placed.at += by);
        (self.go, self.touch) = (go, go + self.repeat.predicted + self.repeat.behind);
    }

    /// The same on a clock that began earlier.
    pub(super) fn later(mut self, by: Seconds) -> Self {
        self.move_to(self.go + by);
        self
    }
}
