//! YAML as a tree of nodes that know their bytes.
//!
//! Every scalar stays the text that was written: `1.20` keeps its zero and `no` is no boolean. What the texts
//! mean is not known here; [`tree`](crate::script::tree) walks the nodes. This file and its family are the only
//! ones that name the YAML parser. Whatever bytes come in, the work is bounded by the budgets below.

mod explain;
mod unit_list;

use crate::diag::{Code, Diagnostic, SourceId, Span, Spanned};
use serde_yaml::granit_parser::{self as granit, Event, Options, Parser, ScalarStyle, StructureStyle};
use std::collections::HashMap;
use std::ops::Range;
use unit_list::UnitLists;

/// The largest text that is read, in bytes.
pub const LARGEST: usize = 1 << 20;
/// How deep collections may lie in each other, aliases expanded.
pub const DEEPEST: usize = 32;
/// How many events a text may have.
const MOST_EVENTS: usize = 100_000;
/// How many keys a map may have.
const MOST_KEYS: usize = 1_000;
/// How much aliases may copy, in bytes of [`weight`].
const MOST_COPIED: usize = 8 << 20;

/// One value of the text.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Where it stands; for a value that is not there (`key:`), where its key stands.
    pub span: Span,
    /// What it is.
    pub kind: Kind,
    /// The text broke off inside this node: what it lacks may have been meant to follow.
    pub cut: bool,
}

/// The shapes of YAML.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// A text.
    Scalar(Scalar),
    /// `[a, b]` or lines that begin with `-`.
    List(Vec<Node>),
    /// `{ key: value }` or lines of `key: value`, in the order written, each key once.
    Map(Vec<(Spanned<String>, Node)>),
}

/// A text and where its bytes lie.
#[derive(Clone, Debug, PartialEq)]
pub struct Scalar {
    /// The text, escapes resolved.
    pub text: String,
    /// Written without quotes.
    pub plain: bool,
    /// Where the text starts in the source, if it stands there byte for byte.
    verbatim: Option<u32>,
}

impl Node {
    /// A text of another format, such as a cell of a table. Where the place is as long as the text, it is the text, byte
    /// for byte.
    pub fn written(text: String, span: Span) -> Self {
        let verbatim = ((span.end - span.start) as usize == text.len()).then_some(span.start);
        Self { span, kind: Kind::Scalar(Scalar { text, plain: false, verbatim }), cut: false }
    }

    /// The place of a part of a scalar's text, given in bytes of the text; the whole node where the text is not
    /// written byte for byte (escapes, folded lines) or the node is no scalar.
    pub fn part(&self, range: Range<usize>) -> Span {
        let Kind::Scalar(Scalar { verbatim: Some(start), .. }) = self.kind else { return self.span };
        Span::new(self.span.source, start + narrow(range.start), start + narrow(range.end))
    }

    /// Whether this is a value left out, as in `key:`.
    pub fn is_nothing(&self) -> bool {
        matches!(&self.kind, Kind::Scalar(scalar) if scalar.plain && scalar.text.is_empty())
    }

    /// The shape in words, with its article.
    pub const fn shape(&self) -> &'static str {
        match self.kind {
            Kind::Scalar(_) => "a single value",
            Kind::List(_) => "a list",
            Kind::Map(_) => "a map",
        }
    }
}

/// Reads a text. Gives the tree of its first document as far as it could be read, and every problem found.
pub fn read(source: SourceId, text: &str) -> (Option<Node>, Vec<Diagnostic>) {
    let whole = |at: usize, len: usize| Span::new(source, narrow(at), narrow(at + len));
    if text.len() > LARGEST {
        let message = format!("the text has {} bytes; a script has at most {LARGEST}", text.len());
        return (None, vec![Diagnostic::at(Code::Yaml, whole(0, 0), message)]);
    }
    if let Some(at) = text.find('\0') {
        let problem = Diagnostic::at(Code::Yaml, whole(at, 1), "a byte of value zero; a script is plain text")
            .hint("save the file as UTF-8 text");
        return (None, vec![problem]);
    }
    let lists = UnitLists::of(text);
    let covered = lists.covered();
    let mut builder = Builder::new(source, text, lists);
    builder.run(&covered);
    let root = builder.finish();
    (root, builder.problems)
}

