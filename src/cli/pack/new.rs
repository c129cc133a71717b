//! `pack new`: begins a cue pack. What has not been given is asked; without the speaker's word nothing is made.

use super::shelf::shelf;
use crate::authoring::new_pack::{self, NotMade};
use crate::cli::args::NewPack;
use crate::cli::ask::{ask, refused};
use crate::cli::failure::Failure;
use crate::cli::leftovers::sweep;
use crate::cli::ui::Ui;
use crate::diag::shown::ShownPath;
use crate::pack::begin::PackDetails;
use crate::pack::manifest::is_word;

/// Runs the command.
pub fn run(args: &NewPack, ui: &mut Ui) -> Result<(), Failure> {
    new_pack::check_name(&args.folder).map_err(failure)?;
    let name = args.folder.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let voice = match &args.voice {
        Some(voice) => voice.clone(),
        None => ask(ui, "Whose voice will it be? A first name is enough")?,
    };
    let voice = voice.trim().to_owned();
    if voice.is_empty() {
        return Err(refused("whose voice it is must be known"));
    }
    // Who gives everything on the command line says there whether it is a child.
    let child = args.child
        || (args.agreed.is_none() && is_yes(&ask(ui, &format!("Is {voice} a child, under 18? yes or no"))?, ui)?);
    let guardian = match &args.guardian {
        _ if !child => None,
        Some(guardian) => Some(guardian.clone()),
        None => Some(ask(ui, &format!("Which guardian of {voice} agreed?"))?),
    };
    let guardian = guardian.map(|guardian| guardian.trim().to_owned());
    if guardian.as_ref().is_some_and(|guardian| !is_word(guardian)) {
        return Err(refused("no child's voice goes into a pack without a guardian's word"));
    }
    let who = guardian.as_deref().unwrap_or(&voice);
    let agreed = match &args.agreed {
        Some(agreed) => agreed.clone(),
        None => {
            ask(ui, &format!("Did {who} agree, when, and for what use? Such as: on 3 May, for this club. Empty: no"))?
        }
    };
    let agreed = agreed.trim().to_owned();
    if !is_word(&agreed) {
        return Err(refused(&format!("nobody's voice goes into a pack without that person's word; ask {who} first")));
    }
    let wanted = PackDetails {
        title: args.title.clone().unwrap_or_else(|| titled(&name)),
        language: args.language.clone(),
        licence: args.licence.clone(),
        voice,
        agreed,
        guardian,
    };
    sweep(&args.folder, ui)?;
    new_pack::make(&args.folder, &wanted, &args.texts_of, &shelf(&args.shelves)).map_err(failure)?;
    let folder = args.folder.shown();
    ui.message(format!(
        "made {folder}\nnext: change its texts in {folder}/pack.yaml in any text editor, then\n  lengthwise record {folder}       speak them\n  lengthwise pack check {folder}   what is missing, and what could be better\n"
    ));
    Ok(())
}

fn failure(error: NotMade) -> Failure {
    if error.is_of_the_world() { Failure::world(&error) } else { Failure::Usage(error.to_string()) }
}

fn is_yes(answer: &str, ui: &mut Ui) -> Result<bool, Failure> {
    let mut answer = answer.to_lowercase();
    loop {
        match answer.as_str() {
            "y" | "yes" => return Ok(true),
            "n" | "no" => return Ok(false),
            _ => answer = ask(ui, "Please answer yes or no")?.to_lowercase(),
        }
    }
}

/// A title of a pack's name: "My voice" of `my-voice`.
fn titled(name: &str) -> String {
    let mut letters = name.replace('-', " ");
    if let Some(first) = letters.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    letters
}
