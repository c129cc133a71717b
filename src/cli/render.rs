//! `render`: a cue script as a sound file.

use super::args::{AudienceArg, Render, ScriptArgs};
use super::failure::Failure;
use super::leftovers::sweep;
use super::options::{captions, exposure, format, target};
use super::summary::{self, Summary};
use super::together::{for_whom_it_is, is_for_lanes};
use super::ui::Ui;
use super::{tracks, ui};
use crate::diag::has_errors;
use crate::diag::shown::ShownPath;
use crate::prepare::{identity, stem};
use crate::render::NotRendered;
use crate::render::file::{self, FileOrder};
use crate::render::origin::Origin;
use crate::sink::file::{FileError, is_stdout};
use crate::sink::output::Format;
use crate::units::time::SampleRate;
use std::io::{self, IsTerminal};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// Runs the command.
pub fn run(args: &Render, ui: &mut Ui) -> Result<(), Failure> {
    let rate = SampleRate::new(args.rate).ok_or_else(|| Failure::Usage(format!("no sample rate: {}", args.rate)))?;
    if let Some(roster) = &args.roster {
        return super::roster::run(args, roster, rate, ui);
    }
    if let Some(folder) = &args.lane_files {
        let inputs = args.inputs();
        let input = inputs.first().ok_or_else(|| Failure::Usage("which script?".to_owned()))?;
        return super::apart::run(args, input, folder, rate, ui);
    }
    let in_parts = tracks::asked(args)?;
    if args.output.as_deref().is_some_and(is_stdout) {
        if in_parts || args.inputs().len() > 1 {
            return Err(Failure::Usage("several files cannot go to standard output: name a folder with -o".to_owned()));
        }
        if io::stdout().is_terminal() {
            let message = "standard output is a terminal: send the sound to a program or a file, or name one with -o";
            return Err(Failure::Usage(message.to_owned()));
        }
    }
    let inputs = args.inputs();
    if let Some(input) = inputs.iter().find(|input| is_for_lanes(&args.lanes, input)) {
        for_a_speaker(args, inputs.len(), in_parts)?;
        return one(args, input, rate, ui);
    }
    match inputs.as_slice() {
        [input] if in_parts => tracks::run(args, input, rate, ui),
        [input] => one(args, input, rate, ui),
        several => super::several::run(args, several, rate, ui),
    }
}

fn one(args: &Render, input: &ScriptArgs, rate: SampleRate, ui: &mut Ui) -> Result<(), Failure> {
    let (output, format) = output(args, input)?;
    let target = target(args, format, rate)?;
    let outcome = for_whom_it_is(&args.lanes, input)?;
    ui.problems(&outcome.diagnostics, &outcome.sources);
    let Some(planned) = outcome.planned.filter(|_| !has_errors(&outcome.diagnostics)) else {
        return Err(Failure::Shown);
    };
    let mut order =
        FileOrder::new(&output, target, identity(&input.script, &planned.plan.title), captions(args, &output)?)
            .from(Origin::of(&input.script));
    let to_stdout = is_stdout(&output);
    let files = [Some(output.as_path()).filter(|_| !to_stdout), order.captions()];
    files.into_iter().flatten().try_for_each(|path| sweep(path, ui))?;
    order.settle(|_| args.force).map_err(|error| Failure::world(&error))?;
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    let mut bar = ui.progress();
    let rendered = file::render(&planned, order, &mut bar, &stop);
    bar.done();
    let figures = match rendered {
        Ok(figures) => figures,
        // A reader of the sound that has heard enough is no failure.
        Err(NotRendered::File(FileError::System { source, .. }))
            if to_stdout && source.kind() == io::ErrorKind::BrokenPipe =>
        {
            return Ok(());
        }
        Err(NotRendered::Stopped) => {
            return Err(Failure::Interrupted(format!("interrupted; {} was not written", output.shown())));
        }
        Err(other) => return Err(Failure::World(other.to_string())),
    };
    let exposure = exposure(args, &planned, &stop).map_err(|error| Failure::world(&error))?;
    let diagnostics = &outcome.diagnostics;
    let summary = Summary { output: &output, figures: &figures, planned: &planned, diagnostics, exposure };
    let text = if args.json { summary::json(&summary) } else { summary::text(&summary) };
    if to_stdout {
        ui.message(text);
        return Ok(());
    }
    Ok(ui.result(text)?)
}

/// A lane hears one speaker, from one file.
fn for_a_speaker(args: &Render, inputs: usize, in_parts: bool) -> Result<(), Failure> {
    let message = match args.reading.audience {
        AudienceArg::Speaker if inputs == 1 && !in_parts => return Ok(()),
        AudienceArg::Speaker if in_parts => "a lane is on one clock: leave --split and --player out",
        AudienceArg::Speaker => "the sound of a lane is made of one script at a time",
        AudienceArg::Headphones | AudienceArg::Player => {
            "this practice is for a lane: `--for speaker` makes what its speaker says, `--lane-files DIR` a file for each swimmer, and --swimmer WHO what one hears who swims it alone"
        }
    };
    Err(Failure::Usage(message.to_owned()))
}

/// Where to write, named or the script's name here, and in which format.
fn output(args: &Render, input: &ScriptArgs) -> Result<(PathBuf, Format), Failure> {
    let output = match &args.output {
        Some(output) => output.clone(),
        None => {
            let mut name = stem(&input.script).to_owned();
            if let Some(lane) = &args.lanes.lane_name {
                name.push(format!(" lane {}", lane.replace(['/', '\\'], "-")));
            }
            name.push(".");
            name.push(format(args.format).extension());
            PathBuf::from(name)
        }
    };
    match (Format::of(&output), args.format) {
        (Some(named), Some(asked)) if named != format(Some(asked)) => Err(Failure::Usage(format!(
            "cannot write {} as {}: its name says {named}; change the name, or leave --format out",
            output.shown(),
            format(Some(asked))
        ))),
        (Some(named), _) => Ok((output, named)),
        (None, asked) if asked.is_some() || is_stdout(&output) => Ok((output, format(asked))),
        (None, _) => {
            let extensions: Vec<_> = Format::ALL.iter().map(|format| format!(".{}", format.extension())).collect();
            let (output, extensions) = (output.shown(), extensions.join(" or "));
            Err(Failure::Usage(format!("cannot write {output}: the name must end in {extensions}, or say --format")))
        }
    }
}
