//! `pack speak`: the texts of a pack that nobody has recorded, spoken once into ordinary recordings.

use super::shelf::{open, shelf};
use crate::authoring::bake::{self, VoiceTool};
use crate::cli::args::SpeakTexts;
use crate::cli::failure::Failure;
use crate::cli::ui::Ui;
use crate::cli::wanted;
use crate::diag::has_errors;
use crate::diag::shown::Shown;
use crate::units::time::Seconds;

/// Runs the command.
pub fn run(args: &SpeakTexts, ui: &mut Ui) -> Result<(), Failure> {
    let shelf = shelf(&args.shelves);
    let pack = open(&shelf, &args.pack)?;
    let (choice, found) = wanted::find(&pack, &args.wanted, &shelf, ui)?;
    let Some(manifest) = &pack.manifest else { return Err(Failure::Shown) };
    if found.prompts.is_empty() {
        ui.message(wanted::nothing(&choice));
    } else if args.list {
        let mut list = Shown::default();
        for prompt in &found.prompts {
            list.push(format!("{}.flac\t{}\n", prompt.key(), prompt.text));
        }
        ui.result(list)?;
    } else {
        let Some(folder) = &pack.folder else {
            return Err(Failure::Usage(format!(
                "`{0}` comes with the program and cannot be written to; `lengthwise pack new my-pack --texts-of {0}` makes a pack of your own of its texts",
                pack.name
            )));
        };
        let Some(tools) = &args.tools else {
            return Err(Failure::Usage(
                "--tools DIR is needed to speak: the folder with the voice in it (see `pack speak --help`); --list only tells what would be spoken"
                    .to_owned(),
            ));
        };
        if manifest.voice != "synthetic" {
            return Err(Failure::Usage(format!(
                "this pack is the voice of {}; a synthetic voice does not go into it. Put these texts into a pack of their own with `voice: synthetic`",
                manifest.voice
            )));
        }
        let voice = VoiceTool { python: args.python.clone(), tools: tools.clone() };
        let all = found.prompts.len();
        let told = |done: usize, file: &str, len: Seconds| {
            ui.message(format!("{done} of {all}  {file}  {:.1} s\n", len.as_f64()));
            Ok(())
        };
        bake::bake(folder, &found.prompts, &voice, told).map_err(|error| Failure::world(&error))?;
    }
    if has_errors(&pack.problems) || has_errors(&found.diagnostics) { Err(Failure::Shown) } else { Ok(()) }
}
