//! `pack`: from a command to the file that runs it.

mod bundle;
mod check;
mod list;
mod new;
mod open;
mod say;
mod sheet;
pub(super) mod shelf;
mod show;
mod speak;

use super::args::{Pack, PackCommand};
use super::failure::Failure;
use super::ui::Ui;

/// Runs the command.
pub fn run(args: &Pack, ui: &mut Ui) -> Result<(), Failure> {
    match &args.command {
        PackCommand::New(new) => new::run(new, ui),
        PackCommand::List(list) => list::run(list, ui),
        PackCommand::Show(show) => show::run(show, ui),
        PackCommand::Check(check) => check::run(check, ui),
        PackCommand::Sheet(sheet) => sheet::run(sheet, ui),
        PackCommand::Speak(speak) => speak::run(speak, ui),
        PackCommand::Say(say) => say::run(say, ui),
        PackCommand::Bundle(bundle) => bundle::run(bundle, ui),
        PackCommand::Open(open) => open::run(open, ui),
    }
}
