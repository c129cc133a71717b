//! Whom a practice is for: a member of the roster read, and the practice planned for them.

use super::findings::{Gathered, SquadFindings};
use super::open::{Squad, SquadScript};
use crate::diag::shown::ShownPath;
use crate::diag::{Code, Diagnostic, Sources, Spanned, has_errors};
use crate::pack::library::Library;
use crate::pack::manifest;
use crate::prepare::Planned;
use crate::prepare::opened::Own;
use crate::prepare::text::{self, Unreadable};
use crate::render::batch::{Unmade, first_error};
use crate::swimmer::roster::{KnownSwimmer, Member};
use crate::swimmer::{Swimmer, profile};
use std::fmt;
use std::path::Path;
use std::sync::Arc;

/// Why a swimmer of the roster has no practice.
#[derive(Debug)]
pub(super) enum NoSwimmer {
    NoScript,
    /// The first error of their row or profile, in words.
    Wrong(String),
    Row,
    Profile,
    File(Unreadable),
}

impl fmt::Display for NoSwimmer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoScript => f.write_str("there is no script"),
            Self::Wrong(first) => f.write_str(first),
            Self::Row => f.write_str("their row cannot be read"),
            Self::Profile => f.write_str("the profile cannot be read"),
            Self::File(unreadable) => unreadable.fmt(f),
        }
    }
}

/// The planning of a squad's practices, with all that is found wrong on the way.
pub(super) struct SquadPlanning<'a> {
    squad: &'a Squad,
    gathered: Gathered,
}

impl<'a> SquadPlanning<'a> {
    pub fn new(squad: &'a Squad) -> Self {
        Self { squad, gathered: Gathered::default() }
    }

    /// Everything that was found wrong.
    pub fn findings(self) -> SquadFindings {
        self.gathered.all()
    }

    /// Who a member is, who stands in the roster at `index`, from 0; what is wrong with them is noted, and the first of it given.
    pub fn who(&self, index: usize, member: &Member) -> Result<Swimmer, NoSwimmer> {
        let swimmer = self.swimmer(index, member);
        if swimmer.is_err() {
            self.the_rest(index, member);
        }
        swimmer
    }

    /// The swimmer, read from where the roster says.
    fn swimmer(&self, index: usize, member: &Member) -> Result<Swimmer, NoSwimmer> {
        let Some(sources) = self.squad.scripts.first().map(|script| &script.sources) else {
            return Err(NoSwimmer::NoScript);
        };
        self.gathered.add(index, &member.problems, sources);
        first_error(&member.problems).map_or(Ok(()), |first| Err(NoSwimmer::Wrong(first)))?;
        let mut swimmer = match &member.known {
            KnownSwimmer::Here(swimmer) => Swimmer::clone(swimmer),
            KnownSwimmer::Profile(path) => self.profile(index, path, sources)?,
            KnownSwimmer::Unreadable | KnownSwimmer::Noted => return Err(NoSwimmer::Row),
        };
        swimmer.name = Some(member.name.clone());
        Ok(swimmer)
    }

    /// What else is wrong in the row of somebody who cannot be read: their voice, their phrases.
    fn the_rest(&self, index: usize, member: &Member) {
        for script in &self.squad.scripts {
            let (voice, found, sources) = self.voice(member, script);
            let own = Own { voice: voice.as_ref(), focus: &member.focus, texts: &[] };
            let (_, mut found) = script.opened.plan(None, own, found);
            let row = member.span;
            found.retain(|problem| {
                problem.span.is_some_and(|span| {
                    span.source == row.source && (row.start..=row.end).contains(&span.start) && span.end <= row.end
                })
            });
            self.gathered.add(index, &found, &sources);
        }
    }

    fn profile(&self, index: usize, path: &Spanned<String>, sources: &Arc<Sources>) -> Result<Swimmer, NoSwimmer> {
        let file = self.squad.beside.join(&path.value);
        let text = text::read(&file).map_err(|unreadable| {
            let hint = "a profile's path begins where the roster lies";
            let problem = Diagnostic::at(Code::UnknownName, path.span, unreadable.to_string()).hint(hint);
            self.gathered.add(index, &[problem], sources);
            NoSwimmer::File(unreadable)
        })?;
        let mut sources = Sources::new();
        let id = sources.add(file.to_string_lossy().into_owned(), text);
        let (swimmer, problems) = profile::parse(id, &sources);
        self.gathered.add(index, &problems, &Arc::new(sources));
        first_error(&problems).map_or(Ok(()), |first| Err(NoSwimmer::Wrong(first)))?;
        swimmer.ok_or(NoSwimmer::Profile)
    }

    /// A script's practice for them.
    pub fn practice(
        &self,
        (index, member): (usize, &Member),
        swimmer: &Result<Swimmer, NoSwimmer>,
        script: &'a SquadScript,
    ) -> Result<PlannedFor<'a>, Unmade> {
        let swimmer = swimmer.as_ref().map_err(|error| Unmade::Wrong(error.to_string()))?;
        if let Some(planned) = script.laid.get(index) {
            return Ok(PlannedFor::Together(planned));
        }
        let (voice, found, sources) = self.voice(member, script);
        let mut texts = vec![self.squad.roster.clone()];
        if let KnownSwimmer::Profile(path) = &member.known {
            texts.push(self.squad.beside.join(&path.value));
        }
        let own = Own { voice: voice.as_ref(), focus: &member.focus, texts: &texts };
        let (planned, diagnostics) = script.opened.plan(Some(swimmer), own, found);
        self.gathered.add(index, &diagnostics, &sources);
        let Some(planned) = planned.filter(|_| !has_errors(&diagnostics)) else {
            let broken = || format!("{} has errors", script.opened.path().shown());
            return Err(Unmade::Wrong(first_error(&diagnostics).unwrap_or_else(broken)));
        };
        Ok(PlannedFor::Alone(Box::new(planned), diagnostics))
    }

    /// The pack of the swimmer's own voice, what is wrong with it, and the texts that all problems point into.
    fn voice(&self, member: &Member, script: &SquadScript) -> (Option<Library>, Vec<Diagnostic>, Arc<Sources>) {
        let Some(Spanned { value, span }) = &member.voice else {
            return (None, Vec::new(), Arc::clone(&script.sources));
        };
        // A folder as seen from the roster, else a name that is looked up as a script's packs are.
        let beside = Path::new(".").join(&self.squad.beside).join(value);
        let name =
            if beside.join(manifest::FILE).is_file() { beside.to_string_lossy().into_owned() } else { value.clone() };
        let mut sources = Sources::clone(&script.sources);
        let (voice, found) = script.opened.voice(&name, *span, &mut sources);
        // Where nothing is wrong with it, nothing points into it.
        let sources = if found.is_empty() { Arc::clone(&script.sources) } else { Arc::new(sources) };
        (voice, found, sources)
    }
}

/// A practice planned for one swimmer.
pub(super) enum PlannedFor<'a> {
    /// For them alone, with what was found in it.
    Alone(Box<Planned>, Vec<Diagnostic>),
    /// With the others of their lane; what was found in that has been told.
    Together(&'a Planned),
}

impl PlannedFor<'_> {
    /// The practice.
    pub fn planned(&self) -> &Planned {
        match self {
            Self::Alone(planned, _) => planned,
            Self::Together(planned) => planned,
        }
    }

    /// What was found in it.
    pub fn diagnostics(&self) -> &[Diagnostic] {
        match self {
            Self::Alone(_, diagnostics) => diagnostics,
            Self::Together(_) => &[],
        }
    }
}
