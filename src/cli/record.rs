//! `record`: the texts of a pack in somebody's own voice, on a screen or line by line.

use super::Failure;
use super::args::{Record, TakeFormat};
use super::ui::{self, Ui};
use crate::device::Wish;
use crate::diag::has_errors;
use crate::display::look::Look;
use crate::display::{Ended, Screen, takes};
use crate::job::prompts::{self, Choice, Found};
use crate::pack::load::user_folder;
use crate::pack::own::Own;
use crate::pack::{builtin, manifest};
use crate::recording::Prompt;
use crate::recording::answer::{self, Answer};
use crate::recording::desk::Fate;
use crate::recording::live::{self, Live};
use crate::recording::store::Store;
use crate::sink::take::Format;
use crossbeam_channel::{Receiver, bounded};
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Answers that may wait to be taken: a script of them is read as it is needed.
const WAITING: usize = 64;
/// The voice of packs that nobody has spoken.
const SYNTHETIC: &str = "synthetic";

/// Runs the command.
pub fn run(args: &Record, ui: &mut Ui) -> Result<(), Failure> {
    let user_packs = user_folder(std::env::var_os("XDG_DATA_HOME"), std::env::var_os("HOME"));
    let folder = folder(&args.pack, user_packs.as_deref())?;
    let choice = match args.only.as_slice() {
        [] if args.all => Choice::All,
        [] => Choice::Used,
        ids => Choice::Only(ids.to_vec()),
    };
    let found = prompts::find(&folder, &choice, args.again, &args.packs, user_packs.as_deref())
        .map_err(|error| Failure::world(&error))?;
    ui.problems(&found.diagnostics, &found.sources);
    let Some(own) = &found.own else { return Err(Failure::Told) };
    if let [first, ..] = found.unknown.as_slice() {
        let ids: Vec<&str> = own.manifest.entries.iter().map(|text| text.id.value.as_str()).collect();
        let near = crate::diag::nearest(first, ids.iter().copied());
        let hint = near.map_or(String::new(), |near| format!("; did you mean `{near}`?"));
        return Err(Failure::Usage(format!("no text of the pack has the id `{first}`{hint}")));
    }
    tell_unlisted(&found, ui);
    if args.list {
        return list(&found.prompts, ui);
    }
    consent(own)?;
    if found.prompts.is_empty() {
        ui.message(nothing(&choice));
        return if has_errors(&found.diagnostics) { Err(Failure::Told) } else { Ok(()) };
    }
    let format = match args.format {
        TakeFormat::Wav => Format::Wav,
        TakeFormat::Flac => Format::Flac,
    };
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    ui.message(&format!(
        "{}, the voice of {}. Agreed: {}\n",
        own.manifest.title, own.manifest.voice, own.manifest.agreed
    ));
    let live = |answers, snapshots| Live {
        title: own.manifest.title.clone(),
        voice: own.manifest.voice.clone(),
        wish: Wish { name: args.microphone.clone(), buffer: None },
        store: Store::new(&folder, format),
        answers,
        snapshots,
        playback: (!args.no_playback).then(|| Wish { name: args.device.clone(), buffer: None }),
        stop: &stop,
    };
    let variable = |name: &str| std::env::var(name).ok();
    let on_screen = !args.no_screen && io::stdin().is_terminal() && ui.is_watched() && Look::can_place(variable);
    let ended = if on_screen {
        let screen = Screen::open(Look::of(ui.colors_messages(), variable)).map_err(|error| Failure::world(&error))?;
        let ((to, answers), (shown, snapshots)) = (bounded(WAITING), bounded(1));
        // A thread of its own: what the terminal takes its time for must not hold up the microphone. When it ends it drops its
        // side of the answers, and the recording ends at the next decision.
        std::thread::scope(|scope| {
            let stop = &stop;
            scope.spawn(move || {
                if let Ended::Interrupted = takes::run(screen, &snapshots, &to, stop) {
                    // Only a flag: nothing else is read through it.
                    stop.store(true, Ordering::Relaxed);
                }
            });
            live::record(found.prompts, live(answers, Some(shown)), &mut |_| {})
        })
    } else {
        let mut tell = |line: &str| {
            // Who does not listen does not end the recording.
            let _ = ui.result(&format!("{line}\n")).and_then(|()| ui.flush());
        };
        live::record(found.prompts, live(lines(), None), &mut tell)
    };
    let ended = ended.map_err(|error| Failure::world(&error))?;
    report(&ended, &folder, ui)
}

