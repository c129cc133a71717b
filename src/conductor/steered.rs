//! One swimmer's starts under way: what commands have moved, what is heard of it now. What each command does is in `turns`
//! and `nudge`; how it gets to the mixer is the conductor's job.

use super::command::{CourseCommand, Happened};
use super::situation::{Activity, ComingStart, LateTouch, Situation, focus, length};
use crate::swimmer::Swimmer;
use crate::timeline::lay::{Layer, SoFar};
use crate::timeline::lower::ATTACK;
use crate::timeline::start::Start;
use crate::timeline::strand::{Laid, Strand, end_of, takes_the_voice};
use crate::timeline::{Beat, Cue, CueKind};
use crate::units::frame::PracticeFrame;
use crate::units::time::{SampleRate, Seconds, onset};
use std::collections::VecDeque;

/// A phrase that ended longer before the go than this is said again.
const FRESH: Seconds = Seconds::from_secs(20);

/// When a command was given and from when on it may be heard.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moment {
    pub(super) pressed: Seconds,
    /// The time of `frame`.
    pub(super) now: Seconds,
    pub(super) frame: PracticeFrame,
    pub(super) rate: SampleRate,
}

impl Moment {
    /// No new voice begins before the beats have stepped back.
    pub(super) fn floor(&self) -> Seconds {
        self.now + ATTACK
    }
}

/// A practice as it was before a command.
#[derive(Clone, Debug)]
pub(super) struct Before {
    pub(super) command: CourseCommand,
    /// From when on the command was heard.
    pub(super) at: Seconds,
    pub(super) strand: Strand,
    pub(super) recorded: Vec<bool>,
    pub(super) nudges: Vec<i32>,
}

/// One swimmer's starts as commands have moved them.
#[derive(Debug)]
pub(super) struct Steered<'a> {
    pub(super) layer: Layer<'a>,
    pub(super) swimmer: &'a Swimmer,
    pub(super) plan: &'a [Start],
    pub(super) strand: Strand,
    /// Gos that the record knows of.
    pub(super) recorded: Vec<bool>,
    /// Hundredths of a second by which the tempo was changed, set by set.
    pub(super) nudges: Vec<i32>,
    /// How it was before the last commands, the newest at the end.
    pub(super) kept: VecDeque<Before>,
    /// When the practice's clock stood still, and for how long each time.
    pub(super) pauses: Vec<(Seconds, Seconds)>,
}

