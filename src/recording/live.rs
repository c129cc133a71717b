//! A recording as it happens: a microphone's samples and a person's answers go to the desk, takes to the disk.
//!
//! Where the microphone goes away (`microphone`) the take in progress is lost; what waits for its decision and what is kept is not.
//! What is shown is a screen's job, or lines printed one by one.

use super::aloud::Aloud;
use super::answer::Answer;
use super::desk::{DeskEvent, Fate, FinishedTake, Reply, Step, TakeDesk};
use super::meter::{InputMeter, decibels};
use super::microphone::{Microphone, MicrophoneChange};
use super::snapshot::{RecordingSnapshot, State};
use super::store::Store;
use super::{Prompt, TextTimes};
use crate::device::{DeviceError, Wish};
use crate::diag::shown::ShownPath;
use crossbeam_channel::{Receiver, Sender, TryRecvError};
use std::collections::VecDeque;
use std::fmt::Write;
use std::sync::atomic::{AtomicBool, Ordering};

/// What a recording runs on.
pub struct RecordingSetup<'a> {
    /// The pack's title.
    pub title: String,
    /// Whose voice it is.
    pub voice: String,
    /// Which microphone.
    pub wish: Wish,
    /// Where takes are kept.
    pub store: Store,
    /// How long the texts should take.
    pub times: TextTimes,
    /// What the person says. When it closes, it ends at the next decision.
    pub answers: Receiver<Answer>,
    /// Where a screen gets its snapshots.
    pub snapshots: Option<Sender<RecordingSnapshot>>,
    /// Through which output takes are played back, if they are.
    pub playback: Option<Wish>,
    /// Ends it at once.
    pub stop: &'a AtomicBool,
}

/// How it ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordingEnd {
    /// Every text and what became of it.
    pub texts: Vec<(Prompt, Fate)>,
    /// Whether the stop flag ended it.
    pub interrupted: bool,
}

/// Records texts until all are decided on, somebody stops it, or nobody is left to answer. `tell` hears what happens, a line
/// each.
///
/// # Errors
/// Where there is no microphone at the beginning. One that is lost later is waited for.
pub fn record(
    prompts: Vec<Prompt>,
    mut live: RecordingSetup<'_>,
    tell: &mut dyn FnMut(&str),
) -> Result<RecordingEnd, DeviceError> {
    let microphone = Microphone::open(live.wish.clone())?;
    let mut desk = TakeDesk::new(prompts, std::mem::replace(&mut live.times, TextTimes::unknown()));
    if let Some((name, rate)) = microphone.facts() {
        desk.listen_at(rate.hertz());
        tell(&format!("microphone: {name}, {} Hz", rate.hertz()));
    }
    let aloud = live.playback.clone().map(Aloud::through);
    let mut booth = Booth {
        desk,
        live,
        microphone,
        queue: VecDeque::new(),
        answered: true,
        meter: InputMeter::default(),
        count: 0,
        aloud,
        playing: false,
        last: None,
        tell,
    };
    booth.say_prompt();
    let interrupted = booth.run();
    booth.silence();
    let texts = booth.desk.prompts().iter().cloned().zip(booth.desk.fates().iter().cloned()).collect();
    Ok(RecordingEnd { texts, interrupted })
}

struct Booth<'a, 't> {
    desk: TakeDesk,
    live: RecordingSetup<'a>,
    microphone: Microphone,
    queue: VecDeque<Answer>,
    /// Whether answers can still come.
    answered: bool,
    meter: InputMeter,
    count: u32,
    aloud: Option<Aloud>,
    playing: bool,
    last: Option<String>,
    tell: &'t mut dyn FnMut(&str),
}

impl Booth<'_, '_> {
    /// Whether it was interrupted.
    fn run(&mut self) -> bool {
        loop {
            self.listen();
            self.take_answers();
            self.hear_playback();
            if let Some(to) = &self.live.snapshots {
                // A screen that is behind gets a newer one next time; one that is gone has closed the answers too.
                let _ = to.try_send(self.snapshot());
            }
            if matches!(self.desk.step(), Step::Over) {
                return false;
            }
            // Relaxed: nothing else is read on the strength of it.
            if self.live.stop.load(Ordering::Relaxed) {
                return true;
            }
        }
    }

