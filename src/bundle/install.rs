//! A bundle opened into a folder of packs: all of it is checked in a hidden folder beside its place, then moved in one step.
//!
//! A good pack never gives way to an older or a damaged one; one that gives way is kept whole. What makes a bundle good is
//! for the other files of the family to say.

use super::archive::Archive;
use super::content::{self, About, Content};
use super::fault::BundleError;
use super::name::SUMS;
use super::unpack;
use crate::diag::shown::ShownPath;
use crate::diag::{Code, Diagnostic, Sources, has_errors};
use crate::disk::{self, Access, FolderForFiles};
use crate::pack::inventory::{Inventory, Unlisted};
use crate::pack::place::LARGEST_MANIFEST;
use crate::pack::{builtin, manifest};
use crate::sink::file::FileError;
use crate::sink::folder::{FilesUnderWay, Old};
use rawzip::{FileReader, ReaderAt};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The hidden folder beside packs that keeps those which gave way.
pub const BEFORE: &str = ".before";

/// What to open, and where.
#[derive(Clone, Debug)]
pub struct InstallRequest {
    /// The bundle.
    pub bundle: PathBuf,
    /// The folder of packs.
    pub folder: PathBuf,
    /// Whether the folder was named by the user: then it is there, and a pack may be called as one of the program's.
    pub chosen: bool,
    /// Whether a pack of the same version with other content gives way.
    pub replace: bool,
    /// Set, it stops the work before anything is put in place.
    pub stop: Arc<AtomicBool>,
}

/// What became of a bundle.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum InstallOutcome {
    /// The pack is new here.
    New,
    /// It was there already, the same in every byte; nothing was done.
    Same,
    /// It took the place of another.
    Replaced {
        /// The version of that one, if it could be read.
        version: Option<u32>,
        /// Where that one is kept.
        before: PathBuf,
    },
}

/// A bundle that was opened.
#[derive(Clone, Debug)]
pub struct InstalledPack {
    /// The pack's folder.
    pub place: PathBuf,
    /// What is in it.
    pub about: About,
    /// What became of it.
    pub outcome: InstallOutcome,
    /// Packs that it uses and that are neither beside it nor in the program.
    pub missing: Vec<String>,
}

/// Opens a bundle.
///
/// # Errors
/// Where the bundle is wrong in any part, is older than what is there, or a file cannot be read or written. Nothing is
/// changed then.
pub fn open(request: &InstallRequest) -> Result<InstalledPack, BundleError> {
    let unread = || BundleError::read(&request.bundle);
    let file = disk::open(&request.bundle).map_err(unread())?;
    let metadata = file.metadata().map_err(unread())?;
    let shown = request.bundle.shown();
    open_from(FileReader::from(file), metadata.len(), &shown, request)
}

/// The same for a bundle of `len` bytes that is read from anywhere. `shown` is its name for messages.
///
/// # Errors
/// As [`open`].
pub fn open_from<R: ReaderAt>(
    reader: R,
    len: u64,
    shown: &str,
    request: &InstallRequest,
) -> Result<InstalledPack, BundleError> {
    let archive = Archive::read(reader, len).map_err(|fault| fault.error(shown))?;
    let name = archive.pack.clone();
    if !request.chosen && builtin::pack(&name).is_some() {
        let message = format!("the bundle {shown} is refused: a pack `{name}` comes with the program");
        let hint = "this one would be used in its place; if that is meant, open it with --into DIR";
        return Err(BundleError::refused(Diagnostic::whole(Code::PackBroken, message).hint(hint)));
    }
    let make = || FolderForFiles::make(&request.folder, Access::Usual);
    let _made = if request.chosen { None } else { Some(make().map_err(FileError::system("create", &request.folder))?) };
    let place = request.folder.join(&name);
    let there = is_there(&place)?;
    let batch = FilesUnderWay::beside(&place)?;
    unpack::unpack(&archive, &batch.path(), &request.stop).map_err(|fault| match fault.error(shown) {
        BundleError::File(error) => BundleError::File(batch.named(error, &place)),
        other => other,
    })?;
    let new = content::read(&batch.path(), &name, None)?;
    let old = if there { Some(content::read(&place, &name, None)) } else { None };
    if request.stop.load(Ordering::Relaxed) {
        return Err(BundleError::Stopped);
    }
    let outcome = match old {
        None => {
            batch.into_folder(None).map_err(|error| match error {
                FileError::Exists { path } => BundleError::Meanwhile { path },
                other => BundleError::File(other),
            })?;
            InstallOutcome::New
        }
        Some(Ok(old)) if old.same(&new) => InstallOutcome::Same,
        Some(old) => {
            let old = match old {
                Ok(old) => Some(old),
                // Unfinished or damaged, it is somebody's work all the same, and as old as it says.
                Err(BundleError::Refused(_)) => None,
                Err(error) => return Err(error),
            };
            let version = old.as_ref().map_or_else(|| written_version(&place), |old| Some(old.about.version));
            check_age(version, &new, shown, request.replace)?;
            let kept = request.folder.join(BEFORE);
            // A run that was stopped here may have kept it already.
            let before = match old.and_then(|old| kept_same(&kept, &name, &old)) {
                Some(before) => before,
                None => {
                    let before = free(&kept, &name, version)?;
                    batch.keep_old(&before).inspect_err(|_| {
                        // Only where nothing is kept in it can it be removed.
                        let _ = fs::remove_dir(&kept);
                    })?;
                    before
                }
            };
            let ours = pack_files(&place).map_err(BundleError::read(&place))?;
            batch.into_folder(Some(&Old { ours, force: true, last: manifest::FILE.into() }))?;
            InstallOutcome::Replaced { version, before }
        }
    };
    let known =
        |used: &String| builtin::pack(used).is_some() || request.folder.join(used).join(manifest::FILE).is_file();
    let missing = new.about.uses.iter().filter(|used| !known(used)).cloned().collect();
    Ok(InstalledPack { place, about: new.about, outcome, missing })
}

