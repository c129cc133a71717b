//! What is told of a practice being played: lines, the record's entries, what a screen shows, and how it ended.

use super::super::faults::FaultKind;
use super::super::input;
use super::super::record::{RecordEvent, RecordLine, RepeatNote};
use super::super::snapshot::{DeviceState, Snapshot, Split};
use super::super::swim::SwimFacts;
use super::{Performance, SessionEnd};
use crate::conductor::command::{CourseCommand, Happened};
use crate::units::frame::PracticeFrame;
use crate::units::time::Seconds;
use std::path::PathBuf;

/// Splits that are shown.
const SHOWN: usize = 5;

impl<'a> Performance<'a> {
    /// What a record says of a repeat.
    pub(super) fn notes(&self) -> impl Fn(usize, usize) -> RepeatNote + use<'a> {
        let practice = self.programme.score.practice;
        move |set, repeat| {
            let facts = SwimFacts::of(practice, set, repeat).unwrap_or_default();
            let swum = practice.sets().nth(set).and_then(|set| set.repeats.get(repeat));
            RepeatNote {
                set: set + 1,
                repeat: repeat + 1,
                swim: facts.what(),
                title: facts.title,
                round: facts.round.number,
                distance: swum.map_or_else(String::new, |swum| swum.distance.to_string()),
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
            Happened::Go { set, repeat, .. } => {
                self.last_go = Some(happened);
                format!("go: {}", name(set, repeat))
            }
            Happened::Joined { set, repeat, .. } => format!("straight on: {}", name(set, repeat)),
            Happened::Touch { set, repeat, split, predicted, .. } => {
                self.splits.push(Split { set, repeat, split, predicted });
                if self.splits.len() > SHOWN {
                    self.splits.remove(0);
                }
                format!("touch: {} in {} (expected {predicted})", name(set, repeat), input::clock(split))
            }
            Happened::Unheard { set, repeat, at } => {
                let lost = name(set, repeat);
                self.lost_goes += 1;
                let words = match self.lost_goes {
                    1 => format!("go not heard at {at}: {lost}"),
                    many => format!("{many} gos not heard, the last at {at}: {lost}"),
                };
                self.faults.add(FaultKind::Go, "go lost", words);
                format!("go not heard: {lost}")
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
                if command == CourseCommand::Touch {
                    self.splits.pop();
                }
                format!("taken back: {}", input::words(command.into()))
            }
            Happened::Tempo { tempo, .. } => format!("tempo: {tempo}"),
        };
        self.say(frame, &said);
    }

    /// A go without sound was no go.
    pub(super) fn as_heard(&self, happened: Happened) -> Happened {
        match happened {
            Happened::Go { set, repeat, at } if self.silence.covers(at) => Happened::Unheard { set, repeat, at },
            as_it_was => as_it_was,
        }
    }

    /// From a moment on nobody hears anything. A go that was told already, for the device had been given it, is found to
    /// have been lost with what it had stored since `given`.
    pub(in crate::session) fn falls_silent(&mut self, given: Seconds, from: Seconds) {
        self.silence.begin(from.min(given));
        if let Some(Happened::Go { set, repeat, at }) =
            self.last_go.filter(|go| matches!(go, Happened::Go { at, .. } if *at >= given))
        {
            let lost = Happened::Unheard { set, repeat, at };
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
            situation,
        }
    }
}