    fn say(&mut self, line: String) {
        (self.tell)(&line);
        self.last = Some(line);
    }

    /// Waits for sound and gives all there is to the desk; tells what has become of the microphone.
    fn listen(&mut self) {
        let mut events = Vec::new();
        let look = self.microphone.look(|samples, rate| {
            self.meter.hear(samples, rate.hertz());
            events.extend(self.desk.hear(samples));
        });
        if look.torn {
            self.desk.tear();
        }
        match look.change {
            Some(MicrophoneChange::Back { name, rate }) => {
                self.desk.listen_at(rate.hertz());
                self.say(format!("the microphone is back: {name}, {} Hz", rate.hertz()));
                self.say_prompt();
            }
            Some(MicrophoneChange::Gone) => {
                self.meter = InputMeter::default();
                self.say("the microphone is gone: plug it in again, it goes on then; what is kept is safe".to_owned());
            }
            None => {}
        }
        self.happened(&events);
    }

    /// Tells what happened, and plays a take that has come.
    fn happened(&mut self, events: &[DeskEvent]) {
        for event in events {
            match event {
                DeskEvent::Prompt => self.say_prompt(),
                DeskEvent::Count(left) => {
                    self.count = *left;
                    (self.tell)(&left.to_string());
                }
                DeskEvent::Now => {
                    self.last = None;
                    (self.tell)("now");
                }
                DeskEvent::Taken => self.say_take(),
                DeskEvent::Over => {}
            }
        }
    }

    fn say_prompt(&mut self) {
        let all = self.desk.prompts().len();
        if let Some((at, prompt)) = self.desk.prompt() {
            let line = format!("{} of {all}: {}/{}: {}", at + 1, prompt.role.folder(), prompt.stem(), prompt.text);
            (self.tell)(&line);
        }
        if matches!(self.desk.step(), Step::Ready) {
            (self.tell)("begin, skip or stop?");
        }
    }

    fn say_take(&mut self) {
        let Step::Decision(heard) = self.desk.step() else { return };
        let (line, faults) = words(heard);
        let playable = heard.can_be_kept();
        (self.tell)(&format!("take: {line}"));
        for (fault, advice) in &faults {
            (self.tell)(&format!("fault: {fault}: {advice}"));
        }
        if playable {
            self.play();
            (self.tell)("keep, again, play, skip, back or stop?");
        } else {
            (self.tell)("again, skip, back or stop?");
        }
    }

    fn play(&mut self) {
        let Step::Decision(heard) = self.desk.step() else { return };
        let Some(aloud) = &mut self.aloud else { return };
        if let Err(why) = aloud.play(&heard.samples, heard.rate) {
            self.say(format!("cannot be played: {why}"));
        }
    }

    /// Does what is asked, in the order in which it was asked.
    fn take_answers(&mut self) {
        loop {
            match self.live.answers.try_recv() {
                Ok(answer) => self.queue.push_back(answer),
                Err(TryRecvError::Empty) => break,
                Err(TryRecvError::Disconnected) => {
                    self.answered = false;
                    break;
                }
            }
        }
        let mut blocked = false;
        while let Some(answer) = self.queue.front().copied() {
            if let (Answer::Begin | Answer::Again, false) = (answer, self.microphone.is_open()) {
                blocked = true;
                break;
            }
            match self.desk.answer(answer) {
                // What a key asks is meant for the moment: kept for the next take, a second press would keep that unheard.
                Reply::Later if self.live.snapshots.is_some() => {}
                Reply::Later => {
                    blocked = true;
                    break;
                }
                Reply::No(why) => self.say(format!("{answer}: {why}")),
                Reply::Done(events) => {
                    self.silence();
                    self.listen_again();
                    self.happened(&events);
                }
                Reply::Play => self.play(),
                Reply::Keep => self.keep(),
            }
            self.queue.pop_front();
        }
        let waits = matches!(self.desk.step(), Step::Ready | Step::Decision(_));
        // Without a microphone nothing comes before its time is there: a stop behind it must not wait for that.
        let stopped = blocked && !self.microphone.is_open() && self.queue.contains(&Answer::Stop);
        if stopped || !self.answered && (waits || !self.microphone.is_open()) {
            // Or nobody is left who could decide. What is kept stays, the take in hand goes.
            self.desk.answer(Answer::Stop);
        }
    }

