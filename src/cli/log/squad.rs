//! Swimmers of a sheet: of a roster, or of the notebook.

use crate::cli::failure::Failure;
use crate::cli::ui::Ui;
use crate::diag::{Diagnostic, Sources, Spanned, has_errors};
use crate::notebook::entry::{NotedSwimmer, is_same_name};
use crate::prepare::text;
use crate::swimmer::roster::{self, KnownSwimmer, RosterForm};
use crate::swimmer::{Swimmer, profile};
use std::path::Path;

/// A swimmer with what is known of them.
#[derive(Clone, Debug)]
pub(in crate::cli) struct SheetSwimmer {
    /// The name.
    pub name: String,
    /// How they swim.
    pub known: SheetKnown,
    /// Ids of phrases of their own.
    pub focus: Vec<Spanned<String>>,
}

/// How a swimmer of a sheet is known.
#[derive(Clone, Debug)]
pub(in crate::cli) enum SheetKnown {
    /// By a profile's text, or not at all.
    Noted(Option<String>),
    /// By a roster.
    Model(Box<Swimmer>),
}

impl SheetSwimmer {
    /// One of the notebook.
    pub(in crate::cli) fn of_notebook(swimmer: NotedSwimmer) -> Self {
        Self { name: swimmer.name, known: SheetKnown::Noted(swimmer.profile), focus: Vec::new() }
    }

    /// One by name, of whom the notebook may know more.
    pub(super) fn noted(known: &[NotedSwimmer], name: String) -> Self {
        let found = known.iter().find(|known| known.is_called(&name)).cloned();
        Self::of_notebook(found.unwrap_or(NotedSwimmer { name, profile: None }))
    }

    /// One of several by name; somebody of whom nothing is known where there is none.
    pub(super) fn called(all: &[Self], name: &str) -> Self {
        let found = all.iter().find(|swimmer| is_same_name(&swimmer.name, name)).cloned();
        found.unwrap_or_else(|| Self { name: name.to_owned(), known: SheetKnown::Noted(None), focus: Vec::new() })
    }
}

/// The swimmers of a roster. What is wrong with one of them is told, and nothing is made.
pub(super) fn read(path: &Path, ui: &mut Ui) -> Result<Vec<SheetSwimmer>, Failure> {
    let text = text::read(path).map_err(|error| Failure::world(&error))?;
    let extension = path.extension().unwrap_or_default().to_string_lossy().into_owned();
    let form = RosterForm::of(&extension, &text);
    let mut sources = Sources::new();
    let id = sources.add(path.to_string_lossy().into_owned(), text);
    let (found, mut problems) = roster::parse(id, &sources, form);
    let beside = path.parent().unwrap_or(Path::new(""));
    let mut swimmers = Vec::new();
    for member in found.map_or_else(Vec::new, |roster| roster.members) {
        problems.extend(member.problems);
        let known = match member.known {
            KnownSwimmer::Here(swimmer) => SheetKnown::Model(swimmer),
            KnownSwimmer::Profile(file) => {
                let file = beside.join(&file.value);
                let text = text::read(&file).map_err(|error| Failure::world(&error))?;
                let source = sources.add(file.to_string_lossy().into_owned(), text.as_str());
                let (_, found) = profile::parse(source, &sources);
                problems.extend(found);
                SheetKnown::Noted(Some(text))
            }
            KnownSwimmer::Noted => SheetKnown::Noted(None),
            KnownSwimmer::Unreadable => continue,
        };
        swimmers.push(SheetSwimmer { name: member.name, known, focus: member.focus });
    }
    if has_errors(&problems) {
        let errors: Vec<Diagnostic> = problems;
        ui.problems(&errors, &sources);
        return Err(Failure::Shown);
    }
    Ok(swimmers)
}
