//! The course of a recording: prompt, count-in, take, decision. Its only clock is the samples it hears, so it runs the same
//! on a microphone and in a test. Files, devices and words on a screen are the job of others.

use super::answer::Answer;
use super::ending::{Ending, Room};
use super::{Prompt, TextTimes};
use crate::audio::take::{self, Take, TakeFault};
use std::collections::VecDeque;

/// Counts before a take.
pub const COUNTS: u32 = 3;
/// From one count to the next, in milliseconds.
const COUNT: u64 = 700;
/// The first part of a count-in, in which a key may still be heard and the room is not judged, in milliseconds.
const SETTLE: u64 = 500;
/// What was heard before the take begins and is still looked at, in milliseconds: somebody who is a little early is not cut off.
const BEFORE: u64 = 400;
/// Without a word, a take ends after so many milliseconds.
const SILENT: u64 = 6_000;
/// A take ends so many milliseconds after the time that its words should take, twice over.
const OVER: u64 = 5_000;

/// Something that happened, in the order in which it did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DeskEvent {
    /// The text in hand is another one.
    Prompt,
    /// So many counts are still to come, this one among them.
    Count(u32),
    /// Speak now.
    Now,
    /// A take is there to be decided on.
    Taken,
    /// There is no text left, or it was stopped.
    Over,
}

/// A finished take.
#[derive(Clone, Debug, PartialEq)]
pub struct FinishedTake {
    /// The part worth keeping, faded at both ends.
    pub samples: Vec<f32>,
    /// Frames a second.
    pub rate: u32,
    /// What was found in the whole of it.
    pub take: Take,
    /// What is wrong with it.
    pub faults: Vec<TakeFault>,
    /// Whether a part was lost because the computer was too busy to listen.
    pub torn: bool,
}

impl FinishedTake {
    /// Whether there is anything to keep.
    pub fn can_be_kept(&self) -> bool {
        !self.samples.is_empty()
    }
}

/// Where a text is in its course.
#[derive(Debug)]
pub enum Step {
    /// Nothing runs until somebody begins.
    Ready,
    /// Counting in: so many frames of it have been heard.
    CountIn(u64),
    /// Recording.
    Recording,
    /// Waiting for a decision.
    Decision(Box<FinishedTake>),
    /// At the end.
    Over,
}

/// What became of a text.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub enum Fate {
    /// Nothing yet.
    #[default]
    Open,
    /// Left as it was.
    Skipped,
    /// Kept, with the words for what is wrong with it.
    Kept(Vec<&'static str>),
}

/// What an answer leads to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reply {
    /// It was done.
    Done(Vec<DeskEvent>),
    /// It has its time later: after this take.
    Later,
    /// It makes no sense here, and why.
    No(&'static str),
    /// The take is to be stored; [`TakeDesk::kept`] goes on when it is.
    Keep,
    /// The take is to be played.
    Play,
}

/// The course of a recording, from the first prompt to the last decision.
#[derive(Debug)]
pub struct TakeDesk {
    prompts: Vec<Prompt>,
    fates: Vec<Fate>,
    times: TextTimes,
    at: usize,
    step: Step,
    rate: u32,
    room: Room,
    before: VecDeque<f32>,
    taking: Vec<f32>,
    ending: Option<Ending>,
    torn: bool,
}

impl TakeDesk {
    /// For these texts, each take of which is held against its text's time.
    pub fn new(prompts: Vec<Prompt>, times: TextTimes) -> Self {
        Self {
            fates: vec![Fate::Open; prompts.len()],
            step: if prompts.is_empty() { Step::Over } else { Step::Ready },
            prompts,
            times,
            at: 0,
            rate: 48_000,
            room: Room::default(),
            before: VecDeque::new(),
            taking: Vec::new(),
            ending: None,
            torn: false,
        }
    }

    /// The texts.
    pub fn prompts(&self) -> &[Prompt] {
        &self.prompts
    }

    /// What became of each.
    pub fn fates(&self) -> &[Fate] {
        &self.fates
    }

    /// The text in hand, and its place from 0.
    pub fn prompt(&self) -> Option<(usize, &Prompt)> {
        Some((self.at, self.prompts.get(self.at)?))
    }

    /// Where it is in its course.
    pub const fn step(&self) -> &Step {
        &self.step
    }

    /// The level of the room in dBFS, as the last count-in heard it.
    pub fn room(&self) -> Option<f64> {
        self.room.level()
    }

    /// Whether speech has been heard in the take that runs.
    pub fn is_spoken_to(&self) -> bool {
        self.ending.as_ref().is_some_and(Ending::has_begun)
    }

    /// A microphone was opened, again or for the first time: a take in progress is lost, one that waits for its decision stays.
    pub fn listen_at(&mut self, rate: u32) {
        self.rate = rate.max(1);
        if matches!(self.step, Step::CountIn(_) | Step::Recording) {
            self.step = Step::Ready;
        }
    }

    /// A part of what the microphone heard was lost.
    pub const fn tear(&mut self) {
        self.torn = true;
    }

