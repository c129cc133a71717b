//! One practice for each of a squad: every script for every swimmer of a roster, side by side on all cores, each swimmer's
//! files in a folder of their own. What has not changed is not made again, and one who fails stops nobody.
//!
//! Nothing is shared between swimmers but recordings that are ready: parts of a roster can be made on several machines that
//! know nothing of each other. What files are made of is reckoned in `squad::print`, what lies there already in `squad::note`.

mod findings;
mod making;
mod note;
mod open;
mod order;
mod planning;
mod print;
mod shard;

pub use findings::{SquadFinding, SquadFindings};
pub use making::{SquadDone, SquadRow};
pub use open::{Squad, Unusable};
pub use order::SquadOrder;
pub use shard::{NotShard, Shard};

use super::batch::{self, Unmade};
use crate::diag::Diagnostic;
use crate::prepare::Planned;
use crate::sink::file::FileError;
use crate::sink::leftover::{Leftover, sweep_in};
use making::Making;
use open::SquadMember;
use planning::SquadPlanning;
use std::error::Error;
use std::sync::atomic::AtomicBool;

impl Squad {
    /// Sees to what runs that were stopped have left in the folders of the squad.
    ///
    /// # Errors
    /// See [`sweep_in`].
    pub fn sweep(&self, order: &SquadOrder<'_>) -> Result<Vec<Leftover>, FileError> {
        let mut found = sweep_in(order.folder)?;
        for folder in self.folders() {
            let folder = order.folder.join(folder);
            found.extend(sweep_in(&folder)?);
            for script in &self.scripts {
                found.extend(sweep_in(&folder.join(&script.stem))?);
            }
        }
        Ok(found)
    }

    /// Plans the practice of the first script for each member in turn, and hands it over with the name of their folder; or why there
    /// is none. What was found wrong comes at the end.
    pub fn plan_each(
        &self,
        mut take: impl FnMut(&str, &str, Result<(&Planned, &[Diagnostic]), &Unmade>),
    ) -> SquadFindings {
        let planning = SquadPlanning::new(self);
        for (index, SquadMember { member, folder }) in self.of(Shard::WHOLE) {
            for script in self.scripts.iter().take(1) {
                let planned = planning.practice((index, member), &planning.who(index, member), script);
                take(&member.name, folder, planned.as_ref().map(|planned| (planned.planned(), planned.diagnostics())));
            }
        }
        planning.findings()
    }

    /// Makes what a shard of the squad lacks. `keep` is asked, on the thread that made it, for what shall be kept of each
    /// practice; `progress` hears how many swimmers are done, of how many.
    pub fn make<R: Send, E: Error>(
        &self,
        order: &SquadOrder<'_>,
        shard: Shard,
        keep: impl Fn(&SquadDone<'_>) -> Result<R, E> + Sync,
        progress: impl Fn(u64, u64) + Sync,
        stop: &AtomicBool,
    ) -> (Vec<SquadRow<R>>, SquadFindings) {
        let own: Vec<_> = self.of(shard).collect();
        let making = Making::new(self, order, &keep, stop);
        let rows = batch::share_out(&own, progress, |(index, member)| making.member(*index, member));
        (rows.into_iter().flatten().collect(), making.findings())
    }
}
