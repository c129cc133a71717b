//! `play --dry-run` and `--replay`: a session without a device.

use super::args::PlayArgs;
use super::failure::Failure;
use super::leftovers::sweep;
use super::playable::playable;
use super::ui::{self, Ui};
use crate::diag::shown::ShownPath;
use crate::disk;
use crate::prepare;
use crate::prepare::piece::Playable;
use crate::render::dry_run::dry_run;
use crate::render::file::may_replace;
use crate::render::inputs::spare;
use crate::session::SessionEnd;
use crate::session::record::{self, Head, RecordPlace, date_time};
use crate::session::simulated::{NotSimulated, Simulation, TimedInput, inputs_of, read_inputs};
use crate::sink::output::Format;
use crate::units::time::SampleRate;
use std::io::{self, IsTerminal, Read};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::SystemTime;

/// More than anybody steers in a day.
const LARGEST_INPUT: u64 = 1 << 24;

/// The largest session record that is played again, in bytes: days of them.
const LARGEST_RECORD: u64 = 64 << 20;

/// Runs the command.
pub fn run(args: &PlayArgs, ui: &mut Ui) -> Result<(), Failure> {
    let playable = playable(args, ui)?;
    let planned = playable.planned();
    let identity = prepare::identity(&args.input.script, &planned.plan.title);
    let (rate, inputs) = match &args.replay {
        Some(path) => {
            let (head, rate, inputs) = replayed(path)?;
            if !args.anyway {
                is_own(path, &head, &identity, &playable)?;
            }
            (rate, inputs)
        }
        None => {
            let rate = SampleRate::new(args.rate.unwrap_or(SampleRate::CD.hertz())).unwrap_or(SampleRate::CD);
            (rate, asked(rate)?)
        }
    };
    let output = match &args.output {
        Some(path) => {
            let format = Format::of(path)
                .ok_or_else(|| Failure::Usage(format!("cannot write {}: the name must end in .wav", path.shown())))?;
            let inputs = planned.inputs().chain(args.replay.clone());
            spare(inputs, [path.as_path()]).map_err(|error| Failure::world(&error))?;
            sweep(path, ui)?;
            Some((
                path.as_path(),
                format,
                may_replace(path, &format!("dry run of {identity}"), false).map_err(|error| Failure::world(&error))?,
            ))
        }
        None => None,
    };
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    let place = match &args.record {
        Some(path) if path.is_dir() => RecordPlace::Folder(path.clone()),
        Some(path) => RecordPlace::File(path.clone()),
        None => RecordPlace::Nowhere,
    };
    let started = date_time(SystemTime::now());
    let simulation = Simulation { rate, inputs: &inputs, place, started, stop: &stop };
    let mut failed = None;
    let mut tell = |line: &str| {
        if failed.is_none() {
            failed = ui.result(format!("{line}\n")).err();
        }
    };
    let ended = dry_run(&playable, &identity, simulation, output, &mut tell);
    if let Some(error) = failed {
        return Err(error.into());
    }
    let ended = ended.map_err(|error| match error {
        NotSimulated::Stopped => Failure::Interrupted("interrupted".to_owned()),
        other => Failure::World(other.to_string()),
    })?;
    tell_record(&ended, ui)
}

/// The commands on standard input; none where it is a terminal.
fn asked(rate: SampleRate) -> Result<Vec<TimedInput>, Failure> {
    let mut text = String::new();
    if !io::stdin().is_terminal() {
        let mut bytes = Vec::new();
        let read = io::stdin().lock().take(LARGEST_INPUT + 1).read_to_end(&mut bytes);
        read.map_err(|error| Failure::World(format!("cannot read the commands: {error}")))?;
        if bytes.len() as u64 > LARGEST_INPUT {
            let most = LARGEST_INPUT >> 20;
            return Err(Failure::World(format!("cannot read the commands: they are larger than {most} MiB")));
        }
        // What is no text is no command either, and told with its line.
        text = String::from_utf8_lossy(&bytes).into_owned();
    }
    read_inputs(&text, rate).map_err(|problems| Failure::Usage(problems.join("\n")))
}

fn cannot_replay(path: &Path, why: &str) -> Failure {
    Failure::World(format!("cannot play {} again: {why}", path.shown()))
}

/// That a record is of this script and swimmer; if not, why it is not played, and what to do.
fn is_own(path: &Path, head: &Head, identity: &str, playable: &Playable) -> Result<(), Failure> {
    let swimmer = playable.planned().swimmer.name.as_deref();
    let anyway = "--anyway plays its commands with this one all the same";
    if head.script != identity {
        let title = &head.title;
        let why = format!("it is of \"{title}\", another script or another version of this one; {anyway}");
        return Err(cannot_replay(path, &why));
    }
    let was: Vec<&str> = head.lane.iter().flat_map(|lane| &lane.swimmers).map(String::as_str).collect();
    let is: Vec<&str> = playable.lane().iter().flat_map(|lane| &lane.swimmers).map(|who| who.name.as_str()).collect();
    if was != is {
        let name = |names: &[&str]| if names.is_empty() { "one swimmer".to_owned() } else { names.join(", ") };
        let why = format!("it is of {}, and this is for {}: see --lane; {anyway}", name(&was), name(&is));
        return Err(cannot_replay(path, &why));
    }
    if head.swimmer.as_deref() != swimmer {
        let name = |name: Option<&str>| name.map_or_else(|| "a swimmer without a name".to_owned(), str::to_owned);
        let (was, is) = (name(head.swimmer.as_deref()), name(swimmer));
        return Err(cannot_replay(path, &format!("it is of {was}, and this is for {is}: see --swimmer; {anyway}")));
    }
    Ok(())
}

/// The head of a session record, its rate and its commands.
fn replayed(path: &Path) -> Result<(Head, SampleRate, Vec<TimedInput>), Failure> {
    let fail = |why: String| cannot_replay(path, &why);
    let text = disk::read(path, LARGEST_RECORD).map_err(|error| fail(error.to_string()))?;
    let text = String::from_utf8(text).map_err(|_| fail("it is not UTF-8 text".to_owned()))?;
    let (head, lines) = record::read(&text).map_err(|error| fail(error.to_string()))?;
    let rate = SampleRate::new(head.rate).ok_or_else(|| fail(format!("{} is no rate", head.rate)))?;
    let inputs = inputs_of(&lines).map_err(|why| fail(why.to_string()))?;
    Ok((head, rate, inputs))
}

/// Says where the record is; one that is not whole is a failure.
pub(super) fn tell_record(ended: &SessionEnd, ui: &mut Ui) -> Result<(), Failure> {
    if let Some(path) = &ended.record {
        ui.message(format!("what was swum: {}\n", path.shown()));
    }
    match &ended.record_failed {
        Some(why) => Err(Failure::World(format!("the session record is not whole: {why}"))),
        None => Ok(()),
    }
}
