//! The engine behind the built-in voice: words to samples at 16 kHz, by the Pico engine and its British English voice.
//!
//! What may be said to it is decided in `speech::words`: it is a C library, and reads its own markup in its input.

use super::rate::RATE;
use std::cell::RefCell;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use tempfile::TempDir;
use ttspico::{EngineStatus, PicoError, System, Voice};

/// The voice: the two resources of the `ttspico-sys` crate for British English, unchanged (Apache-2.0, see NOTICE).
const RESOURCES: [(&str, &[u8]); 2] = [
    ("en-GB_ta.bin", include_bytes!("voice/en-GB_ta.bin")),
    ("en-GB_kh0_sg.bin", include_bytes!("voice/en-GB_kh0_sg.bin")),
];
/// Bytes of the engine's own memory. It needs four million, but reads some that it never wrote, so that the same words
/// did not sound the same. So much at once no allocator takes from memory used before (glibc up to 32 MiB): it is fresh, thus zero.
/// Pages that are not touched take no memory.
const MEMORY: usize = 40 << 20;
/// Percent of the engine's loudness: at 100 its samples clip.
const VOLUME: u32 = 60;
/// No text gives more samples: a minute, as for any recording.
pub const LONGEST: usize = 60 * RATE as usize;
/// Steps that bring nothing before the engine is taken to hang; a phrase needs some hundred in all.
const IDLE_STEPS: u32 = 10_000;

/// The voice's files, since the engine reads nothing but files. They are written again for each use: a damaged one would
/// not be noticed before the C library trips over it.
#[derive(Debug)]
pub struct VoiceFiles {
    folder: PathBuf,
    /// Keeps the folder, where it is this one's.
    _own: Option<TempDir>,
}

impl VoiceFiles {
    /// Writes the files. `other` is a folder to try where the system's own for temporary files takes none.
    ///
    /// # Errors
    /// Where neither takes them.
    pub fn write(other: Option<&Path>) -> io::Result<Self> {
        let folder = tempfile::tempdir().or_else(|error| match other {
            Some(other) => TempDir::new_in(other),
            None => Err(error),
        })?;
        for (name, bytes) in RESOURCES {
            fs::write(folder.path().join(name), bytes)?;
        }
        Ok(Self { folder: folder.path().to_owned(), _own: Some(folder) })
    }

    /// Files that another has written, and keeps.
    pub fn there(folder: &Path) -> Self {
        Self { folder: folder.to_owned(), _own: None }
    }

    /// Where they are.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    fn paths(&self) -> [PathBuf; 2] {
        RESOURCES.map(|(name, _)| self.folder.join(name))
    }
}

/// An engine with its voice; it stays on its thread.
pub struct Engine(ttspico::Engine);

impl Engine {
    /// Loads the voice.
    ///
    /// # Errors
    /// Where the engine refuses.
    pub fn open(files: &VoiceFiles) -> Result<Self, EngineError> {
        let system = System::new(MEMORY).map_err(EngineError::Engine)?;
        let mut resources = Vec::new();
        for path in files.paths() {
            let path = path.to_str().ok_or(EngineError::FolderName)?;
            resources.push(System::load_resource(Rc::clone(&system), path).map_err(EngineError::Engine)?);
        }
        let voice: Rc<RefCell<Voice>> = System::create_voice(system, "lengthwise").map_err(EngineError::Engine)?;
        for resource in resources {
            voice.borrow_mut().add_resource(resource).map_err(EngineError::Engine)?;
        }
        #[expect(unsafe_code, reason = "the crate's one way to an engine")]
        // SAFETY: the voice must have a text and a sound resource, or the engine reads past what it has. Both were added
        // without an error above.
        let engine = unsafe { Voice::create_engine(voice) }.map_err(EngineError::Engine)?;
        Ok(Self(engine))
    }

    /// Says words at so many percent of the voice's usual speed.
    ///
    /// # Errors
    /// Where they hold markup or a NUL, which the engine would obey; where it fails, hangs, or talks for more than a minute; it is of no further use then.
    pub fn say(&mut self, words: &str, speed: u32) -> Result<Vec<i16>, EngineError> {
        if words.contains(['<', '\0']) {
            return Err(EngineError::Markup);
        }
        let prompt = format!("<volume level='{VOLUME}'><speed level='{speed}'>{words}</speed></volume>\0");
        let (mut rest, mut samples, mut idle) = (prompt.as_bytes(), Vec::new(), 0);
        let mut buffer = [0_i16; 1024];
        while idle < IDLE_STEPS && samples.len() <= LONGEST {
            if !rest.is_empty() {
                let taken = self.0.put_text(rest).map_err(EngineError::Engine)?;
                rest = rest.get(taken..).unwrap_or_default();
            }
            let (count, status) = self.0.get_data(&mut buffer[..]).map_err(EngineError::Engine)?;
            samples.extend(buffer.iter().take(count));
            idle = if count > 0 { 0 } else { idle + 1 };
            if status == EngineStatus::Idle && rest.is_empty() {
                return Ok(samples);
            }
        }
        Err(EngineError::Endless)
    }
}

/// Why nothing is said.
#[derive(Debug)]
#[expect(dead_code, reason = "a text that cannot be said is heard as a tone, whatever the reason; a debugger shows it")]
pub enum EngineError {
    /// The engine refuses; its own words.
    Engine(PicoError),
    /// The folder for temporary files has a name that is not UTF-8, which the engine cannot open.
    FolderName,
    /// The words would be obeyed instead of said.
    Markup,
    /// It did not come to an end.
    Endless,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_the_engine_would_obey_is_said() {
        let files = VoiceFiles::write(None).unwrap();
        let mut engine = Engine::open(&files).unwrap();
        for words in ["<volume level='500'>", "left\0right"] {
            assert!(matches!(engine.say(words, 100), Err(EngineError::Markup)), "{words:?}");
        }
        assert!(engine.say("left", 100).is_ok_and(|samples| !samples.is_empty()));
    }
}
