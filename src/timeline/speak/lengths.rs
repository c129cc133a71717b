//! What the lengths of a repeat are, where they differ: in the announcement of their line, before each go, in the glide.

use super::runs::{cycle, runs};
use super::{Announcer, KnownDrills, Utterance, announce};
use crate::pack::library::Spoken;
use crate::practice::{Drill, LengthKind, Line, Repeat};
use crate::script::{BodyPart, Effort, Stroke};
use crate::units::swim::Distance;
use std::sync::Arc;

/// What can be kept in mind from the wall to the water.
const MOST: usize = 4;
/// What can be listened to at all.
const ALL_TOLD: usize = 8;

/// In what the lengths of a line differ from each other, or from the line: nothing else has to be said of one.
struct Differ {
    moved: bool,
    stroke: bool,
    effort: bool,
}

impl Differ {
    fn of(line: &Line) -> Self {
        let drill = |drill: &Drill| Arc::clone(&drill.how.id);
        let own = (line.drill.as_ref().map(drill), line.part);
        let moved = |kind: &LengthKind| (drill_of(kind, line).map(drill), kind.part.unwrap_or(line.part)) != own;
        let stroke =
            |kind: &LengthKind| kind.stroke.is_some() && stroke_of(kind, line) != line.stroke.unwrap_or(Stroke::Crawl);
        let effort = |kind: &LengthKind| kind.effort.is_some() && kind.effort != line.effort;
        Self {
            moved: line.kinds.iter().any(moved),
            stroke: line.kinds.iter().any(stroke),
            effort: line.kinds.iter().any(effort),
        }
    }
}

fn drill_of<'l>(kind: &'l LengthKind, line: &'l Line) -> Option<&'l Drill> {
    kind.drill.as_ref().or(line.drill.as_ref())
}

fn stroke_of(kind: &LengthKind, line: &Line) -> Stroke {
    kind.stroke.or(line.stroke).unwrap_or(Stroke::Crawl)
}

/// What a length of a line is; none where all are alike.
fn kind_of(line: &Line, length: u32) -> Option<&LengthKind> {
    line.kinds.get((length as usize).checked_rem(line.kinds.len())?)
}

/// How far one length of a repeat goes.
fn each(repeat: &Repeat) -> Option<Distance> {
    Distance::new(repeat.distance.count().checked_div(repeat.count_lengths())?, repeat.distance.unit())
}

fn times_of(distance: Distance, times: u32) -> Distance {
    distance.count().checked_mul(times).and_then(|all| Distance::new(all, distance.unit())).unwrap_or(distance)
}

