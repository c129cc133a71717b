//! A roster and the scripts for it, read: who swims what, and in which folder it goes.

use super::note;
use super::shard::Shard;
use crate::diag::{Diagnostic, Sources, has_errors};
use crate::prepare::apart::{PreparedApart, SwimmerPlanned};
use crate::prepare::opened::Opened;
use crate::prepare::{Planned, PracticeRequest, Unreadable, stem, text};
use crate::sink::names;
use crate::swimmer::roster::{self, Member, Roster, RosterForm};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A squad and what it is to swim.
#[derive(Debug)]
pub struct Squad {
    /// The roster's title.
    pub title: Option<String>,
    members: Vec<SquadMember>,
    /// The roster.
    pub(super) roster: PathBuf,
    /// Where it lies: what it names is found from there.
    pub(super) beside: PathBuf,
    pub(super) scripts: Vec<SquadScript>,
}

/// A member of the roster with the name of their folder.
#[derive(Debug)]
pub(super) struct SquadMember {
    pub member: Member,
    /// Told apart over the whole roster, so that every part of it agrees.
    pub folder: String,
}

/// A script with what it is called.
#[derive(Debug)]
pub(super) struct SquadScript {
    pub opened: Opened,
    pub sources: Arc<Sources>,
    /// What files of it are called, without an extension.
    pub stem: String,
    /// Where it is swum in lanes: what each member hears, planned together with the others; else empty.
    pub laid: Vec<Planned>,
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

impl Squad {
    /// Reads a roster and the scripts for it. `requests` are equal but for their scripts; whose profile they name is nobody's.
    ///
    /// # Errors
    /// See [`Unusable`]. What is wrong with scripts or single swimmers comes out when they are made.
    pub fn open(roster: &Path, requests: &[PracticeRequest]) -> Result<Self, Unusable> {
        let text = text::read(roster).map_err(Unusable::Unreadable)?;
        // Without an extension the text alone shows the form.
        let extension = roster.extension().unwrap_or_default().to_string_lossy();
        let form = RosterForm::of(&extension, &text);
        let mut sources = Sources::new();
        let id = sources.add(roster.to_string_lossy().into_owned(), text);
        let (read, problems) = roster::parse(id, &sources, form);
        let Some(Roster { title, members }) = read.filter(|_| !has_errors(&problems)) else {
            return Err(Unusable::Wrong(problems, sources));
        };
        let mut scripts: Vec<SquadScript> = Vec::with_capacity(requests.len());
        let mut stems = BTreeSet::new();
        for request in requests {
            let opened = Opened::open(request, sources.clone()).map_err(Unusable::Unreadable)?;
            let stem = stem(&request.script).to_string_lossy().into_owned();
            if !stems.insert(stem.to_lowercase()) {
                return Err(Unusable::Twice(stem));
            }
            let sources = Arc::new(opened.sources.clone());
            scripts.push(SquadScript { opened, sources, stem, laid: Vec::new() });
        }
        let folders = names::folders(members.iter().map(|member| member.name.as_str()));
        let members = members.into_iter().zip(folders).map(|(member, folder)| SquadMember { member, folder }).collect();
        let beside = roster.parent().unwrap_or(Path::new("")).to_owned();
        Ok(Self { title, members, roster: roster.to_owned(), beside, scripts })
    }

    /// The swimmers of lanes as a squad: what they hear is planned already, and its problems are told.
    pub fn of_lanes(apart: PreparedApart) -> Self {
        let PreparedApart { swimmers, opened, roster, sources, .. } = apart;
        let folders = names::folders(swimmers.iter().map(|swimmer| swimmer.name.as_str()));
        let member = |(swimmer, folder): (&SwimmerPlanned, String)| SquadMember {
            member: Member::known(&swimmer.name, swimmer.span, swimmer.planned.swimmer.clone()),
            folder,
        };
        let members = swimmers.iter().zip(folders).map(member).collect();
        let laid = swimmers.into_iter().map(|swimmer| swimmer.planned).collect();
        let (sources, stem) = (Arc::new(sources), stem(opened.path()).to_string_lossy().into_owned());
        let beside = roster.parent().unwrap_or(Path::new("")).to_owned();
        Self { title: None, members, roster, beside, scripts: vec![SquadScript { opened, sources, stem, laid }] }
    }

    /// Folders of swimmers beside those of the roster, made before and left as they are.
    pub fn strangers(&self, folder: &Path) -> Vec<String> {
        let own: BTreeSet<String> = self.members.iter().map(|member| member.folder.to_lowercase()).collect();
        let found = std::fs::read_dir(folder).into_iter().flatten().flatten();
        let names = found.filter(|entry| note::is_there(&entry.path())).map(|entry| entry.file_name());
        let mut names: Vec<String> = names.map(|name| name.to_string_lossy().into_owned()).collect();
        names.retain(|name| !own.contains(&name.to_lowercase()));
        names.sort();
        names
    }

    /// The name of a member by their place in the roster, from 0.
    pub fn name(&self, member: usize) -> &str {
        self.members.get(member).map_or("", |member| &member.member.name)
    }

    /// The names of the swimmers' folders.
    pub(super) fn folders(&self) -> impl Iterator<Item = &str> {
        self.members.iter().map(|member| member.folder.as_str())
    }

    /// How many swimmers a shard has.
    pub fn count(&self, shard: Shard) -> usize {
        self.of(shard).count()
    }

    /// The members of a shard, with their places in the roster.
    pub(super) fn of(&self, shard: Shard) -> impl Iterator<Item = (usize, &SquadMember)> {
        self.members.iter().enumerate().filter(move |(index, _)| shard.has(*index))
    }
}