/// A collection whose end has not come.
struct Open {
    start: Span,
    flow: bool,
    anchor: usize,
    depth: usize,
    kind: OpenKind,
}

enum OpenKind {
    List(Vec<Node>),
    Map { pairs: Vec<(Spanned<String>, Node)>, key: Option<Key> },
}

/// A key that waits for its value; `None` where the value is to be thrown away.
type Key = Option<Spanned<String>>;

/// What an alias may refer to.
struct Anchor {
    node: Node,
    height: usize,
    weight: usize,
}

struct Builder<'t> {
    source: SourceId,
    text: &'t str,
    /// Lists with one unit, covered before the parser saw them.
    lists: UnitLists<'t>,
    open: Vec<Open>,
    root: Option<Node>,
    anchors: HashMap<usize, Anchor>,
    copied: usize,
    problems: Vec<Diagnostic>,
    broken: bool,
}

impl<'t> Builder<'t> {
    fn new(source: SourceId, text: &'t str, lists: UnitLists<'t>) -> Self {
        Self {
            source,
            text,
            lists,
            open: Vec::new(),
            root: None,
            anchors: HashMap::new(),
            copied: 0,
            problems: Vec::new(),
            broken: false,
        }
    }

    fn run(&mut self, covered: &str) {
        let mut options = Options::default();
        options.flow_nesting_limit = DEEPEST;
        options.block_nesting_limit = DEEPEST;
        options.emit_unresolved_aliases = true;
        options.set_emit_comments(false);
        let mut documents = 0;
        for (count, next) in Parser::new_from_str_with_options(covered, options).enumerate() {
            let (event, place) = match next {
                Ok(event) => event,
                Err(error) => return self.syntax(&error),
            };
            let span = self.span(&place);
            if count >= MOST_EVENTS {
                return self.stop(span, format!("more than {MOST_EVENTS} values and marks"), "split the script");
            }
            if let Event::DocumentStart(..) = event {
                documents += 1;
                if documents > 1 {
                    let hint = "remove `---` and what follows, or keep it in a file of its own";
                    return self.stop(span, "a second document begins; a script is one".into(), hint);
                }
            }
            if let Some(tag) = place.tag_span() {
                let problem = Diagnostic::at(Code::Yaml, self.span(&tag), "a tag; scripts have none");
                self.problems.push(problem.hint("remove it: every value is read by its key"));
            }
            if !self.take(event, span) || self.broken {
                return;
            }
        }
    }

    /// Takes one event; `false` where the rest cannot be read.
    fn take(&mut self, event: Event<'_>, span: Span) -> bool {
        match event {
            Event::Scalar(text, style, anchor, _) => {
                let node = self.scalar(text.into_owned(), style, span);
                self.complete(node, anchor, 0);
            }
            Event::SequenceStart(style, anchor, _) => {
                return self.push(span, style, anchor, OpenKind::List(Vec::new()));
            }
            Event::MappingStart(style, anchor, _) => {
                return self.push(span, style, anchor, OpenKind::Map { pairs: Vec::new(), key: None });
            }
            Event::SequenceEnd | Event::MappingEnd => self.close(span),
            Event::Alias(id) => return self.alias(id, span),
            Event::UnresolvedAlias(name) => {
                let message = format!("`*{name}` refers to an anchor `&{name}` that is not set before it");
                let problem = Diagnostic::at(Code::Yaml, span, message);
                self.problems.push(problem.hint("a text that begins with `*` needs quotes"));
                self.discard();
            }
            _ => {}
        }
        true
    }

