//! One render as several files that follow each other without a gap: end to end they are the single render, frame by frame.
//!
//! Nothing is said, silenced or moved for it, unlike the tracks for a player: it is for players that go from one file to the
//! next without a pause.

use super::file;
use super::inputs::spare;
use super::made::{FileFigures, MadeFile, NotRendered};
use super::player;
use super::target::Target;
use crate::cores;
use crate::prepare::Planned;
use crate::progress::Progress;
use crate::sink;
use crate::sink::behind::behind;
use crate::sink::file::{FileError, Replace};
use crate::sink::folder::{FilesUnderWay, Old};
use crate::sink::names;
use crate::sink::output::{self, Existing, FileOutput, Format};
use crate::sink::playlist;
use crate::sink::spec::{Marker, Spec, Tags};
use crate::sink::split::SplitSink;
use crate::timeline::bank;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Where it is cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// Before the first word said of each set.
    Set,
    /// And before the countdown of each repeat; where one swim is joined to the next, at the join.
    Repeat,
}

/// The files of one practice, as they are order.
#[derive(Clone, Debug)]
pub struct SplitOrder<'a> {
    /// Where they go, and by what names.
    pub place: SplitPlace<'a>,
    /// Where it is cut.
    pub cut: Cut,
    /// Their form.
    pub target: Target,
    /// Whether files that are there are replaced whoever's they are.
    pub force: bool,
    /// What tells this script's renders from others; see [`identity`](crate::prepare::identity).
    pub identity: String,
}

