//! The notebook's file: which one it is, and that it is told when it is made.

use super::args::NotebookArg;
use super::failure::Failure;
use super::today::LocalTime;
use super::ui::Ui;
use crate::diag::shown::ShownPath;
use crate::disk;
use crate::notebook::{Notebook, NotebookFault, OpenFor};
use crate::prepare::KnownFrom;
use std::ffi::OsString;
use std::path::PathBuf;

/// Names the notebook where no option does.
const VARIABLE: &str = "LENGTHWISE_NOTEBOOK";

/// The file: the option's, else the environment's, else the one among the user's data.
pub(super) fn find(given: &NotebookArg) -> Result<PathBuf, Failure> {
    let variable = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
    let found = given.notebook.clone().or_else(|| variable(VARIABLE).map(PathBuf::from));
    found.or_else(|| usual(variable("XDG_DATA_HOME"), variable("HOME"))).ok_or_else(|| {
        Failure::Usage("where is the notebook? Name a file with --notebook: there is no home folder".into())
    })
}

/// The user's own, among the user's data.
fn usual(data: Option<OsString>, home: Option<OsString>) -> Option<PathBuf> {
    Some(disk::own_folder(data, home, ".local/share")?.join("notebook.sqlite"))
}

/// What plans a practice by the notebook; nothing where there is no place for one.
pub(super) fn known_from(given: &NotebookArg) -> Option<KnownFrom> {
    find(given).ok().map(|notebook| KnownFrom { notebook, today: LocalTime::now().day })
}

/// Opens the notebook to write into it, and makes it if there is none.
pub(super) fn open(given: &NotebookArg, ui: &mut Ui) -> Result<Notebook, Failure> {
    let path = find(given)?;
    let notebook = Notebook::open(&path, OpenFor::Writing).map_err(failed)?;
    if notebook.made() {
        ui.message(format!("a new notebook: {}\n", path.shown()));
    }
    Ok(notebook)
}

/// Opens a notebook that is there, for what makes no sense with an empty one.
pub(super) fn existing(given: &NotebookArg, purpose: OpenFor) -> Result<Notebook, Failure> {
    let path = find(given)?;
    let found = Notebook::open_existing(&path, purpose).map_err(failed)?;
    found.ok_or_else(|| {
        let path = path.shown();
        Failure::World(format!(
            "there is no notebook {path} yet: `lengthwise log SCRIPT` begins one, --notebook names another"
        ))
    })
}

/// What is wrong with the notebook, as the end of a command.
pub(super) fn failed(fault: NotebookFault) -> Failure {
    Failure::World(fault.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_notebook_lies_among_the_users_data() {
        let home = || Some(OsString::from("/home/ida"));
        let path = |text: &str| Some(PathBuf::from(text));
        assert_eq!(usual(Some("/d".into()), home()), path("/d/lengthwise/notebook.sqlite"));
        assert_eq!(usual(Some("d".into()), home()), path("/home/ida/.local/share/lengthwise/notebook.sqlite"));
        assert_eq!(usual(None, None), None);
    }
}
