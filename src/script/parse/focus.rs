//! What a swimmer attends to, and the breathing.

use crate::diag::{Code, Diagnostic, Spanned};
use crate::script::quantity::{Misread, Read, breath, count};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::{Node, NodeKind};
use crate::script::{Breathe, Change, Focus, FocusOrder};

/// The most phrases of one focus: nobody attends to more in one set.
const MOST_PHRASES: usize = 64;
const CHANGES: [(&str, Change); 4] =
    [("length", Change::Length), ("repeat", Change::Repeat), ("round", Change::Round), ("set", Change::Set)];
const ORDERS: [(&str, FocusOrder); 3] =
    [("in turn", FocusOrder::InTurn), ("blocked", FocusOrder::Blocked), ("shuffled", FocusOrder::Shuffled)];

/// `focus: reach-forward`, `focus: [a, b]` or `focus: { phrases: ..., change: ..., order: ... }`.
pub(super) fn parse_focus(node: &Node, problems: &mut Problems) -> Option<Spanned<Focus>> {
    let (phrases, change, order) = match &node.kind {
        NodeKind::Map(_) => {
            let fields = Fields::of(node, "a focus", &["phrases", "change", "order"], problems)?;
            let phrases = fields.require("phrases", "phrases: [reach-forward, head-still]", problems);
            let phrases = phrases.and_then(|node| parse_phrases(node, "phrases", problems));
            let change = fields.read("change", parse_change, problems);
            let order = fields.word("order", &ORDERS, problems);
            (phrases, change, order.map(|found| found.value))
        }
        _ => (parse_phrases(node, "focus", problems), None, None),
    };
    let phrases = phrases?;
    let usual = if phrases.len() > 1 { Change::Repeat } else { Change::Set };
    let change = change.unwrap_or(Spanned::new(usual, node.span));
    Some(Spanned::new(Focus { phrases, change, order: order.unwrap_or(FocusOrder::InTurn) }, node.span))
}

/// One id of a phrase or a list of them, at most 64; `what` names it in messages.
pub fn parse_phrases(node: &Node, what: &str, problems: &mut Problems) -> Option<Vec<Spanned<String>>> {
    match &node.kind {
        NodeKind::List(items) => {
            if items.is_empty() && !node.cut {
                let message = format!("the list of `{what}` is empty");
                problems.push(Diagnostic::at(Code::BadValue, node.span, message));
            }
            if items.len() > MOST_PHRASES {
                let message = format!("`{what}` has {} entries; at most {MOST_PHRASES} are allowed", items.len());
                problems.push(Diagnostic::at(Code::OutOfRange, node.span, message));
                return None;
            }
            let ids: Vec<_> = items.iter().map(|item| tree::id(item, what, problems)).collect();
            ids.into_iter().collect::<Option<Vec<_>>>().filter(|ids| !ids.is_empty())
        }
        _ => tree::id(node, what, problems).map(|id| vec![id]),
    }
}

fn parse_change(text: &str) -> Read<Change> {
    let first = text.trim_start().chars().next();
    if first.is_some_and(|first| first.is_ascii_digit()) {
        return count::strokes(text, "a change of focus", 4..=1000).map(Change::Strokes);
    }
    tree::pick(text, "change", &CHANGES).map_err(|fault| match fault.hint {
        Some(_) => fault,
        None => Misread { message: format!("{}, or `12 strokes`", fault.message), ..fault },
    })
}

/// `every 3`, `every 3 right`, `by length`, `by repeat`, or `{ right: 20, left: 20 }`.
pub(super) fn parse_breathe(node: &Node, problems: &mut Problems) -> Option<Spanned<Breathe>> {
    let NodeKind::Map(_) = node.kind else { return tree::read(node, "breathe", breath::breathe, problems) };
    let fields = Fields::of(node, "breathing by sides", &["right", "left"], problems)?;
    let mut side = |key| {
        let example = if key == "right" { "right: 20" } else { "left: 20" };
        fields.require(key, example, problems);
        let strokes = |text: &str| count::bare_strokes(text, "the number of strokes on a side", 2..=400);
        fields.read(key, strokes, problems).map(|found| found.value)
    };
    let (right, left) = (side("right"), side("left"));
    Some(Spanned::new(Breathe::Sides { right: right?, left: left? }, node.span))
}
