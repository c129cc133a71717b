//! Which texts of a pack are to be recorded: those that its scripts use and nobody has recorded, or those that were asked for.
//!
//! What a script uses is seen by laying it out with a mark in the place of every recording of the pack.

use super::fill::{self, Filled};
use super::{Request, Unreadable, open_script};
use crate::diag::{Diagnostic, Sources, has_errors};
use crate::pack::ClipId;
use crate::pack::library::Role;
use crate::pack::load;
use crate::pack::own::{self, Own};
use crate::practice::Audience;
use crate::recording::Prompt;
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
    /// Every text of the pack.
    All,
    /// Those of these ids; `ID.short` is the short form alone.
    Only(Vec<String>),
}

/// What came of looking.
#[derive(Debug)]
pub struct Found {
    /// The pack, where its manifest could be read.
    pub own: Option<Own>,
    /// The texts, in the order of the manifest.
    pub prompts: Vec<Prompt>,
    /// Ids asked for that no text has.
    pub unknown: Vec<String>,
    /// Texts that scripts use, that nobody has recorded, and that are not in the manifest.
    pub unlisted: BTreeSet<String>,
    /// Problems of the manifest and of the scripts.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// Looks through a pack. `again` takes texts that have a recording of their own too; [`Choice::Only`] always does.
///
/// # Errors
/// Where a script cannot be read at all.
pub fn find(
    folder: &Path,
    choice: &Choice,
    again: bool,
    packs: &[PathBuf],
    user_packs: Option<&Path>,
) -> Result<Found, Unreadable> {
    let mut sources = Sources::new();
    let (own, mut diagnostics) = own::read(folder, &mut sources);
    let mut found = Found {
        own: None,
        prompts: Vec::new(),
        unknown: Vec::new(),
        unlisted: BTreeSet::new(),
        diagnostics: Vec::new(),
        sources,
    };
    let Some(own) = own.filter(|_| !has_errors(&diagnostics)) else {
        return Ok(Found { diagnostics, ..found });
    };
    let mut used = BTreeSet::new();
    if *choice == Choice::Used {
        for script in &own.scripts {
            let uses = uses(script, &own, packs, user_packs, &mut found.sources)?;
            used.extend(uses.entries);
            found.unlisted.extend(uses.unlisted);
            diagnostics.extend(uses.problems);
        }
    }
    let mut asked: BTreeMap<&str, bool> = BTreeMap::new();
    if let Choice::Only(ids) = choice {
        asked.extend(ids.iter().map(|id| (id.as_str(), false)));
    }
    for text in &own.manifest.entries {
        let id = &text.id.value;
        let forms = [Some((&text.full, false)), text.short.as_ref().map(|short| (short, true))];
        for (words, short) in forms.into_iter().flatten() {
            let mut prompt = Prompt { role: text.role, id: id.clone(), short, text: words.clone(), recorded: false };
            let stem = prompt.stem();
            prompt.recorded = own.recorded.contains(&(text.role, stem.clone()));
            let wanted = match choice {
                Choice::Used => used.contains(&(text.role, id.clone())) && (again || !prompt.recorded),
                Choice::All => again || !prompt.recorded,
                Choice::Only(_) => {
                    let mut named = false;
                    for name in [id.as_str(), stem.as_str()] {
                        if let Some(seen) = asked.get_mut(name) {
                            (*seen, named) = (true, true);
                        }
                    }
                    named
                }
            };
            if wanted {
                found.prompts.push(prompt);
            }
        }
    }
    found.unknown = asked.into_iter().filter(|(_, seen)| !seen).map(|(id, _)| id.to_owned()).collect();
    diagnostics.dedup();
    Ok(Found { own: Some(own), diagnostics, ..found })
}

struct Uses {
    entries: BTreeSet<(Role, String)>,
    unlisted: BTreeSet<String>,
    problems: Vec<Diagnostic>,
}

/// The entries of the pack that a script uses, through headphones or a speaker, for the assumed swimmer.
fn uses(
    script: &Path,
    own: &Own,
    packs: &[PathBuf],
    user_packs: Option<&Path>,
    sources: &mut Sources,
) -> Result<Uses, Unreadable> {
    let mut uses = Uses { entries: BTreeSet::new(), unlisted: BTreeSet::new(), problems: Vec::new() };
    let request = Request { script: script.to_owned(), ..Request::default() };
    let (source, mut search) = open_script(&request, sources)?;
    (search.extra, search.user) = (packs.to_vec(), user_packs.map(Path::to_owned));
    let (script, problems) = parse_partly(source, sources);
    uses.problems.extend(problems);
    let Some(script) = script.filter(|_| !has_errors(&uses.problems)) else { return Ok(uses) };
    let (mut library, problems) = load::open(&search, script.pack.as_ref(), sources);
    uses.problems.extend(problems);
    let mut marks: BTreeMap<ClipId, (Role, String)> = BTreeMap::new();
    for text in &own.manifest.entries {
        let key = (text.role, text.id.value.clone());
        marks.extend(library.stand_in(key.0, &key.1).into_iter().map(|mark| (mark, key.clone())));
    }
    let swimmer = Swimmer::assumed();
    for audience in [Audience::Headphones, Audience::Speaker] {
        let Filled { laid, diagnostics, .. } = fill::lay_out(&script, library.clone(), &swimmer, audience, None);
        let Some((practice, built)) = laid else {
            // What is wrong for a speaker alone is of no account to who plays it in the ear.
            if audience == Audience::Headphones {
                uses.problems.extend(diagnostics);
            }
            continue;
        };
        let heard = built
            .timeline
            .sounds
            .iter()
            .filter_map(|sound| if let Sound::Clip(clip) = sound { Some(clip) } else { None });
        uses.entries.extend(heard.filter_map(|clip| marks.get(clip).cloned()));
        let titles = practice.sets().map(|set| &set.title).filter(|title| title.clip.is_none());
        uses.unlisted.extend(titles.map(|title| title.text.clone()).chain(built.unrecorded));
    }
    Ok(uses)
}
