//! The questions after a practice: at most six, a line each, none of which has to be answered. A machine without a terminal:
//! it gives a question and takes a line.
//!
//! Nothing is ever offered that was predicted: who is shown a number remembers that number.

use super::answers::Answers;
use super::entry::{LoggedPractice, LoggedRepeat, Measure, SwimState, ValueSource};
use super::outline::{AskedLength, AskedSwim, Outline};
use super::place::{self, WrongAnswer};
use super::written;
use crate::units::time::Seconds;

/// What somebody in pain is told. Common practice, no source; no advice beyond it.
pub const IN_PAIN: &str =
    "Stop what hurts, swim nothing quick until it is gone, and have it looked at by a professional.";

/// What the line begins with that shows what is known already.
pub const SO_FAR: &str = "so far: ";

/// So many counts are asked for at most: nobody remembers more.
const COUNTS: usize = 2;

/// One question.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Question {
    Missed,
    Counts(Vec<AskedLength>),
    Time(AskedSwim),
    Apart,
    Feeling,
    Pain,
}

/// The order in which things are asked, without what they are asked of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Topic {
    Missed,
    Counts,
    Time,
    Apart,
    Feeling,
    Pain,
}

const TOPICS: [Topic; 6] = [Topic::Missed, Topic::Counts, Topic::Time, Topic::Apart, Topic::Feeling, Topic::Pain];

/// What came of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard {
    /// It was taken, or skipped.
    Taken,
    /// It was taken, and this is to be said.
    Reply(&'static str),
    /// It cannot be taken; the question stands.
    Again(WrongAnswer),
    /// Back at the question before.
    Back,
}

/// An interview about one practice.
#[derive(Clone, Debug)]
pub struct Interview<'a> {
    outline: &'a Outline,
    source: ValueSource,
    /// What was answered to each topic so far.
    given: Vec<Answers>,
}

impl<'a> Interview<'a> {
    /// About a planned practice, or one that was kept before. `source` is how counts are known.
    pub const fn new(outline: &'a Outline, source: ValueSource) -> Self {
        Self { outline, source, given: Vec::new() }
    }

    /// The question that stands, in the words to be shown; `None` when all are over.
    pub fn question(&mut self) -> Option<String> {
        while let Some(topic) = TOPICS.get(self.given.len()) {
            if let Some(question) = self.asked(*topic) {
                return Some(self.words(&question));
            }
            self.given.push(Answers::default());
        }
        None
    }

    /// Takes a line as the answer to the question that stands. An empty one skips it, `u` goes back.
    pub fn hear(&mut self, line: &str) -> Heard {
        let line = line.trim();
        let question = TOPICS.get(self.given.len()).and_then(|topic| self.asked(*topic));
        let Some(question) = question else { return Heard::Taken };
        if line.eq_ignore_ascii_case("u") {
            // Topics that were not asked are no questions to go back to.
            while self.given.pop().is_some() {
                let topic = TOPICS.get(self.given.len());
                if topic.is_some_and(|topic| self.asked(*topic).is_some()) {
                    break;
                }
            }
            return Heard::Back;
        }
        match if line.is_empty() { Ok(Answers::default()) } else { self.answer(&question, line) } {
            Ok(answers) => {
                let hurts = answers.pain.as_deref().is_some_and(|pain| !pain.is_empty());
                self.given.push(answers);
                // What contradicts an answer before it is said at once.
                if let Err(wrong) = self.answers().apply(&mut self.outline.practice.clone()) {
                    self.given.pop();
                    return Heard::Again(wrong);
                }
                if hurts { Heard::Reply(IN_PAIN) } else { Heard::Taken }
            }
            Err(wrong) => Heard::Again(wrong),
        }
    }

    /// All that was answered.
    pub fn answers(&self) -> Answers {
        let mut all = Answers::default();
        self.given.iter().for_each(|answers| all.absorb(answers.clone()));
        all
    }

