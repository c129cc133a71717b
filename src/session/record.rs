//! The session record: what was swum, as JSON lines that are written while it happens.
//!
//! One object a line, the first with the version. Each line goes to the file in one write as it happens, so that a killed
//! program loses nothing; to the disk it is flushed at least once a second, so that a power cut costs at most that second
//! (flushing each line would make a busy set wait for the disk). A file that exists is never overwritten. What it all means
//! to a swimmer is the notebook's job.

mod decimal;
mod read;

pub use read::{UnreadableRecord, read};

use super::input;
use crate::conductor::command::{Command, DeskCommand, Happened, OwnEvent, OwnKind, Timing};
use crate::diag::shown::ShownPath;
use crate::disk::{Access, FolderForFiles};
use crate::units::frame::OutputFrame;
use crate::units::time::{Seconds, Tempo};
use serde::{Deserialize, Serialize};
use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// The version of the format.
pub const VERSION: u32 = 3;
/// The oldest that is read.
pub const OLDEST: u32 = 1;
/// How long a line may wait for the disk.
const SYNC: Duration = Duration::from_secs(1);

/// The first line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Head {
    /// [`VERSION`].
    #[serde(rename = "lengthwise-session")]
    pub version: u32,
    /// The program that wrote it.
    pub program: String,
    /// When it began, UTC, RFC 3339.
    pub started: String,
    /// What tells the script from others.
    pub script: String,
    /// The practice's title.
    pub title: String,
    /// The pool, as the script has it: `25 m`; empty in version 1.
    #[serde(default)]
    pub pool: String,
    /// The swimmer's name, where the profile has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub swimmer: Option<String>,
    /// Who shares the lane, where several do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lane: Option<HeadLane>,
    /// The device, or `simulated`.
    pub device: String,
    /// Frames a second; frames of all lines are of this rate until a `device` line.
    pub rate: u32,
}

/// A lane in the first line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HeadLane {
    /// What it is called.
    pub name: String,
    /// Its swimmers as they leave by the plan: the first has number 1.
    pub swimmers: Vec<String>,
    /// From one go to the next one's.
    #[serde(with = "decimal")]
    pub gap: Seconds,
}

/// A later line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordLine {
    /// Time of the practice.
    #[serde(with = "decimal")]
    pub time: Seconds,
    /// The same as a frame.
    pub frame: u64,
    /// What.
    #[serde(flatten)]
    pub event: RecordEvent,
}

/// Which repeat a line is about, and what is swum in it, so that nobody needs the script to understand a record. Version 1
/// has the first two numbers alone.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RepeatNote {
    /// The set, from 1.
    pub set: usize,
    /// The repeat of the set, from 1, through all rounds.
    pub repeat: usize,
    /// The title of the set.
    #[serde(default, rename = "set-title")]
    pub title: String,
    /// The round, from 1.
    #[serde(default)]
    pub round: usize,
    /// How far, with the unit: `50 m`; in a swim by time an estimate.
    #[serde(default)]
    pub distance: String,
    /// What is swum: `50 m kick`, `10 min easy`.
    #[serde(default)]
    pub swim: String,
    /// In a lane: whose, by number from 1; set and repeat are then those of their own practice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub swimmer: Option<u32>,
}

