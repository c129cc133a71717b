//! `pack open`: a pack from such a file, put in place. What makes it good is not known here.

use crate::bundle::BundleError;
use crate::bundle::content::About;
use crate::bundle::install::{InstallOutcome, InstallRequest, InstalledPack, open};
use crate::cli::args::OpenArgs;
use crate::cli::failure::Failure;
use crate::cli::leftovers::tell;
use crate::cli::request::user_packs;
use crate::cli::ui::{Ui, stop_on_signals};
use crate::diag::shown::{Shown, ShownPath};
use crate::plan::json::problem;
use crate::sink::leftover::sweep_in;
use serde_json::json;
use std::sync::Arc;

/// Runs the command.
pub fn run(args: &OpenArgs, ui: &mut Ui) -> Result<(), Failure> {
    let folder =
        args.into.clone().or_else(user_packs).ok_or_else(|| {
            Failure::Usage("there is no folder of your own (HOME is not set); say --into DIR".to_owned())
        })?;
    let stop = Arc::default();
    stop_on_signals(&stop)?;
    let request =
        InstallRequest { bundle: args.file.clone(), folder, chosen: args.into.is_some(), replace: args.replace, stop };
    tell(sweep_in(&request.folder), ui)?;
    let opened = open(&request).map_err(|error| failure(error, args.json, ui))?;
    let text = if args.json { record(&opened) } else { text(&opened, &request) };
    Ok(ui.result(text)?)
}

/// Reports what is wrong with a bundle or a pack; what the world did wrong is left to the caller.
pub fn failure(error: BundleError, json: bool, ui: &mut Ui) -> Failure {
    let refusal = match error {
        BundleError::Refused(refusal) => refusal,
        BundleError::Stopped => return Failure::Interrupted(error.to_string()),
        error => return Failure::world(&error),
    };
    if json {
        let problems: Vec<_> = refusal.diagnostics.iter().map(|found| problem(found, &refusal.sources)).collect();
        let record = json!({ "diagnostics": problems });
        if let Err(error) = ui.result(Shown::json(&record)) {
            return error.into();
        }
    } else {
        ui.problems(&refusal.diagnostics, &refusal.sources);
    }
    Failure::Shown
}

fn record(opened: &InstalledPack) -> Shown {
    let (outcome, replaced, before) = match &opened.outcome {
        InstallOutcome::New => ("new", None, None),
        InstallOutcome::Same => ("same", None, None),
        InstallOutcome::Replaced { version, before } => {
            ("replaced", *version, Some(before.to_string_lossy().into_owned()))
        }
    };
    let record = json!({
        "outcome": outcome, "place": opened.place.to_string_lossy().into_owned(), "pack": opened.about,
        "replaced_version": replaced, "kept": before, "missing": opened.missing,
    });
    Shown::json(&record)
}

fn text(opened: &InstalledPack, request: &InstallRequest) -> Shown {
    let InstalledPack { place, about, outcome, missing } = opened;
    let name = &about.name;
    let head = format!("{name}, version {}: {}", about.version, about.title);
    let place = place.shown();
    let mut text = Shown::heading(&head) + "\n";
    text.push(match outcome {
        InstallOutcome::New => format!("opened into {place}\n"),
        InstallOutcome::Same => format!("is there already, the same in every file: {place}\n"),
        InstallOutcome::Replaced { version, before } => {
            let old = version.map_or_else(|| "one that could not be used".to_owned(), |old| format!("version {old}"));
            format!("opened into {place}, in the place of {old}, which is kept in {}\n", before.shown())
        }
    });
    text.push(format!("{}\n{}", contents(about), voice(about)));
    if !missing.is_empty() {
        text.push(format!("It uses packs that are not here: {}. Open those too.\n", missing.join(", ")));
    }
    let packs = if request.chosen { format!(" --packs {}", quoted(&request.folder.shown())) } else { String::new() };
    text.push(format!("Its voice in any practice: lengthwise render SCRIPT{packs} --voice-from {name}\n"));
    if let Some(script) = about.scripts.first() {
        let script = quoted(&format!("{name}/{script}"));
        text.push(format!("A practice of its own: lengthwise render{packs} {script}\n"));
    }
    text
}

/// A name as it can be given to a shell.
pub fn quoted(name: &str) -> String {
    if name.contains([' ', '\'', '(', ')', ',', '&']) { format!("\"{name}\"") } else { name.to_owned() }
}

/// How much is in a pack.
pub fn contents(about: &About) -> String {
    let plural = |count: usize, what: &str| if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") };
    format!(
        "{} · {} · {}",
        plural(about.scripts.len(), "script"),
        plural(about.phrases, "focus phrase"),
        plural(about.recordings, "recording")
    )
}

/// Whose voice it is, and on what terms.
pub fn voice(about: &About) -> String {
    format!("Voice: {}; {}\nLicence: {}\n", about.voice, about.agreed, about.licence)
}
