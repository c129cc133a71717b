//! `render --player` and `render --split`: a cue script as several sound files, reported in one list.

use super::args::{AudienceArg, Render, ScriptArgs, SplitAt};
use super::failure::Failure;
use super::hearing::ExposureRecord;
use super::leftovers::sweep;
use super::options::{exposure, format, target};
use super::request::request;
use super::ui;
use super::ui::Ui;
use crate::diag::shown::{Shown, ShownPath, printable};
use crate::diag::{Diagnostic, Severity, has_errors};
use crate::prepare::{self, Planned, identity, stem};
use crate::render::origin::Origin;
use crate::render::player::{self, PlayerOrder};
use crate::render::split::{self, Cut, SplitOrder, SplitPlace};
use crate::render::{MadeFile, NotRendered};
use crate::sink::output::Format;
use crate::sink::playlist;
use crate::units::time::{SampleRate, Seconds};
use serde::Serialize;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// What is to be made, and where.
enum TracksOrder<'a> {
    /// Tracks that stand alone, in this folder.
    Player(&'a Path),
    /// Files without a gap.
    Split(Cut, PathBuf),
}

impl TracksOrder<'_> {
    /// Their folder, or the file that they lie beside.
    fn path(&self) -> &Path {
        match self {
            Self::Player(folder) => folder,
            Self::Split(_, path) => path,
        }
    }

    /// The playlist that shows whose they are.
    fn list(&self, planned: &Planned) -> PathBuf {
        match self {
            Self::Player(folder) => folder.join(player::listed(planned)),
            Self::Split(_, path) => match SplitPlace::of(path) {
                SplitPlace::Folder(folder) => folder.join(player::listed(planned)),
                SplitPlace::Beside(file) => file.with_extension(playlist::EXTENSION),
            },
        }
    }
}

/// Whether the arguments ask for several files of one script. Tracks for a player are never one file.
pub fn asked(args: &Render) -> Result<bool, Failure> {
    if args.player.is_none() && args.reading.audience == AudienceArg::Player {
        return Err(Failure::Usage("tracks for a player are a folder: name it with --player DIR".into()));
    }
    if args.player.is_some() && args.reading.audience == AudienceArg::Speaker {
        return Err(Failure::Usage(
            "--player is for the ear, --for speaker for the wall: leave one of them out".into(),
        ));
    }
    let asked = args.player.is_some() || args.split.is_some();
    if asked && args.inputs().len() > 1 {
        return Err(Failure::Usage("--player and --split take one script and one swimmer at a time".into()));
    }
    Ok(asked)
}

/// Runs the command.
pub fn run(args: &Render, input: &ScriptArgs, rate: SampleRate, ui: &mut Ui) -> Result<(), Failure> {
    let (order, format) = order(args, input)?;
    let target = target(args, format, rate)?;
    let mut request = request(input);
    if matches!(order, TracksOrder::Player(_)) {
        request.audience = crate::practice::Audience::Player;
    }
    let outcome = prepare::plan(&request).map_err(|error| Failure::world(&error))?;
    ui.problems(&outcome.diagnostics, &outcome.sources);
    let Some(planned) = outcome.planned.filter(|_| !has_errors(&outcome.diagnostics)) else {
        return Err(Failure::Shown);
    };
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    let mut bar = ui.progress();
    let (force, identity) = (args.force, identity(&input.script, &planned.plan.title));
    sweep(order.path(), ui)?;
    let (origin, list) = (Origin::of(&input.script), order.list(&planned));
    if let Some(origin) = origin.filter(|_| !force) {
        origin.check(&list).map_err(|error| Failure::world(&error))?;
    }
    let (output, made) = match &order {
        TracksOrder::Player(folder) => {
            let order = PlayerOrder { folder, target, force, identity, known: None };
            (*folder, player::render(&planned, &order, &mut bar, &stop))
        }
        TracksOrder::Split(cut, path) => {
            let order = SplitOrder { place: SplitPlace::of(path), cut: *cut, target, force, identity };
            (path.as_path(), split::render(&planned, &order, &mut bar, &stop))
        }
    };
    let made = made.map_err(|error| match error {
        NotRendered::Stopped => Failure::Interrupted(format!("interrupted; {} was not written", output.shown())),
        other => Failure::World(other.to_string()),
    })?;
    bar.done();
    if let Some(origin) = origin {
        origin.mark(&list);
    }
    let list = FileList { output, made: &made, planned: &planned, diagnostics: &outcome.diagnostics };
    let text = if args.json { list.json() } else { list.text(&order) };
    ui.result(text)?;
    if let Some(exposure) = exposure(args, &planned, &stop).map_err(|error| Failure::world(&error))? {
        let text = ExposureRecord::of(&exposure).text();
        // The list of files is an array in JSON: the exposure is said beside it.
        if args.json { ui.message(&text) } else { ui.result(&text)? }
    }
    Ok(())
}

/// The smallest format that this build can write.
pub fn smallest() -> Format {
    Format::ALL.iter().copied().rfind(|format| format.is_built_in()).unwrap_or(Format::Wav)
}

