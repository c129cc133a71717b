//! Whose practice it is, and `log swimmer`.

use crate::cli::args::NoteSwimmer;
use crate::cli::ask::ask;
use crate::cli::failure::Failure;
use crate::cli::notebook::{existing, failed, open};
use crate::cli::today::LocalTime;
use crate::cli::ui::Ui;
use crate::diag::shown::{Shown, printable};
use crate::diag::{Sources, has_errors};
use crate::notebook::entry::{LONGEST_NAME, NotedSwimmer, is_name};
use crate::notebook::near::near;
use crate::notebook::{Notebook, OpenFor};
use crate::prepare::text;
use crate::swimmer::profile;
use serde_json::json;
use std::io::{IsTerminal, stdin};

/// So many names are told at most.
const MOST_NAMED: usize = 10;

/// Runs `log swimmer`.
pub(super) fn run(args: &NoteSwimmer, ui: &mut Ui) -> Result<(), Failure> {
    let Some(name) = &args.name else { return list(args, ui) };
    let Some(path) = &args.profile else {
        return Err(Failure::Usage("what of this swimmer? Give a profile with --profile".into()));
    };
    let name = named(name)?;
    let text = text::read(path).map_err(|error| Failure::world(&error))?;
    let mut sources = Sources::new();
    let source = sources.add(path.to_string_lossy().into_owned(), text.as_str());
    let (_, problems) = profile::parse(source, &sources);
    ui.problems(&problems, &sources);
    if has_errors(&problems) {
        return Err(Failure::Shown);
    }
    let mut notebook = open(&args.notebook, ui)?;
    no_slip(&name, &notebook.swimmers().map_err(failed)?, args.new_swimmer)?;
    let what = format!("profile of {name}");
    let swimmer = NotedSwimmer { name: name.clone(), profile: Some(text) };
    notebook.put_swimmer(&LocalTime::now().note(), &what, &swimmer).map_err(failed)?;
    ui.message(format!("kept the {what}; `lengthwise log undo` takes it back\n"));
    Ok(())
}

fn list(args: &NoteSwimmer, ui: &mut Ui) -> Result<(), Failure> {
    let swimmers = existing(&args.notebook, OpenFor::Reading)?.swimmers().map_err(failed)?;
    if args.json {
        let swimmers: Vec<_> =
            swimmers.iter().map(|swimmer| json!({ "name": swimmer.name, "profile": swimmer.profile })).collect();
        return Ok(ui.result(Shown::json(&json!({ "swimmers": swimmers })))?);
    }
    for swimmer in swimmers {
        let profile = if swimmer.profile.is_some() { "" } else { " (no profile)" };
        ui.result(format!("{}{profile}\n", printable(&swimmer.name)))?;
    }
    Ok(())
}

/// A name as the notebook takes it.
pub(super) fn named(name: &str) -> Result<String, Failure> {
    let name = name.trim();
    if is_name(name) {
        return Ok(name.to_owned());
    }
    Err(Failure::Usage(match name.chars().count() {
        0 => "a swimmer needs a name".into(),
        1..=LONGEST_NAME => format!("a name has letters, and no signs that cannot be seen: {}", printable(name)),
        letters => format!("a name of {letters} letters; at most {LONGEST_NAME} are allowed"),
    }))
}

/// A swimmer who is in the notebook.
pub(super) fn known(notebook: &Notebook, name: &str) -> Result<NotedSwimmer, Failure> {
    let swimmers = notebook.swimmers().map_err(failed)?;
    let found = swimmers.iter().find(|swimmer| swimmer.is_called(name.trim())).cloned();
    found.ok_or_else(|| {
        Failure::Usage(format!("nobody called {} is in the notebook: {}", printable(name), names(&swimmers)))
    })
}

