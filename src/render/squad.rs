//! One practice for each of a squad: every script for every swimmer of a roster, side by side on all cores, each swimmer's
//! files in a folder of their own. What has not changed is not made again, and one who fails stops nobody.
//!
//! Nothing is shared between swimmers but recordings that are ready: parts of a roster can be made on several machines that
//! know nothing of each other. What files are made of is `squad::print`'s business, what lies there already `squad::note`'s.

mod findings;
mod making;
mod note;
mod order;
mod print;

pub use findings::{Finding, Findings};
pub use making::Done;
pub use order::{Files, Wanted};

use crate::cores;
use crate::diag::{Diagnostic, Sources, has_errors};
use crate::prepare::opened::Opened;
use crate::prepare::{Request, Unreadable, identity, text};
use crate::sink::names;
use crate::swimmer::roster::{self, Member, Roster, RosterForm};
use making::Making;
use std::collections::BTreeSet;
use std::fmt;
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// A squad and what it is to swim.
#[derive(Debug)]
pub struct Squad {
    /// The roster's title.
    pub title: Option<String>,
    members: Vec<Member>,
    /// The name of each member's folder: told apart over the whole roster, so that every part of it agrees.
    folders: Vec<String>,
    /// Where the roster lies: what it names is found from there.
    beside: PathBuf,
    scripts: Vec<Script>,
}

/// A script with what it is called.
#[derive(Debug)]
struct Script {
    opened: Opened,
    sources: Arc<Sources>,
    /// What files of it are called, without their ending.
    stem: String,
    identity: String,
}

/// Why there is no squad.
#[derive(Debug)]
pub enum Unusable {
    /// A file cannot be read.
    Unreadable(Unreadable),
    /// The roster has errors that are nobody's own.
    Wrong(Vec<Diagnostic>, Sources),
    /// Two scripts of this name would be written to the same files.
    Twice(String),
}

/// Every so many of a roster's swimmers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Which of them, from 1.
    number: usize,
    /// How many there are.
    of: usize,
}

impl Shard {
    /// The whole roster.
    pub const WHOLE: Self = Self { number: 1, of: 1 };

    const fn has(self, index: usize) -> bool {
        index % self.of == self.number - 1
    }
}

impl FromStr for Shard {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let whole = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit()).then(|| text.parse().ok()).flatten();
        let parts = text.split_once('/').and_then(|(number, of)| Some((whole(number)?, whole(of)?)));
        match parts {
            Some((number, of)) if (1..=of).contains(&number) => Ok(Self { number, of }),
            Some((number, of)) => Err(format!("there is no part {number} of {of}; they are counted from 1")),
            None => Err("write it as 2/5: the second of five".to_owned()),
        }
    }
}

impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.number, self.of)
    }
}

/// What came of one script for one swimmer.
#[derive(Clone, Debug, PartialEq)]
pub struct Row<R> {
    /// The swimmer.
    pub name: String,
    /// The file, or the folder of tracks.
    pub output: PathBuf,
    /// How it ended.
    pub ended: Ended<R>,
    /// With a swimmer's first practice: files in their folder that were made before and were not asked for now.
    pub others: usize,
}

/// How the making of one practice ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Ended<R> {
    /// It was made.
    Made(R),
    /// It lies there as it would be made.
    Unchanged(R),
    /// The swimmer's data or the script has an error, which is among the findings.
    Wrong(String),
    /// A file could not be read or written.
    Failed(String),
    /// Not begun or not finished when it was asked to stop.
    Stopped,
}

