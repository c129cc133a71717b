//! `new`: a cue script from a template or from a whiteboard, or a profile. What a board means is not known here.

use super::args::{New, TemplateName};
use super::failure::Failure;
use super::leftovers::sweep;
use super::new_profile;
use super::ui::{self, Ui};
use crate::authoring::board::{BoardOrder, BoardOutcome, make};
use crate::cli::request::user_packs;
use crate::diag::shown::ShownPath;
use crate::prepare::PracticeRequest;
use crate::script::schema;
use crate::script::templates;
use crate::sink::file::{FileError, Fresh, Replace};
use crate::whiteboard::context::BoardWater;
use std::io::{Read, Write};
use std::path::Path;

/// The largest board that is taken from standard input; what is larger is refused where it is read.
const MOST_READ: u64 = 1 << 20;

/// Runs the command.
pub fn run(args: &New, ui: &mut Ui) -> Result<(), Failure> {
    // Only with --schema can the name be absent, as the arguments are declared.
    let name = match &args.name {
        Some(name) if !args.schema => name.as_path(),
        _ => return Ok(ui.result(schema::schema())?),
    };
    let to_stdout = name == Path::new("-");
    if !to_stdout {
        script_name(name, false)?;
    }
    let whole = |text| FromBoard { text, incomplete: None };
    let FromBoard { text, incomplete } = match &args.from {
        _ if args.profile => whole(new_profile::draft(args, ui)?.text),
        None => whole(template(args.template).text.to_owned()),
        Some(board) => from_board(args, name, board, ui)?,
    };
    if to_stdout {
        ui.result(&text)?;
        return incomplete.map_or(Ok(()), |why| {
            ui.message(why);
            Err(Failure::Shown)
        });
    }
    sweep(name, ui)?;
    save(name, &text, Replace::Never)?;
    ui.message(format!("wrote {}\n", name.shown()));
    let failed = incomplete.is_some();
    incomplete.into_iter().for_each(|why| ui.message(why));
    let name = shell_word(&name.shown());
    let next = if args.profile {
        format!(
            "next: read and change it in any text editor, then\n  lengthwise check first-lengths/level-body --swimmer {name}   a practice for this swimmer\n"
        )
    } else {
        format!(
            "next: read and change it in any text editor, then\n  lengthwise check {name}    the plan, and what does not fit\n  lengthwise render {name}   the sound file for the pool\n"
        )
    };
    ui.message(next);
    if failed { Err(Failure::Shown) } else { Ok(()) }
}

/// The script of a board.
struct FromBoard {
    text: String,
    /// What of the board the script lacks, if it lacks anything: the command fails then, though the file is there.
    incomplete: Option<String>,
}

fn template(template: TemplateName) -> templates::Template {
    match template {
        TemplateName::FirstPractice => templates::FIRST_PRACTICE,
        TemplateName::Ladder => templates::LADDER,
        TemplateName::TimedSet => templates::TIMED_SET,
        TemplateName::OpenWater => templates::OPEN_WATER,
        TemplateName::ThreeLanes => templates::THREE_LANES,
    }
}

/// The name ends as scripts do, and nothing has it unless it may be replaced; asked before any work, and again by the file itself.
pub(super) fn script_name(name: &Path, may_replace: bool) -> Result<(), Failure> {
    let lower = name.extension().map(|extension| extension.to_ascii_lowercase());
    if !lower.is_some_and(|extension| extension == "yaml" || extension == "yml") {
        let better = name.with_extension("yaml");
        let message = format!("cannot write {}: its name must end in .yaml, such as {}", name.shown(), better.shown());
        return Err(Failure::Usage(message));
    }
    // A link to nowhere has a name too.
    if !may_replace && name.symlink_metadata().is_ok() { Err(exists(name)) } else { Ok(()) }
}

fn exists(name: &Path) -> Failure {
    Failure::World(format!("{} exists already and stays as it is; choose another name", name.shown()))
}

