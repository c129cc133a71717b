//! A practice as it really goes: starts that commands have moved, and what is heard from any moment of it on. What each
//! command does to it is in `turns`; how it gets to the mixer is the conductor's business.

use super::command::Happened;
use super::situation::{Phase, Situation, focus, length};
use crate::pack::library::Library;
use crate::practice::Practice;
use crate::swimmer::Swimmer;
use crate::timeline::beats::LONGEST;
use crate::timeline::live::{Begun, Laid, Stage, Stop};
use crate::timeline::lower::ATTACK;
use crate::timeline::{Beat, Cue, CueKind, Grid, Leg, LegKind, Sound};
use crate::units::time::{SampleRate, Seconds, beat_time, onset};

/// When a command was given and from when on it may be heard.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moment {
    pub(super) pressed: Seconds,
    /// The time of `frame`.
    pub(super) now: Seconds,
    pub(super) frame: u64,
    pub(super) rate: SampleRate,
}

impl Moment {
    /// No new voice begins before the beats have stepped back.
    pub(super) fn floor(&self) -> Seconds {
        self.now + ATTACK
    }
}

/// See the head of this file.
#[derive(Debug)]
pub(super) struct Course<'a> {
    pub(super) stage: Stage<'a>,
    pub(super) swimmer: &'a Swimmer,
    /// As planned.
    pub(super) plan: Vec<Stop>,
    pub(super) stops: Vec<Stop>,
    pub(super) laid: Vec<Laid>,
    /// Touches told by key; of a repeat that was missed, when that was found.
    pub(super) touched: Vec<Option<Seconds>>,
    /// Goes that the record knows of.
    pub(super) gone: Vec<bool>,
    /// Starts before this one are over or left out.
    pub(super) from: usize,
    /// The start that waits until it is released.
    pub(super) held: Option<usize>,
    /// Hundredths of a second by which the tempo was changed, set by set.
    pub(super) nudges: Vec<i32>,
    /// Phrases said again.
    pub(super) extra: Vec<Cue>,
    /// What is heard from the last command on.
    pub(super) legs: Vec<Leg>,
    end: Seconds,
}

impl<'a> Course<'a> {
    /// As planned; the record knows of so many goes.
    pub(super) fn new(
        practice: &'a Practice,
        library: &'a Library,
        swimmer: &'a Swimmer,
        sounds: &[Sound],
        gone: usize,
    ) -> Self {
        let (stage, stops) = Stage::new(practice, library, sounds);
        let laid = stage.lay(&stops, 0, None, Begun::default());
        Self {
            swimmer,
            plan: stops.clone(),
            touched: vec![None; stops.len()],
            gone: (0..stops.len()).map(|index| index < gone).collect(),
            laid,
            from: 0,
            held: None,
            nudges: vec![0; practice.sets().count()],
            extra: Vec::new(),
            legs: Vec::new(),
            end: Seconds::ZERO,
            stage,
            stops,
        }
    }

    pub(super) fn stop(&self, index: usize) -> Option<&Stop> {
        self.stops.get(index)
    }

    /// Starts from here on have no time yet.
    fn limit(&self) -> usize {
        self.held.unwrap_or(self.stops.len())
    }

    /// The last start that has begun, and the one after it.
    pub(super) fn at(&self, now: Seconds) -> (Option<usize>, Option<usize>) {
        let begun = (self.from..self.limit()).rev().find(|i| self.stop(*i).is_some_and(|stop| stop.go <= now));
        let next = begun.map_or(self.from, |begun| begun + 1);
        (begun, (next < self.stops.len()).then_some(next))
    }

    /// The one being swum, or the next one, or the last one.
    pub(super) fn shown(&self, now: Seconds) -> Option<usize> {
        let (begun, next) = self.at(now);
        begun.filter(|i| self.is_swum(*i, now)).or(next).or(begun)
    }

    pub(super) fn is_swum(&self, index: usize, now: Seconds) -> bool {
        self.stop(index).is_some_and(|stop| stop.go <= now && now < stop.touch) && self.touched(index).is_none()
    }

    pub(super) fn touched(&self, index: usize) -> Option<Seconds> {
        self.touched.get(index).copied().flatten()
    }

    /// Moves a start; its talk stays where it is.
    pub(super) fn set_go(&mut self, index: usize, go: Seconds) {
        if let Some(stop) = self.stops.get_mut(index) {
            stop.go = go;
            stop.touch = go + stop.repeat.predicted;
        }
        self.chain(index);
    }

