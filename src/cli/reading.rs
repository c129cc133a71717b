//! `record --from`: what was read into a telephone becomes the pack's recordings.

use super::args::Record;
use super::failure::Failure;
use super::lines::typed;
use super::ui::Ui;
use crate::audio::clip::{self, Pcm};
use crate::device::Wish;
use crate::diag::shown::ShownPath;
use crate::disk;
use crate::pack::inventory::CLIPS;
use crate::pack::shelf::{HeardFrom, OpenedPack};
use crate::recording::reading::LONGEST;
use crate::recording::reading::answer;
use crate::recording::reading::desk::{ReadingDesk, ReadingFound};
use crate::recording::reading::heard::{AloudReading, ReadFile};
use crate::recording::reading::live::{ReadingSetup, go_through};
use crate::recording::store::Store;
use crate::recording::{Prompt, TextTimes};
use crossbeam_channel::RecvTimeoutError;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// The largest file that is read, in bytes: half an hour of 48 kHz stereo in 24 bit.
const LARGEST: u64 = 520 << 20;

/// What a pass needs beside its options.
pub(super) struct Pass<'a> {
    pub pack: &'a OpenedPack,
    pub folder: &'a Path,
    pub store: Store,
    pub prompts: Vec<Prompt>,
    pub times: TextTimes,
    pub stop: Arc<AtomicBool>,
}

/// Runs it.
pub(super) fn run(args: &Record, pass: Pass<'_>, ui: &mut Ui) -> Result<(), Failure> {
    let Pass { pack, folder, store, prompts, times, stop } = pass;
    let files = args.from.iter().map(|path| file(path, folder)).collect::<Result<Vec<_>, _>>()?;
    let mut reading = AloudReading::of(files);
    // Whoever asks for what is recorded too wants to hear it once more.
    if !args.wanted.again && args.wanted.only.is_empty() {
        let known = reading.without(recordings(pack));
        if known > 0 {
            ui.message(format!("{known} of its texts are in the pack already\n"));
        }
    }
    let mut desk = ReadingDesk::new(reading, prompts, times);
    report_found(desk.found(), desk.prompts(), ui);
    if args.yes && !desk.is_sure() {
        ui.message("--yes keeps nothing unasked here: not every text was found once, in order and in its length\n");
    }
    let lines = typed();
    let mut next = || {
        // Relaxed: nothing else is read on the strength of it.
        while !stop.load(Ordering::Relaxed) {
            match lines.recv_timeout(Duration::from_millis(100)) {
                Ok(Ok(line)) => return Some(answer::parse(&line).map_err(|why| why.to_string())),
                Ok(Err(why)) => return Some(Err(why.to_string())),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return None,
            }
        }
        None
    };
    let playback = (!args.no_playback).then(|| Wish { name: args.device.clone(), buffer: None });
    let setup = ReadingSetup { store, playback, unasked: args.yes, next: &mut next };
    go_through(&mut desk, setup, &mut |line| {
        // A reader that has gone away does not stop it.
        let _ = ui.result(format!("{line}\n")).and_then(|()| ui.flush());
    });
    report_kept(&desk, pack, folder, ui);
    if stop.load(Ordering::Relaxed) {
        return Err(Failure::Interrupted("interrupted; what was kept is safe".to_owned()));
    }
    Ok(())
}

/// A file decoded. One of the pack's own recordings would be put aside for what is cut out of it.
fn file(path: &Path, folder: &Path) -> Result<ReadFile, Failure> {
    let shown = path.shown();
    let within = folder.join(CLIPS).canonicalize().ok().zip(path.canonicalize().ok());
    if within.is_some_and(|(clips, path)| path.starts_with(clips)) {
        return Err(Failure::Usage(format!("{shown} is a recording of the pack; move it out of {CLIPS} first")));
    }
    let wrong = |why: String| Failure::World(format!("{shown} {why}"));
    let bytes = disk::read(path, LARGEST).map_err(|error| wrong(format!("cannot be read: {error}")))?;
    let pcm = clip::decode_within(&bytes, LONGEST).map_err(|error| wrong(error.to_string()))?;
    Ok(ReadFile {
        name: path.file_name().map_or_else(|| shown.clone(), |name| name.to_string_lossy().into_owned()),
        pcm,
    })
}

/// The pack's own recordings, as far as they can be read.
fn recordings(pack: &OpenedPack) -> impl Iterator<Item = Pcm> {
    pack.lines.iter().filter_map(|line| match &line.source {
        HeardFrom::Own(recording) => clip::decode(&recording.read().ok()?).ok(),
        _ => None,
    })
}

fn report_found(found: &ReadingFound, prompts: &[Prompt], ui: &mut Ui) {
    let mut parts = vec![format!("{} of {} texts found", found.texts, prompts.len())];
    let counted = [
        (found.again, "read more than once"),
        (found.swapped, "in another order"),
        (found.left_out.len(), "left out"),
        (found.others, "that are none of the list"),
        (found.set_aside, "knocks, coughs and breaths set aside"),
    ];
    parts.extend(counted.iter().filter(|(number, _)| *number > 0).map(|(number, what)| format!("{number} {what}")));
    ui.message(format!("{}\n", parts.join(", ")));
    for prompt in found.left_out.iter().filter_map(|at| prompts.get(*at)).take(20) {
        ui.message(format!("left out: {}/{}: {}\n", prompt.role.folder(), prompt.stem(), prompt.text));
    }
}

fn report_kept(desk: &ReadingDesk, pack: &OpenedPack, folder: &Path, ui: &mut Ui) {
    let kept = desk.kept_texts().count();
    let open = desk.prompts().len() - kept;
    let shown = folder.shown();
    ui.message(format!("{kept} kept, {open} of the list without a recording\n"));
    if open > 0 {
        ui.message("go on at any time with the same command: what is kept is not asked again\n");
    } else if pack.problems.is_empty() {
        ui.message(format!("next: lengthwise pack check {shown}; lengthwise pack bundle {shown}\n"));
    }
}
