//! A lane as it was swum: planned once more by its script and the head of its session record, so that what the record tells of
//! each swimmer finds its repeat.

use super::at_a_speaker::as_listed;
use super::identity;
use super::lanes::{PreparedLanes, lanes_of};
use super::opened::Opened;
use super::request::PracticeRequest;
use super::text::Unreadable;
use crate::diag::{Diagnostic, Sources, has_errors};
use crate::lane::{self, Lane};
use crate::notebook::entry::ScriptCopy;
use crate::practice::Audience;
use crate::script::lane::LaneOrder;
use crate::session::record::HeadLane;
use crate::swimmer::lanes::WrittenLane;
use std::fmt;
use std::path::Path;

/// What came of a script and the lane of a record.
#[derive(Debug)]
pub struct SwumLane {
    /// The lane, its swimmers in the order of the record; or why it is not that of the record.
    pub lane: Result<Lane, OtherLane>,
    /// What tells the script from others.
    pub identity: String,
    /// The script's text.
    pub text: String,
    /// Every problem found on the way.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// Why a lane is not that of a record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OtherLane {
    /// The script names nobody, and no roster was given.
    Nobody,
    /// There is no lane of that name; those that there are.
    Name(Vec<String>),
    /// Others swim in it.
    Swimmers(Vec<String>),
    /// It cannot be planned: an error is among the problems.
    Broken,
}

impl fmt::Display for OtherLane {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nobody => f.write_str("the script does not say who shares a lane"),
            Self::Name(lanes) => write!(f, "there is no lane of that name, only {}", lanes.join(", ")),
            Self::Swimmers(names) => write!(f, "that lane has {} now", names.join(", ")),
            Self::Broken => f.write_str("its lane cannot be planned"),
        }
    }
}

/// Plans the lane of a record. `kept` is the script's text where it lies nowhere any more, `file` a roster that says who swims
/// where. Order and gap are those of the record: by now the notebook may find somebody else the fastest.
///
/// # Errors
/// Where the script or the roster cannot be read.
pub fn swum(
    request: &PracticeRequest,
    kept: Option<&ScriptCopy>,
    file: Option<&Path>,
    head: &HeadLane,
) -> Result<SwumLane, Unreadable> {
    // A lane is steered at its speaker.
    let request = PracticeRequest { audience: Audience::Speaker, ..request.clone() };
    let open = |sources: Sources| match kept {
        None => Opened::open(&request, sources),
        Some(copy) => Ok(Opened::of_copy(copy, &request, sources)),
    };
    let PreparedLanes { title, lanes: known, written, opened, mut diagnostics, sources, .. } =
        lanes_of(&request, file, open)?;
    let lane = if file.is_none() && opened.script.as_ref().is_some_and(|script| script.lane.is_none()) {
        Err(OtherLane::Nobody)
    } else {
        match written.zip(known).filter(|_| !has_errors(&diagnostics)) {
            None => Err(OtherLane::Broken),
            Some((written, known)) => {
                let lanes = written.lanes.into_iter().zip(known).collect();
                as_it_was(&opened, lanes, head, &mut diagnostics)
            }
        }
    };
    let (identity, text) = (identity(opened.path(), &title), opened.text().to_owned());
    Ok(SwumLane { lane, identity, text, diagnostics, sources })
}

/// The lane of a record among those that are written.
fn as_it_was(
    opened: &Opened,
    lanes: Vec<(WrittenLane, Lane)>,
    head: &HeadLane,
    diagnostics: &mut Vec<Diagnostic>,
) -> Result<Lane, OtherLane> {
    let names = lanes.iter().map(|(lane, _)| lane.name.clone()).collect();
    let found = lanes.into_iter().find(|(lane, _)| lane.name == head.name);
    let (written, known) = found.ok_or(OtherLane::Name(names))?;
    let mut written = written.for_a_speaker();
    let swimmers = as_listed(&known);
    let members = || head.swimmers.iter().map(|name| written.swimmers.iter().position(|member| member.name == *name));
    let places: Vec<usize> = members().flatten().collect();
    if places.len() != head.swimmers.len() || places.len() != written.swimmers.len() {
        return Err(OtherLane::Swimmers(written.swimmers.iter().map(|member| member.name.clone()).collect()));
    }
    let swimmers: Vec<_> = places.iter().filter_map(|place| swimmers.get(*place).cloned()).collect();
    written.swimmers = places.iter().filter_map(|place| written.swimmers.get(*place).cloned()).collect();
    (written.order, written.gap) = (LaneOrder::AsListed, head.gap);
    let script = opened.script.as_ref().ok_or(OtherLane::Broken)?;
    let (lane, found) = lane::expand(script, &opened.library, &written, &swimmers, opened.audience);
    diagnostics.extend(found);
    lane.ok_or(OtherLane::Broken)
}
