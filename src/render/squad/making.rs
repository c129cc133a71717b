//! The practices of one swimmer, made or found unchanged.

use super::findings::{Gathered, SquadFindings};
use super::note::Note;
use super::open::{Squad, SquadMember, SquadScript};
use super::order::{HERE, PracticeOrder, PracticePlace, SquadOrder};
use super::print;
use crate::diag::shown::ShownPath;
use crate::diag::{Code, Diagnostic, Sources, Spanned, has_errors};
use crate::disk::{Access, FolderForFiles};
use crate::pack::library::Library;
use crate::pack::manifest;
use crate::prepare::opened::Own;
use crate::prepare::text::{self, Unreadable};
use crate::prepare::{Planned, identity};
use crate::render::batch::{Done, PracticeEnd, Shared, Unmade, first_error};
use crate::render::made::{NotRendered, PracticeFiles};
use crate::sink::file::FileError;
use crate::swimmer::roster::{KnownSwimmer, Member};
use crate::swimmer::{Swimmer, profile};
use std::error::Error;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// A practice that is there now; nothing was made where it was there as it would be made.
pub type SquadDone<'a> = Done<'a, Option<&'a PracticeFiles>>;

/// What came of one script for one swimmer.
#[derive(Clone, Debug, PartialEq)]
pub struct SquadRow<R> {
    /// The swimmer.
    pub swimmer: String,
    /// The file, or the folder of tracks.
    pub output: PathBuf,
    /// How it ended.
    pub end: PracticeEnd<R>,
    /// With a swimmer's first practice: files in their folder that were made before and were not asked for now.
    pub others: usize,
}

/// Why a swimmer of the roster has no practice.
#[derive(Debug)]
enum NoSwimmer {
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

/// What all threads work with.
pub(super) struct Making<'a, K> {
    squad: &'a Squad,
    order: &'a SquadOrder<'a>,
    keep: &'a K,
    shared: Shared<'a>,
    hashes: print::Hashes,
    gathered: Gathered,
}

impl<'a, K, R, E: Error> Making<'a, K>
where
    K: Fn(&SquadDone<'_>) -> Result<R, E>,
{
    pub fn new(squad: &'a Squad, order: &'a SquadOrder<'a>, keep: &'a K, stop: &'a AtomicBool) -> Self {
        let (hashes, gathered) = (print::Hashes::default(), Gathered::default());
        Self { squad, order, keep, shared: Shared::new(stop), hashes, gathered }
    }

    /// Everything that was found wrong.
    pub fn findings(self) -> SquadFindings {
        self.gathered.all()
    }

    /// All practices of a member of the roster, who stands there at `index`, from 0.
    pub fn member(&self, index: usize, SquadMember { member, folder }: &SquadMember) -> Vec<SquadRow<R>> {
        let folder = self.order.folder.join(folder);
        let outputs: Vec<String> = self.squad.scripts.iter().map(|script| self.output(script)).collect();
        let mut note = Note::read(&folder);
        let mut others = note.as_ref().map_or(0, |note| note.others(&folder, &outputs));
        let swimmer = self.swimmer(index, member);
        if swimmer.is_err() {
            self.the_rest(index, member);
        }
        let mut one = |(script, output): (&SquadScript, &String)| {
            let path = if output == HERE { folder.clone() } else { folder.join(output) };
            let end = match &swimmer {
                Err(error) => Err(Unmade::Wrong(error.to_string())),
                Ok(_) if self.shared.is_stopped() => Err(Unmade::Stopped),
                Ok(swimmer) => {
                    let place = PracticePlace { folder: &folder, output, path: &path };
                    self.practice((index, member), swimmer, script, &place, &mut note)
                }
            };
            // They are counted once, with the first practice.
            let others = std::mem::take(&mut others);
            SquadRow { swimmer: member.name.clone(), output: path, end: end.into(), others }
        };
        self.squad.scripts.iter().zip(&outputs).map(&mut one).collect()
    }

    /// What a script's practice is called in a swimmer's folder.
    fn output(&self, script: &SquadScript) -> String {
        match (self.order.player, self.squad.scripts.len()) {
            (true, 1) => HERE.to_owned(),
            (true, _) => script.stem.clone(),
            (false, _) => format!("{}.{}", script.stem, self.order.target.format.extension()),
        }
    }

    /// The swimmer, read from where the roster says; what is wrong with them is noted, and the first of it given.
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

    /// One practice of one swimmer.
    fn practice(
        &self,
        (index, member): (usize, &Member),
        swimmer: &Swimmer,
        script: &SquadScript,
        place: &PracticePlace<'_>,
        note: &mut Option<Note>,
    ) -> Result<PracticeEnd<R>, Unmade> {
        if let Some(planned) = script.laid.get(index) {
            return self.files(planned, &[], script, place, note);
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
        self.files(&planned, &diagnostics, script, place, note)
    }

    /// The files of a practice, made unless they are there.
    fn files(
        &self,
        planned: &Planned,
        diagnostics: &[Diagnostic],
        script: &SquadScript,
        place: &PracticePlace<'_>,
        note: &mut Option<Note>,
    ) -> Result<PracticeEnd<R>, Unmade> {
        let done = |files: Option<&PracticeFiles>| {
            let done = Done { output: place.path, planned, diagnostics, files };
            (self.keep)(&done).map_err(|error| Unmade::Failed(error.to_string()))
        };
        let identity = identity(script.opened.path(), &planned.plan.title);
        let order = PracticeOrder::of(self.order, &identity, place, note.as_ref());
        let print = order.print(planned, &self.hashes).map_err(NotRendered::Recording)?;
        if !self.order.force && note.as_ref().is_some_and(|note| note.holds(place.folder, place.output, &print)) {
            return Ok(PracticeEnd::Unchanged(done(None)?));
        }
        let above = if place.output == HERE { self.order.folder } else { place.folder };
        let _made = FolderForFiles::make(above, Access::Private).map_err(FileError::system("create", above))?;
        let files = order.make(planned, &self.shared.stock, self.shared.stop)?;
        note.get_or_insert_with(Note::new).put(place.folder, place.output, print, &order.names(planned))?;
        Ok(PracticeEnd::Made(done(Some(&files))?))
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
