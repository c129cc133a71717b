//! The record of a live session: read, its script found, taken over.

use super::planned::LoggedScript;
use super::squad::SheetSwimmer;
use crate::cli::failure::Failure;
use crate::cli::notebook::failed;
use crate::cli::request::user_packs;
use crate::cli::today::LocalTime;
use crate::cli::ui::Ui;
use crate::diag::shown::{ShownPath, printable};
use crate::disk;
use crate::notebook::Notebook;
use crate::notebook::entry::ScriptCopy;
use crate::notebook::from_record::{OtherPractice, take_over};
use crate::notebook::hash::sha256;
use crate::notebook::outline::Outline;
use crate::session::record::{self, Head, RecordLine};
use crate::units::calendar::Day;
use std::path::{Path, PathBuf};

/// The largest session record, in bytes: days of them.
const LARGEST: u64 = 64 << 20;

/// A record as it was read.
pub(super) struct SessionRead {
    pub(super) path: PathBuf,
    pub(super) head: Head,
    pub(super) lines: Vec<RecordLine>,
    pub(super) sha256: String,
}

impl SessionRead {
    /// Reads a record.
    pub(super) fn read(path: &Path) -> Result<Self, Failure> {
        let fail = |why: String| Failure::World(format!("cannot read {}: {why}", path.shown()));
        let bytes = disk::read(path, LARGEST).map_err(|error| fail(error.to_string()))?;
        let sha256 = sha256(&bytes);
        let text = String::from_utf8(bytes).map_err(|_| fail("it is not UTF-8 text".to_owned()))?;
        let (head, lines) = record::read(&text).map_err(|error| fail(error.to_string()))?;
        Ok(Self { path: path.to_owned(), head, lines, sha256 })
    }

    /// What was swum, with the script that is given or found.
    pub(super) fn outline(
        self,
        script: Option<LoggedScript>,
        swimmer: &SheetSwimmer,
        day: Option<Day>,
        (packs, there): (&[PathBuf], Option<&Notebook>),
        ui: &mut Ui,
    ) -> Result<Outline, Failure> {
        let started = self.started()?;
        let day = day.unwrap_or(started.day);
        let other = |why: &OtherPractice| {
            let path = self.path.shown();
            Failure::Usage(format!(
                "{path} is of another practice or profile: {why}; name the script as it was with --script, \
                 and keep the profile with `lengthwise log swimmer`"
            ))
        };
        let mut outline = match script {
            Some(mut script) => {
                let planned = script.outline(swimmer, day, ui)?.0;
                take_over(planned, &self.lines, None).map_err(|why| other(&why))?
            }
            None => self.found(swimmer, day, (packs, there), ui)?.map_err(|why| other(&why))?,
        };
        outline.practice.begun = Some(started.time);
        outline.practice.record = Some(self.sha256);
        Ok(outline)
    }

    /// Taken over with the script that the record names, by its name and its title; of several the first with which it agrees. One
    /// that was changed since may still be in the notebook as it was.
    fn found(
        &self,
        swimmer: &SheetSwimmer,
        day: Day,
        (packs, there): (&[PathBuf], Option<&Notebook>),
        ui: &mut Ui,
    ) -> Result<Result<Outline, OtherPractice>, Failure> {
        let mut other = None;
        // What is wrong with a file of that name is told by nobody: it may be another.
        let files = self.candidates(packs).into_iter().map(|script| LoggedScript::open(&script, packs, ui).ok());
        let files: Vec<LoggedScript> = files.flatten().collect();
        let kept = self.kept(there)?.into_iter().filter_map(|copy| LoggedScript::of_copy(copy, packs));
        for mut script in files.into_iter().chain(kept) {
            let (outline, identity) = script.outline(swimmer, day, ui)?;
            if identity != self.head.script {
                continue;
            }
            match take_over(outline, &self.lines, None) {
                Ok(outline) => return Ok(Ok(outline)),
                Err(why) => other = other.or(Some(why)),
            }
        }
        if let Some(why) = other {
            return Ok(Err(why));
        }
        Err(self.no_script())
    }

    /// When it began.
    pub(super) fn started(&self) -> Result<LocalTime, Failure> {
        LocalTime::parse(&self.head.started).ok_or_else(|| {
            let (path, started) = (self.path.shown(), printable(&self.head.started));
            Failure::World(format!("cannot read {path}: it began at `{started}`, which is no time"))
        })
    }

    /// That nothing is found that could be its script.
    pub(super) fn no_script(&self) -> Failure {
        let (path, title) = (self.path.shown(), printable(&self.head.title));
        Failure::Usage(format!("{path} is of \"{title}\", whose script is not found: name it with --script"))
    }

    /// The notebook's copies of scripts of that name.
    pub(super) fn kept(&self, there: Option<&Notebook>) -> Result<Vec<ScriptCopy>, Failure> {
        match (there, self.script_name()) {
            (Some(there), Some(name)) => there.scripts_called(name).map_err(failed),
            _ => Ok(Vec::new()),
        }
    }

    /// The name of the script's file; nothing where it is one of the program's own.
    fn script_name(&self) -> Option<&str> {
        let name = self.head.script.strip_prefix("script ").filter(|name| !name.ends_with(" built in"))?;
        // Behind the name stands a hash of the title.
        Some(name.rsplit_once(' ').map_or(name, |(name, _)| name))
    }

    /// Where a script of that name may lie: here, beside the record, in packs, in the program.
    pub(super) fn candidates(&self, packs: &[PathBuf]) -> Vec<PathBuf> {
        let Some(name) = self.head.script.strip_prefix("script ") else { return Vec::new() };
        if let Some(built_in) = name.strip_suffix(" built in") {
            return vec![PathBuf::from(built_in)];
        }
        let Some(name) = self.script_name() else { return Vec::new() };
        if Path::new(name).components().count() != 1 {
            return Vec::new();
        }
        let user = user_packs();
        let beside = self.path.parent().map(Path::to_owned);
        let mut folders: Vec<PathBuf> = std::iter::once(PathBuf::from(".")).chain(beside).collect();
        for shelf in packs.iter().chain(&user) {
            let within = std::fs::read_dir(shelf).into_iter().flatten().flatten().map(|entry| entry.path());
            let mut within: Vec<PathBuf> = within.filter(|path| path.is_dir()).collect();
            within.sort();
            folders.extend(within);
        }
        folders.into_iter().map(|folder| folder.join(name)).filter(|path| path.is_file()).collect()
    }
}