impl Announcer<'_> {
    /// "Fist, then swim"; "two times: fist, then swim"; "one hundred metres swim, then fifty metres kick": what the lengths of a
    /// repeat are, the longest form first. Nothing where only the focus changes.
    pub fn in_turn(self, line: &Line, repeat: &Repeat) -> Vec<Utterance> {
        let differ = Differ::of(line);
        let what = |length| kind_of(line, length).map(|kind| self.what(kind, line, &differ, name));
        let all = runs((0..repeat.count_lengths()).filter_map(what));
        if all.iter().any(|(words, _)| words.is_empty()) {
            return Vec::new();
        }
        // Length by length needs no distance.
        let far = all.iter().any(|(_, lengths)| *lengths > 1) && all.len() > 1;
        let each = each(repeat).filter(|_| far);
        let run = |(index, (words, lengths)): (usize, &(Vec<Spoken>, u32))| {
            let then = (index > 0).then(|| self.word("then", "then"));
            let far = each.map_or_else(Vec::new, |each| self.distance(times_of(each, *lengths)));
            then.into_iter().chain(far).chain(words.clone()).collect::<Vec<_>>()
        };
        let told: Vec<Vec<Spoken>> = all.iter().enumerate().map(run).collect();
        let first = |many: usize| told.iter().take(many).flatten().cloned();
        let on = || self.word("and-so-on", "and so on");
        let cycle = cycle(&all);
        let whole = match cycle.times {
            Some(times) if times > 1 => Utterance::of("in-turn", self.times(times)).then(first(cycle.of)),
            None if all.len() > MOST => Utterance::of("in-turn", first(cycle.of).chain([on()])),
            _ => Utterance::of("in-turn", first(all.len())),
        };
        let begun = (cycle.of > 2).then(|| Utterance::of("in-turn", first(2).chain([on()])));
        std::iter::once(whole).chain(begun).filter(|said| !said.is_empty()).collect()
    }

    /// "Swim", in the glide of a length that is not like the one before.
    pub fn turns_to(self, line: &Line, length: u32) -> Option<Utterance> {
        let differ = Differ::of(line);
        let what = |length| Some(self.what(kind_of(line, length)?, line, &differ, name));
        let (now, before) = (what(length)?, what(length.checked_sub(1)?)?);
        (now != before && !now.is_empty()).then(|| Utterance::of("turns-to", now))
    }

    /// What the lengths of a line are, each drill in full where it has not been `explained`: one by one while they are few, else
    /// neighbours that are alike as one, and a list that comes again once.
    pub(super) fn lengths(self, line: &Line, repeats: &[&Repeat], explained: &mut KnownDrills) -> Vec<Utterance> {
        let longest = repeats.iter().map(|repeat| repeat.count_lengths()).max().unwrap_or(0);
        let differ = Differ::of(line);
        let swum: Vec<&LengthKind> = line.kinds.iter().take(longest as usize).collect();
        let phrase = |kind: &LengthKind| Some(&line.focus.get(kind.focus?)?.id);
        let alike = |kind: &&LengthKind| (self.what(kind, line, &differ, name), phrase(kind));
        let all = runs(swum.iter().map(alike));
        if swum.len() <= MOST && all.len() == swum.len() {
            let numbered = swum.len() > 1;
            let one = |(number, kind): (u32, &&LengthKind)| {
                let id = format!("length-{number}");
                let length = numbered.then(|| self.word(&id, &id.replace('-', " ")));
                Utterance::of(id, length.into_iter().chain(self.in_full(kind, line, &differ, explained)))
            };
            return (1..).zip(&swum).map(one).collect();
        }
        let cycle = cycle(&all);
        let within: u32 = all.iter().take(cycle.of).map(|(_, lengths)| lengths).sum();
        let same = repeats.iter().all(|repeat| repeat.count_lengths() == longest);
        let whole = same && longest.checked_rem(within) == Some(0);
        let times = longest.checked_div(within).filter(|times| whole && *times > 1);
        // "Each two times", beside "four times two hundred metres".
        let one_by_one = (repeats.len() > 1).then(|| self.word("each", "each"));
        let times = times.map(|times| one_by_one.into_iter().chain(self.times(times)));
        let mut said: Vec<Utterance> = times.map(|times| Utterance::of("lengths", times)).into_iter().collect();
        let each = repeats.first().and_then(|repeat| each(repeat));
        let mut first = 0;
        for (index, (_, lengths)) in all.iter().take(cycle.of).enumerate() {
            let Some(kind) = swum.get(first) else { break };
            first += *lengths as usize;
            let new = drill_of(kind, line).is_some_and(|drill| !explained.contains(&drill.how.id));
            if index >= ALL_TOLD && !new {
                continue;
            }
            let then = (index > 0).then(|| self.word("then", "then"));
            let far = each.map_or_else(Vec::new, |each| self.distance(times_of(each, *lengths)));
            let words = then.into_iter().chain(far).chain(self.in_full(kind, line, &differ, explained));
            said.push(Utterance::of("lengths", words));
        }
        let more = cycle.of > ALL_TOLD || !whole && longest > within;
        said.extend(more.then(|| self.say("and-so-on", "and so on")));
        said
    }

    /// A length for the announcement: its drill in full, its phrase.
    fn in_full(self, kind: &LengthKind, line: &Line, differ: &Differ, explained: &mut KnownDrills) -> Vec<Spoken> {
        let mut words = self.what(kind, line, differ, |drill| announce::named(drill, explained));
        words.extend(kind.focus.and_then(|focus| Some(line.focus.get(focus)?.full.clone())));
        words
    }

    /// What a length is, in a word or two: nothing where only its focus is its own.
    fn what(
        self,
        kind: &LengthKind,
        line: &Line,
        differ: &Differ,
        mut drilled: impl FnMut(&Drill) -> Spoken,
    ) -> Vec<Spoken> {
        let part = kind.part.unwrap_or(line.part);
        let drill = drill_of(kind, line).filter(|_| differ.moved);
        let plain = drill.is_none() && part == BodyPart::Swim;
        let mut words = Vec::new();
        // "Backstroke kick", as it is said.
        if differ.stroke && (kind.stroke.is_some() || plain) {
            words.push(self.one_of("stroke", &Stroke::ALL, stroke_of(kind, line)));
        }
        match drill {
            Some(drill) => words.insert(0, drilled(drill)),
            None if differ.moved && part != BodyPart::Swim => words.push(self.one_of("part", &BodyPart::ALL, part)),
            None if differ.moved && words.is_empty() => words.push(self.word("swim", "swim")),
            None => {}
        }
        if differ.effort {
            // Without a word, a pace or a beat a length is swum as steady.
            let steady = (line.paces.is_empty() && line.tempos.is_empty()).then_some(Effort::Steady);
            let else_as = line.effort.or(steady).filter(|_| words.is_empty());
            words.extend(kind.effort.or(else_as).map(|effort| self.effort(effort)));
        }
        let any = differ.moved || differ.stroke || differ.effort;
        if any && words.is_empty() {
            words.push(self.word("swim", "swim"));
        }
        words
    }
}

/// What a drill is called: its short name, where it has one.
fn name(drill: &Drill) -> Spoken {
    announce::name(drill)
}