    /// The question of a topic, if there is something to ask.
    fn asked(&self, topic: Topic) -> Option<Question> {
        match topic {
            Topic::Missed => Some(Question::Missed),
            Topic::Counts => {
                let mut practice = self.outline.practice.clone();
                // That it can be applied was seen when it was given.
                let _ = self.answers().apply(&mut practice);
                let asked = worth_counting(&practice, &self.outline.counts);
                (!asked.is_empty()).then_some(Question::Counts(asked))
            }
            Topic::Time => {
                let mut practice = self.outline.practice.clone();
                let _ = self.answers().apply(&mut practice);
                worth_timing(&practice, &self.outline.times).map(Question::Time)
            }
            Topic::Apart => Some(Question::Apart),
            Topic::Feeling => Some(Question::Feeling),
            Topic::Pain => Some(Question::Pain),
        }
    }

    fn answer(&self, question: &Question, line: &str) -> Result<Answers, WrongAnswer> {
        let mut answers = Answers::default();
        match question {
            Question::Missed => answers.missed = Some(written::missed(line, self.outline)?),
            Question::Counts(asked) => answers.values = self.counts(asked, line)?,
            Question::Time(asked) if line.contains('=') => {
                let _ = asked;
                answers.values = vec![written::time(line, self.outline, self.clock())?];
            }
            Question::Time(asked) => {
                answers.values = vec![written::time_at(line, *asked, None, self.outline, self.clock())?];
            }
            Question::Apart => answers.apart = Some(written::apart(line, self.outline)?),
            Question::Feeling => {
                let mut words = line.split([' ', ',', ';', '/']).filter(|word| !word.is_empty());
                let mut next = || words.next().filter(|word| *word != "-");
                answers.feel = next().map(written::feel).transpose()?;
                answers.effort = next().map(written::effort).transpose()?;
                answers.minutes = next().map(written::minutes).transpose()?;
                if let Some(more) = words.next() {
                    return Err(WrongAnswer(format!(
                        "`{more}` is one too many: feel, effort, minutes, such as 4 6 40"
                    )));
                }
            }
            Question::Pain => answers.pain = Some(written::pain(line)?),
        }
        Ok(answers)
    }

    /// Times are read from a clock, unless a coach had them.
    const fn clock(&self) -> ValueSource {
        match self.source {
            ValueSource::Counted => ValueSource::Clock,
            other => other,
        }
    }

    /// One count for each length asked for, `-` for one that is not known; or counts with places of their own.
    fn counts(&self, asked: &[AskedLength], line: &str) -> Result<Vec<super::answers::SaidValue>, WrongAnswer> {
        // `18 at 1.10, 21?`: a blank may stand before and behind `at`.
        let joined = line.replace([',', ';'], " ").replace(" at ", "at").replace("at ", "at").replace(" ?", "?");
        let mut values = Vec::new();
        let mut places = asked.iter();
        for item in joined.split_whitespace() {
            if item.contains('=') {
                values.extend(written::count(item, self.outline, self.source)?);
                continue;
            }
            let Some(place) = places.next() else {
                let counts = place::counted(asked.len(), "count");
                return Err(WrongAnswer(format!(
                    "`{item}` is one too many: {counts} asked for; another place is 2.3=18"
                )));
            };
            if item != "-" {
                values.extend(written::count_at(item, *place, self.outline, self.source)?);
            }
        }
        Ok(values)
    }

