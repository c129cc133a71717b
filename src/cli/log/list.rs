//! `log list`: a line for each practice.

use crate::cli::args::ListPractices;
use crate::cli::columns::columns;
use crate::cli::failure::Failure;
use crate::cli::notebook::{existing, failed};
use crate::cli::ui::Ui;
use crate::diag::shown::{Shown, printable};
use crate::notebook::{OpenFor, PracticeSummary, Wanted};
use serde_json::{Value, json};

/// Runs the command.
pub(super) fn run(args: &ListPractices, ui: &mut Ui) -> Result<(), Failure> {
    let notebook = existing(&args.notebook, OpenFor::Reading)?;
    if let Some(name) = &args.swimmer {
        super::who::known(&notebook, name)?;
    }
    let wanted = Wanted { swimmer: args.swimmer.clone(), since: None, last: Some(args.last) };
    let found = notebook.summaries(&wanted).map_err(failed)?;
    let text = if args.json {
        let practices: Vec<Value> = found.iter().map(record).collect();
        Shown::json(&json!({ "practices": practices }))
    } else {
        table(&found)
    };
    Ok(ui.result(text)?)
}

fn record(line: &PracticeSummary) -> Value {
    let PracticeSummary { id, day, swimmer, title, metres, minutes, feel, effort, pain, counts, times } = line;
    json!({
        "practice": id.number(), "day": day, "swimmer": swimmer, "title": title, "metres": metres, "minutes": minutes,
        "feel": feel, "effort": effort, "pain": pain, "counts": counts, "times": times,
    })
}

fn table(found: &[PracticeSummary]) -> Shown {
    if found.is_empty() {
        return Shown::from("no practices yet: `lengthwise log SCRIPT` keeps one\n");
    }
    let heads = ["", "day", "swimmer", "practice", "m", "min", "feel", "effort", "counts", "times", "pain"];
    let number = |number: Option<u8>| number.map_or_else(String::new, |number| number.to_string());
    let some = |number: u32| if number == 0 { String::new() } else { number.to_string() };
    let row = |line: &PracticeSummary| {
        [
            line.id.number().to_string(),
            line.day.clone(),
            printable(&line.swimmer).into_owned(),
            printable(&line.title).into_owned(),
            format!("{:.0}", line.metres),
            line.minutes.map_or_else(String::new, |minutes| format!("{minutes:.0}")),
            number(line.feel),
            number(line.effort),
            some(line.counts),
            some(line.times),
            line.pain.as_deref().map(printable).unwrap_or_default().into_owned(),
        ]
    };
    let rows: Vec<[String; 11]> = std::iter::once(heads.map(str::to_owned)).chain(found.iter().map(row)).collect();
    let mut lines = columns(&rows).into_iter();
    let head = lines.next().map(|head| Shown::faint(&head) + "\n");
    head.into_iter().chain(lines.map(|line| Shown::from(line + "\n"))).collect()
}
