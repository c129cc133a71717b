//! `log`: what was swum, into the notebook and out of it.

mod answers;
mod ask;
mod change;
mod edit;
mod keep;
mod kept;
mod lane;
mod list;
mod planned;
mod record;
mod session;
mod sheet;
mod show;
mod squad;
mod tables;
mod who;

pub(super) use planned::LoggedScript;
pub(super) use squad::SheetSwimmer;
pub(super) use who::whose;

use super::args::{Log, LogCommand};
use super::failure::Failure;
use super::ui::Ui;

/// Runs the command.
pub fn run(args: &Log, ui: &mut Ui) -> Result<(), Failure> {
    match &args.command {
        None => keep::run(&args.keep, ui),
        Some(LogCommand::List(list)) => list::run(list, ui),
        Some(LogCommand::Show(show)) => show::run(show, ui),
        Some(LogCommand::Edit(edit)) => edit::run(edit, ui),
        Some(LogCommand::Export(export)) => tables::export(export, ui),
        Some(LogCommand::Import(import)) => tables::import(import, ui),
        Some(LogCommand::Remove(remove)) => change::remove(remove, ui),
        Some(LogCommand::Undo(undo)) => change::undo(undo, ui),
        Some(LogCommand::Backup(backup)) => change::backup(backup, ui),
        Some(LogCommand::Sheet(make)) => sheet::make(make, ui),
        Some(LogCommand::Take(take)) => sheet::take(take, ui),
        Some(LogCommand::Swimmer(swimmer)) => who::run(swimmer, ui),
    }
}