    fn scalar(&self, text: String, style: ScalarStyle, span: Span) -> Node {
        let start = span.start as usize;
        let plain = style == ScalarStyle::Plain;
        // The parser writes `~` for a value left out; one that stands in the text is a text like any other.
        let text = if plain && span.start == span.end { String::new() } else { text };
        let text = self.lists.uncover(text, start..span.end as usize);
        let verbatim = [start, start + 1]
            .into_iter()
            .find(|from| self.text.get(*from..from + text.len()).is_some_and(|written| written == text))
            .filter(|from| from + text.len() <= span.end as usize)
            .map(narrow);
        Node { span, kind: Kind::Scalar(Scalar { text, plain, verbatim }), cut: false }
    }

    fn push(&mut self, span: Span, style: StructureStyle, anchor: usize, kind: OpenKind) -> bool {
        if self.open.len() >= DEEPEST {
            self.stop(span, format!("more than {DEEPEST} lists and maps inside each other"), "");
            return false;
        }
        self.open.push(Open { start: span, flow: style == StructureStyle::Flow, anchor, depth: 0, kind });
        true
    }

    fn close(&mut self, end: Span) {
        let Some(open) = self.open.pop() else { return };
        let (anchor, height) = (open.anchor, open.depth + 1);
        let node = open.into_node(Some(end));
        self.complete(node, anchor, height);
    }

    /// Puts a finished node where it belongs. `height` counts the collections on its longest way down.
    fn complete(&mut self, mut node: Node, anchor: usize, height: usize) {
        if anchor > 0 {
            let weight = weight(&node);
            self.copied += weight;
            if self.copied <= MOST_COPIED {
                self.anchors.insert(anchor, Anchor { node: node.clone(), height, weight });
            }
        }
        let Some(parent) = self.open.last_mut() else {
            if self.root.is_none() {
                self.root = Some(node);
            }
            return;
        };
        parent.depth = parent.depth.max(height);
        let span = node.span;
        match &mut parent.kind {
            OpenKind::List(items) => items.push(node),
            OpenKind::Map { pairs, key } => match key.take() {
                None => *key = Some(read_key(node, pairs, &mut self.problems)),
                Some(Some(key)) => {
                    if node.is_nothing() {
                        node.span = key.span;
                    }
                    pairs.push((key, node));
                    if pairs.len() == MOST_KEYS + 1 {
                        let message = format!("a map of more than {MOST_KEYS} keys");
                        self.problems.push(Diagnostic::at(Code::Yaml, span, message));
                        self.broken = true;
                    }
                }
                Some(None) => {}
            },
        }
    }

    /// Leaves out a node that has been reported: its key goes with it.
    fn discard(&mut self) {
        if let Some(Open { kind: OpenKind::Map { key, .. }, .. }) = self.open.last_mut() {
            *key = if key.is_some() { None } else { Some(None) };
        }
    }

    fn alias(&mut self, id: usize, span: Span) -> bool {
        let Some(anchor) = self.anchors.get(&id) else {
            let full = self.copied > MOST_COPIED;
            let message = if full { "the anchors hold too much text" } else { "an alias inside its own anchor" };
            self.problems.push(Diagnostic::at(Code::Yaml, span, message));
            self.discard();
            return !full;
        };
        let (height, weight) = (anchor.height, anchor.weight);
        if self.copied + weight > MOST_COPIED {
            self.stop(span, "aliases repeat too much text".into(), "write less of it by alias");
            return false;
        }
        if self.open.len() + height > DEEPEST {
            self.stop(span, format!("more than {DEEPEST} lists and maps inside each other"), "");
            return false;
        }
        self.copied += weight;
        let node = anchor.node.clone();
        self.complete(node, 0, height);
        true
    }

    fn syntax(&mut self, error: &granit::ScanError) {
        let open = self.open.iter().rev().find(|open| open.flow).map(|open| open.start.start as usize);
        if let Some(outermost) = self.open.iter().find(|open| open.flow).map(|open| open.start.start) {
            self.problems.retain(|problem| problem.span.is_none_or(|span| span.start < outermost));
        }
        let explain::Explained { message, range, noticed, hint } = explain::explain(error, self.text, open);
        let span = |range: Range<usize>| Span::new(self.source, narrow(range.start), narrow(range.end));
        let problem = Diagnostic::at(Code::Yaml, span(range), message).hint(hint);
        self.problems.push(match noticed {
            Some(noticed) => problem.label(span(noticed), "noticed here"),
            None => problem,
        });
        self.broken = true;
    }

