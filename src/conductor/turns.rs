//! What each command does to the course of a practice: touches, holds, skips, another tempo, a phrase once more.
//!
//! Only times and repeats are changed here; what is heard of them follows from `course`.

use super::command::{Command, Happened, Refused, Unit};
use super::course::{Course, Moment};
use super::situation::{in_force, length};
use crate::practice::at_tempo;
use crate::timeline::live::{Stage, Stop};
use crate::timeline::{Beat, Cue, CueKind, Grid};
use crate::units::time::{Seconds, Tempo, beat_time, onset};

/// So long after a go `Back` still means the one before.
const JUST_BEGUN: Seconds = Seconds::from_secs(5);
/// From a skip to the first word.
const COLLECT: Seconds = Seconds::from_millis(600);
/// A touch is not expected later than this before the next go.
const SPARE: Seconds = Seconds::from_secs(1);

/// What may go on sounding, by fader, and what the record hears.
#[derive(Debug)]
pub(super) struct Turn {
    pub(super) rings: [bool; 3],
    pub(super) happened: Vec<Happened>,
    /// Whether anything is heard otherwise than before.
    pub(super) heard: bool,
}

const ALL: [bool; 3] = [true; 3];
/// Beats end, words and signals ring out.
const WORDS: [bool; 3] = [true, false, true];

fn refused<T>(why: &str) -> Result<T, Refused> {
    Err(Refused(why.to_owned()))
}

