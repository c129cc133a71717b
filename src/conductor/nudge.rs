//! Another tempo for the rest of a set: for beats that sound now, and for the repeats to come.

use super::command::{Happened, Refused};
use super::steered::{Moment, Steered};
use super::turns::{Turn, refused};
use crate::mixer::Rings;
use crate::practice::at_tempo;
use crate::timeline::place::GAP;
use crate::timeline::start::Start;
use crate::timeline::{Beat, Grid};
use crate::units::time::{Seconds, Tempo, beat_time};

/// A touch is not expected later than this before the next go.
const SPARE: Seconds = Seconds::from_secs(1);

/// By how much a tempo changes: an exact ratio of seconds.
#[derive(Clone, Copy)]
struct TempoStep {
    num: i128,
    den: i128,
}

impl TempoStep {
    fn hundredths(by: i32) -> Self {
        Self { num: i128::from(by), den: 100 }
    }

    fn between(old: Tempo, new: Tempo) -> Self {
        let (old_num, old_den) = (i128::from(old.num()), i128::from(old.den()));
        let (new_num, new_den) = (i128::from(new.num()), i128::from(new.den()));
        Self { num: new_num * old_den - old_num * new_den, den: old_den * new_den }
    }

    /// To the nearest hundredth of a second, for the screen.
    fn shown(self) -> i32 {
        let doubled = 2 * self.num * 100 + self.den;
        // Tempos are within 2.1 s of each other.
        doubled.div_euclid(2 * self.den) as i32
    }

    fn of(self, tempo: Tempo) -> Result<Tempo, Refused> {
        let num = i128::from(tempo.num()).checked_mul(self.den).zip(self.num.checked_mul(i128::from(tempo.den())));
        let num = num.and_then(|(tempo, step)| tempo.checked_add(step));
        let den = self.den.checked_mul(i128::from(tempo.den()));
        let reduced = num.zip(den).filter(|(num, _)| *num > 0).map(|(num, den)| {
            let (mut a, mut b) = (num, den);
            while b != 0 {
                (a, b) = (b, a % b);
            }
            (num / a, den / a)
        });
        let ratio = reduced.and_then(|(num, den)| u64::try_from(num).ok().zip(u64::try_from(den).ok()));
        let changed = ratio.and_then(|(num, den)| Tempo::from_ratio(num, den));
        changed.ok_or_else(|| Refused("a tempo stays between 0.40 and 2.50 s".to_owned()))
    }
}

