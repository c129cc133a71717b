//! A planned practice as a sound file: bank, markers, mixer, meter, file. The file is written on a second thread.

use crate::audio::bank::Bank;
use crate::cores;
use crate::prepare::Planned;
use crate::progress::Progress;
use crate::sink::behind::behind;
use crate::sink::file::{FileError, Fresh, Replace};
use crate::sink::meter::{Measured, Meter};
use crate::sink::output::{self, Existing, Format};
use crate::sink::spec::{Marker, Spec, Tags};
use crate::sink::{self, RenderError, Rendered, Sink};
use crate::timeline::Timeline;
use crate::timeline::bank::{self, BankError, Stock};
use crate::timeline::captions::webvtt;
use crate::units::time::SampleRate;
use std::fmt;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// What file is wanted.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// Its name.
    pub output: &'a Path,
    /// Its format.
    pub format: Format,
    /// Frames a second.
    pub rate: SampleRate,
    /// One channel instead of two.
    pub mono: bool,
    /// What happens to a file of that name.
    pub replace: Replace,
    /// Kilobits a second of MP3, where not the usual ones.
    pub kilobits: Option<u32>,
    /// Where the spoken words go too, as WebVTT, and what happens to a file of that name.
    pub captions: Option<(PathBuf, Replace)>,
    /// What tells this script's renders from others; see [`identity`].
    pub identity: String,
}

/// What was made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Made {
    /// Frames written and events lost, if any.
    pub rendered: Rendered,
    /// Loudness and true peak of the file.
    pub measured: Measured,
    /// Frames a second.
    pub rate: SampleRate,
}

/// Why no file was made.
#[derive(Debug)]
pub enum Failed {
    /// A recording cannot be used.
    Recording(BankError),
    /// The file cannot be written.
    File(FileError),
    /// The mixer and the timeline disagree: a mistake of this program.
    Internal(String),
    /// The file there is a render of another script.
    Another(PathBuf),
    /// The stop flag was set.
    Stopped,
}

impl fmt::Display for Failed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Recording(error) => error.fmt(f),
            Self::File(error) => error.fmt(f),
            Self::Internal(why) => write!(f, "a mistake of this program, please report it: {why}"),
            Self::Another(path) => write!(
                f,
                "{} is a render of another script; name another file with -o, or replace it with --force",
                path.display()
            ),
            Self::Stopped => f.write_str("stopped before the end"),
        }
    }
}

impl std::error::Error for Failed {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Recording(error) => Some(error),
            Self::File(error) => Some(error),
            Self::Internal(_) | Self::Another(_) | Self::Stopped => None,
        }
    }
}

/// Renders a practice into a file that is whole or not there.
///
/// # Errors
/// See [`Failed`]; no file is left behind, and none that was there is touched.
pub fn render(
    planned: &Planned,
    wanted: Wanted<'_>,
    progress: &mut dyn Progress,
    stop: &AtomicBool,
) -> Result<Made, Failed> {
    let timeline = &planned.built.timeline;
    let settings = planned.bank_settings();
    let bank = bank::build(&timeline.sounds, &planned.library, wanted.rate, &settings).map_err(Failed::Recording)?;
    let bank = Arc::new(bank);
    let captions = caption(planned, &wanted)?;
    let mut file = create(planned, &wanted, cores::count())?;
    let mut heard = |done, total| progress.at(done, total);
    let (filled, written) =
        behind(&mut file, |written| fill(timeline, &bank, written, &mut heard, stop).map(|(_, made)| made));
    written.map_err(Failed::File)?;
    // The sink cannot be what failed here: that has been told above.
    let made = filled.map_err(|error| failed(error, |gone| Failed::Internal(gone.to_string())))?;
    finish(file, captions)?;
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
) -> Result<(S, Made), RenderError<S::Error>> {
    let mut meter = Meter::new(into, bank.rate);
    let rendered = sink::render(timeline, bank, &mut meter, progress, stop)?;
    let (into, measured) = meter.finish();
    Ok((into, Made { rendered, measured, rate: bank.rate }))
}

/// As [`render`], as one of several that are made at once: on this thread alone, with the recordings of a common stock.
///
/// # Errors
/// As [`render`].
pub fn render_among(planned: &Planned, wanted: Wanted<'_>, stock: &Stock, stop: &AtomicBool) -> Result<Made, Failed> {
    let timeline = &planned.built.timeline;
    let settings = planned.bank_settings();
    let bank = stock.bank(&timeline.sounds, &planned.library, wanted.rate, &settings).map_err(Failed::Recording)?;
    let captions = caption(planned, &wanted)?;
    let file = create(planned, &wanted, 1)?;
    let filled = fill(timeline, &Arc::new(bank), file, &mut |_, _| {}, stop);
    let (file, made) = filled.map_err(|error| failed(error, Failed::File))?;
    finish(file, captions)?;
    Ok(made)
}

/// Whether a file of that name gives way: only to a render of the same script, or to force.
///
/// # Errors
/// [`Failed::Another`], or [`FileError::Exists`] of what is no render at all.
pub fn may_replace(output: &Path, identity: &str, force: bool) -> Result<Replace, Failed> {
    match output::existing(output) {
        _ if force => Ok(Replace::Yes),
        Existing::Absent => Ok(Replace::Never),
        Existing::OurRender { identity: found } if found == identity => Ok(Replace::Yes),
        Existing::OurRender { .. } => Err(Failed::Another(output.to_owned())),
        Existing::Other => Err(Failed::File(FileError::Exists { path: output.to_owned() })),
    }
}

/// A failed render, with the error of its sink made one of these.
pub(crate) fn failed<E>(error: RenderError<E>, of_sink: impl FnOnce(E) -> Failed) -> Failed {
    match error {
        RenderError::Bank(mismatch) => Failed::Internal(mismatch.to_string()),
        RenderError::Sink(error) => of_sink(error),
        RenderError::Stopped => Failed::Stopped,
    }
}

/// Begins the captions and writes them, so that what can fail has failed before the sound is made.
fn caption(planned: &Planned, wanted: &Wanted<'_>) -> Result<Option<Fresh>, Failed> {
    let Some((path, replace)) = &wanted.captions else { return Ok(None) };
    let mut file = Fresh::create(path, *replace).map_err(Failed::File)?;
    let text = webvtt(&planned.built.timeline, &wanted.identity);
    file.write_all(text.as_bytes())
        .map_err(|source| Failed::File(FileError::System { doing: "write", path: path.clone(), source }))?;
    Ok(Some(file))
}

/// Gives the finished files their names.
fn finish(file: output::Output, captions: Option<Fresh>) -> Result<(), Failed> {
    file.finish().map_err(Failed::File)?;
    captions.map_or(Ok(()), |captions| captions.commit().map_err(Failed::File))
}

fn create(planned: &Planned, wanted: &Wanted<'_>, workers: usize) -> Result<output::Output, Failed> {
    let spec = spec(planned, wanted, workers);
    output::Output::create(wanted.output, wanted.format, &spec, wanted.replace).map_err(Failed::File)
}

/// What the file is to be.
pub(super) fn spec(planned: &Planned, wanted: &Wanted<'_>, workers: usize) -> Spec {
    let title = planned.plan.title.clone();
    Spec {
        rate: wanted.rate,
        mono: wanted.mono,
        frames: sink::frames(&planned.built.timeline, wanted.rate),
        markers: markers(planned, wanted.rate),
        identity: wanted.identity.clone(),
        tags: Tags { album: title.clone(), title, ..Tags::default() },
        workers,
        kilobits: wanted.kilobits,
    }
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