impl Course<'_> {
    /// Takes a command that changes the course.
    pub(super) fn turn(&mut self, command: Command, moment: &Moment) -> Result<Turn, Refused> {
        if self.over(moment.now) && !self.legs.is_empty() {
            return refused("the practice is over");
        }
        let turn = match command {
            Command::Touch => self.touch(moment),
            Command::Hold => self.hold(moment),
            Command::Release => self.release(moment),
            Command::Next(unit) => self.next(unit, moment),
            Command::Back(unit) => self.back(unit, moment),
            Command::Tempo(hundredths) => self.nudge(hundredths, moment),
            Command::Again => self.again(moment),
            Command::Pause | Command::Resume | Command::Level(..) | Command::Mute(_) => {
                refused("this does not change the course")
            }
        }?;
        if turn.heard {
            self.cut(moment);
        }
        Ok(turn)
    }

    fn touch(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        let Some(begun) = self.at(moment.now).0 else { return refused("nobody is swimming yet") };
        let Some(stop) = self.stop(begun).cloned() else { return refused("nobody is swimming yet") };
        let before = begun.checked_sub(1).filter(|before| *before >= self.from && !stop.opens);
        let late = before.filter(|before| {
            self.touched(*before).is_none()
                && self.touched(begun).is_none()
                && moment.pressed - stop.go < stop.repeat.predicted.scaled(1, 2)
        });
        if let Some((late, before)) = late.and_then(|late| Some((late, self.stop(late)?.clone()))) {
            let mut happened = vec![self.taken(late, moment.pressed)];
            if stop.repeat.joined {
                // Nothing to miss: the turn was later than thought.
                return Ok(Turn { rings: ALL, happened, heard: false });
            }
            happened.push(Happened::Missed { set: stop.set, repeat: stop.ordinal });
            self.at_the_wall(begun, before.repeat.rest, moment);
            return Ok(Turn { rings: WORDS, happened, heard: true });
        }
        if self.touched(begun).is_some() {
            return refused("this touch is taken already");
        }
        let pressed = moment.pressed.max(stop.go);
        let happened = vec![self.taken(begun, pressed)];
        if stop.repeat.joins {
            self.turn_now(begun, pressed, moment);
            return Ok(Turn { rings: ALL, happened, heard: true });
        }
        let rings = self.at_the_wall(begun, stop.repeat.rest, &Moment { pressed, ..*moment });
        Ok(Turn { rings, happened, heard: true })
    }

    fn taken(&mut self, index: usize, at: Seconds) -> Happened {
        if let Some(touched) = self.touched.get_mut(index) {
            *touched = Some(at);
        }
        let (set, repeat, go, predicted) = self
            .stop(index)
            .map_or((0, 0, at, Seconds::ZERO), |stop| (stop.set, stop.ordinal, stop.go, stop.repeat.predicted));
        Happened::Touch { set, repeat, at, split: at - go, predicted }
    }

    /// The swim of `begun` ends, and a rest that was written counts from the touch.
    fn at_the_wall(&mut self, begun: usize, rest: Option<Seconds>, moment: &Moment) -> [bool; 3] {
        self.stop_swimming(begun, moment);
        if let Some(touched) = self.touched.get_mut(begun) {
            *touched = Some(moment.pressed);
        }
        if let Some(stop) = self.stops.get_mut(begun) {
            stop.touch = moment.pressed;
        }
        let next = begun + 1;
        let Some(stop) = self.stop(next) else { return WORDS };
        let rested = rest.map(|rest| moment.pressed + rest);
        let go = if stop.opens {
            // Between sets a go never comes earlier than it was announced.
            let standing = stop.standing.map(|rest| moment.pressed + rest);
            [Some(stop.go), rested, standing].into_iter().flatten().max().unwrap_or(stop.go)
        } else {
            rested.map_or(stop.go, |rested| rested.max(moment.floor()))
        };
        let moved = go != stop.go;
        // A number that is no longer true is not said to its end.
        let untrue =
            |cue: &Cue| moved && cue.kind == CueKind::Timer && cue.at < moment.now && cue.at + cue.len > moment.now;
        let lied = self.laid.get(next).is_some_and(|laid| laid.before.iter().any(untrue));
        if moved {
            self.set_go(next, go);
        }
        let into = self.stage.hush(go);
        let untrue = |cue: &Cue| moved && cue.kind == CueKind::Timer || cue.at + cue.len > into && cue.at >= moment.now;
        self.lay(next, moment, &untrue);
        // Nothing that sounds may run into the silence before a go that has come nearer.
        let rings_on = |cue: &Cue| cue.kind.is_voice() && cue.at < moment.now && cue.at + cue.len > into;
        let runs_on = self.laid.get(begun).is_some_and(|laid| laid.under.iter().any(rings_on))
            || self.laid.get(next).is_some_and(|laid| laid.before.iter().any(rings_on));
        if runs_on {
            let keep = |cue: &Cue| !rings_on(cue);
            if let Some(laid) = self.laid.get_mut(begun) {
                laid.under.retain(keep);
            }
            if let Some(laid) = self.laid.get_mut(next) {
                laid.before.retain(keep);
            }
        }
        [!lied && !runs_on, false, true]
    }

    /// The touch of a swim that goes on: the next one begins here, its beats on the first old one from now on.
    fn turn_now(&mut self, begun: usize, pressed: Seconds, moment: &Moment) {
        let next = begun + 1;
        let anchor = self.beat_from(begun, moment).map(|(grid, k)| beat_time(grid.origin, k, grid.tempo));
        self.stop_swimming(begun, moment);
        if let Some(stop) = self.stops.get_mut(begun) {
            stop.touch = pressed;
        }
        if let Some(stop) = self.stops.get_mut(next) {
            stop.repeat.offset = anchor.map_or(Seconds::ZERO, |anchor| anchor - pressed);
        }
        self.set_go(next, pressed);
        self.rejoin(next);
        self.lay(next, moment, &|_| false);
    }

    /// The piece of grid that sounds, and its first beat from the moment on.
    fn beat_from(&self, index: usize, moment: &Moment) -> Option<(Grid, u64)> {
        let grid = self.laid.get(index)?.grids.iter().rev().find(|grid| !grid.beats.is_empty())?;
        let mut k = grid.tempo.first_at_or_after(moment.now - grid.origin);
        while k > 0 && onset(grid.origin, k - 1, grid.tempo, moment.rate) >= moment.frame {
            k -= 1;
        }
        while onset(grid.origin, k, grid.tempo, moment.rate) < moment.frame {
            k += 1;
        }
        Some((grid.clone(), k))
    }

    /// Repeats that follow without a stop begin on a beat of the one before.
    fn rejoin(&mut self, from: usize) {
        for index in from..self.stops.len().saturating_sub(1) {
            let Some(stop) = self.stop(index) else { return };
            let (joins, repeat) = (stop.repeat.joins, &stop.repeat);
            let offset = repeat.tempo.map_or(Seconds::ZERO, |tempo| {
                let k = tempo.first_at_or_after(repeat.predicted - repeat.offset);
                beat_time(repeat.offset, k, tempo) - repeat.predicted
            });
            if let Some(next) = self.stops.get_mut(index + 1).filter(|next| !next.opens) {
                next.repeat.joined = joins;
                next.repeat.offset = if joins { offset } else { Seconds::ZERO };
            }
        }
    }

    fn hold(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        if self.held.is_some() {
            return refused("the next start is held already");
        }
        let next = self.at(moment.now).1.unwrap_or(self.stops.len());
        let held = (next..self.stops.len()).find(|i| self.stop(*i).is_some_and(|stop| !stop.repeat.joined));
        let Some(held) = held else { return refused("no start follows that could wait") };
        self.held = Some(held);
        self.lay(held, moment, &|_| false);
        Ok(Turn { rings: ALL, happened: Vec::new(), heard: true })
    }

    fn release(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        let Some(held) = self.held.take() else { return refused("no start is held") };
        let Some(stop) = self.stop(held) else { return refused("no start is held") };
        let voices = self.laid.iter().skip(self.from).flat_map(|laid| laid.before.iter().chain(&laid.under));
        let sounding = voices.chain(&self.extra).filter(|cue| cue.kind.is_voice() && cue.at < moment.floor());
        let free = sounding.map(|cue| cue.at + cue.len + Stage::GAP).max().unwrap_or_default().max(moment.floor());
        let talked = stop.talk.last().map(|last| last.at + last.said.len()).filter(|talked| *talked > moment.now);
        let go = stop.go.max(self.stage.earliest_go(free, talked));
        self.set_go(held, go);
        self.lay(held, moment, &|_| false);
        Ok(Turn { rings: ALL, happened: Vec::new(), heard: true })
    }

    fn next(&mut self, unit: Unit, moment: &Moment) -> Result<Turn, Refused> {
        let shown = self.shown(moment.now).unwrap_or(self.from);
        let set = self.stop(shown).map_or(0, |stop| stop.set);
        let (begun, next) = self.at(moment.now);
        if next.is_none() && !begun.is_some_and(|begun| self.is_swum(begun, moment.now)) {
            return refused("nothing comes after this");
        }
        let target = match unit {
            Unit::Repeat => Some(shown + 1).filter(|target| *target < self.stops.len()),
            Unit::Set => (shown..self.stops.len()).find(|i| self.stop(*i).is_some_and(|stop| stop.set > set)),
        };
        let Some(target) = target else { return refused("nothing comes after this") };
        let left = (shown..target).filter_map(|index| self.stop(index));
        let happened = left.map(|stop| Happened::Skipped { set: stop.set, repeat: stop.ordinal }).collect();
        self.skip(target, moment);
        Ok(Turn { rings: [false; 3], happened, heard: true })
    }

    fn back(&mut self, unit: Unit, moment: &Moment) -> Result<Turn, Refused> {
        let shown = self.shown(moment.now).unwrap_or(self.from);
        let Some(stop) = self.stop(shown) else { return refused("nothing comes before this") };
        let swims = self.is_swum(shown, moment.now);
        let under_way = swims && moment.now - stop.go > JUST_BEGUN;
        let first = |set: usize| self.stops.iter().position(|stop| stop.set == set);
        let target = match unit {
            Unit::Repeat if under_way => Some(shown),
            Unit::Repeat => shown.checked_sub(1),
            Unit::Set if under_way || !stop.opens => first(stop.set),
            Unit::Set => stop.set.checked_sub(1).and_then(first),
        };
        let Some(target) = target else { return refused("nothing comes before this") };
        self.skip(target, moment);
        Ok(Turn { rings: [false; 3], happened: Vec::new(), heard: true })
    }

    /// Leaves what goes on and comes to a start: what it is, where it opens a set, the phrase, the countdown.
    fn skip(&mut self, target: usize, moment: &Moment) {
        (self.held, self.from) = (None, target);
        self.extra.clear();
        self.touched.iter_mut().skip(target).for_each(|touched| *touched = None);
        self.gone.iter_mut().skip(target).for_each(|gone| *gone = false);
        let floor = moment.floor().max(moment.now + COLLECT);
        let lines = self.plan.get(target).map(|stop| stop.talk.clone()).unwrap_or_default();
        let about: Vec<_> =
            lines.into_iter().filter(|line| matches!(line.kind, CueKind::Set | CueKind::Preview)).collect();
        let (talk, talked) = self.stage.talk(&about, floor);
        let go = self.stage.earliest_go(floor, talked);
        // What is left undone is over now: nothing waits for its touch.
        if let Some(before) = target.checked_sub(1).and_then(|before| self.stops.get_mut(before)) {
            before.touch = before.touch.min(moment.now);
        }
        if let Some(stop) = self.stops.get_mut(target) {
            stop.talk = talk;
            (stop.repeat.joined, stop.repeat.offset) = (false, Seconds::ZERO);
        }
        // Later talks that were moved, cut or spoken are whole again.
        let later = self.stops.iter_mut().zip(&self.plan).skip(target + 1);
        later.for_each(|(stop, plan)| (stop.talk, stop.go) = (plan.talk.clone(), plan.go));
        self.rejoin(target);
        self.set_go(target, go);
        self.laid.truncate(target);
        self.lay(target, moment, &|_| false);
    }

    fn nudge(&mut self, hundredths: i32, moment: &Moment) -> Result<Turn, Refused> {
        let Some(shown) = self.shown(moment.now) else { return refused("there is no tempo to change") };
        let set = self.stop(shown).map_or(0, |stop| stop.set);
        let begun = self.at(moment.now).0.filter(|begun| self.stop(*begun).is_some_and(|stop| stop.set == set));
        let first = begun.map_or(shown, |begun| begun + 1);
        let as_before = (self.stops.clone(), self.laid.clone());
        let tempo = self
            .retime_all(begun, first, hundredths, moment)
            .and_then(|tempo| tempo.ok_or_else(|| Refused("there is no tempo to change".to_owned())));
        let tempo = match tempo {
            Ok(tempo) => tempo,
            Err(refused) => {
                (self.stops, self.laid) = as_before;
                return Err(refused);
            }
        };
        let from = begun.unwrap_or(first);
        self.rejoin_after(from);
        // From where the next start is now, not from where it was planned: a touch or a hold may have moved it.
        let after = |stops: &[Stop]| begun.and_then(|begun| Some(stops.get(begun)?.after)).unwrap_or_default();
        let longer = after(&self.stops) - after(&as_before.0);
        if let Some(next) = self.stops.get_mut(first) {
            if next.talk.first().is_some_and(|talk| talk.at >= moment.floor()) {
                next.talk.iter_mut().for_each(|placed| placed.at += longer);
            }
            let go = next.go + longer;
            self.set_go(first, go);
        }
        if let Some(nudge) = self.nudges.get_mut(set) {
            *nudge += hundredths;
        }
        if first < self.stops.len() && first <= self.held.unwrap_or(first) {
            self.lay(first, moment, &|_| false);
        }
        let happened = vec![Happened::Tempo { set, at: moment.now, tempo }];
        Ok(Turn { rings: ALL, happened, heard: true })
    }

    /// What is left of the repeat under way, and the later ones of its set; the tempo that is heard next, if any is.
    fn retime_all(
        &mut self,
        begun: Option<usize>,
        first: usize,
        hundredths: i32,
        moment: &Moment,
    ) -> Result<Option<Tempo>, Refused> {
        let set = self.stop(begun.unwrap_or(first)).map(|stop| stop.set);
        let mut tempo = None;
        if let Some(begun) = begun {
            tempo = self.nudge_under_way(begun, hundredths, moment)?;
        }
        for index in first..self.stops.len() {
            let Some(stop) = self.stop(index).filter(|stop| Some(stop.set) == set) else { break };
            let Some(old) = stop.repeat.tempo else { continue };
            let new = changed(old, hundredths)?;
            tempo = tempo.or(Some(new));
            self.retime(index, new)?;
        }
        Ok(tempo)
    }

    /// Offsets of joined repeats after a change; those of one under way follow from the grid that is heard.
    fn rejoin_after(&mut self, index: usize) {
        let last = self.laid.get(index).and_then(|laid| laid.grids.last()).filter(|grid| !grid.beats.is_empty());
        let anchor = self.stop(index).zip(last).map(|(stop, grid)| {
            let k = grid.tempo.first_at_or_after(stop.touch - grid.origin);
            beat_time(grid.origin, k, grid.tempo) - stop.touch
        });
        let joins = self.stop(index).is_some_and(|stop| stop.repeat.joins);
        match (joins, anchor) {
            (true, Some(offset)) => {
                if let Some(next) = self.stops.get_mut(index + 1) {
                    next.repeat.offset = offset;
                }
                self.rejoin(index + 1);
            }
            _ => self.rejoin(index),
        }
    }

    /// A repeat that has not begun, at another tempo.
    fn retime(&mut self, index: usize, tempo: Tempo) -> Result<(), Refused> {
        let water = self.stage.practice().water;
        let Some(stop) = self.stops.get(index) else { return Ok(()) };
        let Some(line) = self.stage.line(stop) else { return Ok(()) };
        let repeat = at_tempo(&stop.repeat, line, water, tempo, self.swimmer);
        let longer = repeat.predicted - stop.repeat.predicted;
        let moves = repeat.joins || repeat.rest.is_some();
        let after = if moves { stop.after + longer } else { stop.after };
        let last = self.stop(index + 1).is_none_or(|next| next.set != stop.set);
        let after = if last && !moves { after.max(repeat.predicted) } else { after };
        if !repeat.joins && !last && repeat.predicted + SPARE > after {
            return refused("at that tempo the send-off cannot be made");
        }
        // The talk before the next set waits for a slower swimmer.
        let after = if last && !moves { after + longer.max(Seconds::ZERO) } else { after };
        if let Some(stop) = self.stops.get_mut(index) {
            (stop.touch, stop.after) = (stop.go + repeat.predicted, after);
            stop.repeat = repeat;
        }
        Ok(())
    }

    /// Beats that are heard now: the first one from the moment on stays, the later ones follow at the new tempo. Their
    /// marks and what is said on them go with them. `None` where none are left.
    fn nudge_under_way(&mut self, index: usize, hundredths: i32, moment: &Moment) -> Result<Option<Tempo>, Refused> {
        let Some((grid, k)) = self.beat_from(index, moment) else { return Ok(None) };
        if !grid.beats.iter().any(|beat| u64::from(beat.k) >= k) {
            return Ok(None);
        }
        let new = changed(grid.tempo, hundredths)?;
        let anchor = beat_time(grid.origin, k, grid.tempo);
        let warp = |at: Seconds| if at <= anchor { at } else { anchor + stretched(at - anchor, grid.tempo, new) };
        let Some(stop) = self.stop(index).cloned() else { return Ok(None) };
        let touch = if self.touched(index).is_some() { stop.touch } else { warp(stop.touch) };
        let next = self.stop(index + 1).map(|next| (next.go, next.set == stop.set));
        let longer = touch - stop.touch;
        let moves = stop.repeat.joins || stop.repeat.rest.is_some();
        let free = self.held == Some(index + 1);
        if !moves && !free && next.is_some_and(|(go, same)| same && touch + SPARE > go) {
            return refused("at that tempo the next start comes before the touch");
        }
        if let Some(laid) = self.laid.get_mut(index) {
            let (old, later): (Vec<Beat>, Vec<Beat>) = grid.beats.iter().partition(|beat| u64::from(beat.k) <= k);
            let moved = |beat: &Beat| Beat { k: (u64::from(beat.k) - k) as u32, ..*beat };
            let piece = Grid { origin: anchor, tempo: new, beats: later.iter().map(moved).collect() };
            if let Some(last) = laid.grids.iter_mut().rev().find(|grid| !grid.beats.is_empty()) {
                last.beats = old;
            }
            laid.grids.push(piece);
            let mut free = Seconds::ZERO;
            for cue in &mut laid.under {
                if cue.at >= moment.floor() {
                    cue.at = warp(cue.at).max(free).max(moment.floor());
                }
                free = cue.at + cue.len + Stage::GAP;
            }
            laid.under.retain(|cue| cue.at < touch || cue.at < moment.floor());
        }
        if let Some(stop) = self.stops.get_mut(index) {
            let mut end = stop.go;
            let mut begun = stop.go;
            for length in &mut stop.repeat.lengths {
                end += length.time;
                let warped = warp(end);
                length.time = warped - begun;
                begun = warped;
                length.tempo = length.tempo.map(|_| new);
            }
            stop.repeat.tempo = Some(new);
            stop.repeat.predicted += longer;
            stop.touch = touch;
            let last = next.is_none_or(|(_, same)| !same);
            stop.after += if moves {
                longer
            } else if last {
                longer.max(Seconds::ZERO)
            } else {
                Seconds::ZERO
            };
        }
        Ok(Some(new))
    }

    fn again(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        let (begun, next) = self.at(moment.now);
        let swims = begun.filter(|begun| self.is_swum(*begun, moment.now));
        let Some((index, stop)) = swims.or(next).and_then(|index| Some((index, self.stop(index)?))) else {
            return refused("no phrase follows");
        };
        let under_water = swims.is_some();
        if under_water && !self.stage.practice().audience.in_ear() {
            return refused("nobody hears it under water");
        }
        if under_water && self.stage.line(stop).is_some_and(|line| line.test.is_some()) {
            return refused("nothing is said during a test");
        }
        let since = if under_water { moment.now - stop.go } else { Seconds::ZERO };
        let length = length(&stop.repeat, since);
        let Some(phrase) = in_force(&stop.repeat, length, since) else { return refused("there is no phrase to say") };
        let after = index + usize::from(under_water);
        let ends = [
            under_water.then_some(stop.touch),
            self.stop(after).filter(|_| self.held != Some(after)).map(|next| self.stage.hush(next.go)),
        ];
        let far = moment.floor() + Seconds::from_secs(30);
        let end = ends.into_iter().flatten().min().unwrap_or(far).min(far);
        let laid = self.laid.iter().skip(self.from);
        let busy = laid.flat_map(|laid| laid.before.iter().chain(&laid.under)).chain(&self.extra);
        let near = |cue: &&Cue| {
            (cue.kind.is_voice() || cue.kind == CueKind::Preview) && cue.at + cue.len > moment.now && cue.at < far
        };
        let busy: Vec<Cue> = busy.filter(near).cloned().collect();
        let said = self.stage.again(stop, phrase, !under_water, (moment.floor(), end), &busy);
        let Some(said) = said else { return refused("there is no room for it before the next go") };
        self.extra.push(said);
        Ok(Turn { rings: ALL, happened: Vec::new(), heard: true })
    }
}

/// A tempo changed by hundredths of a second.
fn changed(tempo: Tempo, hundredths: i32) -> Result<Tempo, Refused> {
    let num = i128::from(tempo.num()) * 100 + i128::from(hundredths) * i128::from(tempo.den());
    let den = u128::from(tempo.den()) * 100;
    let ratio = u64::try_from(num).ok().zip(u64::try_from(den).ok());
    let changed = ratio.and_then(|(num, den)| Tempo::from_ratio(num, den));
    changed.ok_or_else(|| Refused("a tempo stays between 0.40 and 2.50 s".to_owned()))
}

/// A time that takes as many strokes at another tempo.
fn stretched(time: Seconds, old: Tempo, new: Tempo) -> Seconds {
    let num = i128::from(time.nanos()) * i128::from(new.num()) * i128::from(old.den());
    let den = i128::from(new.den()) * i128::from(old.num());
    Seconds::from_nanos(i64::try_from(num / den.max(1)).unwrap_or(i64::MAX))
}
