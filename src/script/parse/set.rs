//! Sets: their own keys, and the swims of one round.

use crate::diag::{Code, Diagnostic, Spanned};
use crate::script::parse::regroup::parse_regroup;
use crate::script::parse::swim::{KEYS, SwimKeys};
use crate::script::quantity::{count, rest};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::Node;
use crate::script::{Phase, Swim, WrittenSet};
use crate::units::time::Seconds;

/// The keys that a set has besides those of a swim.
const OWN_KEYS: [&str; 6] = ["set", "phase", "rounds", "between-rounds", "regroup", "do"];
/// The keys of a set: its own, then those of a swim.
pub(super) const SET_KEYS: [&str; OWN_KEYS.len() + KEYS.len()] = {
    let mut keys = [""; OWN_KEYS.len() + KEYS.len()];
    let (own, swim) = keys.split_at_mut(OWN_KEYS.len());
    own.copy_from_slice(&OWN_KEYS);
    swim.copy_from_slice(&KEYS);
    keys
};
/// How many swims a script may write down. Each carries a copy of its set's defaults, so that without a bound a text of
/// 1 MiB could ask for any amount of memory.
pub(super) const MOST_SWIMS: usize = 2_000;
/// The longest title, in characters.
pub(super) const LONGEST_TITLE: usize = 120;
/// How often a set may be swum.
const MOST_ROUNDS: u64 = 100;

/// Reads a set; `room` is how many swims the script may still have, and is lessened by those read.
pub(super) fn parse_set(node: &Node, room: &mut usize, problems: &mut Problems) -> Option<WrittenSet> {
    let fields = Fields::of(node, "a set", &SET_KEYS, problems)?;
    let title = fields.require("set", "set: Easy start", problems);
    let title = title.and_then(|node| tree::text(node, "set", LONGEST_TITLE, problems));
    let phase = fields.word("phase", &Phase::ALL, problems).map(|found| found.value);
    let rounds = fields.read("rounds", |text| count::whole(text, "the number of rounds", 1..=MOST_ROUNDS), problems);
    let regroup = fields.get("regroup").and_then(|node| parse_regroup(node, problems));
    let between_rounds = between_rounds(&fields, rounds.as_ref(), problems);
    // The range was just checked to fit.
    let rounds = rounds.map_or(Spanned::new(1, fields.span), |found| found.map(|rounds| rounds as u32));
    let own = SwimKeys::read(&fields, problems);
    if let (Some(key), Some(list)) = (fields.key("for"), fields.key("do")) {
        let problem = Diagnostic::at(Code::Conflict, key, "`for` belongs to a swim, not to a list of them");
        problems.push(problem.label(list, "the list").hint("move it into the swim that is to fill the time"));
    }
    let (swims, listed) = match (SwimKeys::what_key(&fields), fields.get("do")) {
        (Some(what), Some(list)) => {
            let here = fields.key("do").unwrap_or(list.span);
            let message = format!("a set has either `{}` or `do`; found both", what.value);
            let problem = Diagnostic::at(Code::Conflict, here, message);
            problems.push(problem.label(what.span, "the other one").hint("move the swim into the list of `do`"));
            // The list is read for its own problems.
            listed(list, &own, room, problems);
            (Vec::new(), true)
        }
        (Some(_), None) => {
            *room = room.saturating_sub(1);
            (vec![own.into_swim()], false)
        }
        (None, Some(list)) => (listed(list, &own, room, problems), true),
        (None, None) => {
            if !fields.misspelt("swim") {
                fields.lacks("`swim`, `course` or `do`", "swim: 4 x 50 m", problems);
            }
            (Vec::new(), false)
        }
    };
    Some(WrittenSet { title: title?, span: fields.span, phase, rounds, between_rounds, regroup, swims, listed })
}

fn between_rounds(
    fields: &Fields<'_>,
    rounds: Option<&Spanned<u64>>,
    problems: &mut Problems,
) -> Option<Spanned<Seconds>> {
    let key = fields.key("between-rounds")?;
    let single = Diagnostic::at(Code::Conflict, key, "`between-rounds` needs more than one round");
    let problem = match (rounds, fields.get("rounds")) {
        (None, None) => (!fields.misspelt("rounds")).then_some(single),
        (Some(rounds), _) => (rounds.value == 1).then(|| single.label(rounds.span, "one round")),
        // What was written could not be read: that is reported.
        (None, Some(_)) => None,
    };
    if let Some(problem) = problem {
        problems.push(problem.hint("give `rounds: 2` or more, or remove `between-rounds`"));
    }
    fields.read("between-rounds", |text| rest::standing(text, "the rest between rounds"), problems)
}

fn listed(node: &Node, defaults: &SwimKeys, room: &mut usize, problems: &mut Problems) -> Vec<Swim> {
    let Some(items) = tree::list(node, "do", problems) else { return Vec::new() };
    if items.is_empty() && !node.cut {
        let problem = Diagnostic::at(Code::Empty, node.span, "the list of `do` has no swims");
        problems.push(problem.hint("for example `- { swim: 50 m, rest: 15 s }`"));
    }
    let swim = |item| {
        let fields = Fields::of(item, "a swim", &KEYS, problems)?;
        let own = SwimKeys::read(&fields, problems);
        if SwimKeys::what_key(&fields).is_none() && !fields.misspelt("swim") {
            fields.lacks("`swim` or `course`", "swim: 50 m", problems);
        }
        Some(own.or(defaults, problems).into_swim())
    };
    let swims = items.iter().take(*room).filter_map(swim).collect();
    if let Some(first) = items.get(*room) {
        let problem = Diagnostic::at(Code::TooLong, first.span, format!("more than {MOST_SWIMS} swims in one script"));
        problems.push(problem.hint("`rounds` swims a list again; what is left is not checked yet"));
    }
    *room = room.saturating_sub(items.len());
    swims
}
