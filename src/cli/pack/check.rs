//! `pack check`: every script and every recording of a pack.

use super::shelf::{open, shelf};
use crate::authoring::pack_check::{self, Checked, CheckedScript, Finding};
use crate::cli::args::CheckPack;
use crate::cli::columns::columns;
use crate::cli::failure::Failure;
use crate::cli::ui::{Ui, speech};
use crate::diag::Severity;
use crate::diag::shown::{Shown, ShownPath};
use crate::pack::shelf::HeardFrom;
use crate::plan::json::problem;
use serde_json::{Value, json};

/// What is said of a pack in a language that the built-in voice does not speak.
const NOT_COMPARED: &str =
    "its recordings are not compared with the length of their texts: that is done in English alone";

/// Runs the command.
pub fn run(args: &CheckPack, ui: &mut Ui) -> Result<(), Failure> {
    let shelf = shelf(&args.shelves);
    let checked = pack_check::check(open(&shelf, &args.pack)?, &shelf, speech().as_ref());
    let text = if args.json {
        Shown::json(&record(&checked))
    } else {
        problems(&checked, ui);
        page(&checked)
    };
    ui.result(text)?;
    if checked.has_errors() { Err(Failure::Shown) } else { Ok(()) }
}

/// Shows what is wrong in the pack's texts.
fn problems(checked: &Checked, ui: &mut Ui) {
    ui.problems(&checked.opened.problems, &checked.opened.sources);
    for script in &checked.scripts {
        ui.problems(&script.problems, &script.sources);
        if let Some(why) = &script.unreadable {
            ui.error(why);
        }
    }
}

/// Shows why a pack cannot be passed on: as its own result for a program, as messages for a person.
pub fn refuse(checked: &Checked, json: bool, ui: &mut Ui) -> Failure {
    if json {
        return ui.result(Shown::json(&record(checked))).map_or_else(Failure::from, |()| Failure::Shown);
    }
    problems(checked, ui);
    for finding in checked.findings.iter().filter(|finding| finding.severity == Severity::Error) {
        ui.error(&format!("{} {}; {}", finding.file, finding.message, finding.advice));
    }
    ui.message("nothing was written\n");
    Failure::Shown
}

fn page(checked: &Checked) -> Shown {
    let opened = &checked.opened;
    let count = |test: &dyn Fn(&HeardFrom) -> bool| opened.lines.iter().filter(|line| test(&line.source)).count();
    let mut text = Shown::heading(&opened.name) + "\n";
    let (own, missing) = (count(&|source| matches!(source, HeardFrom::Own(_))), checked.missing.len());
    let borrowed = count(&|source| matches!(source, HeardFrom::Borrowed(..)));
    let mut parts = vec![format!("{own} recorded")];
    let others = [(borrowed, "from packs that it uses"), (missing, "missing")];
    parts.extend(others.iter().filter(|(number, _)| *number > 0).map(|(number, what)| format!("{number} {what}")));
    text.push(format!("{}: {}\n", counted(opened.lines.len(), "text"), parts.join(", ")));
    let rows: Vec<[String; 2]> = checked.scripts.iter().map(|script| [script.name.clone(), state(script)]).collect();
    text.extend(columns(&rows).into_iter().map(|line| line + "\n"));
    for Finding { file, text: words, severity, word, message, advice } in &checked.findings {
        let words = words.as_ref().map_or_else(String::new, |words| format!(" \"{words}\""));
        text.push(format!("\n{}[{word}] {file}{words}\n  {message}; {advice}\n", severity.word()));
    }
    if !checked.missing.is_empty() {
        let folder = opened.folder.as_ref().map(|folder| folder.shown());
        let way = folder
            .map_or_else(String::new, |folder| format!("; `lengthwise record {folder} --all` walks through them"));
        text.push(Shown::from("\n") + Shown::heading(&format!("missing: {missing}{way}")) + "\n");
        let rows: Vec<[String; 2]> =
            checked.missing.iter().map(|line| [line.key().to_string(), line.text.clone()]).collect();
        text.extend(columns(&rows).into_iter().map(|line| format!("  {line}\n")));
    }
    if own > 0 && !checked.compared {
        text.push(NOT_COMPARED.to_owned() + "\n");
    }
    if own > 0 && checked.findings.is_empty() && !checked.has_errors() {
        text.push("nothing is wrong with its recordings\n");
    }
    text
}

fn counted(number: usize, what: &str) -> String {
    format!("{number} {what}{}", if number == 1 { "" } else { "s" })
}

fn state(script: &CheckedScript) -> String {
    let cautions = script.problems.len();
    match script.len {
        None => "has errors".to_owned(),
        Some(len) if cautions == 0 => format!("{len}"),
        Some(len) => format!("{len}, {}", counted(cautions, "caution")),
    }
}

fn record(checked: &Checked) -> Value {
    let opened = &checked.opened;
    let scripts: Vec<Value> = checked
        .scripts
        .iter()
        .map(|script| {
            let problems: Vec<Value> = script.problems.iter().map(|found| problem(found, &script.sources)).collect();
            let len = script.len.map(|len| len.as_f64());
            json!({ "name": script.name, "duration_s": len, "unreadable": script.unreadable, "diagnostics": problems })
        })
        .collect();
    let findings: Vec<Value> = checked
        .findings
        .iter()
        .map(|Finding { file, text, severity, word, message, advice }| {
            json!({ "file": file, "text": text, "severity": severity.word(), "code": word, "message": message, "advice": advice })
        })
        .collect();
    let missing: Vec<Value> = checked
        .missing
        .iter()
        .map(|line| json!({ "section": line.role.folder(), "id": line.id, "short": line.short, "text": line.text, "file": line.key().to_string() }))
        .collect();
    let problems: Vec<Value> = opened.problems.iter().map(|found| problem(found, &opened.sources)).collect();
    json!({
        "name": opened.name,
        "place": opened.place,
        "texts": opened.lines.len(),
        "good": !checked.has_errors(),
        "diagnostics": problems,
        "scripts": scripts,
        "compared": checked.compared,
        "findings": findings,
        "missing": missing,
    })
}