/// Where the files of a split render go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SplitPlace<'a> {
    /// A folder of its own.
    Folder(&'a Path),
    /// Files beside this one, which is not made: "mine.wav" gives "mine 01 Easy start.wav".
    Beside(&'a Path),
}

impl<'a> SplitPlace<'a> {
    /// A path that ends like a sound file's gives its name to the files, any other is a folder's.
    pub fn of(path: &'a Path) -> Self {
        if Format::of(path).is_some() { Self::Beside(path) } else { Self::Folder(path) }
    }
}

/// One of the files.
struct FilePart {
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
/// See [`NotRendered`]; nothing is left behind then, and what was there is as it was.
#[expect(clippy::expect_used, reason = "borders, parts and specs are counted from the same list")]
pub fn render(
    planned: &Planned,
    order: &SplitOrder<'_>,
    progress: &mut dyn Progress,
    stop: &AtomicBool,
) -> Result<Vec<MadeFile>, NotRendered> {
    let parts = parts(planned, order);
    let (target, folder, list, gives_way) = match order.place {
        SplitPlace::Folder(folder) => {
            let list = names::alone(&planned.plan.title, playlist::EXTENSION);
            let old = player::old(folder, None, &order.identity, order.force, &list)?;
            (folder, folder, list, GivesWay::Folder(old))
        }
        SplitPlace::Beside(file) => {
            let list = format!("{}.{}", stem(file), playlist::EXTENSION);
            let gives_way = GivesWay::Beside(gives_way(file, &parts, &list, order)?);
            (file, file.parent().unwrap_or(Path::new("")), list, gives_way)
        }
    };
    let names = parts.iter().map(|part| part.name.as_str()).chain([list.as_str()]);
    let places: Vec<PathBuf> = names.map(|name| folder.join(name)).collect();
    spare(planned.inputs(), places.iter().map(PathBuf::as_path))?;
    let batch = FilesUnderWay::beside(target).map_err(NotRendered::File)?;
    let timeline = &planned.built.timeline;
    let settings = planned.bank_settings();
    let bank = bank::build(&timeline.sounds, &planned.library, order.target.rate, &settings)
        .map_err(NotRendered::Recording)?;
    let markers = file::markers(planned, order.target.rate);
    let specs: Vec<Spec> = (0..parts.len()).map(|at| spec(planned, &parts, at, &markers, order)).collect();
    let open = |at: usize| {
        let (part, spec) = parts.get(at).zip(specs.get(at)).expect("a part and its spec begin at each border");
        FileOutput::create(&batch.path().join(&part.name), order.target.format, spec, Replace::Never)
    };
    let borders: Vec<u64> = parts.iter().skip(1).map(|part| part.begins).collect();
    let mut split = SplitSink::new(&borders, sink::frames(timeline, order.target.rate), open, FileOutput::finish);
    let mut heard = |done, total| progress.at(done, total);
    let bank = Arc::new(bank);
    let (filled, written) =
        behind(&mut split, |written| file::fill(timeline, &bank, written, &mut heard, stop).map(|(_, whole)| whole));
    written.map_err(|error| NotRendered::File(batch.named(error, folder)))?;
    // The sink cannot be what failed here: that has been returned above.
    let whole = filled.map_err(|error| NotRendered::of(error, |gone| NotRendered::Internal(gone.to_string())))?;
    drop(split);
    let file = |part: &FilePart| {
        let rendered = sink::Rendered { frames: part.ends - part.begins, ..whole.rendered };
        MadeFile { name: part.name.clone(), title: part.title.clone(), figures: FileFigures { rendered, ..whole } }
    };
    let files: Vec<MadeFile> = parts.iter().map(file).collect();
    player::list(planned, &order.identity, &files, &batch.path().join(&list), target)?;
    match gives_way {
        GivesWay::Folder(old) => batch.into_folder(old.as_ref()),
        GivesWay::Beside(files) => batch.spill(&files),
    }
    .map_err(NotRendered::File)?;
    Ok(files)
}

/// What may happen to what is there.
enum GivesWay {
    Folder(Option<Old>),
    Beside(Vec<(String, Replace)>),
}

fn stem(file: &Path) -> String {
    file.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

/// Which files may be replaced: renders of the same script, its playlist, or all by force.
fn gives_way(
    file: &Path,
    parts: &[FilePart],
    list: &str,
    order: &SplitOrder<'_>,
) -> Result<Vec<(String, Replace)>, NotRendered> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let exists = |name: &str| NotRendered::File(FileError::Exists { path: folder.join(name) });
    let mut files = Vec::with_capacity(parts.len() + 1);
    for FilePart { name, .. } in parts {
        let ours = match output::existing(&folder.join(name)) {
            Existing::Absent => Replace::Never,
            Existing::OurRender { identity } if identity == order.identity => Replace::Yes,
            _ if order.force => Replace::Yes,
            Existing::OurRender { .. } | Existing::Other => return Err(exists(name)),
        };
        files.push((name.clone(), ours));
    }
    let path = folder.join(list);
    let found = playlist::of_file(&path);
    let replace = match found {
        _ if order.force => Replace::Yes,
        _ if !path.exists() => Replace::Never,
        Some((identity, _)) if identity == order.identity => Replace::Yes,
        _ => return Err(exists(list)),
    };
    files.push((list.to_owned(), replace));
    Ok(files)
}

fn parts(planned: &Planned, order: &SplitOrder<'_>) -> Vec<FilePart> {
    let starts = &planned.built.strand.starts;
    let end = sink::frames(&planned.built.timeline, order.target.rate);
    let mut begins: Vec<(u64, usize, usize)> = Vec::new();
    for start in starts.iter().filter(|start| order.cut == Cut::Repeat || start.ordinal == 0) {
        // What is said before the first set belongs to it, and where a countdown is longer than the swim before it the two
        // stay together.
        match begins.last() {
            None => begins.push((0, start.set, start.ordinal)),
            Some((last, ..)) => {
                let from = order.target.rate.frames(start.from(planned.practice.settings.countdown));
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
        let part = if order.cut == Cut::Repeat && of > 1 { format!("{} of {of}", repeat + 1) } else { String::new() };
        let name = names::numbered(index + 1, count, title, &part, order.target.format.extension());
        let name = match order.place {
            SplitPlace::Folder(_) => name,
            SplitPlace::Beside(file) => format!("{} {name}", stem(file)),
        };
        let whole = if part.is_empty() { title.to_owned() } else { format!("{title} {part}") };
        FilePart { begins: *begins, ends, title: whole, name, set: title.to_owned() }
    };
    begins.iter().zip(ends).enumerate().map(part).collect()
}

/// What the file of a part is to be.
#[expect(clippy::expect_used, reason = "a part is a second or more of a day or less")]
fn spec(planned: &Planned, parts: &[FilePart], at: usize, markers: &[Marker], order: &SplitOrder<'_>) -> Spec {
    let small = |n: usize| u32::try_from(n).expect("few parts");
    let part = parts.get(at);
    let (begins, ends) = part.map_or((0, 0), |part| (part.begins, part.ends));
    let own = markers.iter().filter(|marker| (begins..ends).contains(&marker.frame));
    let tags = Tags {
        title: part.map_or(String::new(), |part| part.title.clone()),
        album: planned.plan.title.clone(),
        set: part.map(|part| part.set.clone()),
        track: Some((small(at + 1), small(parts.len()))),
    };
    let own = own.map(|marker| Marker { frame: marker.frame - begins, label: marker.label.clone() }).collect();
    Spec { markers: own, workers: cores::count(), ..order.target.spec(ends - begins, &order.identity, tags) }
}
