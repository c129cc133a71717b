//! Quantities as people write them on a whiteboard: `1:30`, `4 x 50 m on 1:20`, `1.30 s`, `-6 dB`.
//!
//! One function per quantity, from text to a value of [`units`](crate::units) or a [`Misread`] that marks the exact
//! bytes. A missing space, capital letters, a decimal comma, `×` for `x` are read without a word; a number
//! without its unit is not, because the likely readings differ too much. No key of the script is known here.

pub mod breath;
pub mod count;
pub mod follow;
pub mod lane;
pub mod level;
pub mod rest;
pub mod scan;
pub mod swim;
pub mod time;

use crate::diag::{Code, Diagnostic};
use crate::script::yaml::Node;
use std::ops::Range;

/// A value or what is wrong with its text.
pub type Read<T> = Result<T, Misread>;

/// What is wrong with a text, before it is known where the text stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misread {
    /// What kind of problem.
    pub code: Code,
    /// As in a diagnostic.
    pub message: String,
    /// The bytes of the text it is about.
    pub range: Range<usize>,
    /// How to mend it.
    pub hint: Option<String>,
}

impl Misread {
    /// A fault of a whole text, the blanks around it left out.
    pub fn new(code: Code, text: &str, message: impl Into<String>) -> Self {
        let start = text.len() - text.trim_start().len();
        Self::within(code, start..start + text.trim().len(), message)
    }

    /// A fault of some bytes of a text.
    pub fn within(code: Code, range: Range<usize>, message: impl Into<String>) -> Self {
        Self { code, message: message.into(), range, hint: None }
    }

    /// The same with the way to mend it.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// The same fault in a longer text, of which this one began at a byte.
    #[must_use]
    pub fn moved(mut self, by: usize) -> Self {
        self.range = self.range.start + by..self.range.end + by;
        self
    }

    /// The diagnostic, once it is known which node the text came from.
    pub fn at(self, node: &Node) -> Diagnostic {
        let problem = Diagnostic::at(self.code, node.part(self.range), self.message);
        match self.hint {
            Some(hint) => problem.hint(hint),
            None => problem,
        }
    }
}

#[cfg(test)]
mod tests;
