//! Every practice that comes with the program, for a novice, an improver and a master, in the ear, at the poolside and from a
//! player: what is swum is named before it or known from the swim before, every number is that of the plan, and nobody is left
//! alone for longer than is meant. Words are made of numbers here a second time, by the English that a coach speaks.

use crate::cases::amount;
use lengthwise::pack::builtin;
use lengthwise::pack::library::Role;
use lengthwise::practice::{Audience, Drill, Line, Repeat, Set};
use lengthwise::prepare::{self, Planned, PracticeRequest, WhoSwims};
use lengthwise::script::{BodyPart, Far};
use lengthwise::session::swim::SwimFacts;
use lengthwise::timeline::CueKind;
use lengthwise::timeline::start::Start;
use lengthwise::units::swim::{Distance, Pace, PoolUnit};
use lengthwise::units::time::{Seconds, Tempo};

const SWIMMERS: [i64; 3] = [175, 110, 79];
const AUDIENCES: [Audience; 3] = [Audience::Headphones, Audience::Speaker, Audience::Player];

/// A cue in absolute time.
struct Told {
    at: Seconds,
    end: Seconds,
    kind: CueKind,
    id: String,
    text: String,
}

/// Calls `hold` with each practice, for each swimmer, through each thing.
fn each(hold: impl Fn(&str, &Planned, &[Told])) {
    for (index, script) in builtin::scripts().enumerate() {
        for (turn, audience) in AUDIENCES.into_iter().enumerate() {
            // In the quick loop one swimmer, by turns.
            let turn = amount((index + turn) % 3, 0);
            for hundred in SWIMMERS.into_iter().skip(turn).step_by(amount(3, 1)) {
                let swimmer = Some(WhoSwims::Hundred(Pace::new(Seconds::from_secs(hundred)).unwrap()));
                let name = format!("{}/{}", script.pack, script.name);
                let request =
                    PracticeRequest { script: name.clone().into(), swimmer, audience, ..PracticeRequest::default() };
                let outcome = prepare::plan(&request).unwrap();
                assert!(outcome.diagnostics.is_empty(), "{name} {hundred} {audience:?}: {:#?}", outcome.diagnostics);
                let planned = outcome.planned.unwrap();
                let legs = planned.built.timeline.legs.iter();
                let cues = legs.flat_map(|leg| {
                    leg.cues.iter().map(|cue| Told {
                        at: leg.origin + cue.at,
                        end: leg.origin + cue.at + cue.len,
                        kind: cue.kind,
                        id: cue.id.clone(),
                        text: cue.text.clone(),
                    })
                });
                let mut cues: Vec<Told> = cues.collect();
                cues.sort_by_key(|cue| cue.at);
                hold(&format!("{name} {hundred} {audience:?}"), &planned, &cues);
            }
        }
    }
}

/// Up to 999.
fn words(n: u32) -> String {
    const ONES: [&str; 20] = [
        "zero",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
    ];
    const TENS: [&str; 10] = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
    match (n / 100, n % 100) {
        (0, rest @ 0..20) => ONES[rest as usize].to_owned(),
        (0, rest) if rest % 10 == 0 => TENS[rest as usize / 10].to_owned(),
        (0, rest) => format!("{}-{}", TENS[rest as usize / 10], ONES[rest as usize % 10]),
        (hundreds, 0) => format!("{} hundred", ONES[hundreds as usize]),
        (hundreds, rest) => format!("{} hundred and {}", ONES[hundreds as usize], words(rest)),
    }
}

/// As a pace clock is read: "one oh five", "forty", "two minutes".
fn clock(time: Seconds) -> String {
    let seconds = time.as_f64().round() as u32;
    match (seconds / 60, seconds % 60) {
        (0, seconds) => words(seconds),
        (1, 0) => "one minute".to_owned(),
        (minutes, 0) => format!("{} minutes", words(minutes)),
        (minutes, seconds @ 1..10) => format!("{} oh {}", words(minutes), words(seconds)),
        (minutes, seconds) => format!("{} {}", words(minutes), words(seconds)),
    }
}

/// "one point oh five", to the hundredth.
fn point(tempo: Tempo) -> String {
    let hundredths = (tempo.as_f64() * 100.0).round() as u32;
    let rest = match hundredths % 100 {
        0 => "zero".to_owned(),
        rest @ 1..10 => format!("oh {}", words(rest)),
        rest if rest % 10 == 0 => words(rest / 10),
        rest => format!("{} {}", words(rest / 10), words(rest % 10)),
    };
    format!("{} point {rest}", words(hundredths / 100))
}