/// Writes a script, whole or not at all.
pub(super) fn save(name: &Path, text: &str, replace: Replace) -> Result<(), Failure> {
    let failed = |error: FileError| match error {
        FileError::Exists { path } => exists(&path),
        other => Failure::world(&other),
    };
    let mut file = Fresh::create(name, replace).map_err(failed)?;
    let written = file.write_all(text.as_bytes()).and_then(|()| file.flush());
    written.map_err(|error| Failure::World(format!("cannot write {}: {error}", name.shown())))?;
    file.commit().map_err(failed)
}

/// The script of a board, reported line by line.
fn from_board(args: &New, name: &Path, board: &str, ui: &mut Ui) -> Result<FromBoard, Failure> {
    let place = args.pool.as_deref().unwrap_or("25 m");
    let place = BoardWater::parse(place).map_err(|fault| {
        let hint = fault.hint.map_or_else(String::new, |hint| format!("; {hint}"));
        Failure::Usage(format!("--pool: {}{hint}", fault.message))
    })?;
    let board = if board == "-" { from_stdin()? } else { board.to_owned() };
    let wanted = BoardOrder {
        text: &board,
        name: "whiteboard",
        place,
        title: args.title.as_deref().unwrap_or("Whiteboard practice"),
        pack: args.pack.as_deref(),
    };
    let request = PracticeRequest {
        script: name.to_owned(),
        swimmer: args.swimmer.clone(),
        packs: args.packs.clone(),
        user_packs: user_packs(),
        speech: ui::speech(),
        ..PracticeRequest::default()
    };
    let made = make(&wanted, &request).map_err(|error| Failure::world(&error))?;
    ui.message(understood(&made, &wanted.place));
    ui.problems(&made.diagnostics, &made.sources);
    let Some(text) = made.script else {
        ui.message("nothing was written\n");
        return Err(Failure::Shown);
    };
    let entries = made.understood.len();
    let incomplete = if made.left_out > 0 {
        let are = if made.left_out == 1 { "is a comment" } else { "are comments" };
        Some(format!("{} of the board's {entries} parts {are} in the script, with the problem\n", made.left_out))
    } else if made.plan.is_none() && args.swimmer.is_some() {
        Some("written all the same, with these problems as comments\n".to_owned())
    } else {
        if made.plan.is_none() {
            ui.message("written all the same, with these problems as comments: give your own times with --swimmer\n");
        }
        None
    };
    Ok(FromBoard { text, incomplete })
}

fn from_stdin() -> Result<String, Failure> {
    let mut bytes = Vec::new();
    let failed = |error| Failure::World(format!("cannot read the board from standard input: {error}"));
    std::io::stdin().take(MOST_READ).read_to_end(&mut bytes).map_err(failed)?;
    String::from_utf8(bytes).map_err(|_| Failure::World("the board on standard input is no UTF-8 text".into()))
}

/// What was understood, a paragraph for each entry of the board.
fn understood(made: &BoardOutcome, place: &BoardWater) -> String {
    if made.understood.is_empty() {
        return String::new();
    }
    let mut text = format!(
        "Understood, in {}:\n",
        if place.length.is_some() { format!("a pool of {}", place.text) } else { place.text.clone() }
    );
    for entry in &made.understood {
        text.push_str(&format!("  {}\n", entry.board));
        for line in &entry.means {
            text.push_str(&format!("      {line}\n"));
        }
        for assumed in &entry.assumed {
            text.push_str(&format!("      assumed: {assumed}\n"));
        }
    }
    if let Some(plan) = &made.plan {
        let minutes = (plan.duration.as_f64() / 60.0).round();
        let without = if made.left_out > 0 { " without what is left out" } else { "" };
        let (all, unit) = (plan.distance, plan.unit);
        text.push_str(&format!("In all {all} {unit}{without}, about {minutes} min; pack {}\n", made.pack));
    }
    text
}

/// A name as a shell takes it.
fn shell_word(name: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./".contains(c);
    if name.chars().all(plain) { name.to_owned() } else { format!("'{}'", name.replace('\'', "'\\''")) }
}
