//! Lists of words and of lengths: what is worn, and what each length of a repeat is.

use crate::diag::{Code, Diagnostic, Spanned};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::{Node, NodeKind};
use crate::script::{BodyPart, Effort, Gear, Stroke, WrittenLength};

/// The most entries of `lengths`.
const MOST_LENGTHS: usize = 64;
/// The most entries of `gear`, so that some given twice are still told one by one.
const MOST_GEAR: usize = 2 * Gear::ALL.len();
const LENGTH_KEYS: [&str; 5] = ["drill", "focus", "part", "stroke", "effort"];

/// `[{ drill: fist }, { focus: soft-hand }]`
pub(super) fn parse_lengths(node: &Node, problems: &mut Problems) -> Option<Spanned<Vec<WrittenLength>>> {
    let items = tree::list(node, "lengths", problems)?;
    if items.is_empty() {
        if !node.cut {
            let problem = Diagnostic::at(Code::BadValue, node.span, "the list of `lengths` is empty");
            problems.push(problem.hint("for example `[{ drill: fist }, { focus: soft-hand }]`"));
        }
        return None;
    }
    if items.len() > MOST_LENGTHS {
        let message = format!("`lengths` has {} entries; at most {MOST_LENGTHS} are allowed", items.len());
        problems.push(Diagnostic::at(Code::OutOfRange, node.span, message).hint("they cycle: write one turn of them"));
        return None;
    }
    let lengths: Vec<_> = items.iter().map(|item| length(item, problems)).collect();
    lengths.into_iter().collect::<Option<Vec<_>>>().map(|lengths| Spanned::new(lengths, node.span))
}

fn length(node: &Node, problems: &mut Problems) -> Option<WrittenLength> {
    if let (NodeKind::Scalar(scalar), false) = (&node.kind, node.cut || node.is_nothing()) {
        let problem = Diagnostic::at(Code::WrongShape, node.span, "an entry of `lengths` is a map of keys and values");
        let word = tree::parse_id(&scalar.text, "drill").unwrap_or_else(|_| "fist".to_owned());
        problems.push(problem.hint(format!("`{{ drill: {word} }}` or `{{ focus: {word} }}`?")));
        return None;
    }
    let fields = Fields::of(node, "an entry of `lengths`", &LENGTH_KEYS, problems)?;
    if fields.first().is_none() {
        fields.lacks("what the length is", "drill: fist", problems);
        return None;
    }
    Some(WrittenLength {
        drill: fields.get("drill").and_then(|node| tree::id(node, "drill", problems)),
        focus: fields.get("focus").and_then(|node| tree::id(node, "focus", problems)),
        part: fields.word("part", &BodyPart::ALL, problems),
        stroke: fields.word("stroke", &Stroke::ALL, problems),
        effort: fields.word("effort", &Effort::ALL, problems),
    })
}

/// `fins`, `[fins, paddles]` or `none`; in one order however it was written, so that equal gear is equal.
pub(super) fn parse_gear(node: &Node, problems: &mut Problems) -> Option<Spanned<Vec<Gear>>> {
    let NodeKind::List(items) = &node.kind else {
        let mut words: Vec<_> = Gear::ALL.iter().map(|(word, gear)| (*word, Some(*gear))).collect();
        words.push(("none", None));
        let found = tree::read(node, "gear", |text| tree::pick(text, "gear", &words), problems)?;
        return Some(found.map(|gear| gear.into_iter().collect()));
    };
    if items.len() > MOST_GEAR {
        let message = format!("`gear` has {} entries; there are {} kinds", items.len(), Gear::ALL.len());
        problems.push(Diagnostic::at(Code::OutOfRange, node.span, message));
        return None;
    }
    let mut gear: Vec<Spanned<Gear>> = Vec::new();
    let mut good = true;
    for item in items {
        match tree::read(item, "gear", |text| tree::pick(text, "gear", &Gear::ALL), problems) {
            Some(found) => match gear.iter().find(|other| other.value == found.value) {
                Some(first) => {
                    let problem = Diagnostic::at(Code::BadValue, found.span, "the same gear twice");
                    problems.push(problem.label(first.span, "first here").hint("keep one of them"));
                    good = false;
                }
                None => gear.push(found),
            },
            None => good = false,
        }
    }
    let mut gear: Vec<_> = gear.into_iter().map(|found| found.value).collect();
    gear.sort_unstable();
    good.then(|| Spanned::new(gear, node.span))
}
