//! What is swum in one start, in the words of the pool deck: for whoever watches, and for the record. How large it is
//! written is the screen's job.

use crate::practice::{Drill, FocusPoint, LengthKind, Line, Practice, Repeat, Set};
use crate::script::{BodyPart, Breathe, CountOn, Effort, Far, Gear, Stroke, Test};
use crate::units::time::Seconds;

/// A number of so many, both counted from 1.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NumberOf {
    /// Which.
    pub number: usize,
    /// How many there are.
    pub of: usize,
}

/// One start of a practice as people speak of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SwimFacts {
    /// The title of its set.
    pub title: String,
    /// Which set.
    pub set: NumberOf,
    /// Which round of the set; 1 of 1 where it has no rounds.
    pub round: NumberOf,
    /// Which repeat of the round.
    pub repeat: NumberOf,
    /// How far, or how long in open water: `50 m`, `10 min`, `3 laps of 380 m`.
    pub far: String,
    /// What the whole repeat is, a word or two each: `test`, `fist drill`, `kick`, `medley`, `easy`.
    pub manner: Vec<String>,
    /// What each length is where they are not alike, `fist drill` or the focus of it; one for each.
    pub lengths: Vec<String>,
    /// Whether that is what is swum, not only its focus or the stroke of a medley.
    pub mixed: bool,
    /// What to mind: gear, breathing, targets.
    pub mind: Vec<String>,
    /// The rest after it that is counted from the touch.
    pub rest: Option<Seconds>,
}

impl SwimFacts {
    /// Those of a repeat of a set, both from 0.
    pub fn of(practice: &Practice, set: usize, repeat: usize) -> Option<Self> {
        let sets = practice.sets().count();
        let within = practice.sets().nth(set)?;
        let swum = within.repeats.get(repeat)?;
        let line = within.lines.get(swum.line)?;
        let first = within.repeats.iter().position(|other| other.round == swum.round)?;
        let in_round = within.repeats.iter().filter(|other| other.round == swum.round).count();
        Some(Self {
            title: within.title.text.clone(),
            set: NumberOf { number: set + 1, of: sets },
            round: NumberOf { number: swum.round as usize + 1, of: within.rounds.max(1) as usize },
            repeat: NumberOf { number: repeat - first.min(repeat) + 1, of: in_round },
            far: far(line, swum),
            manner: manner(line),
            lengths: lengths(within, line, swum),
            mixed: line.kinds.iter().any(|kind| !kind_words(kind, line).is_empty()),
            mind: mind(line),
            rest: swum.rest,
        })
    }

    /// `50 m kick`, `50 m fist drill / swim`.
    pub fn what(&self) -> String {
        let manner = self.manner.iter().map(String::as_str);
        let kinds = self.kinds().join(" / ");
        let words = std::iter::once(self.far.as_str()).chain(manner).chain(Some(kinds.as_str()));
        words.filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
    }

    /// What its lengths are where that is what is swum, each once, in order.
    pub fn kinds(&self) -> Vec<&str> {
        let mut kinds: Vec<&str> = Vec::new();
        for kind in self.lengths.iter().filter(|kind| self.mixed && !kind.is_empty()) {
            if !kinds.contains(&kind.as_str()) {
                kinds.push(kind);
            }
        }
        kinds
    }
}

fn far(line: &Line, repeat: &Repeat) -> String {
    match &line.far {
        Far::Distances(_) => repeat.distance.to_string(),
        Far::Time(time) if *time == time.ceil_to(Seconds::from_secs(60)) => format!("{:.0} min", time.as_f64() / 60.0),
        Far::Time(time) => format!("{time} min"),
        Far::Course { lap, laps: 1 } => lap.to_string(),
        Far::Course { lap, laps } => format!("{laps} laps of {lap}"),
    }
}

fn manner(line: &Line) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    words.extend(line.test.map(|test| if test == Test::Time { "timed test" } else { "count test" }.to_owned()));
    words.extend(line.drill.as_ref().map(drill));
    words.extend((line.part != BodyPart::Swim).then(|| word(&BodyPart::ALL, line.part)));
    words.extend(line.stroke.map(|stroke| word(&Stroke::ALL, stroke)));
    words.extend(line.effort.map(|effort| word(&Effort::ALL, effort)));
    if words.is_empty() && line.kinds.iter().all(|kind| kind_words(kind, line).is_empty()) {
        words.push(word(&BodyPart::ALL, BodyPart::Swim));
    }
    words
}

