//! Who shares a lane, as written: under `lane` of a script, or in a roster of its own.
//!
//! ```yaml
//! lengthwise-roster: 1
//! pool: 25 m
//! gap: 5 s                                # from one swimmer's go to the next one's
//! order: fastest first                    # or `as listed`
//! circle: anticlockwise                   # keep to the right; or `clockwise`
//! regroup: { every: 4 repeats, for: 45 s } # stand longer now and then; a set may say its own
//! lanes:                                  # where there are several; each may say what differs
//!   - { lane: 1 }
//!   - { lane: 2, gap: 10 s, send-off: 20 s more per 100 }
//! swimmers:
//!   - { name: Ida Berg, hundred: 1:25, lane: 1 }
//!   - { name: Bo Lind, hundred: 1:50, lane: 2, swims: 3 of 4 }
//!   - { name: Cy Dahl, profile: cy.yaml, lane: 2, distance: 3/4 }
//!   - { name: Eve Moe, lane: 2 }          # of whom the notebook knows more
//! ```
//!
//! Under `lane` of a script the same keys stand but for the first and the title. Files and the notebook are not opened here, and
//! nothing is reckoned.

use super::roster::{self, KEYS, LONGEST_LANE, Member, NameAlone, RosterForm};
use crate::diag::{Code, Diagnostic, SourceId, Sources, Span, Spanned, has_errors};
use crate::script::lane::{Circle, LaneOrder, Regroup, SAFE_GAP, SendOffShift};
use crate::script::parse::{parse_regroup, settle, version};
use crate::script::quantity::lane;
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::{self, Node};
use crate::script::{Script, Water};
use crate::units::swim::PoolLength;
use crate::units::time::Seconds;

/// The keys of `lane` in a script.
const LANE_KEYS: &[&str] = &["gap", "order", "circle", "regroup", "lanes", "swimmers"];
/// The keys of an entry of `lanes`.
const ENTRY_KEYS: &[&str] = &["lane", "gap", "order", "circle", "send-off"];
/// The most swimmers of a lane. Eight of them 6 m apart, which is 5 s at 1.2 m/s, fill the 50 m once around a lane of 25 m:
/// with a ninth, whoever turns meets whoever has not left. Keys 1 to 8 are theirs, too.
pub const MOST_IN_A_LANE: usize = 8;
/// The most lanes: those of a large pool.
pub const MOST_LANES: usize = 10;

/// Lanes that start and end their sets together.
#[derive(Clone, Debug, PartialEq)]
pub struct WrittenLanes {
    /// In the order in which they are written, or first named; each has a swimmer.
    pub lanes: Vec<WrittenLane>,
}

/// One lane.
#[derive(Clone, Debug, PartialEq)]
pub struct WrittenLane {
    /// What it is called: `1`, unless it has a name.
    pub name: String,
    /// `gap`, 3 s to 1 min; 5 s where not written.
    pub gap: Seconds,
    /// `order`
    pub order: LaneOrder,
    /// `circle`
    pub circle: Circle,
    /// `send-off`
    pub send_off: SendOffShift,
    /// `regroup` of all lanes, where a set does not say its own.
    pub regroup: Option<Regroup>,
    /// Its swimmers, at least one, in the order written.
    pub swimmers: Vec<Member>,
}

impl WrittenLane {
    /// The lane as all of it hears one speaker: phrases of one's own are for one's own ear.
    pub fn for_a_speaker(&self) -> Self {
        let mut lane = self.clone();
        lane.swimmers.iter_mut().for_each(|member| member.focus.clear());
        lane
    }
}

/// What a lane says, or what all of them have in common.
#[derive(Clone, Copy)]
struct Manner {
    gap: Seconds,
    order: LaneOrder,
    circle: Circle,
}

