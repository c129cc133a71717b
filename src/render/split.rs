//! One render as several files that follow each other without a gap: end to end they are the single render, frame by frame.
//!
//! Nothing is said, silenced or moved for it, unlike the tracks for a player: it is for players that go from one file to the
//! next without a pause.

use super::file::{self, Failed};
use super::player::{self, MadeFile};
use crate::cores;
use crate::prepare::Planned;
use crate::progress::Progress;
use crate::sink;
use crate::sink::behind::behind;
use crate::sink::file::{FileError, Replace};
use crate::sink::folder::{Batch, Old};
use crate::sink::names;
use crate::sink::output::{self, Existing, Format, Output};
use crate::sink::playlist;
use crate::sink::spec::{Marker, Spec, Tags};
use crate::sink::split::Split;
use crate::timeline::bank;
use crate::units::time::SampleRate;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Where it is cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// Before the first word said of each set.
    Set,
    /// And before the countdown of each repeat; where one swim is joined to the next, at the join.
    Repeat,
}

/// What files are wanted.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// A folder that the files are to be, or the name that all of theirs begin with.
    pub into: Into<'a>,
    /// Where it is cut.
    pub by: By,
    /// Their format.
    pub format: Format,
    /// Frames a second.
    pub rate: SampleRate,
    /// One channel instead of two.
    pub mono: bool,
    /// Kilobits a second of MP3, where not the usual ones.
    pub kilobits: Option<u32>,
    /// Whether files that are there are replaced whosever they are.
    pub force: bool,
    /// What tells this script's renders from others; see [`file::identity`].
    pub identity: String,
}

/// See [`Wanted::into`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Into<'a> {
    /// A folder of its own.
    Folder(&'a Path),
    /// Files beside this one, which is not made: "mine.wav" gives "mine 01 Easy start.wav".
    Beside(&'a Path),
}

/// What was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    /// The files in their order; their loudness is that of the whole.
    pub files: Vec<MadeFile>,
    /// The whole.
    pub whole: file::Made,
}

/// One of the files.
struct Part {
    /// Its first frame in the whole.
    begins: u64,
    ends: u64,
    title: String,
    name: String,
    set: String,
}

/// Renders a practice into several files.
///
/// # Errors
/// See [`Failed`]; nothing is left behind then, and what was there is as it was.
pub fn render(
    planned: &Planned,
    wanted: &Wanted<'_>,
    progress: &mut dyn Progress,
    stop: &AtomicBool,
) -> Result<Made, Failed> {
    let parts = parts(planned, wanted);
    let (target, list) = match wanted.into {
        Into::Folder(folder) => (folder, names::alone(&planned.plan.title, playlist::ENDING)),
        Into::Beside(file) => (file, format!("{}.{}", stem(file), playlist::ENDING)),
    };
    let leave = match wanted.into {
        Into::Folder(folder) => Leave::Folder(player::old(folder, &wanted.identity, wanted.force)?),
        Into::Beside(file) => Leave::Beside(leave(file, &parts, &list, wanted)?),
    };
    let batch = Batch::beside(target).map_err(Failed::File)?;
    let timeline = &planned.built.timeline;
    let settings = planned.bank_settings();
    let bank = bank::build(&timeline.sounds, &planned.library, wanted.rate, &settings).map_err(Failed::Recording)?;
    let markers = file::markers(planned, wanted.rate);
    let specs: Vec<Spec> = (0..parts.len()).map(|at| spec(planned, &parts, at, &markers, wanted)).collect();
    let open = |at: usize| {
        // There are as many parts as specs: both were counted from the same borders.
        let (Some(part), Some(spec)) = (parts.get(at), specs.get(at)) else {
            return Err(FileError::NotAFile { path: batch.path().to_owned() });
        };
        Output::create(&batch.path().join(&part.name), wanted.format, spec, Replace::Never)
    };
    let borders: Vec<u64> = parts.iter().skip(1).map(|part| part.begins).collect();
    let mut split = Split::new(&borders, sink::frames(timeline, wanted.rate), open, Output::finish);
    let mut heard = |done, total| progress.at(done, total);
    let bank = Arc::new(bank);
    let (filled, written) =
        behind(&mut split, |written| file::fill(timeline, &bank, written, &mut heard, stop).map(|(_, whole)| whole));
    let beside = match wanted.into {
        Into::Folder(folder) => folder,
        Into::Beside(file) => file.parent().unwrap_or(Path::new("")),
    };
    written.map_err(|error| player::named(Failed::File(error), beside))?;
    // The sink cannot be what failed here: that has been told above.
    let whole = filled.map_err(|error| file::failed(error, |gone| Failed::Internal(gone.to_string())))?;
    drop(split);
    let file = |part: &Part| {
        let rendered = sink::Rendered { frames: part.ends - part.begins, ..whole.rendered };
        MadeFile { name: part.name.clone(), title: part.title.clone(), made: file::Made { rendered, ..whole } }
    };
    let files: Vec<MadeFile> = parts.iter().map(file).collect();
    player::list(planned, &wanted.identity, &files, &batch.path().join(&list), target)?;
    match leave {
        Leave::Folder(old) => batch.into_folder(old.as_ref()),
        Leave::Beside(files) => batch.spill(&files),
    }
    .map_err(Failed::File)?;
    Ok(Made { files, whole })
}

