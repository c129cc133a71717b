//! The practices of one swimmer, made or found unchanged.

use super::findings::SquadFindings;
use super::note::Note;
use super::open::{Squad, SquadMember, SquadScript};
use super::order::{HERE, PracticeOrder, PracticePlace, SquadOrder};
use super::planning::{PlannedFor, SquadPlanning};
use super::print;
use crate::disk::{Access, FolderForFiles};
use crate::prepare::identity;
use crate::render::batch::{Done, PracticeEnd, Shared, Unmade};
use crate::render::made::{NotRendered, PracticeFiles};
use crate::sink::file::FileError;
use std::error::Error;
use std::path::PathBuf;
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

/// What all threads work with.
pub(super) struct Making<'a, K> {
    squad: &'a Squad,
    order: &'a SquadOrder<'a>,
    keep: &'a K,
    shared: Shared<'a>,
    hashes: print::Hashes,
    planning: SquadPlanning<'a>,
}

impl<'a, K, R, E: Error> Making<'a, K>
where
    K: Fn(&SquadDone<'_>) -> Result<R, E>,
{
    pub fn new(squad: &'a Squad, order: &'a SquadOrder<'a>, keep: &'a K, stop: &'a AtomicBool) -> Self {
        let (hashes, planning) = (print::Hashes::default(), SquadPlanning::new(squad));
        Self { squad, order, keep, shared: Shared::new(stop), hashes, planning }
    }

    /// Everything that was found wrong.
    pub fn findings(self) -> SquadFindings {
        self.planning.findings()
    }

    /// All practices of a member of the roster, who stands there at `index`, from 0.
    pub fn member(&self, index: usize, SquadMember { member, folder }: &SquadMember) -> Vec<SquadRow<R>> {
        let folder = self.order.folder.join(folder);
        let outputs: Vec<String> = self.squad.scripts.iter().map(|script| self.output(script)).collect();
        let mut note = Note::read(&folder);
        let mut others = note.as_ref().map_or(0, |note| note.others(&folder, &outputs));
        let swimmer = self.planning.who(index, member);
        let mut one = |(script, output): (&SquadScript, &String)| {
            let path = if output == HERE { folder.clone() } else { folder.join(output) };
            let place = PracticePlace { folder: &folder, output, path: &path };
            let end = if swimmer.is_ok() && self.shared.is_stopped() {
                Err(Unmade::Stopped)
            } else {
                let planned = self.planning.practice((index, member), &swimmer, script);
                planned.and_then(|planned| self.files(&planned, script, &place, &mut note))
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

    /// The files of a practice, made unless they are there.
    fn files(
        &self,
        planned: &PlannedFor<'_>,
        script: &SquadScript,
        place: &PracticePlace<'_>,
        note: &mut Option<Note>,
    ) -> Result<PracticeEnd<R>, Unmade> {
        let (planned, diagnostics) = (planned.planned(), planned.diagnostics());
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
}