    /// Moves every start after this one to where it follows from the one before, with its talk.
    pub(super) fn chain(&mut self, index: usize) {
        let Some(mut go) = self.stop(index).map(|stop| stop.go + stop.after) else { return };
        for stop in self.stops.iter_mut().skip(index + 1) {
            let by = go - stop.go;
            stop.talk.iter_mut().for_each(|placed| placed.at += by);
            stop.go = go;
            stop.touch = go + stop.repeat.predicted;
            go += stop.after;
        }
    }

    /// Whether `cue` begins before no new voice may, so that it stays as it is.
    fn stays(cue: &Cue, moment: &Moment) -> bool {
        (cue.kind.is_voice() || cue.kind == CueKind::Preview) && cue.at < moment.floor()
    }

    /// Lays everything from a start on anew. What has begun of the rest before it stays, unless it is `hushed`.
    pub(super) fn lay(&mut self, index: usize, moment: &Moment, hushed: &dyn Fn(&Cue) -> bool) {
        let old = self.laid.get(index).map(|laid| laid.before.as_slice()).unwrap_or_default();
        let stay: Vec<Cue> = old.iter().filter(|cue| Self::stays(cue, moment)).cloned().collect();
        let said = stay.iter().filter(|cue| cue.kind != CueKind::Timer).map(|cue| (cue.kind, cue.id.clone())).collect();
        let stay: Vec<Cue> = stay.into_iter().filter(|cue| !hushed(cue)).collect();
        let under = self.laid.iter().take(index).skip(self.from).flat_map(|laid| &laid.under);
        let spoken = stay.iter().chain(under).chain(&self.extra).filter(|cue| Self::stays(cue, moment));
        let spoken = spoken.map(|cue| cue.at + cue.len).max().unwrap_or_default();
        let mut laid = self.stage.lay(&self.stops, index, self.held, Begun { floor: moment.floor(), spoken, said });
        if let Some(first) = laid.first_mut() {
            first.before.retain(|cue| !Self::stays(cue, moment));
            first.before.extend(stay);
            first.before.sort_by_key(|cue| cue.at);
        }
        // A hold lays nothing after itself, so that a skip from it may leave a gap.
        self.laid.resize_with(index, Laid::default);
        self.laid.extend(laid);
    }

    /// Everything heard from a moment on, as legs.
    pub(super) fn cut(&mut self, moment: &Moment) {
        let now = moment.now;
        let first = self.at(now).0.unwrap_or(self.from);
        let limit = self.limit();
        let swims = self.is_swum(first, now);
        let kind = |index: usize| LegKind::Swim { repeat: u32::try_from(index).unwrap_or(u32::MAX) };
        let mut bounds = vec![(now, if swims { kind(first) } else { LegKind::Rest })];
        for index in first..limit {
            let Some(stop) = self.stop(index) else { break };
            let next = self.stop(index + 1).filter(|_| index + 1 < limit);
            if stop.go > now {
                bounds.push((stop.go, kind(index)));
            }
            if stop.touch > now && !stop.repeat.joins && next.is_none_or(|next| stop.touch < next.go) {
                bounds.push((stop.touch, if next.is_none() { LegKind::Talk } else { LegKind::Rest }));
            }
        }
        let heard = |cue: &&Cue| cue.at + cue.len >= now;
        let laid = || self.laid.iter().skip(first);
        let cues = laid().flat_map(|laid| laid.before.iter().chain(&laid.under)).chain(&self.extra);
        let mut cues: Vec<Cue> = cues.filter(heard).cloned().collect();
        let mut grids = Vec::new();
        for index in first..limit {
            grids.extend(self.grids(index));
        }
        let last_beat = |grid: &Grid| grid.beats.last().map(|beat| at_beat(grid, beat));
        let sounds = cues.iter().map(|cue| cue.at + cue.len).chain(grids.iter().filter_map(last_beat));
        let mut end = sounds.max().unwrap_or(now) + Seconds::from_secs(1);
        if let Some(last) = self.stops.last().filter(|_| self.held.is_none()) {
            let (closing, over) = self.stage.closing(last.go);
            cues.extend(closing.into_iter().filter(|cue| cue.at + cue.len >= now));
            end = end.max(over);
        }
        self.end = end;
        self.legs = Stage::legs(&bounds, end, cues, &grids);
    }

