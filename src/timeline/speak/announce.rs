//! What is said of sets and lines: the announcements of a practice, from facts that the announcer can speak.

use super::{Announcer, Utterance, centis};
use crate::pack::library::Spoken;
use crate::practice::{Leave, LengthKind, Line, Set, Text};
use crate::script::{BodyPart, Breathe, Change, CountOn, Far, Gear, Phase, Rest, Stroke, Test};
use crate::units::time::Seconds;

impl Announcer<'_> {
    /// Everything that is said of a set before its first go.
    pub fn set(self, set: &Set, first: bool) -> Vec<Utterance> {
        let mut spoken = Vec::new();
        let title = self.title(set);
        let next = (!first).then(|| self.word("next", "next"));
        spoken.push(Utterance::of("set", next.into_iter().chain(title)));
        if set.rounds > 1 {
            let id = format!("rounds-{}", set.rounds);
            spoken.push(self.say(&id, &format!("{} rounds", set.rounds)));
        }
        // Lines that leave alike say so once, behind the last of them.
        for (index, line) in set.lines.iter().enumerate() {
            spoken.push(self.line(line));
            if set.lines.get(index + 1).is_none_or(|next| next.leave != line.leave) {
                spoken.push(Utterance::of("leave", self.leave(line.leave)));
            }
            spoken.push(Utterance::of("pace", self.paces(line)));
        }
        if let Some(first) = set.lines.first() {
            spoken.push(Utterance::of("tempo", self.tempos(first)));
            spoken.extend(self.how(first));
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
            Leave::Rest(Rest::Fixed(time)) => match self.known(&format!("rest-{}", seconds(time))) {
                Some(whole) => vec![whole],
                None => {
                    let count = self.number(seconds(time) as u32);
                    count.into_iter().chain([self.word("seconds-rest", "seconds rest")]).collect()
                }
            },
            // A rest that grows with the distance is heard when it comes.
            Leave::Rest(Rest::PerDistance { .. }) | Leave::Open => Vec::new(),
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
            (Some(drill), _) if line.drill != before.drill => spoken.push(drill_how(&drill.how)),
            (None, Some(_)) => spoken.push(self.say("whole-stroke", "whole stroke")),
            _ => {}
        }
        spoken
    }

    /// How a line is swum: drill, lengths, breathing, looking ahead, counts, changes of focus.
    fn how(self, line: &Line) -> Vec<Utterance> {
        let mut spoken: Vec<Utterance> = line.drill.iter().map(|drill| drill_how(&drill.how)).collect();
        for (number, kind) in (1..).zip(&line.kinds) {
            spoken.push(self.kind(number, kind, line));
        }
        spoken.extend(line.breathe.map(|breathe| self.breathe(breathe)));
        if let Some(n) = line.sight {
            spoken.push(self.say(&format!("sight-every-{n}"), &format!("look ahead every {n} strokes")));
        }
        if let Some(n) = line.at_most {
            let words = [self.word("at-most", "at most")].into_iter().chain(self.number(n));
            spoken.push(Utterance::of("at-most", words.chain([self.word("strokes-a-length", "strokes a length")])));
        }
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

    /// "length two, whole stroke, reach forward".
    fn kind(self, number: u32, kind: &LengthKind, line: &Line) -> Utterance {
        let mut parts = vec![self.word(&format!("length-{number}"), &format!("length {number}"))];
        match &kind.drill {
            Some(drill) => parts.push(drill.how.full.clone()),
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

fn drill_how(drill: &Text) -> Utterance {
    Utterance::of(format!("drill-{}", drill.id), [drill.full.clone()])
}

const fn phase_word(phase: Phase) -> &'static str {
    match phase {
        Phase::WarmUp => "warm-up",
        Phase::Build => "build",
        Phase::Main => "main",
        Phase::CoolDown => "cool-down",
    }
}
