//! A practice as numbered tracks in one folder, for a small player: made side by side on all cores, with a playlist.
//!
//! What each track holds is decided in `timeline::tracks`. The folder is whole or not there.

use super::file;
use super::inputs::spare;
use super::made::{MadeFile, NotRendered};
use super::target::Target;
use crate::audio::bank::Bank;
use crate::cores;
use crate::plan::RepeatPlan;
use crate::prepare::Planned;
use crate::progress::{Progress, Unheard};
use crate::sink;
use crate::sink::file::{FileError, Replace};
use crate::sink::folder::{FilesUnderWay, Old};
use crate::sink::names;
use crate::sink::output::{self, Existing, FileOutput};
use crate::sink::playlist::{self, Entry};
use crate::sink::spec::{Marker, Spec, Tags};
use crate::timeline::bank::{self, BankError, Stock};
use crate::timeline::built::Track;
use std::fs;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// Tracks of a practice, as they are order.
#[derive(Clone, Debug)]
pub struct PlayerOrder<'a> {
    /// The folder they are to be.
    pub folder: &'a Path,
    /// Their form.
    pub target: Target,
    /// Whether a folder that is there is replaced whoever's it is; files that are not ours stay in it.
    pub force: bool,
    /// What tells this script's renders from others; see [`identity`](crate::prepare::identity).
    pub identity: String,
    /// Files in the folder that are known to be ours, where it is known to be ours whatever lies in it.
    pub known: Option<Vec<String>>,
}

/// Renders the tracks of a practice that was planned for a player.
///
/// # Errors
/// See [`NotRendered`]; nothing is left behind then, and what was there is as it was.
pub fn render(
    planned: &Planned,
    order: &PlayerOrder<'_>,
    progress: &mut (dyn Progress + Send),
    stop: &AtomicBool,
) -> Result<Vec<MadeFile>, NotRendered> {
    let workers = cores::count();
    let settings = planned.bank_settings();
    let sounds = &planned.built.timeline.sounds;
    let bank = || bank::build(sounds, &planned.library, order.target.rate, &settings);
    render_with(planned, order, workers, bank, progress, stop)
}

/// As [`render`], as one of several that are made at once: on this thread alone, with the recordings of a common stock.
///
/// # Errors
/// As [`render`].
pub fn render_among(
    planned: &Planned,
    order: &PlayerOrder<'_>,
    stock: &Stock,
    stop: &AtomicBool,
) -> Result<Vec<MadeFile>, NotRendered> {
    let settings = planned.bank_settings();
    let sounds = &planned.built.timeline.sounds;
    let bank = || stock.bank(sounds, &planned.library, order.target.rate, &settings);
    render_with(planned, order, 1, bank, &mut Unheard, stop)
}

fn render_with(
    planned: &Planned,
    order: &PlayerOrder<'_>,
    workers: usize,
    bank: impl FnOnce() -> Result<Bank, BankError>,
    progress: &mut (dyn Progress + Send),
    stop: &AtomicBool,
) -> Result<Vec<MadeFile>, NotRendered> {
    let old = old(order.folder, order.known.as_deref(), &order.identity, order.force, &listed(planned))?;
    // The longest first, so that none is left over at the end; who waits for a core is named again by its number.
    let mut orders = orders(planned, order);
    orders.sort_by_key(|order| std::cmp::Reverse(order.spec.frames));
    let names = orders.iter().map(|track| track.name.clone()).chain([listed(planned)]);
    let places: Vec<PathBuf> = names.map(|name| order.folder.join(name)).collect();
    spare(planned.inputs(), places.iter().map(PathBuf::as_path))?;
    let batch = FilesUnderWay::beside(order.folder).map_err(NotRendered::File)?;
    let timeline = &planned.built.timeline;
    let bank = Arc::new(bank().map_err(NotRendered::Recording)?);
    let (total, broken) = (sink::frames(timeline, order.target.rate), AtomicBool::new(false));
    let heard = Mutex::new((progress, 0));
    let mut made = cores::share(
        workers,
        &orders,
        || (),
        |(), TrackOrder { number, name, legs, spec }| {
            // Where one cannot be written the others cannot be either.
            if broken.load(Ordering::Relaxed) {
                return Err(NotRendered::Stopped);
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
                let output = FileOutput::create(&batch.path().join(&name), order.target.format, spec, Replace::Never)
                    .map_err(NotRendered::File)?;
                let filled = file::fill(&timeline.part(legs.clone()), &bank, output, &mut tell, stop);
                let (output, made) = filled.map_err(|error| NotRendered::of(error, NotRendered::File))?;
                output.finish().map_err(NotRendered::File)?;
                Ok(made)
            };
            let made = one().map_err(|failed| match failed {
                NotRendered::File(error) => NotRendered::File(batch.named(error, order.folder)),
                other => other,
            });
            broken.fetch_or(made.is_err(), Ordering::Relaxed);
            Ok((*number, MadeFile { name, title, figures: made? }))
        },
    );
    // Those that were given up because of another failure are reported last.
    made.sort_by_key(|made| matches!(made, Err(NotRendered::Stopped)));
    let mut made = made.into_iter().collect::<Result<Vec<_>, NotRendered>>()?;
    made.sort_by_key(|(number, _)| *number);
    let files: Vec<MadeFile> = made.into_iter().map(|(_, file)| file).collect();
    list(planned, &order.identity, &files, &batch.path().join(listed(planned)), order.folder)?;
    batch.into_folder(old.as_ref()).map_err(NotRendered::File)?;
    Ok(files)
}