/// Reads a roster as lanes. They are absent exactly where an error is among the problems, those of single swimmers among them.
pub fn parse(source: SourceId, sources: &Sources, form: RosterForm) -> (Option<WrittenLanes>, Vec<Diagnostic>) {
    let text = sources.text(source);
    let mut problems = Problems::new();
    let lanes = match form {
        RosterForm::Yaml => {
            let (root, found) = yaml::read(source, text);
            problems = found;
            root.and_then(|root| of_roster(&root, &mut problems))
        }
        RosterForm::Table => roster::rows(source, text, NameAlone::Noted, &mut problems).and_then(|swimmers| {
            let manner = Manner { gap: SAFE_GAP, order: LaneOrder::default(), circle: Circle::default() };
            shared(swimmers, manner, None, None, &mut problems)
        }),
    };
    if problems.is_empty() && lanes.as_ref().is_none_or(|lanes| lanes.lanes.is_empty()) {
        let hint = "a table begins with a line such as `name,hundred,lane`, a roster with `lengthwise-roster: 1`";
        problems.push(Diagnostic::at(Code::Empty, Span::new(source, 0, 0), "nobody swims in this lane").hint(hint));
    }
    settle(&mut problems);
    (lanes.filter(|_| !has_errors(&problems)), problems)
}

/// Reads `lane` of a script; no lanes and no problems where it has none.
pub fn of_script(script: &Script) -> (Option<WrittenLanes>, Vec<Diagnostic>) {
    let mut problems = Problems::new();
    let Some(node) = &script.lane else { return (None, problems) };
    let pool = match script.water.value {
        Water::Pool(pool) => Some(pool),
        Water::Open => {
            let message = "a lane is in a pool, and this practice is in open water";
            let hint = "leave out `lane`, or name the pool: `pool: 25 m`";
            problems.push(Diagnostic::at(Code::Conflict, node.span, message).hint(hint));
            None
        }
    };
    let lanes = Fields::of(node, "the lane", LANE_KEYS, &mut problems)
        .and_then(|fields| of_fields(&fields, pool, &mut problems));
    settle(&mut problems);
    (lanes.filter(|_| !has_errors(&problems)), problems)
}

fn of_roster(root: &Node, problems: &mut Problems) -> Option<WrittenLanes> {
    let fields = Fields::of(root, "the roster", KEYS, problems)?;
    if let Err(problem) = version(&fields, "lengthwise-roster", 1) {
        problems.push(problem);
    }
    fields.text("title", 120, problems);
    of_fields(&fields, None, problems)
}

fn of_fields(fields: &Fields<'_>, pool: Option<PoolLength>, problems: &mut Problems) -> Option<WrittenLanes> {
    let usual = Manner { gap: SAFE_GAP, order: LaneOrder::default(), circle: Circle::default() };
    let manner = manner(fields, usual, problems);
    let entries = fields.get("lanes").map(|node| entries(node, manner, problems));
    let regroup = fields.get("regroup").and_then(|node| parse_regroup(node, problems));
    let swimmers = roster::swimmers(fields, pool, NameAlone::Noted, problems)?;
    let mut lanes = shared(swimmers, manner, entries, fields.key("swimmers"), problems)?;
    lanes.lanes.iter_mut().for_each(|lane| lane.regroup = regroup);
    Some(lanes)
}

fn manner(fields: &Fields<'_>, usual: Manner, problems: &mut Problems) -> Manner {
    let gap = fields.read("gap", lane::gap, problems);
    if let Some(gap) = gap.as_ref().filter(|gap| gap.value < SAFE_GAP) {
        let message = format!("swimmers leave {} s apart; under 5 s they may run into each other", gap.value.as_f64());
        problems.push(Diagnostic::at(Code::GapClose, gap.span, message).hint("5 s or 10 s is usual: `gap: 5 s`"));
    }
    Manner {
        gap: gap.map_or(usual.gap, |gap| gap.value),
        order: fields.word("order", &LaneOrder::ALL, problems).map_or(usual.order, |order| order.value),
        circle: fields.word("circle", &Circle::ALL, problems).map_or(usual.circle, |circle| circle.value),
    }
}

