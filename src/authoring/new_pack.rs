//! A new pack as a folder: whole or not there, and never in the place of anything.

use crate::diag::shown::ShownPath;
use crate::pack::begin::{PackDetails, PackDraft, Taken, Unfit, begin};
use crate::pack::manifest;
use crate::pack::shelf::{NoPack, OpenedPack, Shelf};
use crate::sink::file::FileError;
use crate::sink::folder::FilesUnderWay;
use crate::sink::names;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

/// The name of the first script.
pub const SCRIPT: &str = "first.yaml";

/// Why no pack was made.
#[derive(Debug)]
pub enum NotMade {
    /// The folder's name cannot be that of a pack; a better one.
    Name(PathBuf, Option<String>),
    /// There is something of that name.
    Exists(PathBuf),
    /// A pack whose texts were wanted is not there.
    Unknown(NoPack),
    /// A pack whose texts were wanted cannot be read.
    Unreadable(String),
    /// What is wanted cannot stand in a manifest.
    Wanted(Unfit),
    /// Its files cannot be written.
    File(FileError),
}

impl NotMade {
    /// Whether the world failed, rather than what was asked for.
    pub const fn is_of_the_world(&self) -> bool {
        matches!(self, Self::Exists(_) | Self::File(_))
    }
}

impl fmt::Display for NotMade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Name(path, better) => {
                write!(
                    f,
                    "{} cannot be the name of a pack: scripts name it, in lower-case letters, digits and `-`, and no system's device is called so",
                    path.shown()
                )?;
                better.as_ref().map_or(Ok(()), |better| write!(f, ", such as `{better}`"))
            }
            Self::Exists(path) => {
                write!(f, "{} exists already and stays as it is; choose another name", path.shown())
            }
            Self::Unknown(error) => error.fmt(f),
            Self::Unreadable(name) => {
                write!(f, "the manifest of `{name}` cannot be read; `lengthwise pack check {name}` says why")
            }
            Self::Wanted(why) => why.fmt(f),
            Self::File(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for NotMade {}

/// Whether a pack of that name could be made: asked before anybody is asked anything.
///
/// # Errors
/// Where the name is not one, or taken.
pub fn check_name(folder: &Path) -> Result<(), NotMade> {
    let name = folder.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    if !manifest::is_id(name) {
        let mut better: String = names::plain(name).to_lowercase();
        better = better
            .split(|c: char| !c.is_ascii_alphanumeric())
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join("-");
        return Err(NotMade::Name(folder.to_owned(), Some(better).filter(|better| manifest::is_id(better))));
    }
    if names::is_device(name) {
        return Err(NotMade::Name(folder.to_owned(), Some(format!("{name}-pack"))));
    }
    // A link to nowhere has a name too.
    if folder.symlink_metadata().is_ok() { Err(NotMade::Exists(folder.to_owned())) } else { Ok(()) }
}

/// Makes the folder of a new pack.
///
/// # Errors
/// See [`NotMade`]; nothing is left behind then.
pub fn make(folder: &Path, wanted: &PackDetails, texts_of: &[String], shelf: &Shelf) -> Result<(), NotMade> {
    check_name(folder)?;
    let packs = texts_of.iter().map(|name| shelf.open(name)).collect::<Result<Vec<OpenedPack>, _>>();
    let packs = packs.map_err(NotMade::Unknown)?;
    let known = shelf.list();
    let mut taken = Vec::new();
    for OpenedPack { name, manifest, .. } in &packs {
        let manifest = manifest.as_ref().ok_or_else(|| NotMade::Unreadable(name.clone()))?;
        let beside = around(folder).join(name).join(manifest::FILE).is_file();
        let found = manifest::is_id(name) && (beside || known.iter().any(|standing| standing.name == *name));
        taken.push(Taken { name, manifest, found });
    }
    let begun = begin(wanted, &taken).map_err(NotMade::Wanted)?;
    write(folder, &begun).map_err(|error| match error {
        FileError::Exists { path } => NotMade::Exists(path),
        error => NotMade::File(error),
    })
}

/// The folder in which it will lie.
fn around(folder: &Path) -> &Path {
    folder.parent().filter(|around| !around.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Puts it in its place whole, and over nothing but an empty folder.
fn write(folder: &Path, begun: &PackDraft) -> Result<(), FileError> {
    let files = FilesUnderWay::beside(folder)?;
    let write = |name, text: &String| fs::write(files.path().join(name), text);
    write(manifest::FILE, &begun.manifest)
        .and_then(|()| write(SCRIPT, &begun.script))
        .map_err(FileError::system("write", folder))?;
    files.into_folder(None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_is_missing_is_reported_by_the_name_given() {
        let wanted = PackDetails {
            title: "T".into(),
            language: "en-GB".into(),
            licence: "L".into(),
            voice: "Mara".into(),
            agreed: "yes, on 3 May".into(),
            guardian: None,
        };
        let folder = tempfile::tempdir().unwrap();
        let error = make(&folder.path().join("b/c"), &wanted, &[], &Shelf::default()).unwrap_err().to_string();
        assert!(
            error.contains("b/c: ") && error.contains("make its folder first") && !error.contains(".lengthwise-part"),
            "{error}"
        );
    }

    #[test]
    fn names_are_those_that_scripts_can_use() {
        let refusal = |name: &str| check_name(Path::new(name)).err().map(|error| error.to_string()).unwrap_or_default();
        assert_eq!(refusal("club/my-voice"), "");
        for (name, better) in
            [("con", "`con-pack`"), ("My Voice!", "`my-voice`"), ("Łódź", "`lodz`"), ("a/b.c", "`b-c`")]
        {
            assert!(refusal(name).contains(better), "{}", refusal(name));
        }
        assert!(refusal("..").contains("cannot be the name") && refusal("").contains("cannot be the name"));
    }
}