    /// Where a count-in begins, what was heard until now goes: its clock is the sound itself.
    fn listen_again(&mut self) {
        if matches!(self.desk.step(), Step::CountIn(0)) {
            self.microphone.forget();
        }
    }

    /// Notes whether a take is being played, and tells where it broke off.
    fn hear_playback(&mut self) {
        match self.aloud.as_mut().map_or(Ok(false), Aloud::is_playing) {
            Ok(playing) => self.playing = playing,
            Err(why) => {
                self.playing = false;
                self.say(format!("cannot be played: {why}"));
            }
        }
    }

    fn silence(&mut self) {
        if let Some(aloud) = &mut self.aloud {
            aloud.stop();
        }
    }

    fn keep(&mut self) {
        self.silence();
        let (Step::Decision(heard), Some((_, prompt))) = (self.desk.step(), self.desk.prompt()) else { return };
        match self.live.store.keep(prompt, heard) {
            Ok(path) => {
                self.say(format!("kept: {}", path.shown()));
                let events = self.desk.kept();
                self.listen_again();
                self.happened(&events);
            }
            // The take stays in hand: once there is room, it can be kept.
            Err(error) => self.say(format!("not kept: {error}")),
        }
    }

    fn snapshot(&self) -> RecordingSnapshot {
        let (microphone, level) = match self.microphone.facts() {
            Some((name, _)) => (name.to_owned(), Some(self.meter.now())),
            None => (String::new(), None),
        };
        let state = match self.desk.step() {
            Step::Over => State::Over,
            Step::Decision(_) => State::Decision(self.playing),
            _ if level.is_none() => State::Deaf,
            Step::Ready => State::Ready,
            Step::CountIn(_) => State::Count(self.count.max(1)),
            Step::Recording => State::Recording(self.desk.is_spoken_to()),
        };
        let take = if let Step::Decision(heard) = self.desk.step() { Some(words(heard)) } else { None };
        let (at, prompt) = self.desk.prompt().map_or((0, None), |(at, prompt)| (at + 1, Some(prompt)));
        RecordingSnapshot {
            title: self.live.title.clone(),
            voice: self.live.voice.clone(),
            microphone,
            of: (at, self.desk.prompts().len()),
            kept: self.desk.fates().iter().filter(|fate| matches!(fate, Fate::Kept(_))).count(),
            name: prompt.map(|prompt| format!("{}/{}", prompt.role.folder(), prompt.stem())).unwrap_or_default(),
            text: prompt.map(|prompt| prompt.text.clone()).unwrap_or_default(),
            state,
            level,
            peak: level.map(|_| self.meter.held()),
            room: self.desk.room(),
            take,
            last: self.last.clone(),
        }
    }
}

/// A take in words, and what is wrong with it, each with what to change.
fn words(heard: &FinishedTake) -> (String, Vec<(String, String)>) {
    let take = &heard.take;
    let mut line = String::new();
    if let (Some(spoken), Some(level)) = (take.spoken(), take.level) {
        // Writing to a text cannot fail.
        let _ =
            write!(line, "{:.2} s, speech {level:.0} dBFS, peak {:.0} dBFS, ", spoken.as_f64(), decibels(take.peak));
    }
    let _ = write!(line, "background {:.0} dBFS", take.noise);
    let torn = heard.torn.then(|| {
        (
            "a part is missing: the computer was too busy to listen".to_owned(),
            "close other programs, and record it again".to_owned(),
        )
    });
    let faults = heard.faults.iter().map(|fault| (fault.to_string(), fault.advice().to_owned()));
    (line, torn.into_iter().chain(faults).collect())
}
