//! The program playing a practice.

use crate::program::Program;
use crate::server::Server;
use std::ops::{Deref, DerefMut};
use std::path::{Path, PathBuf};
use std::process::Command;

/// A practice with two gos, the first after less than a minute of talk, the second a minute later.
pub const SCRIPT: &str = "lengthwise: 1\ntitle: Try\npool: 25 m\npack: first-lengths\npractice:\n  \
    - { set: Easy start, swim: 2 x 25 m, tempo: 1.2 s, rest: 15 s, focus: head-still }\n";

/// A run of `play`.
pub struct Player {
    program: Program,
    pub record: PathBuf,
}

impl Player {
    /// Plays [`SCRIPT`] through a server.
    pub fn start(server: &Server, name: &str) -> Self {
        Self::run(server.command(env!("CARGO_BIN_EXE_lengthwise")), server.path(""), name, &[])
    }

    /// Plays [`SCRIPT`] by a command that is all but complete.
    pub fn run(command: Command, folder: PathBuf, name: &str, more: &[&str]) -> Self {
        Self::play(command, folder, SCRIPT, name, more)
    }

    /// Plays a script likewise.
    pub fn play(mut command: Command, folder: PathBuf, text: &str, name: &str, more: &[&str]) -> Self {
        let script = folder.join("try.yaml");
        std::fs::write(&script, text).unwrap();
        let record = folder.join(name);
        command.arg("play").arg(script).arg("--record").arg(&record).args(["--no-speech", "--no-screen"]).args(more);
        Self { program: Program::start(command), record }
    }
}

impl Deref for Player {
    type Target = Program;
    fn deref(&self) -> &Program {
        &self.program
    }
}

impl DerefMut for Player {
    fn deref_mut(&mut self) -> &mut Program {
        &mut self.program
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
