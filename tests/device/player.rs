//! The program playing a practice, with its lines and what is sent to it.

use crate::server::Server;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// A practice with a go at 0:45 and another at 1:30.
pub const SCRIPT: &str = "lengthwise: 1\ntitle: Try\npool: 25 m\npack: first-lengths\npractice:\n  \
    - { set: Easy start, swim: 2 x 25 m, tempo: 1.2 s, rest: 15 s, focus: head-still }\n";

/// A run of `play`.
pub struct Player {
    child: Child,
    input: Option<ChildStdin>,
    lines: Receiver<String>,
    pub heard: Vec<String>,
    pub record: PathBuf,
}

impl Player {
    /// Plays [`SCRIPT`] through a server.
    pub fn start(server: &Server, name: &str) -> Self {
        Self::run(server.command(env!("CARGO_BIN_EXE_lengthwise")), server.path(""), name, &[])
    }

    /// Plays [`SCRIPT`] by a command that is all but complete.
    pub fn run(mut command: Command, folder: PathBuf, name: &str, more: &[&str]) -> Self {
        let script = folder.join("try.yaml");
        std::fs::write(&script, SCRIPT).unwrap();
        let record = folder.join(name);
        command.arg("play").arg(script).arg("--record").arg(&record).args(["--no-speech", "--no-screen"]).args(more);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        let (to, lines) = channel();
        let stdout = BufReader::new(child.stdout.take().unwrap());
        std::thread::spawn(move || stdout.lines().map_while(Result::ok).try_for_each(|line| to.send(line)));
        Self { input: child.stdin.take(), child, lines, heard: Vec::new(), record }
    }

    pub fn child(&mut self) -> &mut Child {
        &mut self.child
    }

    /// Asks for something; a player that is gone does not hear it.
    pub fn ask(&mut self, line: &str) {
        let _ = writeln!(self.input.as_mut().unwrap(), "{line}");
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

impl Drop for Player {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The practice as the file renderer makes it at a rate, and its timeline as the program prints it.
pub fn rendered(folder: &Path, rate: u32) -> (Vec<[i16; 2]>, String) {
    let script = folder.join("try.yaml");
    std::fs::write(&script, SCRIPT).unwrap();
    let run = |args: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_lengthwise"));
        let output = command.args(args).arg("try.yaml").arg("--no-speech").current_dir(folder).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    run(&["render", "-o", "file.wav", "--rate", &rate.to_string()]);
    let mut reader = hound::WavReader::open(folder.join("file.wav")).unwrap();
    let samples: Vec<i16> = reader.samples::<i16>().map(Result::unwrap).collect();
    let frames = samples.chunks_exact(2).map(|frame| [frame[0], frame[1]]).collect();
    (frames, run(&["check", "--timeline"]))
}

/// Raw 16-bit stereo.
pub fn raw(file: &Path) -> Vec<[i16; 2]> {
    let bytes = std::fs::read(file).unwrap();
    let sample = |bytes: &[u8]| i16::from_le_bytes([bytes[0], bytes[1]]);
    bytes.chunks_exact(4).map(|frame| [sample(&frame[..2]), sample(&frame[2..])]).collect()
}
