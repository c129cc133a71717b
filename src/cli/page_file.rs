//! The file of a page: what it may be called, what may give way to it, and its writing.

use super::failure::Failure;
use super::ui::Ui;
use crate::diag::shown::ShownPath;
use crate::disk;
use crate::page::document::source;
use crate::sink::file::{FileError, Fresh, Replace, is_stdout};
use std::io::{self, Read, Write};
use std::path::Path;

/// So much of a file says whether it is a page of ours.
const HEAD: u64 = 16_384;

/// Refuses a name that no browser would take for a page.
pub(super) fn check_name(output: &Path) -> Result<(), Failure> {
    let extension = output.extension().map(|extension| extension.to_string_lossy().to_lowercase());
    if is_stdout(output) || matches!(extension.as_deref(), Some("html" | "htm")) {
        return Ok(());
    }
    let better = output.with_extension("html");
    let message = format!("cannot write {}: a page's name ends in .html, such as {}", output.shown(), better.shown());
    Err(Failure::Usage(message))
}

/// Whether there is an earlier page of the same.
pub(super) fn is_earlier(output: &Path, identity: &str) -> bool {
    let mut head = Vec::new();
    let there = disk::open(output).and_then(|file| file.take(HEAD).read_to_end(&mut head));
    there.is_ok() && source(&String::from_utf8_lossy(&head)).as_deref() == Some(identity)
}

/// A page gives way to the next of the same, and to anything where that is asked for.
pub(super) fn may_replace(output: &Path, identity: &str, force: bool) -> Replace {
    if force || is_earlier(output, identity) { Replace::Yes } else { Replace::Never }
}

/// Writes a page, whole or not at all, and says so.
pub(super) fn write(output: &Path, html: &str, replace: Replace, ui: &mut Ui) -> Result<(), Failure> {
    if is_stdout(output) {
        return io::stdout().lock().write_all(html.as_bytes()).map_err(Failure::from);
    }
    write_file(output, html, replace).map_err(|error| Failure::world(&error))?;
    ui.message(format!("wrote {} ({})\n", output.shown(), size(html.len())));
    Ok(())
}

fn write_file(output: &Path, html: &str, replace: Replace) -> Result<(), FileError> {
    let mut file = Fresh::create(output, replace)?;
    let written = file.write_all(html.as_bytes()).and_then(|()| file.flush());
    written.map_err(|source| FileError::System { doing: "write", path: output.to_owned(), source })?;
    file.commit()
}

fn size(bytes: usize) -> String {
    if bytes < 1_000_000 { format!("{} kB", bytes.div_ceil(1_000)) } else { format!("{:.1} MB", bytes as f64 / 1e6) }
}
