//! The texts that diagnostics point into, and places in them.

use std::ops::Range;

/// Which text a span belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceId(u16);

/// A range of bytes of one source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// Which text.
    pub source: SourceId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// A range of bytes of a source.
    pub const fn new(source: SourceId, start: u32, end: u32) -> Self {
        Self { source, start, end }
    }

    /// Whether another span lies within this one.
    pub fn holds(self, other: Self) -> bool {
        self.source == other.source && self.start <= other.start && other.end <= self.end
    }

    /// From here to the end of another span of the same source.
    #[must_use]
    pub fn to(self, end: Self) -> Self {
        Self { end: end.end.max(self.end), ..self }
    }
}

/// A value and where it was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spanned<T> {
    /// What.
    pub value: T,
    /// Where.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// A value at a place.
    pub const fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }

    /// The same place with another value.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned { value: f(self.value), span: self.span }
    }
}

/// A named text.
#[derive(Clone, Debug)]
struct Source {
    name: String,
    text: String,
}

/// All the texts of one run: the script, and the manifests of its packs.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    files: Vec<Source>,
}

impl Sources {
    /// No texts.
    pub const fn new() -> Self {
        Self { files: Vec::new() }
    }

    /// Adds a text under the name that messages show.
    ///
    /// # Panics
    /// Never in practice: a run holds a script and a handful of manifests, not 65,536 texts.
    #[expect(clippy::expect_used, reason = "two texts with one id would be confused in silence")]
    pub fn add(&mut self, name: impl Into<String>, text: impl Into<String>) -> SourceId {
        let id = SourceId(u16::try_from(self.files.len()).expect("under 65,536 texts"));
        self.files.push(Source { name: name.into(), text: text.into() });
        id
    }

    /// The name of a text.
    pub fn name(&self, id: SourceId) -> &str {
        self.files.get(usize::from(id.0)).map_or("", |file| &file.name)
    }

    /// The text itself.
    pub fn text(&self, id: SourceId) -> &str {
        self.files.get(usize::from(id.0)).map_or("", |file| &file.text)
    }

    /// The text a span marks; empty where it marks nothing.
    pub fn slice(&self, span: Span) -> &str {
        self.text(span.source).get(Range { start: span.start as usize, end: span.end as usize }).unwrap_or("")
    }

    /// Line and column of a span's start, both from 1, the column in characters.
    pub fn place(&self, span: Span) -> (usize, usize) {
        let text = self.text(span.source);
        let mut at = (span.start as usize).min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        let before = &text[..at];
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        (line, column)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters() {
        let mut sources = Sources::new();
        let id = sources.add("a.yaml", "eins\nüber: 50\n");
        let span = Span::new(id, 12, 14);
        assert_eq!(sources.slice(span), "50");
        assert_eq!(sources.place(span), (2, 7));
        assert_eq!(sources.place(Span::new(id, 900, 901)), (3, 1));
    }
}
