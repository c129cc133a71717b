//! The record of a live session: read, its script found, taken over.

use super::planned::LoggedScript;
use super::squad::SheetSwimmer;
use crate::cli::failure::Failure;
use crate::cli::request::user_packs;
use crate::cli::today::LocalTime;
use crate::cli::ui::Ui;
use crate::diag::shown::{ShownPath, printable};
use crate::disk;
use crate::notebook::from_record::take_over;
use crate::notebook::hash::sha256;
use crate::notebook::outline::Outline;
use crate::session::record::{self, Head, RecordLine};
use crate::units::calendar::Day;
use std::path::{Path, PathBuf};

/// The largest session record, in bytes: days of them.
const LARGEST: u64 = 64 << 20;

/// A record as it was read.
pub(super) struct SessionRead {
    path: PathBuf,
    pub(super) head: Head,
    lines: Vec<RecordLine>,
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
        packs: &[PathBuf],
        ui: &mut Ui,
    ) -> Result<Outline, Failure> {
        let started = LocalTime::parse(&self.head.started).ok_or_else(|| {
            let (path, started) = (self.path.shown(), printable(&self.head.started));
            Failure::World(format!("cannot read {path}: it began at `{started}`, which is no time"))
        })?;
        let day = day.unwrap_or(started.day);
        let planned = match script {
            Some(mut script) => script.outline(swimmer, day, ui)?.0,
            None => self.found(swimmer, day, packs, ui)?,
        };
        let mut outline = take_over(planned, &self.lines).map_err(|other| {
            let path = self.path.shown();
            Failure::Usage(format!(
                "{path} is of another practice or profile: {other}; name the script as it was with --script, \
                 and keep the profile with `lengthwise log swimmer`"
            ))
        })?;
        outline.practice.begun = Some(started.time);
        outline.practice.record = Some(self.sha256);
        Ok(outline)
    }

    /// The script that the record names, by its name and its title.
    fn found(&self, swimmer: &SheetSwimmer, day: Day, packs: &[PathBuf], ui: &mut Ui) -> Result<Outline, Failure> {
        for script in self.candidates(packs) {
            // What is wrong with a file of that name is told by nobody: it may be another.
            let Ok(mut opened) = LoggedScript::open(&script, packs, ui) else { continue };
            let (outline, identity) = opened.outline(swimmer, day, ui)?;
            if identity == self.head.script {
                return Ok(outline);
            }
        }
        let (path, title) = (self.path.shown(), printable(&self.head.title));
        Err(Failure::Usage(format!("{path} is of \"{title}\", whose script is not found: name it with --script")))
    }

    /// Where a script of that name may lie: here, beside the record, in packs, in the program.
    fn candidates(&self, packs: &[PathBuf]) -> Vec<PathBuf> {
        let Some(name) = self.head.script.strip_prefix("script ") else { return Vec::new() };
        if let Some(built_in) = name.strip_suffix(" built in") {
            return vec![PathBuf::from(built_in)];
        }
        // Behind the name stands a hash of the title.
        let name = name.rsplit_once(' ').map_or(name, |(name, _)| name);
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
