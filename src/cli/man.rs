//! `man` and `completions`: what a system's help and a shell want to know, made from the arguments themselves.

use super::args::Shell;
use super::args::{Args, Completions, Man};
use super::failure::Failure;
use super::ui::Ui;
use crate::diag::shown::ShownPath;
use clap::{Command, CommandFactory};
use clap_complete::aot;
use std::fs;
use std::io::{self, Write};
use std::path::Path;

/// Prints the program's page, or writes it and a page for each command into a folder.
pub fn run(args: &Man, ui: &mut Ui) -> Result<(), Failure> {
    let mut command = Args::command().disable_help_subcommand(true);
    command.build();
    let Some(folder) = &args.folder else {
        return Ok(ui.result(text_of(page(&command, "lengthwise"))?)?);
    };
    let failed = |path: &Path, error: &io::Error| Failure::World(format!("cannot write {}: {error}", path.shown()));
    fs::create_dir_all(folder).map_err(|error| failed(folder, &error))?;
    let pages = command.get_subcommands().map(|sub| (format!("lengthwise-{}", sub.get_name()), sub));
    for (name, command) in std::iter::once(("lengthwise".to_owned(), &command)).chain(pages) {
        let path = folder.join(format!("{name}.1"));
        let written = page(command, &name).and_then(|page| fs::write(&path, page));
        written.map_err(|error| failed(&path, &error))?;
        ui.result(format!("{}\n", path.shown()))?;
    }
    Ok(())
}

/// Prints a shell's completions.
pub fn completions(args: &Completions, ui: &mut Ui) -> Result<(), Failure> {
    let shell = match args.shell {
        Shell::Bash => aot::Shell::Bash,
        Shell::Elvish => aot::Shell::Elvish,
        Shell::Fish => aot::Shell::Fish,
        Shell::Powershell => aot::Shell::PowerShell,
        Shell::Zsh => aot::Shell::Zsh,
    };
    let mut script = Vec::new();
    aot::generate(shell, &mut Args::command(), "lengthwise", &mut script);
    Ok(ui.result(text_of(Ok(script))?)?)
}

fn text_of(bytes: io::Result<Vec<u8>>) -> Result<String, Failure> {
    let text = bytes.and_then(|bytes| String::from_utf8(bytes).map_err(io::Error::other));
    text.map_err(|error| Failure::World(format!("cannot make the text: {error}")))
}

/// A page of section 1. The examples keep their lines, which the library would fill into one paragraph.
fn page(command: &Command, name: &str) -> io::Result<Vec<u8>> {
    let after = command.get_after_help().map(ToString::to_string).unwrap_or_default();
    let man = clap_mangen::Man::new(command.clone().display_name(name))
        .title(name)
        .source(concat!("lengthwise ", env!("CARGO_PKG_VERSION")));
    let mut page = Vec::new();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut page)?;
    }
    if !after.is_empty() {
        page.write_all(b".SH EXAMPLES\n.nf\n")?;
        for line in after.strip_prefix("Examples:\n").unwrap_or(&after).lines() {
            writeln!(page, "{}", literal(line))?;
        }
        page.write_all(b".fi\n")?;
    }
    Ok(page)
}

/// A line that the typesetter takes as it stands: no control line, no escape, no typographic hyphen.
fn literal(line: &str) -> String {
    let safe = line.replace('\\', "\\(rs").replace('-', "\\-");
    if safe.starts_with(['.', '\'']) { format!("\\&{safe}") } else { safe }
}

#[cfg(test)]
mod tests {
    use super::literal;

    #[test]
    fn lines_of_examples_are_not_control_lines() {
        assert_eq!(literal(".TH x"), "\\&.TH x");
        assert_eq!(literal("a --b \\n"), "a \\-\\-b \\(rsn");
    }
}
