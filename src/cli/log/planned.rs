//! A script planned for a swimmer of the notebook, as the log keeps it.

use super::squad::{SheetKnown, SheetSwimmer};
use crate::cli::failure::Failure;
use crate::cli::request::user_packs;
use crate::cli::ui::Ui;
use crate::diag::{Diagnostic, Severity, Sources, has_errors};
use crate::notebook::entry::ScriptCopy;
use crate::notebook::outline::Outline;
use crate::prepare::opened::{Opened, Own};
use crate::prepare::{PracticeRequest, identity};
use crate::swimmer::{Swimmer, profile};
use crate::units::calendar::Day;
use std::path::{Path, PathBuf};

/// A script that has been opened, for any number of swimmers.
pub(in crate::cli) struct LoggedScript {
    opened: Opened,
    copy: ScriptCopy,
}

impl LoggedScript {
    /// Opens a script; what is wrong with it is shown.
    pub(in crate::cli) fn open(script: &Path, packs: &[PathBuf], ui: &mut Ui) -> Result<Self, Failure> {
        let opened = Opened::open(&request(script, packs), Sources::new()).map_err(|error| Failure::world(&error))?;
        let copy = ScriptCopy { name: name(script), text: opened.text().to_owned() };
        let script = Self { opened, copy };
        if script.opened.is_broken() {
            script.show(&script.opened.diagnostics, ui);
            return Err(Failure::Shown);
        }
        Ok(script)
    }

    /// A script as the notebook keeps it; nothing where it cannot be swum any more, as without its pack.
    pub(super) fn of_copy(copy: ScriptCopy, packs: &[PathBuf]) -> Option<Self> {
        let opened = Opened::of_copy(&copy, &request(Path::new(&copy.name), packs), Sources::new());
        (!opened.is_broken()).then_some(Self { opened, copy })
    }

    /// The script's text.
    pub(in crate::cli) fn text(&self) -> &str {
        &self.copy.text
    }

    /// What is planned for a swimmer, and what tells the script from others.
    pub(in crate::cli) fn outline(
        &mut self,
        swimmer: &SheetSwimmer,
        day: Day,
        ui: &mut Ui,
    ) -> Result<(Outline, String), Failure> {
        let (whom, found) = match &swimmer.known {
            SheetKnown::Noted(Some(text)) => {
                let name = format!("the profile of {}", swimmer.name);
                let source = self.opened.sources.add(name, text.as_str());
                profile::parse(source, &self.opened.sources)
            }
            SheetKnown::Noted(None) => (Some(Swimmer::assumed()), Vec::new()),
            SheetKnown::Model(swimmer) => (Some((**swimmer).clone()), Vec::new()),
        };
        let own = Own { focus: &swimmer.focus, ..Own::default() };
        let (planned, problems) = self.opened.plan(whom.as_ref(), own, found);
        let Some(planned) = planned.filter(|_| !has_errors(&problems)) else {
            self.show(&problems, ui);
            return Err(Failure::Shown);
        };
        let outline = Outline::of(&planned.practice, self.copy.clone(), &swimmer.name, day);
        Ok((outline, identity(self.opened.path(), &planned.plan.title)))
    }

    /// Cautions are for before a practice.
    fn show(&self, problems: &[Diagnostic], ui: &mut Ui) {
        let errors: Vec<Diagnostic> =
            problems.iter().filter(|problem| problem.severity() == Severity::Error).cloned().collect();
        ui.problems(&errors, &self.opened.sources);
    }
}

/// What opens a script.
pub(super) fn request(script: &Path, packs: &[PathBuf]) -> PracticeRequest {
    PracticeRequest {
        script: script.to_owned(),
        packs: packs.to_vec(),
        user_packs: user_packs(),
        ..PracticeRequest::default()
    }
}

/// What a script is called: its file's name, or `pack/name`.
pub(super) fn name(script: &Path) -> String {
    let file = || script.file_name().unwrap_or(script.as_os_str()).to_string_lossy().into_owned();
    if script.exists() { file() } else { script.to_string_lossy().into_owned() }
}