impl Squad {
    /// Reads a roster and the scripts for it. `requests` are equal but for their scripts; whose profile they name is nobody's.
    ///
    /// # Errors
    /// See [`Unusable`]. What is wrong with scripts or single swimmers comes out when they are made.
    pub fn open(roster: &Path, requests: &[Request]) -> Result<Self, Unusable> {
        let text = text::read(roster).map_err(Unusable::Unreadable)?;
        let ending = roster.extension().unwrap_or_default().to_string_lossy();
        let form = RosterForm::of(&ending, &text);
        let mut sources = Sources::new();
        let id = sources.add(roster.display().to_string(), text);
        let (read, problems) = roster::parse(id, &sources, form);
        let Some(Roster { title, members }) = read.filter(|_| !has_errors(&problems)) else {
            return Err(Unusable::Wrong(problems, sources));
        };
        let mut scripts: Vec<Script> = Vec::with_capacity(requests.len());
        let mut stems = BTreeSet::new();
        for request in requests {
            let opened = Opened::open(request, sources.clone()).map_err(Unusable::Unreadable)?;
            let path = &request.script;
            let stem = path.file_stem().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
            if !stems.insert(stem.to_lowercase()) {
                return Err(Unusable::Twice(stem));
            }
            let (sources, identity) = (Arc::new(opened.sources.clone()), identity(path));
            scripts.push(Script { opened, sources, stem, identity });
        }
        let folders = names::folders(members.iter().map(|member| member.name.as_str()));
        let beside = roster.parent().unwrap_or(Path::new("")).to_owned();
        Ok(Self { title, members, folders, beside, scripts })
    }

    /// Makes what a shard of the squad lacks. `told` is asked, on the thread that made it, for what shall be kept of each
    /// practice: the practice itself is not, so that memory does not grow with the squad. `progress` hears how many swimmers
    /// are done, of how many.
    pub fn make<R: Send>(
        &self,
        wanted: &Wanted<'_>,
        shard: Shard,
        told: impl Fn(&Done<'_>) -> Result<R, String> + Sync,
        progress: impl Fn(u64, u64) + Sync,
        stop: &AtomicBool,
    ) -> (Vec<Row<R>>, Findings) {
        let own: Vec<usize> = (0..self.members.len()).filter(|index| shard.has(*index)).collect();
        let making = Making::new(self, wanted, &told, stop);
        let (done, total) = (AtomicU64::new(0), own.len() as u64);
        let rows = cores::share(
            cores::count(),
            &own,
            || (),
            |(), index| {
                let rows = making.member(*index);
                progress(done.fetch_add(1, Ordering::Relaxed) + 1, total);
                rows
            },
        );
        (rows.into_iter().flatten().collect(), making.findings())
    }

    /// Folders of swimmers beside those of the roster, made before and left as they are.
    pub fn strangers(&self, folder: &Path) -> Vec<String> {
        let own: BTreeSet<String> = self.folders.iter().map(|name| name.to_lowercase()).collect();
        let found = std::fs::read_dir(folder).into_iter().flatten().flatten();
        let names = found.filter(|entry| note::is_there(&entry.path())).map(|entry| entry.file_name());
        let mut names: Vec<String> = names.map(|name| name.to_string_lossy().into_owned()).collect();
        names.retain(|name| !own.contains(&name.to_lowercase()));
        names.sort();
        names
    }

    /// The name of a member by their place in the roster, from 0.
    pub fn name(&self, member: usize) -> &str {
        self.members.get(member).map_or("", |member| &member.name)
    }

    /// How many swimmers a shard has.
    pub fn count(&self, shard: Shard) -> usize {
        (0..self.members.len()).filter(|index| shard.has(*index)).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shards_share_a_roster_out() {
        let shard = |text: &str| text.parse::<Shard>();
        for of in 1..=7 {
            let shards: Vec<Shard> = (1..=of).map(|number| shard(&format!("{number}/{of}")).unwrap()).collect();
            for index in 0..30 {
                assert_eq!(shards.iter().filter(|shard| shard.has(index)).count(), 1);
            }
        }
        assert!(shard("1/3").unwrap().has(0) && shard("3/3").unwrap().has(5) && Shard::WHOLE.has(8));
        for wrong in
            ["", "1", "0/2", "3/2", "1/0", "-1/2", "+1/2", "1/2/3", "one/two", "1.0/2", "99999999999999999999/2"]
        {
            assert!(shard(wrong).is_err(), "{wrong}");
        }
    }
}
