//! Names of drills and focus phrases on a board, which may be written with blanks, hyphens or together.

use crate::whiteboard::context::KnownName;

/// The most words of a name.
const LONGEST: usize = 8;

/// Letters and digits alone, small.
fn plain(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// The name that some words begin with, the longest first, and how many of them it takes.
pub fn find<'n>(words: &[&str], names: &'n [KnownName]) -> Option<(usize, &'n str)> {
    (1..=words.len().min(LONGEST)).rev().find_map(|count| {
        let said: String = words.iter().take(count).map(|word| plain(word)).collect();
        let is = |name: &&KnownName| plain(&name.id) == said || name.texts.iter().any(|text| plain(text) == said);
        names.iter().find(is).map(|name| (count, name.id.as_str()))
    })
}
