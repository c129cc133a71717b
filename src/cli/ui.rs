//! Where a command writes to: results, messages, colour, width. Nothing is global.

use super::args::When;
use crate::diag::render::render;
use crate::diag::shown::{Printer, Shown};
use crate::diag::{Diagnostic, Sources};
use crate::messages::Messages;
use crate::pack::speech::{self, Speech};
use crate::progress::Progress;
use anstyle::AnsiColor;
use std::io::{self, BufWriter, IsTerminal};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// The width where it is not known.
const PLAIN_WIDTH: usize = 80;
/// Wider lines are not read in one glance.
const WIDEST: usize = 120;

/// The program's two outputs.
pub struct Ui {
    out: Printer,
    err: Printer,
    messages: Messages,
    err_terminal: bool,
    width: usize,
    pipe_closed: bool,
}

impl Ui {
    /// The process's own outputs. `auto` colour obeys `NO_COLOR` (not empty), `TERM=dumb` and each stream's terminal.
    pub fn new(color: When) -> Self {
        let plain = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty())
            || std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let colored = |terminal: bool| match color {
            When::Always => true,
            When::Never => false,
            When::Auto => terminal && !plain,
        };
        let (out_terminal, err_terminal) = (io::stdout().is_terminal(), io::stderr().is_terminal());
        let columns = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
        // A width in the environment serves those who read through a pager.
        let asked = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
        Self {
            out: Printer::new(BufWriter::new(io::stdout()), colored(out_terminal)),
            err: Printer::new(Messages::shared(), colored(err_terminal)),
            messages: Messages::shared(),
            err_terminal,
            width: asked.or(columns).unwrap_or(PLAIN_WIDTH).clamp(40, WIDEST),
            pipe_closed: false,
        }
    }

    /// Keeps what libraries would print off standard error from now on: for commands that ask the sound system.
    pub fn alone(&mut self) {
        self.messages = Messages::alone();
        self.err = Printer::new(self.messages.clone(), self.err.has_color());
    }

    /// Where messages go, for others who write there.
    pub fn messages(&self) -> Messages {
        self.messages.clone()
    }

    /// Columns to write in.
    pub const fn width(&self) -> usize {
        self.width
    }

    /// Whether messages go to a terminal.
    pub const fn is_watched(&self) -> bool {
        self.err_terminal
    }

    /// Whether messages may have colour.
    pub const fn colors_messages(&self) -> bool {
        self.err.has_color()
    }

    /// Writes a result.
    pub fn result(&mut self, text: impl Into<Shown>) -> io::Result<()> {
        let written = self.out.put(&text.into());
        self.noting(written)
    }

    /// Writes what is left of the results.
    pub fn flush(&mut self) -> io::Result<()> {
        let flushed = self.out.flush();
        self.noting(flushed)
    }

    /// Whether the reader of the results has gone away, which is not a failure.
    pub const fn pipe_closed(&self) -> bool {
        self.pipe_closed
    }

    /// A message of one line.
    pub fn error(&mut self, message: &str) {
        self.message(Shown::styled("error", AnsiColor::Red.on_default().bold()) + format!(": {message}\n"));
    }

    /// Problems with their places.
    pub fn problems(&mut self, diagnostics: &[Diagnostic], sources: &Sources) {
        if !diagnostics.is_empty() {
            self.message(render(diagnostics, sources, self.err.has_color(), self.width) + "\n");
        }
    }

    /// Text to the side of the results.
    pub fn message(&mut self, text: impl Into<Shown>) {
        // What is said of a result comes behind it, on a terminal too. If that fails, the last flush fails again and is told.
        let _ = self.flush();
        // Where messages cannot be written there is nobody to tell.
        let _ = self.err.put(&text.into());
    }

    fn noting(&mut self, result: io::Result<()>) -> io::Result<()> {
        if let Err(error) = &result {
            self.pipe_closed |= error.kind() == io::ErrorKind::BrokenPipe;
        }
        result
    }
}

/// The built-in voice, if this program has one.
pub fn speech() -> Option<Speech> {
    let folder = || speech::cache_folder(std::env::var_os("XDG_CACHE_HOME"), std::env::var_os("HOME"));
    speech::AVAILABLE.then(|| apart(Speech::new(folder())))
}

/// The engine is C: it gets processes of its own. On Linux the name of this one holds even where its file has been replaced.
#[cfg(feature = "speech")]
fn apart(speech: Speech) -> Speech {
    let own = if cfg!(target_os = "linux") { Ok("/proc/self/exe".into()) } else { std::env::current_exe() };
    match own {
        Ok(program) => speech.apart(program),
        Err(_) => speech,
    }
}

#[cfg(not(feature = "speech"))]
fn apart(speech: Speech) -> Speech {
    speech
}

/// Sets the flag when the user or the system asks the program to stop.
pub fn stop_on_signals(stop: &Arc<AtomicBool>) -> io::Result<()> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    for signal in [SIGINT, SIGTERM, SIGHUP] {
        // A second signal ends the program at once: work that does not look at the flag must not hold the user up.
        signal_hook::flag::register_conditional_shutdown(signal, 130, Arc::clone(stop))?;
        signal_hook::flag::register(signal, Arc::clone(stop))?;
    }
    Ok(())
}

/// How far the work is, drawn for a person who watches; nothing otherwise.
pub struct Bar(Option<indicatif::ProgressBar>);

impl Bar {
    /// Takes the bar off the screen.
    pub fn done(self) {
        if let Some(bar) = self.0 {
            bar.finish_and_clear();
        }
    }
}

impl Progress for Bar {
    fn at(&mut self, done: u64, total: u64) {
        if let Some(bar) = &self.0 {
            bar.set_length(total);
            bar.set_position(done);
        }
    }
}

impl Ui {
    /// A bar for long work.
    pub fn progress(&self) -> Bar {
        Bar(self.err_terminal.then(|| indicatif::ProgressBar::new(0)))
    }
}
