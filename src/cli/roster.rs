//! `render --roster`: one practice for each of a squad, reported swimmer by swimmer.

use super::args::{AudienceArg, CaptionsPlace, Render};
use super::failure::Failure;
use super::leftovers::tell;
use super::options::{NoExposure, exposure, format, make_folder, target, verdict};
use super::request::request;
use super::summary::{RenderRecord, Summary};
use super::ui::Ui;
use super::{tracks, ui};
use crate::diag::Severity;
use crate::diag::shown::{Shown, printable};
use crate::disk::Access;
use crate::practice::Audience;
use crate::prepare::{Planned, PracticeRequest};
use crate::progress::Progress;
use crate::render::squad::{Shard, Squad, SquadDone, SquadFinding, SquadOrder, SquadRow, Unusable};
use crate::render::{MadeFile, PracticeEnd, PracticeFiles, Tally, Unmade};
use crate::sink::file::is_stdout;
use crate::units::time::{SampleRate, Seconds};
use serde::Serialize;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex, PoisonError};

/// So many problems are shown; who has more mends those first.
const MOST_SHOWN: usize = 40;
/// So many names are said of those whose problem it is.
const MOST_NAMED: usize = 4;

/// Runs the command.
pub fn run(args: &Render, roster: &Path, rate: SampleRate, ui: &mut Ui) -> Result<(), Failure> {
    let shard = args.shard.unwrap_or(Shard::WHOLE);
    let order = order(args, rate)?;
    let requests: Vec<_> = args.inputs().iter().map(request).collect();
    let requests: Vec<_> = requests
        .into_iter()
        .map(|mut request| {
            if order.player {
                request.audience = Audience::Player;
            }
            request
        })
        .collect();
    let squad = open(roster, &requests, ui)?;
    make(args, &squad, &order, shard, ("each swimmer's folder goes on their own player.", ui))
}

/// The roster, and the scripts for it.
pub(super) fn open(roster: &Path, requests: &[PracticeRequest], ui: &mut Ui) -> Result<Squad, Failure> {
    match Squad::open(roster, requests) {
        Ok(squad) => Ok(squad),
        Err(Unusable::Unreadable(error)) => Err(Failure::world(&error)),
        Err(Unusable::Wrong(problems, sources)) => {
            ui.problems(&problems, &sources);
            Err(Failure::Shown)
        }
        Err(Unusable::Twice(stem)) => {
            let message = format!("two scripts are called {stem}; rename one, or render them into two folders");
            Err(Failure::Usage(message))
        }
    }
}

/// Makes the files of a squad and says what came of each; `to_the_pool` is what is to be done with them.
pub(super) fn make(
    args: &Render,
    squad: &Squad,
    order: &SquadOrder<'_>,
    shard: Shard,
    (to_the_pool, ui): (&str, &mut Ui),
) -> Result<(), Failure> {
    let _made = make_folder(order.folder, Access::Private)?;
    tell(squad.sweep(order), ui)?;
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    let bar = Mutex::new(ui.progress());
    let keep = |done: &SquadDone<'_>| record(args, done, &stop);
    let progress = |done, total| bar.lock().unwrap_or_else(PoisonError::into_inner).at(done, total);
    let (rows, findings) = squad.make(order, shard, keep, progress, &stop);
    bar.into_inner().unwrap_or_else(PoisonError::into_inner).done();
    problems(&findings, squad, shard, ui);
    if let strangers @ [_, ..] = squad.strangers(order.folder).as_slice() {
        let shown: Vec<&str> = strangers.iter().take(MOST_NAMED).map(String::as_str).collect();
        let more = strangers.len().saturating_sub(MOST_NAMED);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        ui.message(format!("not in this roster, left as they are: {}{more}\n", shown.join(", ")));
    }
    report(&rows, args.json, (to_the_pool, ui))
}

/// What the arguments ask for.
fn order(args: &Render, rate: SampleRate) -> Result<SquadOrder<'_>, Failure> {
    let usage = |message: &str| Err(Failure::Usage(message.to_owned()));
    let Some(folder) = args.player.as_deref().or(args.output.as_deref()) else {
        return usage("a squad's files go into a folder: name it with -o DIR, or with --player DIR");
    };
    match (&args.player, args.reading.audience) {
        (None, AudienceArg::Player) => return usage("tracks for a player are a folder: name it with --player DIR"),
        (Some(_), AudienceArg::Speaker) => {
            return usage("--player is for the ear, --for speaker for the wall: leave one of them out");
        }
        _ => {}
    }
    if is_stdout(folder) {
        return usage("a squad's files go into a folder: name it with -o DIR, or with --player DIR");
    }
    if matches!(args.captions(), CaptionsPlace::In(_)) {
        return usage("--captions=FILE is for one file; of a squad, say --captions alone");
    }
    let player = args.player.is_some();
    let format = if player && args.format.is_none() { tracks::smallest() } else { format(args.format) };
    let target = target(args, format, rate)?;
    let captions = args.captions() != CaptionsPlace::Nowhere;
    Ok(SquadOrder { folder, player, captions, target, force: args.force })
}

/// A practice in numbers.
#[derive(Debug, Serialize)]
struct PracticeRecord {
    duration_s: f64,
    cautions: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    render: Option<RenderRecord>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    files: Vec<tracks::FileRecord>,
    #[serde(skip_serializing_if = "Option::is_none")]
    exposure: Option<super::hearing::ExposureRecord>,
}

