//! From the parser's events to the tree: collections that are open, anchors and aliases, keys, and what is left where a
//! text breaks off.

use super::budget::{DEEPEST, MOST_COPIED, MOST_EVENTS, MOST_KEYS};
use super::explain;
use super::node::{Node, NodeKind, Scalar, narrow, weight};
use crate::diag::{Code, Diagnostic, SourceId, Span, Spanned, crop};
use serde_yaml::granit_parser::{self as granit, Event, Options, Parser, ScalarStyle, StructureStyle};
use std::collections::HashMap;
use std::ops::Range;

/// A collection whose end has not come.
struct OpenNode {
    start: Span,
    flow: bool,
    anchor: usize,
    depth: usize,
    kind: OpenNodeKind,
}

enum OpenNodeKind {
    List(Vec<Node>),
    Map { pairs: Vec<(Spanned<String>, Node)>, key: Option<ReadKey> },
}

/// A key that waits for its value; `None` where the value is to be thrown away.
type ReadKey = Option<Spanned<String>>;

/// What an alias may refer to.
struct Anchor {
    node: Node,
    height: usize,
    weight: usize,
}

/// Makes a tree of the parser's events.
pub(super) struct TreeBuilder<'t> {
    source: SourceId,
    text: &'t str,
    open: Vec<OpenNode>,
    root: Option<Node>,
    anchors: HashMap<usize, Anchor>,
    copied: usize,
    pub(super) problems: Vec<Diagnostic>,
    broken: bool,
}

impl<'t> TreeBuilder<'t> {
    pub(super) fn new(source: SourceId, text: &'t str) -> Self {
        Self {
            source,
            text,
            open: Vec::new(),
            root: None,
            anchors: HashMap::new(),
            copied: 0,
            problems: Vec::new(),
            broken: false,
        }
    }

    /// Takes the parser's events until the text ends or cannot be read on.
    pub(super) fn run(&mut self) {
        let mut options = Options::default();
        options.flow_nesting_limit = DEEPEST;
        options.block_nesting_limit = DEEPEST;
        options.emit_unresolved_aliases = true;
        options.set_emit_comments(false);
        let mut documents = 0;
        for (count, next) in Parser::new_from_str_with_options(self.text, options).enumerate() {
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
                return self.push(span, style, anchor, OpenNodeKind::List(Vec::new()));
            }
            Event::MappingStart(style, anchor, _) => {
                return self.push(span, style, anchor, OpenNodeKind::Map { pairs: Vec::new(), key: None });
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
        let verbatim = [start, start + 1]
            .into_iter()
            .find(|from| self.text.get(*from..from + text.len()).is_some_and(|written| written == text))
            .filter(|from| from + text.len() <= span.end as usize)
            .map(narrow);
        Node { span, kind: NodeKind::Scalar(Scalar { text, plain, verbatim }), cut: false }
    }

    fn push(&mut self, span: Span, style: StructureStyle, anchor: usize, kind: OpenNodeKind) -> bool {
        if self.open.len() >= DEEPEST {
            self.stop(span, format!("more than {DEEPEST} lists and maps inside each other"), "");
            return false;
        }
        self.open.push(OpenNode { start: span, flow: style == StructureStyle::Flow, anchor, depth: 0, kind });
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
            OpenNodeKind::List(items) => items.push(node),
            OpenNodeKind::Map { pairs, key } => match key.take() {
                None => *key = Some(read_key(node, pairs, &mut self.problems)),
                Some(Some(key)) => {
                    if node.is_nothing() {
                        node.span = key.span;
                    }
                    pairs.push((key, node));
                    if pairs.len() == MOST_KEYS + 1 {
                        let message = format!("a map of more than {MOST_KEYS} keys");
                        let hint = "a pack of more texts can be made two, of which one names the other under `uses`";
                        self.problems.push(Diagnostic::at(Code::Yaml, span, message).hint(hint));
                        self.broken = true;
                    }
                }
                Some(None) => {}
            },
        }
    }

    /// Leaves out a node that has been reported: its key goes with it.
    fn discard(&mut self) {
        if let Some(OpenNode { kind: OpenNodeKind::Map { key, .. }, .. }) = self.open.last_mut() {
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
    pub(super) fn finish(&mut self) -> Option<Node> {
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

impl OpenNode {
    /// The node; a block collection ends with its last child, not where the parser noticed the end.
    fn into_node(self, end: Option<Span>) -> Node {
        let last = match &self.kind {
            OpenNodeKind::List(items) => items.last().map(|node| node.span),
            OpenNodeKind::Map { pairs, .. } => pairs.last().map(|(key, node)| key.span.to(node.span)),
        };
        // A child that came by alias lies elsewhere in the text.
        let last = last.filter(|last| last.end >= self.start.start).unwrap_or(self.start);
        let span = match end {
            Some(end) if self.flow => self.start.to(end),
            _ => self.start.to(last),
        };
        let kind = match self.kind {
            OpenNodeKind::List(items) => NodeKind::List(items),
            OpenNodeKind::Map { pairs, .. } => NodeKind::Map(pairs),
        };
        Node { span, kind, cut: false }
    }
}

/// Takes a node as a key; `None` where it cannot be one or was there before, which is reported.
fn read_key(node: Node, pairs: &[(Spanned<String>, Node)], problems: &mut Vec<Diagnostic>) -> ReadKey {
    let NodeKind::Scalar(Scalar { text, .. }) = node.kind else {
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
