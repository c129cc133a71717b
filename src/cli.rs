//! The command line: from arguments to an exit code. No logic of the trade.

mod apart;
pub mod args;
mod ask;
mod check;
mod columns;
mod devices;
mod dry_run;
mod explain;
mod failure;
mod hearing;
mod lane;
mod leftovers;
mod lines;
mod log;
mod man;
mod new;
mod new_profile;
mod next;
mod notebook;
mod options;
mod pack;
mod page;
mod page_file;
mod play;
mod playable;
mod reading;
mod record;
mod render;
mod request;
mod review;
mod roster;
mod several;
mod summary;
mod table;
mod tap;
mod today;
mod together;
mod tracks;
mod ui;
mod wanted;
mod wrap;

use crate::diag::shown::{Printer, Shown, is_harmful};
#[cfg(feature = "speech")]
use crate::pack::speech::worker;
use args::{Args, Verb, When};
use clap::Parser;
use failure::Failure;
use std::io::ErrorKind;
use std::process::ExitCode;
use ui::Ui;

/// Runs the program with the process's arguments.
pub fn main() -> ExitCode {
    #[cfg(feature = "speech")]
    if let Some(folder) = worker::folder(std::env::args_os()) {
        let said = worker::work(&folder, std::io::stdin().lock(), std::io::stdout().lock());
        return if said.is_ok() { ExitCode::SUCCESS } else { ExitCode::FAILURE };
    }
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            let asked = !error.use_stderr();
            // An error quotes what was typed, and is drawn in colour only where that is harmless.
            let harmful = std::env::args_os().any(|arg| arg.to_string_lossy().contains(is_harmful));
            let plain = || Shown::from(error.render().to_string());
            let printed = if harmful { Printer::messages().put(&plain()) } else { error.print() };
            return match printed {
                // Help that was asked for and cannot be written; a reader that has seen enough is none.
                Err(error) if asked && error.kind() != ErrorKind::BrokenPipe => {
                    Ui::new(When::Auto).error(&format!("cannot write the output: {error}"));
                    ExitCode::from(3)
                }
                _ => ExitCode::from(if asked { 0 } else { 2 }),
            };
        }
    };
    let mut ui = Ui::new(args.color);
    let result = match &args.command {
        Verb::New(new) => new::run(new, &mut ui),
        Verb::Check(check) => check::run(check, &mut ui),
        Verb::Render(render) => render::run(render, &mut ui),
        Verb::Play(play) => play::run(play, &mut ui),
        Verb::Page(args) => page::run(args, &mut ui),
        Verb::Lane(args) => lane::run(args, &mut ui),
        Verb::Record(record) => record::run(record, &mut ui),
        Verb::Tap(tap) => tap::run(tap, &mut ui),
        Verb::Pack(pack) => pack::run(pack, &mut ui),
        Verb::Log(args) => log::run(args, &mut ui),
        Verb::Review(review) => review::run(review, &mut ui),
        Verb::Next(args) => next::run(args, &mut ui),
        Verb::Devices(devices) => devices::run(devices, &mut ui),
        Verb::Man(man) => man::run(man, &mut ui),
        Verb::Completions(shell) => man::completions(shell, &mut ui),
    };
    let result = result.and_then(|()| Ok(ui.flush()?));
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) if ui.pipe_closed() => ExitCode::SUCCESS,
        Err(failure) => {
            let (code, message) = match failure {
                Failure::Shown => (1, None),
                Failure::Usage(message) => (2, Some(message)),
                Failure::World(message) => (3, Some(message)),
                Failure::Interrupted(message) => (130, Some(message)),
            };
            if let Some(message) = message {
                ui.error(&message);
            }
            ExitCode::from(code)
        }
    }
}
