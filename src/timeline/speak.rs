//! The announcer: facts of a practice as spoken words, from the whole natural phrases that packs have.
//!
//! Where a pack lacks a word, the text is still there and its sound is a placeholder, told as such.

use crate::pack::library::{Library, Role, Spoken};
use crate::practice::{Kind, Leave, Line, Set, Text};
use crate::script::{BodyPart, Breathe, Change, CountOn, Effort, Far, Gear, Phase, Rest, Stroke, Test};
use crate::units::swim::{Distance, Pace, PoolUnit, Side};
use crate::units::time::{Seconds, Tempo};

/// Between the parts of one utterance.
const JOIN: Seconds = Seconds::from_millis(70);

/// Something to say: recordings one after another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Utterance {
    /// A stable name.
    pub id: String,
    /// Each part with its beginning.
    pub parts: Vec<(Seconds, Spoken)>,
}

impl Utterance {
    /// Parts spoken without pause.
    pub fn of(id: impl Into<String>, parts: impl IntoIterator<Item = Spoken>) -> Self {
        let mut at = Seconds::ZERO;
        let place = |part: Spoken| {
            let begins = at;
            at += part.len + JOIN;
            (begins, part)
        };
        Self { id: id.into(), parts: parts.into_iter().map(place).collect() }
    }

    /// How long it lasts.
    pub fn len(&self) -> Seconds {
        self.parts.last().map_or(Seconds::ZERO, |(at, part)| *at + part.len)
    }

    /// Whether there is nothing to say.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// The words.
    pub fn text(&self) -> String {
        self.parts.iter().map(|(_, part)| part.text.as_str()).collect::<Vec<_>>().join(" ")
    }
}

/// Composes utterances from a library's words.
#[derive(Clone, Copy, Debug)]
pub struct Announcer<'a> {
    library: &'a Library,
}

impl<'a> Announcer<'a> {
    /// An announcer with these words.
    pub const fn new(library: &'a Library) -> Self {
        Self { library }
    }

    fn known(self, id: &str) -> Option<Spoken> {
        self.library.entry(Role::Word, id).map(|entry| entry.full.clone())
    }

    /// A word by its id; its text without recording where no pack has it.
    pub fn word(self, id: &str, text: &str) -> Spoken {
        self.known(id).unwrap_or_else(|| Spoken::unrecorded(text))
    }

    /// One word as an utterance.
    pub fn say(self, id: &str, text: &str) -> Utterance {
        Utterance::of(id, [self.word(id, text)])
    }

    /// "go in twenty", if the packs have it for so many seconds.
    pub fn timer(self, seconds: i64) -> Utterance {
        self.say(&format!("go-in-{seconds}"), &format!("go in {seconds}"))
    }

    fn number(self, n: u32) -> Vec<Spoken> {
        if let Some(whole) = self.known(&format!("n-{n}")) {
            return vec![whole];
        }
        let (thousands, hundreds, rest) = (n / 1000, n / 100 % 10, n % 100);
        let mut parts = Vec::new();
        for (count, id) in [(thousands, "thousand"), (hundreds, "hundred")] {
            if count > 0 && n > 100 {
                parts.extend(self.number(count));
                parts.push(self.word(id, id));
            }
        }
        if parts.is_empty() {
            return vec![Spoken::unrecorded(n.to_string())];
        }
        if rest > 0 {
            parts.push(self.word("and", "and"));
            parts.extend(self.number(rest));
        }
        parts
    }

    fn times(self, n: u32) -> Vec<Spoken> {
        match self.known(&format!("times-{n}")) {
            Some(times) => vec![times],
            None => self.number(n).into_iter().chain([self.word("times", "times")]).collect(),
        }
    }

    fn distance(self, distance: Distance) -> Vec<Spoken> {
        let unit = if distance.unit() == PoolUnit::Metre { "metres" } else { "yards" };
        match self.known(&format!("{unit}-{}", distance.count())) {
            Some(whole) => vec![whole],
            None => self.number(distance.count()).into_iter().chain([self.word(unit, unit)]).collect(),
        }
    }

    /// `1:05` as "one oh five", `0:45` as "forty-five".
    fn clock(self, time: Seconds) -> Vec<Spoken> {
        let seconds = (time.nanos() / 1_000_000_000) as u32;
        let (minutes, seconds) = (seconds / 60, seconds % 60);
        let mut parts = if minutes > 0 { self.number(minutes) } else { Vec::new() };
        match seconds {
            0 if minutes > 0 => {}
            1..=9 if minutes > 0 => parts.push(self.word(&format!("oh-{seconds}"), &format!("oh {seconds}"))),
            _ => parts.extend(self.number(seconds)),
        }
        parts
    }

