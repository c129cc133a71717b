//! `pack`: from a command to the file that runs it.

mod bundle;
mod check;
mod list;
mod new;
mod open;
mod say;
mod show;

use super::Failure;
use super::args::{Pack, PackCommand, Shelves};
use super::ui::Ui;
use crate::pack::load::user_folder;
use crate::pack::shelf::{OpenedPack, Shelf};
use unicode_width::UnicodeWidthStr;

/// Runs the command.
pub fn run(args: &Pack, ui: &mut Ui) -> Result<(), Failure> {
    match &args.command {
        PackCommand::New(new) => new::run(new, ui),
        PackCommand::List(list) => list::run(list, ui),
        PackCommand::Show(show) => show::run(show, ui),
        PackCommand::Check(check) => check::run(check, ui),
        PackCommand::Say(say) => say::run(say, ui),
        PackCommand::Bundle(bundle) => bundle::run(bundle, ui),
        PackCommand::Open(open) => open::run(open, ui),
    }
}

/// Where packs stand.
pub(super) fn shelf(args: &Shelves) -> Shelf {
    Shelf { extra: args.packs.clone(), user: user_folder(std::env::var_os("XDG_DATA_HOME"), std::env::var_os("HOME")) }
}

/// A pack by its folder or its name.
fn open(shelf: &Shelf, pack: &str) -> Result<OpenedPack, Failure> {
    shelf.open(pack).map_err(|error| Failure::Usage(error.to_string()))
}

/// Rows with their cells below each other, the last one as long as it is.
fn columns<const N: usize>(rows: &[[String; N]]) -> Vec<String> {
    let mut widths = [0; N];
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell.width());
        }
    }
    let line = |row: &[String; N]| {
        let mut line = String::new();
        for (cell, width) in row.iter().zip(widths) {
            line.push_str(cell);
            line.push_str(&" ".repeat(width.saturating_sub(cell.width()) + 2));
        }
        line.trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}
