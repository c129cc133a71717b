//! `log`: what was swum, into the notebook and out of it.

mod answers;
mod ask;
mod change;
mod keep;
mod kept;
mod list;
mod planned;
mod record;
mod session;
mod show;
mod who;

use super::args::{Log, LogCommand};
use super::failure::Failure;
use super::ui::Ui;

/// Runs the command.
pub fn run(args: &Log, ui: &mut Ui) -> Result<(), Failure> {
    match &args.command {
        None => keep::run(&args.keep, ui),
        Some(LogCommand::List(list)) => list::run(list, ui),
        Some(LogCommand::Show(show)) => show::run(show, ui),
        Some(LogCommand::Remove(remove)) => change::remove(remove, ui),
        Some(LogCommand::Undo(undo)) => change::undo(undo, ui),
        Some(LogCommand::Backup(backup)) => change::backup(backup, ui),
        Some(LogCommand::Swimmer(swimmer)) => who::run(swimmer, ui),
    }
}
