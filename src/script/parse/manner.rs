//! How a swim is swum: the keys that a swim takes over from its set, and which of them exclude each other.

use crate::diag::{Code, Diagnostic, Span, Spanned};
use crate::script::parse::{focus, lengths, progression};
use crate::script::quantity::{count, follow, rest};
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::{Node, NodeKind};
use crate::script::{
    BodyPart, Breathe, CallOut, CountOn, Effort, Focus, Gear, PaceMarks, Remind, Stroke, StrokeTarget, Test,
    WrittenLength,
};
use crate::units::time::Seconds;

/// The keys of a manner.
pub(super) const MANNER_KEYS: [&str; 20] = [
    "lengths",
    "pace",
    "tempo",
    "effort",
    "drill",
    "focus",
    "breathe",
    "beats",
    "second-half",
    "part",
    "stroke",
    "gear",
    "strokes",
    "count",
    "test",
    "sight",
    "call",
    "remind",
    "marks",
    "end",
];
const ENDS: [(&str, bool); 2] = [("far", true), ("near", false)];

/// One field for each key.
#[derive(Clone, Default)]
pub(super) struct SwimManner {
    pub(super) lengths: Option<Spanned<Vec<WrittenLength>>>,
    pub(super) pace: Option<Spanned<progression::Paces>>,
    pub(super) tempo: Option<Spanned<progression::Tempos>>,
    pub(super) effort: Option<Spanned<Effort>>,
    pub(super) drill: Option<Spanned<String>>,
    pub(super) focus: Option<Spanned<Focus>>,
    pub(super) breathe: Option<Spanned<Breathe>>,
    pub(super) beats: Option<Spanned<String>>,
    pub(super) second_half: Option<Spanned<Seconds>>,
    pub(super) part: Option<Spanned<BodyPart>>,
    pub(super) stroke: Option<Spanned<Stroke>>,
    pub(super) gear: Option<Spanned<Vec<Gear>>>,
    pub(super) strokes: Option<Spanned<StrokeTarget>>,
    pub(super) count: Option<Spanned<CountOn>>,
    pub(super) test: Option<Spanned<Test>>,
    pub(super) sight: Option<Spanned<u32>>,
    pub(super) call: Option<Spanned<Vec<CallOut>>>,
    pub(super) remind: Option<Spanned<Remind>>,
    pub(super) marks: Option<Spanned<PaceMarks>>,
    pub(super) end: Option<Spanned<bool>>,
}

impl SwimManner {
    pub(super) fn read(fields: &Fields<'_>, problems: &mut Problems) -> Self {
        let manner = Self {
            lengths: fields.get("lengths").and_then(|node| lengths::parse_lengths(node, problems)),
            pace: fields.get("pace").and_then(|node| progression::paces(node, problems)),
            tempo: fields.get("tempo").and_then(|node| progression::tempos(node, problems)),
            effort: fields.word("effort", &Effort::ALL, problems),
            drill: fields.get("drill").and_then(|node| tree::id(node, "drill", problems)),
            focus: fields.get("focus").and_then(|node| focus::parse_focus(node, problems)),
            breathe: fields.get("breathe").and_then(|node| focus::parse_breathe(node, problems)),
            beats: fields.get("beats").and_then(|node| tree::id(node, "beats", problems)),
            second_half: fields.read("second-half", rest::second_half, problems),
            part: fields.word("part", &BodyPart::ALL, problems),
            stroke: fields.word("stroke", &Stroke::ALL, problems),
            gear: fields.get("gear").and_then(|node| lengths::parse_gear(node, problems)),
            strokes: fields.get("strokes").and_then(|node| target(node, problems)),
            count: fields.word("count", &CountOn::ALL, problems),
            test: fields.word("test", &Test::ALL, problems),
            sight: fields.read("sight", |text| count::every(text, "sighting", 4..=100), problems),
            call: fields.get("call").and_then(|node| calls(node, problems)),
            remind: fields.read("remind", count::remind, problems),
            marks: fields.word("marks", &PaceMarks::ALL, problems),
            end: fields.word("end", &ENDS, problems),
        };
        problems.extend(manner.clashes(&manner));
        manner
    }

    /// These keys, and the set's where one is not given. What the swim says itself puts aside a default that it
    /// excludes: a kicked swim in a set with a tempo has none.
    pub(super) fn or(self, set: &Self, problems: &mut Problems) -> Self {
        let mut set = set.clone();
        if self.part.is_some_and(|part| without_strokes(part.value)) {
            let without = |call: Vec<CallOut>| call.into_iter().filter(|call| !is_count(call)).collect();
            let call = set.call.map(|call: Spanned<Vec<CallOut>>| call.map(without));
            set = Self { tempo: None, strokes: None, count: None, sight: None, call, ..set };
        }
        if self.second_half.is_some() {
            set.tempo = None;
        }
        if self.tempo.is_some() {
            set.second_half = None;
        }
        if self.test.is_some() {
            (set.beats, set.marks, set.remind) = (None, None, None);
        }
        if self.pace.is_none() && set.pace.is_none() {
            // The set's marks are for those of its swims that have a pace.
            set.marks = None;
        }
        let part = Self { part: self.part.or(set.part), ..Self::default() };
        problems.extend(self.clashes(&part));
        if self.test.is_none() {
            let test = Self { test: set.test, ..Self::default() };
            problems.extend(self.clashes(&test));
        }
        Self {
            lengths: self.lengths.or(set.lengths),
            pace: self.pace.or(set.pace),
            tempo: self.tempo.or(set.tempo),
            effort: self.effort.or(set.effort),
            drill: self.drill.or(set.drill),
            focus: self.focus.or(set.focus),
            breathe: self.breathe.or(set.breathe),
            beats: self.beats.or(set.beats),
            second_half: self.second_half.or(set.second_half),
            part: self.part.or(set.part),
            stroke: self.stroke.or(set.stroke),
            gear: self.gear.or(set.gear),
            strokes: self.strokes.or(set.strokes),
            count: self.count.or(set.count),
            test: self.test.or(set.test),
            sight: self.sight.or(set.sight),
            call: self.call.or(set.call),
            remind: self.remind.or(set.remind),
            marks: self.marks.or(set.marks),
            end: self.end.or(set.end),
        }
    }

