//! `pack sheet`: the texts of a pack to read aloud, in the order in which `record --from` expects them.

use super::shelf::{open, shelf};
use crate::cli::args::ReadingSheet;
use crate::cli::failure::Failure;
use crate::cli::ui::Ui;
use crate::cli::wanted;
use crate::cli::wrap::wrapped;
use crate::diag::has_errors;
use crate::diag::shown::Shown;
use crate::recording::Prompt;
use serde_json::{Value, json};

/// What the reader is told above the texts.
const HOW: &str = "Read each text as it stands, without its number, then wait for two seconds. After a slip wait, and read the \
                   text again. Leave out what you like.";

/// Runs the command.
pub fn run(args: &ReadingSheet, ui: &mut Ui) -> Result<(), Failure> {
    let shelf = shelf(&args.shelves);
    let pack = open(&shelf, &args.pack)?;
    let (choice, found) = wanted::find(&pack, &args.wanted, &shelf, ui)?;
    let Some(manifest) = &pack.manifest else { return Err(Failure::Shown) };
    let text = if args.json {
        Shown::json(&record(&pack.name, &found.prompts))
    } else if found.prompts.is_empty() {
        ui.message(wanted::nothing(&choice));
        Shown::default()
    } else {
        page(&manifest.title, &found.prompts, usize::from(args.width))
    };
    ui.result(text)?;
    if has_errors(&pack.problems) || has_errors(&found.diagnostics) { Err(Failure::Shown) } else { Ok(()) }
}

fn page(title: &str, prompts: &[Prompt], width: usize) -> Shown {
    let texts = if prompts.len() == 1 { "text" } else { "texts" };
    let mut page = Shown::heading(&format!("{title}: {} {texts} to read aloud", prompts.len())) + "\n\n";
    page.extend(wrapped(HOW, width).into_iter().map(|line| line + "\n"));
    // As wide as the largest number.
    let wide = prompts.len().to_string().len();
    for (at, prompt) in prompts.iter().enumerate() {
        let lines = wrapped(&prompt.text, width.saturating_sub(wide + 3).max(10));
        for (nth, line) in lines.into_iter().enumerate() {
            let number = if nth == 0 { format!("\n{:>wide$}.", at + 1) } else { " ".repeat(wide + 1) };
            page.push(format!("{number}  {line}\n"));
        }
    }
    page
}

fn record(pack: &str, prompts: &[Prompt]) -> Value {
    let text = |(at, prompt): (usize, &Prompt)| {
        json!({
            "number": at + 1,
            "section": prompt.role.folder(),
            "id": prompt.id,
            "short": prompt.short,
            "text": prompt.text,
            "recorded": prompt.recorded,
        })
    };
    json!({ "pack": pack, "texts": prompts.iter().enumerate().map(text).collect::<Vec<_>>() })
}
