//! The live screens: show a session or a recording as it goes and turn keys into what is asked of it. A screen never waits for
//! what it shows, nor that for the screen; what a snapshot says is the session's job.

mod big;
mod board;
mod entry;
mod front;
pub mod key_tables;
pub mod keys;
mod lettering;
pub mod look;
mod page;
mod strip;
pub mod takes;
pub mod taps;
mod terminal;
pub mod view;
mod words;

use crate::session::input::Input;
use crate::session::snapshot::Snapshot;
use crossbeam_channel::{Receiver, Sender, TryRecvError, TrySendError, bounded, select, tick};
use entry::{Typed, TypedTempo};
use front::{Front, Over};
use keys::{Asked, asked, number};
use look::Look;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{self, Event, KeyEvent, KeyEventKind};
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};
pub use terminal::Screen;
use view::view;

/// The least time between two pictures: at most fifteen a second go over a slow line.
const FRAME: Duration = Duration::from_millis(67);
/// How long a wait for a key lasts before its thread looks whether it is still wanted.
const LISTEN: Duration = Duration::from_millis(100);

/// Why the screen ended.
#[derive(Debug)]
pub enum ScreenEnd {
    /// The session is over.
    Over,
    /// Somebody at the keys asked to stop; the session has been told.
    Stopped,
    /// The flag was set: an interrupt, or a signal.
    Interrupted,
    /// The terminal has gone.
    Gone(io::Error),
}

/// Shows a session's snapshots and sends inputs until the session ends its side, somebody stops it, or `stop` is set. Gives the
/// terminal back before it returns.
pub fn run(screen: Screen, snapshots: &Receiver<Snapshot>, inputs: &Sender<Input>, stop: &AtomicBool) -> ScreenEnd {
    show(screen, &mut SessionScene { desk: SessionView::default(), snapshots, inputs }, stop)
}

/// Something that is shown and answers keys.
trait Scene {
    /// Takes what is new; whether more can come.
    fn hear(&mut self) -> bool;

    /// Whether it looks otherwise than when this was last asked.
    fn has_changed(&mut self) -> bool;

    /// The terminal has another size, or something wrote onto it.
    fn touch(&mut self);

    /// Answers a key that came at that time.
    fn press(&mut self, key: &KeyEvent, at: Instant) -> Pressed;

    /// Draws all of it.
    fn draw(&self, look: Look, buffer: &mut Buffer);
}

/// Shows a scene until it is over; gives the terminal back before it returns.
fn show(mut screen: Screen, scene: &mut impl Scene, stop: &AtomicBool) -> ScreenEnd {
    let keys = KeyThread::listen();
    let frames = tick(FRAME);
    loop {
        select! {
            recv(keys.events) -> event => match event {
                Ok((at, Event::Key(key))) => {
                    scene.hear();
                    match scene.press(&key, at) {
                        Pressed::GoOn => {}
                        Pressed::Redraw => if let Err(error) = screen.forget() { return ScreenEnd::Gone(error) },
                        Pressed::Stopped => return ScreenEnd::Stopped,
                        Pressed::Interrupted => return ScreenEnd::Interrupted,
                    }
                }
                Ok(_) => scene.touch(),
                Err(_) => return ScreenEnd::Gone(io::Error::other("no more keys can be read")),
            },
            recv(frames) -> _ => {
                // Relaxed: nothing else is read on the strength of it.
                if stop.load(Ordering::Relaxed) {
                    return ScreenEnd::Interrupted;
                }
                let goes_on = scene.hear();
                if scene.has_changed()
                    && let Err(error) = screen.draw(|look, buffer| scene.draw(look, buffer))
                {
                    return ScreenEnd::Gone(error);
                }
                if !goes_on {
                    return ScreenEnd::Over;
                }
            }
        }
    }
}

/// A session on the screen.
struct SessionScene<'a> {
    desk: SessionView,
    snapshots: &'a Receiver<Snapshot>,
    inputs: &'a Sender<Input>,
}

impl Scene for SessionScene<'_> {
    fn hear(&mut self) -> bool {
        self.desk.hear(self.snapshots)
    }

    fn has_changed(&mut self) -> bool {
        std::mem::take(&mut self.desk.changed)
    }

    fn touch(&mut self) {
        self.desk.changed = true;
    }

    fn press(&mut self, key: &KeyEvent, _: Instant) -> Pressed {
        self.desk.press(key, self.inputs)
    }

    fn draw(&self, look: Look, buffer: &mut Buffer) {
        view(&self.desk.snapshot, self.desk.front, look, buffer);
    }
}

/// What has been heard of the session, and what is open over it.
#[derive(Debug, Default)]
struct SessionView {
    snapshot: Snapshot,
    front: Front,
    changed: bool,
}

/// What a key leads to.
#[derive(Debug, PartialEq, Eq)]
enum Pressed {
    GoOn,
    Redraw,
    Stopped,
    Interrupted,
}

impl SessionView {
    /// Takes the newest snapshot; whether more can come.
    fn hear(&mut self, snapshots: &Receiver<Snapshot>) -> bool {
        newest(snapshots, &mut self.snapshot, &mut self.changed)
    }