    /// Keys of this manner that those of another one (itself, or its set's) exclude.
    fn clashes(&self, other: &Self) -> Vec<Diagnostic> {
        let clash = |span: Span, other: Span, label: &str, message: String, hint: &str| {
            Diagnostic::at(Code::Conflict, span, message).label(other, label).hint(hint)
        };
        let mut found = Vec::new();
        if let Some(part) = other.part.filter(|part| without_strokes(part.value)) {
            let (word, limb) =
                if part.value == BodyPart::Kick { ("kick", "legs") } else { ("scull", "sculling hands") };
            let counted = [
                ("tempo", self.tempo.as_ref().map(|found| found.span)),
                ("strokes", self.strokes.map(|found| found.span)),
                ("count", self.count.map(|found| found.span)),
                ("sight", self.sight.map(|found| found.span)),
                ("call", self.call.as_ref().filter(|call| call.value.iter().any(is_count)).map(|found| found.span)),
            ];
            found.extend(counted.into_iter().filter_map(|(key, span)| {
                let message = format!("`{key}` with `part: {word}`: {limb} have no strokes to count");
                Some(clash(span?, part.span, "no strokes here", message, &format!("remove `{key}`, or swim this one")))
            }));
        }
        if let (Some(half), Some(tempo)) = (self.second_half, &other.tempo) {
            let message = "`second-half` with `tempo`: one beat through both halves cannot make one of them faster";
            let hint = "a `pace` with `second-half`, or the tempo alone";
            found.push(clash(half.span, tempo.span, "the tempo", message.into(), hint));
        }
        if let (Some(beats), Some(test)) = (self.beats.as_ref().filter(|beats| beats.value != "none"), other.test) {
            let message = "`beats` with `test`: a test is swum without beats, so that it measures the swimmer";
            found.push(clash(beats.span, test.span, "the test", message.into(), "remove `beats`, or remove `test`"));
        }
        if let (Some(marks), Some(test)) = (self.marks.filter(|marks| marks.value == PaceMarks::Walls), other.test) {
            let message = "`marks` with `test`: nothing is heard while a test is swum, so that it measures the swimmer";
            found.push(clash(marks.span, test.span, "the test", message.into(), "remove `marks`, or remove `test`"));
        }
        found
    }
}

/// Whether strokes are called.
const fn is_count(call: &CallOut) -> bool {
    matches!(call, CallOut::Strokes(_))
}

/// `lengths`, or `[lengths, each repeat]`: each kind once.
fn calls(node: &Node, problems: &mut Problems) -> Option<Spanned<Vec<CallOut>>> {
    let NodeKind::List(items) = &node.kind else {
        return tree::read(node, "call", count::call_out, problems).map(|found| found.map(|call| vec![call]));
    };
    if items.is_empty() && !node.cut {
        let problem = Diagnostic::at(Code::BadValue, node.span, "the list of `call` is empty");
        problems.push(problem.hint("for example `[lengths, each repeat]`; leave `call` out for no calls"));
        return None;
    }
    let mut calls: Vec<Spanned<CallOut>> = Vec::new();
    let mut good = true;
    for item in items {
        let found = tree::read(item, "call", count::call_out, problems);
        let kind = |call: &CallOut| std::mem::discriminant(call);
        let first = found.and_then(|found| calls.iter().find(|other| kind(&other.value) == kind(&found.value)));
        if let (Some(found), Some(first)) = (found, first) {
            let problem = Diagnostic::at(Code::BadValue, found.span, "the same kind of call twice");
            problems.push(problem.label(first.span, "first here").hint("keep one of them"));
            good = false;
        } else {
            good &= found.is_some();
            calls.extend(found);
        }
    }
    good.then(|| Spanned::new(calls.into_iter().map(|call| call.value).collect(), node.span))
}

/// Whether a part makes no strokes that could be counted or paced by a beat.
const fn without_strokes(part: BodyPart) -> bool {
    matches!(part, BodyPart::Kick | BodyPart::Scull)
}

/// `{ at-most: 19 }`: a target of strokes in one length.
fn target(node: &Node, problems: &mut Problems) -> Option<Spanned<StrokeTarget>> {
    if let (NodeKind::Scalar(scalar), false) = (&node.kind, node.cut || node.is_nothing()) {
        let written = scalar.text.trim();
        let number = if written.parse::<u16>().is_ok() { written } else { "19" };
        let problem = Diagnostic::at(Code::WrongShape, node.span, "`strokes` is a target in braces");
        problems.push(problem.hint(format!("`strokes: {{ at-most: {number} }}`?")));
        return None;
    }
    let fields = Fields::of(node, "`strokes`", &["at-most"], problems)?;
    fields.require("at-most", "at-most: 19", problems);
    fields.read("at-most", follow::stroke_target, problems)
}