/// The entries of `lanes`, each without its swimmers, and where its name stands.
fn entries(node: &Node, common: Manner, problems: &mut Problems) -> Vec<(Span, WrittenLane)> {
    let items = tree::list(node, "lanes", problems).unwrap_or_default();
    let mut found: Vec<(Span, WrittenLane)> = Vec::new();
    for item in items {
        let Some(fields) = Fields::of(item, "an entry of `lanes`", ENTRY_KEYS, problems) else { continue };
        let own = manner(&fields, common, problems);
        let send_off = fields.read("send-off", lane::shift, problems).map(|shift| shift.value).unwrap_or_default();
        let name = fields.require("lane", "lane: 2", problems);
        let Some(name) = name.and_then(|name| tree::text(name, "lane", LONGEST_LANE, problems)) else { continue };
        if found.iter().any(|(_, lane)| lane.name == name.value) {
            let message = format!("there are two lanes `{}`", name.value);
            problems.push(Diagnostic::at(Code::DuplicateKey, name.span, message).hint("keep one of them"));
        }
        found.push((name.span, lane_of(name.value, own, send_off)));
    }
    found
}

fn lane_of(name: String, Manner { gap, order, circle }: Manner, send_off: SendOffShift) -> WrittenLane {
    WrittenLane { name, gap, order, circle, send_off, regroup: None, swimmers: Vec::new() }
}

/// Puts the swimmers into their lanes. `nobody` is where it is told that there are none.
fn shared(
    swimmers: Vec<Member>,
    common: Manner,
    entries: Option<Vec<(Span, WrittenLane)>>,
    nobody: Option<Span>,
    problems: &mut Problems,
) -> Option<WrittenLanes> {
    let listed = entries.is_some();
    let mut lanes = entries.unwrap_or_default();
    let several = listed || swimmers.iter().any(|swimmer| swimmer.lane.is_some());
    for mut swimmer in swimmers {
        problems.append(&mut swimmer.problems);
        let name = match &swimmer.lane {
            Some(lane) => lane.clone(),
            None if several => {
                let message = format!("it is not said in which lane {} swims", swimmer.name);
                problems.push(Diagnostic::at(Code::MissingKey, swimmer.span, message).hint("for example `lane: 2`"));
                continue;
            }
            None => Spanned::new("1".to_owned(), swimmer.span),
        };
        let at = lanes.iter().position(|(_, lane)| lane.name == name.value);
        if at.is_none() && listed {
            let known: Vec<&str> = lanes.iter().map(|(_, lane)| lane.name.as_str()).collect();
            let message = format!("`lanes` has no lane `{}`", name.value);
            let problem = Diagnostic::at(Code::UnknownName, name.span, message);
            problems.push(problem.hint(format!("it has {}", known.join(", "))));
            continue;
        }
        let at = at.unwrap_or_else(|| {
            lanes.push((name.span, lane_of(name.value.clone(), common, SendOffShift::default())));
            lanes.len() - 1
        });
        let Some((_, lane)) = lanes.get_mut(at) else { continue };
        lane.swimmers.push(swimmer);
    }
    if let Some(place) = nobody.filter(|_| lanes.is_empty() && !has_errors(problems)) {
        let problem = Diagnostic::at(Code::Empty, place, "nobody swims in this lane");
        problems.push(problem.hint("for example `swimmers: [{ name: Ida, hundred: 1:50 }]`"));
    }
    crowded(&lanes, problems);
    Some(WrittenLanes { lanes: lanes.into_iter().map(|(_, lane)| lane).collect() })
}

/// Reports lanes with too many swimmers, or with none, and too many lanes.
fn crowded(lanes: &[(Span, WrittenLane)], problems: &mut Problems) {
    if let Some((span, _)) = lanes.get(MOST_LANES) {
        let message = format!("{} lanes; at most {MOST_LANES} are reckoned together", lanes.len());
        problems.push(Diagnostic::at(Code::OutOfRange, *span, message).hint("split them into several files"));
    }
    for (span, lane) in lanes {
        if let Some(beyond) = lane.swimmers.get(MOST_IN_A_LANE) {
            let message = format!("lane {} has {} swimmers; at most {MOST_IN_A_LANE}", lane.name, lane.swimmers.len());
            let hint = "open another lane: with a ninth, whoever turns meets whoever has not left";
            problems.push(Diagnostic::at(Code::OutOfRange, beyond.span, message).hint(hint));
        }
        if lane.swimmers.is_empty() && !has_errors(problems) {
            let message = format!("nobody swims in lane {}", lane.name);
            let hint = format!("say `lane: {}` of a swimmer, or leave the lane out", lane.name);
            problems.push(Diagnostic::at(Code::Empty, *span, message).hint(hint));
        }
    }
}

#[cfg(test)]
mod tests;
