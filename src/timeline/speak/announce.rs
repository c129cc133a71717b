//! What is said of sets and lines: the announcements of a practice, from facts that the announcer can speak.

use super::{Announcer, Utterance, centis};
use crate::pack::library::Spoken;
use crate::practice::{Drill, Leave, LengthKind, Line, Practice, Set};
use crate::script::{BodyPart, Breathe, Change, CountOn, Far, Gear, Phase, Rest, Stroke, Test};
use crate::timeline::beats::audible;
use crate::units::time::Seconds;
use std::rc::Rc;

impl Announcer<'_> {
    /// Everything that is said of a set before its first go.
    /// Drills that an earlier set explained are called by their names.
    pub fn set(self, practice: &Practice, set: &Set, first: bool) -> Vec<Utterance> {
        let mut explained = explained_before(practice, set);
        let mut spoken = Vec::new();
        let title = self.title(set);
        let next = (!first).then(|| self.word("next", "next"));
        spoken.push(Utterance::of("set", next.into_iter().chain(title)));
        if set.rounds > 1 {
            let id = format!("rounds-{}", set.rounds);
            spoken.push(self.say(&id, &format!("{} rounds", set.rounds)));
        }
        // Lines that leave alike say so once, behind the last of them; what holds for all is said with the first.
        let mut before = Vec::new();
        for (index, line) in set.lines.iter().enumerate() {
            spoken.push(self.line(line));
            let drill = line.drill.as_ref().map(|drill| Utterance::of(drill_id(drill), [named(drill, &mut explained)]));
            let drilled =
                index.checked_sub(1).and_then(|above| set.lines.get(above)).is_some_and(|above| above.drill.is_some());
            spoken.extend(drill.or_else(|| drilled.then(|| self.say("whole-stroke", "whole stroke"))));
            let leave = self.leave(leaves(set, index));
            if set.lines.get(index + 1).is_none_or(|_| self.leave(leaves(set, index + 1)) != leave) {
                spoken.push(Utterance::of("leave", leave));
            }
            let mut facts = vec![Utterance::of("pace", self.paces(line))];
            // A tempo without a beat is nothing to swim to.
            facts.extend(audible(line, practice.audience).then(|| Utterance::of("tempo", self.tempos(line))));
            let first = set.repeats.iter().find(|repeat| repeat.line == index).filter(|_| !line.paces.is_empty());
            facts.extend(first.map(|first| self.due(first.predicted)));
            facts.extend(self.how(line, &mut explained));
            spoken.extend(facts.iter().filter(|fact| !before.contains(*fact)).cloned());
            before = facts;
        }
        spoken.retain(|utterance| !utterance.is_empty());
        spoken
    }

    /// What a set is called: its title where that is recorded, else its part in the practice.
    fn title(self, set: &Set) -> Option<Spoken> {
        let phase = set.phase.and_then(|phase| self.known(&format!("phase-{}", phase_word(phase))));
        set.title.clip.map(|_| set.title.clone()).or(phase)
    }

    /// "Easy start, continued": a set that has been cut.
    pub fn goes_on(self, set: &Set) -> Utterance {
        Utterance::of("continued", self.title(set).into_iter().chain([self.word("continued", "continued")]))
    }

    /// "eight times fifty metres kick easy": what a line is.
    pub fn line(self, line: &Line) -> Utterance {
        let listed = matches!(&line.far, Far::Distances(each) if each.len() > 1);
        let mut parts = if line.repeats > 1 && !listed { self.times(line.repeats) } else { Vec::new() };
        parts.extend(self.fars(line));
        parts.extend(self.manner(line));
        Utterance::of("swim", parts)
    }

    /// How far the repeats of a line go: the same each time, or one after another.
    fn fars(self, line: &Line) -> Vec<Spoken> {
        match &line.far {
            Far::Distances(each) => match each.as_slice() {
                [one] => self.distance(*one),
                all => all.iter().flat_map(|distance| self.distance(*distance)).collect(),
            },
            Far::Time(time) => {
                let minutes = (time.nanos() / Seconds::from_secs(60).nanos()) as u32;
                match self
                    .known(&format!("minutes-{minutes}"))
                    .filter(|_| *time == Seconds::from_secs(60 * i64::from(minutes)))
                {
                    Some(whole) => vec![whole],
                    None => self.clock(*time).into_iter().chain([self.word("minutes", "minutes")]).collect(),
                }
            }
            // Once around is a distance: there is nothing to count.
            Far::Course { lap, laps: 1 } => self.distance(*lap),
            Far::Course { lap, laps } => {
                let spoken = match self.known(&format!("laps-{laps}")) {
                    Some(whole) => vec![whole],
                    None => self.number(*laps).into_iter().chain([self.word("laps", "laps")]).collect(),
                };
                spoken.into_iter().chain(self.distance(*lap)).collect()
            }
        }
    }

    /// The part, the stroke and the effort of a line, where they are not the plain crawl.
    fn manner(self, line: &Line) -> impl Iterator<Item = Spoken> {
        let part = (line.part != BodyPart::Swim).then(|| self.one_of("part", &BodyPart::ALL, line.part));
        let stroke = line.stroke.map(|stroke| self.one_of("stroke", &Stroke::ALL, stroke));
        let effort = line.effort.map(|effort| self.effort(effort));
        [part, stroke, effort].into_iter().flatten()
    }

    /// "tempo one point three, down to zero point nine five".
    fn tempos(self, line: &Line) -> Vec<Spoken> {
        let (Some(first), Some(last)) = (line.tempos.first(), line.tempos.last()) else { return Vec::new() };
        let mut parts = self.tempo_parts(*first, line.per_minute);
        if last == first {
            return parts;
        }
        // What is spoken rises or falls: seconds fall as strokes a minute rise.
        let falls = (last.as_f64() < first.as_f64()) != line.per_minute;
        let to = if falls { self.word("down-to", "down to") } else { self.word("up-to", "up to") };
        let target = if line.per_minute {
            self.rate(*last)
        } else {
            let (whole, hundredths) = centis(*last);
            self.number(whole).into_iter().chain([self.point(hundredths)]).collect()
        };
        parts.push(to);
        parts.extend(target);
        parts
    }

    /// "pace two oh five per hundred", and where it leads to.
    fn paces(self, line: &Line) -> Vec<Spoken> {
        let (Some(first), Some(last)) = (line.paces.first(), line.paces.last()) else { return Vec::new() };
        let mut parts = self.pace(*first);
        if first != last {
            parts.push(self.word("to", "to"));
            parts.extend(self.clock(last.per_hundred()));
        }
        parts
    }

    pub(super) fn leave(self, leave: Leave) -> Vec<Spoken> {
        let seconds = |time: Seconds| time.nanos() / 1_000_000_000;
        match leave {
            Leave::SendOff(time) => match self.known(&format!("on-{}", seconds(time))) {
                Some(whole) => vec![whole],
                None => std::iter::once(self.word("on", "on")).chain(self.clock(time)).collect(),
            },
            Leave::Rest(Rest::Fixed(Seconds::ZERO)) => vec![self.word("straight-on", "straight on, no stop")],
            // A rest that is not the same each time is heard when it comes.
            Leave::Rest(_) | Leave::Open => Vec::new(),
        }
    }

    /// What is new in a line after another one of the same set: only that, since it must fit into a rest.
    pub fn turn_to(self, line: &Line, before: &Line) -> Vec<Utterance> {
        let mut spoken = Vec::new();
        let manner = |line: &Line| (line.part, line.stroke, line.effort);
        if line.far != before.far || manner(line) != manner(before) {
            spoken.push(Utterance::of("swim", self.fars(line).into_iter().chain(self.manner(line))));
        }
        match (&line.drill, &before.drill) {
            // How it is done was said before the set.
            (Some(drill), _) if line.drill != before.drill => {
                spoken.push(Utterance::of(drill_id(drill), [name(drill)]))
            }
            (None, Some(_)) => spoken.push(self.say("whole-stroke", "whole stroke")),
            _ => {}
        }
        spoken.extend(line.at_most.filter(|most| before.at_most != Some(*most)).map(|most| self.at_most(most)));
        spoken
    }

    /// How a line is swum: lengths, breathing, looking ahead, counts, changes of focus.
    fn how(self, line: &Line, explained: &mut Vec<Rc<str>>) -> Vec<Utterance> {
        let mut spoken = Vec::new();
        for (number, kind) in (1..).zip(&line.kinds) {
            spoken.push(self.kind(number, kind, line, explained));
        }
        spoken.extend(line.breathe.map(|breathe| self.breathe(breathe)));
        if let Some(n) = line.sight {
            spoken.push(self.say(&format!("sight-every-{n}"), &format!("look ahead every {n} strokes")));
        }
        spoken.extend(line.at_most.map(|most| self.at_most(most)));
        spoken.extend(line.count.map(|count| match count {
            CountOn::LastLength => self.say("count-last-length", "count the strokes of the last length"),
            CountOn::EachLength => self.say("count-each-length", "count the strokes of each length"),
        }));
        spoken.extend(line.test.map(|test| match test {
            Test::Time => self.say("test-time", "timed swim, read the clock when you touch"),
            Test::Count => self.say("test-count", "count your strokes"),
        }));
        if let Some(faster) = line.second_half {
            let word = if faster > Seconds::ZERO { "faster" } else { "slower" };
            spoken.push(self.say(&format!("second-half-{word}"), &format!("second half {word}")));
        }
        let change = match line.change {
            Some(Change::Length) => Some(("focus-each-length", "new focus each length")),
            Some(Change::Repeat) => Some(("focus-each-repeat", "new focus each repeat")),
            Some(Change::Round | Change::Strokes(_)) => Some(("focus-changes", "the focus changes")),
            Some(Change::Set) | None => None,
        };
        spoken.extend(change.map(|(id, text)| self.say(id, text)));
        spoken
    }

    /// "fist, then swim": what the lengths of a repeat are, in turn, where they differ and are few enough to be kept in mind.
    pub fn in_turn(self, line: &Line) -> Option<Utterance> {
        const MOST: usize = 4;
        let mut kinds: Vec<Vec<Spoken>> = line.kinds.iter().map(|kind| self.what(kind, line)).collect();
        kinds.dedup();
        let told = kinds.len() > 1 && kinds.len() <= MOST && kinds.iter().all(|kind| !kind.is_empty());
        told.then(|| {
            let then = |(index, kind): (usize, Vec<Spoken>)| {
                (index > 0).then(|| self.word("then", "then")).into_iter().chain(kind)
            };
            Utterance::of("in-turn", kinds.into_iter().enumerate().flat_map(then))
        })
    }

    /// "swim", in the glide of a length that is not like the one before.
    pub fn turns_to(self, line: &Line, length: u32) -> Option<Utterance> {
        let kind = |length: u32| line.kinds.get(length as usize % line.kinds.len().max(1));
        let (now, before) = (self.what(kind(length)?, line), self.what(kind(length.checked_sub(1)?)?, line));
        (now != before && !now.is_empty()).then(|| Utterance::of("turns-to", now))
    }

    /// What a length is, in a word or two: nothing where only its focus is its own.
    fn what(self, kind: &LengthKind, line: &Line) -> Vec<Spoken> {
        let moved = line.kinds.iter().any(|kind| kind.drill.is_some() || kind.part.is_some());
        let part = kind.part.filter(|part| *part != BodyPart::Swim);
        let mut words = match (&kind.drill, part) {
            (Some(drill), _) => vec![name(drill)],
            (None, Some(part)) => vec![self.one_of("part", &BodyPart::ALL, part)],
            (None, None) if moved && kind.stroke.is_none() => vec![self.word("swim", "swim")],
            (None, None) => Vec::new(),
        };
        words.extend(kind.stroke.map(|stroke| self.one_of("stroke", &Stroke::ALL, stroke)));
        words.extend(kind.effort.map(|effort| self.effort(effort)));
        words
    }

    /// "at most nineteen strokes a length".
    pub fn at_most(self, strokes: u32) -> Utterance {
        let words = [self.word("at-most", "at most")].into_iter().chain(self.number(strokes));
        Utterance::of("at-most", words.chain([self.word("strokes-a-length", "strokes a length")]))
    }

    /// "length two, whole stroke, reach forward".
    fn kind(self, number: u32, kind: &LengthKind, line: &Line, explained: &mut Vec<Rc<str>>) -> Utterance {
        let mut parts = vec![self.word(&format!("length-{number}"), &format!("length {number}"))];
        match &kind.drill {
            Some(drill) => parts.push(named(drill, explained)),
            None if kind.part == Some(BodyPart::Swim) || line.kinds.iter().any(|kind| kind.drill.is_some()) => {
                parts.push(self.word("whole-stroke", "whole stroke"));
            }
            None => {}
        }
        // A whole swim among kicks is the whole stroke, which has been said.
        let part = kind.part.filter(|part| *part != BodyPart::Swim);
        parts.extend(part.map(|part| self.one_of("part", &BodyPart::ALL, part)));
        parts.extend(kind.stroke.map(|stroke| self.one_of("stroke", &Stroke::ALL, stroke)));
        parts.extend(kind.effort.map(|effort| self.effort(effort)));
        parts.extend(kind.focus.and_then(|focus| Some(line.focus.get(focus)?.full.clone())));
        Utterance::of(format!("length-{number}"), parts)
    }

    fn breathe(self, breathe: Breathe) -> Utterance {
        match breathe {
            Breathe::Every(n, None) => self.say(&format!("breathe-every-{n}"), &format!("breathe every {n}")),
            Breathe::Every(n, Some(side)) => {
                let side = side.word();
                self.say(&format!("breathe-every-{n}-{side}"), &format!("breathe every {n}, first to the {side}"))
            }
            Breathe::Sides { .. } => self.say("breathe-sides", "breathe to one side, then to the other"),
            Breathe::ByLength => self.say("breathe-by-length", "change the breathing side each length"),
            Breathe::ByRepeat => self.say("breathe-by-repeat", "change the breathing side each repeat"),
        }
    }

    /// Gear to be put on or taken off between two lines.
    pub fn gear(self, before: &[Gear], now: &[Gear]) -> Option<Utterance> {
        let change = |(word, gear): &(&str, Gear)| match (before.contains(gear), now.contains(gear)) {
            (false, true) => Some(self.word(&format!("{word}-on"), &format!("{word} on"))),
            (true, false) => Some(self.word(&format!("{word}-off"), &format!("{word} off"))),
            _ => None,
        };
        let parts: Vec<Spoken> = Gear::ALL.iter().filter_map(change).collect();
        (!parts.is_empty()).then(|| Utterance::of("gear", parts))
    }
}

