//! `render` of several scripts or for several swimmers: side by side on all cores, into one folder. What fails does not
//! stop the others.

use super::args::{Input, Render};
use super::options::{captions, exposure, format, kilobits, may_replace};
use super::summary::{Record, Summary};
use super::ui::{Ui, request};
use super::{Failure, ui};
use crate::cores;
use crate::diag::{Diagnostic, Sources, has_errors};
use crate::prepare;
use crate::render::file::{self, Failed, Wanted};
use crate::timeline::bank::Stock;
use crate::units::time::{SampleRate, Seconds};
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::{AtomicBool, Ordering};

/// One file to be made.
struct Order<'a> {
    input: &'a Input,
    output: PathBuf,
}

/// What came of an order.
enum Ended {
    Made(Record),
    /// The script or the profile has errors, which are in this list.
    Wrong(Vec<Diagnostic>, Sources),
    /// A file could not be read or written.
    Failed(String),
    /// Not begun or not finished when the user asked to stop.
    Stopped,
}

/// Runs the command.
pub fn run(args: &Render, inputs: &[Input], rate: SampleRate, ui: &mut Ui) -> Result<(), Failure> {
    let folder = args.output.as_deref().unwrap_or(Path::new("."));
    let orders = orders(inputs, folder, format(args.format).ending())?;
    kilobits(args, format(args.format), rate)?;
    if let Some(Some(file)) = &args.captions {
        let file = file.display();
        return Err(Failure::Usage(format!("--captions={file} is for one file; of several, say --captions alone")));
    }
    std::fs::create_dir_all(folder)
        .map_err(|error| Failure::World(format!("cannot make the folder {}: {error}", folder.display())))?;
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    let (stock, total) = (Stock::default(), orders.len() as u64);
    let bar = Mutex::new((ui.progress(), 0));
    let ended = cores::share(
        cores::count(),
        &orders,
        || (),
        |(), order| {
            let ended = make(order, args, rate, &stock, &stop);
            let mut bar = bar.lock().unwrap_or_else(PoisonError::into_inner);
            bar.1 += 1;
            let done = bar.1;
            crate::progress::Progress::at(&mut bar.0, done, total);
            ended
        },
    );
    bar.into_inner().unwrap_or_else(PoisonError::into_inner).0.done();
    report(&orders, ended, args.json, ui)
}

fn make(order: &Order<'_>, args: &Render, rate: SampleRate, stock: &Stock, stop: &AtomicBool) -> Ended {
    if stop.load(Ordering::Relaxed) {
        return Ended::Stopped;
    }
    let outcome = match prepare::plan(&request(order.input)) {
        Ok(outcome) => outcome,
        Err(error) => return Ended::Failed(error.to_string()),
    };
    let Some(planned) = outcome.planned.filter(|_| !has_errors(&outcome.diagnostics)) else {
        return Ended::Wrong(outcome.diagnostics, outcome.sources);
    };
    let identity = prepare::identity(&order.input.script);
    let format = format(args.format);
    let wanted = may_replace(&order.output, &identity, args.force).and_then(|replace| {
        let (kilobits, captions) = (kilobits(args, format, rate)?, captions(args, &order.output, &identity)?);
        Ok(Wanted { output: &order.output, format, rate, mono: args.mono, replace, kilobits, captions, identity })
    });
    let wanted = match wanted {
        Ok(wanted) => wanted,
        Err(failure) => return Ended::Failed(failure.message().to_owned()),
    };
    match file::render_among(&planned, wanted, stock, stop) {
        Ok(made) => {
            let diagnostics = &outcome.diagnostics;
            match exposure(args, &planned, stop) {
                Ok(exposure) => {
                    let output = &order.output;
                    Ended::Made(Summary { output, made: &made, planned: &planned, diagnostics, exposure }.record())
                }
                Err(error) => Ended::Failed(error),
            }
        }
        Err(Failed::Stopped) => Ended::Stopped,
        Err(error) => Ended::Failed(error.to_string()),
    }
}