    /// Takes what the microphone heard since the last time.
    pub fn hear(&mut self, samples: &[f32]) -> Vec<DeskEvent> {
        let mut events = Vec::new();
        match &mut self.step {
            Step::CountIn(heard) => {
                let (from, to) = (*heard, *heard + samples.len() as u64);
                *heard = to;
                let count = self.rate_of(COUNT);
                let begun = |frames: u64| frames.div_ceil(count).min(u64::from(COUNTS));
                for done in begun(from)..begun(to) {
                    events.push(DeskEvent::Count(COUNTS - done as u32));
                }
                if from >= self.rate_of(SETTLE) {
                    self.room.hear(samples, self.rate);
                }
                self.before.extend(samples);
                let most = self.rate_of(BEFORE) as usize;
                self.before.drain(..self.before.len().saturating_sub(most));
                if to >= count * u64::from(COUNTS) {
                    self.taking = self.before.drain(..).collect();
                    self.ending = Some(Ending::in_room(self.room.level().unwrap_or(-60.0)));
                    self.step = Step::Recording;
                    events.push(DeskEvent::Now);
                }
            }
            Step::Recording => {
                self.taking.extend_from_slice(samples);
                let Some(ending) = &mut self.ending else { return events };
                ending.hear(samples, self.rate);
                let (over, begun) = (ending.is_over(), ending.has_begun());
                let words = self.prompt().map_or(1, |(_, prompt)| prompt.text.split_whitespace().count()) as u64;
                // 150 words a minute: 400 ms each.
                let most = if begun { OVER + 2 * 400 * words } else { SILENT };
                if over || self.taking.len() as u64 >= self.rate_of(most + BEFORE) {
                    events.push(self.finish());
                }
            }
            Step::Ready | Step::Decision(_) | Step::Over => {}
        }
        events
    }

    const fn rate_of(&self, millis: u64) -> u64 {
        self.rate as u64 * millis / 1_000
    }

    fn finish(&mut self) -> DeskEvent {
        let samples = std::mem::take(&mut self.taking);
        let take = take::examine(&samples, self.rate);
        let limit = self.prompt().and_then(|(_, prompt)| prompt.role.longest(prompt.short));
        let time = self.prompt().and_then(|(_, prompt)| self.times.of(&prompt.text));
        let faults = take.faults(limit, time);
        let heard =
            FinishedTake { samples: take::trim(&samples, &take), rate: self.rate, faults, take, torn: self.torn };
        self.ending = None;
        self.step = Step::Decision(Box::new(heard));
        DeskEvent::Taken
    }

    /// Takes an answer.
    pub fn answer(&mut self, answer: Answer) -> Reply {
        match (&self.step, answer) {
            (Step::Over, _) => Reply::No("it is over"),
            (_, Answer::Stop) => {
                self.step = Step::Over;
                Reply::Done(vec![DeskEvent::Over])
            }
            (_, Answer::Skip) => {
                if let Some(fate @ Fate::Open) = self.fates.get_mut(self.at) {
                    *fate = Fate::Skipped;
                }
                Reply::Done(self.go_to(self.at + 1))
            }
            (_, Answer::Back) if self.at == 0 => Reply::No("this is the first text"),
            (_, Answer::Back) => Reply::Done(self.go_to(self.at - 1)),
            (Step::Ready, Answer::Begin) | (Step::CountIn(_) | Step::Recording | Step::Decision(_), Answer::Again) => {
                self.count_in();
                Reply::Done(Vec::new())
            }
            (Step::Ready, _) => Reply::No("nothing has been recorded yet; `begin` counts in"),
            (Step::Recording, Answer::Done) => Reply::Done(vec![self.finish()]),
            (Step::CountIn(_), Answer::Done | Answer::Keep | Answer::Play) => Reply::Later,
            (Step::Recording, Answer::Keep | Answer::Play) => Reply::Later,
            (Step::Decision(heard), Answer::Keep | Answer::Play) if !heard.can_be_kept() => {
                Reply::No("there is nothing in it; `again`, `skip` or `back`")
            }
            (Step::Decision(_), Answer::Keep) => Reply::Keep,
            (Step::Decision(_), Answer::Play) => Reply::Play,
            (_, Answer::Begin | Answer::Done) => Reply::No("it has begun already"),
        }
    }

    /// The take has been stored: on to the next text.
    pub fn kept(&mut self) -> Vec<DeskEvent> {
        if let (Step::Decision(heard), Some(fate)) = (&self.step, self.fates.get_mut(self.at)) {
            *fate = Fate::Kept(heard.faults.iter().map(TakeFault::word).collect());
        }
        self.go_to(self.at + 1)
    }

    /// Turns to a text and counts it in; where nobody has begun yet it waits.
    fn go_to(&mut self, at: usize) -> Vec<DeskEvent> {
        self.at = at;
        if at >= self.prompts.len() {
            self.step = Step::Over;
            return vec![DeskEvent::Over];
        }
        if !matches!(self.step, Step::Ready) {
            self.count_in();
        }
        vec![DeskEvent::Prompt]
    }

    fn count_in(&mut self) {
        self.step = Step::CountIn(0);
        (self.room, self.ending, self.torn) = (Room::default(), None, false);
        self.before.clear();
        self.taking.clear();
    }
}

#[cfg(test)]
mod tests;
