//! The pass through a reading: piece by piece what it is taken for, what is in doubt about it, and what a person says to that.

use super::align::{Alignment, LaidText, ListedText, align};
use super::answer::ReadingAnswer;
use super::heard::AloudReading;
use crate::audio::take::{self, TakeFault, TextTime};
use crate::recording::desk::FinishedTake;
use crate::recording::{Prompt, TextTimes};
use std::collections::VecDeque;
use std::ops::Range;

/// A text whose next best place costs less than this more is in doubt: about one in twenty that it is something else.
const SURE: f64 = 3.0;

/// What is in doubt about a piece.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PieceDoubt {
    /// Its text was read so many times; this is which.
    Again(usize, usize),
    /// It stands in the place of its neighbour in the list.
    Swapped,
    /// It may as well be a text beside it.
    Beside,
    /// It is none of the texts, by its place and its length.
    NoText,
}

/// One piece and what it is taken for.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceQuestion {
    /// The text, by its place in the list.
    pub text: Option<usize>,
    /// Its sounds.
    pub sounds: Range<usize>,
    /// The reading of the same text before it.
    before: Option<Range<usize>>,
    /// What is in doubt.
    pub doubts: Vec<PieceDoubt>,
}

/// What an answer leads to.
#[derive(Clone, Debug, PartialEq)]
pub enum ReadingReply {
    /// On to the next piece, or back to the one before.
    Next,
    /// This take is to be stored as this text; [`ReadingDesk::kept`] goes on when it is.
    Keep(usize, Box<FinishedTake>),
    /// It is to be played.
    Play,
    /// It makes no sense here, and why.
    No(String),
}

/// What was found before anybody was asked.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadingFound {
    /// Texts with at least one piece.
    pub texts: usize,
    /// Of those, read more than once.
    pub again: usize,
    /// Of those, read in the place of a neighbour.
    pub swapped: usize,
    /// The texts that nothing was found for, by their places in the list.
    pub left_out: Vec<usize>,
    /// Pieces with words that are none of the texts.
    pub others: usize,
    /// Knocks, coughs, breaths.
    pub set_aside: usize,
    /// How many times the usual time this reader takes.
    pub pace: f64,
}

/// The course of the pass.
#[derive(Debug)]
pub struct ReadingDesk {
    reading: AloudReading,
    prompts: Vec<Prompt>,
    times: TextTimes,
    lengths: Vec<ListedText>,
    decided: Vec<Option<Range<usize>>>,
    coming: VecDeque<PieceQuestion>,
    past: Vec<PieceQuestion>,
    storing: Option<(usize, Range<usize>)>,
    found: ReadingFound,
}

impl ReadingDesk {
    /// For texts in reading order.
    pub fn new(reading: AloudReading, prompts: Vec<Prompt>, times: TextTimes) -> Self {
        let length = |prompt: &Prompt| {
            let time = times.of(&prompt.text).unwrap_or_else(|| TextTime::by_letters(&prompt.text, &prompt.text));
            ListedText { usual: time.usual().as_f64(), breaks: time.breaks() }
        };
        let lengths = prompts.iter().map(length).collect();
        let decided = vec![None; prompts.len()];
        let (coming, past) = (VecDeque::new(), Vec::new());
        let found = ReadingFound::default();
        let mut desk = Self { reading, prompts, times, lengths, decided, coming, past, storing: None, found };
        let laid = desk.lay(0, 0);
        let used: usize = laid.texts.iter().flat_map(|text| &text.takes).map(Range::len).sum();
        let count = |test: &dyn Fn(&LaidText) -> bool| laid.texts.iter().filter(|text| test(text)).count();
        desk.found = ReadingFound {
            texts: count(&|text| !text.takes.is_empty()),
            again: count(&|text| text.takes.len() > 1),
            swapped: count(&|text| text.swapped),
            left_out: (0..laid.texts.len())
                .filter(|at| laid.texts.get(*at).is_some_and(|text| text.takes.is_empty()))
                .collect(),
            others: laid.others.len(),
            set_aside: desk.reading.new_sounds().saturating_sub(used + laid.others.len()),
            pace: laid.pace,
        };
        desk
    }