    fn words(&self, question: &Question) -> String {
        let practice = &self.outline.practice;
        let known = known(practice, question);
        match question {
            Question::Missed => format!(
                "Did you leave anything out?{known}\n\
                 \"no\", or what: 3.2 is repeat 2 of set 3, 5 is all of set 5, \"from 4.3\" is all from there on"
            ),
            Question::Counts(asked) => {
                let what: Vec<String> = asked.iter().map(|asked| of_length(practice, *asked)).collect();
                let what = what.join(", and ");
                let example = if asked.len() > 1 { "18 21; - for one you do not know" } else { "18" };
                format!(
                    "How many strokes? {what}{known}\n\
                     such as {example}; 18? for a guess; 18 at 1.15 if you swam at another tempo"
                )
            }
            Question::Time(asked) => {
                let swim = place::repeat(practice, *asked).map_or("", |repeat| repeat.swim.as_str());
                format!("What time did you swim for {swim} ({asked})?{known}\nsuch as 5:52 or 58.4; 5:52? for a guess")
            }
            Question::Apart => format!(
                "Where did the stroke fall apart?{known}\n\
                 such as 4.5 for repeat 5 of set 4; \"no\" if it held"
            ),
            Question::Feeling => format!(
                "Feel 1 to 5, effort 0 to 10, minutes?{known}\n\
                 feel: 1 nothing worked, 3 as usual, 5 it flowed; effort of the whole: 2 easy, 5 hard, 7 very hard, 10 all you had; such as 4 6 40"
            ),
            Question::Pain => format!("Did anything hurt?{known}\nwhere, or \"no\" if nothing did"),
        }
    }
}

/// What is kept already of what is asked, as it would be typed, where a practice is looked at again.
fn known(practice: &LoggedPractice, question: &Question) -> String {
    let said = &practice.said;
    let now: Vec<String> = match question {
        Question::Missed => {
            let of = |state: SwimState| practice.repeats().filter(move |(_, repeat)| repeat.state == state);
            let missed: Vec<String> =
                of(SwimState::Missed).map(|(set, repeat)| format!("{}.{}", set.number, repeat.number)).collect();
            // That all was swum is known only where nothing is unknown.
            let all =
                missed.is_empty() && of(SwimState::Unknown).next().is_none() && of(SwimState::Swum).next().is_some();
            if all { vec!["no".to_owned()] } else { missed }
        }
        Question::Counts(asked) => {
            let counts: Vec<Option<String>> = asked.iter().map(|asked| counted(practice, *asked)).collect();
            if counts.iter().all(Option::is_none) {
                return String::new();
            }
            vec![counts.into_iter().map(|count| count.unwrap_or_else(|| "-".to_owned())).collect::<Vec<_>>().join(" ")]
        }
        Question::Time(asked) => {
            let time = observed(practice, *asked, Measure::Time, None);
            time.map(|(value, source)| clock(value) + source).into_iter().collect()
        }
        Question::Apart if said.held => vec!["no".to_owned()],
        Question::Apart => {
            practice.sets.iter().filter_map(|set| Some(format!("{}.{}", set.number, set.apart?))).collect()
        }
        Question::Feeling => {
            let feel = said.feel.map(|feel| format!("feel {feel}"));
            let effort = said.effort.map(|effort| format!("effort {effort}"));
            let minutes = practice.minutes.map(|minutes| format!("{} min", libm::round(minutes)));
            [feel, effort, minutes].into_iter().flatten().collect()
        }
        Question::Pain => {
            said.pain.iter().map(|pain| if pain.is_empty() { "no".to_owned() } else { pain.clone() }).collect()
        }
    };
    if now.is_empty() { String::new() } else { format!("\n{SO_FAR}{}; Enter keeps it", now.join(", ")) }
}

/// A count that is kept, with its tempo where it was swum at another than was asked for.
fn counted(practice: &LoggedPractice, asked: AskedLength) -> Option<String> {
    let pool = place::repeat(practice, asked.swim).is_ok_and(|repeat| repeat.lengths > 0);
    let length = pool.then_some(asked.length);
    let (count, source) = observed(practice, asked.swim, Measure::Count, length)?;
    let tempo = observed(practice, asked.swim, Measure::Tempo, length);
    let tempo = tempo.map_or_else(String::new, |(tempo, _)| format!("at{tempo:.2}"));
    Some(format!("{count}{tempo}{source}"))
}