/// Whether a pack lies in its place.
fn is_there(place: &Path) -> Result<bool, BundleError> {
    match fs::symlink_metadata(place) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(BundleError::read(place)(error)),
        Ok(found) if found.is_dir() && place.join(manifest::FILE).is_file() => Ok(true),
        Ok(_) => Err(BundleError::NotAPack { path: place.to_owned() }),
    }
}

/// The version of a pack whose manifest can be read, whatever else is wrong with it.
fn written_version(place: &Path) -> Option<u32> {
    let text = String::from_utf8(disk::read(&place.join(manifest::FILE), LARGEST_MANIFEST).ok()?).ok()?;
    let mut sources = Sources::new();
    let source = sources.add(manifest::FILE, text);
    let (manifest, problems) = manifest::parse(source, &sources);
    manifest.filter(|_| !has_errors(&problems)).map(|manifest| manifest.version())
}

/// A pack gives way to a newer one only; to another of the same version, or where nobody knows how old it is, if that is asked
/// for.
fn check_age(here: Option<u32>, new: &Content, shown: &str, replace: bool) -> Result<(), BundleError> {
    let (name, there) = (&new.about.name, new.about.version);
    let refused = |why: String, hint: &str| {
        let message = format!("the bundle {shown} is refused: {why}");
        Err(BundleError::refused(Diagnostic::whole(Code::PackBroken, message).hint(hint)))
    };
    let Some(here) = here else {
        let why = format!("a pack `{name}` is here whose manifest cannot be read, so that nobody knows which is newer");
        return if replace { Ok(()) } else { refused(why, "--replace takes this one and keeps the other") };
    };
    if there < here {
        let why = format!("it holds version {there} of `{name}`, and version {here} is here");
        return refused(why, "to have the older one too, open it with --into another folder");
    }
    if there == here && !replace {
        let why = format!("it holds other content of version {here} of `{name}` than what is here");
        return refused(why, "one of the two was changed; --replace takes this one and keeps the other");
    }
    Ok(())
}

/// Where a pack of this content is kept already.
fn kept_same(kept: &Path, name: &str, old: &Content) -> Option<PathBuf> {
    names(kept, name, Some(old.about.version))
        .take_while(|path| path.is_dir())
        .find(|path| content::read(path, name, None).is_ok_and(|kept| kept.same(old)))
}

/// All files of a folder that a pack uses or could use; others stay where they are.
fn pack_files(place: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = Inventory::of_folder(&place.canonicalize()?);
    if let Some(Unlisted { error, .. }) = found.unlisted.pop() {
        return Err(error);
    }
    let recordings = found.recordings().flat_map(|(_, files)| files).map(|file| file.path.as_str());
    let all = [manifest::FILE, SUMS].into_iter().chain(found.scripts.iter().map(String::as_str)).chain(recordings);
    Ok(all.map(PathBuf::from).filter(|path| place.join(path).exists()).collect())
}

/// A free name for what gives way, in a folder that is made if need be.
fn free(folder: &Path, name: &str, version: Option<u32>) -> Result<PathBuf, BundleError> {
    let system = |source| FileError::System { doing: "create", path: folder.to_owned(), source };
    match fs::create_dir(folder) {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(system(error).into()),
        _ => {}
    }
    // A link would take the pack elsewhere.
    if !fs::symlink_metadata(folder).map_err(system)?.is_dir() {
        return Err(FileError::NotAFolder { path: folder.to_owned() }.into());
    }
    let free = names(folder, name, version).find(|path| fs::symlink_metadata(path).is_err());
    free.ok_or_else(|| BundleError::NotAPack { path: folder.join(name) })
}

/// The names under which what gave way is kept, in their order.
fn names(folder: &Path, name: &str, version: Option<u32>) -> impl Iterator<Item = PathBuf> {
    let name = version.map_or_else(|| format!("{name}-broken"), |version| format!("{name}-v{version}"));
    let numbered = move |n: u64| if n == 1 { name.clone() } else { format!("{name}-{n}") };
    let folder = folder.to_owned();
    (1..=10_000).map(move |n| folder.join(numbered(n)))
}
