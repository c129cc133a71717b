//! One run of the program in a folder of its own: what it is given, and what must come of it. No network, no home, no
//! terminal: what the tests see does not depend on who runs them.

#![allow(dead_code, reason = "each test binary uses its part")]

use crate::material::names;
use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output};
use std::rc::Rc;
use tempfile::TempDir;

/// A run to be made; see [`Run::run`].
pub struct Run {
    folder: Rc<TempDir>,
    args: Vec<String>,
    env: Vec<(&'static str, &'static str)>,
    exit: i32,
    stdout: Vec<String>,
    stderr: Vec<String>,
    silent: bool,
}

/// A run that was as expected.
pub struct Ran {
    folder: Rc<TempDir>,
    /// What was written to the standard output.
    pub stdout: String,
    /// What was written to the standard error.
    pub stderr: String,
}

impl Run {
    /// The program with arguments, split at blanks; it must end with 0.
    pub fn new(args: &str) -> Self {
        Self::inside(Rc::new(tempfile::tempdir().unwrap()), args)
    }

    fn inside(folder: Rc<TempDir>, args: &str) -> Self {
        let args = args.split_whitespace().map(str::to_owned).collect();
        Self { folder, args, env: Vec::new(), exit: 0, stdout: Vec::new(), stderr: Vec::new(), silent: false }
    }

    /// Puts a file into the folder, and folders on the way to it.
    pub fn file(self, name: &str, content: impl AsRef<[u8]>) -> Self {
        let path = self.folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, content).unwrap();
        self
    }

    /// Sets a variable.
    pub fn env(mut self, name: &'static str, value: &'static str) -> Self {
        self.env.push((name, value));
        self
    }

    /// With this code it must end.
    pub fn exit(mut self, code: i32) -> Self {
        self.exit = code;
        self
    }

    /// This must be in the results.
    pub fn stdout(mut self, text: impl Into<String>) -> Self {
        self.stdout.push(text.into());
        self
    }

    /// There must be no results.
    pub fn no_stdout(mut self) -> Self {
        self.silent = true;
        self
    }

    /// This must be in the messages.
    pub fn stderr(mut self, text: impl Into<String>) -> Self {
        self.stderr.push(text.into());
        self
    }

    /// The command, for runs that need more than an exit code.
    pub fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_lengthwise"));
        command.args(&self.args).current_dir(self.folder.path()).env_clear();
        command.env("HOME", self.folder.path()).env("COLUMNS", "120").envs(self.env.iter().copied());
        command
    }

    /// Makes the run and holds it against what is expected.
    pub fn run(self) -> Ran {
        let output = self.command().output().unwrap();
        self.judge(output)
    }

    /// Holds an output of [`Run::command`] against what is expected.
    pub fn judge(self, output: Output) -> Ran {
        let Self { folder, args, exit, stdout: expected, stderr: told, silent, .. } = self;
        let stdout = String::from_utf8(output.stdout).unwrap();
        let stderr = String::from_utf8(output.stderr).unwrap();
        let shown = format!("lengthwise {}\n{stdout}{stderr}", args.join(" "));
        assert_eq!(output.status.code(), Some(exit), "exit code of {shown}");
        expected.iter().for_each(|text| assert!(stdout.contains(text), "no `{text}` in the results of {shown}"));
        told.iter().for_each(|text| assert!(stderr.contains(text), "no `{text}` in the messages of {shown}"));
        assert!(!silent || stdout.is_empty(), "results of {shown}");
        Ran { folder, stdout, stderr }
    }
}

impl Ran {
    /// Another run in the same folder.
    pub fn then(&self, args: &str) -> Run {
        Run::inside(Rc::clone(&self.folder), args)
    }

    /// A path in the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The names of everything in the folder, sorted.
    pub fn files(&self) -> Vec<String> {
        names(self.folder.path())
    }

    /// The results as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.stdout).unwrap()
    }
}
