//! Texts spoken once by the voice that made the clips of the packs here, into ordinary recordings of a pack.
//!
//! The work is done by `cue-packs/make-voice.py`, which this file starts with the author's own Python. Nothing is installed and
//! nothing fetched: what is missing is said, with the way to get it, by the script.

use crate::audio::clip;
use crate::diag::shown::ShownPath;
use crate::disk;
use crate::pack::recorded::LARGEST_RECORDING;
use crate::recording::Prompt;
use crate::units::time::Seconds;
use std::fmt;
use std::fs;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus, Stdio};

/// The script.
const SCRIPT: &str = include_str!("../../cue-packs/make-voice.py");
/// Of what the script says of its failure so many bytes are shown: the end, where the reason stands.
const REASON: usize = 2_000;

/// Who speaks.
#[derive(Clone, Debug)]
pub struct VoiceTool {
    /// The Python to start.
    pub python: PathBuf,
    /// The folder with the voice in it (`voices/`).
    pub tools: PathBuf,
}

/// Why a text was not spoken.
#[derive(Debug)]
pub enum BakeError {
    /// Python cannot be started.
    Python(PathBuf, io::Error),
    /// A file of the pack or a temporary one cannot be written.
    File(PathBuf, io::Error),
    /// The script ended without having spoken everything; what it said, and how many texts were still to come.
    Script(ExitStatus, String, usize),
    /// What it made for a text is not a recording.
    Made(String, String),
}

impl fmt::Display for BakeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Python(python, error) => write!(
                f,
                "cannot start `{}`: {error}; --python names the Python in which the packages are installed that `pack speak --help` lists",
                python.shown()
            ),
            Self::File(path, error) => write!(f, "cannot write {}: {error}", path.shown()),
            Self::Script(status, said, left) => {
                let texts = if *left == 1 { "text is" } else { "texts are" };
                let said = if said.is_empty() { status.to_string() } else { said.clone() };
                write!(f, "{left} {texts} not spoken; the script says: {said}")
            }
            Self::Made(text, problem) => write!(f, "what was made for \"{text}\" cannot be used: {problem}"),
        }
    }
}

impl std::error::Error for BakeError {}

/// Speaks texts into the recordings of a pack's folder, `told` after each: how many are done, the file from the pack's folder, and
/// how long it lasts. A file that is there already stays as it is until the new one is whole.
///
/// # Errors
/// At the first text that cannot be spoken; what was spoken before stays.
pub fn bake(
    folder: &Path,
    prompts: &[Prompt],
    voice: &VoiceTool,
    mut told: impl FnMut(usize, &str, Seconds) -> io::Result<()>,
) -> Result<(), BakeError> {
    let place = tempfile::tempdir_in(folder).map_err(|error| BakeError::File(folder.to_owned(), error))?;
    let file = |path: PathBuf| move |error| BakeError::File(path, error);
    let script = place.path().join("make-voice.py");
    fs::write(&script, SCRIPT).map_err(file(script.clone()))?;
    let mut child = Command::new(&voice.python)
        .arg(&script)
        .arg("--tools")
        .arg(&voice.tools)
        .arg("--bake")
        .arg(place.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|error| BakeError::Python(voice.python.clone(), error))?;
    let lines: String =
        prompts.iter().map(|prompt| format!("{}\t{}\n", u8::from(prompt.short), one_line(&prompt.text))).collect();
    // A script that fails at once reads nothing; its end says why.
    if let Some(mut stdin) = child.stdin.take() {
        let _ = stdin.write_all(lines.as_bytes());
    }
    // What it warns of must not fill the pipe and hold it up.
    let said = child.stderr.take().map(|stderr| std::thread::spawn(move || end_of(stderr)));
    let mut done = 0;
    let mut failed = None;
    let made = child.stdout.take().into_iter().flat_map(|out| BufReader::new(out).lines());
    for (line, prompt) in made.zip(prompts) {
        let Ok(name) = line else { break };
        let kept = keep(&place.path().join(name.trim()), folder, prompt);
        let kept = kept.and_then(|(path, len)| {
            done += 1;
            told(done, &path, len).map_err(|error| BakeError::File("the output".into(), error))
        });
        if let Err(error) = kept {
            failed = Some(error);
            break;
        }
    }
    if failed.is_some() {
        let _ = child.kill();
    }
    let status = child.wait().map_err(|error| BakeError::Python(voice.python.clone(), error))?;
    let said = said.and_then(|said| said.join().ok()).unwrap_or_default();
    match failed {
        Some(error) => Err(error),
        None if done < prompts.len() => Err(BakeError::Script(status, said, prompts.len() - done)),
        None => Ok(()),
    }
}

/// Puts a finished file in its place in the pack.
fn keep(made: &Path, folder: &Path, prompt: &Prompt) -> Result<(String, Seconds), BakeError> {
    let wrong = |problem: String| BakeError::Made(prompt.text.clone(), problem);
    let bytes = disk::read(made, LARGEST_RECORDING).map_err(|error| wrong(error.to_string()))?;
    let len = clip::probe(&bytes).map_err(|error| wrong(error.to_string()))?;
    let path = format!("{}.flac", prompt.key());
    let target = folder.join(&path);
    let parent = target.parent().unwrap_or(folder);
    fs::create_dir_all(parent).map_err(|error| BakeError::File(parent.to_owned(), error))?;
    fs::rename(made, &target).map_err(|error| BakeError::File(target.clone(), error))?;
    Ok((path, len))
}

/// A text on one line, as the script reads it.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The end of what was said.
fn end_of(mut from: impl Read) -> String {
    let mut said = Vec::new();
    let _ = from.read_to_end(&mut said);
    let said = said.split_at(said.len().saturating_sub(REASON)).1;
    String::from_utf8_lossy(said).trim().to_owned()
}
