//! The announcer: facts of a practice as spoken words, from the whole natural phrases that packs have.
//!
//! Where a pack lacks a word, the text is still there and its sound is a placeholder, told as such. What is said of whole
//! sets is put together in `speak::announce`.

mod announce;
mod lane;
mod lengths;
mod lines;
mod runs;

pub(super) use announce::drills;

use super::Sound;
use crate::pack::library::{Library, Role, Spoken};
use crate::practice::calls::LengthCall;
use crate::script::Effort;
use crate::units::swim::{Distance, Pace, PoolUnit, Side};
use crate::units::time::{Seconds, Tempo};
use std::sync::Arc;

/// The drills that a swimmer has heard explained.
pub type KnownDrills = Vec<Arc<str>>;

/// Between the parts of one utterance.
const JOIN: Seconds = Seconds::from_millis(70);
/// Where a comma would stand.
const PAUSE: Seconds = Seconds::from_millis(300);

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

    /// The same with more parts after a pause, as between what is counted and what it is.
    pub fn then(self, parts: impl IntoIterator<Item = Spoken>) -> Self {
        let from = self.len() + PAUSE;
        let more = Self::of(String::new(), parts).parts.into_iter().map(|(at, part)| (from + at, part));
        Self { id: self.id, parts: self.parts.into_iter().chain(more).collect() }
    }

    /// Several one after another, with a pause between them as at a comma.
    pub fn all(id: impl Into<String>, said: impl IntoIterator<Item = Self>) -> Self {
        let nothing = Self { id: id.into(), parts: Vec::new() };
        said.into_iter().fold(nothing, |all, next| {
            let from = if all.is_empty() { Seconds::ZERO } else { all.len() + PAUSE };
            let more = next.parts.into_iter().map(|(at, part)| (from + at, part));
            Self { id: all.id, parts: all.parts.into_iter().chain(more).collect() }
        })
    }

    /// How long it lasts.
    pub fn len(&self) -> Seconds {
        self.parts.last().map_or(Seconds::ZERO, |(at, part)| *at + part.len)
    }

    /// Whether there is nothing to say.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// The sounds of its parts.
    pub fn sounds(&self) -> impl Iterator<Item = Sound> {
        self.parts.iter().map(|(_, spoken)| sound_of(spoken))
    }

    /// The words.
    pub fn text(&self) -> String {
        self.parts.iter().map(|(_, part)| part.text.as_str()).collect::<Vec<_>>().join(" ")
    }
}

