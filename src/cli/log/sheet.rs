//! `log sheet` and `log take`: a practice of several swimmers, by a table that they fill in.

use super::planned::LoggedScript;
use super::squad::{self, SheetSwimmer};
use super::tables::{take_in, told};
use super::who;
use crate::cli::args::{MakeSheet, NotebookArg, TakeSheet, WrittenDay};
use crate::cli::failure::Failure;
use crate::cli::notebook::{failed, find, open};
use crate::cli::today::LocalTime;
use crate::cli::ui::Ui;
use crate::diag::shown::{Shown, ShownPath, printable};
use crate::disk;
use crate::notebook::entry::{NotedSwimmer, ScriptCopy, is_same_name};
use crate::notebook::exchange::csv::WrongCell;
use crate::notebook::exchange::read::Exchanged;
use crate::notebook::hash::sha256;
use crate::notebook::near::near;
use crate::notebook::outline::Outline;
use crate::notebook::place::counted;
use crate::notebook::questions::IN_PAIN;
use crate::notebook::sheet::{self, Sheet, SheetRow};
use crate::notebook::{Notebook, OpenFor};
use crate::sink::file::{FileError, Fresh, Replace};
use std::collections::BTreeSet;
use std::io::Write;
use std::path::PathBuf;

/// The largest sheet, in bytes.
const LARGEST: u64 = 16 << 20;

/// Writes a sheet.
pub(super) fn make(args: &MakeSheet, ui: &mut Ui) -> Result<(), Failure> {
    let now = LocalTime::now();
    let day = match args.day {
        Some(WrittenDay::Day(day)) => day,
        Some(WrittenDay::Yesterday) => now.day.plus_days(-1).unwrap_or(now.day),
        Some(WrittenDay::Today) | None => now.day,
    };
    let mut script = LoggedScript::open(&args.script, &args.packs, ui)?;
    let mut known = Vec::new();
    let swimmers = match &args.roster {
        Some(roster) => squad::read(roster, ui)?,
        None => {
            known = noted(&args.notebook)?;
            let of = |name: &String| who::named(name).map(|name| SheetSwimmer::noted(&known, name));
            args.swimmer.iter().map(of).collect::<Result<_, _>>()?
        }
    };
    let planned: Vec<Outline> = swimmers
        .iter()
        .map(|swimmer| script.outline(swimmer, day, ui).map(|(outline, _)| outline))
        .collect::<Result<_, _>>()?;
    let text = sheet::write(&planned, &args.script.to_string_lossy(), &sha256(script.text().as_bytes()));
    let output = &args.output;
    let world = |error: FileError| match error {
        FileError::Exists { path } => {
            Failure::World(format!("{} exists already and stays as it is; choose another name", path.shown()))
        }
        other => Failure::world(&other),
    };
    let mut file = Fresh::create_private(output, Replace::Never).map_err(world)?;
    let written = file.write_all(text.as_bytes()).and_then(|()| file.flush());
    written.map_err(|error| Failure::World(format!("cannot write {}: {error}", output.shown())))?;
    file.commit().map_err(world)?;
    let output = output.shown();
    // `log take` takes nobody new unasked, where it knows anybody: whoever is new here is told now.
    let new = swimmers
        .iter()
        .filter(|swimmer| !known.is_empty() && !known.iter().any(|known| known.is_called(&swimmer.name)));
    let new: Vec<&str> = new.map(|swimmer| swimmer.name.as_str()).collect();
    let (told, option) = if new.is_empty() {
        (String::new(), "")
    } else {
        (format!("; new to the notebook: {}", printable(&new.join(", "))), " --new-swimmer")
    };
    ui.message(format!(
        "{output}: a row for each of {}{told}; fill it in, then `lengthwise log take {output}{option}`\n",
        counted(planned.len(), "swimmer")
    ));
    Ok(())
}

/// The notebook's own copy of a script.
fn copy(given: &NotebookArg, sha256: &str) -> Result<Option<ScriptCopy>, Failure> {
    let there = Notebook::open_existing(&find(given)?, OpenFor::Reading).map_err(failed)?;
    there.map_or(Ok(None), |there| there.script(sha256)).map_err(failed)
}

/// The rows of swimmers who are not known.
fn strangers<'r, 's>(rows: &'r [SheetRow<'s>], known: &[SheetSwimmer]) -> Vec<&'r SheetRow<'s>> {
    rows.iter().filter(|row| !known.iter().any(|known| is_same_name(&known.name, &row.swimmer))).collect()
}

/// What is wrong with a name that nobody has.
fn stranger(name: &str, known: &[SheetSwimmer]) -> String {
    let meant = near(name, known.iter().map(|known| known.name.as_str()));
    let meant = meant.map_or_else(String::new, |meant| format!("; did you mean {meant}?"));
    format!("nobody called {name} is known{meant}")
}

