//! `log edit`: what was said of a practice, mended or completed. What is not said again stays.

use super::kept::{kept, line_of};
use super::show::brief;
use super::{answers, ask, keep, record};
use crate::cli::args::EditPractice;
use crate::cli::failure::Failure;
use crate::cli::notebook::{existing, failed};
use crate::cli::today::LocalTime;
use crate::cli::ui::Ui;
use crate::diag::shown::Shown;
use crate::notebook::outline::Outline;
use crate::notebook::{ChangedMeanwhile, OpenFor};
use std::io::{IsTerminal, stdin};

/// Two were at it at once. Nothing is merged: whoever comes later looks first.
fn changed_meanwhile(_: ChangedMeanwhile) -> Failure {
    Failure::World(
        "nothing was changed: the practice was changed from elsewhere meanwhile; look at it with `lengthwise log show`, then \
         edit again"
            .into(),
    )
}

/// Runs the command.
pub(super) fn run(args: &EditPractice, ui: &mut Ui) -> Result<(), Failure> {
    let now = LocalTime::now();
    let day = keep::day(args.day, now)?;
    let mut notebook = existing(&args.notebook, OpenFor::Writing)?;
    let (id, before) = kept(&notebook, args.number)?;
    let given = answers::are_given(&args.answers) || day.is_some();
    let asks = !given && !args.json && stdin().is_terminal() && ui.is_watched();
    if !given && !asks {
        return Err(Failure::Usage("what is to change? Say it by options, such as --count 4.8=19".into()));
    }
    let outline = Outline::of_kept(before.clone());
    let said = if asks {
        ask::ask(&outline, answers::source(&args.answers), ui)?
    } else {
        answers::read(&args.answers, &outline)?
    };
    let mut practice = before.clone();
    practice.day = day.unwrap_or(practice.day);
    said.apply(&mut practice).map_err(|wrong| Failure::Usage(format!("nothing was changed: {wrong}")))?;
    let is_changed = practice != before;
    if is_changed {
        let what = format!("changed {}", line_of(&before));
        notebook.replace(&now.note(), &what, (id, &before), &practice).map_err(failed)?.map_err(changed_meanwhile)?;
    } else {
        ui.message("nothing was changed\n");
    }
    if args.json {
        return Ok(ui.result(Shown::json(&record::practice(&(id, practice))))?);
    }
    let line = line_of(&practice);
    ui.result(Shown::heading(&format!("practice {}", id.number())) + format!(": {line}\n{}\n", brief(&practice)))?;
    if is_changed {
        ui.message("`lengthwise log undo` takes it back\n");
    }
    Ok(())
}
