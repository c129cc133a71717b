//! `log SCRIPT`: a practice into the notebook, by questions or by options, or from the record of a live session.

use super::planned::LoggedScript;
use super::session::SessionRead;
use super::show::brief;
use super::squad::SheetSwimmer;
use super::{answers, ask, record, who};
use crate::cli::args::{Keep, WrittenDay};
use crate::cli::failure::Failure;
use crate::cli::notebook::{failed, find, open};
use crate::cli::today::LocalTime;
use crate::cli::ui::Ui;
use crate::diag::shown::{Shown, ShownPath};
use crate::notebook::entry::LoggedPractice;
use crate::notebook::questions::IN_PAIN;
use crate::notebook::{Notebook, OpenFor, PracticeId};
use crate::units::calendar::Day;
use std::io::{IsTerminal, stdin};
use std::path::Path;

/// Runs the command.
pub(super) fn run(args: &Keep, ui: &mut Ui) -> Result<(), Failure> {
    let Some(path) = &args.practice else { return Err(Failure::Usage("keep what? Name a SCRIPT".into())) };
    let now = LocalTime::now();
    let day = day(args.day, now)?;
    let asks = stdin().is_terminal() && ui.is_watched() && !args.json && !answers::are_given(&args.answers);
    let session = if is_record(path) { Some(SessionRead::read(path)?) } else { None };
    let script = match (&session, &args.script) {
        (None, None) => Some(LoggedScript::open(path, &args.packs, ui)?),
        (Some(_), Some(script)) => Some(LoggedScript::open(script, &args.packs, ui)?),
        (Some(_), None) => None,
        (None, Some(_)) => {
            return Err(Failure::Usage("--script belongs to the record of a session (.jsonl); name one SCRIPT".into()));
        }
    };
    // Made only when there is something to keep: whoever stops before has nothing on the disk.
    let there = Notebook::open_existing(&find(&args.notebook)?, OpenFor::Reading).map_err(failed)?;
    let swimmers = there.as_ref().map_or(Ok(Vec::new()), Notebook::swimmers).map_err(failed)?;
    let by_record = session.as_ref().and_then(|session| session.head.swimmer.clone());
    let swimmer = {
        let given = args.swimmer.as_deref().or(by_record.as_deref());
        who::whose(&swimmers, (given, args.new_swimmer), asks, ui)?
    };
    let whom = SheetSwimmer::of_notebook(swimmer.clone());
    let outline = match (session, script) {
        (None, Some(mut script)) => script.outline(&whom, day.unwrap_or(now.day), ui)?.0,
        (Some(session), script) => {
            let known = there.as_ref().map(|there| there.has_record(&swimmer.name, &session.sha256));
            if known.transpose().map_err(failed)?.unwrap_or(false) {
                let path = path.shown();
                let why = format!("{path} was kept for {} before: `lengthwise log list` shows it", swimmer.name);
                return Err(Failure::Usage(why));
            }
            session.outline(script, &whom, day, (&args.packs, there.as_ref()), ui)?
        }
        (None, None) => return Err(Failure::Usage("keep what? Name a SCRIPT".into())),
    };
    let said = if asks {
        ask::ask(&outline, answers::source(&args.answers), ui)?
    } else {
        answers::read(&args.answers, &outline)?
    };
    let hurts = !asks && said.pain.as_deref().is_some_and(|pain| !pain.is_empty());
    let mut practice = outline.practice;
    said.apply(&mut practice).map_err(|wrong| Failure::Usage(format!("nothing was kept: {wrong}")))?;
    drop(there);
    let id = keep(&mut open(&args.notebook, ui)?, now, &practice)?;
    tell(id, practice, args.json, ui)?;
    if hurts {
        ui.message(Shown::heading(IN_PAIN) + "\n");
    }
    Ok(())
}

/// The day that is meant, where one is.
pub(super) fn day(given: Option<WrittenDay>, now: LocalTime) -> Result<Option<Day>, Failure> {
    match given {
        None => Ok(None),
        Some(WrittenDay::Today) => Ok(Some(now.day)),
        Some(WrittenDay::Yesterday) => Ok(Some(now.day.plus_days(-1).unwrap_or(now.day))),
        Some(WrittenDay::Day(day)) if day > now.day => {
            Err(Failure::Usage(format!("--day {day} is still to come: today is {}", now.day)))
        }
        Some(WrittenDay::Day(day)) => Ok(Some(day)),
    }
}

fn keep(notebook: &mut Notebook, now: LocalTime, practice: &LoggedPractice) -> Result<PracticeId, Failure> {
    let what = format!("kept {}", super::kept::line_of(practice));
    let ids = notebook.add(&now.note(), &what, std::slice::from_ref(practice)).map_err(failed)?;
    ids.first().copied().ok_or_else(|| Failure::World("the notebook gave no number".into()))
}

/// Says what was kept and how it is taken back.
fn tell(id: PracticeId, practice: LoggedPractice, as_json: bool, ui: &mut Ui) -> Result<(), Failure> {
    let (number, brief) = (id.number(), brief(&practice));
    if as_json {
        return Ok(ui.result(Shown::json(&record::practice(&(id, practice))))?);
    }
    ui.result(
        Shown::heading(&format!("practice {number}")) + format!(": {}\n{brief}\n", super::kept::line_of(&practice)),
    )?;
    ui.message(format!("`lengthwise log undo` takes it back, `lengthwise log show {number}` shows it\n"));
    Ok(())
}

/// Whether a path names the record of a session.
fn is_record(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("jsonl"))
}
