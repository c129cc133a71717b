//! Which texts of a pack are to be recorded: those that its scripts use and that have no recording of its own, or those that
//! were asked for.
//!
//! What a script uses is seen by laying it out with a mark in the place of every recording of the pack.

use crate::diag::{Diagnostic, Sources, has_errors};
use crate::pack::ClipId;
use crate::pack::library::Role;
use crate::pack::load;
use crate::pack::shelf::{HeardFrom, OpenedPack, PackLine, Shelf};
use crate::pack::speech::{Speech, text_times};
use crate::practice::Audience;
use crate::prepare::{Filled, PracticeRequest, Unreadable, in_its_language, lay_out};
use crate::recording::{Prompt, TextTimes};
use crate::script::parse::parse_partly;
use crate::swimmer::Swimmer;
use crate::timeline::Sound;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Which texts are wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Choice {
    /// Those that a script of the pack uses.
    Used,
    /// Those that these scripts use.
    For(Vec<PathBuf>),
    /// Every text of the pack.
    All,
    /// Those of these ids; `ID.short` is the short form alone.
    Only(Vec<String>),
}

/// What came of looking.
#[derive(Debug, Default)]
pub struct PromptsFound {
    /// The texts, in the order of the manifest.
    pub prompts: Vec<Prompt>,
    /// Ids asked for that no text has.
    pub unknown: Vec<String>,
    /// Texts that scripts use, that nobody has recorded, and that are not in the manifest.
    pub unlisted: BTreeSet<String>,
    /// Problems of the scripts.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// Looks through a pack. `again` takes texts that have a recording of their own too; [`Choice::Only`] always does.
///
/// # Errors
/// Where a script cannot be read at all.
pub fn find(pack: &OpenedPack, choice: &Choice, again: bool, shelf: &Shelf) -> Result<PromptsFound, Unreadable> {
    let mut found = PromptsFound::default();
    let mut used = BTreeSet::new();
    let scripts = match choice {
        Choice::Used => pack.scripts.as_slice(),
        Choice::For(scripts) => scripts.as_slice(),
        Choice::All | Choice::Only(_) => &[],
    };
    for script in scripts {
        used.extend(uses(script, pack, shelf, &mut found)?);
    }
    for line in &pack.lines {
        let prompt = prompt(line);
        let wanted = match choice {
            Choice::Used | Choice::For(_) => {
                used.contains(&(line.role, line.id.clone())) && (again || !prompt.recorded)
            }
            Choice::All => again || !prompt.recorded,
            Choice::Only(ids) => ids.iter().any(|id| *id == line.id || *id == prompt.stem()),
        };
        if wanted {
            found.prompts.push(prompt);
        }
    }
    if let Choice::Only(ids) = choice {
        let known = |id: &String| found.prompts.iter().any(|prompt| *id == prompt.id || *id == prompt.stem());
        found.unknown = ids.iter().filter(|id| !known(id)).cloned().collect();
    }
    found.diagnostics.dedup();
    Ok(found)
}

/// How long the pack's texts should take to say; nothing where they are in a language that the built-in voice does not speak.
pub fn times(pack: &OpenedPack, speech: Option<Speech>) -> Option<TextTimes> {
    let time = move |text: &str| text_times(speech.as_ref(), &[text.to_owned()]).pop().flatten();
    in_its_language(&pack.library).then(|| TextTimes::new(time))
}

/// One that cannot be used is as good as none.
fn prompt(line: &PackLine) -> Prompt {
    let recorded = matches!(line.source, HeardFrom::Own(_));
    Prompt { role: line.role, id: line.id.clone(), short: line.short, text: line.text.clone(), recorded }
}

/// The entries of the pack that a script uses, through headphones or a speaker, for the assumed swimmer.
fn uses(
    script: &Path,
    pack: &OpenedPack,
    shelf: &Shelf,
    found: &mut PromptsFound,
) -> Result<BTreeSet<(Role, String)>, Unreadable> {
    let mut used = BTreeSet::new();
    let request = PracticeRequest { script: script.to_owned(), ..PracticeRequest::default() };
    let (source, mut search) = request.open(&mut found.sources)?;
    (search.extra, search.user) = (shelf.extra.clone(), shelf.user.clone());
    let (script, problems) = parse_partly(source, &found.sources);
    let whole = !has_errors(&problems);
    found.diagnostics.extend(problems);
    let Some(script) = script.filter(|_| whole) else { return Ok(used) };
    // What is wrong in the packs was reported when this one was opened, or is by `check`.
    let (mut library, _) = load::open(&search, script.pack.as_ref(), &mut found.sources);
    let mut marks: BTreeMap<ClipId, (Role, String)> = BTreeMap::new();
    for line in pack.lines.iter().filter(|line| !line.short) {
        let key = (line.role, line.id.clone());
        marks.extend(library.stand_in(key.0, &key.1).into_iter().map(|mark| (mark, key.clone())));
    }
    let swimmer = Swimmer::assumed();
    for audience in [Audience::Headphones, Audience::Speaker] {
        let Filled { laid, diagnostics, .. } = lay_out(&script, library.clone(), &swimmer, audience, None);
        let Some((practice, built)) = laid else {
            // What is wrong for a speaker alone is of no account to who plays it in the ear.
            if audience == Audience::Headphones {
                found.diagnostics.extend(diagnostics);
            }
            continue;
        };
        let clip = |sound: &Sound| if let Sound::Clip(clip) = sound { marks.get(clip).cloned() } else { None };
        used.extend(built.timeline.sounds.iter().filter_map(clip));
        let titles = practice.sets().map(|set| &set.title).filter(|title| title.clip.is_none());
        found.unlisted.extend(titles.map(|title| title.text.clone()).chain(built.findings.unrecorded));
    }
    Ok(used)
}