fn metres(distance: Distance) -> String {
    assert_eq!(distance.unit(), PoolUnit::Metre);
    format!("{} metres", words(distance.count()))
}

/// How far a repeat goes, as it is said.
fn far(line: &Line, repeat: &Repeat) -> String {
    match &line.far {
        Far::Time(time) => clock(*time),
        Far::Course { .. } => panic!("no practice that comes with the program has a course"),
        Far::Distances(_) => metres(repeat.distance),
    }
}

const fn part(part: BodyPart) -> &'static str {
    match part {
        BodyPart::Swim => "swim",
        BodyPart::Kick => "kick",
        BodyPart::Pull => "pull",
        BodyPart::Scull => "scull",
    }
}

/// The two ways in which a drill is named: how it is done, and its name.
fn names(planned: &Planned, drill: &Drill) -> [String; 2] {
    let entry = planned.library.entry(Role::Drill, &drill.how.id).unwrap();
    [entry.full.text.clone(), entry.short.as_ref().unwrap().text.clone()]
}

/// A start with its set, its line, and what is said for it: before its go, or after a join.
struct Heard<'p> {
    start: &'p Start,
    set: &'p Set,
    line: &'p Line,
    before: Option<(&'p Start, &'p Line)>,
    said: Vec<&'p Told>,
}

impl Heard<'_> {
    fn says(&self, text: &str) -> bool {
        self.said.iter().any(|told| told.text == text)
    }

    fn names(&self, part: &str) -> bool {
        self.said.iter().any(|told| told.text.contains(part))
    }
}

fn heard<'p>(planned: &'p Planned, cues: &'p [Told]) -> Vec<Heard<'p>> {
    let sets: Vec<&Set> = planned.practice.sets().collect();
    let starts = &planned.built.strand.starts;
    let line = |start: &Start| -> &Line { &sets[start.set].lines[start.repeat.line] };
    let one = |(index, start): (usize, &'p Start)| {
        let before = index.checked_sub(1).map(|before| &starts[before]);
        let early = start.go + start.repeat.lengths[0].time.scaled(2, 5);
        let stopped = (0..index)
            .rev()
            .find(|index| !starts[*index + 1].repeat.joined)
            .map_or(Seconds::ZERO, |index| starts[index].touch);
        let (from, to) = match start.repeat.joined {
            // Who hears nothing under way has heard it before the whole of it.
            true if planned.practice.audience.in_ear() => (start.go, early),
            true => (stopped, start.go),
            false => (before.map_or(Seconds::ZERO, |before| before.touch), start.go),
        };
        let said = cues.iter().filter(|told| (from..to).contains(&told.at) && told.kind.is_voice()).collect();
        let before = before.map(|before| (before, line(before)));
        Heard { start, set: sets[start.set], line: line(start), before, said }
    };
    starts.iter().enumerate().map(one).collect()
}

#[test]
fn what_is_swum_is_named_or_known() {
    each(|what, planned, cues| {
        for heard in heard(planned, cues) {
            let Heard { start, line, before, .. } = &heard;
            let repeat = &start.repeat;
            let place = format!("{what}, set {}, repeat {}", start.set + 1, start.ordinal + 1);
            // What follows without a stop is known from the round before.
            if repeat.joined && repeat.round > 0 && !planned.practice.audience.in_ear() {
                continue;
            }
            let same_set = before.filter(|_| !start.opens);
            let texts = || heard.said.iter().map(|told| told.text.as_str()).collect::<Vec<_>>();
            // How far.
            let new =
                same_set.is_none_or(|(before, line_before)| far(line, repeat) != far(line_before, &before.repeat));
            if new || start.begins_track {
                assert!(heard.names(&far(line, repeat)), "{place}: {} in {:?}", far(line, repeat), texts());
            }
            // What moves, and which drill.
            let changed = same_set.is_none_or(|(_, before)| before.part != line.part);
            if changed && (line.part != BodyPart::Swim || same_set.is_some()) {
                assert!(heard.names(part(line.part)), "{place}: {:?} in {:?}", line.part, texts());
            }
            let id = |line: &Line| line.drill.as_ref().map(|drill| drill.how.id.clone());
            match &line.drill {
                Some(drill) if same_set.is_none_or(|(_, before)| id(before) != id(line)) => {
                    assert!(names(planned, drill).iter().any(|name| heard.says(name)), "{place}: {:?}", texts());
                }
                None if same_set.is_some_and(|(_, before)| before.drill.is_some()) => {
                    assert!(heard.says("whole stroke"), "{place}: {:?}", texts());
                }
                _ => {}
            }
            // The lengths of every repeat, in their order.
            let own: Vec<_> = line.kinds.iter().filter_map(|kind| kind.drill.as_ref()).collect();
            if !own.is_empty() && !start.opens {
                let told = heard.said.iter().find(|told| told.id == "in-turn");
                let told = &told.unwrap_or_else(|| panic!("{place}: {:?}", texts())).text;
                assert!(own.iter().all(|drill| told.contains(&names(planned, drill)[1])), "{place}: {told}");
            }
            // The last words but for the clock's belong to the swim that comes: its first length, or all of it in turn.
            if planned.practice.audience.in_ear() && !repeat.joined {
                let last = heard.said.iter().rev().find(|told| told.kind != CueKind::Timer).unwrap();
                let of_later = repeat.focus.iter().skip(1).any(|focus| *line.focus[focus.phrase].id == *last.id);
                let of_first = repeat.focus.first().is_some_and(|focus| *line.focus[focus.phrase].id == *last.id);
                assert!(!of_later || of_first, "{place}: {} is last", last.text);
            }
        }
    });
}