/// The known name that a new one may be a slip of the pen for.
pub(super) fn slip<'a>(name: &str, swimmers: &'a [NotedSwimmer]) -> Option<&'a str> {
    if swimmers.iter().any(|swimmer| swimmer.is_called(name)) {
        return None;
    }
    near(name, swimmers.iter().map(|swimmer| swimmer.name.as_str()))
}

/// Refuses a name that is likely a slip, unless it is said to be somebody new.
fn no_slip(name: &str, swimmers: &[NotedSwimmer], is_new: bool) -> Result<(), Failure> {
    match slip(name, swimmers).filter(|_| !is_new) {
        None => Ok(()),
        Some(meant) => Err(Failure::Usage(format!(
            "nobody called {} is in the notebook: did you mean {}? Somebody new is taken with --new-swimmer",
            printable(name),
            printable(meant)
        ))),
    }
}

/// The same for several at once.
pub(super) fn no_slips<'a>(
    names: impl Iterator<Item = &'a str>,
    swimmers: &[NotedSwimmer],
    is_new: bool,
) -> Result<(), Failure> {
    let slips = names
        .filter_map(|name| Some(format!("{} (did you mean {}?)", printable(name), printable(slip(name, swimmers)?))));
    let slips: Vec<String> = slips.collect();
    if slips.is_empty() || is_new {
        return Ok(());
    }
    let slips = slips.join(", ");
    Err(Failure::Usage(format!(
        "nobody of this name is in the notebook: {slips}; somebody new is taken with --new-swimmer"
    )))
}

/// Who swam: who is named, else the only one there is, else who is asked for. A name that is near a known one is refused, or
/// asked for once more, unless it `is_new`.
pub(in crate::cli) fn whose(
    swimmers: &[NotedSwimmer],
    (given, is_new): (Option<&str>, bool),
    may_ask: bool,
    ui: &mut Ui,
) -> Result<NotedSwimmer, Failure> {
    let name = match (given, swimmers) {
        (Some(name), _) => {
            let name = named(name)?;
            no_slip(&name, swimmers, is_new)?;
            name
        }
        (None, [only]) => return Ok(only.clone()),
        (None, _) if may_ask && stdin().is_terminal() => {
            let known = if swimmers.is_empty() { String::new() } else { format!(" ({})", names(swimmers)) };
            let name = named(&ask(ui, &format!("Who swam?{known}"))?)?;
            match slip(&name, swimmers).filter(|_| !is_new) {
                None => name,
                Some(meant) => {
                    let question = format!(
                        "Nobody called {} is in the notebook. Enter for {}, or the name once more for somebody new.",
                        printable(&name),
                        printable(meant)
                    );
                    let again = ask(ui, &question)?;
                    if again.is_empty() { meant.to_owned() } else { named(&again)? }
                }
            }
        }
        (None, []) => {
            return Err(Failure::Usage(
                "who swam? Name the swimmer with --swimmer: the notebook is still empty".into(),
            ));
        }
        (None, several) => {
            return Err(Failure::Usage(format!("who swam? Name the swimmer with --swimmer: {}", names(several))));
        }
    };
    let found = swimmers.iter().find(|swimmer| swimmer.is_called(name.trim())).cloned();
    Ok(found.unwrap_or_else(|| {
        if !swimmers.is_empty() {
            ui.message(format!(
                "{} is new in this notebook; if that is a slip, `lengthwise log undo` takes it back\n",
                printable(&name)
            ));
        }
        NotedSwimmer { name, profile: None }
    }))
}

fn names(swimmers: &[NotedSwimmer]) -> String {
    let mut names: Vec<&str> = swimmers.iter().take(MOST_NAMED).map(|swimmer| swimmer.name.as_str()).collect();
    let more = format!("{} more", swimmers.len().saturating_sub(MOST_NAMED));
    if swimmers.len() > MOST_NAMED {
        names.push(&more);
    }
    if names.is_empty() { "it has no swimmers yet".to_owned() } else { printable(&names.join(", ")).into_owned() }
}