/// The swimmers of the notebook, if there is one.
fn noted(given: &NotebookArg) -> Result<Vec<NotedSwimmer>, Failure> {
    let there = Notebook::open_existing(&find(given)?, OpenFor::Reading).map_err(failed)?;
    there.as_ref().map_or(Ok(Vec::new()), Notebook::swimmers).map_err(failed)
}

/// Takes a sheet that was filled in.
pub(super) fn take(args: &TakeSheet, ui: &mut Ui) -> Result<(), Failure> {
    let file = args.sheet.shown();
    let fail = |why: String| Failure::World(format!("cannot read {file}: {why}"));
    let bytes = disk::read(&args.sheet, LARGEST).map_err(|error| fail(error.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|_| fail("it is not UTF-8 text: save it as \"CSV UTF-8\"".into()))?;
    let sheet = Sheet::read(&file, &text).map_err(|wrong| told(&wrong, "taken", ui))?;
    let name = args.script.clone().unwrap_or_else(|| PathBuf::from(&sheet.script));
    let opened = LoggedScript::open(&name, &args.packs, ui);
    let is_it = |script: &LoggedScript| sha256(script.text().as_bytes()) == sheet.sha256;
    let mut script = match opened {
        Ok(script) if is_it(&script) => script,
        // It was changed or has gone since: the notebook may have it as it was.
        other => match copy(&args.notebook, &sheet.sha256)?.and_then(|copy| LoggedScript::of_copy(copy, &args.packs)) {
            Some(kept) => kept,
            None => other?,
        },
    };
    if !is_it(&script) {
        let (name, file) = (name.shown(), printable(&file).into_owned());
        let why = format!("{name} is not as it was when {file} was made: name that one with --script");
        return Err(Failure::Usage(why));
    }
    // The roster goes first: by it the sheet was planned.
    let mut known = args.roster.as_ref().map_or(Ok(Vec::new()), |roster| squad::read(roster, ui))?;
    let in_notebook: Vec<SheetSwimmer> = noted(&args.notebook)?.into_iter().map(SheetSwimmer::of_notebook).collect();
    known.extend(in_notebook.iter().cloned());
    let (rows, empty) = sheet.rows().map_err(|wrong| told(&wrong, "taken", ui))?;
    let new = strangers(&rows, &known);
    if !new.is_empty() && !known.is_empty() && !args.new_swimmer {
        let wrong: Vec<WrongCell> =
            new.iter().map(|row| row.wrong("swimmer", stranger(&row.swimmer, &known))).collect();
        let failure = told(&wrong, "taken", ui);
        ui.message("mend the names, or take them as new swimmers with --new-swimmer\n");
        return Err(failure);
    }
    let today = LocalTime::now().day;
    let (mut wrong, mut found, mut hurts): (Vec<WrongCell>, _, _) = (Vec::new(), Exchanged::default(), Vec::new());
    for row in &rows {
        let swimmer = SheetSwimmer::called(&known, &row.swimmer);
        let (outline, _) = script.outline(&swimmer, row.day, ui)?;
        let answers = match sheet.answers(row, &outline) {
            Ok(answers) if row.day <= today => answers,
            Ok(_) => {
                wrong.push(row.wrong("day", format!("{} is still to come: today is {today}", row.day)));
                continue;
            }
            Err(more) => {
                wrong.extend(more);
                continue;
            }
        };
        if answers.pain.as_deref().is_some_and(|pain| !pain.is_empty()) {
            hurts.push(row.swimmer.clone());
        }
        let mut practice = outline.practice;
        // That it fits was seen when the row was read.
        answers.apply(&mut practice).map_err(|why| Failure::Usage(why.to_string()))?;
        found.practices.push(practice);
    }
    if !wrong.is_empty() {
        return Err(told(&wrong, "taken", ui));
    }
    let new: BTreeSet<&str> = strangers(&rows, &in_notebook).iter().map(|row| row.swimmer.as_str()).collect();
    let mut notebook = open(&args.notebook, ui)?;
    let what = format!("took {} from {file}", counted(found.practices.len(), "practice"));
    take_in(&mut notebook, &found, &what, args.replace, args.json, ui)?;
    if !new.is_empty() {
        let names: Vec<_> = new.into_iter().map(printable).collect();
        ui.message(format!("new in this notebook: {}\n", names.join(", ")));
    }
    if empty > 0 {
        ui.message(format!("{} not filled in\n", counted(empty, "row")));
    }
    if !hurts.is_empty() {
        ui.message(Shown::heading(&format!("{}: {IN_PAIN}", printable(&hurts.join(", ")))) + "\n");
    }
    Ok(())
}
