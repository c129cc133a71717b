//! The lines of a set as they are announced: each with its own manner, in the order swum, and none longer than can be listened to.

use super::announce::{drill_id, drills, named};
use super::runs::{cycle, runs};
use super::{Announcer, KnownDrills, Utterance};
use crate::practice::{Leave, Line, Practice, Repeat, Set};
use crate::script::{Far, Rest};
use crate::timeline::beats::audible;
use crate::units::time::Seconds;

/// Of so many lines everything is said; of more what each one is, and what holds for all.
const MOST: usize = 4;
/// So many are listened to at all: each is named before its go.
const ALL_TOLD: usize = 8;

impl Announcer<'_> {
    /// What is swum in a set, line by line; lines that are alike as one, a list that comes again once. Each drill in full where it
    /// has not been `explained`.
    pub(super) fn swims(self, practice: &Practice, set: &Set, explained: &mut KnownDrills) -> Vec<Utterance> {
        let facts: Vec<_> = (0..set.lines.len()).map(|index| self.facts(practice, set, index)).collect();
        let own = |index| set.repeats.iter().filter(move |repeat| repeat.line == index);
        let alike = |index: usize| {
            let line = set.lines.get(index)?;
            let lengths = own(index).next().map(|repeat| self.in_turn(line, repeat));
            Some((self.line(line, 1, None), line.drill.as_ref().map(|drill| &drill.how.id), lengths, facts.get(index)?))
        };
        let groups = runs((0..set.lines.len()).map(alike));
        let cycle = cycle(&groups);
        let times = cycle.times.filter(|times| *times > 1 && cycle.of > 1);
        let told = if times.is_some() { cycle.of } else { groups.len() };
        let mut spoken: Vec<_> = times.map(|times| Utterance::of("times", self.times(times))).into_iter().collect();
        let leaves: Vec<_> = (0..set.lines.len()).map(|index| self.leave(leaves(set, index))).collect();
        // How many lines come before the list comes again.
        let round: usize = groups.iter().take(told).map(|(_, count)| *count as usize).sum();
        let (mut first, mut last) = (0, None);
        // Lines that leave alike say so once, behind the last of them; what holds for all is said with the first.
        let mut before: &[Utterance] = &[];
        for (index, (_, count)) in groups.iter().enumerate().take(told) {
            let next = first + *count as usize;
            let Some((line, own_facts)) = set.lines.get(first).zip(facts.get(first)) else { break };
            if index < ALL_TOLD || drills(line).any(|drill| !explained.contains(&drill.how.id)) {
                let then = (index > 0).then(|| self.word("then", "then"));
                let repeats = line.repeats.saturating_mul(*count);
                spoken.push(Utterance::of("swim", then.into_iter().chain(self.line(line, repeats, last))));
                let drill = line.drill.as_ref().map(|drill| Utterance::of(drill_id(drill), [named(drill, explained)]));
                let drilled = last.is_some_and(|last: &Line| last.drill.is_some());
                spoken.extend(drill.or_else(|| drilled.then(|| self.say("whole-stroke", "whole stroke"))));
                spoken.extend(self.lengths(line, &own(first).collect::<Vec<_>>(), explained));
            }
            if told <= MOST {
                let leave = leaves.get(first).filter(|leave| index + 1 == told || leaves.get(next) != Some(leave));
                // Where a list comes again but leaves otherwise, nothing is promised.
                let again = leaves.iter().skip(first).step_by(if times.is_some() { round } else { usize::MAX });
                let leave = leave.filter(|leave| again.clone().all(|later| later == *leave || later.is_empty()));
                spoken.extend(leave.map(|leave| Utterance::of("leave", leave.iter().cloned())));
                spoken.extend(own_facts.iter().filter(|fact| !before.contains(fact)).cloned());
            }
            (first, last, before) = (next, Some(line), own_facts);
        }
        if told > MOST {
            spoken.extend((told > ALL_TOLD).then(|| self.say("and-so-on", "and so on")));
            let shared = leaves.first().filter(|first| leaves.iter().all(|leave| leave == *first));
            spoken.extend(shared.map(|leave| Utterance::of("leave", leave.iter().cloned())));
            let all = |fact: &&Utterance| facts.iter().all(|facts| facts.contains(fact));
            spoken.extend(facts.first().into_iter().flatten().filter(all).cloned());
        }
        spoken
    }

    /// What is said of a line beside what it is.
    fn facts(self, practice: &Practice, set: &Set, index: usize) -> Vec<Utterance> {
        let Some(line) = set.lines.get(index) else { return Vec::new() };
        // The pace of a hundred is the time it is due in.
        let hundreds = matches!(&line.far, Far::Distances(each) if each.iter().all(|distance| distance.count() == 100));
        let told = !hundreds || line.paces.len() > 1;
        let mut facts: Vec<_> = told.then(|| Utterance::of("pace", self.paces(line))).into_iter().collect();
        // A tempo without a beat is nothing to swim to.
        facts.extend(audible(line, practice.audience).then(|| Utterance::of("tempo", self.tempos(line))));
        let first = set.repeats.iter().find(|repeat| repeat.line == index).filter(|_| !line.paces.is_empty());
        facts.extend(first.map(|first| self.due(first.predicted)));
        facts.extend(self.how(line, practice.audience.in_ear()));
        facts
    }
}

/// When the repeats of a line leave, as it is heard: nobody can promise a rest, but the clock can be told where it is the same
/// each time. After the last repeat of a round another rest can be written, so those count only where there are no others.
pub(super) fn leaves(set: &Set, index: usize) -> Leave {
    let Some(line) = set.lines.get(index) else { return Leave::Open };
    // From the last go, not from a join: that is what the pace clock shows.
    let mut swum = Seconds::ZERO;
    let mut on = |repeat: &Repeat| {
        swum = if repeat.joined { swum } else { Seconds::ZERO };
        swum += repeat.interval.unwrap_or(Seconds::ZERO);
        repeat.interval.map(|_| swum)
    };
    let intervals: Vec<_> = set.repeats.iter().map(&mut on).collect();
    let pairs = || {
        let pairs = set.repeats.iter().zip(set.repeats.iter().skip(1)).zip(&intervals);
        pairs.filter(|((repeat, _), _)| repeat.line == index).map(|((repeat, next), on)| (repeat, next, *on))
    };
    // Nothing follows the last of a list.
    if set.lines.len() > 1 && pairs().next().is_none() {
        return Leave::Open;
    }
    let within: Vec<_> = pairs().filter(|(repeat, next, _)| repeat.round == next.round).collect();
    let pairs = if within.is_empty() { pairs().collect() } else { within };
    let joined = pairs.iter().any(|(repeat, ..)| repeat.joined);
    let mut intervals = pairs.iter().map(|(.., on)| *on);
    let told = |interval: &Seconds| *interval == interval.ceil_to(Seconds::from_secs(1));
    match (line.leave, intervals.next().flatten().filter(told)) {
        (Leave::Rest(Rest::Fixed(Seconds::ZERO)) | Leave::Open, _) => line.leave,
        (Leave::SendOff(_), _) if !joined => line.leave,
        (Leave::Rest(_) | Leave::SendOff(_), Some(first)) if intervals.all(|interval| interval == Some(first)) => {
            Leave::SendOff(first)
        }
        (Leave::Rest(_) | Leave::SendOff(_), _) => Leave::Open,
    }
}