    /// The beats of a start up to the silence before the next.
    fn grids(&self, index: usize) -> Vec<Grid> {
        let Some((stop, laid)) = self.stop(index).zip(self.laid.get(index)) else { return Vec::new() };
        let next = self.stop(index + 1).filter(|_| self.held != Some(index + 1));
        let quiet = self.stage.quiet(stop, next).filter(|_| !stop.repeat.joins);
        let mut grids = laid.grids.clone();
        if let Some(quiet) = quiet {
            for grid in &mut grids {
                let (origin, tempo) = (grid.origin, grid.tempo);
                let end = tempo.first_at_or_after(quiet - LONGEST - origin);
                grid.beats.retain(|beat| u64::from(beat.k) < end);
            }
        }
        grids.retain(|grid| !grid.beats.is_empty());
        grids
    }

    /// Takes the beats of a start away from a frame on, and what is said of it from then on.
    pub(super) fn stop_swimming(&mut self, index: usize, moment: &Moment) {
        let floor = moment.floor();
        if let Some(laid) = self.laid.get_mut(index) {
            laid.under.retain(|cue| cue.at < floor);
            for grid in &mut laid.grids {
                let (origin, tempo) = (grid.origin, grid.tempo);
                grid.beats.retain(|beat| onset(origin, u64::from(beat.k), tempo, moment.rate) < moment.frame);
            }
        }
        self.extra.retain(|cue| cue.at < floor);
    }

    /// Goes that have come since the record last heard.
    pub(super) fn goes(&mut self, position: u64, rate: SampleRate) -> Vec<Happened> {
        let mut happened = Vec::new();
        for index in self.from..self.limit() {
            let Some((stop, gone)) = self.stops.get(index).zip(self.gone.get_mut(index)) else { break };
            if rate.frames(stop.go) >= position {
                break;
            }
            if !std::mem::replace(gone, true) {
                happened.push(Happened::Go { set: stop.set, repeat: stop.ordinal, at: stop.go });
            }
        }
        happened
    }

    /// Whether everything has been heard.
    pub(super) fn over(&self, now: Seconds) -> bool {
        self.held.is_none() && now >= self.end
    }

    /// Fills in where the practice is.
    pub(super) fn fill(&self, situation: &mut Situation, now: Seconds) {
        let (begun, next) = self.at(now);
        let swims = begun.filter(|index| self.is_swum(*index, now));
        let Some((index, stop)) = self.shown(now).and_then(|index| Some((index, self.stop(index)?))) else { return };
        let held = self.held.is_some() && self.held == next;
        situation.phase = match (swims, begun, next) {
            _ if self.over(now) => Phase::Over,
            (Some(_), _, _) => Phase::Swim,
            _ if held => Phase::Hold,
            (None, None, _) if self.from == 0 => Phase::Talk,
            (None, _, None) => Phase::Talk,
            (None, _, Some(_)) => Phase::Rest,
        };
        (situation.set, situation.repeat) = (stop.set, stop.ordinal);
        let before = begun.and_then(|begun| self.stop(begun));
        situation.go = before.map(|stop| stop.go);
        situation.predicted_touch = before.map(|stop| stop.go + stop.repeat.predicted);
        situation.touched = begun.and_then(|begun| Some(self.touched(begun)? - self.stop(begun)?.go));
        situation.next_go = next.filter(|_| self.held.is_none()).and_then(|next| Some(self.stop(next)?.go));
        situation.tempo = stop.repeat.tempo;
        situation.nudge = self.nudges.get(stop.set).copied().unwrap_or_default();
        let since = swims.map_or(Seconds::ZERO, |_| now - stop.go);
        let length = length(&stop.repeat, since);
        situation.length = (!stop.repeat.lengths.is_empty()).then(|| (length, stop.repeat.count_lengths()));
        let set = self.stage.practice().sets().nth(stop.set);
        situation.focus = set.and_then(|set| focus(set, &stop.repeat, length, since));
        debug_assert!(index >= self.from, "what is shown is still to come or being swum");
    }
}

/// When a beat falls.
pub(super) fn at_beat(grid: &Grid, beat: &Beat) -> Seconds {
    beat_time(grid.origin, u64::from(beat.k), grid.tempo)
}
