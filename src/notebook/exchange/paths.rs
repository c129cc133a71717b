//! Names of the files that lie beside the tables.

use std::path::{Component, Path};

/// The most letters of a name that stand in a file's.
const LONGEST: usize = 40;

/// A name as a part of a file's name that every system takes.
pub(super) fn plain(name: &str) -> String {
    let stem = name.strip_suffix(".yaml").unwrap_or(name);
    let mut plain = String::new();
    for c in stem.chars() {
        if c.is_ascii_alphanumeric() {
            plain.push(c.to_ascii_lowercase());
        } else if !plain.ends_with('-') && !plain.is_empty() {
            plain.push('-');
        }
    }
    plain.truncate(LONGEST);
    plain.trim_end_matches('-').to_owned()
}

/// Whether a cell names a file beside or below the tables, and nothing elsewhere.
pub(super) fn is_within(path: &str) -> bool {
    !path.contains('\\') && Path::new(path).components().all(|part| matches!(part, Component::Normal(_)))
}
