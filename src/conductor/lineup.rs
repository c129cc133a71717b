//! A lane under way: who leaves behind whom in each start, and who has gone and touched. The lane's clock is a strand like any
//! other; what hangs on it here is each swimmer's own. What a command does to it is in `lane`.

use super::command::{CourseCommand, Happened, OwnEvent, OwnKind};
use super::situation::{LanePlace, Situation, SwimmerIs};
use super::steered::Steered;
use crate::audio::synth;
use crate::lane::{Lane, LaneSwimmer, first_of};
use crate::timeline::lane::{CALL_BEFORE, LaneVoice, call};
use crate::timeline::start::Start;
use crate::timeline::strand::{Laid, Strand};
use crate::units::frame::PracticeFrame;
use crate::units::time::{SampleRate, Seconds};
use std::collections::VecDeque;
use std::ops::Range;

/// Who shares a lane, and what they are called.
#[derive(Clone, Copy, Debug)]
pub struct LaneScore<'a> {
    /// The lane as planned.
    pub lane: &'a Lane,
    /// What its swimmers are called.
    pub voice: &'a LaneVoice,
}

impl<'a> LaneScore<'a> {
    /// The swimmer with a number.
    pub fn swimmer(self, number: u32) -> Option<&'a LaneSwimmer> {
        self.lane.swimmers.iter().find(|swimmer| swimmer.number == number)
    }
}

/// One swimmer's place in a start of the lane.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LineupPlace {
    /// Which swimmer, from 0.
    pub(super) who: usize,
    /// How long after the lane's go they leave.
    pub(super) behind: Seconds,
    /// The time that is expected.
    pub(super) predicted: Seconds,
    /// What they swim, among the repeats of their own practice's set.
    pub(super) swims: Range<usize>,
    /// When they touched, as a key told it.
    pub(super) touched: Option<Seconds>,
    /// How long the clock stood still between their go and their touch.
    pub(super) stood: Seconds,
    /// Whether the record knows of their go.
    pub(super) gone: bool,
    /// Whether they were too late for their go, and leave last or not at all.
    pub(super) late: bool,
    /// Whether they do not leave at all.
    pub(super) missed: bool,
}

/// Who leaves behind whom, and how far: what commands change, and what every start from the next one on is made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct LaneOrderNow {
    /// The swimmers as they leave.
    pub(super) order: Vec<usize>,
    /// From one go to the next one's.
    pub(super) gap: Seconds,
    /// Who sits out, by swimmer.
    pub(super) out: Vec<bool>,
}

/// What taking a command back takes.
#[derive(Clone, Debug)]
pub(super) struct LaneBefore {
    pub(super) command: CourseCommand,
    /// Whether it moved the lane's clock, which then keeps what it was.
    pub(super) clock: bool,
    pub(super) lineups: Vec<Vec<LineupPlace>>,
    pub(super) arrangement: LaneOrderNow,
}

/// The swimmers of a lane as commands have put them.
#[derive(Debug)]
pub(super) struct LaneUnderWay<'a> {
    pub(super) score: LaneScore<'a>,
    pub(super) arrangement: LaneOrderNow,
    /// Who leaves in each of the clock's starts, in order; nobody where it is joined to the one before.
    pub(super) lineups: Vec<Vec<LineupPlace>>,
    /// Which start of which of the lane's sets each of the clock's is.
    pub(super) places: Vec<Option<(usize, usize)>>,
    /// How it was before the last commands, the newest at the end.
    pub(super) kept: VecDeque<LaneBefore>,
}