    /// Lays the sounds from one on beside the texts from one on that nobody has decided on yet, and asks about them anew.
    fn lay(&mut self, from: usize, first: usize) -> Alignment {
        let open: Vec<usize> =
            (first..self.prompts.len()).filter(|at| self.decided.get(*at).is_some_and(Option::is_none)).collect();
        let texts: Vec<ListedText> = open.iter().filter_map(|at| self.lengths.get(*at).copied()).collect();
        let sounds = self.reading.sounds();
        let laid = align(sounds.get(from..).unwrap_or_default(), &texts);
        let shifted = |sounds: &Range<usize>| sounds.start + from..sounds.end + from;
        let mut questions = Vec::new();
        for (at, text) in open.iter().zip(&laid.texts) {
            let all = text.takes.len();
            for (nth, take) in text.takes.iter().enumerate() {
                let mut doubts = Vec::new();
                doubts.extend((all > 1).then_some(PieceDoubt::Again(nth + 1, all)));
                doubts.extend(text.swapped.then_some(PieceDoubt::Swapped));
                doubts.extend((text.margin < SURE).then_some(PieceDoubt::Beside));
                let before = nth.checked_sub(1).and_then(|before| text.takes.get(before)).map(&shifted);
                questions.push(PieceQuestion { text: Some(*at), sounds: shifted(take), before, doubts });
            }
        }
        let other = |at: &usize| {
            let sounds = shifted(&(*at..at + 1));
            PieceQuestion { text: None, sounds, before: None, doubts: vec![PieceDoubt::NoText] }
        };
        questions.extend(laid.others.iter().map(other));
        questions.sort_by_key(|question| question.sounds.start);
        self.coming = questions.into();
        laid
    }

    /// What was found before anybody was asked.
    pub const fn found(&self) -> &ReadingFound {
        &self.found
    }

    /// The texts.
    pub fn prompts(&self) -> &[Prompt] {
        &self.prompts
    }

    /// The reading.
    pub const fn reading(&self) -> &AloudReading {
        &self.reading
    }

    /// How many pieces were decided on, and how many are to come.
    pub fn progress(&self) -> (usize, usize) {
        (self.past.len(), self.coming.len())
    }

    /// Which texts are kept.
    pub fn kept_texts(&self) -> impl Iterator<Item = &Prompt> {
        self.prompts.iter().zip(&self.decided).filter(|(_, decided)| decided.is_some()).map(|(prompt, _)| prompt)
    }

    /// The piece in hand.
    pub fn question(&self) -> Option<&PieceQuestion> {
        self.coming.front()
    }

    /// A piece cut and judged, as the text that it is taken for.
    pub fn take(&self, question: &PieceQuestion) -> FinishedTake {
        self.finished(question.text, question.sounds.clone())
    }

    fn finished(&self, text: Option<usize>, sounds: Range<usize>) -> FinishedTake {
        let (part, rate) = self.reading.part(sounds);
        let take = take::examine(&part, rate);
        let prompt = text.and_then(|text| self.prompts.get(text));
        let limit = prompt.and_then(|prompt| prompt.role.longest(prompt.short));
        let time = prompt.and_then(|prompt| self.times.of(&prompt.text));
        let faults = take.faults(limit, time);
        FinishedTake { samples: take::trim(&part, &take), rate, faults, take, torn: false }
    }

    /// Whether nothing at all is in doubt: every text was read once, in order, every length fits and nothing is left over.
    pub fn is_sure(&self) -> bool {
        let sure = |question: &PieceQuestion| {
            let faults = self.take(question).faults;
            question.doubts.is_empty() && !faults.iter().any(is_of_length)
        };
        self.found.left_out.is_empty() && self.coming.iter().all(sure)
    }

