//! A roster: the swimmers of a squad, each with a profile or with what is known of them, a voice and a focus of their own.
//!
//! ```yaml
//! lengthwise-roster: 1
//! title: Tuesday lanes
//! pool: 25 m                              # where strokes were counted, unless a swimmer says otherwise
//! swimmers:
//!   - { name: Ida Berg, profile: ida.yaml }
//!   - { name: Eli Moe, hundred: 1:50 }
//!   - name: Bo Lind
//!     stroke: [{ tempo: 1.30 s, count: 21 }]
//!     voice: bos-mother                   # whose recordings win, as with --voice-from
//!     focus: [head-still, soft-hand]      # in place of the script's phrases
//! ```
//!
//! The same as a table is read by `roster::table`. Files that a roster names are not opened here. A mistake in one swimmer's
//! row is that swimmer's: the others can be made.

mod limits;
mod table;

use super::Swimmer;
use super::profile::{self, ENOUGH, KNOWN, LONGEST_NAME};
use crate::diag::{Code, Diagnostic, SourceId, Sources, Span, Spanned, has_errors};
use crate::script::lane::SwimShare;
use crate::script::parse::{parse_phrases, settle, version};
use crate::script::quantity::{lane, swim};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::{self, Node};
use crate::units::swim::PoolLength;
use limits::{MOST, OF_A_SWIMMER, too_many};

/// The keys of a roster. Those of the lanes are read by `swimmer::lanes` alone: the same file serves a squad.
pub(super) const KEYS: &[&str] =
    &["lengthwise-roster", "title", "pool", "swimmers", "gap", "order", "circle", "regroup", "lanes"];
/// The longest name of a lane, in characters.
pub(super) const LONGEST_LANE: usize = 20;
/// The longest path or name of a pack, in characters.
const LONGEST_PATH: usize = 1_000;

/// A squad as written.
#[derive(Clone, Debug, PartialEq)]
pub struct Roster {
    /// `title`
    pub title: Option<String>,
    /// The swimmers, in the order written.
    pub members: Vec<Member>,
}

/// One swimmer of a roster.
#[derive(Clone, Debug, PartialEq)]
pub struct Member {
    /// Their name; "swimmer 3" where it cannot be read.
    pub name: String,
    /// Where they stand in the roster.
    pub span: Span,
    /// What is known of how they swim.
    pub known: KnownSwimmer,
    /// The pack whose recordings win: its name, or a folder as seen from the roster.
    pub voice: Option<Spanned<String>>,
    /// The ids of their own focus phrases; none where the script's are theirs.
    pub focus: Vec<Spanned<String>>,
    /// The lane they swim in, where several are named.
    pub lane: Option<Spanned<String>>,
    /// How much of the practice they swim in their lane.
    pub share: SwimShare,
    /// What is wrong with their row.
    pub problems: Vec<Diagnostic>,
}

impl Member {
    /// Somebody who is known, with nothing written beside it; `span` is where.
    pub fn known(name: &str, span: Span, swimmer: Swimmer) -> Self {
        let known = KnownSwimmer::Here(Box::new(swimmer));
        let (voice, lane, share, name) = (None, None, SwimShare::Whole, name.to_owned());
        Self { name, span, known, voice, focus: Vec::new(), lane, share, problems: Vec::new() }
    }
}

/// What is known of how somebody swims.
#[derive(Clone, Debug, PartialEq)]
pub enum KnownSwimmer {
    /// Their profile, as seen from the roster.
    Profile(Spanned<String>),
    /// It stands in the roster.
    Here(Box<Swimmer>),
    /// Nothing but their name is written: the notebook may know them. In lanes only.
    Noted,
    /// It cannot be read; the problems say why.
    Unreadable,
}

/// How a roster is written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RosterForm {
    /// As the example above.
    Yaml,
    /// As values separated by commas, semicolons or tabs.
    Table,
}

/// What somebody is of whom only the name is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NameAlone {
    /// A mistake.
    Refused,
    /// Somebody of the notebook.
    Noted,
}

impl RosterForm {
    /// That of a text in a file with this extension.
    pub fn of(extension: &str, text: &str) -> Self {
        match extension.to_ascii_lowercase().as_str() {
            "yaml" | "yml" => Self::Yaml,
            "csv" | "tsv" => Self::Table,
            _ if text.contains("lengthwise-roster") => Self::Yaml,
            _ => Self::Table,
        }
    }
}

/// Reads a roster. It is absent exactly where an error is among the problems, which are those of the roster as a whole; those
/// of one swimmer are with that swimmer.
pub fn parse(source: SourceId, sources: &Sources, form: RosterForm) -> (Option<Roster>, Vec<Diagnostic>) {
    let text = sources.text(source);
    let mut problems = Problems::new();
    let mut roster = match form {
        RosterForm::Yaml => {
            let (root, found) = yaml::read(source, text);
            problems = found;
            root.and_then(|root| of_tree(&root, &mut problems))
        }
        RosterForm::Table => {
            rows(source, text, NameAlone::Refused, &mut problems).map(|members| Roster { title: None, members })
        }
    };
    if problems.is_empty() && roster.as_ref().is_none_or(|roster| roster.members.is_empty()) {
        let hint =
            "it begins with `lengthwise-roster: 1` and `swimmers:`, or, as a table, with a line such as `name,profile`";
        problems.push(Diagnostic::at(Code::Empty, Span::new(source, 0, 0), "the roster names nobody").hint(hint));
    }
    if let Some(roster) = &mut roster {
        share_out(&mut problems, &mut roster.members);
    }
    settle(&mut problems);
    (roster.filter(|_| !has_errors(&problems)), problems)
}