impl<'a> LaneUnderWay<'a> {
    /// As planned; `starts` are those of the lane's clock.
    pub(super) fn planned(score: LaneScore<'a>, starts: &[Start]) -> Self {
        let lane = score.lane;
        let mut laid = lane.sets.iter().enumerate().flat_map(|(set, laid)| {
            let swum = laid.starts.iter().enumerate().filter(|(_, start)| first_of(start).is_some());
            swum.map(move |(start, _)| (set, start))
        });
        let places = starts.iter().map(|start| if start.repeat.joined { None } else { laid.next() }).collect();
        let count = lane.swimmers.len();
        let arrangement = LaneOrderNow { order: (0..count).collect(), gap: lane.gap, out: vec![false; count] };
        let mut made = Self { score, arrangement, lineups: Vec::new(), places, kept: VecDeque::new() };
        made.lineups = (0..starts.len()).map(|index| made.arranged(index)).collect();
        made
    }

    /// Who leaves in a start by the arrangement as it is. Who sits a repeat out by the plan leaves their place free, who sits out
    /// by a command does not.
    pub(super) fn arranged(&self, index: usize) -> Vec<LineupPlace> {
        let found = self.places.get(index).copied().flatten();
        let laid = found.and_then(|(set, start)| Some((set, self.score.lane.sets.get(set)?.starts.get(start)?)));
        let Some((set, start)) = laid else { return Vec::new() };
        let LaneOrderNow { order, gap, out } = &self.arrangement;
        let present = order.iter().filter(|who| out.get(**who) == Some(&false));
        let of = |(rank, who): (i64, &usize)| {
            let swims = start.swims.get(*who)?.clone()?;
            let own = self.score.lane.swimmers.get(*who)?.practice.sets().nth(set)?;
            let predicted = own.repeats.get(swims.clone())?.iter().map(|repeat| repeat.predicted).sum();
            let behind = gap.scaled(rank, 1);
            let (touched, stood, gone, late, missed) = (None, Seconds::ZERO, false, false, false);
            Some(LineupPlace { who: *who, behind, predicted, swims, touched, stood, gone, late, missed })
        };
        let mut lineup: Vec<LineupPlace> = (0..).zip(present).filter_map(of).collect();
        let first = lineup.first().map_or(Seconds::ZERO, |first| first.behind);
        lineup.iter_mut().for_each(|place| place.behind = place.behind - first);
        lineup
    }

    /// The swimmer with a number.
    pub(super) fn numbered(&self, number: u32) -> Option<usize> {
        self.score.lane.swimmers.iter().position(|swimmer| swimmer.number == number)
    }

