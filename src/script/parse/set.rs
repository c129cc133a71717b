//! Sets and their swims, with the set's keys as defaults of the swims under `do`.

use crate::diag::{Code, Diagnostic, Span, Spanned};
use crate::script::parse::{LONGEST_TITLE, focus, progression};
use crate::script::quantity::{Read, count, swim, time};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::Node;
use crate::script::{Effort, Far, Phase, Rest, Set, Swim};
use crate::units::swim::Distance;
use crate::units::time::Seconds;

/// The keys of a set: its own, then those of a swim.
pub(super) const SET_KEYS: &[&str] = &[
    "set", "phase", "rounds", "do", "swim", "send-off", "rest", "pace", "tempo", "effort", "drill", "focus", "breathe",
    "beats",
];
const SWIM_KEYS: &[&str] =
    &["swim", "send-off", "rest", "pace", "tempo", "effort", "drill", "focus", "breathe", "beats"];
const MOST_ROUNDS: u64 = 100;
const LONGEST_REST: Seconds = Seconds::from_secs(3600);

/// A rest of at least so many seconds.
pub(super) fn rest(text: &str, at_least: i64) -> Read<Seconds> {
    time::duration(text, "a rest", Seconds::from_secs(at_least)..=LONGEST_REST)
}

pub(super) fn parse_set(node: &Node, problems: &mut Problems) -> Option<Set> {
    let fields = Fields::of(node, "a set", SET_KEYS, problems)?;
    let title = fields.require("set", "set: Easy start", problems);
    let title = title.and_then(|node| tree::text(node, "set", LONGEST_TITLE, problems));
    let phase = fields.word("phase", &Phase::ALL, problems).map(|found| found.value);
    let rounds = fields.read("rounds", |text| count::whole(text, "the number of rounds", 1..=MOST_ROUNDS), problems);
    // The range was just checked to fit.
    let rounds = rounds.map_or(Spanned::new(1, fields.span), |found| found.map(|rounds| rounds as u32));
    let own = Keys::read(&fields, problems);
    let (swims, listed) = match (fields.get("swim"), fields.get("do")) {
        (Some(_), Some(list)) => {
            let here = fields.key("do").unwrap_or(list.span);
            let problem = Diagnostic::at(Code::Conflict, here, "a set has either `swim` or `do`; found both");
            let other = fields.key("swim").unwrap_or(fields.span);
            problems.push(problem.label(other, "the other one").hint("move the swim into the list of `do`"));
            // The list is read for its own problems.
            listed(list, &own, problems);
            (Vec::new(), true)
        }
        (Some(_), None) => (own.into_swim().into_iter().collect(), false),
        (None, Some(list)) => (listed(list, &own, problems), true),
        (None, None) => {
            fields.lacks("`swim` or `do`", "swim: 4 x 50 m", problems);
            (Vec::new(), false)
        }
    };
    Some(Set { title: title?, span: fields.span, phase, rounds, between_rounds: None, swims, listed })
}

fn listed(node: &Node, defaults: &Keys, problems: &mut Problems) -> Vec<Swim> {
    let Some(items) = tree::list(node, "do", problems) else { return Vec::new() };
    if items.is_empty() && !node.cut {
        let problem = Diagnostic::at(Code::Empty, node.span, "the list of `do` has no swims");
        problems.push(problem.hint("for example `- { swim: 50 m, rest: 15 s }`"));
    }
    let swim = |item| {
        let fields = Fields::of(item, "a swim", SWIM_KEYS, problems)?;
        fields.require("swim", "swim: 50 m", problems);
        Keys::read(&fields, problems).or(defaults).into_swim()
    };
    items.iter().filter_map(swim).collect()
}

/// What a swim and a set may both say.
struct Keys {
    what: Option<(Span, Spanned<u32>, Spanned<Distance>)>,
    /// A send-off or rest is written here, even one that could not be read: it hides the set's.
    timed: bool,
    send_off: Option<Spanned<Seconds>>,
    rest: Option<Spanned<Seconds>>,
    pace: Option<Spanned<progression::Paces>>,
    tempo: Option<Spanned<progression::Tempos>>,
    effort: Option<Spanned<Effort>>,
    drill: Option<Spanned<String>>,
    focus: Option<Spanned<crate::script::Focus>>,
    breathe: Option<Spanned<crate::script::Breathe>>,
    beats: Option<Spanned<String>>,
}

impl Keys {
    fn read(fields: &Fields<'_>, problems: &mut Problems) -> Self {
        let shorthand = fields.read("swim", swim::swim, problems);
        let node = fields.get("swim");
        let place = |range| node.map_or(fields.span, |node| node.part(range));
        let mut on = None;
        let what = shorthand.map(|found| {
            on = found.value.send_off.map(|(time, range)| Spanned::new(time, place(range)));
            let (repeats, distance) = (found.value.repeats, found.value.distance);
            let repeats = Spanned::new(repeats.0, place(repeats.1));
            (found.span, repeats, Spanned::new(distance.0, place(distance.1)))
        });
        let read_send_off = |text: &str| time::duration(text, "a send-off", swim::SEND_OFF);
        let send_off = fields.read("send-off", read_send_off, problems);
        let rest = fields.read("rest", |text| rest(text, 0), problems);
        exclusive(fields, on.map(|on| on.span), problems);
        Self {
            what,
            timed: on.is_some() || fields.get("send-off").is_some() || fields.get("rest").is_some(),
            send_off: on.or(send_off),
            rest,
            pace: fields.get("pace").and_then(|node| progression::paces(node, problems)),
            tempo: fields.get("tempo").and_then(|node| progression::tempos(node, problems)),
            effort: fields.word("effort", &Effort::ALL, problems),
            drill: fields.get("drill").and_then(|node| tree::id(node, "drill", problems)),
            focus: fields.get("focus").and_then(|node| focus::parse_focus(node, problems)),
            breathe: fields.get("breathe").and_then(|node| focus::parse_breathe(node, problems)),
            beats: fields.get("beats").and_then(|node| tree::id(node, "beats", problems)),
        }
    }

    /// These keys, and the set's where one is not given. A swim's own send-off or rest hides both of the set's.
    fn or(self, set: &Self) -> Self {
        Self {
            what: self.what,
            timed: self.timed || set.timed,
            send_off: if self.timed { self.send_off } else { set.send_off },
            rest: if self.timed { self.rest } else { set.rest },
            pace: self.pace.or_else(|| set.pace.clone()),
            tempo: self.tempo.or_else(|| set.tempo.clone()),
            effort: self.effort.or(set.effort),
            drill: self.drill.or_else(|| set.drill.clone()),
            focus: self.focus.or_else(|| set.focus.clone()),
            breathe: self.breathe.or(set.breathe),
            beats: self.beats.or_else(|| set.beats.clone()),
        }
    }

    fn into_swim(self) -> Option<Swim> {
        let (span, repeats, distance) = self.what?;
        Some(Swim {
            span,
            repeats,
            far: distance.map(|distance| Far::Distances(vec![distance])),
            lengths: Vec::new(),
            send_off: self.send_off,
            rest: self.rest.map(|rest| rest.map(Rest::Fixed)),
            pace: self.pace,
            tempo: self.tempo,
            effort: self.effort,
            drill: self.drill,
            focus: self.focus,
            breathe: self.breathe,
            beats: self.beats,
            second_half: None,
            part: None,
            stroke: None,
            gear: None,
            strokes: None,
            count: None,
            test: None,
            sight: None,
            call: None,
            end_far: None,
        })
    }
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
