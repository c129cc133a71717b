//! The keys of a swim, which are also those of a set: there they are the defaults of the swims under `do`.

use crate::diag::{Code, Diagnostic, Span, Spanned};
use crate::script::parse::manner::{MANNER_KEYS, SwimManner};
use crate::script::quantity::{count, rest, swim, time};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::{Node, NodeKind};
use crate::script::{Far, Rest, Swim};
use crate::units::time::Seconds;

/// The keys that say what is swum, and when.
const WHAT_KEYS: [&str; 5] = ["swim", "course", "for", "send-off", "rest"];
/// The keys of a swim.
pub(super) const KEYS: [&str; WHAT_KEYS.len() + MANNER_KEYS.len()] = {
    let mut keys = [""; WHAT_KEYS.len() + MANNER_KEYS.len()];
    let (what, manner) = keys.split_at_mut(WHAT_KEYS.len());
    what.copy_from_slice(&WHAT_KEYS);
    manner.copy_from_slice(&MANNER_KEYS);
    keys
};
/// How often a course may be swum around.
const MOST_LAPS: u64 = 100;

/// How many repeats of what.
struct SwimExtent {
    span: Span,
    repeats: Spanned<u32>,
    far: Spanned<Far>,
}

/// What a swim and a set may both say.
pub(super) struct SwimKeys {
    /// Where the map with these keys stands.
    span: Span,
    what: Option<SwimExtent>,
    within: Option<Spanned<Seconds>>,
    /// A send-off or rest is written here, even one that could not be read: it hides the set's.
    timed: bool,
    send_off: Option<Spanned<Seconds>>,
    rest: Option<Spanned<Rest>>,
    manner: SwimManner,
}

impl SwimKeys {
    pub(super) fn read(fields: &Fields<'_>, problems: &mut Problems) -> Self {
        let (mut what, on) = fields.get("swim").map_or((None, None), |node| written(node, problems));
        if let Some(node) = fields.get("course") {
            let course = course(node, problems);
            match (fields.key("swim"), fields.key("course")) {
                (Some(swim), Some(course)) => {
                    let problem = Diagnostic::at(Code::Conflict, course, "`swim` and `course` exclude each other");
                    problems.push(problem.label(swim, "the other one").hint("keep one of them"));
                }
                _ => what = course,
            }
        }
        let read_within = |text: &str| time::duration(text, "the time of a swim's repeats", swim::TIMED);
        let within = fields.read("for", read_within, problems);
        if let (Some(key), Some(what)) = (fields.key("for"), &what) {
            problems.extend(not_within(key, what));
        }
        let read_send_off = |text: &str| time::duration(text, "a send-off", swim::SEND_OFF);
        let send_off = fields.read("send-off", read_send_off, problems);
        let rest = fields.read("rest", rest::rest, problems);
        exclusive(fields, on.map(|on| on.span), problems);
        Self {
            span: fields.span,
            what,
            within,
            timed: on.is_some() || fields.get("send-off").is_some() || fields.get("rest").is_some(),
            send_off: on.or(send_off),
            rest,
            manner: SwimManner::read(fields, problems),
        }
    }

