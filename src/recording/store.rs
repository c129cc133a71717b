//! Where takes are kept: a pack's own recordings, and those that they replaced.
//!
//! A take is on the disk under its name before it counts as kept. A recording that gives way moves to the pack's folder
//! `earlier`, it is never deleted. The order of the steps is such that a program that is killed between any two of them leaves the
//! old recording or the new one in use, and both on the disk.

use super::Prompt;
use super::desk::FinishedTake;
use crate::disk::{Access, FolderForFiles};
use crate::pack::inventory::{self, CLIPS};
use crate::pack::role::Role;
use crate::sink::file::{FileError, Fresh, Replace};
use crate::sink::folder::link_or_copy;
use crate::sink::leftover::{Leftover, sweep_in};
use crate::sink::take::TakeFormat;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

/// The folder of replaced recordings in a pack's folder.
pub const EARLIER: &str = "earlier";

/// A pack's folder that takes are kept in.
#[derive(Clone, Debug)]
pub struct Store {
    folder: PathBuf,
    format: TakeFormat,
}

impl Store {
    /// Of the pack in this folder.
    pub fn new(folder: &Path, format: TakeFormat) -> Self {
        Self { folder: folder.to_owned(), format }
    }

    /// Removes what runs that were stopped have left unfinished among the recordings.
    ///
    /// # Errors
    /// See [`sweep_in`].
    pub fn sweep(&self) -> Result<Vec<Leftover>, FileError> {
        let mut found = Vec::new();
        for (folder, _) in Role::ALL {
            found.extend(sweep_in(&self.folder.join(CLIPS).join(folder))?);
        }
        Ok(found)
    }

    /// Keeps a take; returns its path within the pack.
    ///
    /// # Errors
    /// Where it cannot be written: what was there is as it was, and the take can be stored again.
    pub fn keep(&self, prompt: &Prompt, heard: &FinishedTake) -> Result<PathBuf, FileError> {
        let within = Path::new(CLIPS).join(prompt.role.folder());
        let folder = self.folder.join(&within);
        let make = |folder: &Path| FolderForFiles::make(folder, Access::Usual);
        let _made = make(&folder).map_err(FileError::system("create", &folder))?;
        let name = format!("{}.{}", prompt.stem(), self.format.extension());
        let target = folder.join(&name);
        let bytes = self.format.encode(&heard.samples, heard.rate).map_err(FileError::system("encode", &target))?;
        let mut file = Fresh::create(&target, Replace::Yes)?;
        file.write_all(&bytes).map_err(FileError::system("write", &target))?;
        // A second name for the one that gives way, so that it is never without one.
        if target.exists() {
            let aside = self.aside(prompt, self.format.extension())?;
            // What a link leads to is what gives way.
            let old = target.canonicalize().map_err(FileError::system("read", &target))?;
            link_or_copy(&old, &aside).map_err(FileError::system("keep the earlier recording as", &aside))?;
        }
        file.commit_to_disk()?;
        // Of other formats one might be taken before the new one.
        let others = inventory::alternatives(&self.folder, &prompt.key());
        for old in others.map_err(FileError::system("read", &folder))? {
            if old != name {
                let old = folder.join(old);
                let ending = old.extension().unwrap_or_default().to_string_lossy().into_owned();
                let aside = self.aside(prompt, &ending)?;
                fs::rename(&old, &aside).map_err(FileError::system("move", &old))?;
            }
        }
        Ok(within.join(name))
    }