#[test]
fn every_number_is_that_of_the_plan() {
    each(|what, planned, cues| {
        // What is said before a swim that follows without a stop is that of the one before.
        for heard in heard(planned, cues).iter().filter(|heard| !heard.start.repeat.joined) {
            let Heard { start, set, line, .. } = &heard;
            let repeat = &start.repeat;
            let place = format!("{what}, set {}, repeat {}", start.set + 1, start.ordinal + 1);
            let lines = || set.lines.iter().enumerate();
            let own = |index: usize| set.repeats.iter().filter(move |repeat| repeat.line == index);
            for told in heard.said.iter().filter(|told| [CueKind::Set, CueKind::Timer].contains(&told.kind)) {
                let text = told.text.as_str();
                let one_of =
                    |texts: Vec<String>| assert!(texts.iter().any(|one| one == text), "{place}: {text}, not {texts:?}");
                let id = told.id.as_str();
                match id {
                    "which" => {
                        let round = || set.repeats.iter().filter(|other| other.round == repeat.round);
                        let before = set.repeats.iter().take(start.ordinal).filter(|other| other.round == repeat.round);
                        let (number, of) = (before.count() as u32 + 1, round().count() as u32);
                        one_of(vec![format!("{} of {}", words(number), words(of))]);
                        // The screen counts alike.
                        let shown = SwimFacts::of(&planned.practice, start.set, start.ordinal).unwrap().repeat;
                        assert_eq!((shown.number as u32, shown.of as u32), (number, of), "{place}");
                    }
                    "last-one" => assert_eq!(start.ordinal + 1, set.repeats.len(), "{place}"),
                    "last-round" => assert_eq!(repeat.round + 1, set.rounds, "{place}"),
                    "due" if start.opens => {
                        let first =
                            |index| own(index).next().map(|repeat| format!("due in {}", clock(repeat.predicted)));
                        one_of(lines().filter_map(|(index, _)| first(index)).collect());
                    }
                    "due" => one_of(vec![format!("due in {}", clock(repeat.predicted))]),
                    "tempo" if start.opens => {
                        // A ladder says where it begins and where it turns: each a tempo of the line.
                        let told: Vec<&str> = text.split(" down to ").flat_map(|part| part.split(" up to ")).collect();
                        let told: Vec<&str> = told.iter().flat_map(|part| part.split(" then ")).collect();
                        let told =
                            told.iter().map(|part| part.trim_start_matches("tempo ").trim_end_matches(" and so on"));
                        for told in told {
                            let known = |line: &Line| line.tempos.iter().any(|tempo| point(*tempo) == told);
                            assert!(set.lines.iter().any(known), "{place}: {text}");
                        }
                    }
                    "tempo" => one_of(vec![format!("tempo {}", point(repeat.tempo.unwrap()))]),
                    "pace" => {
                        let ends = |line: &Line| {
                            let each = line.paces.iter().map(|pace| clock(pace.per_hundred()));
                            let each: Vec<String> = each.collect();
                            each.iter()
                                .flat_map(|from| {
                                    let to = each.iter().map(move |to| format!("pace {from} per hundred to {to}"));
                                    to.chain([format!("pace {from} per hundred")])
                                })
                                .collect::<Vec<_>>()
                        };
                        one_of(set.lines.iter().flat_map(ends).collect());
                    }
                    "at-most" => {
                        let bound = if start.opens { set.lines.iter().collect() } else { vec![*line] };
                        let most = bound.iter().filter_map(|line| line.at_most);
                        one_of(most.map(|most| format!("at most {} strokes a length", words(most))).collect());
                    }
                    "leave" if text == "straight on, no stop" => assert!(own_joins(set), "{place}"),
                    "leave" => {
                        // The same from the go that leads to a line to the next go of its round.
                        let go_to_go = |ordinal: usize| {
                            let begun = (0..=ordinal).rev().find(|at| !set.repeats[*at].joined).unwrap();
                            set.repeats[begun..=ordinal].iter().map(|repeat| repeat.interval.unwrap()).sum::<Seconds>()
                        };
                        let each = |index: usize| {
                            let pairs = set.repeats.iter().zip(set.repeats.iter().skip(1)).enumerate();
                            let pairs = pairs.filter(move |(_, (repeat, _))| repeat.line == index && !repeat.joins);
                            let within: Vec<_> =
                                pairs.clone().filter(|(_, (one, next))| one.round == next.round).collect();
                            let pairs = if within.is_empty() { pairs.collect() } else { within };
                            pairs.iter().map(|(ordinal, _)| go_to_go(*ordinal)).collect::<Vec<_>>()
                        };
                        let held = |index: usize| {
                            let each = each(index);
                            let first = each.first().copied().filter(|first| each.iter().all(|one| one == first))?;
                            let seconds = if first < Seconds::from_secs(60) { " seconds" } else { "" };
                            Some(format!("on {}{seconds}", clock(first)))
                        };
                        one_of(lines().filter_map(|(index, _)| held(index)).collect());
                    }
                    "swim" if start.opens => {
                        let named = |(index, line): (usize, &Line)| {
                            let first = own(index).next().is_some_and(|repeat| text.contains(&far(line, repeat)));
                            let times = format!("{} times ", words(line.repeats));
                            let listed = matches!(&line.far, Far::Distances(each) if each.len() > 1);
                            first && (line.repeats == 1 || listed || text.contains(&times))
                        };
                        assert!(lines().any(named), "{place}: {text}");
                    }
                    "swim" => assert!(text.starts_with(&far(line, repeat)), "{place}: {text}"),
                    _ if id.starts_with("rounds-") => one_of(vec![format!("{} rounds", words(set.rounds))]),
                    _ if id.starts_with("round-") => one_of(vec![format!("round {}", words(repeat.round + 1))]),
                    _ if id.starts_with("go-in-") || id.starts_with("echo-") => {
                        let seconds: i64 = id.rsplit('-').next().unwrap().parse().unwrap();
                        assert_eq!(told.at, start.go - Seconds::from_secs(seconds), "{place}: {text}");
                    }
                    _ => {}
                }
            }
        }
    });
}