fn of_tree(root: &Node, problems: &mut Problems) -> Option<Roster> {
    let fields = Fields::of(root, "the roster", KEYS, problems)?;
    if let Err(problem) = version(&fields, "lengthwise-roster", 1) {
        problems.push(problem);
    }
    let title = fields.text("title", 120, problems).map(|title| title.value);
    let members = swimmers(&fields, None, NameAlone::Refused, problems)?;
    Some(Roster { title, members })
}

/// Those under `swimmers` of a map; `pool` is where the script says that they swim, unless `pool` of the map says more.
pub(super) fn swimmers(
    fields: &Fields<'_>,
    pool: Option<PoolLength>,
    alone: NameAlone,
    problems: &mut Problems,
) -> Option<Vec<Member>> {
    let pool = fields.read("pool", swim::pool, problems).map(|pool| pool.value).or(pool);
    let swimmers = fields.require("swimmers", "swimmers: [{ name: Ida, profile: ida.yaml }]", problems)?;
    let swimmers = tree::list(swimmers, "swimmers", problems)?;
    if let Some(beyond) = swimmers.get(MOST) {
        problems.push(too_many(beyond.span, swimmers.len()));
        return None;
    }
    Some((1..).zip(swimmers).map(|(number, node)| member(number, node, pool, alone)).collect())
}

/// The rows of a table.
pub(super) fn rows(source: SourceId, text: &str, alone: NameAlone, problems: &mut Problems) -> Option<Vec<Member>> {
    let rows = table::read(source, text, problems)?;
    Some((1..).zip(&rows).map(|(number, row)| member(number, row, None, alone)).collect())
}

fn member(number: usize, node: &Node, pool: Option<PoolLength>, alone: NameAlone) -> Member {
    let mut problems = Problems::new();
    let member = read_member(number, node, pool, alone, &mut problems);
    Member { problems, ..member }
}

fn read_member(
    number: usize,
    node: &Node,
    pool: Option<PoolLength>,
    alone: NameAlone,
    problems: &mut Problems,
) -> Member {
    let mut member = Member {
        name: format!("swimmer {number}"),
        span: node.span,
        known: KnownSwimmer::Unreadable,
        voice: None,
        focus: Vec::new(),
        lane: None,
        share: SwimShare::Whole,
        problems: Vec::new(),
    };
    let Some(fields) = Fields::of(node, "a swimmer", OF_A_SWIMMER, problems) else { return member };
    if fields.require("name", "name: Ida Berg", problems).is_some()
        && let Some(name) = fields.text("name", LONGEST_NAME, problems)
    {
        member.name = name.value;
    }
    member.voice = fields.text("voice", LONGEST_PATH, problems);
    let focus = fields.get("focus").and_then(|node| parse_phrases(node, "focus", problems));
    member.focus = focus.unwrap_or_default();
    member.lane = fields.text("lane", LONGEST_LANE, problems);
    member.share = share(&fields, problems);
    member.known = match fields.get("profile") {
        Some(_) => {
            for key in KNOWN.iter().filter_map(|key| fields.key(key)) {
                let message = "a swimmer with a `profile` is described there";
                let hint = "leave out one of the two, or write it into the profile";
                problems.push(Diagnostic::at(Code::Conflict, key, message).hint(hint));
            }
            fields.text("profile", LONGEST_PATH, problems).map_or(KnownSwimmer::Unreadable, KnownSwimmer::Profile)
        }
        None if ENOUGH.iter().all(|key| fields.get(key).is_none())
            && std::iter::once(&"profile").chain(&ENOUGH).all(|key| !fields.misspelt(key)) =>
        {
            // The keys that go with what is known say that it was forgotten.
            if alone == NameAlone::Noted && KNOWN.iter().all(|key| fields.get(key).is_none()) {
                KnownSwimmer::Noted
            } else {
                fields.lacks("`profile` or `hundred`", "hundred: 1:50", problems);
                KnownSwimmer::Unreadable
            }
        }
        None => match profile::known(&fields, pool, "the roster", problems) {
            Some(swimmer) => KnownSwimmer::Here(Box::new(Swimmer { name: Some(member.name.clone()), ..swimmer })),
            None => KnownSwimmer::Unreadable,
        },
    };
    member
}

/// How much of a practice somebody swims.
fn share(fields: &Fields<'_>, problems: &mut Problems) -> SwimShare {
    let swims = fields.read("swims", lane::swims, problems);
    let distance = fields.read("distance", lane::distance, problems);
    if let (Some(swims), Some(distance)) = (fields.key("swims"), fields.key("distance")) {
        let message = "`swims` and `distance` exclude each other: fewer repeats, or shorter ones";
        let problem = Diagnostic::at(Code::Conflict, distance, message);
        problems.push(problem.label(swims, "fewer repeats").hint("keep one of them"));
    }
    swims.or(distance).map_or(SwimShare::Whole, |share| share.value)
}

/// Gives each swimmer those problems of the text that lie in their row. What broke the text off is nobody's.
fn share_out(problems: &mut Problems, members: &mut [Member]) {
    let mut left = Problems::new();
    for problem in problems.drain(..) {
        let own = problem.span.filter(|_| problem.code != Code::Yaml).and_then(|span| {
            let holds = |row: Span| row.start <= span.start && span.end <= row.end;
            members.iter_mut().find(|member| holds(member.span))
        });
        match own {
            Some(member) => member.problems.push(problem),
            None => left.push(problem),
        }
    }
    members.iter_mut().for_each(|member| settle(&mut member.problems));
    *problems = left;
}

#[cfg(test)]
mod tests;
