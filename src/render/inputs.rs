//! What something is made from is never written over, whatever is asked for: a script, a profile or a roster, a pack's
//! recordings.

use super::made::NotRendered;
use crate::disk::same_file;
use std::path::{Path, PathBuf};

/// Looks whether one of the outputs is an input, by whatever name.
///
/// # Errors
/// [`NotRendered::Input`] for the first that is.
pub fn spare<'a>(
    inputs: impl Iterator<Item = PathBuf>,
    outputs: impl IntoIterator<Item = &'a Path>,
) -> Result<(), NotRendered> {
    // What is not there yet is nobody's input.
    let there: Vec<&Path> = outputs.into_iter().filter(|output| output.exists()).collect();
    if there.is_empty() {
        return Ok(());
    }
    for input in inputs {
        if let Some(output) = there.iter().find(|output| same_file(output, &input)) {
            return Err(NotRendered::Input { output: output.to_path_buf(), input });
        }
    }
    Ok(())
}