/// A value that is kept, and what tells how it is known where that is not as usual. What somebody said goes before what was
/// tapped: that is what an answer would replace.
fn observed(
    practice: &LoggedPractice,
    swim: AskedSwim,
    measure: Measure,
    length: Option<u32>,
) -> Option<(f64, &'static str)> {
    let observations = &place::repeat(practice, swim).ok()?.observations;
    let same = observations.iter().filter(|observed| observed.measure == measure && observed.length == length);
    let known = same.max_by_key(|observed| observed.source != ValueSource::Tapped)?;
    let source = match known.source {
        ValueSource::Counted | ValueSource::Clock => "",
        ValueSource::Guess => "?",
        ValueSource::Tapped => " (tapped)",
        ValueSource::Coach => " (coach)",
    };
    Some((known.value, source))
}

/// A time as it is typed, to the tenth of a second.
fn clock(seconds: f64) -> String {
    Seconds::from_millis(libm::round(seconds * 10.0) as i64 * 100).to_string()
}

/// A length that is asked about: `last length of 4.8, 50 m easy, 1.10 s a stroke`.
fn of_length(practice: &LoggedPractice, asked: AskedLength) -> String {
    let Ok(repeat) = place::repeat(practice, asked.swim) else { return asked.swim.to_string() };
    let which = match (repeat.lengths, asked.length) {
        (0, _) => "all".to_owned(),
        (1, _) => "the length".to_owned(),
        (lengths, length) if length == lengths => "last length".to_owned(),
        (_, length) => format!("length {length}"),
    };
    let tempo = repeat.tempo.map_or_else(String::new, |tempo| format!(", {tempo:.2} s a stroke"));
    format!("{which} of {} ({}{tempo})", asked.swim, repeat.swim)
}

/// Whether a repeat can have been swum, as far as is known.
const fn may_be_swum(repeat: &LoggedRepeat) -> bool {
    matches!(repeat.state, SwimState::Unknown | SwimState::Swum)
}

/// The lengths whose strokes are asked for: the first and the last of those that the script has counted; where it counts
/// none, of whole strokes to a tempo.
pub(super) fn worth_counting(practice: &LoggedPractice, by_script: &[AskedLength]) -> Vec<AskedLength> {
    let swum = |asked: &&AskedLength| place::repeat(practice, asked.swim).is_ok_and(may_be_swum);
    let mut asked: Vec<AskedLength> = by_script.iter().filter(swum).copied().collect();
    if by_script.is_empty() {
        let to_tempo = practice.repeats().filter(|(_, repeat)| {
            may_be_swum(repeat) && repeat.tempo.is_some() && repeat.plain.contains(repeat.lengths.max(1))
        });
        asked = to_tempo
            .map(|(set, repeat)| AskedLength {
                swim: AskedSwim { set: set.number, repeat: repeat.number },
                length: repeat.lengths.max(1),
            })
            .collect();
    }
    match asked[..] {
        [first, .., last] => [first, last].into_iter().take(COUNTS).collect(),
        _ => asked,
    }
}

/// The swim whose time is asked for: a timed one first, else the last of the longest that are the whole stroke. One that was
/// tapped is known.
pub(super) fn worth_timing(practice: &LoggedPractice, by_script: &[AskedSwim]) -> Option<AskedSwim> {
    let tapped = |repeat: &LoggedRepeat| {
        repeat.observations.iter().any(|observed| {
            observed.measure == Measure::Time && observed.length.is_none() && observed.source == ValueSource::Tapped
        })
    };
    let timed =
        |swim: &&AskedSwim| place::repeat(practice, **swim).is_ok_and(|repeat| may_be_swum(repeat) && !tapped(repeat));
    if !by_script.is_empty() {
        return by_script.iter().find(timed).copied();
    }
    let whole = |repeat: &LoggedRepeat| repeat.plain.count() == repeat.lengths.max(1);
    let swum = practice.repeats().filter(|(_, repeat)| may_be_swum(repeat) && whole(repeat));
    // Of equals the last.
    let (set, repeat) = swum.max_by(|(_, one), (_, other)| one.metres.total_cmp(&other.metres))?;
    (!tapped(repeat)).then_some(AskedSwim { set: set.number, repeat: repeat.number })
}

#[cfg(test)]
mod tests;
