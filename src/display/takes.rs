//! The screen of a recording: the text to say, the level, the take, and the keys that answer.

pub mod view;

use super::look::Look;
use super::{Pressed, Scene, Screen, ScreenEnd, newest, show};
use crate::recording::answer::{self, Answer};
use crate::recording::snapshot::{RecordingSnapshot, State};
use crossbeam_channel::{Receiver, Sender, TrySendError};
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use std::sync::atomic::AtomicBool;
use std::time::Instant;
use view::view;

/// Shows a recording's snapshots and sends answers until it ends its side, somebody stops it, or `stop` is set. Gives the terminal
/// back before it returns.
pub fn run(
    screen: Screen,
    snapshots: &Receiver<RecordingSnapshot>,
    answers: &Sender<Answer>,
    stop: &AtomicBool,
) -> ScreenEnd {
    show(
        screen,
        &mut Takes { snapshot: RecordingSnapshot::default(), asks: false, changed: true, snapshots, answers },
        stop,
    )
}

struct Takes<'a> {
    snapshot: RecordingSnapshot,
    /// Whether it asks if it may stop, for a take waits that would be lost.
    asks: bool,
    changed: bool,
    snapshots: &'a Receiver<RecordingSnapshot>,
    answers: &'a Sender<Answer>,
}

impl Takes<'_> {
    fn give(&mut self, answer: Answer) -> Pressed {
        match (self.answers.try_send(answer), answer) {
            (Ok(()), Answer::Stop) => Pressed::Stopped,
            // The flag reaches one that does not listen.
            (Err(_), Answer::Stop) => Pressed::Interrupted,
            (Err(TrySendError::Full(_)), _) => {
                self.snapshot.last = Some("the recording does not keep up with the keys: that one is lost".into());
                Pressed::GoOn
            }
            _ => Pressed::GoOn,
        }
    }
}

impl Scene for Takes<'_> {
    fn hear(&mut self) -> bool {
        newest(self.snapshots, &mut self.snapshot, &mut self.changed)
    }

    fn has_changed(&mut self) -> bool {
        std::mem::take(&mut self.changed)
    }

    fn touch(&mut self) {
        self.changed = true;
    }

    fn press(&mut self, key: &KeyEvent, _: Instant) -> Pressed {
        if key.kind != KeyEventKind::Press {
            return Pressed::GoOn;
        }
        self.changed = true;
        let control = key.modifiers.contains(KeyModifiers::CONTROL);
        let answer = match key.code {
            KeyCode::Char('c') if control => return Pressed::Interrupted,
            KeyCode::Char('l') if control => return Pressed::Redraw,
            KeyCode::Char(' ') | KeyCode::Enter => self.snapshot.state.natural(),
            KeyCode::Char(key) if !control => answer::of_key(key),
            KeyCode::Esc => Some(Answer::Stop),
            _ => None,
        };
        let asked = std::mem::take(&mut self.asks);
        match answer {
            Some(Answer::Stop) if matches!(self.snapshot.state, State::Decision(_)) && !asked => {
                self.asks = true;
                Pressed::GoOn
            }
            Some(answer) => self.give(answer),
            None => Pressed::GoOn,
        }
    }

    fn draw(&self, look: Look, buffer: &mut Buffer) {
        view(&self.snapshot, self.asks, look, buffer);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crossbeam_channel::bounded;

    #[test]
    fn keys_answer_and_a_waiting_take_is_not_lost_to_one() {
        let ((to, answers), (_screen, snapshots)) = (bounded(4), bounded(1));
        let snapshot = |state| RecordingSnapshot { state, ..RecordingSnapshot::default() };
        let mut takes = Takes {
            snapshot: snapshot(State::Ready),
            asks: false,
            changed: false,
            snapshots: &snapshots,
            answers: &to,
        };
        let press = |takes: &mut Takes<'_>, code| takes.press(&KeyEvent::new(code, KeyModifiers::NONE), Instant::now());
        for (state, code, answer) in [
            (State::Ready, KeyCode::Enter, Answer::Begin),
            (State::Recording(true), KeyCode::Char(' '), Answer::Done),
            (State::Decision(true), KeyCode::Char(' '), Answer::Keep),
            (State::Decision(false), KeyCode::Char('A'), Answer::Again),
            (State::Count(2), KeyCode::Char('s'), Answer::Skip),
        ] {
            takes.snapshot = snapshot(state);
            assert_eq!(press(&mut takes, code), Pressed::GoOn);
            assert_eq!(answers.try_recv(), Ok(answer));
        }
        press(&mut takes, KeyCode::Enter);
        assert!(answers.try_recv().is_err(), "in a count-in nothing comes next but the take");
        takes.snapshot = snapshot(State::Decision(false));
        assert_eq!((press(&mut takes, KeyCode::Char('q')), takes.asks), (Pressed::GoOn, true));
        assert_eq!((press(&mut takes, KeyCode::Char('k')), takes.asks), (Pressed::GoOn, false));
        assert_eq!(answers.try_recv(), Ok(Answer::Keep));
        press(&mut takes, KeyCode::Char('q'));
        assert_eq!(press(&mut takes, KeyCode::Char('q')), Pressed::Stopped);
        assert_eq!(answers.try_recv(), Ok(Answer::Stop));
        assert_eq!(
            takes.press(&KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL), Instant::now()),
            Pressed::Interrupted
        );
    }
}
