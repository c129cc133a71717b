//! YAML as a tree of nodes that know their bytes.
//!
//! Every scalar stays the text that was written: `1.20` keeps its zero and `no` is not a boolean. What the texts
//! mean is not known here; [`tree`](crate::script::tree) walks the nodes. This file and its family are the only
//! ones that name the YAML parser. Whatever bytes come in, the work is bounded by the budgets.

mod budget;
mod build;
mod explain;
mod node;

pub use budget::{DEEPEST, LARGEST};
pub use node::{Node, NodeKind, Scalar};

use crate::diag::{Code, Diagnostic, SourceId, Span};
use build::TreeBuilder;
use node::narrow;

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
    let mut builder = TreeBuilder::new(source, text);
    builder.run();
    let root = builder.finish();
    (root, builder.problems)
}

#[cfg(test)]
mod tests;
