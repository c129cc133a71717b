//! `play`: a practice live through a device, steered by lines of text, or as a dry run.

use super::args::{AudienceArg, PlayArgs};
use super::dry_run;
use super::failure::Failure;
use super::lines::on_stdin;
use super::playable::playable;
use super::ui::{self, Ui};
use crate::device::{Wish, output};
use crate::display::look::Look;
use crate::display::{self, Screen};
use crate::prepare;
use crate::session::input;
use crate::session::live::{self, Live, NoSession};
use crate::session::record::RecordPlace;
use crossbeam_channel::bounded;
use std::ffi::OsString;
use std::io::{self, IsTerminal};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Lines that may wait to be looked at.
const WAITING: usize = 64;

/// Runs the command.
pub fn run(args: &PlayArgs, ui: &mut Ui) -> Result<(), Failure> {
    if args.input.reading.audience == AudienceArg::Player {
        let message = "tracks for a player are files: `render --player DIR`; play for `headphones` or `speaker`";
        return Err(Failure::Usage(message.to_owned()));
    }
    match (&args.output, args.dry_run || args.replay.is_some()) {
        (_, true) => return dry_run::run(args, ui),
        (Some(_), false) => return Err(Failure::Usage("-o belongs to --dry-run or --replay".to_owned())),
        (None, false) => {}
    }
    ui.alone();
    // The device is looked for while the script is read.
    let wish = Wish { name: args.device.clone(), buffer: args.buffer };
    let finding = output::find(&wish);
    let playable = playable(args, ui)?;
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    let place = place(args);
    let identity = prepare::identity(&args.input.script, &playable.planned().plan.title);
    let variable = |name: &str| std::env::var(name).ok();
    let on_screen = !args.no_screen && io::stdin().is_terminal() && ui.is_watched() && Look::can_place(variable);
    let ended = if on_screen {
        let screen = Screen::open(Look::of(ui.colors_messages(), variable), ui.messages())
            .map_err(|error| Failure::world(&error))?;
        let (inputs, asked) = bounded(WAITING);
        let (to, snapshots) = bounded(1);
        let live = Live { wish, finding, place, inputs: asked, snapshots: Some(to), stop: &stop };
        // A thread of its own: what the terminal takes its time for must not hold up the sound.
        std::thread::scope(|scope| {
            scope.spawn(|| match display::run(screen, &snapshots, &inputs, &stop) {
                // Only a flag: nothing else is read through it.
                display::ScreenEnd::Interrupted => stop.store(true, Ordering::Relaxed),
                // Without a terminal it plays on, as at the end of the input.
                display::ScreenEnd::Over | display::ScreenEnd::Stopped | display::ScreenEnd::Gone(_) => {}
            });
            playable.with_programme(&identity, |programme| live::play(programme, live, &mut |_| {}))
        })
    } else {
        let live =
            Live { wish, finding, place, inputs: on_stdin(input::parse, ui.messages()), snapshots: None, stop: &stop };
        let mut tell = |line: &str| {
            // A reader that has gone away does not stop the practice.
            let _ = ui.result(format!("{line}\n")).and_then(|()| ui.flush());
        };
        playable.with_programme(&identity, |programme| live::play(programme, live, &mut tell))
    };
    let ended = ended.map_err(|error: NoSession| Failure::world(&error))?;
    dry_run::tell_record(&ended, ui)?;
    if ended.interrupted {
        return Err(Failure::Interrupted(format!("interrupted at {}", input::clock(ended.at))));
    }
    Ok(())
}

/// Where the record goes: named, nowhere, or the user's folder of sessions.
fn place(args: &PlayArgs) -> RecordPlace {
    match &args.record {
        _ if args.no_record => RecordPlace::Nowhere,
        Some(path) if path.is_dir() => RecordPlace::Folder(path.clone()),
        Some(path) => RecordPlace::File(path.clone()),
        None => match sessions(std::env::var_os("XDG_STATE_HOME"), std::env::var_os("HOME")) {
            Some(folder) => RecordPlace::Folder(folder),
            None => RecordPlace::Nowhere,
        },
    }
}

/// The user's folder of session records by the XDG base directory rules.
fn sessions(state: Option<OsString>, home: Option<OsString>) -> Option<PathBuf> {
    let state = state.map(PathBuf::from).filter(|state| state.is_absolute());
    let state = state.or_else(|| home.map(|home| PathBuf::from(home).join(".local/state")))?;
    Some(state.join("lengthwise/sessions"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn records_lie_where_the_system_keeps_state() {
        let home = || Some(OsString::from("/home/ida"));
        let path = |text: &str| Some(PathBuf::from(text));
        assert_eq!(sessions(Some("/s".into()), home()), path("/s/lengthwise/sessions"));
        assert_eq!(sessions(Some("s".into()), home()), path("/home/ida/.local/state/lengthwise/sessions"));
        assert_eq!(sessions(None, home()), path("/home/ida/.local/state/lengthwise/sessions"));
        assert_eq!(sessions(None, None), None);
    }
}