/// What is asked for, and the format: tracks are as small as this build can make them where nothing else is asked for.
fn order<'a>(args: &'a Render, input: &ScriptArgs) -> Result<(TracksOrder<'a>, Format), Failure> {
    let asked = args.format.map(|asked| format(Some(asked)));
    if let Some(folder) = &args.player {
        return Ok((TracksOrder::Player(folder), asked.unwrap_or_else(smallest)));
    }
    let cut = if args.split == Some(SplitAt::Repeat) { Cut::Repeat } else { Cut::Set };
    let path = match &args.output {
        Some(path) => path.clone(),
        None => {
            let mut name = stem(&input.script).to_owned();
            name.push(".");
            name.push(asked.unwrap_or(Format::Wav).extension());
            PathBuf::from(name)
        }
    };
    let format = match (Format::of(&path), path.extension()) {
        (Some(named), _) => match asked.filter(|asked| *asked != named) {
            None => named,
            Some(asked) => {
                let path = path.shown();
                return Err(Failure::Usage(format!("cannot write {path} as {asked}: its name says {named}")));
            }
        },
        (None, Some(extension)) if asked.is_none() && !path.is_dir() => return Err(unknown(&path, extension)),
        (None, _) => asked.unwrap_or(Format::Wav),
    };
    Ok((TracksOrder::Split(cut, path), format))
}

fn unknown(path: &Path, extension: &OsStr) -> Failure {
    let known: Vec<String> = Format::ALL.iter().map(|format| format!(".{}", format.extension())).collect();
    Failure::Usage(format!(
        "cannot write {}: .{} is no format; use {}, or a folder's name",
        path.shown(),
        Path::new(extension).shown(),
        known.join(", ")
    ))
}

/// What there is to say.
struct FileList<'a> {
    output: &'a Path,
    made: &'a [MadeFile],
    planned: &'a Planned,
    diagnostics: &'a [Diagnostic],
}

#[derive(Serialize)]
struct TracksRecord<'a> {
    output: String,
    title: &'a str,
    duration_s: f64,
    rate: u32,
    files: Vec<FileRecord>,
    cautions: usize,
    dropped: usize,
}

/// A track in numbers.
#[derive(Debug, Serialize)]
pub struct FileRecord {
    file: String,
    title: String,
    duration_s: f64,
    frames: u64,
    loudness_lufs: Option<f64>,
    true_peak_dbtp: Option<f64>,
}

impl FileRecord {
    /// Of a file that was made.
    pub fn of(file: &MadeFile) -> Self {
        let tenth = |value: f64| libm::round(value * 10.0) / 10.0;
        Self {
            file: file.name.clone(),
            title: file.title.clone(),
            duration_s: seconds(file),
            frames: file.figures.rendered.frames,
            loudness_lufs: file.figures.measured.loudness.map(tenth),
            true_peak_dbtp: file.figures.measured.true_peak.map(tenth),
        }
    }
}

fn seconds(file: &MadeFile) -> f64 {
    file.figures.len().as_f64()
}

impl<'a> FileList<'a> {
    fn record(&self) -> TracksRecord<'a> {
        TracksRecord {
            output: self.output.to_string_lossy().into_owned(),
            title: &self.planned.plan.title,
            duration_s: self.made.iter().map(seconds).sum(),
            rate: self.made.first().map_or(0, |file| file.figures.rate.hertz()),
            files: self.made.iter().map(FileRecord::of).collect(),
            cautions: self.diagnostics.iter().filter(|d| d.severity() == Severity::Caution).count(),
            dropped: self.planned.plan.dropped.len(),
        }
    }

    /// For a program.
    fn json(&self) -> Shown {
        Shown::json(&self.record())
    }

    /// For a person.
    fn text(&self, order: &TracksOrder<'_>) -> Shown {
        let record = self.record();
        let clock = |seconds: f64| Seconds::from_secs(libm::round(seconds) as i64).to_string();
        let mut text = Shown::heading(&printable(&record.output)) + "\n";
        for file in &record.files {
            text.push(format!("{:>7}  {}\n", clock(file.duration_s), file.file));
        }
        let cautions = if record.cautions == 1 { "1 caution".into() } else { format!("{} cautions", record.cautions) };
        let files = if record.files.len() == 1 { "1 file".into() } else { format!("{} files", record.files.len()) };
        let length = clock(record.duration_s);
        text.push(format!("{files} · {length} · {cautions} · {} not heard\n", record.dropped));
        text.push(match order {
            TracksOrder::Player(_) => {
                "To the pool: copy the folder to the player, one file after another by name, play in order without shuffle;\n\
                 start track 00 at the wall, leave on each long tone. A pause between tracks does no harm.\n"
            }
            TracksOrder::Split(..) => {
                "To the pool: these files follow each other without a gap; for a player that pauses between files: --player.\n"
            }
        });
        text.push(
            "Set the level so that a whistle at the wall is still heard. Never swim alone; staff, whistle and alarm come first.\n",
        );
        text
    }
}