    /// The key that says what is swum, read well or not.
    pub(super) fn what_key(fields: &Fields<'_>) -> Option<Spanned<&'static str>> {
        ["swim", "course"].into_iter().find_map(|key| fields.key(key).map(|span| Spanned::new(key, span)))
    }

    /// These keys, and the set's where one is not given. A swim's own send-off or rest hides both of the set's.
    pub(super) fn or(self, set: &Self, problems: &mut Problems) -> Self {
        Self {
            span: self.span,
            what: self.what,
            within: self.within,
            timed: self.timed || set.timed,
            send_off: if self.timed { self.send_off } else { set.send_off },
            rest: if self.timed { self.rest } else { set.rest },
            manner: self.manner.or(&set.manner, problems),
        }
    }

    /// What is swum is nothing where it could not be read, which is an error already told: the names of such a swim can
    /// still be looked up.
    pub(super) fn into_swim(self) -> Swim {
        let unread = || SwimExtent {
            span: self.span,
            repeats: Spanned::new(1, self.span),
            far: Spanned::new(Far::Distances(Vec::new()), self.span),
        };
        let SwimExtent { span, repeats, far } = self.what.unwrap_or_else(unread);
        let SwimManner {
            lengths,
            pace,
            tempo,
            effort,
            drill,
            focus,
            breathe,
            beats,
            second_half,
            part,
            stroke,
            gear,
            strokes,
            count,
            test,
            sight,
            call,
            remind,
            marks,
            end,
        } = self.manner;
        Swim {
            span,
            repeats,
            far,
            within: self.within,
            lengths: lengths.map_or_else(Vec::new, |lengths| lengths.value),
            send_off: self.send_off,
            rest: self.rest,
            pace,
            tempo,
            effort,
            drill,
            focus,
            breathe,
            beats,
            second_half,
            part,
            stroke,
            gear,
            strokes,
            count,
            test,
            sight,
            call,
            remind,
            marks,
            end_far: end,
        }
    }
}

/// Why no number of repeats can be found for `for`: another one is written, or there is no one distance.
fn not_within(key: Span, what: &SwimExtent) -> Option<Diagnostic> {
    let (message, hint) = match &what.far.value {
        Far::Distances(each) if each.len() == 1 && what.repeats.value == 1 => return None,
        Far::Distances(each) if each.len() <= 1 => {
            ("`for` says how many, and so does this", "keep one: `swim: 50 m` with `for: 8 min`")
        }
        Far::Distances(_) => {
            ("`for` swims one distance again and again, and this is a list", "keep one distance, or leave `for` out")
        }
        Far::Time(_) | Far::Course { .. } => {
            ("`for` finds out how many repeats of a distance fit, and this has none", "leave `for` out")
        }
    };
    Some(Diagnostic::at(Code::Conflict, what.span, message).label(key, "the time to fill").hint(hint))
}

/// The value of `swim`, and the send-off in it.
fn written(node: &Node, problems: &mut Problems) -> (Option<SwimExtent>, Option<Spanned<Seconds>>) {
    if let NodeKind::List(items) = &node.kind {
        return (listed(node, items, problems), None);
    }
    let Some(found) = tree::read(node, "swim", swim::swim, problems) else { return (None, None) };
    let swim::Shorthand { repeats, far, send_off } = found.value;
    let on = send_off.map(|(time, range)| Spanned::new(time, node.part(range)));
    let repeats = Spanned::new(repeats.0, node.part(repeats.1));
    (Some(SwimExtent { span: found.span, repeats, far: Spanned::new(far.0, node.part(far.1)) }), on)
}

/// `[50 m, 100 m]`: a distance for each repeat.
fn listed(node: &Node, items: &[Node], problems: &mut Problems) -> Option<SwimExtent> {
    if items.is_empty() {
        if !node.cut {
            let problem = Diagnostic::at(Code::BadValue, node.span, "the list of `swim` is empty");
            problems.push(problem.hint("for example `[50 m, 100 m, 150 m]`"));
        }
        return None;
    }
    if items.len() > swim::MOST_LISTED {
        let message = format!("a list of {} distances; at most {} are allowed", items.len(), swim::MOST_LISTED);
        problems.push(Diagnostic::at(Code::OutOfRange, node.span, message));
        return None;
    }
    let distance = |item| tree::read(item, "swim", swim::entry, problems).map(|found| found.value);
    let distances: Vec<_> = items.iter().map(distance).collect();
    let distances = distances.into_iter().collect::<Option<Vec<_>>>()?;
    let repeats = Spanned::new(distances.len() as u32, node.span);
    Some(SwimExtent { span: node.span, repeats, far: Spanned::new(Far::Distances(distances), node.span) })
}

/// `{ lap: 380 m, laps: 3 }`; once around where `laps` is not given.
fn course(node: &Node, problems: &mut Problems) -> Option<SwimExtent> {
    let fields = Fields::of(node, "a course", &["lap", "laps"], problems)?;
    let lap = fields.require("lap", "lap: 380 m", problems);
    let lap = lap.and_then(|node| tree::read(node, "lap", swim::lap, problems));
    let laps = fields.read("laps", |text| count::whole(text, "the number of laps", 1..=MOST_LAPS), problems);
    // The range was just checked to fit.
    let laps = laps.map_or(1, |laps| laps.value as u32);
    let far = Far::Course { lap: lap?.value, laps };
    Some(SwimExtent { span: node.span, repeats: Spanned::new(1, node.span), far: Spanned::new(far, node.span) })
}

/// Of `send-off`, `on` and `rest` only one may be given.
fn exclusive(fields: &Fields<'_>, on: Option<Span>, problems: &mut Problems) {
    let send_off = fields.key("send-off");
    if let (Some(on), Some(key)) = (on, send_off) {
        let problem = Diagnostic::at(Code::Conflict, key, "the send-off is given twice");
        problems.push(problem.label(on, "here too").hint("keep one of them"));
    }
    if let (Some(rest), Some(other)) = (fields.key("rest"), on.or(send_off)) {
        let problem = Diagnostic::at(Code::Conflict, rest, "`rest` and a send-off exclude each other");
        problems.push(
            problem
                .label(other, "the send-off")
                .hint("with a send-off the rest is what is left of it: remove `rest`, or remove the send-off"),
        );
    }
}
