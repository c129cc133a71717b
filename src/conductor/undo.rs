//! Taking a command back: what there was before it comes back, and goes on as if nothing had been keyed.
//!
//! What cannot be as if: a go that was due in the meantime has not been heard. It then comes as a released one does, with
//! a whole countdown.

use super::command::{CourseCommand, Happened, Refused};
use super::steered::{Before, Moment, Steered};
use super::turns::{Turn, refused};
use crate::mixer::Rings;
use crate::timeline::place::GAP;
use crate::timeline::start::Start;
use crate::timeline::strand::{Laid, Strand, end_of, takes_the_voice};
use crate::timeline::{Cue, CueKind};
use crate::units::time::{Seconds, beat_time};

/// Commands that can be taken back.
pub(super) const KEPT: usize = 16;

/// Whether a command can be taken back.
pub(super) const fn is_kept(command: CourseCommand) -> bool {
    match command {
        CourseCommand::Next(_)
        | CourseCommand::Back(_)
        | CourseCommand::Touch
        | CourseCommand::Hold
        | CourseCommand::Release
        | CourseCommand::Tempo(_)
        | CourseCommand::TempoTo(_)
        | CourseCommand::Lane(_) => true,
        CourseCommand::Again | CourseCommand::Shift(_) | CourseCommand::Undo => false,
    }
}

