//! What each command does to the course of a practice: touches, holds, skips, another tempo, a phrase again.
//!
//! Only times and repeats are changed here; what is heard of them follows from `course`.

use super::command::{CourseCommand, Happened, Refused, Unit};
use super::situation::{LateTouch, in_force, length};
use super::steered::{Moment, Steered};
use crate::mixer::Rings;
use crate::timeline::place::GAP;
use crate::timeline::schedule::earliest_go;
use crate::timeline::strand::{end_of, takes_the_voice};
use crate::timeline::{Cue, CueKind, Grid};
use crate::units::time::{Seconds, beat_time, onset};

/// So long after a go `Back` still means the one before.
const JUST_BEGUN: Seconds = Seconds::from_secs(5);
/// From a skip to the first word.
const COLLECT: Seconds = Seconds::from_millis(600);

/// What a command has come to.
#[derive(Debug)]
pub(super) struct Turn {
    /// What may go on sounding; none where nothing is heard otherwise than before.
    pub(super) rings: Option<Rings>,
    /// What the record hears.
    pub(super) happened: Vec<Happened>,
}

impl Turn {
    pub(super) fn new(rings: Rings, happened: Vec<Happened>) -> Self {
        Self { rings: Some(rings), happened }
    }
}

pub(super) fn refused<T>(why: &str) -> Result<T, Refused> {
    Err(Refused(why.to_owned()))
}