/// Names for the files: the script's, and the swimmer's where there are several of them.
fn orders<'a>(inputs: &'a [Input], folder: &Path, ending: &str) -> Result<Vec<Order<'a>>, Failure> {
    let swimmers = inputs.iter().map(|input| &input.swimmer).collect::<std::collections::BTreeSet<_>>().len();
    let stem = |path: &Path| path.file_stem().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    let mut taken: BTreeMap<PathBuf, &Input> = BTreeMap::new();
    let mut orders = Vec::new();
    for input in inputs {
        let swimmer =
            input.swimmer.as_deref().filter(|_| swimmers > 1).map_or(String::new(), |s| format!(" {}", stem(s)));
        let output = folder.join(format!("{}{swimmer}.{ending}", stem(&input.script)));
        if let Some(other) = taken.insert(output.clone(), input) {
            return Err(Failure::Usage(format!(
                "{} and {} would both be written to {}; rename one, or render them into two folders",
                told(other),
                told(input),
                output.display()
            )));
        }
        orders.push(Order { input, output });
    }
    Ok(orders)
}

/// An order in words.
fn told(input: &Input) -> String {
    let script = input.script.display();
    input.swimmer.as_ref().map_or(script.to_string(), |swimmer| format!("{script} for {}", swimmer.display()))
}

#[derive(Serialize)]
struct Unmade {
    output: String,
    error: String,
}

#[derive(Serialize)]
#[serde(untagged)]
enum Row {
    Made(Record),
    Unmade(Unmade),
}

/// Says what was made, in the order asked for, and why the rest was not; ends with the gravest reason.
#[expect(clippy::expect_used, reason = "records of numbers and texts always serialise")]
fn report(orders: &[Order<'_>], ended: Vec<Ended>, as_json: bool, ui: &mut Ui) -> Result<(), Failure> {
    let (mut rows, mut made, mut wrong, mut failed, mut stopped) = (Vec::new(), 0, 0, 0, 0);
    for (order, ended) in orders.iter().zip(ended) {
        let output = order.output.display().to_string();
        let error = match ended {
            Ended::Made(record) => {
                made += 1;
                rows.push(Row::Made(record));
                continue;
            }
            Ended::Wrong(diagnostics, sources) => {
                wrong += 1;
                ui.problems(&diagnostics, &sources);
                format!("{} has errors, shown above", told(order.input))
            }
            Ended::Failed(error) => {
                failed += 1;
                error
            }
            Ended::Stopped => {
                stopped += 1;
                "stopped before it was finished".to_owned()
            }
        };
        rows.push(Row::Unmade(Unmade { output, error }));
    }
    if as_json {
        ui.result(&(serde_json::to_string_pretty(&rows).expect("plain records") + "\n"))?;
    } else {
        ui.result(&table(&rows, ui))?;
    }
    let all = rows.len();
    match (stopped, failed, wrong) {
        (0, 0, 0) => Ok(()),
        (0, 0, _) => Err(Failure::Told),
        (0, ..) => Err(Failure::World(format!("{made} of {all} files were made"))),
        _ => Err(Failure::Interrupted(format!("interrupted; {made} of {all} files were made"))),
    }
}

/// A line for each file.
fn table(rows: &[Row], ui: &Ui) -> String {
    let width = |row: &Row| match row {
        Row::Made(Record { output, .. }) | Row::Unmade(Unmade { output, .. }) => {
            unicode_width::UnicodeWidthStr::width(output.as_str())
        }
    };
    let widest = rows.iter().map(width).max().unwrap_or_default();
    let line = |row: &Row| {
        let blank = " ".repeat(widest - width(row));
        match row {
            Row::Made(record) => {
                let length = Seconds::from_secs(libm::round(record.duration_s) as i64).to_string();
                let loudness = record.loudness_lufs.map_or("silent".to_owned(), |lufs| format!("{lufs:.1} LUFS"));
                let cautions = match record.cautions {
                    0 => String::new(),
                    1 => " · 1 caution".to_owned(),
                    n => format!(" · {n} cautions"),
                };
                let exposure =
                    record.exposure.as_ref().map_or(String::new(), |exposure| format!(" · {}", exposure.brief()));
                format!("{}{blank}  {length:>7} · {loudness}{exposure}{cautions}\n", ui.heading(&record.output))
            }
            Row::Unmade(Unmade { output, error }) => format!("{output}{blank}  not made: {error}\n"),
        }
    };
    let made = rows.iter().map(line).collect::<String>();
    format!(
        "{made}To the pool: copy the files to waterproof players, start at the wall, leave on each long tone.\n\
         Set the level so that a whistle at the wall is still heard. Never swim alone; staff, whistle and alarm come first.\n"
    )
}