    fn press(&mut self, key: &KeyEvent, inputs: &Sender<Input>) -> Pressed {
        if key.kind == KeyEventKind::Release {
            return Pressed::GoOn;
        }
        self.changed = true;
        let asked = asked(key, &self.snapshot);
        if self.front.over == Over::Stop {
            if asked == Asked::Interrupt {
                return Pressed::Interrupted;
            }
            let yes = asked == Asked::Stop || matches!(key.code, event::KeyCode::Char('y' | 'Y'));
            if yes && key.kind == KeyEventKind::Press {
                // The flag reaches a session that does not listen.
                return if inputs.try_send(Input::Stop).is_ok() { Pressed::Stopped } else { Pressed::Interrupted };
            }
            // A touch is never lost to a question.
            self.front.over = Over::Nothing;
        }
        if let Over::Tempo(entry) = self.front.over
            && asked != Asked::Interrupt
        {
            // A key held down types one sign.
            let typed = if key.kind == KeyEventKind::Press { entry.press(key.code) } else { Typed::More(entry) };
            self.front.over = if let Typed::More(entry) = typed { Over::Tempo(entry) } else { Over::Nothing };
            match typed {
                Typed::More(_) | Typed::Left => return Pressed::GoOn,
                Typed::Done(input) => {
                    self.send(input, inputs);
                    return Pressed::GoOn;
                }
                // A touch is not lost to it either.
                Typed::Other => {}
            }
        }
        if let Over::Whose(whose) = self.front.over {
            if key.kind == KeyEventKind::Repeat {
                return Pressed::GoOn;
            }
            self.front.over = Over::Nothing;
            if let Some(number) = number(key) {
                self.send(whose.of(number, &self.snapshot), inputs);
                return Pressed::GoOn;
            }
        }
        match asked {
            Asked::Session(input) => self.send(input, inputs),
            Asked::Whose(whose) => self.front.over = Over::Whose(whose),
            Asked::Digit(digit) => self.front.over = Over::Tempo(TypedTempo::begun(digit)),
            Asked::Top => self.front.top = Some(self.snapshot.clock),
            Asked::Seen => self.front.seen = self.snapshot.faults.last().map_or(self.front.seen, |fault| fault.number),
            Asked::Help if self.front.over == Over::Keys => self.front.over = Over::Nothing,
            Asked::Help => self.front.over = Over::Keys,
            Asked::Stop | Asked::Interrupt => self.front.over = Over::Stop,
            Asked::Redraw => return Pressed::Redraw,
            Asked::Nothing => {}
        }
        Pressed::GoOn
    }

    fn send(&mut self, input: Input, inputs: &Sender<Input>) {
        if let Err(TrySendError::Full(_)) = inputs.try_send(input) {
            self.snapshot.last = Some("the session does not keep up with the keys: that one is lost".into());
        }
    }
}

/// Takes the newest of what has come, notes whether it is another; whether more can come.
fn newest<T: PartialEq>(from: &Receiver<T>, shown: &mut T, changed: &mut bool) -> bool {
    loop {
        match from.try_recv() {
            Ok(new) => {
                *changed |= new != *shown;
                *shown = new;
            }
            Err(TryRecvError::Empty) => return true,
            Err(TryRecvError::Disconnected) => return false,
        }
    }
}

/// The keys with their times, read by a thread that does nothing else: a key's time must not wait for a picture, and where a
/// terminal goes away, reading it may never come back.
struct KeyThread {
    events: Receiver<(Instant, Event)>,
    wanted: Arc<AtomicBool>,
}

impl KeyThread {
    fn listen() -> Self {
        let (to, events) = bounded(64);
        let wanted = Arc::new(AtomicBool::new(true));
        let still = Arc::clone(&wanted);
        // Where no thread can be had, the channel closes at once and `run` says so.
        let _ = thread::Builder::new().name("keys".into()).spawn(move || {
            // Relaxed: it only ends a loop.
            while still.load(Ordering::Relaxed) {
                match event::poll(LISTEN) {
                    Ok(false) => {}
                    Ok(true) => match event::read().map(|event| to.try_send((Instant::now(), event))) {
                        Ok(Ok(()) | Err(TrySendError::Full(_))) => {}
                        Ok(Err(TrySendError::Disconnected(_))) | Err(_) => break,
                    },
                    Err(_) => break,
                }
            }
        });
        Self { events, wanted }
    }
}