/// What a drill is called on deck: as it is heard.
fn drill(drill: &Drill) -> String {
    let name = drill.how.short.as_ref().map_or_else(|| drill.how.id.replace('-', " "), |short| short.text.clone());
    format!("{name} drill")
}

/// What the lengths of a repeat are, where they differ.
fn lengths(set: &Set, line: &Line, repeat: &Repeat) -> Vec<String> {
    let count = repeat.lengths.len();
    let kind = |length: usize| line.kinds.get(length.checked_rem(line.kinds.len())?);
    let words = |length: usize| {
        let own = kind(length).map_or_else(Vec::new, |kind| kind_words(kind, line));
        if own.is_empty() {
            medley(line, length, count).or_else(|| focus(set, repeat, length))
        } else {
            Some(own.join(" "))
        }
    };
    let all: Vec<String> = (0..count).map(|length| words(length).unwrap_or_default()).collect();
    let differ = all.windows(2).any(|pair| pair.first() != pair.last());
    if differ { all } else { Vec::new() }
}

/// What a length is, in the words that are said in its glide.
fn kind_words(kind: &LengthKind, line: &Line) -> Vec<String> {
    let moved = line.kinds.iter().any(|kind| kind.drill.is_some() || kind.part.is_some());
    let part = kind.part.filter(|part| *part != BodyPart::Swim);
    let mut words: Vec<String> = kind.drill.iter().map(drill).collect();
    words.extend(part.map(|part| word(&BodyPart::ALL, part)));
    if words.is_empty() && moved && kind.stroke.is_none() {
        words.push(word(&BodyPart::ALL, BodyPart::Swim));
    }
    words.extend(kind.stroke.map(|stroke| word(&Stroke::ALL, stroke)));
    words.extend(kind.effort.map(|effort| word(&Effort::ALL, effort)));
    words
}

/// The strokes of a medley come in an order that is fixed: fly, back, breast, crawl, a quarter each (World Aquatics,
/// swimming rule SW 9.1; from memory).
fn medley(line: &Line, length: usize, count: usize) -> Option<String> {
    let order = [Stroke::Fly, Stroke::Back, Stroke::Breast, Stroke::Crawl];
    let quarters = line.stroke == Some(Stroke::Medley) && line.part == BodyPart::Swim && count.is_multiple_of(4);
    let quarter = quarters.then(|| (length * 4).checked_div(count))??;
    order.get(quarter).map(|stroke| word(&Stroke::ALL, *stroke))
}

/// The focus with which a length begins, where it changes by lengths.
fn focus(set: &Set, repeat: &Repeat, length: usize) -> Option<String> {
    let begun = |from: FocusPoint| matches!(from, FocusPoint::Length(from) if from as usize <= length);
    let phrase = repeat.focus.iter().rev().find(|focus| begun(focus.from))?.phrase;
    let phrase = set.lines.get(repeat.line)?.focus.get(phrase)?;
    Some(phrase.short.as_ref().unwrap_or(&phrase.full).text.clone())
}

fn mind(line: &Line) -> Vec<String> {
    let worn: Vec<String> = line.gear.iter().map(|gear| word(&Gear::ALL, *gear)).collect();
    let mut mind: Vec<String> =
        (!worn.is_empty()).then(|| format!("with {}", worn.join(" and "))).into_iter().collect();
    mind.extend(line.breathe.map(|breathe| match breathe {
        Breathe::Every(n, None) => format!("breathe every {n}"),
        Breathe::Every(n, Some(side)) => format!("breathe every {n} {}", side.word()),
        Breathe::Sides { right, left } => format!("breathe right {right}, left {left}"),
        Breathe::ByLength => "breathing side by length".to_owned(),
        Breathe::ByRepeat => "breathing side by repeat".to_owned(),
    }));
    mind.extend(line.sight.map(|n| format!("look ahead every {n}")));
    mind.extend(line.at_most.map(|n| format!("at most {n} strokes")));
    mind.extend(line.count.map(|count| format!("count {}", word(&CountOn::ALL, count))));
    mind.extend(line.second_half.map(|faster| {
        let way = if faster > Seconds::ZERO { "faster" } else { "slower" };
        format!("second half {:.0} s {way}", faster.as_f64().abs())
    }));
    mind
}

fn word<T: Copy + PartialEq>(words: &[(&'static str, T)], value: T) -> String {
    words.iter().find(|(_, known)| *known == value).map_or("", |(word, _)| word).to_owned()
}