impl Steered<'_> {
    /// Takes a command that changes the course.
    pub(super) fn turn(&mut self, command: CourseCommand, moment: &Moment) -> Result<Turn, Refused> {
        let before = self.before(command, moment);
        let turn = self.carry_out(command, moment)?;
        before.into_iter().for_each(|before| self.keep(before));
        Ok(turn)
    }

    fn carry_out(&mut self, command: CourseCommand, moment: &Moment) -> Result<Turn, Refused> {
        match command {
            CourseCommand::Touch => self.touch(moment),
            CourseCommand::Hold => self.hold(moment),
            CourseCommand::Release => self.release(moment),
            CourseCommand::Next(unit) => self.next(unit, moment),
            CourseCommand::Back(unit) => self.back(unit, moment),
            CourseCommand::Tempo(hundredths) => self.nudge(hundredths, moment),
            CourseCommand::TempoTo(tempo) => self.nudge_to(tempo, moment),
            CourseCommand::Again => self.again(moment),
            CourseCommand::Undo => self.undo(moment),
            CourseCommand::Shift(_) => Ok(self.shift(moment)),
            CourseCommand::Lane(_) => refused("nobody shares a lane in this practice"),
        }
    }

    fn touch(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        let Some(begun) = self.strand.at(moment.now).0 else { return refused("nobody is swimming yet") };
        let Some(start) = self.start(begun).cloned() else { return refused("nobody is swimming yet") };
        let soon = moment.pressed - start.go < start.repeat.predicted.scaled(1, 2);
        let late = self
            .late(begun)
            .filter(|_| soon)
            .and_then(|(taken_for, late)| Some((taken_for, late, self.start(late)?.clone())));
        if let Some((taken_for, late, before)) = late {
            let mut happened = vec![self.taken(late, moment.pressed)];
            if taken_for == LateTouch::Turn {
                // Nothing to miss: the turn was later than thought.
                return Ok(Turn { rings: None, happened });
            }
            happened.push(Happened::Missed { set: start.set, repeat: start.ordinal });
            self.at_the_wall(begun, before.repeat.rest, moment);
            return Ok(Turn::new(Rings::ALL_BUT_BEATS, happened));
        }
        if start.touched.is_some() {
            return refused("this touch is taken already");
        }
        let pressed = moment.pressed.max(start.go);
        let happened = vec![self.taken(begun, pressed)];
        if start.repeat.joins {
            self.turn_now(begun, pressed, moment);
            return Ok(Turn::new(Rings::ALL, happened));
        }
        let rings = self.at_the_wall(begun, start.repeat.rest, &Moment { pressed, ..*moment });
        Ok(Turn::new(rings, happened))
    }

    fn taken(&mut self, index: usize, at: Seconds) -> Happened {
        let stood = self.start(index).map_or(Seconds::ZERO, |start| self.stood_since(start.go));
        if let Some(start) = self.strand.starts.get_mut(index) {
            (start.touched, start.stood) = (Some(at), stood);
        }
        let (set, repeat, go, predicted) = self
            .start(index)
            .map_or((0, 0, at, Seconds::ZERO), |start| (start.set, start.ordinal, start.go, start.repeat.predicted));
        Happened::Touch { set, repeat, at, split: at - go + stood, predicted }
    }

    /// The swim of `begun` ends, and a rest that was written counts from the touch.
    pub(super) fn at_the_wall(&mut self, begun: usize, rest: Option<Seconds>, moment: &Moment) -> Rings {
        self.stop_swimming(begun, moment);
        if let Some(start) = self.strand.starts.get_mut(begun) {
            (start.touch, start.touched) = (moment.pressed, Some(moment.pressed));
        }
        let next = begun + 1;
        let Some(start) = self.start(next) else { return Rings::ALL_BUT_BEATS };
        let rested = rest.map(|rest| moment.pressed + rest);
        let go = if start.opens {
            // Between sets a go never comes earlier than it was announced.
            let standing = start.standing.map(|rest| moment.pressed + rest);
            [Some(start.go), rested, standing].into_iter().flatten().max().unwrap_or(start.go)
        } else {
            rested.map_or(start.go, |rested| rested.max(moment.floor()))
        };
        self.go_at(next, go, moment)
    }

    /// The next start comes at a go, and what is said before it with it.
    pub(super) fn go_at(&mut self, next: usize, go: Seconds, moment: &Moment) -> Rings {
        let begun = next.saturating_sub(1);
        let moved = self.start(next).is_some_and(|start| start.go != go);
        // A number that does not hold any longer is not said to its end.
        let untrue =
            |cue: &Cue| moved && cue.kind == CueKind::Timer && cue.at < moment.now && cue.at + cue.len > moment.now;
        let untrue_words = self.strand.laid.get(next).is_some_and(|laid| laid.before.iter().any(untrue));
        if moved {
            self.set_go(next, go);
        }
        let into = self.layer.hush(go);
        let untrue = |cue: &Cue| moved && cue.kind == CueKind::Timer || cue.at + cue.len > into && cue.at >= moment.now;
        self.lay(next, moment, &untrue);
        // Nothing that sounds may run into the silence before a go that has come nearer.
        let rings_on = |cue: &Cue| cue.kind.is_voice() && cue.at < moment.now && cue.at + cue.len > into;
        let runs_on = self.strand.laid.get(begun).is_some_and(|laid| laid.under.iter().any(rings_on))
            || self.strand.laid.get(next).is_some_and(|laid| laid.before.iter().any(rings_on));
        if runs_on {
            let keep = |cue: &Cue| !rings_on(cue);
            if let Some(laid) = self.strand.laid.get_mut(begun) {
                laid.under.retain(keep);
            }
            if let Some(laid) = self.strand.laid.get_mut(next) {
                laid.before.retain(keep);
            }
        }
        if untrue_words || runs_on { Rings::SIGNALS } else { Rings::ALL_BUT_BEATS }
    }

    /// The touch of a swim that goes on: the next one begins here, its beats on the first old one from now on.
    fn turn_now(&mut self, begun: usize, pressed: Seconds, moment: &Moment) {
        let next = begun + 1;
        let anchor = self.beat_from(begun, moment).map(|(grid, k)| beat_time(grid.origin, k, grid.tempo));
        self.stop_swimming(begun, moment);
        if let Some(start) = self.strand.starts.get_mut(begun) {
            start.touch = pressed;
        }
        if let Some(start) = self.strand.starts.get_mut(next) {
            start.repeat.offset = anchor.map_or(Seconds::ZERO, |anchor| anchor - pressed);
        }
        self.set_go(next, pressed);
        self.rejoin(next);
        self.lay(next, moment, &|_| false);
    }

    /// The piece of grid that sounds, and its first beat from the moment on.
    pub(super) fn beat_from(&self, index: usize, moment: &Moment) -> Option<(Grid, u64)> {
        let grid = self.strand.laid.get(index)?.grids.iter().rev().find(|grid| !grid.beats.is_empty())?;
        let mut k = grid.tempo.first_at_or_after(moment.now - grid.origin);
        while k > 0 && onset(grid.origin, k - 1, grid.tempo, moment.rate) >= moment.frame.number() {
            k -= 1;
        }
        while onset(grid.origin, k, grid.tempo, moment.rate) < moment.frame.number() {
            k += 1;
        }
        Some((grid.clone(), k))
    }

    /// Repeats that follow without a stop begin on a beat of the one before.
    pub(super) fn rejoin(&mut self, from: usize) {
        for index in from..self.strand.starts.len().saturating_sub(1) {
            let Some(start) = self.start(index) else { return };
            let (joins, repeat) = (start.repeat.joins, &start.repeat);
            let offset = repeat.tempo.map_or(Seconds::ZERO, |tempo| {
                let k = tempo.first_at_or_after(repeat.predicted - repeat.offset);
                beat_time(repeat.offset, k, tempo) - repeat.predicted
            });
            if let Some(next) = self.strand.starts.get_mut(index + 1).filter(|next| !next.opens) {
                next.repeat.joined = joins;
                next.repeat.offset = if joins { offset } else { Seconds::ZERO };
            }
        }
    }

    fn hold(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        if self.strand.held.is_some() {
            return refused("the next start is held already");
        }
        let next = self.strand.at(moment.now).1.unwrap_or(self.strand.starts.len());
        let held = (next..self.strand.starts.len()).find(|i| self.start(*i).is_some_and(|start| !start.repeat.joined));
        let Some(held) = held else { return refused("no start follows that could wait") };
        self.strand.held = Some(held);
        self.lay(held, moment, &|_| false);
        Ok(Turn::new(Rings::ALL, Vec::new()))
    }

    fn release(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        let Some(held) = self.strand.held.take() else { return self.skip_talk(moment) };
        let go = self.soonest(held, moment);
        self.set_go(held, go);
        self.lay(held, moment, &|_| false);
        Ok(Turn::new(Rings::ALL, Vec::new()))
    }

    /// Before the first go nobody has to wait for the end of the talk.
    fn skip_talk(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        let (None, Some(next)) = self.strand.at(moment.now) else { return refused("no start is held") };
        let soonest = earliest_go(self.layer.practice(), moment.floor().max(moment.now + COLLECT), None);
        if self.start(next).is_none_or(|start| start.go <= soonest) {
            return refused("no start is held, and the first one cannot come sooner");
        }
        self.skip(next, false, moment);
        Ok(Turn::new(Rings::NONE, Vec::new()))
    }

    /// When a start that had to wait may go: not before it was to, with what must be said before, and a whole countdown.
    pub(super) fn soonest(&self, index: usize, moment: &Moment) -> Seconds {
        let Some(start) = self.start(index) else { return moment.now };
        let voices = self.strand.cues_from(self.strand.from);
        let sounding = voices.filter(|cue| cue.kind.is_voice() && cue.at < moment.floor());
        let free = sounding.map(|cue| end_of(cue) + GAP).chain([moment.floor()]).max().unwrap_or(moment.floor());
        let talked = start.talk.last().map(|last| last.at + last.said.len()).filter(|talked| *talked > moment.now);
        start.go.max(earliest_go(self.layer.practice(), free, talked))
    }

    fn next(&mut self, unit: Unit, moment: &Moment) -> Result<Turn, Refused> {
        let shown = self.shown(moment.now).unwrap_or(self.strand.from);
        let set = self.start(shown).map_or(0, |start| start.set);
        let (begun, next) = self.strand.at(moment.now);
        if next.is_none() && !begun.is_some_and(|begun| self.strand.swims(begun, moment.now)) {
            return refused("nothing comes after this");
        }
        let target = match unit {
            Unit::Repeat => Some(shown + 1).filter(|target| *target < self.strand.starts.len()),
            Unit::Set => {
                (shown..self.strand.starts.len()).find(|i| self.start(*i).is_some_and(|start| start.set > set))
            }
        };
        let Some(target) = target else { return refused("nothing comes after this") };
        let left = (shown..target).filter_map(|index| self.start(index));
        let happened = left.map(|start| Happened::Skipped { set: start.set, repeat: start.ordinal }).collect();
        self.skip(target, true, moment);
        Ok(Turn::new(Rings::NONE, happened))
    }

    fn back(&mut self, unit: Unit, moment: &Moment) -> Result<Turn, Refused> {
        let shown = self.shown(moment.now).unwrap_or(self.strand.from);
        let Some(start) = self.start(shown) else { return refused("nothing comes before this") };
        let swims = self.strand.swims(shown, moment.now);
        let under_way = swims && moment.now - start.go > JUST_BEGUN;
        let first = |set: usize| self.strand.starts.iter().position(|start| start.set == set);
        let target = match unit {
            Unit::Repeat if under_way => Some(shown),
            Unit::Repeat => shown.checked_sub(1),
            Unit::Set if under_way || !start.opens => first(start.set),
            Unit::Set => start.set.checked_sub(1).and_then(first),
        };
        let Some(target) = target else { return refused("nothing comes before this") };
        self.skip(target, true, moment);
        Ok(Turn::new(Rings::NONE, Vec::new()))
    }

    /// Leaves what goes on and comes to a start: what is to be said of it where it is `told`, the phrase, the countdown.
    fn skip(&mut self, target: usize, told: bool, moment: &Moment) {
        let mut known = self.known(moment.now);
        let about = if told { self.about(target, &mut known, moment.now) } else { Vec::new() };
        (self.strand.held, self.strand.from) = (None, target);
        self.strand.extra.clear();
        self.strand.starts.iter_mut().skip(target).for_each(|start| start.touched = None);
        self.recorded.iter_mut().skip(target).for_each(|recorded| *recorded = false);
        let floor = moment.floor().max(moment.now + COLLECT);
        let (talk, talked) = self.layer.talk(&about, floor);
        let go = earliest_go(self.layer.practice(), floor, talked);
        // What is left undone is over now: nothing waits for its touch.
        if let Some(before) = target.checked_sub(1).and_then(|before| self.strand.starts.get_mut(before)) {
            before.touch = before.touch.min(moment.now);
        }
        if let Some(start) = self.strand.starts.get_mut(target) {
            start.talk = talk;
            (start.repeat.joined, start.repeat.offset) = (false, Seconds::ZERO);
        }
        self.restore_talks(target, known);
        self.rejoin(target);
        self.set_go(target, go);
        self.strand.laid.truncate(target);
        self.lay(target, moment, &|_| false);
    }

    fn again(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        let (begun, next) = self.strand.at(moment.now);
        let swims = begun.filter(|begun| self.strand.swims(*begun, moment.now));
        let Some((index, start)) = swims.or(next).and_then(|index| Some((index, self.start(index)?))) else {
            return refused("no phrase follows");
        };
        let under_water = swims.is_some();
        if under_water && !self.layer.practice().audience.in_ear() {
            return refused("nobody hears it under water");
        }
        if under_water && self.layer.line(start).is_some_and(|line| line.test.is_some()) {
            return refused("nothing is said during a test");
        }
        let since = if under_water { moment.now - start.go } else { Seconds::ZERO };
        let length = length(&start.repeat, since);
        let Some(phrase) = in_force(&start.repeat, length, since) else { return refused("there is no phrase to say") };
        let after = index + usize::from(under_water);
        let ends = [
            under_water.then_some(start.touch),
            self.start(after).filter(|_| self.strand.held != Some(after)).map(|next| self.layer.hush(next.go)),
        ];
        let far = moment.floor() + Seconds::from_secs(30);
        let end = ends.into_iter().flatten().min().unwrap_or(far).min(far);
        let near = |cue: &&Cue| takes_the_voice(cue) && end_of(cue) > moment.now && cue.at < far;
        let busy: Vec<Cue> = self.strand.cues_from(self.strand.from).filter(near).cloned().collect();
        let start = start.clone();
        let said = self.layer.again(&start, phrase, !under_water, (moment.floor(), end), &busy);
        let Some(said) = said else { return refused("there is no room for it before the next go") };
        self.strand.extra.push(said);
        Ok(Turn::new(Rings::ALL, Vec::new()))
    }
}
