//! `render` of several scripts or for several swimmers: side by side on all cores, into one folder. What fails does not
//! stop the others.

use super::args::{CaptionsPlace, Render, ScriptArgs};
use super::failure::Failure;
use super::leftovers::tell;
use super::options::{NoExposure, exposure, format, make_folder, target, verdict};
use super::request::request;
use super::summary::{RenderRecord, Summary};
use super::ui;
use super::ui::Ui;
use crate::diag::shown::{Shown, ShownPath, printable};
use crate::disk::Access;
use crate::progress::Progress;
use crate::render::several::{Several, SeveralOrder, SeveralRow};
use crate::render::{Done, FileFigures, PracticeEnd, Tally, Unmade};
use crate::sink::leftover::sweep_in;
use crate::units::time::{SampleRate, Seconds};
use serde::Serialize;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex, PoisonError};

/// Runs the command.
pub fn run(args: &Render, inputs: &[ScriptArgs], rate: SampleRate, ui: &mut Ui) -> Result<(), Failure> {
    let folder = args.output.as_deref().unwrap_or(Path::new("."));
    let format = format(args.format);
    let several = Several::named(inputs.iter().map(request).collect(), folder, format);
    let several = several.map_err(|same| Failure::Usage(same.to_string()))?;
    let target = target(args, format, rate)?;
    if let CaptionsPlace::In(file) = args.captions() {
        let file = file.shown();
        return Err(Failure::Usage(format!("--captions={file} is for one file; of several, say --captions alone")));
    }
    let _made = make_folder(folder, Access::Usual)?;
    tell(sweep_in(folder), ui)?;
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    let order = SeveralOrder { target, captions: args.captions() != CaptionsPlace::Nowhere, force: args.force };
    let bar = Mutex::new(ui.progress());
    let keep = |done: &Done<'_, &FileFigures>| record(args, done, &stop);
    let progress = |done, total| bar.lock().unwrap_or_else(PoisonError::into_inner).at(done, total);
    let rows = several.make(&order, keep, progress, &stop);
    bar.into_inner().unwrap_or_else(PoisonError::into_inner).done();
    report(rows, args.json, ui)
}

/// What is kept of a practice.
fn record(args: &Render, done: &Done<'_, &FileFigures>, stop: &AtomicBool) -> Result<RenderRecord, NoExposure> {
    let Done { output, planned, diagnostics, files: figures } = done;
    let exposure = exposure(args, planned, stop)?;
    Ok(Summary { output, figures, planned, diagnostics, exposure }.record())
}

#[derive(Serialize)]
struct UnmadeFile {
    output: String,
    error: String,
}

#[derive(Serialize)]
#[serde(untagged)]
enum FileRow {
    Made(RenderRecord),
    Unmade(UnmadeFile),
}

/// Says what was made, in the order asked for, and why the rest was not.
fn report(rows: Vec<SeveralRow<RenderRecord>>, as_json: bool, ui: &mut Ui) -> Result<(), Failure> {
    let mut tally = Tally::default();
    let mut files = Vec::with_capacity(rows.len());
    for SeveralRow { practice, output, end, problems } in rows {
        tally.count(&end);
        let error = match end {
            PracticeEnd::Made(record) | PracticeEnd::Unchanged(record) => {
                files.push(FileRow::Made(record));
                continue;
            }
            PracticeEnd::Unmade(Unmade::Wrong(_)) => format!("{practice} has errors, shown above"),
            PracticeEnd::Unmade(Unmade::Failed(error)) => error,
            PracticeEnd::Unmade(Unmade::Stopped) => "stopped before it was finished".to_owned(),
        };
        if let Some((diagnostics, sources)) = problems {
            ui.problems(&diagnostics, &sources);
        }
        files.push(FileRow::Unmade(UnmadeFile { output: output.to_string_lossy().into_owned(), error }));
    }
    if as_json {
        ui.result(Shown::json(&files))?;
    } else {
        ui.result(table(&files))?;
    }
    verdict(tally, &format!("{} of {} files were made", tally.there(), tally.all()))
}

/// A line for each file.
fn table(rows: &[FileRow]) -> Shown {
    let width = |row: &FileRow| match row {
        FileRow::Made(RenderRecord { output, .. }) | FileRow::Unmade(UnmadeFile { output, .. }) => {
            unicode_width::UnicodeWidthStr::width(&*printable(output))
        }
    };
    let widest = rows.iter().map(width).max().unwrap_or(0);
    let line = |row: &FileRow| {
        let blank = " ".repeat(widest - width(row));
        match row {
            FileRow::Made(record) => {
                let length = Seconds::from_secs(libm::round(record.duration_s) as i64).to_string();
                let loudness = record.loudness_lufs.map_or("silent".to_owned(), |lufs| format!("{lufs:.1} LUFS"));
                let cautions = match record.cautions {
                    0 => String::new(),
                    1 => " · 1 caution".to_owned(),
                    n => format!(" · {n} cautions"),
                };
                let exposure =
                    record.exposure.as_ref().map_or(String::new(), |exposure| format!(" · {}", exposure.brief()));
                Shown::heading(&printable(&record.output))
                    + format!("{blank}  {length:>7} · {loudness}{exposure}{cautions}\n")
            }
            FileRow::Unmade(UnmadeFile { output, error }) => {
                format!("{}{blank}  not made: {error}\n", printable(output)).into()
            }
        }
    };
    let made: Shown = rows.iter().map(line).collect();
    made + "To the pool: copy the files to waterproof players, start at the wall, leave on each long tone.\n\
         Set the level so that a whistle at the wall is still heard. Never swim alone; staff, whistle and alarm come first.\n"
}
