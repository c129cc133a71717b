//! A practice as numbered tracks in one folder, for a small player: made side by side on all cores, with a playlist.
//!
//! What each track holds is `timeline::tracks`' business. The folder is whole or not there.

use super::file::{self, Failed, Made};
use crate::audio::bank::Bank;
use crate::cores;
use crate::plan::RepeatPlan;
use crate::prepare::Planned;
use crate::progress::Progress;
use crate::sink;
use crate::sink::file::{FileError, Replace};
use crate::sink::folder::{Batch, Old};
use crate::sink::names;
use crate::sink::output::{Format, Output};
use crate::sink::playlist::{self, Entry};
use crate::sink::spec::{Marker, Spec, Tags};
use crate::timeline::bank::{self, BankError, Stock};
use crate::timeline::built::Track;
use crate::units::time::SampleRate;
use std::fs;
use std::ops::Range;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// What tracks are wanted.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// The folder they are to be.
    pub folder: &'a Path,
    /// Their format.
    pub format: Format,
    /// Frames a second.
    pub rate: SampleRate,
    /// One channel instead of two.
    pub mono: bool,
    /// Kilobits a second of MP3, where not the usual ones.
    pub kilobits: Option<u32>,
    /// Whether a folder that is there is replaced whosever it is; files that are not ours stay in it.
    pub force: bool,
    /// What tells this script's renders from others; see [`file::identity`].
    pub identity: String,
    /// Files in the folder that are known to be ours, where it is known to be ours whatever lies in it.
    pub known: Option<Vec<String>>,
}

/// One file that was made.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeFile {
    /// Its name.
    pub name: String,
    /// Its title, as a player shows it.
    pub title: String,
    /// How long it is and how it sounds.
    pub made: Made,
}

/// Renders the tracks of a practice that was planned for a player.
///
/// # Errors
/// See [`Failed`]; nothing is left behind then, and what was there is as it was.
pub fn render(
    planned: &Planned,
    wanted: &Wanted<'_>,
    progress: &mut (dyn Progress + Send),
    stop: &AtomicBool,
) -> Result<Vec<MadeFile>, Failed> {
    let workers = cores::count();
    let settings = planned.bank_settings();
    let sounds = &planned.built.timeline.sounds;
    let bank = || bank::build(sounds, &planned.library, wanted.rate, &settings);
    render_with(planned, wanted, workers, bank, progress, stop)
}

/// As [`render`], as one of several that are made at once: on this thread alone, with the recordings of a common stock.
///
/// # Errors
/// As [`render`].
pub fn render_among(
    planned: &Planned,
    wanted: &Wanted<'_>,
    stock: &Stock,
    stop: &AtomicBool,
) -> Result<Vec<MadeFile>, Failed> {
    let settings = planned.bank_settings();
    let sounds = &planned.built.timeline.sounds;
    let bank = || stock.bank(sounds, &planned.library, wanted.rate, &settings);
    render_with(planned, wanted, 1, bank, &mut Quiet, stop)
}

/// Progress that nobody watches.
struct Quiet;

impl Progress for Quiet {
    fn at(&mut self, _done: u64, _total: u64) {}
}

fn render_with(
    planned: &Planned,
    wanted: &Wanted<'_>,
    workers: usize,
    bank: impl FnOnce() -> Result<Bank, BankError>,
    progress: &mut (dyn Progress + Send),
    stop: &AtomicBool,
) -> Result<Vec<MadeFile>, Failed> {
    let old = match &wanted.known {
        Some(ours) if wanted.folder.is_dir() => Some(Old { ours: ours.clone(), force: wanted.force }),
        _ => old(wanted.folder, &wanted.identity, wanted.force)?,
    };
    let batch = Batch::beside(wanted.folder).map_err(Failed::File)?;
    let timeline = &planned.built.timeline;
    let bank = Arc::new(bank().map_err(Failed::Recording)?);
    let (total, broken) = (sink::frames(timeline, wanted.rate), AtomicBool::new(false));
    let heard = Mutex::new((progress, 0));
    // The longest first, so that none is left over at the end; who waits for a core is named again by its number.
    let mut orders = orders(planned, wanted);
    orders.sort_by_key(|order| std::cmp::Reverse(order.spec.frames));
    let mut made = cores::share(
        workers,
        &orders,
        || (),
        |(), Order { number, name, legs, spec }| {
            // Where one cannot be written the others cannot be either.
            if broken.load(Ordering::Relaxed) {
                return Err(Failed::Stopped);
            }
            let (name, title) = (name.clone(), spec.tags.title.clone());
            let mut so_far = 0;
            let mut tell = |done: u64, _| {
                let mut heard = heard.lock().unwrap_or_else(PoisonError::into_inner);
                heard.1 += done - std::mem::replace(&mut so_far, done);
                let sum = heard.1;
                heard.0.at(sum.min(total), total);
            };
            let mut one = || {
                let output = Output::create(&batch.path().join(&name), wanted.format, spec, Replace::Never)
                    .map_err(Failed::File)?;
                let filled = file::fill(&timeline.part(legs.clone()), &bank, output, &mut tell, stop);
                let (output, made) = filled.map_err(|error| file::failed(error, Failed::File))?;
                output.finish().map_err(Failed::File)?;
                Ok(made)
            };
            let made = one().map_err(|failed| named(failed, wanted.folder));
            broken.fetch_or(made.is_err(), Ordering::Relaxed);
            Ok((*number, MadeFile { name, title, made: made? }))
        },
    );
    // Those that were given up because of another failure are told last.
    made.sort_by_key(|made| matches!(made, Err(Failed::Stopped)));
    let mut made = made.into_iter().collect::<Result<Vec<_>, Failed>>()?;
    made.sort_by_key(|(number, _)| *number);
    let files: Vec<MadeFile> = made.into_iter().map(|(_, file)| file).collect();
    list(planned, &wanted.identity, &files, &batch.path().join(listed(planned)), wanted.folder)?;
    batch.into_folder(old.as_ref()).map_err(Failed::File)?;
    Ok(files)
}

