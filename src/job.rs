//! From a script's name to a plan, and from a plan to a file: what all commands share.

pub mod board;
pub mod exposure;
pub mod file;
mod fill;
pub mod live;
mod names;
pub mod opened;
pub mod pack_check;
pub mod pack_new;
pub mod player;
mod playlist;
pub mod prompts;
pub mod say;
pub mod split;
pub mod squad;

use crate::diag::{Diagnostic, SourceId, Sources};
use crate::pack::builtin;
use crate::pack::library::Library;
use crate::pack::load::Search;
use crate::pack::manifest;
use crate::pack::speech::Speech;
use crate::plan::Plan;
use crate::practice::{Audience, Practice};
use crate::swimmer::{Swimmer, profile};
use crate::timeline::legs::Built;
use opened::{Opened, Own};
use std::fmt;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Scripts and profiles larger than this are refused: a practice of a day has some thousand lines.
const LARGEST_TEXT: u64 = 1 << 20;

/// What to make a practice of.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The script: a file, or `pack/name` of one in the folders of packs or in the binary.
    pub script: PathBuf,
    /// The swimmer's profile.
    pub swimmer: Option<PathBuf>,
    /// Folders of packs.
    pub packs: Vec<PathBuf>,
    /// The user's folder of packs.
    pub user_packs: Option<PathBuf>,
    /// Who hears it.
    pub audience: Audience,
    /// The pack whose recordings win, by its name or its folder.
    pub voice: Option<String>,
    /// The voice that says what has no recording; a tone stands for it where there is none.
    pub speech: Option<Speech>,
}

/// A text that could not be read at all.
#[derive(Debug)]
pub struct Unreadable {
    /// Which file.
    pub path: PathBuf,
    /// Why.
    pub source: io::Error,
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "cannot read {}: {}", self.path.display(), self.source)
    }
}

impl std::error::Error for Unreadable {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        Some(&self.source)
    }
}

/// A practice, planned and laid out in time.
#[derive(Debug)]
pub struct Planned {
    /// The practice.
    pub practice: Practice,
    /// The packs' texts and recordings.
    pub library: Library,
    /// What is heard, and when.
    pub built: Built,
    /// The numbers.
    pub plan: Plan,
    /// Whom it is for.
    pub swimmer: Swimmer,
}

/// What came of a request: a practice unless there are errors, and every problem found on the way.
#[derive(Debug)]
pub struct Outcome {
    /// The practice, absent exactly where an error is among the problems.
    pub planned: Option<Planned>,
    /// Every problem of the script, the profile and the packs.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// Reads, checks and lays out a practice.
///
/// # Errors
/// Where a file cannot be read. What is wrong in a file that can be read is among the outcome's problems.
pub fn plan(request: &Request) -> Result<Outcome, Unreadable> {
    let mut sources = Sources::new();
    let (script, search) = open_script(request, &mut sources)?;
    plan_source(script, search, request, sources)
}

/// The same for a script that has been read.
fn plan_source(
    script: SourceId,
    search: Search,
    request: &Request,
    mut sources: Sources,
) -> Result<Outcome, Unreadable> {
    let (swimmer, found) = match &request.swimmer {
        Some(path) => {
            let text = read(path)?;
            let id = sources.add(path.display().to_string(), text);
            profile::parse(id, &sources)
        }
        None => (Some(Swimmer::assumed()), Vec::new()),
    };
    let opened = Opened::of(script, search, request, sources);
    let (planned, diagnostics) = opened.plan(swimmer.as_ref(), Own::default(), found);
    Ok(Outcome { planned, diagnostics, sources: opened.sources })
}

/// The script's text: a file, else one of a pack in the folders of packs, else one in the binary.
fn open_script(request: &Request, sources: &mut Sources) -> Result<(SourceId, Search), Unreadable> {
    let found = in_pack(request);
    let path = found.as_deref().unwrap_or(&request.script);
    if found.is_none()
        && !path.exists()
        && let Some(script) = path.to_str().and_then(builtin::script)
    {
        let name = format!("{}/{}.yaml (built in)", script.pack, script.name);
        let search = Search { built_in: Some(script.pack.into()), ..Search::default() };
        return Ok((sources.add(name, script.text), search));
    }
    let text = read(path)?;
    let search = Search { script: Some(path.to_owned()), ..Search::default() };
    Ok((sources.add(path.display().to_string(), text), search))
}

/// The file of a script named as `PACK/NAME`, in the order in which packs are found. A file of that name comes first.
fn in_pack(request: &Request) -> Option<PathBuf> {
    let (pack, name) = request.script.to_str().filter(|_| !request.script.exists())?.split_once('/')?;
    // Not a way to anywhere else: a name is one part.
    if !manifest::is_id(pack) || name.contains(['/', '\\']) || name.starts_with('.') {
        return None;
    }
    let file = if name.ends_with(".yaml") { name.to_owned() } else { format!("{name}.yaml") };
    let folders = request.packs.iter().chain(&request.user_packs);
    let packs = folders.map(|folder| folder.join(pack)).filter(|pack| pack.join(manifest::FILE).is_file());
    packs.map(|pack| pack.join(&file)).find(|path| path.is_file())
}

/// A text file; one that is too large or no text is unreadable.
fn read(path: &Path) -> Result<String, Unreadable> {
    let fail = |source| Unreadable { path: path.to_owned(), source };
    let file = File::open(path).map_err(fail)?;
    if file.metadata().map_err(fail)?.is_dir() {
        return Err(fail(io::Error::other("it is a folder; name a script in it")));
    }
    let mut bytes = Vec::new();
    file.take(LARGEST_TEXT + 1).read_to_end(&mut bytes).map_err(fail)?;
    if bytes.len() as u64 > LARGEST_TEXT {
        return Err(fail(io::Error::other("it is larger than 1 MiB, no script or profile is")));
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        fail(io::Error::other(format!(
            "it is no UTF-8 text (byte {at}); save it as UTF-8 (a spreadsheet: as \"CSV UTF-8\")"
        )))
    })
}