impl Steered<'_> {
    /// The clock has stood still at a moment, for so long by now.
    pub(super) fn stood(&mut self, at: Seconds, long: Seconds) {
        match self.pauses.last_mut().filter(|(last, _)| *last == at) {
            Some((_, known)) => *known = long,
            None => self.pauses.push((at, long)),
        }
    }

    /// How long the clock has stood still since a go.
    pub(super) fn stood_since(&self, go: Seconds) -> Seconds {
        self.pauses.iter().filter(|(at, _)| *at > go).map(|(_, long)| *long).sum()
    }

    pub(super) fn start(&self, index: usize) -> Option<&Start> {
        self.strand.starts.get(index)
    }

    /// The one being swum, or the next one, or the last one.
    pub(super) fn shown(&self, now: Seconds) -> Option<usize> {
        let (begun, next) = self.strand.at(now);
        begun.filter(|index| self.strand.swims(*index, now)).or(next).or(begun)
    }

    /// Moves a start; its talk stays where it is.
    pub(super) fn set_go(&mut self, index: usize, go: Seconds) {
        if let Some(start) = self.strand.starts.get_mut(index) {
            (start.go, start.touch) = (go, go + start.repeat.predicted + start.repeat.behind);
        }
        self.chain(index);
    }

    /// Moves every start after this one to where it follows from the one before, with its talk.
    fn chain(&mut self, index: usize) {
        let Some(mut go) = self.start(index).map(|start| start.go + start.after) else { return };
        for start in self.strand.starts.iter_mut().skip(index + 1) {
            start.move_to(go);
            go += start.after;
        }
    }

    /// Whether `cue` begins before any new voice may, so that it stays as it is.
    fn stays(cue: &Cue, moment: &Moment) -> bool {
        takes_the_voice(cue) && cue.at < moment.floor()
    }

    /// Lays everything from a start on again. What has begun of the rest before it stays, unless it is `hushed`.
    pub(super) fn lay(&mut self, index: usize, moment: &Moment, hushed: &dyn Fn(&Cue) -> bool) {
        let Strand { laid, extra, from, .. } = &self.strand;
        let old = laid.get(index).map_or(&[][..], |laid| &laid.before);
        let stays = old.iter().filter(|cue| Self::stays(cue, moment) && !hushed(cue));
        let stay: Vec<Cue> = stays.cloned().collect();
        // Who has waited hears the phrase again: what is to be felt in the first strokes comes last.
        let fresh = self.start(index).map_or(Seconds::ZERO, |start| start.go - FRESH);
        let holds = |cue: &&Cue| match cue.kind {
            CueKind::Timer => false,
            CueKind::Phrase => end_of(cue) >= fresh,
            _ => true,
        };
        let said = stay.iter().filter(holds).map(|cue| (cue.kind, cue.id.clone())).collect();
        let under = laid.iter().take(index).skip(*from).flat_map(|laid| &laid.under);
        let spoken = stay.iter().chain(under).chain(extra).filter(|cue| Self::stays(cue, moment));
        let spoken = spoken.map(end_of).max().unwrap_or(Seconds::ZERO);
        let mut laid = self.layer.lay(&self.strand, index, SoFar { floor: moment.floor(), spoken, said });
        if let Some(first) = laid.first_mut() {
            first.before.retain(|cue| !Self::stays(cue, moment));
            first.before.extend(stay);
            first.before.sort_by_key(|cue| cue.at);
        }
        // A hold lays nothing after itself, so that a skip from it may leave a gap.
        self.strand.laid.resize_with(index, Laid::default);
        self.strand.laid.extend(laid);
    }

    /// Lays what comes next again, and everything behind it.
    pub(super) fn lay_coming(&mut self, moment: &Moment) {
        if let Some(next) = self.strand.at(moment.now).1.filter(|next| *next <= self.strand.limit()) {
            self.lay(next, moment, &|_| false);
        }
    }

    /// Takes the beats of a start away from a frame on, and what is said of it from then on.
    pub(super) fn stop_swimming(&mut self, index: usize, moment: &Moment) {
        let floor = moment.floor();
        if let Some(laid) = self.strand.laid.get_mut(index) {
            laid.under.retain(|cue| cue.at < floor);
            for grid in &mut laid.grids {
                let (origin, tempo) = (grid.origin, grid.tempo);
                let before = |beat: &Beat| onset(origin, u64::from(beat.k), tempo, moment.rate) < moment.frame.number();
                grid.beats.retain(before);
            }
        }
        self.strand.extra.retain(|cue| cue.at < floor);
    }

    pub(super) fn goes(&mut self, position: PracticeFrame, rate: SampleRate) -> Vec<Happened> {
        let mut happened = Vec::new();
        for index in self.strand.from..self.strand.limit() {
            let Some((start, recorded)) = self.strand.starts.get(index).zip(self.recorded.get_mut(index)) else {
                break;
            };
            if PracticeFrame::at(start.go, rate) >= position {
                break;
            }
            if !std::mem::replace(recorded, true) {
                let (set, repeat, at) = (start.set, start.ordinal, start.go);
                let joined = start.repeat.joined;
                happened.push(if joined {
                    Happened::Joined { set, repeat, at }
                } else {
                    Happened::Go { set, repeat, at }
                });
            }
        }
        happened
    }

    /// What a touch soon after a go is taken for, and the start it belongs to, where nobody has keyed that one's touch.
    pub(super) fn late(&self, begun: usize) -> Option<(LateTouch, usize)> {
        let start = self.start(begun).filter(|start| !start.opens && start.touched.is_none())?;
        let before = begun.checked_sub(1).filter(|before| *before >= self.strand.from)?;
        self.start(before).filter(|before| before.touched.is_none())?;
        Some((if start.repeat.joined { LateTouch::Turn } else { LateTouch::Missed }, before))
    }

    fn coming(&self, index: usize) -> Option<ComingStart> {
        let start = self.start(index)?;
        let joined = start.repeat.joined;
        let go = (index < self.strand.limit() && !joined).then_some(start.go);
        Some(ComingStart { set: start.set, repeat: start.ordinal, go, joined })
    }

    pub(super) fn fill(&self, situation: &mut Situation, now: Seconds) {
        let (begun, next) = self.strand.at(now);
        let swims = begun.filter(|index| self.strand.swims(*index, now));
        let Some(start) = self.shown(now).and_then(|index| self.start(index)) else { return };
        let held = self.strand.held.is_some() && self.strand.held == next;
        situation.phase = match (swims, begun, next) {
            (Some(_), _, _) => Activity::Swim,
            _ if held => Activity::Hold,
            (None, None, _) if self.strand.from == 0 => Activity::Talk,
            (None, _, None) => Activity::Talk,
            (None, _, Some(_)) => Activity::Rest,
        };
        (situation.set, situation.repeat) = (start.set, start.ordinal);
        let before = begun.and_then(|begun| self.start(begun));
        situation.go = before.map(|start| start.go);
        situation.predicted_touch = before.map(|start| start.go + start.repeat.predicted);
        situation.touched = before.and_then(|start| Some(start.touched? - start.go + start.stood));
        let next_is = next.and_then(|next| self.coming(next));
        situation.next_go = next_is.and_then(|next| next.go);
        situation.held = next.is_some() && self.strand.held == next;
        situation.coming = self.shown(now).and_then(|shown| self.coming(shown + 1));
        let follows = situation.coming.filter(|coming| coming.set == start.set);
        let leaves = follows.filter(|_| start.repeat.rest.is_none() && start.repeat.interval.is_some());
        situation.every = leaves.and_then(|coming| Some(coming.go? - start.go));
        situation.late = swims.and_then(|index| self.late(index)).map(|(joined, _)| joined);
        situation.tempo = start.repeat.tempo;
        situation.nudge = self.nudges.get(start.set).copied().unwrap_or(0);
        let since = swims.map_or(Seconds::ZERO, |_| now - start.go);
        let length = length(&start.repeat, since);
        situation.length = (!start.repeat.lengths.is_empty()).then(|| (length, start.repeat.count_lengths()));
        situation.focus = self.layer.set(start).and_then(|set| focus(set, &start.repeat, length, since));
    }
}