/// What is heard of a text: its recording, or what stands in its place.
pub fn sound_of(spoken: &Spoken) -> Sound {
    spoken.clip.map_or(Sound::Placeholder, Sound::Clip)
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

    /// Whether the built-in voice says this.
    pub fn is_voiced(self, spoken: &Spoken) -> bool {
        spoken.clip.is_some_and(|clip| self.library.is_voiced(clip))
    }

    fn known(self, id: &str) -> Option<Spoken> {
        self.library.entry(Role::Word, id).map(|entry| entry.full.clone())
    }

    /// A word by its id; its text without recording where no pack has it.
    pub fn word(self, id: &str, text: &str) -> Spoken {
        self.known(id).unwrap_or_else(|| self.library.text(text))
    }

    /// One word as an utterance.
    pub fn say(self, id: &str, text: &str) -> Utterance {
        Utterance::of(id, [self.word(id, text)])
    }

    /// "go in twenty", if the packs have it for so many seconds.
    pub fn timer(self, seconds: i64) -> Utterance {
        self.say(&format!("go-in-{seconds}"), &format!("go in {seconds}"))
    }

    /// What a pack has as one recording, so that it is one phrase in one breath; else its parts.
    fn whole(self, id: &str, parts: Vec<Spoken>) -> Vec<Spoken> {
        self.known(id).filter(|whole| self.library.stands_for(whole, &parts)).map_or(parts, |whole| vec![whole])
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
            return vec![self.library.text(&n.to_string())];
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

    /// `1:05` as "one oh five", `0:45` as "forty-five", `2:00` as "two minutes".
    fn clock(self, time: Seconds) -> Vec<Spoken> {
        let all = (time.nanos() / 1_000_000_000) as u32;
        let (minutes, seconds) = (all / 60, all % 60);
        if minutes > 0 && seconds == 0 {
            return match self.known(&format!("minutes-{minutes}")) {
                Some(whole) => vec![whole],
                None => self.number(minutes).into_iter().chain([self.word("minutes", "minutes")]).collect(),
            };
        }
        let mut parts = if minutes > 0 { self.number(minutes) } else { Vec::new() };
        match seconds {
            1..=9 if minutes > 0 => parts.push(self.word(&format!("oh-{seconds}"), &format!("oh {seconds}"))),
            _ => parts.extend(self.number(seconds)),
        }
        if minutes > 0 { self.whole(&format!("clock-{all}"), parts) } else { parts }
    }

    /// How long something takes: "ten minutes", "one minute thirty seconds".
    fn duration(self, time: Seconds) -> Vec<Spoken> {
        let minute = Seconds::from_secs(60).nanos();
        let (minutes, rest) = (time.nanos() / minute, time.nanos() % minute);
        let mut parts = if minutes > 0 { self.clock(Seconds::from_nanos(minutes * minute)) } else { Vec::new() };
        if rest > 0 || minutes == 0 {
            parts.extend(self.number((rest / Seconds::from_secs(1).nanos()) as u32));
            parts.push(self.word("seconds", "seconds"));
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
        let parts = vec![self.word(&format!("tempo-{whole}"), &format!("tempo {whole}")), self.point(hundredths)];
        self.whole(&format!("tempo-{whole}-{hundredths:02}"), parts)
    }

    /// "one point two five"
    fn decimal(self, tempo: Tempo) -> Vec<Spoken> {
        let (whole, hundredths) = centis(tempo);
        let parts = self.number(whole).into_iter().chain([self.point(hundredths)]).collect();
        self.whole(&format!("decimal-{whole}-{hundredths:02}"), parts)
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

    fn pace(self, pace: Pace) -> Vec<Spoken> {
        let mut parts = vec![self.word("pace", "pace")];
        parts.extend(self.clock(pace.per_hundred()));
        parts.push(self.word("per-hundred", "per hundred"));
        let seconds = pace.per_hundred().nanos() / 1_000_000_000;
        self.whole(&format!("pace-{seconds}"), parts)
    }

    fn effort(self, effort: Effort) -> Spoken {
        let word = Effort::ALL.iter().find(|(_, e)| *e == effort).map_or("easy", |(word, _)| word);
        self.word(&format!("effort-{word}"), word)
    }

    /// "due in one fifty-two": how long a repeat takes at its pace, to the whole second.
    pub fn due(self, time: Seconds) -> Utterance {
        let whole = Seconds::from_estimate(libm::round(time.as_f64()));
        Utterance::of("due", std::iter::once(self.word("due-in", "due in")).chain(self.clock(whole)))
    }

    /// "three of eight".
    pub fn which(self, number: u32, of: u32) -> Utterance {
        let parts = self.number(number).into_iter().chain([self.word("of", "of")]).chain(self.number(of)).collect();
        Utterance::of("which", self.whole(&format!("which-{number}-{of}"), parts))
    }

    /// How far a repeat goes.
    pub fn far(self, distance: Distance) -> Utterance {
        Utterance::of("swim", self.distance(distance))
    }

    /// The word of one of several: `part-kick`.
    fn one_of<T: PartialEq>(self, what: &str, words: &[(&str, T)], one: T) -> Spoken {
        let word = words.iter().find(|(_, known)| *known == one).map_or("", |(word, _)| word);
        self.word(&format!("{what}-{word}"), word)
    }

    /// "breathe right".
    pub fn side(self, side: Side) -> Utterance {
        let id = format!("breathe-{}", side.word());
        self.say(&id, &id.replace('-', " "))
    }

    /// "track two"
    pub fn track(self, number: u32) -> Utterance {
        let id = format!("track-{number}");
        match self.known(&id) {
            Some(whole) => Utterance::of(id, [whole]),
            None => Utterance::of(id, std::iter::once(self.word("track", "track")).chain(self.number(number))),
        }
    }

    /// "six tracks follow"
    pub fn tracks_follow(self, count: u32) -> Utterance {
        if count == 1 {
            return self.say("track-follows", "one track follows");
        }
        let count = self.number(count);
        Utterance::of("tracks-follow", count.into_iter().chain([self.word("tracks-follow", "tracks follow")]))
    }

    /// The stroke count, said on its stroke.
    pub fn call(self, strokes: u32) -> Utterance {
        let id = format!("call-{strokes}");
        match self.known(&id) {
            Some(whole) => Utterance::of(id, [whole]),
            None => Utterance::of(id, self.number(strokes)),
        }
    }

    /// "four lengths left", "half way", "last length".
    pub fn length_call(self, call: LengthCall) -> Utterance {
        match call {
            LengthCall::Half => self.say("call-half-way", "half way"),
            LengthCall::Last => self.say("call-last-length", "last length"),
            LengthCall::Left(left) => {
                let id = format!("lengths-left-{left}");
                match self.known(&id) {
                    Some(whole) => Utterance::of(id, [whole]),
                    None => {
                        let words = self.number(left).into_iter();
                        Utterance::of(id, words.chain([self.word("lengths-left", "lengths left")]))
                    }
                }
            }
        }
    }

    /// A rest timer for a hall with an echo: the number said twice, in two ways.
    pub fn echo(self, seconds: i64) -> Utterance {
        let digits: Vec<String> = seconds.to_string().chars().map(String::from).collect();
        self.say(&format!("echo-{seconds}"), &format!("go in {seconds}, {}", digits.join(" ")))
    }
}

fn centis(tempo: Tempo) -> (u32, u32) {
    let centis = tempo.centis() as u32;
    (centis / 100, centis % 100)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pack::library::PackEntry;
    use crate::practice::Leave;
    use crate::script::Rest;

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
            library.add(Role::Word, id, PackEntry { full: Spoken::unrecorded(text), short: None });
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
        assert!(say.leave(Leave::Rest(Rest::Fixed(Seconds::from_secs(17)))).is_empty());
        assert_eq!(text(say.tempo_parts(Tempo::from_centis(125), false)), "tempo one point two five");
        assert_eq!(text(say.tempo_parts(Tempo::from_rate(105, 2).unwrap(), true)), "52 point five strokes a minute");
        assert_eq!(text(say.pace(Pace::new(Seconds::from_secs(125)).unwrap())), "pace 2 oh five per hundred");
    }

    #[test]
    fn what_a_pack_has_as_one_phrase_is_one() {
        let mut library = library();
        let wholes = [
            ("tempo-1-25", "tempo one point two five"),
            ("decimal-1-25", "one point two five"),
            ("clock-125", "two oh five"),
            ("pace-125", "pace two oh five per hundred"),
            ("which-3-8", "three of eight"),
            ("at-most-19", "at most nineteen strokes a length"),
        ];
        for (id, text) in wholes {
            library.add(Role::Word, id, PackEntry { full: Spoken::unrecorded(text), short: None });
        }
        let say = Announcer::new(&library);
        let tempo = Tempo::from_centis(125);
        let pace = Pace::new(Seconds::from_secs(125)).unwrap();
        let said = [
            say.tempo_parts(tempo, false),
            say.decimal(tempo),
            say.clock(Seconds::from_secs(125)),
            say.pace(pace),
            say.which(3, 8).parts.into_iter().map(|(_, part)| part).collect(),
            say.at_most(19).parts.into_iter().map(|(_, part)| part).collect(),
        ];
        assert_eq!(said.each_ref().map(Vec::len), [1; 6], "{said:?}");
        assert_eq!(said.map(text), wholes.map(|(_, text)| text.to_owned()));
        // What it lacks is put together.
        assert_eq!(text(say.decimal(Tempo::from_centis(195))), "1 point nine five");
        assert_eq!(text(say.pace(Pace::new(Seconds::from_secs(124)).unwrap())), "pace 2 oh 4 per hundred");
    }

    #[test]
    fn parts_follow_each_other() {
        let utterance = Utterance::of("x", [Spoken::unrecorded("one two"), Spoken::unrecorded("three")]);
        assert_eq!(utterance.parts[1].0, Seconds::from_millis(870));
        assert_eq!(utterance.len(), Seconds::from_millis(1270));
    }
}