fn own_joins(set: &Set) -> bool {
    set.repeats.iter().any(|repeat| repeat.joins)
}

/// So many lengths may pass in a pool without a word: then a lone focus is renewed.
const LENGTHS: f64 = 4.0;
/// And so many seconds in open water: the longest swim that asks for nothing but to be easy.
const OPEN: f64 = 361.0;

#[test]
fn nobody_is_left_alone_for_longer_than_is_meant() {
    each(|what, planned, cues| {
        if !planned.practice.audience.in_ear() {
            return;
        }
        let mut longest: (f64, f64) = (0.0, 0.0);
        let mut silent_from = Seconds::ZERO;
        for Heard { start, line, .. } in heard(planned, cues) {
            // Nothing is heard in a measured swim, and that is announced.
            if line.test.is_some() {
                continue;
            }
            if !start.repeat.joined {
                silent_from = start.go;
            }
            let length = start.repeat.predicted.as_f64() / start.repeat.lengths.len() as f64;
            let mut gap = |to: Seconds, from: Seconds| {
                let gap = (to - from).as_f64();
                longest = (longest.0.max(gap), longest.1.max(gap / length));
            };
            let under_way = start.go..start.touch;
            for told in cues.iter().filter(|told| told.kind.is_voice() && under_way.contains(&told.at)) {
                gap(told.at, silent_from);
                silent_from = told.end;
            }
            gap(start.touch, silent_from);
        }
        let (seconds, lengths) = longest;
        println!("{what}: {seconds:.0} s, {lengths:.1} lengths");
        let open = planned.practice.sets().flat_map(|set| &set.lines).any(|line| matches!(line.far, Far::Time(_)));
        if open {
            assert!(seconds <= OPEN, "{what}: {seconds:.0} s without a word");
        } else {
            // 40 % of a length later a word comes at the latest.
            assert!(lengths <= LENGTHS + 0.4, "{what}: {lengths:.1} lengths without a word");
        }
    });
}