impl Steered<'_> {
    /// A tempo changed by hundredths of a second.
    pub(super) fn nudge(&mut self, hundredths: i32, moment: &Moment) -> Result<Turn, Refused> {
        self.step(TempoStep::hundredths(hundredths), moment)
    }

    /// A tempo by its value.
    pub(super) fn nudge_to(&mut self, tempo: Tempo, moment: &Moment) -> Result<Turn, Refused> {
        let Some((begun, first)) = self.nudged(moment) else { return refused("there is no tempo to change") };
        let set = self.start(begun.unwrap_or(first)).map(|start| start.set);
        let under_way = begun.and_then(|begun| self.beats_left(begun, moment)).map(|(grid, _)| grid.tempo);
        let own = self.strand.starts.get(first..).unwrap_or_default().iter();
        let next = own.take_while(|start| Some(start.set) == set).find_map(|start| start.repeat.tempo);
        match under_way.or(next) {
            Some(old) if old == tempo => Err(Refused(format!("the tempo is {tempo} already"))),
            Some(old) => self.step(TempoStep::between(old, tempo), moment),
            None => refused("there is no tempo to change"),
        }
    }

    /// The repeat under way, if it is of the set that a change is about, and the first start that has not begun.
    fn nudged(&self, moment: &Moment) -> Option<(Option<usize>, usize)> {
        let shown = self.shown(moment.now)?;
        let set = self.start(shown).map_or(0, |start| start.set);
        let begun =
            self.strand.at(moment.now).0.filter(|begun| self.start(*begun).is_some_and(|start| start.set == set));
        Some((begun, begun.map_or(shown, |begun| begun + 1)))
    }

    fn step(&mut self, step: TempoStep, moment: &Moment) -> Result<Turn, Refused> {
        let Some((begun, first)) = self.nudged(moment) else { return refused("there is no tempo to change") };
        let set = self.start(begun.unwrap_or(first)).map_or(0, |start| start.set);
        let as_before = (self.strand.starts.clone(), self.strand.laid.clone());
        let tempo = self
            .retime_all(begun, first, step, moment)
            .and_then(|tempo| tempo.ok_or_else(|| Refused("there is no tempo to change".to_owned())));
        let tempo = match tempo {
            Ok(tempo) => tempo,
            Err(refused) => {
                (self.strand.starts, self.strand.laid) = as_before;
                return Err(refused);
            }
        };
        match begun {
            Some(begun) => self.rejoin_after(begun),
            None => self.rejoin(first),
        }
        // From where the next start is now, not from where it was planned: a touch or a hold may have moved it.
        let after =
            |starts: &[Start]| begun.and_then(|begun| starts.get(begun)).map_or(Seconds::ZERO, |start| start.after);
        let longer = after(&self.strand.starts) - after(&as_before.0);
        if let Some(next) = self.strand.starts.get_mut(first) {
            if next.talk.first().is_some_and(|talk| talk.at >= moment.floor()) {
                next.talk.iter_mut().for_each(|placed| placed.at += longer);
            }
            let go = next.go + longer;
            self.set_go(first, go);
        }
        if let Some(nudge) = self.nudges.get_mut(set) {
            *nudge += step.shown();
        }
        if first < self.strand.starts.len() && first <= self.strand.held.unwrap_or(first) {
            self.lay(first, moment, &|_| false);
        }
        let happened = vec![Happened::Tempo { set, at: moment.now, tempo }];
        Ok(Turn::new(Rings::ALL, happened))
    }

    /// What is left of the repeat under way, and the later ones of its set; the tempo that is heard next, if any is.
    fn retime_all(
        &mut self,
        begun: Option<usize>,
        first: usize,
        step: TempoStep,
        moment: &Moment,
    ) -> Result<Option<Tempo>, Refused> {
        let set = self.start(begun.unwrap_or(first)).map(|start| start.set);
        let mut tempo = None;
        if let Some(begun) = begun {
            tempo = self.nudge_under_way(begun, step, moment)?;
        }
        for index in first..self.strand.starts.len() {
            let Some(start) = self.start(index).filter(|start| Some(start.set) == set) else { break };
            let Some(old) = start.repeat.tempo else { continue };
            let new = step.of(old)?;
            tempo = tempo.or(Some(new));
            self.retime(index, new)?;
        }
        Ok(tempo)
    }

    /// Offsets of joined repeats after a change of the one that has begun: they follow from the grid that is heard, which may
    /// be a piece that has no beat left but the one it begins on.
    fn rejoin_after(&mut self, begun: usize) {
        let last = self.strand.laid.get(begun).and_then(|laid| laid.grids.last());
        let anchor = self.start(begun).filter(|start| start.repeat.joins).zip(last).map(|(start, grid)| {
            let k = grid.tempo.first_at_or_after(start.touch - grid.origin);
            beat_time(grid.origin, k, grid.tempo) - start.touch
        });
        let Some(offset) = anchor else { return self.rejoin(begun) };
        if let Some(next) = self.strand.starts.get_mut(begun + 1) {
            next.repeat.offset = offset;
        }
        self.rejoin(begun + 1);
    }

    /// A repeat that has not begun, at another tempo.
    fn retime(&mut self, index: usize, tempo: Tempo) -> Result<(), Refused> {
        let water = self.layer.practice().water;
        let Some(start) = self.strand.starts.get(index) else { return Ok(()) };
        let Some(line) = self.layer.line(start) else { return Ok(()) };
        let repeat = at_tempo(&start.repeat, line, water, tempo, self.swimmer);
        let longer = repeat.predicted - start.repeat.predicted;
        let moves = repeat.joins || repeat.rest.is_some();
        let after = if moves { start.after + longer } else { start.after };
        let last = self.start(index + 1).is_none_or(|next| next.set != start.set);
        let after = if last && !moves { after.max(repeat.predicted) } else { after };
        if !repeat.joins && !last && repeat.predicted + SPARE > after {
            return refused("at that tempo the send-off cannot be made");
        }
        // The talk before the next set waits for a slower swimmer.
        let after = if last && !moves { after + longer.max(Seconds::ZERO) } else { after };
        if let Some(start) = self.strand.starts.get_mut(index) {
            (start.touch, start.after) = (start.go + repeat.predicted, after);
            start.repeat = repeat;
        }
        Ok(())
    }

    /// The grid that is heard of a repeat and its first beat from the moment on; none where none is left.
    fn beats_left(&self, index: usize, moment: &Moment) -> Option<(Grid, u64)> {
        self.beat_from(index, moment).filter(|(grid, k)| grid.beats.iter().any(|beat| u64::from(beat.k) >= *k))
    }

    /// Beats that are heard now: the first one from the moment on stays, the later ones follow at the new tempo. Their
    /// marks and what is said on them go with them. `None` where none are left.
    fn nudge_under_way(&mut self, index: usize, step: TempoStep, moment: &Moment) -> Result<Option<Tempo>, Refused> {
        let Some((grid, k)) = self.beats_left(index, moment) else { return Ok(None) };
        let new = step.of(grid.tempo)?;
        let anchor = beat_time(grid.origin, k, grid.tempo);
        let warp = |at: Seconds| if at <= anchor { at } else { anchor + stretched(at - anchor, grid.tempo, new) };
        let Some(start) = self.start(index).cloned() else { return Ok(None) };
        let touch = if start.touched.is_some() { start.touch } else { warp(start.touch) };
        let next = self.start(index + 1).map(|next| (next.go, next.set == start.set));
        let longer = touch - start.touch;
        let moves = start.repeat.joins || start.repeat.rest.is_some();
        let free = self.strand.held == Some(index + 1);
        if !moves && !free && next.is_some_and(|(go, same)| same && touch + SPARE > go) {
            return refused("at that tempo the next start comes before the touch");
        }
        if let Some(laid) = self.strand.laid.get_mut(index) {
            let (old, later): (Vec<Beat>, Vec<Beat>) = grid.beats.iter().partition(|beat| u64::from(beat.k) <= k);
            let moved = |beat: &Beat| Beat { k: (u64::from(beat.k) - k) as u32, ..*beat };
            let piece = Grid { origin: anchor, tempo: new, beats: later.iter().map(moved).collect() };
            if let Some(last) = laid.grids.iter_mut().rev().find(|grid| !grid.beats.is_empty()) {
                last.beats = old;
            }
            laid.grids.push(piece);
            let mut free = Seconds::ZERO;
            for cue in &mut laid.under {
                if !cue.kind.is_voice() {
                    cue.at = warp(cue.at);
                    continue;
                }
                if cue.at >= moment.floor() {
                    cue.at = warp(cue.at).max(free).max(moment.floor());
                }
                free = cue.at + cue.len + GAP;
            }
            laid.under.retain(|cue| cue.at < touch || cue.at < moment.floor());
        }
        if let Some(start) = self.strand.starts.get_mut(index) {
            let mut end = start.go;
            let mut begun = start.go;
            for length in &mut start.repeat.lengths {
                end += length.time;
                let warped = warp(end);
                length.time = warped - begun;
                begun = warped;
                length.tempo = length.tempo.map(|_| new);
            }
            start.repeat.tempo = Some(new);
            start.repeat.predicted += longer;
            start.touch = touch;
            let last = next.is_none_or(|(_, same)| !same);
            start.after += if moves {
                longer
            } else if last {
                longer.max(Seconds::ZERO)
            } else {
                Seconds::ZERO
            };
        }
        Ok(Some(new))
    }
}

/// A time that takes as many strokes at another tempo.
fn stretched(time: Seconds, old: Tempo, new: Tempo) -> Seconds {
    let num = i128::from(time.nanos()) * i128::from(new.num()) * i128::from(old.den());
    let den = i128::from(new.den()) * i128::from(old.num());
    #[expect(clippy::expect_used, reason = "a practice lasts at most a day, and tempos are within a factor of seven")]
    Seconds::from_nanos(i64::try_from(num / den).expect("a time within a practice"))
}