/// What a line tells. `cue-packs/RECORD.md` says what each key means.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the fields are what their names say: a repeat, the number of a command")]
pub enum RecordEvent {
    /// A go was heard.
    Go {
        #[serde(flatten)]
        which: RepeatNote,
    },
    /// The swim went on without a stop: this repeat began without a go.
    Joined {
        #[serde(flatten)]
        which: RepeatNote,
    },
    /// The swimmer touched: the time from the go, and what was expected.
    Touch {
        #[serde(flatten)]
        which: RepeatNote,
        #[serde(with = "decimal")]
        split: Seconds,
        #[serde(with = "decimal")]
        predicted: Seconds,
        /// Of how many repeats the split is, this one the last: more than one where a lane's swimmer swims them without a stop.
        #[serde(default = "one", skip_serializing_if = "is_one")]
        repeats: usize,
    },
    /// A swimmer of a lane was too late for the go that was given: theirs comes last, at `go`.
    Late {
        #[serde(flatten)]
        which: RepeatNote,
        #[serde(with = "decimal")]
        go: Seconds,
    },
    /// Nobody swam this repeat.
    Missed {
        #[serde(flatten)]
        which: RepeatNote,
    },
    /// The go was due while nothing could be heard, or in a time that was left out. It can follow a `go` of the same repeat:
    /// then the device had been given the go and went away with it.
    Unheard {
        #[serde(flatten)]
        which: RepeatNote,
    },
    /// A command left this repeat out.
    Skipped {
        #[serde(flatten)]
        which: RepeatNote,
    },
    /// The last command of these words that was not taken back is void, with what came of it.
    Undone { command: String },
    /// The tempo of a set was changed: seconds per stroke.
    Tempo {
        set: usize,
        #[serde(default, rename = "set-title")]
        title: String,
        tempo: String,
    },
    /// A command was taken at the line's frame, `output` frames after the beginning of the sound; it is to take effect at
    /// `effect`, a frame of the practice, or of the output for `resume`.
    Command { id: u32, command: String, effect: u64, output: u64 },
    /// A command took effect on the frame `effect`, late or as it should.
    Taken { id: u32, effect: u64, late: bool },
    /// A command made no sense.
    Refused { command: String, why: String },
    /// Sound goes to this device at this rate from here on; `was` is the one before, where that was another.
    Device {
        name: String,
        rate: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        was: Option<String>,
    },
    /// There was no sound from that time of the practice to the line's.
    Gap {
        #[serde(with = "decimal")]
        from: Seconds,
        why: String,
    },
    /// The practice is so far behind the clock of the pool.
    Behind {
        #[serde(with = "decimal")]
        by: Seconds,
    },
    /// The device did not get so many blocks in time.
    Underrun { blocks: u64 },
    /// The last line of a session that was not killed, and why it ended.
    End { reason: String },
}

/// The usual number of repeats to a split.
const fn one() -> usize {
    1
}

/// Whether it is usual.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks by reference")]
const fn is_one(repeats: &usize) -> bool {
    *repeats == 1
}

/// Makes the note of a repeat from its set and its place in it, both from 0; in a lane of the swimmer with a number.
pub type MakeNote<'a> = dyn Fn(Option<u32>, usize, usize) -> RepeatNote + 'a;

impl RecordEvent {
    /// What happened to the swimming, with its time where it has one of its own.
    pub fn of(happened: Happened, note: &MakeNote<'_>) -> (Option<Seconds>, Self) {
        let own = note;
        let note = |set: usize, repeat: usize| own(None, set, repeat);
        match happened {
            Happened::Own { number, own: OwnEvent { set, repeat, kind } } => {
                let which = own(Some(number), set, repeat);
                match kind {
                    OwnKind::Go { at } => (Some(at), Self::Go { which }),
                    OwnKind::Unheard { at } => (Some(at), Self::Unheard { which }),
                    OwnKind::Touch { at, split, predicted, repeats } => {
                        (Some(at), Self::Touch { which, split, predicted, repeats })
                    }
                    OwnKind::Late { at } => (None, Self::Late { which, go: at }),
                    OwnKind::Missed => (None, Self::Missed { which }),
                    OwnKind::Skipped => (None, Self::Skipped { which }),
                }
            }
            Happened::Go { set, repeat, at } => (Some(at), Self::Go { which: note(set, repeat) }),
            Happened::Joined { set, repeat, at } => (Some(at), Self::Joined { which: note(set, repeat) }),
            Happened::Touch { set, repeat, at, split, predicted } => {
                (Some(at), Self::Touch { which: note(set, repeat), split, predicted, repeats: 1 })
            }
            Happened::Unheard { set, repeat, at } => (Some(at), Self::Unheard { which: note(set, repeat) }),
            Happened::Missed { set, repeat } => (None, Self::Missed { which: note(set, repeat) }),
            Happened::Skipped { set, repeat } => (None, Self::Skipped { which: note(set, repeat) }),
            Happened::Undone { command } => (None, Self::Undone { command: input::words(command.into()) }),
            Happened::Tempo { set, at, tempo } => {
                let RepeatNote { set, title, .. } = note(set, 0);
                (Some(at), Self::Tempo { set, title, tempo: per_stroke(tempo) })
            }
        }
    }

    /// A command that was taken.
    pub fn command(id: u32, command: Command, timing: Timing, output: OutputFrame) -> Self {
        let effect = match command {
            Command::Desk(DeskCommand::Resume) => timing.output.number(),
            Command::Desk(_) | Command::Course(_) => timing.practice.number(),
        };
        Self::Command { id, command: input::words(command), effect, output: output.number() }
    }
}

