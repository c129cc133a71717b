//! What is said to a lane: which one it is, who leaves when, whose turn it is, where the pace clock stands.

use super::lines::leaves;
use super::{Announcer, Utterance};
use crate::pack::library::Spoken;
use crate::practice::{Leave, Line, Set};
use crate::units::time::Seconds;

/// A call lasts at most so long: whoever is called hears it before they leave.
const LONGEST_CALL: Seconds = Seconds::from_millis(800);

impl Announcer<'_> {
    /// "lane three", or what it is called.
    pub fn lane(self, name: &str) -> Utterance {
        Utterance::of("lane", self.lane_parts(name))
    }

    fn lane_parts(self, name: &str) -> Vec<Spoken> {
        match name.parse() {
            Ok(number) => std::iter::once(self.word("lane", "lane")).chain(self.number(number)).collect(),
            Err(_) => vec![self.library.text(name)],
        }
    }

    /// A swimmer's name, where it is recorded or the built-in voice says it; nothing that would be a tone.
    pub fn named(self, name: &str) -> Option<Spoken> {
        let recorded = self.library.name(name).map(|(_, entry)| entry.full.clone());
        recorded.or_else(|| Some(self.library.text(name))).filter(|spoken| spoken.clip.is_some())
    }

    /// "you leave in this order, one Bo, two Ida": the numbers too, since some are called by them, and of whom no name can be said
    /// the number alone. `None` where nobody's can.
    pub fn order(self, names: &[String]) -> Option<Utterance> {
        let mut said = self.say("leave-order", "you leave in this order");
        for (name, number) in names.iter().zip(1..) {
            said = said.then(self.number(number).into_iter().chain(self.named(name)));
        }
        Some(said).filter(|_| names.iter().any(|name| self.named(name).is_some()))
    }

    /// "five seconds apart"; nothing where the gap is not of whole seconds.
    pub fn apart(self, gap: Seconds) -> Option<Utterance> {
        let words = self.number(whole(gap)?).into_iter().chain([self.word("seconds-apart", "seconds apart")]);
        Some(Utterance::of("seconds-apart", words))
    }

    /// "you leave first"; "number three, leave ten seconds after the first".
    pub fn place_in_lane(self, number: u32, offset: Seconds) -> Utterance {
        if number == 1 {
            return self.say("leave-first", "you leave first");
        }
        let said =
            Utterance::of("leave-after", std::iter::once(self.word("number", "number")).chain(self.number(number)));
        let Some(seconds) = whole(offset) else { return said };
        let after = [self.word("seconds-after-the-first", "seconds after the first")];
        said.then(std::iter::once(self.word("leave", "leave")).chain(self.number(seconds)).chain(after))
    }

    /// A follower's call: the name where there is one and it is short enough, else the number.
    pub fn start_call(self, name: Option<&str>, number: u32) -> Utterance {
        let id = format!("start-{number}");
        let name = name.and_then(|name| self.named(name)).filter(|name| name.len <= LONGEST_CALL);
        match name {
            Some(name) => Utterance::of(id, [name]),
            None => Utterance::of(id, self.number(number)),
        }
    }

    /// The call of one who leaves at another time than their number does in other lanes: the name where there is one and it is
    /// short enough, behind the lane's where that is asked for; else "lane three, two".
    pub fn call_in_lane(self, name: Option<&str>, lane: &str, number: u32, with_lane: bool) -> Utterance {
        let name = name.and_then(|name| self.named(name)).filter(|name| name.len <= LONGEST_CALL);
        match name {
            Some(name) if with_lane => Utterance::of("start-by-name", self.lane_parts(lane).into_iter().chain([name])),
            Some(name) => Utterance::of("start-by-name", [name]),
            None => self.lane(lane).then(self.number(number)),
        }
    }

    /// "Lane two"; "lane two, three" for whoever of them comes next.
    pub fn call_of_lanes(self, lanes: &[&str]) -> Utterance {
        let mut named = lanes.iter();
        let first = Utterance::of("start-in-lane", named.next().map_or_else(Vec::new, |lane| self.lane_parts(lane)));
        named.fold(first, |all, lane| match lane.parse() {
            Ok(number) => all.then(self.number(number)),
            Err(_) => all.then(self.lane_parts(lane)),
        })
    }

    /// "Lane three, six times fifty metres, on one fifty": what a lane swims of a set, and when it leaves; nothing where that is what
    /// was `said` to all.
    pub fn lane_swims(self, lane: &str, own: &Set, said: &Set) -> Option<Utterance> {
        let far = |set: &Set| set.lines.iter().map(|line| (line.repeats, line.far.clone())).collect::<Vec<_>>();
        let leave = |set: &Set| (0..set.lines.len()).map(|line| leaves(set, line)).collect::<Vec<_>>();
        let (swims, goes) = (far(own) != far(said), leave(own) != leave(said));
        if !swims && !goes {
            return None;
        }
        // With one line it is plain what the send-off is of.
        let whole = swims || own.lines.len() > 1;
        let one = |(line, leave): (&Line, Leave)| {
            let swum = if whole { self.line(line, line.repeats, None) } else { Vec::new() };
            Utterance::of("swim", swum.into_iter().chain(self.leave(leave)))
        };
        let told = own.lines.iter().zip(leave(own)).map(one).filter(|said| !said.is_empty());
        let told: Vec<Utterance> = told.collect();
        let lane = std::iter::once(self.lane(lane));
        (!told.is_empty()).then(|| Utterance::all("lane-swims", lane.chain(told)))
    }

    /// "regroup, forty-five seconds"; the word alone where there is no room for more.
    pub fn regroup(self, pause: Seconds) -> Vec<Utterance> {
        let word = self.say("regroup", "regroup");
        vec![word.clone().then(self.duration(pause)), word]
    }

    /// "on the ten": where the pace clock stands at a go if it stood at the top when the sound began. Nothing between two of its
    /// marks.
    pub fn clock_reading(self, go: Seconds) -> Option<Utterance> {
        let second = whole(go)? % 60;
        let second = if second == 0 { 60 } else { second };
        let words = std::iter::once(self.word("on-the", "on the")).chain(self.number(second));
        Some(Utterance::of("on-the-clock", words))
    }
}

/// A time in seconds, where it is of whole ones.
fn whole(time: Seconds) -> Option<u32> {
    let second = Seconds::from_secs(1).nanos();
    u32::try_from(time.nanos() / second).ok().filter(|_| time.nanos() % second == 0)
}
