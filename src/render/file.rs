//! A planned practice as a sound file: bank, markers, mixer, meter, file. The file is written on a second thread.

use super::inputs::spare;
use super::made::{FileFigures, NotRendered};
use super::origin::Origin;
use super::target::Target;
use crate::audio::bank::Bank;
use crate::cores;
use crate::prepare::Planned;
use crate::progress::Progress;
use crate::sink::behind::behind;
use crate::sink::file::{FileError, Fresh, Replace};
use crate::sink::meter::Meter;
use crate::sink::output::{self, Existing};
use crate::sink::spec::{Marker, Spec, Tags};
use crate::sink::{self, RenderError, Sink};
use crate::timeline::Timeline;
use crate::timeline::bank::{self, Stock};
use crate::timeline::captions::{self, webvtt};
use crate::units::time::SampleRate;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// One sound file of a practice, as it is order.
#[derive(Clone, Debug)]
pub struct FileOrder<'a> {
    /// Its name.
    pub output: &'a Path,
    /// Its form.
    pub target: Target,
    /// What tells this script's renders from others; see [`identity`](crate::prepare::identity).
    pub identity: String,
    /// Where that script lies, if it is a file.
    origin: Option<Origin>,
    /// What happens to a file of that name.
    replace: Replace,
    /// Where the spoken words go too, as WebVTT, and what happens to a file of that name.
    captions: Option<(PathBuf, Replace)>,
}

impl<'a> FileOrder<'a> {
    /// A file, and its captions if they are wanted, that take nobody's place.
    pub fn new(output: &'a Path, target: Target, identity: String, captions: Option<PathBuf>) -> Self {
        let captions = captions.map(|path| (path, Replace::Never));
        Self { output, target, identity, origin: None, replace: Replace::Never, captions }
    }

    /// From a script that is known beyond its name and title.
    pub fn from(self, origin: Option<Origin>) -> Self {
        Self { origin, ..self }
    }

    /// Where the captions go, if there are any.
    pub fn captions(&self) -> Option<&Path> {
        self.captions.as_ref().map(|(path, _)| path.as_path())
    }

    /// Notes beside the files that were made where they are from.
    fn mark(&self) {
        for file in [Some(self.output), self.captions()].into_iter().flatten() {
            self.origin.into_iter().for_each(|origin| origin.mark(file));
        }
    }

    /// Looks at what has the names: renders of the same script give way, and every path that `force` says so of.
    ///
    /// # Errors
    /// See [`may_replace`].
    pub fn settle(&mut self, force: impl Fn(&Path) -> bool) -> Result<(), NotRendered> {
        let from_elsewhere = |path: &Path| match self.origin {
            Some(origin) if !force(path) => origin.check(path),
            _ => Ok(()),
        };
        self.replace = may_replace(self.output, &self.identity, force(self.output))?;
        from_elsewhere(self.output)?;
        if let Some((path, replace)) = &mut self.captions {
            from_elsewhere(path)?;
            *replace = may_replace(path, &captions::note(&self.identity), force(path))?;
        }
        Ok(())
    }
}

/// Renders a practice into a file that is whole or not there.
///
/// # Errors
/// See [`NotRendered`]; no file is left behind, and none that was there is touched.
pub fn render(
    planned: &Planned,
    order: FileOrder<'_>,
    progress: &mut dyn Progress,
    stop: &AtomicBool,
) -> Result<FileFigures, NotRendered> {
    check(planned, &order)?;
    let timeline = &planned.built.timeline;
    let settings = planned.bank_settings();
    let bank = bank::build(&timeline.sounds, &planned.library, order.target.rate, &settings)
        .map_err(NotRendered::Recording)?;
    let bank = Arc::new(bank);
    let captions = caption(planned, &order)?;
    let mut file = create(planned, &order, cores::count())?;
    let mut heard = |done, total| progress.at(done, total);
    let (filled, written) =
        behind(&mut file, |written| fill(timeline, &bank, written, &mut heard, stop).map(|(_, made)| made));
    written.map_err(NotRendered::File)?;
    // The sink cannot be what failed here: that has been returned above.
    let made = filled.map_err(|error| NotRendered::of(error, |gone| NotRendered::Internal(gone.to_string())))?;
    finish(file, captions)?;
    order.mark();
    Ok(made)
}