/// What is kept of a practice. The ears are asked of what is new, and of the rest only if the level is given here.
fn record(args: &Render, done: &SquadDone<'_>, stop: &AtomicBool) -> Result<PracticeRecord, NoExposure> {
    let SquadDone { output, planned, diagnostics, files } = done;
    let estimate = if files.is_some() || args.max_level.is_some() { exposure(args, planned, stop)? } else { None };
    let cautions = diagnostics.iter().filter(|problem| problem.severity() == Severity::Caution).count();
    let duration_s = duration(planned, *files);
    let exposure = estimate.as_ref().map(super::hearing::ExposureRecord::of);
    let (render, files) = match files {
        Some(PracticeFiles::One(figures)) => {
            (Some(Summary { output, figures, planned, diagnostics, exposure: None }.record()), Vec::new())
        }
        Some(PracticeFiles::Tracks(files)) => (None, files.iter().map(tracks::FileRecord::of).collect()),
        None => (None, Vec::new()),
    };
    Ok(PracticeRecord { duration_s, cautions, render, files, exposure })
}

fn duration(planned: &Planned, files: Option<&PracticeFiles>) -> f64 {
    let seconds = |file: &MadeFile| file.figures.len().as_f64();
    match files {
        Some(PracticeFiles::One(figures)) => figures.len().as_f64(),
        Some(PracticeFiles::Tracks(files)) => files.iter().map(seconds).sum(),
        None => planned.built.timeline.len().as_f64(),
    }
}

/// Says what was found wrong: each thing once, with those whose it is.
pub(super) fn problems(findings: &[SquadFinding], squad: &Squad, shard: Shard, ui: &mut Ui) {
    let mut before: Option<&[usize]> = None;
    for finding in findings.iter().take(MOST_SHOWN) {
        // What all have is nobody's in particular.
        if finding.members.len() < squad.count(shard) && before != Some(&finding.members) {
            let names: Vec<&str> = finding.members.iter().take(MOST_NAMED).map(|member| squad.name(*member)).collect();
            let more = finding.members.len().saturating_sub(MOST_NAMED);
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            ui.message(format!("{}{more}:\n", names.join(", ")));
        }
        before = Some(&finding.members);
        ui.problems(std::slice::from_ref(&finding.diagnostic), &finding.sources);
    }
    if let Some(more) = findings.len().checked_sub(MOST_SHOWN).filter(|more| *more > 0) {
        ui.message(format!("{more} more problems\n\n"));
    }
}

#[derive(Serialize)]
struct SquadReport<'a> {
    made: usize,
    unchanged: usize,
    failed: usize,
    /// Files of practices that were not asked for now, which stay.
    other_files: usize,
    practices: Vec<PracticeLine<'a>>,
}

#[derive(Serialize)]
struct PracticeLine<'a> {
    swimmer: &'a str,
    output: String,
    state: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    error: Option<&'a str>,
    #[serde(flatten)]
    record: Option<&'a PracticeRecord>,
}

/// Says what came of each, in the roster's order.
fn report(rows: &[SquadRow<PracticeRecord>], as_json: bool, (to_the_pool, ui): (&str, &mut Ui)) -> Result<(), Failure> {
    let (mut tally, mut other_files) = (Tally::default(), 0);
    let mut practices = Vec::with_capacity(rows.len());
    for row in rows {
        tally.count(&row.end);
        other_files += row.others;
        let (state, error, record) = match &row.end {
            PracticeEnd::Made(record) => ("made", None, Some(record)),
            PracticeEnd::Unchanged(record) => ("unchanged", None, Some(record)),
            PracticeEnd::Unmade(Unmade::Wrong(error) | Unmade::Failed(error)) => ("failed", Some(error.as_str()), None),
            PracticeEnd::Unmade(Unmade::Stopped) => ("stopped", Some("stopped before it was finished"), None),
        };
        let output = row.output.to_string_lossy().into_owned();
        practices.push(PracticeLine { swimmer: &row.swimmer, output, state, error, record });
    }
    let Tally { made, unchanged, .. } = tally;
    let report = SquadReport { made, unchanged, failed: tally.unmade(), other_files, practices };
    if as_json {
        ui.result(Shown::json(&report))?;
    } else {
        ui.result(table(&report, to_the_pool))?;
    }
    verdict(tally, &format!("{} of {} practices are there", tally.there(), tally.all()))
}

/// A line for each practice, and what to do with them.
fn table(report: &SquadReport<'_>, to_the_pool: &str) -> Shown {
    let width = |text: &str| unicode_width::UnicodeWidthStr::width(text);
    let widest = report.practices.iter().map(|line| width(line.swimmer)).max().unwrap_or(0);
    let line = |line: &PracticeLine<'_>| {
        let blank = " ".repeat(widest - width(line.swimmer));
        let name = Shown::heading(line.swimmer);
        let Some(record) = line.record else {
            return name + format!("{blank}  {}: {}\n", line.state, line.error.unwrap_or_default());
        };
        let length = Seconds::from_secs(libm::round(record.duration_s) as i64).to_string();
        let exposure = record.exposure.as_ref().map_or(String::new(), |exposure| format!(" · {}", exposure.brief()));
        name + format!("{blank}  {:9}  {length:>7}  {}{exposure}\n", line.state, printable(&line.output))
    };
    let lines: Shown = report.practices.iter().map(line).collect();
    let SquadReport { made, unchanged, failed, other_files, .. } = report;
    let others = match other_files {
        0 => String::new(),
        1 => "1 file of another practice stays in these folders\n".to_owned(),
        n => format!("{n} files of other practices stay in these folders\n"),
    };
    let counted = format!("{made} made · {unchanged} unchanged · {failed} failed\n{others}");
    if *made == 0 {
        return lines + counted;
    }
    lines
        + counted
        + format!("To the pool: {to_the_pool} Start at the wall, leave on each long tone.\n")
        + "Set the level so that a whistle at the wall is still heard. Never swim alone; staff, whistle and alarm come first.\n"
}