/// Seconds per stroke as decimal text, to the nanosecond.
fn per_stroke(tempo: Tempo) -> String {
    let text = format!("{:.9}", tempo.as_f64());
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Where a record goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RecordPlace {
    /// Nowhere.
    Nowhere,
    /// A new file of this name.
    File(PathBuf),
    /// A new file in this folder, named after the time and the title.
    Folder(PathBuf),
}

/// A record being written.
#[derive(Debug, Default)]
pub struct Recorder {
    file: Option<File>,
    path: Option<PathBuf>,
    failed: Option<String>,
    /// Since when a line waits for the disk.
    unsynced: Option<Instant>,
}

impl Recorder {
    /// Begins a record.
    ///
    /// # Errors
    /// Where the file cannot be made or written to, or is there already.
    pub fn begin(place: &RecordPlace, head: &Head) -> io::Result<Self> {
        let (file, path) = match place {
            RecordPlace::Nowhere => return Ok(Self::default()),
            RecordPlace::File(path) => (create(path)?, path.clone()),
            RecordPlace::Folder(folder) => in_folder(folder, head)?,
        };
        let mut recorder = Self { file: Some(file), path: Some(path), ..Self::default() };
        recorder.put(head);
        recorder.sync();
        match (&recorder.failed, &recorder.path) {
            (Some(why), Some(path)) => {
                let error = io::Error::other(format!("{}: {why}", path.shown()));
                // There is nothing in it yet.
                let _ = std::fs::remove_file(path);
                Err(error)
            }
            _ => Ok(recorder),
        }
    }

    /// Where it is written.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// Why nothing more is written, if so: a full disk, for one.
    pub fn failed(&self) -> Option<&str> {
        self.failed.as_deref()
    }

    /// Writes a line.
    pub fn line(&mut self, line: &RecordLine) {
        self.put(line);
    }

    fn put(&mut self, value: &impl Serialize) {
        let Some(file) = &mut self.file else { return };
        let written = serde_json::to_string(value).map_err(io::Error::from).and_then(|mut text| {
            text.push('\n');
            file.write_all(text.as_bytes())
        });
        match written {
            Ok(()) => self.unsynced = self.unsynced.or_else(|| Some(Instant::now())),
            Err(error) => self.give_up(&error),
        }
    }

    /// Flushes to the disk what has waited long enough; to be called often.
    pub fn tick(&mut self) {
        if self.unsynced.is_some_and(|since| since.elapsed() >= SYNC) {
            self.sync();
        }
    }

    /// Flushes everything to the disk.
    pub fn sync(&mut self) {
        if self.unsynced.take().is_some()
            && let Some(file) = &self.file
            && let Err(error) = file.sync_data()
            // What is not a file on a disk, such as a pipe, cannot be flushed and need not be.
            && error.kind() != io::ErrorKind::InvalidInput
        {
            self.give_up(&error);
        }
    }

    fn give_up(&mut self, error: &io::Error) {
        self.failed = Some(error.to_string());
        self.file = None;
    }
}

fn create(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    // How somebody swam is for nobody else to read.
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path).map_err(|error| match error.kind() {
        kind @ io::ErrorKind::AlreadyExists => {
            let path = path.shown();
            io::Error::new(kind, format!("{path} exists already and stays as it is; choose another name"))
        }
        kind => io::Error::new(kind, format!("{}: {error}", path.shown())),
    })
}

fn in_folder(folder: &Path, head: &Head) -> io::Result<(File, PathBuf)> {
    let _made = FolderForFiles::make(folder, Access::Private)?;
    let base = format!("{}-{}", head.started.replace(':', ""), plain(&head.title));
    let mut number = 1;
    loop {
        let path = match number {
            1 => folder.join(format!("{base}.jsonl")),
            more => folder.join(format!("{base}-{more}.jsonl")),
        };
        match create(&path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && number < 1000 => number += 1,
            made => return Ok((made?, path)),
        }
    }
}

/// A title as a part of a file's name that every system takes.
fn plain(title: &str) -> String {
    let mut name = String::new();
    for c in title.to_lowercase().chars() {
        if c.is_ascii_alphanumeric() {
            name.push(c);
        } else if !name.ends_with('-') && !name.is_empty() {
            name.push('-');
        }
    }
    name.truncate(40);
    let name = name.trim_end_matches('-');
    if name.is_empty() { "session".to_owned() } else { name.to_owned() }
}

/// A moment as RFC 3339 in UTC, to the second; before 1970 it is 1970.
#[expect(clippy::expect_used, reason = "a clock that shows the year 10000 is broken")]
pub fn date_time(moment: SystemTime) -> String {
    let seconds = moment.duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    let moment = i64::try_from(seconds).ok().and_then(|seconds| jiff::Timestamp::from_second(seconds).ok());
    moment.expect("the year has four digits").to_string()
}

#[cfg(test)]
mod tests;
