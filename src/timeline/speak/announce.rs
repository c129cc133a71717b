//! What is said of sets and lines: the announcements of a practice, from facts that the announcer can speak.

use super::runs::{cycle, runs, turns};
use super::{Announcer, KnownDrills, Utterance};
use crate::pack::library::Spoken;
use crate::practice::{Drill, Leave, Line, Practice, Repeat, Set};
use crate::script::{BodyPart, Breathe, Change, CountOn, Effort, Far, Gear, Phase, Rest, Stroke, Test};
use crate::units::swim::Distance;
use crate::units::time::{Seconds, Tempo};
use std::sync::Arc;

/// So many distances are told one by one.
const EACH_TOLD: usize = 5;
/// So many rises and falls can be followed.
const TURNS_TOLD: usize = 4;

/// The second of two values that come in turn, again and again.
fn other_of_two<T: PartialEq + Copy>(turns: &[T]) -> Option<T> {
    turns.get(1).filter(|_| turns.len() > 3 && cycle(turns).of == 2).copied()
}

impl Announcer<'_> {
    /// Everything that is said of a set before its first go.
    /// Drills that have been `explained` are called by their names; its own are explained after it.
    pub fn set(self, practice: &Practice, set: &Set, first: bool, explained: &mut KnownDrills) -> Vec<Utterance> {
        let mut spoken = Vec::new();
        let title = self.title(set);
        let next = (!first).then(|| self.word("next", "next"));
        spoken.push(Utterance::of("set", next.into_iter().chain(title)));
        if set.rounds > 1 {
            let id = format!("rounds-{}", set.rounds);
            spoken.push(self.say(&id, &format!("{} rounds", set.rounds)));
        }
        spoken.extend(self.swims(practice, set, explained));
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

    /// "eight times fifty metres kick easy": what lines that are alike are, with so many repeats in all.
    pub(super) fn line(self, line: &Line, repeats: u32, before: Option<&Line>) -> Vec<Spoken> {
        let listed = matches!(&line.far, Far::Distances(each) if each.len() > 1);
        let mut parts = if repeats > 1 && !listed { self.times(repeats) } else { Vec::new() };
        parts.extend(self.fars(line));
        parts.extend(self.manner(line, before));
        parts
    }

    /// One repeat of a set by itself, its drills in full where they have not been `explained`.
    pub fn this_one(self, set: &Set, repeat: &Repeat, explained: &mut KnownDrills) -> Vec<Utterance> {
        let Some(line) = set.lines.get(repeat.line) else { return Vec::new() };
        let far = match line.far {
            Far::Distances(_) => self.distance(repeat.distance),
            Far::Time(_) | Far::Course { .. } => self.fars(line),
        };
        let mut told = vec![Utterance::of("swim", far.into_iter().chain(self.manner(line, None)))];
        let known = drills(line).all(|drill| explained.contains(&drill.how.id));
        let drill = line.drill.as_ref().map(|drill| Utterance::of(drill_id(drill), [named(drill, explained)]));
        let drilled = set.lines.iter().any(|line| line.drill.is_some());
        told.extend(drill.or_else(|| drilled.then(|| self.say("whole-stroke", "whole stroke"))));
        told.extend(match known {
            true => self.in_turn(line, repeat).into_iter().take(1).collect(),
            false => self.lengths(line, &[repeat], explained),
        });
        told
    }

    /// "Round two", "last one", "three of nine": where in its set a repeat stands, counted over all lines as on the screen; in its
    /// round, where there are rounds. There swims that can be told apart by what they are have a number only where it is `asked`.
    pub fn whereabouts(self, set: &Set, ordinal: usize, asked: bool) -> Option<Utterance> {
        let all = set.repeats.len();
        let of = all.checked_div(set.rounds as usize)?;
        let (round, number) = (ordinal.checked_div(of)?, ordinal.checked_rem(of)? + 1);
        if round > 0 && number == 1 {
            return Some(self.round(u32::try_from(round).ok()?, set.rounds));
        }
        if ordinal + 1 == all {
            return (all > 1).then(|| self.say("last-one", "last one"));
        }
        let alike = set.lines.iter().any(|line| line.repeats > 1);
        let told = of > 1 && (set.rounds == 1 || alike || asked);
        told.then(|| Some(self.which(u32::try_from(number).ok()?, u32::try_from(of).ok()?)))?
    }

    /// "Round two", "last round".
    pub fn round(self, round: u32, of: u32) -> Utterance {
        let id = if round + 1 == of { "last-round".to_owned() } else { format!("round-{}", round + 1) };
        self.say(&id, &id.replace('-', " "))
    }

    /// "Then twenty-five metres fast effort": what follows a line without a stop.
    pub fn goes_on_as(self, line: &Line, before: &Line) -> Utterance {
        let drill = line.drill.as_ref().map(name);
        let words = self.line(line, 1, Some(before)).into_iter().chain(drill);
        Utterance::of("goes-on", std::iter::once(self.word("then", "then")).chain(words))
    }

    /// How far the repeats of a line go: the same each time, or one after another.
    fn fars(self, line: &Line) -> Vec<Spoken> {
        match &line.far {
            Far::Distances(each) => match each.as_slice() {
                [one] => self.distance(*one),
                all => self.listed(all),
            },
            Far::Time(time) => self.duration(*time),
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

    /// The part, the stroke and the effort of a line, where they are not the plain crawl, or are so again after another line.
    fn manner(self, line: &Line, before: Option<&Line>) -> impl Iterator<Item = Spoken> {
        let plain = line.part == BodyPart::Swim && line.drill.is_none() && line.stroke.is_none();
        let other = |before: &Line| before.stroke.is_some_and(|stroke| stroke != Stroke::Crawl);
        let crawls = plain && before.is_some_and(other);
        let swims = plain && !crawls && before.is_some_and(|before| before.part != BodyPart::Swim);
        let stroke = line.stroke.or(crawls.then_some(Stroke::Crawl));
        let part = match line.part {
            BodyPart::Swim => swims.then(|| self.word("swim", "swim")),
            part => Some(self.one_of("part", &BodyPart::ALL, part)),
        };
        // Without a word, a pace or a beat a swim is a steady one; a drill or a kick is what it is.
        let whole = line.part == BodyPart::Swim && line.drill.is_none() && line.kinds.is_empty();
        let unmarked = whole && line.paces.is_empty() && line.tempos.is_empty();
        let steady = unmarked && before.is_some_and(|before| before.effort.is_some_and(|e| e != Effort::Steady));
        let effort = line.effort.or(steady.then_some(Effort::Steady)).map(|effort| self.effort(effort));
        let stroke = stroke.map(|stroke| self.one_of("stroke", &Stroke::ALL, stroke));
        // "Backstroke kick", as it is said.
        [stroke, part, effort].into_iter().flatten()
    }

    /// Distances one after another: "four times: fifty metres, then one hundred metres"; "fifty metres up to two hundred metres down
    /// to fifty metres", since each is told before its go.
    fn listed(self, all: &[Distance]) -> Vec<Spoken> {
        let far = |distance: &Distance| self.distance(*distance);
        let groups = runs(all.iter().copied());
        let cycle = cycle(&groups);
        let times = cycle.times.filter(|times| *times > 1);
        // Beside a number it must be heard where the next one begins.
        let counted = times.is_some() || groups.len() < all.len();
        let told = if times.is_some() { cycle.of } else { groups.len() };
        let group = |(index, (distance, repeats)): (usize, &(Distance, u32))| {
            let then = (index > 0 && counted).then(|| self.word("then", "then"));
            let times = if *repeats > 1 { self.times(*repeats) } else { Vec::new() };
            then.into_iter().chain(times).chain(far(distance)).collect::<Vec<_>>()
        };
        if told <= EACH_TOLD {
            let times = times.map_or_else(Vec::new, |times| self.times(times));
            return times.into_iter().chain(groups.iter().take(told).enumerate().flat_map(group)).collect();
        }
        let counts = turns(&all.iter().map(|distance| distance.count()).collect::<Vec<_>>());
        let at = |count: u32| Distance::new(count, all.first()?.unit());
        let ends = || Some((at(*counts.iter().min()?)?, at(*counts.iter().max()?)?));
        let Some((shortest, longest)) = ends().filter(|_| counts.len() > TURNS_TOLD) else {
            let told = |count| at(count).map_or_else(Vec::new, |distance| self.distance(distance));
            return self.way(counts.first().copied().map_or_else(Vec::new, told), &counts, told);
        };
        let number = u32::try_from(all.len()).map_or_else(|_| Vec::new(), |number| self.times(number));
        number.into_iter().chain(far(&shortest)).chain([self.word("to", "to")]).chain(far(&longest)).collect()
    }

    /// Where a value leads, behind what is said of its beginning: "up to", "down to". Who hears the first turns need not hear every
    /// one: each value is told before its go.
    fn way<T: PartialOrd + Copy>(
        self,
        first: Vec<Spoken>,
        turns: &[T],
        said: impl Fn(T) -> Vec<Spoken>,
    ) -> Vec<Spoken> {
        let mut parts = first;
        if let Some(other) = other_of_two(turns) {
            parts.push(self.word("then", "then"));
            parts.extend(said(other));
            return parts;
        }
        for (from, to) in turns.iter().zip(turns.iter().skip(1)).take(TURNS_TOLD - 1) {
            parts.push(if to < from { self.word("down-to", "down to") } else { self.word("up-to", "up to") });
            parts.extend(said(*to));
        }
        parts
    }

    /// "tempo one point three, down to zero point nine five, up to one point three".
    pub(super) fn tempos(self, line: &Line) -> Vec<Spoken> {
        let Some(first) = line.tempos.first() else { return Vec::new() };
        // What is spoken rises or falls: seconds fall as strokes a minute rise.
        let spoken = |tempo: &Tempo| if line.per_minute { tempo.rate() } else { tempo.as_f64() };
        let turns = turns(&line.tempos.iter().map(spoken).collect::<Vec<_>>());
        let number = |value| match line.tempos.iter().find(|tempo| spoken(tempo) == value) {
            Some(tempo) if line.per_minute => self.rate(*tempo),
            Some(tempo) => self.decimal(*tempo),
            None => Vec::new(),
        };
        self.way(self.tempo_parts(*first, line.per_minute), &turns, number)
    }

    /// "pace two oh five per hundred", and where it leads to.
    pub(super) fn paces(self, line: &Line) -> Vec<Spoken> {
        let times: Vec<Seconds> = line.paces.iter().map(|pace| pace.per_hundred()).collect();
        let Some(first) = line.paces.first() else { return Vec::new() };
        let mut parts = self.pace(*first);
        let turns = turns(&times);
        if let Some(other) = other_of_two(&turns) {
            parts.push(self.word("then", "then"));
            parts.extend(self.clock(other));
            return parts;
        }
        for to in turns.into_iter().take(TURNS_TOLD).skip(1) {
            parts.push(self.word("to", "to"));
            parts.extend(self.clock(to));
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
            spoken.push(Utterance::of("swim", self.fars(line).into_iter().chain(self.manner(line, Some(before)))));
        }
        match (&line.drill, &before.drill) {
            // How it is done was said before the set.
            (Some(drill), Some(known)) if drill.how.id == known.how.id => {}
            (Some(drill), _) => spoken.push(Utterance::of(drill_id(drill), [name(drill)])),
            (None, Some(_)) => spoken.push(self.say("whole-stroke", "whole stroke")),
            (None, None) => {}
        }
        spoken.extend(line.at_most.filter(|most| before.at_most != Some(*most)).map(|most| self.at_most(most)));
        spoken
    }

    /// What a line asks for that the one before did not, looking ahead, counts, a measured swim, another second half. "Count this one" comes under way, for who hears it there.
    pub fn asked_anew(self, line: &Line, before: &Line, in_ear: bool) -> Vec<Utterance> {
        let heard_later = in_ear && line.count == Some(CountOn::LastLength);
        let mut spoken = Vec::new();
        spoken.extend(line.sight.filter(|n| before.sight != Some(*n)).map(|n| self.sight(n)));
        spoken.extend(line.count.filter(|on| before.count != Some(*on) && !heard_later).map(|on| self.count(on)));
        spoken.extend(line.test.filter(|test| before.test != Some(*test)).map(|test| self.test(test)));
        let half = line.second_half.filter(|half| before.second_half != Some(*half));
        spoken.extend(half.map(|half| self.second_half(half)));
        spoken
    }

    fn sight(self, n: u32) -> Utterance {
        self.say(&format!("sight-every-{n}"), &format!("look ahead every {n} strokes"))
    }

    fn count(self, count: CountOn) -> Utterance {
        match count {
            CountOn::LastLength => self.say("count-last-length", "count the strokes of the last length"),
            CountOn::EachLength => self.say("count-each-length", "count the strokes of each length"),
        }
    }

    fn test(self, test: Test) -> Utterance {
        match test {
            Test::Time => self.say("test-time", "timed swim, read the clock when you touch"),
            Test::Count => self.say("test-count", "count your strokes"),
        }
    }

    fn second_half(self, faster: Seconds) -> Utterance {
        let word = if faster > Seconds::ZERO { "faster" } else { "slower" };
        self.say(&format!("second-half-{word}"), &format!("second half {word}"))
    }

    /// How a line is swum: breathing, looking ahead, counts, changes of focus.
    pub fn how(self, line: &Line, in_ear: bool) -> Vec<Utterance> {
        let mut spoken = Vec::new();
        spoken.extend(line.breathe.map(|breathe| self.breathe(breathe, in_ear)));
        spoken.extend(line.sight.map(|n| self.sight(n)));
        spoken.extend(line.at_most.map(|most| self.at_most(most)));
        spoken.extend(line.count.map(|count| self.count(count)));
        spoken.extend(line.test.map(|test| self.test(test)));
        spoken.extend(line.second_half.map(|faster| self.second_half(faster)));
        let change = match line.change {
            Some(Change::Length | Change::Repeat) if line.blocked => Some(("focus-changes", "the focus changes")),
            Some(Change::Length) => Some(("focus-each-length", "new focus each length")),
            Some(Change::Repeat) => Some(("focus-each-repeat", "new focus each repeat")),
            Some(Change::Round | Change::Strokes(_)) => Some(("focus-changes", "the focus changes")),
            Some(Change::Set) | None => None,
        };
        spoken.extend(change.map(|(id, text)| self.say(id, text)));
        spoken
    }

    /// "at most nineteen strokes a length".
    pub fn at_most(self, strokes: u32) -> Utterance {
        let words = [self.word("at-most", "at most")].into_iter().chain(self.number(strokes));
        let parts = words.chain([self.word("strokes-a-length", "strokes a length")]).collect();
        Utterance::of("at-most", self.whole(&format!("at-most-{strokes}"), parts))
    }

    /// "breathe every three strokes". Who hears no side under way is told how many strokes each has.
    pub fn breathe(self, breathe: Breathe, in_ear: bool) -> Utterance {
        match breathe {
            Breathe::Every(n, None) => self.say(&format!("breathe-every-{n}"), &format!("breathe every {n}")),
            Breathe::Every(n, Some(side)) => {
                let side = side.word();
                self.say(&format!("breathe-every-{n}-{side}"), &format!("breathe every {n}, first to the {side}"))
            }
            Breathe::Sides { right, left } if !in_ear => {
                let of = |side: &str, strokes| {
                    let breathe = self.word(&format!("breathe-{side}"), &format!("breathe {side}"));
                    std::iter::once(breathe).chain(self.number(strokes))
                };
                let then = [self.word("then", "then")];
                Utterance::of("breathe-sides", of("right", right).chain(then).chain(of("left", left)))
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

/// The drills of a line, those of its lengths too.
pub fn drills(line: &Line) -> impl Iterator<Item = &Drill> {
    line.drill.iter().chain(line.kinds.iter().filter_map(|kind| kind.drill.as_ref()))
}

pub(super) fn drill_id(drill: &Drill) -> String {
    format!("drill-{}", drill.how.id)
}

/// What a drill is called: its short name, where it has one.
pub(super) fn name(drill: &Drill) -> Spoken {
    drill.how.short.clone().unwrap_or_else(|| drill.how.full.clone())
}

/// How a drill is done in full the first time, its name after that.
pub(super) fn named(drill: &Drill, explained: &mut KnownDrills) -> Spoken {
    if explained.contains(&drill.how.id) {
        return name(drill);
    }
    explained.push(Arc::clone(&drill.how.id));
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
