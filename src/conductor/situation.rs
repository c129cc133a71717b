//! Where a practice is at a moment: what the screen shows and the record is written beside. Pure reading.

use super::Conductor;
use crate::practice::{Place, Practice, Repeat, Set};
use crate::timeline::LegKind;
use crate::timeline::legs::Swum;
use crate::units::time::{Seconds, Tempo};

/// What goes on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Phase {
    /// Nobody swims and no go is near: the opening, the closing.
    #[default]
    Talk,
    /// From a go to the touch.
    Swim,
    /// From a touch to the next go.
    Rest,
    /// A rest without end until released.
    Hold,
    /// The practice is over.
    Over,
}

/// See the head of this file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Situation {
    /// What goes on.
    pub phase: Phase,
    /// The set being swum, or the next one in a rest; from 0.
    pub set: usize,
    /// Its repeat likewise.
    pub repeat: usize,
    /// The go of the current repeat in a swim, of the one before in a rest.
    pub go: Option<Seconds>,
    /// Its predicted touch.
    pub predicted_touch: Option<Seconds>,
    /// The split taken by key.
    pub touched: Option<Seconds>,
    /// The next go; none in a hold or where nothing follows.
    pub next_go: Option<Seconds>,
    /// The tempo heard.
    pub tempo: Option<Tempo>,
    /// Hundredths of a second that the tempo was changed by.
    pub nudge: i32,
    /// Words of the focus in force, or to come.
    pub focus: Option<String>,
    /// The predicted length now, and all lengths of the repeat.
    pub length: Option<(u32, u32)>,
    /// Change of the voice's fader in dB.
    pub voice_db: f64,
    /// Change of the beats' fader in dB.
    pub beats_db: f64,
    /// Whether beats are off.
    pub muted: bool,
}

impl Conductor<'_> {
    /// Where the practice is at a frame of it.
    pub fn situation(&self, position: u64) -> Situation {
        let now = self.lowering.rate().time(position);
        let mut situation = Situation {
            voice_db: self.steering.voice.db(),
            beats_db: self.steering.beats.db(),
            muted: self.steering.muted,
            ..Situation::default()
        };
        if let Some(course) = self.course.as_ref().filter(|course| !course.legs.is_empty()) {
            course.fill(&mut situation, now);
            return situation;
        }
        if self.over(position) {
            situation.phase = Phase::Over;
        }
        let Some(score) = self.score else { return situation };
        let begun = score.swum.partition_point(|swum| swum.go <= now);
        let before = begun.checked_sub(1).and_then(|index| score.swum.get(index));
        let next = score.swum.get(begun);
        let swims = before.filter(|swum| now < swum.touch);
        let Some(shown) = swims.or(next).or(before) else { return situation };
        if situation.phase != Phase::Over {
            let leg = self.timeline.legs.partition_point(|leg| leg.origin <= now).checked_sub(1);
            let leg = leg.and_then(|leg| self.timeline.legs.get(leg)).map(|leg| leg.kind);
            situation.phase = match (swims, leg) {
                (Some(_), _) => Phase::Swim,
                (None, Some(LegKind::Talk)) => Phase::Talk,
                (None, _) if next.is_none() => Phase::Talk,
                (None, _) => Phase::Rest,
            };
        }
        (situation.set, situation.repeat) = (shown.set, shown.repeat);
        situation.go = before.map(|swum| swum.go);
        situation.predicted_touch = before.map(|swum| swum.touch);
        situation.next_go = next.map(|swum| swum.go);
        if let Some((set, repeat)) = find(score.practice, shown) {
            let since = swims.map_or(Seconds::ZERO, |swum| now - swum.go);
            situation.tempo = repeat.tempo;
            let length = length(repeat, since);
            situation.length = (!repeat.lengths.is_empty()).then(|| (length, repeat.count_lengths()));
            situation.focus = focus(set, repeat, length, since);
        }
        situation
    }

    /// Whether everything has been heard at a frame of the practice.
    pub fn over(&self, position: u64) -> bool {
        match self.course.as_ref().filter(|course| !course.legs.is_empty()) {
            Some(course) => course.over(self.lowering.rate().time(position)),
            None => position >= self.lowering.rate().frames(self.timeline.len()),
        }
    }
}

fn find<'a>(practice: &'a Practice, swum: &Swum) -> Option<(&'a Set, &'a Repeat)> {
    let set = practice.sets().nth(swum.set)?;
    Some((set, set.repeats.get(swum.repeat)?))
}

/// Which length is swum so long after the go, as predicted; from 0.
pub(super) fn length(repeat: &Repeat, since: Seconds) -> u32 {
    let mut end = Seconds::ZERO;
    let done = repeat.lengths.iter().take_while(|length| {
        end += length.time;
        end <= since
    });
    let done = u32::try_from(done.count()).unwrap_or(u32::MAX);
    done.min(repeat.count_lengths().saturating_sub(1))
}

/// The words of the focus in force.
pub(super) fn focus(set: &Set, repeat: &Repeat, length: u32, since: Seconds) -> Option<String> {
    let phrase = in_force(repeat, length, since)?;
    Some(set.lines.get(repeat.line)?.focus.get(phrase)?.full.text.to_string())
}

/// The focus in force. Where it changes by strokes, the tempo tells how many have been swum.
pub(super) fn in_force(repeat: &Repeat, length: u32, since: Seconds) -> Option<usize> {
    let strokes = repeat.tempo.map_or(0, |tempo| tempo.first_at_or_after(since));
    let begun = |place: &Place| match *place {
        Place::Length(from) => from <= length,
        Place::Stroke(from) => u64::from(from) <= strokes,
    };
    repeat.focus.iter().rev().find(|from| begun(&from.from)).map(|focus| focus.phrase)
}