    /// Takes an answer.
    pub fn answer(&mut self, answer: &ReadingAnswer) -> ReadingReply {
        let Some(question) = self.coming.front().cloned() else { return ReadingReply::No("it is over".to_owned()) };
        match (answer, question.text) {
            (ReadingAnswer::Stop, _) => {
                self.coming.clear();
                ReadingReply::Next
            }
            (ReadingAnswer::Play, _) => ReadingReply::Play,
            (ReadingAnswer::Skip, _) => {
                self.pass();
                ReadingReply::Next
            }
            (ReadingAnswer::Back, _) => match self.past.pop() {
                Some(past) => {
                    self.coming.push_front(past);
                    ReadingReply::Next
                }
                None => ReadingReply::No("this is the first piece".to_owned()),
            },
            (ReadingAnswer::Keep, None) => {
                ReadingReply::No("it is no text of the list; `other TEXT` or `skip`".to_owned())
            }
            (ReadingAnswer::Keep, Some(text)) => self.keep(text, question.sounds),
            (ReadingAnswer::Before, Some(text)) => match question.before {
                // What was kept a moment ago stays; it is the one before.
                Some(before) if self.decided.get(text) == Some(&Some(before.clone())) => {
                    self.pass();
                    ReadingReply::Next
                }
                Some(before) => self.keep(text, before),
                None => ReadingReply::No("there is no reading of this text before it".to_owned()),
            },
            (ReadingAnswer::Before, None) => ReadingReply::No("it is no text of the list".to_owned()),
            (ReadingAnswer::Other(wanted), _) => match self.named(wanted) {
                Ok(text) => self.keep(text, question.sounds),
                Err(why) => ReadingReply::No(why),
            },
        }
    }

    fn keep(&mut self, text: usize, sounds: Range<usize>) -> ReadingReply {
        let heard = self.finished(Some(text), sounds.clone());
        if !heard.can_be_kept() {
            return ReadingReply::No("there is nothing in it; `skip`".to_owned());
        }
        self.storing = Some((text, sounds));
        ReadingReply::Keep(text, Box::new(heard))
    }

    /// The take has been stored: on to the next piece. Where it was another text than it was taken for, what is to come is laid beside
    /// the texts anew.
    pub fn kept(&mut self) {
        let Some((text, sounds)) = self.storing.take() else { return };
        let taken_for = self.coming.front().and_then(|question| question.text);
        let end = self.coming.front().map_or(sounds.end, |question| question.sounds.end);
        if let Some(decided) = self.decided.get_mut(text) {
            *decided = Some(sounds);
        }
        self.pass();
        if taken_for != Some(text) {
            // Only its neighbour may still have been read the other way round.
            self.lay(end, text.saturating_sub(1));
        }
    }

    fn pass(&mut self) {
        self.past.extend(self.coming.pop_front());
    }

    /// The text of an id, or the only one that begins with some words.
    fn named(&self, wanted: &str) -> Result<usize, String> {
        if let Some(at) = self.prompts.iter().position(|prompt| prompt.stem() == wanted || prompt.text == wanted) {
            return Ok(at);
        }
        let low = wanted.to_lowercase();
        let begins = |prompt: &Prompt| prompt.text.to_lowercase().starts_with(&low);
        let found: Vec<(usize, &Prompt)> =
            self.prompts.iter().enumerate().filter(|(_, prompt)| begins(prompt)).collect();
        match found.as_slice() {
            [(at, _)] => Ok(*at),
            [] => Err(format!("no text of the list has the id `{wanted}` or begins so")),
            several => {
                let ids: Vec<String> = several.iter().map(|(_, prompt)| prompt.stem()).collect();
                Err(format!("several texts begin so; say which by its id: {}", ids.join(", ")))
            }
        }
    }
}

/// Whether a fault says that a take is not as long as its text.
pub const fn is_of_length(fault: &TakeFault) -> bool {
    matches!(fault, TakeFault::NotAll(..) | TakeFault::TooMuch(..) | TakeFault::NoWords | TakeFault::NothingSaid)
}

#[cfg(test)]
mod tests;
