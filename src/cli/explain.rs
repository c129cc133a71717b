//! `check --explain`: the page of a code, or all codes with a line each. What the pages say is not here.

use super::failure::Failure;
use super::ui::Ui;
use super::wrap::wrapped;
use crate::diag::explain::{ExampleFile, page};
use crate::diag::shown::Shown;
use crate::diag::{Code, nearest};
use std::fmt::Write;

/// Prints the page of a code, or the list of codes where `word` is empty. The message of an error is accepted whole:
/// `error[no-rest]` names the code too.
pub fn run(word: &str, ui: &mut Ui) -> Result<(), Failure> {
    let text = if word.is_empty() { list(ui).into() } else { explain(find(word)?, ui) };
    Ok(ui.result(text)?)
}

fn find(word: &str) -> Result<Code, Failure> {
    let small = word.trim().to_lowercase();
    let inner = small.split_once('[').map_or(small.as_str(), |(_, code)| code).trim_end_matches([']', ':']);
    if let Some(code) = Code::ALL.iter().find(|code| code.word() == inner) {
        return Ok(*code);
    }
    let near = nearest(inner, Code::ALL.iter().map(|code| code.word()));
    let near = near.map_or(String::new(), |near| format!("did you mean `{near}`? "));
    let shown: String = word.chars().take(60).collect();
    Err(Failure::Usage(format!("there is no code `{shown}`; {near}`lengthwise check --explain` lists them all")))
}

/// One code a line, with its severity and what it means.
fn list(ui: &Ui) -> String {
    let widest = Code::ALL.iter().map(|code| code.word().len()).max().unwrap_or(0);
    let mut text = String::new();
    for code in Code::ALL {
        let head = format!("{:<widest$}  {:<7}  ", code.word(), code.severity().word());
        let lines = wrapped(code.about(), ui.width().saturating_sub(head.len()));
        for (index, line) in lines.iter().enumerate() {
            let head = if index == 0 { head.clone() } else { " ".repeat(head.len()) };
            // Writing to a text cannot fail.
            let _ = writeln!(text, "{head}{line}");
        }
    }
    text
}

fn explain(code: Code, ui: &Ui) -> Shown {
    let mut text = Shown::heading(&format!("{}[{}]", code.severity().word(), code.word())) + "\n";
    let Some(page) = page(code) else { return text + code.about() + "\n" };
    for paragraph in &page.text {
        text.push("\n");
        text.extend(wrapped(paragraph, ui.width()).into_iter().map(|line| line + "\n"));
    }
    let files = page.wrong.iter().any(|part| !matches!(part, ExampleFile::Script(_)));
    for (title, parts) in [("Wrong", &page.wrong), ("Mended", &page.mended)] {
        for part in parts {
            let (name, body) = match part {
                ExampleFile::Script(body) if files => ("the script", *body),
                ExampleFile::Script(body) => ("", *body),
                ExampleFile::File(name, body) => (*name, *body),
                ExampleFile::Sound(name, len) => (*name, *len),
            };
            let name = if name.is_empty() { String::new() } else { format!(", {name}") };
            let body =
                if let ExampleFile::Sound(..) = part { format!("(a recording of {body})") } else { body.to_owned() };
            text.push(Shown::from("\n") + Shown::heading(&format!("{title}{name}:")) + "\n");
            text.extend(body.lines().map(|line| format!("    {line}\n")));
        }
    }
    text
}
