//! `pack say`: one text as the swimmer hears it.

use super::shelf::shelf;
use crate::audio::voice::HeardThrough;
use crate::authoring::say::{self, By};
use crate::cli::args::{AudienceArg, Say};
use crate::cli::failure::Failure;
use crate::cli::ui::{Ui, speech, stop_on_signals};
use crate::device::Wish;
use crate::device::output;
use crate::diag::shown::ShownPath;
use crate::session::audition::{Audition, NotHeard};
use crate::sink::file::Replace;
use crate::sink::output::Format;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// How long the first device may take.
const PATIENCE: Duration = Duration::from_secs(5);

/// Runs the command.
pub fn run(args: &Say, ui: &mut Ui) -> Result<(), Failure> {
    if let Some(path) = args.output.as_ref().filter(|path| Format::of(path) != Some(Format::Wav)) {
        return Err(Failure::Usage(format!("cannot write {}: the name of the file must end in .wav", path.shown())));
    }
    let heard = match args.audience {
        AudienceArg::Headphones | AudienceArg::Player => HeardThrough::Headphones,
        AudienceArg::Speaker => HeardThrough::Speaker,
    };
    let said = say::find(&args.phrase, args.short, args.pack.as_deref(), &shelf(&args.shelves), speech().as_ref())
        .map_err(|error| Failure::Usage(error.to_string()))?;
    let who = match &said.by {
        By::Pack(pack) => format!("recorded in {pack}"),
        By::BuiltIn => "no recording: said by the built-in voice".to_owned(),
        By::Tone => "no recording, and no voice in its language: a tone stands for it".to_owned(),
    };
    ui.message(format!("{}/{}: \"{}\" ({who})\n", said.pack, said.id, said.text));
    if let Some(path) = &args.output {
        let replace = if args.force { Replace::Yes } else { Replace::Never };
        said.write(path, replace, heard).map_err(|error| Failure::world(&error))?;
        ui.message(format!("wrote {}\n", path.shown()));
        return Ok(());
    }
    let stop = Arc::new(AtomicBool::new(false));
    stop_on_signals(&stop)?;
    let failure = |error: NotHeard| Failure::world(&error);
    ui.alone();
    let wish = Wish { name: args.device.clone(), buffer: None };
    let found = output::find(&wish).wait(PATIENCE).map_err(|error| Failure::world(&error))?;
    let bank = said.bank(found.rate(), heard).map_err(|error| Failure::world(&error))?;
    Audition::of(bank, found).map_err(failure)?.wait(&stop).map_err(failure)?;
    // Only a flag: nothing else is read through it.
    if stop.load(Ordering::Relaxed) { Err(Failure::Interrupted("interrupted".to_owned())) } else { Ok(()) }
}
