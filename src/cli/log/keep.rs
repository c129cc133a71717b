//! `log SCRIPT`: a practice into the notebook, by questions or by options, or from the record of a live session.

use super::kept::line_of;
use super::lane::{self, LaneTaken};
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
use crate::diag::shown::{Shown, ShownPath, printable};
use crate::notebook::entry::LoggedPractice;
use crate::notebook::outline::Outline;
use crate::notebook::place::counted;
use crate::notebook::questions::IN_PAIN;
use crate::notebook::{KeptPractice, Notebook, OpenFor};
use crate::units::calendar::Day;
use serde_json::json;
use std::io::{IsTerminal, stdin};
use std::path::Path;

/// Runs the command.
pub(super) fn run(args: &Keep, ui: &mut Ui) -> Result<(), Failure> {
    let Some(path) = &args.practice else { return Err(Failure::Usage("keep what? Name a SCRIPT".into())) };
    let now = LocalTime::now();
    let day = day(args.day, now)?;
    let asks = stdin().is_terminal() && ui.is_watched() && !args.json && !answers::are_given(&args.answers);
    let session = if is_record(path) { Some(SessionRead::read(path)?) } else { None };
    if let Some(session) = session.as_ref().filter(|session| session.head.lane.is_some()) {
        return of_lane(args, session, (now, day, asks), ui);
    }
    if args.lane.is_some() {
        return Err(Failure::Usage("--lane belongs to the record of a lane's session (.jsonl): leave it out".into()));
    }
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
    drop(there);
    keep_one(outline, args, (now, asks), ui)
}

/// Asks about a practice what there is to ask, and keeps it.
fn keep_one(outline: Outline, args: &Keep, (now, asks): (LocalTime, bool), ui: &mut Ui) -> Result<(), Failure> {
    let said = if asks {
        ask::ask(&outline, answers::source(&args.answers), ui)?
    } else {
        answers::read(&args.answers, &outline)?
    };
    let hurts = !asks && said.pain.as_deref().is_some_and(|pain| !pain.is_empty());
    let mut practice = outline.practice;
    said.apply(&mut practice).map_err(|wrong| Failure::Usage(format!("nothing was kept: {wrong}")))?;
    let what = format!("kept {}", line_of(&practice));
    let kept = keep(&mut open(&args.notebook, ui)?, now, &what, vec![practice])?;
    for kept in &kept {
        tell(kept, args.json, ui)?;
    }
    if hurts {
        ui.message(Shown::heading(IN_PAIN) + "\n");
    }
    Ok(())
}

/// Keeps what a lane's record says of each swimmer; nobody is asked, since each has answers of their own.
fn of_lane(
    args: &Keep,
    session: &SessionRead,
    (now, day, asks): (LocalTime, Option<Day>, bool),
    ui: &mut Ui,
) -> Result<(), Failure> {
    let Some(head) = &session.head.lane else { return Ok(()) };
    if args.swimmer.is_none() && answers::are_given(&args.answers) {
        let why = "what is said of a practice is one swimmer's, and this record is a lane's: name one with --swimmer, \
                   or say it later with `lengthwise log edit`";
        return Err(Failure::Usage(why.into()));
    }
    let there = Notebook::open_existing(&find(&args.notebook)?, OpenFor::Reading).map_err(failed)?;
    let LaneTaken { mut outlines, before, sat_out, new } =
        lane::take((session, head), args, (there.as_ref(), day), ui)?;
    drop(there);
    if !new.is_empty() {
        let new = printable(&new.join(", ")).into_owned();
        ui.message(format!("new in this notebook: {new}; if that is a slip, `lengthwise log undo` takes it back\n"));
    }
    if args.swimmer.is_some()
        && let Some(outline) = outlines.pop()
    {
        return keep_one(outline, args, (now, asks), ui);
    }
    let practices: Vec<LoggedPractice> = outlines.into_iter().map(|outline| outline.practice).collect();
    let count = counted(practices.len(), "swimmer");
    let lane = printable(&head.name);
    let of = |first: &LoggedPractice| format!("{} of {count} in lane {lane}, {}", printable(&first.title), first.day);
    let what = format!("kept {}", practices.first().map(of).unwrap_or_default());
    let kept = keep(&mut open(&args.notebook, ui)?, now, &what, practices)?;
    if args.json {
        let practices: Vec<_> = kept.iter().map(record::practice).collect();
        return Ok(
            ui.result(Shown::json(&json!({ "practices": practices, "kept_before": before, "sat_out": sat_out })))?
        );
    }
    for (id, practice) in &kept {
        let heading = Shown::heading(&format!("practice {}", id.number()));
        ui.result(heading + format!(": {}: {}\n", line_of(practice), brief(practice)))?;
    }
    for (names, what) in [(before, "kept before"), (sat_out, "sat out the whole session, nothing kept")] {
        if !names.is_empty() {
            ui.message(format!("{}: {what}\n", printable(&names.join(", "))));
        }
    }
    let first = kept.first().map_or(0, |(id, _)| id.number());
    ui.message(format!(
        "`lengthwise log undo` takes all of it back, `lengthwise log edit {first}` adds what its swimmer says\n"
    ));
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

fn keep(
    notebook: &mut Notebook,
    now: LocalTime,
    what: &str,
    practices: Vec<LoggedPractice>,
) -> Result<Vec<KeptPractice>, Failure> {
    let ids = notebook.add(&now.note(), what, &practices).map_err(failed)?;
    Ok(ids.into_iter().zip(practices).collect())
}

/// Says what was kept and how it is taken back.
fn tell(kept: &KeptPractice, as_json: bool, ui: &mut Ui) -> Result<(), Failure> {
    if as_json {
        return Ok(ui.result(Shown::json(&record::practice(kept)))?);
    }
    let (id, practice) = kept;
    let (number, brief) = (id.number(), brief(practice));
    ui.result(Shown::heading(&format!("practice {number}")) + format!(": {}\n{brief}\n", line_of(practice)))?;
    ui.message(format!("`lengthwise log undo` takes it back, `lengthwise log show {number}` shows it\n"));
    Ok(())
}

/// Whether a path names the record of a session.
fn is_record(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("jsonl"))
}
