//! What a whole lane swims, as whoever speaks to all of it at once has to see it: the starts of the lane, each from the first go
//! to the last touch. What is not the same for everybody is left out, so that nothing is said to one that is another's.

use super::{Lane, LaneStart};
use crate::practice::{Company, Line, Practice, Repeat, Set};
use crate::units::time::Seconds;
use std::ops::Range;

/// The practice of a lane as a whole. A start in which nobody swims is none.
pub fn together(lane: &Lane) -> Option<Practice> {
    let mut practice = lane.swimmers.first()?.practice.clone();
    (practice.name, practice.company) = (None, Company::Together);
    for (ordinal, set) in practice.sets_mut().enumerate() {
        let own: Vec<&Set> = lane.swimmers.iter().filter_map(|who| who.practice.sets().nth(ordinal)).collect();
        let far = |set: &&Set| set.repeats.iter().map(|repeat| repeat.distance.count()).sum::<u32>();
        // Who swims all of it stands for the lane; of several the first.
        let model = (0..own.len()).rev().max_by_key(|place| own.get(*place).map_or(0, far))?;
        set.lines.clone_from(&own.get(model)?.lines);
        common(&mut set.lines, &own);
        set.repeats = repeats(lane, ordinal, &own, model)?;
    }
    Some(practice)
}

/// Whose go a start of the lane begins with: the first who swims it.
pub fn first_of(start: &LaneStart) -> Option<usize> {
    start.swims.iter().position(Option::is_some)
}

/// The repeats of a set: those of the model, or of the first who swims where that one sits out.
fn repeats(lane: &Lane, ordinal: usize, own: &[&Set], model: usize) -> Option<Vec<Repeat>> {
    let laid = lane.sets.get(ordinal)?;
    let offset = |place: usize| lane.swimmers.get(place).map_or(Seconds::ZERO, |who| who.offset);
    let swum = |(index, start)| Some((index, start, first_of(start)?));
    let starts: Vec<(usize, &LaneStart, usize)> = laid.starts.iter().enumerate().filter_map(swum).collect();
    let mut all: Vec<Repeat> = Vec::new();
    for (place, (index, start, first)) in starts.iter().enumerate() {
        let swim_of = |who: usize| start.swims.get(who).cloned().flatten();
        let stands = if swim_of(model).is_some() { model } else { *first };
        let mut repeats = own.get(stands)?.repeats.get(swim_of(stands)?)?.to_vec();
        let go = start.at + offset(*first);
        // To the next start in which somebody swims; after the last one to where the lane goes on.
        let next = starts.get(place + 1).map(|(_, next, first)| next.at + offset(*first));
        let goes_on = || laid.starts.last().and_then(|last| Some(last.at + last.after?));
        let touch = |who| lane.touch(ordinal, *index, who).map(|touch| start.at + touch - go);
        let last_touch = (0..own.len()).filter_map(touch).max()?;
        let late = |who: usize| Some(touch(who)? + own.get(who)?.repeats.get(swim_of(who)?)?.last()?.uncertainty);
        let latest = (0..own.len()).filter_map(late).max()?;
        for repeat in &mut repeats {
            let same = start.swims.iter().zip(own).all(|(swim, set)| beats_as(repeat, swim.as_ref(), set));
            repeat.tempo = repeat.tempo.filter(|_| same);
        }
        let (last, before) = repeats.split_last_mut()?;
        let joined = before.iter().map(|repeat| repeat.predicted).sum::<Seconds>();
        last.behind = (last_touch - joined - last.predicted).max(Seconds::ZERO);
        last.uncertainty = latest - last_touch;
        last.interval = next.or_else(goes_on).map(|next| next - go - joined);
        all.extend(repeats);
    }
    let mut counted: Vec<(usize, u32)> = Vec::with_capacity(all.len());
    for repeat in &mut all {
        let here = (repeat.line, repeat.round);
        repeat.number = counted.iter().filter(|known| **known == here).count() as u32;
        counted.push(here);
    }
    Some(all)
}

/// Whether a swimmer who swims a start has the tempo of this repeat; who sits out does not mind.
fn beats_as(repeat: &Repeat, swim: Option<&Range<usize>>, set: &Set) -> bool {
    let own = swim.and_then(|swim| set.repeats.get(swim.clone())).unwrap_or_default();
    own.iter().filter(|other| other.line == repeat.line).all(|other| other.tempo == repeat.tempo)
}

/// Takes out of lines what is not the same for all; and the marks and beats, which are one swimmer's.
fn common(lines: &mut [Line], own: &[&Set]) {
    for (index, line) in lines.iter_mut().enumerate() {
        (line.beats, line.marks) = (None, false);
        let others: Vec<&Line> = own.iter().filter_map(|set| set.lines.get(index)).collect();
        // Who leaves out repeats has fewer values of the same ones.
        let all = || others.iter().filter(|other| other.repeats == line.repeats);
        let (tempos, paces) =
            (all().all(|other| other.tempos == line.tempos), all().all(|other| other.paces == line.paces));
        if !tempos {
            line.tempos.clear();
        }
        if !paces {
            line.paces.clear();
        }
        line.at_most = line.at_most.filter(|most| others.iter().all(|other| other.at_most == Some(*most)));
    }
}