    /// A free name among the earlier recordings.
    fn aside(&self, prompt: &Prompt, extension: &str) -> Result<PathBuf, FileError> {
        let folder = self.folder.join(EARLIER).join(prompt.role.folder());
        fs::create_dir_all(&folder).map_err(FileError::system("create", &folder))?;
        let name = |number: u32| folder.join(format!("{}.{number}.{extension}", prompt.stem()));
        let free = (1..=u32::MAX).map(name).find(|path| fs::symlink_metadata(path).is_err());
        free.ok_or(FileError::NotAFile { path: folder })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::take;

    fn heard(value: f32) -> FinishedTake {
        let take = take::examine(&[value; 100], 16_000);
        FinishedTake { samples: vec![value; 100], rate: 16_000, take, faults: Vec::new(), torn: false }
    }

    fn prompt() -> Prompt {
        let (id, text) = ("soft-hand".to_owned(), "soft hand".to_owned());
        Prompt { role: Role::Phrase, id, short: true, text, recorded: false }
    }

    fn files(folder: &Path) -> Vec<String> {
        let mut found = Vec::new();
        let mut folders = vec![folder.to_owned()];
        while let Some(next) = folders.pop() {
            for entry in fs::read_dir(next).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                } else {
                    found.push(path.strip_prefix(folder).unwrap().display().to_string());
                }
            }
        }
        found.sort();
        found
    }

    #[test]
    fn what_is_replaced_is_kept_whatever_its_format() {
        let folder = tempfile::tempdir().unwrap();
        let clips = folder.path().join("clips/phrases");
        fs::create_dir_all(&clips).unwrap();
        fs::write(clips.join("soft-hand.short.ogg"), "an older one").unwrap();
        fs::write(clips.join("soft-hand.short.WAV"), "a copy").unwrap();
        fs::write(clips.join("soft-hand.wav"), "of another text").unwrap();
        let wav = Store::new(folder.path(), TakeFormat::Wav);
        assert_eq!(wav.keep(&prompt(), &heard(0.1)).unwrap(), Path::new("clips/phrases/soft-hand.short.wav"));
        let first = fs::read(clips.join("soft-hand.short.wav")).unwrap();
        wav.keep(&prompt(), &heard(0.2)).unwrap();
        let second = fs::read(clips.join("soft-hand.short.wav")).unwrap();
        assert!(first != second);
        Store::new(folder.path(), TakeFormat::Flac).keep(&prompt(), &heard(0.3)).unwrap();
        assert_eq!(
            files(folder.path()),
            [
                "clips/phrases/soft-hand.short.flac",
                "clips/phrases/soft-hand.wav",
                "earlier/phrases/soft-hand.short.1.WAV",
                "earlier/phrases/soft-hand.short.1.ogg",
                "earlier/phrases/soft-hand.short.1.wav",
                "earlier/phrases/soft-hand.short.2.wav",
            ]
        );
        let earlier = folder.path().join("earlier/phrases");
        assert_eq!(fs::read(earlier.join("soft-hand.short.1.wav")).unwrap(), first);
        assert_eq!(fs::read(earlier.join("soft-hand.short.2.wav")).unwrap(), second);
        assert_eq!(fs::read(earlier.join("soft-hand.short.1.ogg")).unwrap(), b"an older one");
    }

    #[cfg(unix)]
    #[test]
    fn what_a_link_leads_to_is_kept_too() {
        let folder = tempfile::tempdir().unwrap();
        let clips = folder.path().join("clips/phrases");
        fs::create_dir_all(&clips).unwrap();
        fs::write(folder.path().join("old.wav"), "the old one").unwrap();
        std::os::unix::fs::symlink("../../old.wav", clips.join("soft-hand.short.wav")).unwrap();
        Store::new(folder.path(), TakeFormat::Wav).keep(&prompt(), &heard(0.1)).unwrap();
        assert_eq!(fs::read(folder.path().join("earlier/phrases/soft-hand.short.1.wav")).unwrap(), b"the old one");
    }

    #[test]
    fn a_folder_that_cannot_be_written_is_reported_and_nothing_is_lost() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("clips"), "a file in the way").unwrap();
        let error = Store::new(folder.path(), TakeFormat::Wav).keep(&prompt(), &heard(0.1)).unwrap_err().to_string();
        assert!(error.starts_with("cannot create") && error.contains("clips"), "{error}");
        assert_eq!(files(folder.path()), ["clips"]);
    }
}
