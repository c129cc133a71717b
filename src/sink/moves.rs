//! Files that move into a folder one by one, by a list that is written first: who is stopped between two of them is finished by
//! the next run.
//!
//! What else lies in the folder is not touched. Whose files may be replaced is for the caller to say.

use super::facts;
use super::file::{FileError, Replace, parent};
use super::work::WorkFolder;
use crate::disk;
use serde::{Deserialize, Serialize};
use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};

/// The name of the list in the work folder, and of one that is not yet whole.
const LIST: &str = "moves";
const UNFINISHED: &str = "moves.new";
/// Larger ones are not ours, in bytes.
const LARGEST: u64 = 16 << 20;

/// What is to happen, in this order. Names are paths below the folder.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Moves {
    /// The folder, where it lies beside the work folder; the work folder lies in it otherwise.
    beside: Option<OsString>,
    put: Vec<Put>,
    /// Files that go at the end.
    gone: Vec<PathBuf>,
}

/// A file that gets its place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Put {
    name: PathBuf,
    /// Whether another may have to give way.
    replaces: bool,
}

impl Moves {
    /// Moves into a folder beside the work folder, or into the one that the work folder lies in.
    pub(super) fn new(beside: Option<OsString>, put: Vec<(PathBuf, Replace)>, gone: Vec<PathBuf>) -> Self {
        let put = put.into_iter().map(|(name, replace)| Put { name, replaces: replace == Replace::Yes }).collect();
        Self { beside, put, gone }
    }

    /// The list that was left in a work folder, if there is a whole one. One that a power cut tore, or that leads out of the
    /// folder, as none of ours does, counts for nothing.
    pub(super) fn left_in(work: &WorkFolder) -> Option<Self> {
        let text = disk::read(&work.path().join(LIST), LARGEST).ok()?;
        let list: Self = serde_json::from_slice(&text).ok()?;
        let mut names = list.put.iter().map(|put| &put.name).chain(&list.gone);
        let inside = names.all(|name| name.components().all(|part| matches!(part, Component::Normal(_))));
        let beside = list.beside.as_ref().map(|name| Path::new(name).components().collect::<Vec<_>>());
        let next = beside.is_none_or(|parts| matches!(parts.as_slice(), [Component::Normal(_)]));
        (inside && next).then_some(list)
    }

    /// The folder that the files move into.
    pub(super) fn folder(&self, work: &WorkFolder) -> PathBuf {
        let around = parent(work.path());
        self.beside.as_ref().map_or_else(|| around.to_owned(), |name| around.join(name))
    }

    /// Does all of it. Where nothing has moved yet when it fails, the work folder goes; else it is left to the next run.
    pub(super) fn run(self, work: WorkFolder) -> Result<(), FileError> {
        let folder = self.folder(&work);
        let written = serde_json::to_vec(&self).map_err(io::Error::from).and_then(|text| {
            fs::write(work.path().join(UNFINISHED), text)?;
            fs::rename(work.path().join(UNFINISHED), work.path().join(LIST))
        });
        written.map_err(FileError::system("write to", &folder))?;
        self.go_on(work, false)
    }

    /// Does what is left of a list that another run began. A file that somebody else put into a place meanwhile stays there.
    pub(super) fn finish(mut self, work: WorkFolder) -> Result<(), FileError> {
        let folder = self.folder(&work);
        self.put.retain(|put| put.replaces || !folder.join(&put.name).exists());
        self.go_on(work, true)
    }

    fn go_on(&self, work: WorkFolder, mut moved: bool) -> Result<(), FileError> {
        let (new, folder) = (work.new_files(), self.folder(&work));
        for put in &self.put {
            match put.place(&new, &folder) {
                Ok(()) => moved = true,
                Err(error) if moved => {
                    work.leave();
                    return Err(error);
                }
                Err(error) => return Err(error),
            }
        }
        for name in &self.gone {
            let path = folder.join(name);
            match fs::remove_file(&path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    work.leave();
                    return Err(FileError::system("remove", &path)(error));
                }
                _ => {}
            }
            // The folders that held nothing else.
            let above = name.ancestors().skip(1).take_while(|above| !above.as_os_str().is_empty());
            let _ = above.map(|above| folder.join(above)).try_for_each(fs::remove_dir);
        }
        work.remove().map_err(FileError::system("tidy", &folder))
    }
}

impl Put {
    fn place(&self, new: &Path, folder: &Path) -> Result<(), FileError> {
        let (from, to) = (new.join(&self.name), folder.join(&self.name));
        if !from.exists() {
            // An earlier run has moved it.
            return Ok(());
        }
        let there = to.symlink_metadata().is_ok();
        if there && !self.replaces {
            return Err(FileError::Exists { path: to });
        }
        let place = || {
            fs::create_dir_all(parent(&to))?;
            facts::keep_if_there(&to, &from)?;
            fs::rename(&from, &to)
        };
        place().map_err(FileError::system("rename", &to))
    }
}