/// The name of the playlist.
pub fn listed(planned: &Planned) -> String {
    names::alone(&planned.plan.title, playlist::EXTENSION)
}

/// Writes a playlist; `target` is what a failure names.
pub(super) fn list(
    planned: &Planned,
    identity: &str,
    files: &[MadeFile],
    path: &Path,
    target: &Path,
) -> Result<(), NotRendered> {
    let entry = |file: &MadeFile| Entry { name: file.name.clone(), title: file.title.clone(), len: file.figures.len() };
    let entries: Vec<Entry> = files.iter().map(entry).collect();
    let text = playlist::write(&planned.plan.title, identity, &entries);
    fs::write(path, text)
        .map_err(|source| NotRendered::File(FileError::System { doing: "write", path: target.to_owned(), source }))
}

/// What may happen to a folder that is there: an empty one, one that a playlist shows to be this script's, or one that is `known`
/// to be ours takes new files. `list` is the new playlist.
pub(super) fn old(
    folder: &Path,
    known: Option<&[String]>,
    identity: &str,
    force: bool,
    list: &str,
) -> Result<Option<Old>, NotRendered> {
    let system = |source| NotRendered::File(FileError::System { doing: "read", path: folder.to_owned(), source });
    match fs::metadata(folder) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(system(error)),
        Ok(found) if !found.is_dir() => {
            return Err(NotRendered::File(FileError::NotAFolder { path: folder.to_owned() }));
        }
        Ok(_) => {}
    }
    let listed = playlist::find(folder).map_err(system)?;
    let empty = fs::read_dir(folder).map_err(system)?.next().is_none();
    let mut ours: Vec<String> = known.unwrap_or_default().to_vec();
    match listed {
        // What is known may be from before a run that was stopped: the playlist is what lies there.
        Some((name, of, listed)) if of == identity || force => {
            ours.push(name);
            // Somebody may have put other songs on the list: only what says so of itself is ours.
            let is_ours = |name: &String| matches!(output::existing(&folder.join(name)), Existing::OurRender { .. });
            ours.extend(listed.into_iter().filter(is_ours));
        }
        _ if known.is_some() || empty || force => {}
        _ => return Err(NotRendered::File(FileError::Exists { path: folder.to_owned() })),
    }
    Ok(Some(Old { ours: ours.into_iter().map(Into::into).collect(), force, last: list.into() }))
}

/// One file to be made.
pub(super) struct TrackOrder {
    number: usize,
    pub(super) name: String,
    legs: Range<usize>,
    pub(super) spec: Spec,
}

/// The files to be made, as they are played.
pub(super) fn orders(planned: &Planned, order: &PlayerOrder<'_>) -> Vec<TrackOrder> {
    let tracks = planned.built.tracks.iter().enumerate();
    tracks.map(|(number, track)| track_order(planned, number, track, order)).collect()
}

#[expect(clippy::expect_used, reason = "a track is a second or more of a day or less")]
fn track_order(planned: &Planned, number: usize, track: &Track, order: &PlayerOrder<'_>) -> TrackOrder {
    let last = planned.built.tracks.len().saturating_sub(1);
    let set = track.set.and_then(|set| planned.plan.sets.get(set));
    let part = match track.part {
        (_, 1) => String::new(),
        (part, parts) => format!("{part} of {parts}"),
    };
    let title = set.map_or(track.title.as_str(), |set| &set.title);
    let name = names::numbered(number, last, title, &part, order.target.format.extension());
    let repeats = set.map(|set| set.repeats.iter().enumerate()).into_iter().flatten();
    let own = repeats.skip(track.repeats.start).take(track.repeats.len());
    let marker = |(index, repeat): (usize, &RepeatPlan)| Marker {
        frame: order.target.rate.frames(repeat.start - track.begins),
        label: file::label(title, index, set.map_or(1, |set| set.repeats.len())),
    };
    let small = |n: usize| u32::try_from(n).expect("few tracks");
    let tags = Tags {
        title: track.title.clone(),
        album: planned.plan.title.clone(),
        set: set.map(|set| set.title.clone()),
        track: Some((small(number), small(last))),
    };
    let spec = order.target.spec(order.target.rate.frames(track.len), &order.identity, tags);
    let spec = Spec { markers: own.map(marker).collect(), ..spec };
    TrackOrder { number, name, legs: track.legs.clone(), spec }
}