    pub(super) fn name(&self, who: usize) -> &'a str {
        self.score.lane.swimmers.get(who).map_or("", |swimmer| swimmer.name.as_str())
    }

    pub(super) fn is_out(&self, who: usize) -> bool {
        self.arrangement.out.get(who) == Some(&true)
    }

    pub(super) fn place(&self, index: usize, who: usize) -> Option<&LineupPlace> {
        self.lineups.get(index)?.iter().find(|place| place.who == who)
    }

    pub(super) fn place_mut(&mut self, index: usize, who: usize) -> Option<&mut LineupPlace> {
        self.lineups.get_mut(index)?.iter_mut().find(|place| place.who == who)
    }

    /// Who is called in a start: all who leave behind the clock's own go.
    fn called_in(&self, index: usize) -> impl Iterator<Item = &LineupPlace> {
        let places = self.lineups.get(index).into_iter().flatten();
        places.filter(|place| place.behind > Seconds::ZERO && !place.missed)
    }

    /// Whose touch of a start is waited for.
    pub(super) fn in_the_water(&self, index: usize) -> impl Iterator<Item = &LineupPlace> {
        let places = self.lineups.get(index).into_iter().flatten();
        places.filter(|place| !place.missed && !self.is_out(place.who))
    }

    /// Who leads a start, where that is another than the plan has, and was not told before.
    pub(super) fn leads_anew(&self, index: usize) -> Option<usize> {
        let first = |index: usize| {
            let leads = |place: &&LineupPlace| !place.missed && place.behind == Seconds::ZERO;
            Some(self.lineups.get(index)?.iter().find(leads)?.who)
        };
        let planned = |index: usize| {
            let (set, start) = self.places.get(index).copied().flatten()?;
            first_of(self.score.lane.sets.get(set)?.starts.get(start)?)
        };
        let opens = self.places.get(index).copied().flatten()?.1 == 0;
        let before = (0..index).rev().find(|before| planned(*before).is_some());
        let known = |of: &dyn Fn(usize) -> Option<usize>| before.and_then(of).filter(|_| !opens);
        let who = first(index)?;
        let as_planned = planned(index) == Some(who) && known(&first) == known(&planned);
        (known(&first) != Some(who) && !as_planned).then_some(who)
    }

    /// When somebody leaves in a start.
    pub(super) fn go(clock: &Steered<'_>, index: usize, place: &LineupPlace) -> Option<Seconds> {
        Some(clock.start(index)?.go + place.behind)
    }

    /// The last start of somebody whose go has been, and their place in it.
    pub(super) fn begun(&self, clock: &Steered<'_>, who: usize, now: Seconds) -> Option<(usize, &LineupPlace)> {
        let strand = &clock.strand;
        (strand.from..strand.limit()).rev().find_map(|index| {
            let place = self.place(index, who).filter(|place| !place.missed)?;
            (Self::go(clock, index, place)? <= now).then_some((index, place))
        })
    }

    /// The next start of somebody, and their place in it.
    pub(super) fn coming(&self, clock: &Steered<'_>, who: usize, now: Seconds) -> Option<(usize, &LineupPlace)> {
        let strand = &clock.strand;
        (strand.from..strand.starts.len()).find_map(|index| {
            let place = self.place(index, who).filter(|place| !place.missed)?;
            (Self::go(clock, index, place)? > now).then_some((index, place))
        })
    }

    /// The start before one, in which somebody swam and nobody keyed their touch, though another's was: who takes no touches
    /// at all owes none.
    pub(super) fn owed(&self, clock: &Steered<'_>, who: usize, begun: usize) -> Option<usize> {
        let before = (clock.strand.from..begun).rev().find(|index| self.place(*index, who).is_some())?;
        let own = self.place(before, who).filter(|place| place.touched.is_none() && !place.missed)?;
        let keyed = self.lineups.get(before)?.iter().any(|place| place.touched.is_some());
        (keyed && own.gone).then_some(before)
    }

    /// The last of the clock's starts that are swum with this one without a stop.
    pub(super) fn group_end(clock: &Steered<'_>, index: usize) -> usize {
        let joins = |index: &usize| clock.start(*index).is_some_and(|start| start.repeat.joins);
        let last = clock.strand.starts.len().saturating_sub(1);
        (index..last).find(|index| !joins(index)).unwrap_or(last)
    }

    /// What the record hears of one swimmer in a start.
    pub(super) fn own(&self, index: usize, who: usize, repeat: usize, kind: OwnKind) -> Option<Happened> {
        let set = self.places.get(index).copied().flatten()?.0;
        let number = self.score.lane.swimmers.get(who)?.number;
        Some(Happened::Own { number, own: OwnEvent { set, repeat, kind } })
    }

    /// The gos that have come since the record last heard.
    pub(super) fn goes(&mut self, clock: &Steered<'_>, position: PracticeFrame, rate: SampleRate) -> Vec<Happened> {
        self.gone(clock, &|go| (PracticeFrame::at(go, rate) < position).then_some(OwnKind::Go { at: go }))
    }

    /// Takes gos that the record does not know of as told, in the order in which they came: `kind` says what became of one.
    pub(super) fn gone(&mut self, clock: &Steered<'_>, kind: &dyn Fn(Seconds) -> Option<OwnKind>) -> Vec<Happened> {
        let mut told: Vec<(Seconds, usize, usize, usize, OwnKind)> = Vec::new();
        for index in clock.strand.from..clock.strand.limit() {
            let Some(start) = clock.start(index) else { break };
            for place in self.lineups.get_mut(index).into_iter().flatten() {
                let go = start.go + place.behind;
                let open = !place.gone && !place.missed;
                if let Some(kind) = kind(go).filter(|_| open) {
                    place.gone = true;
                    told.push((go, index, place.who, place.swims.start, kind));
                }
            }
        }
        told.sort_by_key(|(go, index, ..)| (*go, *index));
        told.into_iter().filter_map(|(_, index, who, repeat, kind)| self.own(index, who, repeat, kind)).collect()
    }

    /// The calls and gos of all who leave behind the first, as a strand on the lane's clock.
    pub(super) fn calls(&self, clock: &mut Steered<'_>) -> Strand {
        let Strand { starts, from, held, countdown, .. } = &clock.strand;
        let (from, held, countdown, limit) = (*from, *held, *countdown, clock.strand.limit());
        let starts = starts.clone();
        let of = (self.score.lane, self.score.voice);
        let mut laid: Vec<Laid> = Vec::with_capacity(starts.len());
        for (index, start) in starts.iter().enumerate() {
            let mut own = Laid::default();
            for place in self.called_in(index).filter(|_| (from..limit).contains(&index)) {
                let go = start.go + place.behind;
                own.before.extend(call(&mut clock.layer, of, place.who, self.arrangement.gap, go));
            }
            laid.push(own);
        }
        Strand { starts, laid, from, held, countdown, ..Strand::default() }
    }

    /// Whether a call or a follower's go sounds, or is due, in a stretch.
    pub(super) fn calls_within(&self, clock: &Steered<'_>, from: Seconds, to: Seconds) -> bool {
        let strand = &clock.strand;
        (strand.from..strand.limit()).any(|index| {
            let mut spans = self.called_in(index).filter_map(|place| Self::go(clock, index, place)).map(called);
            spans.any(|span| span.start < to && span.end > from)
        })
    }

    /// Fills in where everybody is.
    pub(super) fn fill(&self, clock: &Steered<'_>, situation: &mut Situation, now: Seconds) {
        // Who is late for a start is one of the swimmers, not the lane.
        (situation.gap, situation.late) = (Some(self.arrangement.gap), None);
        let mut lane: Vec<(bool, Seconds, usize, LanePlace)> = Vec::new();
        for (rank, who) in self.arrangement.order.iter().enumerate() {
            let Some(swimmer) = self.score.lane.swimmers.get(*who) else { continue };
            let begun = self.begun(clock, *who, now);
            let coming = self.coming(clock, *who, now);
            let held = coming.is_some_and(|(index, _)| index >= clock.strand.limit());
            let next_go = coming.filter(|_| !held).and_then(|(index, place)| Self::go(clock, index, place));
            let under_way = begun.filter(|(_, place)| place.touched.is_none());
            let out = self.is_out(*who);
            let whereabouts = match under_way.and_then(|(index, place)| Some((Self::go(clock, index, place)?, place))) {
                Some((go, place)) if !out => SwimmerIs::Swims { go, due: go + place.predicted },
                _ if out => SwimmerIs::Out,
                _ if coming.is_some_and(|(_, place)| place.late) => SwimmerIs::Late,
                _ => SwimmerIs::Wall,
            };
            let split = (clock.strand.from..clock.strand.limit()).rev().find_map(|index| {
                let place = self.place(index, *who)?;
                Some(place.touched? - Self::go(clock, index, place)? + place.stood)
            });
            let owes_touch = under_way.is_some_and(|(index, _)| self.owed(clock, *who, index).is_some());
            let place = LanePlace { number: swimmer.number, whereabouts, split, next_go, owes_touch };
            let order = coming.map_or(Seconds::ZERO, |(_, place)| place.behind);
            lane.push((out, order, rank, place));
        }
        lane.sort_by_key(|(out, order, rank, _)| (*out, *order, *rank));
        situation.lane = lane.into_iter().map(|(.., place)| place).collect();
    }
}

/// From the beginning of a call to the end of the go.
fn called(go: Seconds) -> Range<Seconds> {
    go - CALL_BEFORE..go + synth::GO
}