/// What may happen to what is there.
enum Leave {
    Folder(Option<Old>),
    Beside(Vec<(String, Replace)>),
}

fn stem(file: &Path) -> String {
    file.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

/// Which files may be replaced: renders of the same script, its playlist, or all by force.
fn leave(file: &Path, parts: &[Part], list: &str, wanted: &Wanted<'_>) -> Result<Vec<(String, Replace)>, Failed> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let exists = |name: &str| Failed::File(FileError::Exists { path: folder.join(name) });
    let mut files = Vec::with_capacity(parts.len() + 1);
    for Part { name, .. } in parts {
        let ours = match output::existing(&folder.join(name)) {
            Existing::Absent => Replace::Never,
            Existing::OurRender { identity } if identity == wanted.identity => Replace::Yes,
            _ if wanted.force => Replace::Yes,
            Existing::OurRender { .. } | Existing::Other => return Err(exists(name)),
        };
        files.push((name.clone(), ours));
    }
    let path = folder.join(list);
    let found = std::fs::read_to_string(&path).ok().and_then(|text| playlist::read(&text));
    let replace = match found {
        _ if wanted.force => Replace::Yes,
        _ if !path.exists() => Replace::Never,
        Some((identity, _)) if identity == wanted.identity => Replace::Yes,
        _ => return Err(exists(list)),
    };
    files.push((list.to_owned(), replace));
    Ok(files)
}

fn parts(planned: &Planned, wanted: &Wanted<'_>) -> Vec<Part> {
    let starts = &planned.built.strand.starts;
    let end = sink::frames(&planned.built.timeline, wanted.rate);
    let mut begins: Vec<(u64, usize, usize)> = Vec::new();
    for start in starts.iter().filter(|start| wanted.by == By::Repeat || start.ordinal == 0) {
        // What is said before the first set belongs to it, and where a countdown is longer than the swim before it the two
        // stay together.
        match begins.last() {
            None => begins.push((0, start.set, start.ordinal)),
            Some((last, ..)) => {
                let from = wanted.rate.frames(start.from(planned.practice.settings.countdown));
                if from > *last {
                    begins.push((from, start.set, start.ordinal));
                }
            }
        }
    }
    let ends = begins.iter().skip(1).map(|(begins, ..)| *begins).chain([end]);
    let count = begins.len();
    let part = |(index, ((begins, set, repeat), ends)): (usize, (&(u64, usize, usize), u64))| {
        let set = planned.plan.sets.get(*set);
        let title = set.map_or("", |set| &set.title);
        let of = set.map_or(1, |set| set.repeats.len());
        let part = if wanted.by == By::Repeat && of > 1 { format!("{} of {of}", repeat + 1) } else { String::new() };
        let name = names::numbered(index + 1, count, title, &part, wanted.format.ending());
        let name = match wanted.into {
            Into::Folder(_) => name,
            Into::Beside(file) => format!("{} {name}", stem(file)),
        };
        let whole = if part.is_empty() { title.to_owned() } else { format!("{title} {part}") };
        Part { begins: *begins, ends, title: whole, name, set: title.to_owned() }
    };
    begins.iter().zip(ends).enumerate().map(part).collect()
}

/// What the file of a part is to be.
fn spec(planned: &Planned, parts: &[Part], at: usize, markers: &[Marker], wanted: &Wanted<'_>) -> Spec {
    let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let part = parts.get(at);
    let (begins, ends) = part.map_or((0, 0), |part| (part.begins, part.ends));
    let own = markers.iter().filter(|marker| (begins..ends).contains(&marker.frame));
    let tags = Tags {
        title: part.map_or(String::new(), |part| part.title.clone()),
        album: planned.plan.title.clone(),
        set: part.map(|part| part.set.clone()),
        track: Some((small(at + 1), small(parts.len()))),
    };
    Spec {
        rate: wanted.rate,
        mono: wanted.mono,
        frames: ends - begins,
        markers: own.map(|marker| Marker { frame: marker.frame - begins, label: marker.label.clone() }).collect(),
        identity: wanted.identity.clone(),
        tags,
        workers: cores::count(),
        kilobits: wanted.kilobits,
    }
}