/// The folder of a pack that is named by its folder or, in the user's folder, by its name.
fn folder(pack: &Path, user_packs: Option<&Path>) -> Result<PathBuf, Failure> {
    let is_pack = |folder: &Path| folder.join(manifest::FILE).is_file();
    if is_pack(pack) {
        return Ok(pack.to_owned());
    }
    let name = pack.to_str().filter(|name| manifest::is_id(name));
    let own = name.zip(user_packs).map(|(name, packs)| packs.join(name)).filter(|folder| is_pack(folder));
    if let Some(folder) = own {
        return Ok(folder);
    }
    let shown = pack.display();
    Err(Failure::Usage(match name.filter(|name| builtin::pack(name).is_some()) {
        Some(name) => format!(
            "`{name}` is built in and cannot be recorded into; `lengthwise pack new my-voice --texts-of {name}` makes a pack of your own of its texts"
        ),
        None => {
            format!("{shown} is no pack: there is no {} in it; `lengthwise pack new {shown}` makes one", manifest::FILE)
        }
    }))
}

/// Nobody is recorded whose name and word are not in the pack.
fn consent(own: &Own) -> Result<(), Failure> {
    let (voice, agreed) = (own.manifest.voice.trim(), own.manifest.agreed.trim());
    if voice.is_empty() || voice == SYNTHETIC || agreed.is_empty() {
        let path = own.folder.join(manifest::FILE);
        return Err(Failure::Usage(format!(
            "{} does not say whose voice is recorded: write the speaker's name under `speaker: voice` and their word that it may be used under `agreed` (a guardian's for a child)",
            path.display()
        )));
    }
    Ok(())
}

const fn nothing(choice: &Choice) -> &'static str {
    match choice {
        Choice::Used => {
            "every text that the pack's scripts use has a recording; --all is for the others, --again for all once more\n"
        }
        Choice::All | Choice::Only(_) => "every text of the pack has a recording; --again records them once more\n",
    }
}

fn tell_unlisted(found: &Found, ui: &mut Ui) {
    for text in &found.unlisted {
        ui.message(&format!(
            "not in pack.yaml, so it is not asked for: \"{text}\" (a set's title goes under `titles`)\n"
        ));
    }
}

/// What would be recorded, a line each, tab-separated.
fn list(prompts: &[Prompt], ui: &mut Ui) -> Result<(), Failure> {
    for prompt in prompts {
        let state = if prompt.recorded { "recorded" } else { "missing" };
        ui.result(&format!("{}/{}\t{state}\t{}\n", prompt.folder(), prompt.stem(), prompt.text))?;
    }
    Ok(())
}

/// What was kept, and what is to be done next.
fn report(ended: &live::Ended, folder: &Path, ui: &mut Ui) -> Result<(), Failure> {
    let (mut kept, mut open) = (0, 0);
    for (prompt, fate) in &ended.texts {
        match fate {
            Fate::Kept(faults) => {
                kept += 1;
                if !faults.is_empty() {
                    let name = format!("{}/{}", prompt.folder(), prompt.stem());
                    ui.message(&format!("kept, but {}: {name}\n", faults.join(", ")));
                }
            }
            Fate::Skipped | Fate::Open => open += usize::from(!prompt.recorded),
        }
    }
    let shown = folder.display();
    ui.message(&format!("{kept} kept, {open} without a recording\n"));
    if open > 0 {
        ui.message(&format!("go on at any time: lengthwise record {shown}\n"));
    } else if kept > 0 {
        ui.message(&format!("next: lengthwise pack check {shown}\n"));
    }
    if ended.interrupted {
        return Err(Failure::Interrupted("interrupted; what was kept is safe".to_owned()));
    }
    Ok(())
}

/// What is answered on standard input, a line each.
fn lines() -> Receiver<Answer> {
    let (to, from) = bounded(WAITING);
    // It ends with the input; a read that waits for ever ends with the program.
    std::thread::spawn(move || {
        for line in io::stdin().lock().lines() {
            let Ok(line) = line else { return };
            if line.trim().is_empty() {
                continue;
            }
            match answer::parse(&line) {
                Ok(answer) if to.send(answer).is_err() => return,
                Ok(_) => {}
                Err(why) => {
                    // Where messages cannot be written there is nobody to tell.
                    let _ = writeln!(io::stderr(), "{why}");
                }
            }
        }
    });
    from
}
