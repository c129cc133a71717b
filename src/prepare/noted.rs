//! A swimmer of the notebook, as their counts make them.

use super::request::KnownFrom;
use super::text::Unreadable;
use crate::diag::{Code, Diagnostic};
use crate::notebook::entry::NotedSwimmer;
use crate::notebook::known;
use crate::notebook::{Notebook, OpenFor};
use crate::swimmer::Swimmer;
use crate::units::swim::PoolLength;
use std::io;

/// Who swims, and what is wrong with that.
pub(super) type KnownOrNot = (Option<Swimmer>, Vec<Diagnostic>);

/// The swimmer of that name.
///
/// # Errors
/// Where the notebook cannot be read.
pub(super) fn named(from: Option<&KnownFrom>, name: &str, pool: PoolLength) -> Result<KnownOrNot, Unreadable> {
    let unknown = |hint: String| {
        let message = format!("there is no file `{name}`, and the notebook knows no swimmer of that name");
        Ok((None, vec![Diagnostic::whole(Code::UnknownName, message).hint(hint)]))
    };
    let Some((from, notebook)) = open(from)? else {
        return unknown(
            "--swimmer takes a profile, or a time of 100 such as 1:50; `lengthwise log` begins a notebook".into(),
        );
    };
    let all = notebook.swimmers().map_err(|fault| unreadable(from, &fault))?;
    match all.iter().find(|noted| noted.is_called(name)) {
        Some(noted) => Ok((Some(of(from, &notebook, noted, pool)?), Vec::new())),
        None => {
            let names: Vec<&str> = all.iter().map(|noted| noted.name.as_str()).collect();
            unknown(format!("it knows {}", names.join(", ")))
        }
    }
}

/// The notebook's only swimmer, where nobody is named.
///
/// # Errors
/// Where there is a notebook that cannot be read.
pub(super) fn only(from: Option<&KnownFrom>, pool: PoolLength) -> Result<Option<Swimmer>, Unreadable> {
    let Some((from, notebook)) = open(from)? else { return Ok(None) };
    let all = notebook.swimmers().map_err(|fault| unreadable(from, &fault))?;
    match &all[..] {
        [noted] => of(from, &notebook, noted, pool).map(Some),
        _ => Ok(None),
    }
}

fn open(from: Option<&KnownFrom>) -> Result<Option<(&KnownFrom, Notebook)>, Unreadable> {
    let Some(from) = from else { return Ok(None) };
    let notebook = Notebook::open_existing(&from.notebook, OpenFor::Reading);
    Ok(notebook.map_err(|fault| unreadable(from, &fault))?.map(|notebook| (from, notebook)))
}

fn of(from: &KnownFrom, notebook: &Notebook, noted: &NotedSwimmer, pool: PoolLength) -> Result<Swimmer, Unreadable> {
    known::swimmer(notebook, noted, pool, from.today).map_err(|fault| unreadable(from, &fault))
}

fn unreadable(from: &KnownFrom, fault: &crate::notebook::NotebookFault) -> Unreadable {
    Unreadable { path: from.notebook.clone(), source: io::Error::other(fault.to_string()) }
}
