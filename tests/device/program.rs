//! The program at work: its lines, and what is sent to it.

use crate::server::Server;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// A run of the program; it ends with the value.
pub struct Program {
    child: Child,
    input: Option<ChildStdin>,
    lines: Receiver<String>,
    pub heard: Vec<String>,
}

impl Program {
    /// Starts a command.
    pub fn start(mut command: Command) -> Self {
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        let (to, lines) = channel();
        let stdout = BufReader::new(child.stdout.take().unwrap());
        std::thread::spawn(move || stdout.lines().map_while(Result::ok).try_for_each(|line| to.send(line)));
        Self { input: child.stdin.take(), child, lines, heard: Vec::new() }
    }

    pub fn child(&mut self) -> &mut Child {
        &mut self.child
    }

    /// Asks for something; a player that is gone does not hear it.
    pub fn ask(&mut self, line: &str) {
        let _ = writeln!(self.input.as_mut().unwrap(), "{line}");
    }

    /// Sends bytes as they are.
    pub fn send(&mut self, bytes: &[u8]) {
        self.input.as_mut().unwrap().write_all(bytes).unwrap();
    }

    /// Ends what it can be asked.
    pub fn hang_up(&mut self) {
        self.input = None;
    }

    /// Waits for a line with these words; how long that took.
    pub fn wait_for(&mut self, words: &str, patience: Duration) -> Duration {
        let begun = Instant::now();
        loop {
            match self.lines.recv_timeout(patience.saturating_sub(begun.elapsed())) {
                Ok(line) => {
                    let found = line.contains(words);
                    self.heard.push(line);
                    if found {
                        return begun.elapsed();
                    }
                }
                Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => {
                    panic!("no `{words}` in {patience:?}; heard: {:#?}", self.heard)
                }
            }
        }
    }

    /// Reads the lines there are.
    pub fn listen(&mut self) {
        self.heard.extend(self.lines.try_iter());
    }

    /// Waits for its end.
    pub fn end(&mut self, patience: Duration) -> ExitStatus {
        let until = Instant::now() + patience;
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                // The lines that are still on their way.
                while let Ok(line) = self.lines.recv_timeout(Duration::from_secs(2)) {
                    self.heard.push(line);
                }
                return status;
            }
            assert!(Instant::now() < until, "it does not end; heard: {:#?}", self.heard);
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The program, whose files cannot grow beyond a kilobyte or half of one: what a full disk does to a record.
pub fn with_little_room(server: &Server) -> Command {
    let mut command = server.command("sh");
    command.args(["-c", "trap '' XFSZ; ulimit -f 1; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_lengthwise")]);
    command
}