    /// "tempo one point two five", or "fifty-two strokes a minute".
    pub fn tempo(self, tempo: Tempo, per_minute: bool) -> Utterance {
        Utterance::of("tempo", self.tempo_parts(tempo, per_minute))
    }

    fn tempo_parts(self, tempo: Tempo, per_minute: bool) -> Vec<Spoken> {
        if per_minute {
            return self.rate(tempo).into_iter().chain([self.word("strokes-a-minute", "strokes a minute")]).collect();
        }
        let (whole, hundredths) = centis(tempo);
        vec![self.word(&format!("tempo-{whole}"), &format!("tempo {whole}")), self.point(hundredths)]
    }

    fn rate(self, tempo: Tempo) -> Vec<Spoken> {
        let tenths = libm::round(tempo.rate() * 10.0) as u32;
        let mut parts = self.number(tenths / 10);
        if !tenths.is_multiple_of(10) {
            parts.push(self.point(tenths % 10 * 10));
        }
        parts
    }

    fn point(self, hundredths: u32) -> Spoken {
        self.word(&format!("point-{hundredths:02}"), &format!("point {hundredths:02}"))
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

    fn pace(self, pace: Pace) -> Vec<Spoken> {
        let mut parts = vec![self.word("pace", "pace")];
        parts.extend(self.clock(pace.per_hundred()));
        parts.push(self.word("per-hundred", "per hundred"));
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

    fn effort(self, effort: Effort) -> Spoken {
        let word = Effort::ALL.iter().find(|(_, e)| *e == effort).map_or("easy", |(word, _)| word);
        self.word(&format!("effort-{word}"), word)
    }

    fn leave(self, leave: Leave) -> Vec<Spoken> {
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

    /// How far a repeat goes.
    pub fn far(self, distance: Distance) -> Utterance {
        Utterance::of("swim", self.distance(distance))
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
            Far::Course { lap, laps } => {
                let laps = self.word(&format!("laps-{laps}"), &format!("{laps} laps"));
                std::iter::once(laps).chain(self.distance(*lap)).collect()
            }
        }
    }

    /// "eight times fifty metres kick easy": what a line is.
    pub fn line(self, line: &Line) -> Utterance {
        let listed = matches!(&line.far, Far::Distances(each) if each.len() > 1);
        let mut parts = if line.repeats > 1 && !listed { self.times(line.repeats) } else { Vec::new() };
        parts.extend(self.fars(line));
        parts.extend(self.manner(line));
        Utterance::of("swim", parts)
    }

    /// The part, the stroke and the effort of a line, where they are not the plain crawl.
    fn manner(self, line: &Line) -> impl Iterator<Item = Spoken> {
        let part = (line.part != BodyPart::Swim).then(|| self.one_of("part", &BodyPart::ALL, line.part));
        let stroke = line.stroke.map(|stroke| self.one_of("stroke", &Stroke::ALL, stroke));
        let effort = line.effort.map(|effort| self.effort(effort));
        [part, stroke, effort].into_iter().flatten()
    }

    /// The word of one of several: `part-kick`.
    fn one_of<T: PartialEq>(self, what: &str, words: &[(&str, T)], one: T) -> Spoken {
        let word = words.iter().find(|(_, known)| *known == one).map_or("", |(word, _)| word);
        self.word(&format!("{what}-{word}"), word)
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

    /// "breathe right".
    pub fn side(self, side: Side) -> Utterance {
        let id = format!("breathe-{}", side.word());
        self.say(&id, &id.replace('-', " "))
    }

    /// The stroke count, said on its stroke.
    pub fn call(self, strokes: u32) -> Utterance {
        let id = format!("call-{strokes}");
        match self.known(&id) {
            Some(whole) => Utterance::of(id, [whole]),
            None => Utterance::of(id, self.number(strokes)),
        }
    }

    /// A rest timer for a hall with an echo: the number said twice, in two ways.
    pub fn echo(self, seconds: i64) -> Utterance {
        let digits: Vec<String> = seconds.to_string().chars().map(String::from).collect();
        self.say(&format!("echo-{seconds}"), &format!("go in {seconds}, {}", digits.join(" ")))
    }

    /// Everything that is said of a set before its first go.
    pub fn set(self, set: &Set, first: bool) -> Vec<Utterance> {
        let mut spoken = Vec::new();
        let phase = set.phase.and_then(|phase| self.known(&format!("phase-{}", phase_word(phase))));
        let title = set.title.clip.map(|_| set.title.clone()).or(phase);
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

    /// What is new in a line after another one of the same set: only that, since it must fit into a rest.
    pub fn turn_to(self, line: &Line, before: &Line) -> Vec<Utterance> {
        let mut spoken = Vec::new();
        let manner = |line: &Line| (line.part, line.stroke, line.effort);
        if line.far != before.far || manner(line) != manner(before) {
            spoken.push(Utterance::of("swim", self.fars(line).into_iter().chain(self.manner(line))));
        }
        match (&line.drill, &before.drill) {
            (Some(drill), _) if line.drill != before.drill => spoken.push(drill_how(drill)),
            (None, Some(_)) => spoken.push(self.say("whole-stroke", "whole stroke")),
            _ => {}
        }
        spoken
    }

    /// How a line is swum: drill, lengths, breathing, looking ahead, counts, changes of focus.
    fn how(self, line: &Line) -> Vec<Utterance> {
        let mut spoken: Vec<Utterance> = line.drill.iter().map(drill_how).collect();
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
    fn kind(self, number: u32, kind: &Kind, line: &Line) -> Utterance {
        let mut parts = vec![self.word(&format!("length-{number}"), &format!("length {number}"))];
        match &kind.drill {
            Some(drill) => parts.push(drill.full.clone()),
            None if line.kinds.iter().any(|kind| kind.drill.is_some()) => {
                parts.push(self.word("whole-stroke", "whole stroke"));
            }
            None => {}
        }
        parts.extend(kind.part.map(|part| self.one_of("part", &BodyPart::ALL, part)));
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

fn centis(tempo: Tempo) -> (u32, u32) {
    let centis = libm::round(tempo.as_f64() * 100.0) as u32;
    (centis / 100, centis % 100)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pack::library::Entry;

    fn library() -> Library {
        let mut library = Library::new();
        let words = [
            "next",
            "hundred",
            "and",
            "metres",
            "on",
            "down-to",
            "strokes-a-minute",
            "pace",
            "per-hundred",
            "seconds-rest",
        ];
        let counts = (0..=100).map(|n| (format!("n-{n}"), n.to_string()));
        let words = words.iter().map(|w| ((*w).to_owned(), w.replace('-', " "))).chain(counts);
        let more = [
            ("times-8", "eight times"),
            ("metres-50", "fifty metres"),
            ("on-90", "on one thirty"),
            ("oh-5", "oh five"),
            ("tempo-1", "tempo one"),
            ("point-25", "point two five"),
            ("point-95", "point nine five"),
            ("point-50", "point five"),
        ];
        for (id, text) in words.chain(more.map(|(id, text)| (id.to_owned(), text.to_owned()))) {
            library.add(Role::Word, id, Entry { full: Spoken::unrecorded(text), short: None });
        }
        library
    }

    fn text(parts: Vec<Spoken>) -> String {
        Utterance::of("x", parts).text()
    }

    #[test]
    fn facts_become_words() {
        let library = library();
        let say = Announcer::new(&library);
        let metres = |count| Distance::new(count, PoolUnit::Metre).unwrap();
        assert_eq!(text(say.distance(metres(50))), "fifty metres");
        assert_eq!(text(say.distance(metres(350))), "3 hundred and 50 metres");
        assert_eq!(text(say.leave(Leave::SendOff(Seconds::from_secs(90)))), "on one thirty");
        assert_eq!(text(say.leave(Leave::SendOff(Seconds::from_secs(65)))), "on 1 oh five");
        assert_eq!(text(say.leave(Leave::Rest(Rest::Fixed(Seconds::from_secs(17))))), "17 seconds rest");
        assert_eq!(text(say.tempo_parts(Tempo::from_centis(125), false)), "tempo one point two five");
        assert_eq!(text(say.tempo_parts(Tempo::from_rate(105, 2).unwrap(), true)), "52 point five strokes a minute");
        assert_eq!(text(say.pace(Pace::new(Seconds::from_secs(125)).unwrap())), "pace 2 oh five per hundred");
    }

    #[test]
    fn parts_follow_each_other() {
        let utterance = Utterance::of("x", [Spoken::unrecorded("one two"), Spoken::unrecorded("three")]);
        assert_eq!(utterance.parts[1].0, Seconds::from_millis(870));
        assert_eq!(utterance.len(), Seconds::from_millis(1270));
    }
}