impl Drop for KeyThread {
    fn drop(&mut self) {
        self.wanted.store(false, Ordering::Relaxed);
        // The thread ends within one wait and closes the channel; one that hangs on a lost terminal ends with the process.
        let end = crossbeam_channel::after(LISTEN * 2);
        loop {
            select! {
                recv(self.events) -> event => if event.is_err() { return },
                recv(end) -> _ => return,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conductor::command::CourseCommand;
    use crate::conductor::situation::{LanePlace, SwimmerIs};
    use crate::session::input::parse;
    use crate::session::snapshot::Fault;
    use crate::units::time::Seconds;
    use ratatui::crossterm::event::{KeyCode, KeyModifiers};

    fn press(desk: &mut SessionView, code: KeyCode, inputs: &Sender<Input>) -> Pressed {
        desk.press(&KeyEvent::new(code, KeyModifiers::NONE), inputs)
    }

    #[test]
    fn stopping_asks_once_and_loses_no_touch() {
        let (to, inputs) = bounded(4);
        let mut desk = SessionView::default();
        assert_eq!(press(&mut desk, KeyCode::Char('q'), &to), Pressed::GoOn);
        assert_eq!(desk.front.over, Over::Stop);
        assert_eq!(press(&mut desk, KeyCode::Char('t'), &to), Pressed::GoOn);
        assert_eq!((desk.front.over, inputs.try_recv()), (Over::Nothing, Ok(Input::Do(CourseCommand::Touch.into()))));
        for yes in ['q', 'y'] {
            press(&mut desk, KeyCode::Char('q'), &to);
            assert_eq!(press(&mut desk, KeyCode::Char(yes), &to), Pressed::Stopped);
            assert_eq!(inputs.try_recv(), Ok(Input::Stop));
            desk.front.over = Over::Nothing;
        }
        assert_eq!(press(&mut desk, KeyCode::Char('y'), &to), Pressed::GoOn);
        assert!(inputs.try_recv().is_err());
    }

    #[test]
    fn a_number_behind_a_key_is_no_touch_and_any_other_key_is_itself() {
        let (to, inputs) = bounded(4);
        let mut desk = SessionView::default();
        let whereabouts = SwimmerIs::Wall;
        let place = LanePlace { number: 3, whereabouts, split: None, next_go: None, owes_touch: false };
        desk.snapshot.situation.lane = vec![place];
        let mut keys = |typed: &str| {
            typed.chars().for_each(|key| assert_eq!(press(&mut desk, KeyCode::Char(key), &to), Pressed::GoOn));
            std::iter::from_fn(|| inputs.try_recv().ok()).collect::<Vec<_>>()
        };
        let lines = |lines: &[&str]| lines.iter().map(|line| parse(line).unwrap()).collect::<Vec<_>>();
        assert_eq!(keys("o33"), lines(&["out 3", "touch 3"]));
        assert_eq!(keys("k"), []);
        assert_eq!(keys("h3"), lines(&["hold", "touch 3"]));
    }

    #[test]
    fn an_interrupt_asks_once() {
        let (to, inputs) = bounded(4);
        let mut desk = SessionView::default();
        let interrupt = KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL);
        assert_eq!(desk.press(&interrupt, &to), Pressed::GoOn);
        assert_eq!(desk.front.over, Over::Stop);
        assert_eq!(desk.press(&interrupt, &to), Pressed::Interrupted);
        assert!(inputs.is_empty());
        desk.front.over = Over::Nothing;
        desk.press(&interrupt, &to);
        assert_eq!(press(&mut desk, KeyCode::Char('q'), &to), Pressed::Stopped);
    }

    #[test]
    fn a_fault_is_there_until_it_has_been_seen_and_the_next_one_again() {
        let (to, inputs) = bounded(4);
        let mut desk = SessionView::default();
        let fault = |number| Fault { number, ..Fault::default() };
        desk.snapshot.faults = vec![fault(1), fault(3)];
        press(&mut desk, KeyCode::Enter, &to);
        assert_eq!(desk.front.seen, 3);
        desk.snapshot.faults.clear();
        press(&mut desk, KeyCode::Enter, &to);
        assert!(desk.front.seen == 3 && inputs.is_empty());
    }

    #[test]
    fn the_pace_clock_is_set_on_the_screen_alone() {
        let (to, inputs) = bounded(4);
        let mut desk = SessionView::default();
        desk.snapshot.clock = Seconds::from_millis(61_250);
        press(&mut desk, KeyCode::Char('c'), &to);
        assert!(desk.front.top == Some(Seconds::from_millis(61_250)) && inputs.is_empty());
    }

    #[test]
    fn keys_work_while_they_are_shown() {
        let (to, inputs) = bounded(1);
        let mut desk = SessionView::default();
        press(&mut desk, KeyCode::Char('?'), &to);
        press(&mut desk, KeyCode::Char('h'), &to);
        assert_eq!((desk.front.over, inputs.len()), (Over::Keys, 1));
        press(&mut desk, KeyCode::Char('h'), &to);
        assert!(
            desk.snapshot.last.as_deref().unwrap().contains("lost"),
            "a full channel is reported, never waited for"
        );
        press(&mut desk, KeyCode::Char('?'), &to);
        assert_eq!(desk.front.over, Over::Nothing);
    }

    #[test]
    fn the_newest_snapshot_counts() {
        let (to, snapshots) = bounded(4);
        let mut desk = SessionView::default();
        for missed_blocks in 1..4 {
            to.send(Snapshot { missed_blocks, ..Snapshot::default() }).unwrap();
        }
        assert!(desk.hear(&snapshots) && desk.changed && desk.snapshot.missed_blocks == 3);
        drop(to);
        assert!(!desk.hear(&snapshots));
    }
}