/// Renders a timeline into a sink on this thread and measures it. Completing the sink, or giving it up, is the caller's.
///
/// # Errors
/// Those of [`sink::render`].
pub fn fill<S: Sink>(
    timeline: &Timeline,
    bank: &Arc<Bank>,
    into: S,
    progress: &mut dyn FnMut(u64, u64),
    stop: &AtomicBool,
) -> Result<(S, FileFigures), RenderError<S::Error>> {
    let mut meter = Meter::new(into, bank.rate);
    let rendered = sink::render(timeline, bank, &mut meter, progress, stop)?;
    let (into, measured) = meter.finish();
    Ok((into, FileFigures { rendered, measured, rate: bank.rate }))
}

/// As [`render`], as one of several that are made at once: on this thread alone, with the recordings of a common stock.
///
/// # Errors
/// As [`render`].
pub fn render_among(
    planned: &Planned,
    order: FileOrder<'_>,
    stock: &Stock,
    stop: &AtomicBool,
) -> Result<FileFigures, NotRendered> {
    check(planned, &order)?;
    let timeline = &planned.built.timeline;
    let settings = planned.bank_settings();
    let bank =
        stock.bank(&timeline.sounds, &planned.library, order.target.rate, &settings).map_err(NotRendered::Recording)?;
    let captions = caption(planned, &order)?;
    let file = create(planned, &order, 1)?;
    let filled = fill(timeline, &Arc::new(bank), file, &mut |_, _| {}, stop);
    let (file, made) = filled.map_err(|error| NotRendered::of(error, NotRendered::File))?;
    finish(file, captions)?;
    order.mark();
    Ok(made)
}

/// Whether a file of that name gives way: only to a render of the same script, or to force.
///
/// # Errors
/// [`NotRendered::Another`], or [`FileError::Exists`] of what is not a render at all.
pub fn may_replace(output: &Path, identity: &str, force: bool) -> Result<Replace, NotRendered> {
    match output::existing(output) {
        _ if force => Ok(Replace::Yes),
        Existing::Absent => Ok(Replace::Never),
        Existing::OurRender { identity: found } if found == identity => Ok(Replace::Yes),
        Existing::OurRender { .. } => Err(NotRendered::Another(output.to_owned())),
        Existing::Other => Err(NotRendered::File(FileError::Exists { path: output.to_owned() })),
    }
}

/// No file of an order is one that the practice is made from.
fn check(planned: &Planned, order: &FileOrder<'_>) -> Result<(), NotRendered> {
    spare(planned.inputs(), [Some(order.output), order.captions()].into_iter().flatten())
}

/// Begins the captions and writes them, so that what can fail has failed before the sound is made.
fn caption(planned: &Planned, order: &FileOrder<'_>) -> Result<Option<Fresh>, NotRendered> {
    let Some((path, replace)) = &order.captions else { return Ok(None) };
    let mut file = Fresh::create(path, *replace).map_err(NotRendered::File)?;
    let text = webvtt(&planned.built.timeline, &order.identity);
    file.write_all(text.as_bytes())
        .map_err(|source| NotRendered::File(FileError::System { doing: "write", path: path.clone(), source }))?;
    Ok(Some(file))
}

/// Gives the finished files their names.
fn finish(file: output::FileOutput, captions: Option<Fresh>) -> Result<(), NotRendered> {
    file.finish().map_err(NotRendered::File)?;
    captions.map_or(Ok(()), |captions| captions.commit().map_err(NotRendered::File))
}

fn create(planned: &Planned, order: &FileOrder<'_>, workers: usize) -> Result<output::FileOutput, NotRendered> {
    let spec = spec(planned, order, workers);
    output::FileOutput::create(order.output, order.target.format, &spec, order.replace).map_err(NotRendered::File)
}

/// What the file is to be.
pub(super) fn spec(planned: &Planned, order: &FileOrder<'_>, workers: usize) -> Spec {
    let title = planned.plan.title.clone();
    let tags = Tags { album: title.clone(), title, ..Tags::default() };
    let rate = order.target.rate;
    let spec = order.target.spec(sink::frames(&planned.built.timeline, rate), &order.identity, tags);
    Spec { markers: markers(planned, rate), workers, ..spec }
}

/// A marker at each set and each further repeat.
pub(super) fn markers(planned: &Planned, rate: SampleRate) -> Vec<Marker> {
    let sets = planned.plan.sets.iter();
    let of_set = sets.flat_map(|set| {
        set.repeats.iter().enumerate().map(move |(index, repeat)| {
            let label = label(&set.title, index, set.repeats.len());
            Marker { frame: rate.frames(repeat.start), label }
        })
    });
    of_set.collect()
}

/// "Range 3/20": a repeat, counted from 0, of a set with so many.
pub(super) fn label(set: &str, repeat: usize, of: usize) -> String {
    if of > 1 { format!("{set} {}/{of}", repeat + 1) } else { set.to_owned() }
}