/// When the repeats of a line leave, as it is heard: nobody can promise a rest, but the clock can be told where it is the same
/// each time. After the last repeat of a round another rest can be written, so those count only where there are no others.
fn leaves(set: &Set, index: usize) -> Leave {
    let Some(line) = set.lines.get(index) else { return Leave::Open };
    let pairs = || set.repeats.iter().zip(set.repeats.iter().skip(1)).filter(|(repeat, _)| repeat.line == index);
    let within: Vec<_> = pairs().filter(|(repeat, next)| repeat.round == next.round).collect();
    let pairs = if within.is_empty() { pairs().collect() } else { within };
    let mut intervals = pairs.iter().map(|(repeat, _)| repeat.interval);
    let told = |interval: &Seconds| *interval == interval.ceil_to(Seconds::from_secs(1));
    match (line.leave, intervals.next().flatten().filter(told)) {
        (Leave::Rest(Rest::Fixed(Seconds::ZERO)) | Leave::SendOff(_) | Leave::Open, _) => line.leave,
        (Leave::Rest(_), Some(first)) if intervals.all(|interval| interval == Some(first)) => Leave::SendOff(first),
        (Leave::Rest(_), _) => Leave::Open,
    }
}

/// The drills of the sets before one.
fn explained_before(practice: &Practice, set: &Set) -> Vec<Rc<str>> {
    let earlier = practice.sets().take_while(|other| !std::ptr::eq(*other, set)).flat_map(|set| &set.lines);
    let drills = |line: &'_ Line| {
        let kinds = line.kinds.iter().filter_map(|kind| kind.drill.as_ref());
        line.drill.iter().chain(kinds).map(|drill| Rc::clone(&drill.how.id)).collect::<Vec<_>>()
    };
    earlier.flat_map(drills).collect()
}

fn drill_id(drill: &Drill) -> String {
    format!("drill-{}", drill.how.id)
}

/// What a drill is called: its short name, where it has one.
fn name(drill: &Drill) -> Spoken {
    drill.how.short.clone().unwrap_or_else(|| drill.how.full.clone())
}

/// How a drill is done in full the first time, its name after that.
fn named(drill: &Drill, explained: &mut Vec<Rc<str>>) -> Spoken {
    if explained.contains(&drill.how.id) {
        return name(drill);
    }
    explained.push(Rc::clone(&drill.how.id));
    drill.how.full.clone()
}

const fn phase_word(phase: Phase) -> &'static str {
    match phase {
        Phase::WarmUp => "warm-up",
        Phase::Build => "build",
        Phase::Main => "main",
        Phase::CoolDown => "cool-down",
    }
}
