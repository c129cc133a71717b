//! What commands do to a lane: touches, one by one; who leaves when; and how the lane's clock goes on from the last touch.

use super::command::{CourseCommand, Happened, LaneCommand, OwnKind, Refused};
use super::lineup::{LaneBefore, LaneOrderNow, LaneUnderWay, LineupPlace};
use super::steered::{Moment, Steered};
use super::turns::{Turn, refused};
use super::undo::{KEPT, is_kept};
use crate::audio::synth;
use crate::mixer::Rings;
use crate::script::quantity::lane::GAPS;
use crate::timeline::lane::{CALL_BEFORE, lead_call};
use crate::timeline::lay::STAND;
use crate::timeline::start::Start;
use crate::units::time::Seconds;

/// By so much the gap gets wider where somebody was caught: the pace clock's next mark.
const WIDER: Seconds = Seconds::from_secs(5);
/// From a touch that was keyed late to the countdown.
const READY: Seconds = Seconds::from_secs(1);

impl LaneUnderWay<'_> {
    /// Takes a command that changes the course; `clock` is the lane's.
    pub(super) fn turn(
        &mut self,
        clock: &mut Steered<'_>,
        command: CourseCommand,
        moment: &Moment,
    ) -> Result<Turn, Refused> {
        match command {
            CourseCommand::Undo => return self.undo(clock, moment),
            CourseCommand::Touch => return refused("in a lane a touch is somebody's: `touch 3` is number three's"),
            CourseCommand::Tempo(_) | CourseCommand::TempoTo(_) => {
                return refused("a lane's speaker plays no beats: there is no tempo to change");
            }
            _ => {}
        }
        let mut before =
            LaneBefore { command, clock: false, lineups: self.lineups.clone(), arrangement: self.arrangement.clone() };
        let turn = match command {
            CourseCommand::Lane(LaneCommand::Touch(number)) => {
                let who = self.known(number)?;
                let (turn, moved) = self.touch(clock, command, who, moment)?;
                before.clock = moved;
                turn
            }
            CourseCommand::Lane(lane) => {
                let arrangement = self.changed(lane)?;
                self.rearrange(clock, arrangement, moment)?;
                Turn::new(Rings::ALL, Vec::new())
            }
            _ => {
                before.clock = is_kept(command);
                self.steer(clock, command, moment)?
            }
        };
        if is_kept(command) {
            if self.kept.len() >= KEPT {
                self.kept.pop_front();
            }
            self.kept.push_back(before);
        }
        Ok(turn)
    }

    fn known(&self, number: u32) -> Result<usize, Refused> {
        let count = self.score.lane.swimmers.len();
        self.numbered(number).ok_or_else(|| Refused(format!("there is no number {number} in this lane of {count}")))
    }

    /// A command that is the clock's. Whoever is sent somewhere else begins there.
    fn steer(&mut self, clock: &mut Steered<'_>, command: CourseCommand, moment: &Moment) -> Result<Turn, Refused> {
        let mut turn = clock.turn(command, moment)?;
        let mut happened = Vec::new();
        for event in turn.happened.drain(..) {
            match event {
                Happened::Skipped { set, repeat } => happened.extend(self.skipped(clock, set, repeat)),
                // Each swimmer's own go is told instead.
                Happened::Unheard { .. } | Happened::Go { .. } | Happened::Joined { .. } => {}
                other => happened.push(other),
            }
        }
        turn.happened = happened;
        match command {
            CourseCommand::Shift(_) => {
                let left_out = moment.pressed..moment.now;
                let unheard = |go: Seconds| left_out.contains(&go).then_some(OwnKind::Unheard { at: go });
                turn.happened.extend(self.gone(clock, &unheard));
            }
            CourseCommand::Next(_) | CourseCommand::Back(_) | CourseCommand::Release => self.begin_again(clock, moment),
            _ => {}
        }
        self.give_way(clock, moment);
        Ok(turn)
    }

    /// What is left out of a start by a skip, for each who would have swum it.
    fn skipped(&self, clock: &Steered<'_>, set: usize, repeat: usize) -> Vec<Happened> {
        let index = clock.strand.starts.iter().position(|start| (start.set, start.ordinal) == (set, repeat));
        let Some(index) = index else { return Vec::new() };
        let untouched = self.lineups.get(index).into_iter().flatten().filter(|place| place.touched.is_none());
        let all = untouched.flat_map(|place| place.swims.clone().map(move |repeat| (place.who, repeat)));
        all.filter_map(|(who, repeat)| self.own(index, who, repeat, OwnKind::Skipped)).collect()
    }

    /// Starts that are to come are as the arrangement has them, whatever was keyed of them once.
    fn begin_again(&mut self, clock: &mut Steered<'_>, moment: &Moment) {
        for index in clock.strand.from..clock.strand.starts.len() {
            if clock.start(index).is_some_and(|start| start.go > moment.now) {
                let arranged = self.arranged(index);
                if let Some(lineup) = self.lineups.get_mut(index) {
                    *lineup = arranged;
                }
                self.spread(clock, index);
            }
        }
    }

    /// No countdown begins before the last of the start before has left, and no talk between sets before the last is at the wall:
    /// what comes too soon is put off, and all behind it.
    fn give_way(&self, clock: &mut Steered<'_>, moment: &Moment) {
        let first = clock.strand.at(moment.now).0.unwrap_or(clock.strand.from);
        let mut moved = None;
        for index in first..clock.strand.limit() {
            let end = Self::group_end(clock, index);
            let next = end + 1;
            let Some((last, coming)) = self.last_go(clock, index).zip(clock.start(next)) else { continue };
            if coming.go <= moment.now || next >= clock.strand.limit() {
                continue;
            }
            let late = match coming.talk.first() {
                Some(talk) if talk.at > moment.floor() => {
                    let stands = clock.start(end).map_or(last, |start| start.touch.max(last + synth::GO));
                    if talk.at < stands { stands + STAND - talk.at } else { Seconds::ZERO }
                }
                Some(_) => Seconds::ZERO,
                None => last + synth::GO + clock.strand.countdown - coming.go,
            };
            if late > Seconds::ZERO {
                let go = coming.go + late;
                clock.strand.starts.get_mut(next).into_iter().for_each(|start| start.move_to(go));
                clock.set_go(next, go);
                moved = moved.or(Some(next));
            }
        }
        if let Some(moved) = moved {
            let next = clock.strand.at(moment.now).1.unwrap_or(moved);
            clock.lay(next.min(moved), moment, &|_| false);
        }
    }

    /// When the last of a start leaves; a start that is joined to the one before is part of that.
    fn last_go(&self, clock: &Steered<'_>, index: usize) -> Option<Seconds> {
        let index =
            (0..=index).rev().find(|index| self.lineups.get(*index).is_some_and(|lineup| !lineup.is_empty()))?;
        let leaves = self.lineups.get(index)?.iter().filter(|place| !place.missed);
        leaves.filter_map(|place| Self::go(clock, index, place)).max()
    }

    /// The lane's touch of a start is that of its last swimmer, taken or expected; and who leads it now is called.
    fn spread(&self, clock: &mut Steered<'_>, index: usize) {
        let Some(go) = clock.start(index).map(|start| start.go) else { return };
        if self.lineups.get(index).is_none_or(Vec::is_empty) {
            return;
        }
        let of = (self.score.lane, self.score.voice);
        let leader = self.leads_anew(index).and_then(|who| lead_call(&clock.layer, of, who));
        clock.strand.starts.get_mut(index).into_iter().for_each(|start| start.leader.clone_from(&leader));
        let end = Self::group_end(clock, index);
        let together: Seconds =
            (index..=end).filter_map(|each| clock.start(each)).map(|start| start.repeat.predicted).sum();
        let swum = |place: &LineupPlace| place.touched.map_or(place.behind + place.predicted, |touched| touched - go);
        let last = self.in_the_water(index).map(swum).max().unwrap_or(Seconds::ZERO);
        if let Some(start) = clock.strand.starts.get_mut(end) {
            start.repeat.behind = (last - together).max(Seconds::ZERO);
            if start.touched.is_none() {
                start.touch = start.go + start.repeat.predicted + start.repeat.behind;
            }
        }
    }

    /// A touch of somebody; and whether it has moved the clock.
    fn touch(
        &mut self,
        clock: &mut Steered<'_>,
        command: CourseCommand,
        who: usize,
        moment: &Moment,
    ) -> Result<(Turn, bool), Refused> {
        let name = self.name(who);
        let Some((begun, place)) = self.begun(clock, who, moment.pressed) else {
            return Err(Refused(format!("{name} has not left yet")));
        };
        let go = Self::go(clock, begun, place).unwrap_or(moment.pressed);
        let soon = moment.pressed - go < place.predicted.scaled(1, 2);
        if place.touched.is_some() {
            return Err(Refused(format!("{name} has touched already")));
        }
        let owed = self.owed(clock, who, begun).filter(|_| soon);
        let (swum, mut late) = match owed {
            Some(before) => (before, Some(begun)),
            None => (begun, None),
        };
        // Who touches when they have been called already has no time to turn round.
        late = late.or_else(|| {
            let (next, place) = self.coming(clock, who, moment.pressed)?;
            (Self::go(clock, next, place)? - CALL_BEFORE <= moment.pressed).then_some(next)
        });
        let mut happened: Vec<Happened> = self.taken(clock, swum, who, moment.pressed).into_iter().collect();
        // Who is late has nothing left that the clock could wait for.
        if let Some(start) = late {
            let rested = self.rest(swum).map_or(moment.pressed, |rest| moment.pressed + rest);
            happened.extend(self.goes_last(clock, (start, who), rested, moment));
            self.spread(clock, start);
            self.lay_after(clock, start, moment);
            self.give_way(clock, moment);
            return Ok((Turn::new(Rings::ALL, happened), false));
        }
        let before = clock.before(command, moment);
        let end = Self::group_end(clock, swum);
        let touch = |clock: &Steered<'_>| clock.start(end).map(|start| start.touch);
        let expected = touch(clock);
        self.spread(clock, swum);
        let moved = self.go_on(clock, swum, moment);
        let waits = clock.start(end + 1).is_some_and(|next| next.go > moment.now);
        if moved.is_none() && waits && touch(clock) != expected {
            // Nobody talks to those at the wall while the last comes in.
            self.lay_after(clock, swum, moment);
            self.give_way(clock, moment);
            return Ok((Turn::new(Rings::ALL, happened), false));
        }
        if moved.is_some() {
            before.into_iter().for_each(|before| clock.keep(before));
            self.give_way(clock, moment);
        }
        Ok((Turn { rings: moved, happened }, moved.is_some()))
    }

    /// Notes a touch.
    fn taken(&mut self, clock: &Steered<'_>, index: usize, who: usize, pressed: Seconds) -> Option<Happened> {
        let go = Self::go(clock, index, self.place(index, who)?)?;
        let (at, stood) = (pressed.max(go), clock.stood_since(go));
        let place = self.place_mut(index, who)?;
        (place.touched, place.stood) = (Some(at), stood);
        let (predicted, repeats, last) = (place.predicted, place.swims.len(), place.swims.end.saturating_sub(1));
        self.own(index, who, last, OwnKind::Touch { at, split: at - go + stood, predicted, repeats })
    }

    /// Somebody is too late for their go: they leave a gap behind the last, when they have had their rest, or not at all where the
    /// next countdown is near.
    fn goes_last(
        &mut self,
        clock: &Steered<'_>,
        (index, who): (usize, usize),
        rested: Seconds,
        moment: &Moment,
    ) -> Option<Happened> {
        let start = clock.start(index)?.go;
        let lineup = self.lineups.get(index)?;
        let others = lineup.iter().filter(|place| place.who != who && !place.missed).map(|place| place.behind).max();
        let last = others.map_or(start, |behind| start + behind + self.arrangement.gap);
        let at = last.max(rested).max(moment.floor() + CALL_BEFORE);
        let next = Self::group_end(clock, index) + 1;
        let coming = clock.start(next).filter(|_| next < clock.strand.limit());
        let closes = coming.and_then(|next| match next.talk.first() {
            // Talk between sets waits, if it has not begun.
            Some(talk) => Some(talk.at).filter(|at| *at <= moment.floor()),
            None => Some(next.go - clock.strand.countdown),
        });
        let fits = closes.is_none_or(|closes| at + synth::GO <= closes);
        let place = self.place_mut(index, who)?;
        (place.late, place.gone, place.missed) = (true, !fits, !fits);
        place.behind = if fits { at - start } else { place.behind };
        let repeat = place.swims.start;
        self.lineups.get_mut(index)?.sort_by_key(|place| place.behind);
        self.own(index, who, repeat, if fits { OwnKind::Late { at } } else { OwnKind::Missed })
    }

    /// Lays what comes after a start again: its last touch has moved.
    fn lay_after(&self, clock: &mut Steered<'_>, index: usize, moment: &Moment) {
        let next = Self::group_end(clock, index) + 1;
        if next < clock.strand.starts.len() && next <= clock.strand.limit() {
            clock.lay(next, moment, &|_| false);
        }
    }

    /// The clock goes on from a touch: nobody leaves before the rest that is written is over for them; and once all stand, the go
    /// comes as soon as that is so. Whether anything has moved.
    fn go_on(&self, clock: &mut Steered<'_>, index: usize, moment: &Moment) -> Option<Rings> {
        let end = Self::group_end(clock, index);
        let (begun, next) = clock.strand.at(moment.now);
        // Where the next start has begun a touch is told, and moves nothing.
        begun.filter(|begun| (index..=end).contains(begun))?;
        let swims = || self.in_the_water(index);
        let all = swims().all(|place| place.touched.is_some());
        let behind = |who: usize| next.and_then(|next| Some(self.place(next, who)?.behind));
        let rested = |rest: Seconds| {
            let ready = swims().filter_map(|place| Some(place.touched? + rest - behind(place.who)?)).max();
            let soonest = moment.floor() + READY + clock.strand.countdown;
            // To the second, so that the pace clock's reading can be said.
            Some(ready?.max(soonest).ceil_to(Seconds::from_secs(1)))
        };
        let rested = self.rest(index).and_then(rested);
        let coming =
            next.filter(|next| *next < clock.strand.limit()).and_then(|next| clock.start(next)).map(|start| start.go);
        match (rested, next) {
            (rested, _) if all => Some(clock.at_the_wall(end, rested.map(|go| go - moment.pressed), moment)),
            (Some(go), Some(next)) if coming.is_some_and(|coming| go > coming) => Some(clock.go_at(next, go, moment)),
            _ => None,
        }
    }

    /// The rest that is written after a start.
    fn rest(&self, index: usize) -> Option<Seconds> {
        let (set, start) = self.places.get(index).copied().flatten()?;
        self.score.lane.sets.get(set)?.starts.get(start)?.rest
    }

    /// What the lane would be by a command.
    fn changed(&self, command: LaneCommand) -> Result<LaneOrderNow, Refused> {
        let mut new = self.arrangement.clone();
        let out = |who: usize| new.out.get(who) == Some(&true);
        match command {
            LaneCommand::Touch(_) => {}
            LaneCommand::Out(number) | LaneCommand::In(number) => {
                let (who, sits) = (self.known(number)?, matches!(command, LaneCommand::Out(_)));
                if out(who) == sits {
                    let what = if sits { "sits out already" } else { "swims already" };
                    return Err(Refused(format!("{} {what}", self.name(who))));
                }
                new.out.iter_mut().enumerate().filter(|(each, _)| *each == who).for_each(|(_, out)| *out = sits);
            }
            LaneCommand::Ahead(number) => {
                let who = self.known(number)?;
                let place = new.order.iter().position(|each| *each == who).unwrap_or(0);
                let front = (0..place).rev().find(|place| new.order.get(*place).is_some_and(|who| !out(*who)));
                match front {
                    _ if out(who) => return Err(Refused(format!("{} sits out", self.name(who)))),
                    None => return Err(Refused(format!("{} leads already", self.name(who)))),
                    Some(front) => new.order.swap(front, place),
                }
            }
            LaneCommand::Gap(gap) if GAPS.contains(&gap) => new.gap = gap,
            LaneCommand::Gap(gap) => {
                let (least, most) = (GAPS.start().as_f64(), GAPS.end().as_f64());
                return Err(Refused(format!("{} s apart: a gap is of {least} to {most} s", gap.as_f64())));
            }
            LaneCommand::Caught(number) => {
                self.known(number)?;
                let wider = (new.gap + Seconds::from_millis(1)).ceil_to(WIDER);
                new.gap = wider;
            }
        }
        Ok(new)
    }

    /// Has everybody leave so from the next start on whose countdown has not begun; who sits out is not called any more.
    ///
    /// # Errors
    /// Where the last would leave in the next countdown.
    fn rearrange(&mut self, clock: &mut Steered<'_>, new: LaneOrderNow, moment: &Moment) -> Result<(), Refused> {
        let from = (clock.strand.from..clock.strand.starts.len()).find(|index| {
            let counted = |start: &Start| start.go - clock.strand.countdown > moment.floor();
            *index >= clock.strand.limit() || clock.start(*index).is_some_and(counted)
        });
        let old = std::mem::replace(&mut self.arrangement, new);
        let from = from.unwrap_or(clock.strand.starts.len());
        let made: Vec<Vec<LineupPlace>> = (from..self.lineups.len()).map(|index| self.arranged(index)).collect();
        if let Some(room) = self.room(clock, from, &made) {
            let gap = self.arrangement.gap;
            self.arrangement = old;
            return Err(Refused(room_wanted(gap, room)));
        }
        for (index, arranged) in (from..).zip(made) {
            if let Some(lineup) = self.lineups.get_mut(index) {
                *lineup = arranged;
            }
        }
        let waits = |place: &LineupPlace, go: Seconds| !place.gone && go + place.behind - CALL_BEFORE > moment.floor();
        for index in clock.strand.from..from {
            let Some(go) = clock.start(index).map(|start| start.go) else { continue };
            let out = &self.arrangement.out;
            if let Some(lineup) = self.lineups.get_mut(index) {
                lineup.retain(|place| out.get(place.who) != Some(&true) || !waits(place, go));
            }
        }
        for index in clock.strand.from..clock.strand.starts.len() {
            self.spread(clock, index);
        }
        clock.lay_coming(moment);
        self.give_way(clock, moment);
        Ok(())
    }

    /// The shortest time from a go of the lane to the next countdown that the last of a start would leave in.
    fn room(&self, clock: &Steered<'_>, from: usize, made: &[Vec<LineupPlace>]) -> Option<(Seconds, usize)> {
        let short = |(index, lineup): (usize, &Vec<LineupPlace>)| {
            let start = clock.start(index).filter(|_| !lineup.is_empty())?;
            let next = clock.start(Self::group_end(clock, index) + 1).filter(|next| next.talk.is_empty())?;
            let last = lineup.last()?.behind;
            let room = next.go - start.go - clock.strand.countdown - synth::GO;
            (last > room).then_some((room, lineup.len()))
        };
        (from..).zip(made).filter_map(short).min()
    }

    fn undo(&mut self, clock: &mut Steered<'_>, moment: &Moment) -> Result<Turn, Refused> {
        let Some(before) = self.kept.pop_back() else { return refused("there is nothing to take back") };
        let undone = vec![Happened::Undone { command: before.command }];
        match before.command {
            CourseCommand::Lane(LaneCommand::Touch(_)) => {
                let turn = if before.clock { clock.undo(moment).ok() } else { None };
                if before.clock && turn.is_none() {
                    // The go that it moved has been given: only the touch is taken back.
                    clock.kept.pop_back();
                }
                self.restore(clock, before, moment);
                self.give_way(clock, moment);
                let rings = turn.and_then(|turn| turn.rings).unwrap_or(Rings::ALL);
                Ok(Turn::new(rings, undone))
            }
            CourseCommand::Lane(_) => {
                if let Err(why) = self.rearrange(clock, before.arrangement.clone(), moment) {
                    self.kept.push_back(before);
                    return Err(why);
                }
                Ok(Turn::new(Rings::ALL, undone))
            }
            _ => match clock.undo(moment) {
                Ok(mut turn) => {
                    self.restore(clock, before, moment);
                    turn.happened.extend(self.make_up(clock, moment));
                    self.give_way(clock, moment);
                    Ok(turn)
                }
                Err(why) => {
                    self.kept.push_back(before);
                    Err(why)
                }
            },
        }
    }

    /// Whoever should have left meanwhile, in a start that was left for another one, has heard nothing of it: they leave last.
    fn make_up(&mut self, clock: &mut Steered<'_>, moment: &Moment) -> Vec<Happened> {
        let mut happened = Vec::new();
        for index in clock.strand.from..clock.strand.limit() {
            let Some(go) = clock.start(index).map(|start| start.go).filter(|go| *go <= moment.now) else { break };
            let waits = |place: &&LineupPlace| !place.gone && !place.missed && go + place.behind <= moment.now;
            let waiting: Vec<usize> =
                self.lineups.get(index).into_iter().flatten().filter(waits).map(|place| place.who).collect();
            for who in waiting {
                happened.extend(self.goes_last(clock, (index, who), moment.now, moment));
            }
            self.spread(clock, index);
            self.lay_after(clock, index, moment);
        }
        happened
    }

    /// What was keyed is as it was before; who has gone since has gone.
    fn restore(&mut self, clock: &mut Steered<'_>, before: LaneBefore, moment: &Moment) {
        for (index, lineup) in before.lineups.into_iter().enumerate() {
            let Some(go) = clock.start(index).map(|start| start.go) else { continue };
            for mut place in lineup {
                let Some(now) = self.place_mut(index, place.who) else { continue };
                place.gone |= now.gone && !now.missed;
                // A go that has passed meanwhile was not theirs: they still leave last.
                let passed = !place.gone && go + place.behind <= moment.floor() + CALL_BEFORE;
                if place.behind != now.behind && (now.gone || passed) {
                    (place.behind, place.late) = (now.behind, now.late);
                }
                *now = place;
            }
            if let Some(lineup) = self.lineups.get_mut(index) {
                lineup.sort_by_key(|place| place.behind);
            }
            self.spread(clock, index);
        }
        clock.lay_coming(moment);
    }
}

/// Why a gap does not fit, and which would.
fn room_wanted(gap: Seconds, (room, count): (Seconds, usize)) -> String {
    let behind = i64::try_from(count.saturating_sub(1)).unwrap_or(1).max(1);
    let most = room.scaled(1, behind).nanos().max(0) / Seconds::from_secs(1).nanos();
    let (gap, hint) = (
        gap.as_f64(),
        if Seconds::from_secs(most) >= *GAPS.start() { format!(": at most {most} s") } else { String::new() },
    );
    format!("{count} swimmers {gap} s apart: the last would leave in the next countdown{hint}")
}