impl Steered<'_> {
    /// How things stand before a command, if it can be taken back.
    pub(super) fn before(&self, command: CourseCommand, moment: &Moment) -> Option<Before> {
        is_kept(command).then(|| Before {
            command,
            at: moment.now,
            strand: self.strand.clone(),
            recorded: self.recorded.clone(),
            nudges: self.nudges.clone(),
        })
    }

    /// Keeps it for as long as it may be wanted.
    pub(super) fn keep(&mut self, before: Before) {
        if self.kept.len() >= KEPT {
            self.kept.pop_front();
        }
        self.kept.push_back(before);
    }

    pub(super) fn undo(&mut self, moment: &Moment) -> Result<Turn, Refused> {
        let Some(before) = self.kept.pop_back() else { return refused("there is nothing to take back") };
        let since = |start: &Start| !start.repeat.joined && before.at < start.go && start.go <= moment.now;
        if self.strand.starts.iter().take(self.strand.limit()).skip(self.strand.from).any(since) {
            self.kept.push_back(before);
            return refused("a go has been given since: that stays");
        }
        let Before { command, at, strand, recorded, nudges } = before;
        let left = std::mem::replace(&mut self.strand, strand);
        self.nudges = nudges;
        self.recorded.iter_mut().zip(recorded).for_each(|(now, then)| *now |= then);
        let skipped = match command {
            CourseCommand::Next(_) | CourseCommand::Back(_) => true,
            // One that released nothing cut the talk short.
            CourseCommand::Release => self.strand.held.is_none(),
            _ => false,
        };
        self.take_over(&left, at, skipped, moment);
        let next = self.strand.at(at).1.unwrap_or(self.strand.starts.len());
        let due = (next..self.strand.limit()).find(|due| self.start(*due).is_some_and(|due| !due.repeat.joined));
        let moved = due.is_some_and(|due| {
            let go = |strand: &Strand| strand.starts.get(due).map(|start| start.go);
            skipped || left.held == Some(due) || go(&self.strand) != go(&left)
        });
        if let Some(due) = due.filter(|_| moved) {
            self.give_whole_countdown(due, moment);
        }
        let (begun, next) = self.strand.at(moment.now);
        if let Some(begun) = begun {
            self.space_beats(begun, &left, moment);
        }
        let into = next.and_then(|next| self.start(next)).map(|start| self.layer.hush(start.go));
        let sounds = |cue: &Cue| cue.kind.is_voice() && cue.at < moment.now && end_of(cue) > moment.now;
        let untrue = left
            .cues_from(left.from)
            .filter(|cue| sounds(cue))
            .any(|cue| moved && cue.kind == CueKind::Timer || into.is_some_and(|into| end_of(cue) > into));
        if untrue {
            // It ends here, so that it has not been said.
            for laid in &mut self.strand.laid {
                laid.before.retain(|cue| !sounds(cue));
                laid.under.retain(|cue| !sounds(cue));
            }
            self.strand.extra.retain(|cue| !sounds(cue));
        }
        let cut = next.is_some_and(|next| self.cut_into_talk(next, moment));
        if let Some(next) = next.filter(|_| skipped) {
            self.keep_phrases(next, &left, at, moment);
        }
        self.lay_coming(moment);
        let rings = match (skipped, untrue || cut) {
            (true, _) => Rings::NONE,
            (false, true) => Rings::SIGNALS,
            (false, false) => Rings::ALL,
        };
        Ok(Turn::new(rings, vec![Happened::Undone { command }]))
    }

    /// Of what was laid before the command only that has sounded which sounded after it too; and what was said since has
    /// been said.
    fn take_over(&mut self, left: &Strand, at: Seconds, skipped: bool, moment: &Moment) {
        let floor = moment.floor();
        let since = |cue: &Cue| cue.at >= at && cue.at < floor;
        let said: Vec<&Cue> = left.cues_from(left.from).filter(|cue| since(cue)).collect();
        let sounded = |cue: &Cue| !since(cue) || !skipped && said.contains(&cue);
        for laid in &mut self.strand.laid {
            laid.before.retain(sounded);
            laid.under.retain(sounded);
        }
        self.strand.extra.clone_from(&left.extra);
        if skipped {
            return self.strand.extra.retain(|cue| cue.at < at);
        }
        for (index, Laid { before, under, .. }) in left.laid.iter().enumerate() {
            let Some(own) = self.strand.laid.get_mut(index) else { continue };
            for (own, left) in [(&mut own.before, before), (&mut own.under, under)] {
                let new = left.iter().filter(|cue| since(cue) && cue.kind.is_voice());
                let new: Vec<Cue> = new.filter(|cue| !own.contains(cue)).cloned().collect();
                own.extend(new);
                own.sort_by_key(|cue| cue.at);
            }
        }
    }

    /// A voice of the course that is left gives way to the talk that goes on. Whether one stops that can be heard.
    fn cut_into_talk(&mut self, next: usize, moment: &Moment) -> bool {
        let (floor, now) = (moment.floor(), moment.now);
        let talk = self.start(next).map_or_else(Vec::new, |start| start.talk.iter().map(|line| line.at).collect());
        let into = |cue: &Cue| {
            let sounds = takes_the_voice(cue) && cue.at < floor && end_of(cue) > now;
            sounds && talk.iter().any(|line| *line >= floor && *line < end_of(cue) + GAP)
        };
        let mut heard = false;
        let mut keep = |cue: &Cue| {
            heard |= into(cue) && cue.at < now;
            !into(cue)
        };
        for laid in &mut self.strand.laid {
            laid.before.retain(&mut keep);
            laid.under.retain(&mut keep);
        }
        self.strand.extra.retain(&mut keep);
        heard
    }

    /// What was said of a start that was skipped to is no news of the one that comes now, but a phrase that was heard whole has
    /// been heard.
    fn keep_phrases(&mut self, next: usize, left: &Strand, at: Seconds, moment: &Moment) {
        let heard = |cue: &&Cue| cue.kind == CueKind::Phrase && cue.at >= at && end_of(cue) <= moment.now;
        let heard: Vec<Cue> = left.cues_from(left.from).filter(heard).cloned().collect();
        if self.strand.laid.len() <= next {
            self.strand.laid.resize_with(next + 1, Laid::default);
        }
        if let Some(laid) = self.strand.laid.get_mut(next) {
            laid.before.extend(heard);
            laid.before.sort_by_key(|cue| cue.at);
        }
    }

    /// A go that was due in the meantime, or whose countdown has begun unheard, comes as a released one.
    fn give_whole_countdown(&mut self, index: usize, moment: &Moment) {
        let Some(start) = self.start(index) else { return };
        if start.go - self.strand.countdown < moment.floor() {
            let go = self.soonest(index, moment);
            self.set_go(index, go);
        }
    }

    /// No beat comes right behind one of the course that is left.
    fn space_beats(&mut self, index: usize, left: &Strand, moment: &Moment) {
        let times = left.laid.iter().skip(left.from).flat_map(|laid| &laid.grids).flat_map(|grid| {
            grid.beats.iter().map(|beat| (beat_time(grid.origin, u64::from(beat.k), grid.tempo), grid.tempo))
        });
        let Some((last, tempo)) = times.into_iter().filter(|(at, _)| *at < moment.now).max_by_key(|(at, _)| *at) else {
            return;
        };
        let free = last + tempo.strokes(1).scaled(1, 2);
        for grid in self.strand.laid.get_mut(index).into_iter().flat_map(|laid| &mut laid.grids) {
            let (origin, tempo) = (grid.origin, grid.tempo);
            grid.beats.retain(|beat| {
                let at = beat_time(origin, u64::from(beat.k), tempo);
                at < moment.now || at >= free
            });
        }
    }
}
