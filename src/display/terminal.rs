//! The terminal as the live screen has it: taken, drawn on, and given back however it ends. Pure layout is in `view`.

use super::look::Look;
use crate::messages::{Messages, is_unheard};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::buffer::Buffer;
use ratatui::crossterm::cursor::{Hide, Show};
use ratatui::crossterm::terminal::{
    BeginSynchronizedUpdate, EndSynchronizedUpdate, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode,
    enable_raw_mode,
};
use ratatui::crossterm::{execute, queue};
use std::io::{self, BufWriter, Write};
use std::mem::ManuallyDrop;
use std::panic;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A terminal that belongs to the screen until this is dropped.
pub struct Screen {
    /// Never dropped: the library's own drop reports to standard error that it cannot show the cursor, and panics where
    /// that has gone with the terminal. `give_back` does what is needed.
    terminal: ManuallyDrop<Terminal<CrosstermBackend<BufWriter<Messages>>>>,
    look: Look,
    messages: Messages,
    /// Set where a panic anywhere has given the terminal back already.
    broken: Arc<AtomicBool>,
}

impl Screen {
    /// Takes the terminal that messages go to: its other page, no echo, no cursor. From here on a panic of any thread gives it back
    /// before it is reported.
    ///
    /// # Errors
    /// Where it cannot be taken; it is then as it was.
    pub fn open(look: Look, messages: Messages) -> io::Result<Self> {
        let broken = Arc::new(AtomicBool::new(false));
        enable_raw_mode()?;
        let to = || BufWriter::with_capacity(1 << 16, messages.clone());
        let taken = execute!(messages.clone(), EnterAlternateScreen, Hide)
            .and_then(|()| Terminal::new(CrosstermBackend::new(to())));
        let terminal = ManuallyDrop::new(taken.inspect_err(|_| give_back(&messages))?);
        let (before, flag, mine) = (panic::take_hook(), Arc::clone(&broken), messages.clone());
        panic::set_hook(Box::new(move |info| {
            // SeqCst: it happens once, and nothing here is worth a weaker promise.
            if !is_unheard() && !flag.swap(true, Ordering::SeqCst) {
                give_back(&mine);
            }
            before(info);
        }));
        Ok(Self { terminal, look, messages, broken })
    }

    /// Draws what has changed in a picture since the last time, which the terminal is told to show at once.
    ///
    /// # Errors
    /// Where the terminal has gone, or has been given back by a panic.
    pub fn draw(&mut self, picture: impl FnOnce(Look, &mut Buffer)) -> io::Result<()> {
        if self.broken.load(Ordering::SeqCst) {
            return Err(io::Error::other("the terminal was given back after a fault"));
        }
        let look = self.look;
        queue!(self.terminal.backend_mut(), BeginSynchronizedUpdate)?;
        self.terminal.draw(|frame| picture(look, frame.buffer_mut()))?;
        queue!(self.terminal.backend_mut(), EndSynchronizedUpdate)?;
        Write::flush(self.terminal.backend_mut())
    }

    /// Everything again at the next draw, where something else wrote onto the screen.
    ///
    /// # Errors
    /// Where the terminal has gone.
    pub fn forget(&mut self) -> io::Result<()> {
        self.terminal.clear()
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        if !self.broken.swap(true, Ordering::SeqCst) {
            give_back(&self.messages);
        }
    }
}

/// As it was before. What fails here cannot be mended or reported anywhere.
fn give_back(messages: &Messages) {
    let _ = execute!(messages.clone(), EndSynchronizedUpdate, LeaveAlternateScreen, Show);
    let _ = disable_raw_mode();
}
