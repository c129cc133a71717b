//! The screen of tapping: what has been tapped so far. Whoever taps watches the water, so nothing waits for an answer: a key
//! that is not known is a hand, and a question is gone with the next hand.

pub mod keys;
mod view;

use super::look::Look;
use super::{Pressed, Scene, Screen, ScreenEnd, show};
use crate::tapping::{Tap, TapKey, TappedSwim, Tapping};
use crate::units::time::Seconds;
use keys::{TapAsked, tap_asked};
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::KeyEvent;
use std::sync::atomic::AtomicBool;
use std::time::Instant;
use view::view;

/// Shows what is tapped until somebody ends it or `stop` is set; what was tapped is in `tapping` however it ends. Gives the
/// terminal back before it returns.
pub fn run(screen: Screen, title: &str, tapping: &mut Tapping, stop: &AtomicBool) -> ScreenEnd {
    show(screen, &mut Taps::new(title, tapping), stop)
}

struct Taps<'a> {
    title: &'a str,
    tapping: &'a mut Tapping,
    swim: TappedSwim,
    /// When the first key was pressed.
    begun: Option<Instant>,
    asks: bool,
    changed: bool,
}

impl<'a> Taps<'a> {
    fn new(title: &'a str, tapping: &'a mut Tapping) -> Self {
        Self { title, tapping, swim: TappedSwim::default(), begun: None, asks: false, changed: true }
    }

    fn tap(&mut self, key: TapKey, at: Instant) {
        let begun = *self.begun.get_or_insert(at);
        let at = Seconds::from_nanos(at.saturating_duration_since(begun).as_nanos() as i64);
        if self.tapping.hear(Tap { at, key }) {
            self.swim = self.tapping.swim();
        }
    }
}

impl Scene for Taps<'_> {
    fn hear(&mut self) -> bool {
        true
    }

    fn has_changed(&mut self) -> bool {
        std::mem::take(&mut self.changed)
    }

    fn touch(&mut self) {
        self.changed = true;
    }

    fn press(&mut self, key: &KeyEvent, at: Instant) -> Pressed {
        self.changed = true;
        let asked = std::mem::take(&mut self.asks);
        match tap_asked(key) {
            TapAsked::Tap(key) => self.tap(key, at),
            TapAsked::End if asked => return Pressed::Stopped,
            TapAsked::Interrupt if asked => return Pressed::Interrupted,
            TapAsked::End | TapAsked::Interrupt => self.asks = true,
            TapAsked::Redraw => return Pressed::Redraw,
            TapAsked::Nothing => self.asks = asked,
        }
        Pressed::GoOn
    }

    fn draw(&self, look: Look, buffer: &mut Buffer) {
        view(self.title, &self.swim, self.asks, look, buffer);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::crossterm::event::{KeyCode, KeyModifiers};
    use std::time::Duration;

    #[test]
    fn keys_are_taps_at_their_times_and_the_end_asks_once() {
        let (begun, mut tapping) = (Instant::now(), Tapping::new(1.0));
        let mut taps = Taps::new("", &mut tapping);
        let mut press =
            |code, millis| taps.press(&KeyEvent::new(code, KeyModifiers::NONE), begun + Duration::from_millis(millis));
        for (code, millis) in [(' ', 0), ('x', 1_080), ('b', 2_160), ('q', 2_500), (' ', 3_240)] {
            assert_eq!(press(KeyCode::Char(code), millis), Pressed::GoOn);
        }
        assert_eq!(press(KeyCode::Enter, 5_000), Pressed::GoOn);
        assert_eq!((press(KeyCode::Esc, 5_100), press(KeyCode::Char('q'), 5_200)), (Pressed::GoOn, Pressed::Stopped));
        let length = &taps.swim.lengths[0];
        assert_eq!((length.tapped, length.breaths.unsaid, length.closed), (4, 1, true));
        assert!((length.tempo.unwrap().seconds - 1.08).abs() < 1e-9);
    }
}
