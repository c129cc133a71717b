//! `record`: the texts of a pack in somebody's own voice, on a screen or line by line.

use super::args::{Record, TakeForm};
use super::failure::Failure;
use super::leftovers::tell;
use super::lines::on_stdin;
use super::pack::shelf::shelf;
use super::reading::{self, Pass};
use super::ui::{self, Ui};
use super::wanted;
use crate::authoring::prompts::{self, PromptsFound};
use crate::device::Wish;
use crate::diag::shown::ShownPath;
use crate::diag::{Code, Diagnostic, Severity, has_errors};
use crate::display::look::Look;
use crate::display::{Screen, ScreenEnd, takes};
use crate::pack::manifest::{self, Manifest, is_word};
use crate::recording::answer;
use crate::recording::desk::Fate;
use crate::recording::live::{self, RecordingSetup};
use crate::recording::store::Store;
use crate::recording::{Prompt, TextTimes};
use crate::sink::take::TakeFormat;
use crossbeam_channel::bounded;
use std::io::{self, IsTerminal};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Answers that may wait to be taken: a script of them is read as it is needed.
const WAITING: usize = 64;

/// Runs the command.
pub fn run(args: &Record, ui: &mut Ui) -> Result<(), Failure> {
    let shelf = shelf(&args.shelves);
    let pack = shelf
        .open(&args.pack)
        .map_err(|error| Failure::Usage(format!("{error}; `lengthwise pack new {}` makes one", args.pack)))?;
    ui.problems(&pack.problems, &pack.sources);
    let wrong = |problem: &Diagnostic| problem.severity() == Severity::Error && problem.code != Code::PackBroken;
    let Some(own) = pack.manifest.as_ref().filter(|_| !pack.problems.iter().any(wrong)) else {
        return Err(Failure::Shown);
    };
    let choice = wanted::choice(&args.wanted);
    let found = prompts::find(&pack, &choice, args.wanted.again, &shelf).map_err(|error| Failure::world(&error))?;
    ui.problems(&found.diagnostics, &found.sources);
    wanted::check(&pack, &found)?;
    report_unlisted(&found, ui);
    if args.list {
        return list(&found.prompts, ui);
    }
    let Some(folder) = &pack.folder else {
        return Err(Failure::Usage(format!(
            "`{0}` comes with the program and cannot be recorded into; `lengthwise pack new my-voice --texts-of {0}` makes a pack of your own of its texts",
            pack.name
        )));
    };
    consent(own, folder)?;
    if found.prompts.is_empty() {
        ui.message(wanted::nothing(&choice));
        return if has_errors(&found.diagnostics) { Err(Failure::Shown) } else { Ok(()) };
    }
    let format = match args.format {
        TakeForm::Wav => TakeFormat::Wav,
        TakeForm::Flac => TakeFormat::Flac,
    };
    ui.alone();
    let store = Store::new(folder, format);
    tell(store.sweep(), ui)?;
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    ui.message(format!("{}, the voice of {}; {}\n", own.title, own.voice, own.agreed));
    let times = prompts::times(&pack, ui::speech()).unwrap_or_else(|| {
        ui.message("takes are not compared with the length of their texts: that is done in English alone\n");
        TextTimes::unknown()
    });
    if !args.from.is_empty() {
        let prompts = found.prompts;
        let pass = Pass { pack: &pack, folder, store, prompts, times, stop };
        return reading::run(args, pass, ui);
    }
    let live = |answers, snapshots| RecordingSetup {
        times,
        title: own.title.clone(),
        voice: own.voice.clone(),
        wish: Wish { name: args.microphone.clone(), buffer: None },
        store: store.clone(),
        answers,
        snapshots,
        playback: (!args.no_playback).then(|| Wish { name: args.device.clone(), buffer: None }),
        stop: &stop,
    };
    let variable = |name: &str| std::env::var(name).ok();
    let on_screen = !args.no_screen && io::stdin().is_terminal() && ui.is_watched() && Look::can_place(variable);
    let ended = if on_screen {
        let screen = Screen::open(Look::of(ui.colors_messages(), variable), ui.messages())
            .map_err(|error| Failure::world(&error))?;
        let ((to, answers), (shown, snapshots)) = (bounded(WAITING), bounded(1));
        // A thread of its own: what the terminal takes its time for must not hold up the microphone. When it ends it drops its
        // side of the answers, and the recording ends at the next decision.
        std::thread::scope(|scope| {
            let stop = &stop;
            scope.spawn(move || {
                if let ScreenEnd::Interrupted = takes::run(screen, &snapshots, &to, stop) {
                    // Only a flag: nothing else is read through it.
                    stop.store(true, Ordering::Relaxed);
                }
            });
            live::record(found.prompts, live(answers, Some(shown)), &mut |_| {})
        })
    } else {
        let messages = ui.messages();
        let mut tell = |line: &str| {
            // A reader that has gone away does not stop the recording.
            let _ = ui.result(format!("{line}\n")).and_then(|()| ui.flush());
        };
        live::record(found.prompts, live(on_stdin(answer::parse, messages), None), &mut tell)
    };
    let ended = ended.map_err(|error| Failure::world(&error))?;
    report(&ended, folder, ui)
}

/// Nobody is recorded whose name and word are not in the pack.
fn consent(own: &Manifest, folder: &Path) -> Result<(), Failure> {
    if !own.is_spoken() || !is_word(&own.agreed) {
        let path = folder.join(manifest::FILE);
        return Err(Failure::Usage(format!(
            "{} does not say whose voice is recorded: write the speaker's name under `speaker: voice` and their word that it may be used under `agreed` (a guardian's for a child)",
            path.shown()
        )));
    }
    Ok(())
}

fn report_unlisted(found: &PromptsFound, ui: &mut Ui) {
    for text in &found.unlisted {
        ui.message(format!(
            "not in pack.yaml, so it is not asked for: \"{text}\" (a set's title goes under `titles`)\n"
        ));
    }
}

/// What would be recorded, a line each, tab-separated.
fn list(prompts: &[Prompt], ui: &mut Ui) -> Result<(), Failure> {
    for prompt in prompts {
        let state = if prompt.recorded { "recorded" } else { "to record" };
        ui.result(format!("{}/{}\t{state}\t{}\n", prompt.role.folder(), prompt.stem(), prompt.text))?;
    }
    Ok(())
}

/// What was kept, and what is to be done next.
fn report(ended: &live::RecordingEnd, folder: &Path, ui: &mut Ui) -> Result<(), Failure> {
    let (mut kept, mut open) = (0, 0);
    for (prompt, fate) in &ended.texts {
        match fate {
            Fate::Kept(faults) => {
                kept += 1;
                if !faults.is_empty() {
                    let name = format!("{}/{}", prompt.role.folder(), prompt.stem());
                    ui.message(format!("kept, but {}: {name}\n", faults.join(", ")));
                }
            }
            Fate::Skipped | Fate::Open => open += usize::from(!prompt.recorded),
        }
    }
    let shown = folder.shown();
    ui.message(format!("{kept} kept, {open} without a recording\n"));
    if open > 0 {
        ui.message(format!("go on at any time: lengthwise record {shown}\n"));
    } else if kept > 0 {
        ui.message(format!("next: lengthwise pack check {shown}\n"));
    }
    if ended.interrupted {
        return Err(Failure::Interrupted("interrupted; what was kept is safe".to_owned()));
    }
    Ok(())
}
