//! What is told of a practice being played: lines, the record's entries, what a screen shows, and how it ended.

use super::super::faults::FaultKind;
use super::super::input;
use super::super::record::{RecordEvent, RecordLine, RepeatNote};
use super::super::snapshot::{DeviceState, Snapshot, Split};
use super::super::swim::SwimFacts;
use super::{Performance, SessionEnd};
use crate::conductor::Score;
use crate::conductor::command::{CourseCommand, Happened, LaneCommand, OwnEvent, OwnKind};
use crate::units::frame::PracticeFrame;
use crate::units::time::Seconds;
use std::path::PathBuf;

/// Splits that are shown.
const SHOWN: usize = 5;

impl<'a> Performance<'a> {
    /// What a record says of a repeat.
    pub(super) fn notes(&self) -> impl Fn(Option<u32>, usize, usize) -> RepeatNote + use<'a> {
        let Score { practice: common, lane, .. } = self.programme.score;
        move |swimmer, set, repeat| {
            let practice = swimmer.and_then(|number| lane?.swimmer(number)).map_or(common, |who| &who.practice);
            let facts = SwimFacts::of(practice, set, repeat).unwrap_or_default();
            let swum = practice.sets().nth(set).and_then(|set| set.repeats.get(repeat));
            RepeatNote {
                set: set + 1,
                repeat: repeat + 1,
                swim: facts.what(),
                title: facts.title,
                round: facts.round.number,
                distance: swum.map_or_else(String::new, |swum| swum.distance.to_string()),
                swimmer,
            }
        }
    }

    pub(super) fn report(&mut self, frame: PracticeFrame, happened: Happened) {
        let name = |set: usize, repeat: usize| {
            let title = self.programme.plan.sets.get(set).map_or("", |set| set.title.as_str());
            let of = self.programme.plan.sets.get(set).map_or(0, |set| set.repeats.len());
            format!("{title}, {} of {of}", repeat + 1)
        };
        let said = match happened {
            Happened::Own { number, own } => self.report_own(number, own, happened),
            Happened::Go { set, repeat, .. } => {
                self.told_gos.told(happened);
                format!("go: {}", name(set, repeat))
            }
            Happened::Joined { set, repeat, .. } => format!("straight on: {}", name(set, repeat)),
            Happened::Touch { set, repeat, split, predicted, .. } => {
                self.show_split(Split { set, repeat, split, predicted, number: None });
                format!("touch: {} in {} (expected {predicted})", name(set, repeat), input::clock(split))
            }
            Happened::Unheard { set, repeat, at } => {
                let lost = name(set, repeat);
                self.lost_go(at, &lost)
            }
            Happened::Missed { set, repeat } => format!("missed: {}", name(set, repeat)),
            Happened::Skipped { set, repeat } => {
                let left_out = name(set, repeat);
                // Whoever asked for it is told what is lost by it.
                if let Some(waiting) = self.waiting.last_mut() {
                    waiting.without.push(left_out.clone());
                }
                format!("skipped: {left_out}")
            }
            Happened::Undone { command } => {
                if matches!(command, CourseCommand::Touch | CourseCommand::Lane(LaneCommand::Touch(_))) {
                    self.splits.pop();
                }
                format!("taken back: {}", input::words(command.into()))
            }
            Happened::Tempo { tempo, .. } => format!("tempo: {tempo}"),
        };
        self.say(frame, &said);
    }

    fn show_split(&mut self, split: Split) {
        self.splits.push(split);
        if self.splits.len() > SHOWN {
            self.splits.remove(0);
        }
    }

    /// The words for a go that was not heard.
    fn lost_go(&mut self, at: Seconds, lost: &str) -> String {
        self.lost_goes += 1;
        let words = match self.lost_goes {
            1 => format!("go not heard at {at}: {lost}"),
            many => format!("{many} gos not heard, the last at {at}: {lost}"),
        };
        self.faults.add(FaultKind::Go, "go lost", words);
        format!("go not heard: {lost}")
    }

    /// The words for what happened to one swimmer of a lane.
    fn report_own(&mut self, number: u32, own: OwnEvent, happened: Happened) -> String {
        let OwnEvent { set, repeat, kind } = own;
        let who = self.programme.score.lane.and_then(|lane| lane.swimmer(number));
        let swum = who.and_then(|who| who.practice.sets().nth(set));
        let title = swum.map_or("", |set| set.title.text.as_str());
        let of = swum.map_or(0, |set| set.repeats.len());
        let whose = format!("{}, {title}, {} of {of}", who.map_or("", |who| who.name.as_str()), repeat + 1);
        match kind {
            OwnKind::Go { .. } => {
                self.told_gos.told(happened);
                format!("go: {whose}")
            }
            OwnKind::Touch { split, predicted, .. } => {
                self.show_split(Split { set, repeat, split, predicted, number: Some(number) });
                format!("touch: {whose} in {} (expected {predicted})", input::clock(split))
            }
            OwnKind::Unheard { at } => self.lost_go(at, &whose),
            OwnKind::Late { at } => format!("late: {whose}: leaves last, at {}", input::clock(at)),
            OwnKind::Missed => format!("missed: {whose}"),
            OwnKind::Skipped => format!("skipped: {whose}"),
        }
    }

    /// A go without sound was no go.
    pub(super) fn as_heard(&self, happened: Happened) -> Happened {
        happened.lost().filter(|(at, _)| self.silence.covers(*at)).map_or(happened, |(_, lost)| lost)
    }

    /// From a moment on nobody hears anything. Gos that were told already, for the device had been given them, are found to
    /// have been lost with what it had stored since `given`.
    pub(in crate::session) fn falls_silent(&mut self, given: Seconds, from: Seconds) {
        self.silence.begin(from.min(given));
        for (at, lost) in self.told_gos.lost_since(given) {
            let (event_at, event) = RecordEvent::of(lost, &self.notes());
            let frame = PracticeFrame::at(at, self.rate);
            self.report(frame, lost);
            self.note_at(event_at.unwrap_or(at), frame, event);
        }
    }

    pub(in crate::session) fn note(&mut self, frame: PracticeFrame, event: RecordEvent) {
        self.note_at(frame.time(self.rate), frame, event);
    }

    pub(super) fn note_at(&mut self, at: Seconds, frame: PracticeFrame, event: RecordEvent) {
        self.recorder.line(&RecordLine { time: at, frame: frame.number(), event });
    }

    /// Says something at a frame of the practice.
    pub(in crate::session) fn say(&mut self, frame: PracticeFrame, words: &str) {
        self.lines.push(format!("{} {words}", input::clock(frame.time(self.rate))));
    }

    /// What there is to say since it was last asked.
    pub(in crate::session) fn take_lines(&mut self) -> Vec<String> {
        std::mem::take(&mut self.lines)
    }

    /// The end of the session.
    pub(in crate::session) fn end(&mut self, position: PracticeFrame, reason: &str) {
        let frame = self.heard(position);
        self.say(frame, reason);
        self.note(frame, RecordEvent::End { reason: reason.to_owned() });
        self.recorder.sync();
    }

    /// How it ended, at a frame that the mixer would mix next.
    pub(in crate::session) fn ended(
        &self,
        position: PracticeFrame,
        interrupted: bool,
        missed_blocks: u64,
    ) -> SessionEnd {
        SessionEnd {
            interrupted,
            record: self.recorder.path().map(PathBuf::from),
            record_failed: self.recorder.failed().map(str::to_owned),
            at: self.heard(position).time(self.rate),
            missed_blocks,
            missed_cues: u64::from(self.controls.figures.missed()),
        }
    }

    /// What is to be seen now.
    pub(in crate::session) fn snapshot(
        &self,
        position: PracticeFrame,
        device: DeviceState,
        missed_blocks: u64,
    ) -> Snapshot {
        let frame = self.heard(position);
        let situation = self.conductor.situation(frame);
        let practice = self.programme.score.practice;
        Snapshot {
            title: self.programme.plan.title.clone(),
            elapsed: frame.time(self.rate),
            total: self.programme.timeline.len(),
            paused: self.paused,
            swum: SwimFacts::of(practice, situation.set, situation.repeat),
            next: situation.coming.and_then(|coming| SwimFacts::of(practice, coming.set, coming.repeat)),
            clock: Seconds::ZERO,
            doubt: self.question.stands(frame.time(self.rate)),
            faults: self.faults.all(),
            behind: None,
            level: self.controls.figures.take_peak(),
            device,
            missed_blocks,
            missed_cues: u64::from(self.controls.figures.missed()),
            last: self.last.clone(),
            splits: self.splits.clone(),
            names: self.programme.score.lane.map_or_else(Vec::new, |lane| lane.voice.names.clone()),
            situation,
        }
    }
}