    fn stop(&mut self, span: Span, message: String, hint: &str) {
        let problem = Diagnostic::at(Code::Yaml, span, message);
        self.problems.push(if hint.is_empty() { problem } else { problem.hint(hint) });
        self.broken = true;
    }

    /// The root; where the text broke off, with what was open closed around what it had. Brackets that were open are
    /// left out with all that is in them: they may have swallowed lines that were never meant for them.
    fn finish(&mut self) -> Option<Node> {
        if let Some(flow) = self.open.iter().position(|open| open.flow) {
            self.open.truncate(flow);
            self.discard();
        }
        while let Some(open) = self.open.pop() {
            let height = open.depth + 1;
            let mut node = open.into_node(None);
            node.cut = true;
            self.complete(node, 0, height);
        }
        if let (true, Some(root)) = (self.broken, &mut self.root) {
            root.cut = true;
        }
        self.root.take().filter(|root| !root.is_nothing())
    }

    fn span(&self, place: &granit::Span) -> Span {
        let range = place.byte_range().unwrap_or(0..0);
        let end = range.end.min(self.text.len());
        Span::new(self.source, narrow(range.start.min(end)), narrow(end))
    }
}

impl Open {
    /// The node; a block collection ends with its last child, not where the parser noticed the end.
    fn into_node(self, end: Option<Span>) -> Node {
        let last = match &self.kind {
            OpenKind::List(items) => items.last().map(|node| node.span),
            OpenKind::Map { pairs, .. } => pairs.last().map(|(key, node)| key.span.to(node.span)),
        };
        // A child that came by alias lies elsewhere in the text.
        let last = last.filter(|last| last.end >= self.start.start).unwrap_or(self.start);
        let span = match end {
            Some(end) if self.flow => self.start.to(end),
            _ => self.start.to(last),
        };
        let kind = match self.kind {
            OpenKind::List(items) => Kind::List(items),
            OpenKind::Map { pairs, .. } => Kind::Map(pairs),
        };
        Node { span, kind, cut: false }
    }
}

/// Takes a node as a key; `None` where it cannot be one or was there before, which is reported.
fn read_key(node: Node, pairs: &[(Spanned<String>, Node)], problems: &mut Vec<Diagnostic>) -> Key {
    let Kind::Scalar(Scalar { text, .. }) = node.kind else {
        let message = format!("a key is a single word; found {}", node.shape());
        problems.push(Diagnostic::at(Code::WrongShape, node.span, message));
        return None;
    };
    if text.is_empty() {
        problems.push(Diagnostic::at(Code::WrongShape, node.span, "a value without a key"));
        return None;
    }
    if let Some((first, _)) = pairs.iter().find(|(key, _)| key.value == text) {
        let problem = Diagnostic::at(Code::DuplicateKey, node.span, format!("`{}` is given twice", crop(&text)));
        problems.push(problem.label(first.span, "first here").hint("keep one of them"));
        return None;
    }
    Some(Spanned::new(text, node.span))
}

/// What a copy of a node costs, in bytes, roughly.
fn weight(node: &Node) -> usize {
    80 + match &node.kind {
        Kind::Scalar(scalar) => scalar.text.len(),
        Kind::List(items) => items.iter().map(weight).sum(),
        Kind::Map(pairs) => pairs.iter().map(|(key, node)| 40 + key.value.len() + weight(node)).sum(),
    }
}

/// A text short enough for a message.
pub fn crop(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut chars = text.chars();
    let head: String = chars.by_ref().take(LONGEST).collect();
    if chars.next().is_some() { head + "…" } else { head }
}

/// Offsets fit 32 bits because no text above [`LARGEST`] is read.
fn narrow(offset: impl TryInto<u32>) -> u32 {
    offset.try_into().unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests;