/// The name of the playlist.
pub(super) fn listed(planned: &Planned) -> String {
    names::alone(&planned.plan.title, playlist::ENDING)
}

/// Writes a playlist; `target` is what a failure names.
pub(super) fn list(
    planned: &Planned,
    identity: &str,
    files: &[MadeFile],
    path: &Path,
    target: &Path,
) -> Result<(), Failed> {
    let entry = |file: &MadeFile| Entry {
        name: file.name.clone(),
        title: file.title.clone(),
        len: file.made.rate.time(file.made.rendered.frames),
    };
    let entries: Vec<Entry> = files.iter().map(entry).collect();
    let text = playlist::write(&planned.plan.title, identity, &entries);
    fs::write(path, text)
        .map_err(|source| Failed::File(FileError::System { doing: "write", path: target.to_owned(), source }))
}

/// A failure to write a file of a hidden folder, told of what is to be: the hidden name means nothing to a reader.
pub(super) fn named(failed: Failed, target: &Path) -> Failed {
    match failed {
        Failed::File(FileError::System { doing, path, source }) => {
            let path = path.file_name().map_or(target.to_owned(), |name| target.join(name));
            Failed::File(FileError::System { doing, path, source })
        }
        other => other,
    }
}

/// What may happen to a folder that is there: an empty one, or one that a playlist shows to be this script's, gives way.
pub(super) fn old(folder: &Path, identity: &str, force: bool) -> Result<Option<Old>, Failed> {
    let system = |source| Failed::File(FileError::System { doing: "read", path: folder.to_owned(), source });
    match fs::metadata(folder) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(system(error)),
        Ok(found) if !found.is_dir() => return Err(Failed::File(FileError::NotAFolder { path: folder.to_owned() })),
        Ok(_) => {}
    }
    let listed = playlist::find(folder).map_err(system)?;
    let empty = fs::read_dir(folder).map_err(system)?.next().is_none();
    match listed {
        Some((name, of, mut ours)) if of == identity || force => {
            ours.push(name);
            Ok(Some(Old { ours, force }))
        }
        _ if empty || force => Ok(Some(Old { ours: Vec::new(), force })),
        _ => Err(Failed::File(FileError::Exists { path: folder.to_owned() })),
    }
}

/// One file to be made.
pub(super) struct Order {
    number: usize,
    pub(super) name: String,
    legs: Range<usize>,
    pub(super) spec: Spec,
}

/// The files to be made, as they are played.
pub(super) fn orders(planned: &Planned, wanted: &Wanted<'_>) -> Vec<Order> {
    let tracks = planned.built.tracks.iter().enumerate();
    tracks.map(|(number, track)| order(planned, number, track, wanted)).collect()
}

fn order(planned: &Planned, number: usize, track: &Track, wanted: &Wanted<'_>) -> Order {
    let last = planned.built.tracks.len().saturating_sub(1);
    let set = track.set.and_then(|set| planned.plan.sets.get(set));
    let part = match track.part {
        (_, 1) => String::new(),
        (part, parts) => format!("{part} of {parts}"),
    };
    let title = set.map_or(track.title.as_str(), |set| &set.title);
    let name = names::numbered(number, last, title, &part, wanted.format.ending());
    let repeats = set.map(|set| set.repeats.iter().enumerate()).into_iter().flatten();
    let own = repeats.skip(track.repeats.start).take(track.repeats.len());
    let marker = |(index, repeat): (usize, &RepeatPlan)| Marker {
        frame: wanted.rate.frames(repeat.start - track.begins),
        label: file::label(title, index, set.map_or(1, |set| set.repeats.len())),
    };
    let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let tags = Tags {
        title: track.title.clone(),
        album: planned.plan.title.clone(),
        set: set.map(|set| set.title.clone()),
        track: Some((small(number), small(last))),
    };
    let spec = Spec {
        rate: wanted.rate,
        mono: wanted.mono,
        frames: wanted.rate.frames(track.len),
        markers: own.map(marker).collect(),
        identity: wanted.identity.clone(),
        tags,
        workers: 1,
        kilobits: wanted.kilobits,
    };
    Order { number, name, legs: track.legs.clone(), spec }
}
