//! A tree of YAML: each node with its bytes, each scalar as the text that was written.

use crate::diag::{Span, Spanned};
use std::ops::Range;

/// One value of the text.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Where it stands; for a value that is not there (`key:`), where its key stands.
    pub span: Span,
    /// What it is.
    pub kind: NodeKind,
    /// The text broke off inside this node: what it lacks may have been meant to follow.
    pub cut: bool,
}

/// The shapes of YAML.
#[derive(Clone, Debug, PartialEq)]
pub enum NodeKind {
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
    pub(super) verbatim: Option<u32>,
}

impl Node {
    /// A text of another format, such as a cell of a table. Where the place is as long as the text, it is the text, byte
    /// for byte.
    pub fn written(text: String, span: Span) -> Self {
        let verbatim = ((span.end - span.start) as usize == text.len()).then_some(span.start);
        Self { span, kind: NodeKind::Scalar(Scalar { text, plain: false, verbatim }), cut: false }
    }

    /// The place of a part of a scalar's text, given in bytes of the text; the whole node where the text is not
    /// written byte for byte (escapes, folded lines) or the node is not a scalar.
    pub fn part(&self, range: Range<usize>) -> Span {
        let NodeKind::Scalar(Scalar { verbatim: Some(start), .. }) = self.kind else { return self.span };
        Span::new(self.span.source, start + narrow(range.start), start + narrow(range.end))
    }

    /// Whether this is a value left out, as in `key:`.
    pub fn is_nothing(&self) -> bool {
        matches!(&self.kind, NodeKind::Scalar(scalar) if scalar.plain && scalar.text.is_empty())
    }

    /// The shape in words, with its article.
    pub const fn shape(&self) -> &'static str {
        match self.kind {
            NodeKind::Scalar(_) => "a single value",
            NodeKind::List(_) => "a list",
            NodeKind::Map(_) => "a map",
        }
    }
}

/// What a copy of a node costs, in bytes, roughly.
pub(super) fn weight(node: &Node) -> usize {
    80 + match &node.kind {
        NodeKind::Scalar(scalar) => scalar.text.len(),
        NodeKind::List(items) => items.iter().map(weight).sum(),
        NodeKind::Map(pairs) => pairs.iter().map(|(key, node)| 40 + key.value.len() + weight(node)).sum(),
    }
}

/// Offsets fit 32 bits because no text above [`LARGEST`] is read.
#[expect(clippy::expect_used, reason = "no text above 1 MiB is read")]
pub(super) fn narrow(offset: impl TryInto<u32, Error: std::fmt::Debug>) -> u32 {
    offset.try_into().expect("an offset into a text of at most 1 MiB")
}
