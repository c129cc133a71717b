//! `page`: a practice as a page to look at, listen to and print.

use super::args::{PageArgs, ScriptArgs};
use super::failure::Failure;
use super::options::make_folder;
use super::page_file::{check_name, is_earlier, write};
use super::request::request;
use super::roster::{open, problems};
use super::together::for_whom_it_is;
use super::ui::{self, Ui};
use crate::diag::shown::printable;
use crate::diag::{Diagnostic, Severity, has_errors};
use crate::disk::{self, Access};
use crate::page::practice::PracticePage;
use crate::page::typed::DecimalMark;
use crate::prepare::{Planned, identity, stem};
use crate::render::file::{self, FileOrder};
use crate::render::inputs::spare;
use crate::render::origin::Origin;
use crate::render::squad::Shard;
use crate::render::target::Target;
use crate::render::{NotRendered, Unmade};
use crate::sink::file::{Replace, is_stdout};
use crate::sink::output::Format;
use crate::units::time::SampleRate;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// The sound of a page: one channel, and enough for words and beats from a telephone.
const KILOBITS: u32 = 64;
/// The largest sound of a page, in bytes: beyond it browsers refuse the file.
const LARGEST_SOUND: u64 = 300_000_000;

/// Runs the command.
pub fn run(args: &PageArgs, ui: &mut Ui) -> Result<(), Failure> {
    if let Some(roster) = &args.roster {
        return of_squad(args, roster, ui);
    }
    let input = &args.input;
    let output = output(args)?;
    let outcome = for_whom_it_is(&args.lanes, input)?;
    ui.problems(&outcome.diagnostics, &outcome.sources);
    let Some(planned) = outcome.planned.filter(|_| !has_errors(&outcome.diagnostics)) else {
        return Err(Failure::Shown);
    };
    make(args, &output, (&planned, &outcome.diagnostics), ui)
}

/// A page for each of a squad; who cannot have one stops nobody.
fn of_squad(args: &PageArgs, roster: &Path, ui: &mut Ui) -> Result<(), Failure> {
    let Some(folder) = args.output.as_deref().filter(|folder| !is_stdout(folder)) else {
        return Err(Failure::Usage("a squad's pages go into a folder: name it with -o DIR".to_owned()));
    };
    let squad = open(roster, &[request(&args.input)], ui)?;
    let _made = make_folder(folder, Access::Private)?;
    let (mut wrong, mut failed) = (0, None);
    let findings = squad.plan_each(|name, own, planned| {
        // The first failure of the disk or of somebody's wish to stop is enough.
        if failed.is_some() {
            return;
        }
        match planned {
            Err(why) => {
                wrong += 1;
                let (Unmade::Wrong(why) | Unmade::Failed(why)) = why else { return };
                ui.message(format!("{}: no page, {}\n", printable(name), printable(why)));
            }
            Ok(planned) => failed = make(args, &folder.join(format!("{own}.html")), planned, ui).err(),
        }
    });
    problems(&findings, &squad, Shard::WHOLE, ui);
    failed.map_or(Ok(()), Err)?;
    if wrong > 0 { Err(Failure::Shown) } else { Ok(()) }
}

/// The page of a practice, with what was found in it.
fn make(
    args: &PageArgs,
    output: &Path,
    (planned, found): (&Planned, &[Diagnostic]),
    ui: &mut Ui,
) -> Result<(), Failure> {
    let script = &args.input.script;
    let identity = identity(script, &planned.plan.title);
    let replace = may_replace(args, output, &identity, planned)?;
    let sound = if args.sound { Some(sound(planned, &args.input, ui)?) } else { None };
    let cautions = found.iter().filter(|found| found.severity() == Severity::Caution);
    let cautions: Vec<String> = cautions.map(|found| found.message.clone()).collect();
    let page = PracticePage {
        planned,
        cautions: &cautions,
        identity: &identity,
        sound: sound.as_deref(),
        decimals: DecimalMark::comma(args.decimal_comma),
    };
    write(output, &page.html(), replace, ui)?;
    if let Some(origin) = Origin::of(script).filter(|_| !is_stdout(output)) {
        origin.mark(output);
    }
    Ok(())
}

fn output(args: &PageArgs) -> Result<PathBuf, Failure> {
    let Some(output) = &args.output else {
        let mut name = stem(&args.input.script).to_owned();
        name.push(".html");
        return Ok(PathBuf::from(name));
    };
    check_name(output)?;
    Ok(output.clone())
}

/// A page gives way to the next of the same practice, and to nothing else unasked.
fn may_replace(args: &PageArgs, output: &Path, identity: &str, planned: &Planned) -> Result<Replace, Failure> {
    if is_stdout(output) {
        return Ok(Replace::Never);
    }
    spare(planned.inputs(), [output]).map_err(|error| Failure::world(&error))?;
    if args.force {
        return Ok(Replace::Yes);
    }
    // Whatever else has the name is met where the file is made.
    if !is_earlier(output, identity) {
        return Ok(Replace::Never);
    }
    let origin = Origin::of(&args.input.script);
    origin.map_or(Ok(()), |origin| origin.check(output)).map_err(|error| Failure::world(&error))?;
    Ok(Replace::Yes)
}

/// The practice as MP3.
fn sound(planned: &Planned, input: &ScriptArgs, ui: &Ui) -> Result<Vec<u8>, Failure> {
    let target = Target::new(Format::Mp3, SampleRate::CD, true, Some(KILOBITS))
        .map_err(|unfit| Failure::Usage(unfit.to_string()))?;
    let folder = tempfile::tempdir().map_err(|error| Failure::World(format!("no room for the sound: {error}")))?;
    let path = folder.path().join("page.mp3");
    let order = FileOrder::new(&path, target, identity(&input.script, &planned.plan.title), None);
    let stop = Arc::new(AtomicBool::new(false));
    ui::stop_on_signals(&stop)?;
    let mut bar = ui.progress();
    let rendered = file::render(planned, order, &mut bar, &stop);
    bar.done();
    match rendered {
        Ok(_) => disk::read(&path, LARGEST_SOUND)
            .map_err(|error| Failure::World(format!("the sound does not fit into a page: {error}"))),
        Err(NotRendered::Stopped) => Err(Failure::Interrupted("interrupted; no page was written".to_owned())),
        Err(other) => Err(Failure::World(other.to_string())),
    }
}
