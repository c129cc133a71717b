//! Lists with one unit for all, `[50, 100, 150] m`, which YAML itself takes for a list with rubbish behind it.
//!
//! Before the parser sees the text, the marks of such a list are covered by a letter of one byte, so that all of it is one
//! plain text of the same length; every place in the source stays right. What the parser gives back is uncovered.
//! What the list means is not known here.

use std::borrow::Cow;
use std::ops::Range;

/// Bytes that may begin a plain text and are no marks of YAML, in braces or out of them.
const COVERS: [char; 8] = ['^', ';', '$', '_', '~', '=', '+', '<'];
const MARKS: [char; 3] = ['[', ',', ']'];

/// The lists of a text that have one unit behind them.
pub(super) struct UnitLists<'t> {
    text: &'t str,
    /// The bytes of each `[...]`, in order.
    places: Vec<Range<usize>>,
    /// What their marks are covered with: a letter that the text has nowhere, so that uncovering cannot go wrong.
    cover: char,
}

impl<'t> UnitLists<'t> {
    /// The lists of a text; none where it has every letter that could cover them.
    pub(super) fn of(text: &'t str) -> Self {
        let mut places = find(text);
        let free = if places.is_empty() { None } else { COVERS.into_iter().find(|cover| !text.contains(*cover)) };
        if free.is_none() {
            places.clear();
        }
        Self { text, places, cover: free.unwrap_or('^') }
    }

    /// The text with the marks of the lists covered, as long as before.
    pub(super) fn covered(&self) -> Cow<'t, str> {
        if self.places.is_empty() {
            return Cow::Borrowed(self.text);
        }
        let (mut covered, mut from) = (String::with_capacity(self.text.len()), 0);
        for place in &self.places {
            covered.push_str(self.text.get(from..place.start).unwrap_or(""));
            covered.push_str(&self.covered_list(place));
            from = place.end;
        }
        covered.push_str(self.text.get(from..).unwrap_or(""));
        Cow::Owned(covered)
    }

    /// A value as it was before its lists were covered; `span` holds its bytes in the text.
    pub(super) fn uncover(&self, value: String, span: Range<usize>) -> String {
        let first = self.places.partition_point(|place| place.start < span.start);
        let inside = self.places.get(first..).unwrap_or(&[]).iter().take_while(|place| place.end <= span.end);
        let (mut value, mut from) = (value, 0);
        for place in inside {
            let covered = self.covered_list(place);
            // Quoted or folded, a list lies on one line and holds nothing that is escaped: it stands there as it is.
            if let Some(at) = value.get(from..).and_then(|rest| rest.find(&covered)) {
                let range = from + at..from + at + covered.len();
                from = range.end;
                value.replace_range(range, self.text.get(place.clone()).unwrap_or(""));
            }
        }
        value
    }

    fn covered_list(&self, place: &Range<usize>) -> String {
        let mut letter = [0; 4];
        let cover: &str = self.cover.encode_utf8(&mut letter);
        self.text.get(place.clone()).unwrap_or("").replace(MARKS, cover)
    }
}

fn find(text: &str) -> Vec<Range<usize>> {
    let lists = text.match_indices('[').filter_map(|(start, _)| {
        let before = text.get(..start)?;
        let key = before.trim_end_matches(' ');
        if !key.ends_with(':') || key.len() == before.len() {
            return None;
        }
        let inside = text.get(start + 1..)?;
        let len = inside.find(|c: char| !(c.is_ascii_alphanumeric() || matches!(c, ' ' | ',' | '.')))?;
        let begins_with_digit = inside.trim_start().starts_with(|c: char| c.is_ascii_digit());
        let end = start + 1 + len + 1;
        let after = inside.get(len..)?.strip_prefix(']')?.trim_start_matches(' ');
        (begins_with_digit && after.starts_with(|c: char| c.is_alphabetic() || c == '/')).then_some(start..end)
    });
    lists.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_lists_with_a_unit_are_covered() {
        for (text, covered) in [
            ("swim: [50, 100] m\n", "swim: ^50^ 100^ m\n"),
            ("- { swim: [50,100]m, rest: 5 s }", "- { swim: ^50^100^m, rest: 5 s }"),
            ("swim:   [ 50 ] yd on 1:30", "swim:   ^ 50 ^ yd on 1:30"),
            ("tempo: [50, 60] /min", "tempo: ^50^ 60^ /min"),
            ("a: [50, 100]\nb: c", "a: [50, 100]\nb: c"),
            ("a: [50 m, 100 m] # m", "a: [50 m, 100 m] # m"),
            ("a: [50, 100], b", "a: [50, 100], b"),
            ("a: [reach, still] m", "a: [reach, still] m"),
            ("a: [[50] m", "a: [[50] m"),
            ("a:[50] m", "a:[50] m"),
            ("a: [50,\n 100] m", "a: [50,\n 100] m"),
            ("a: [50", "a: [50"),
            ("a: [50] m ^", "a: ;50; m ^"),
            ("a: [50] m ^;$_~=+<", "a: [50] m ^;$_~=+<"),
        ] {
            let lists = UnitLists::of(text);
            assert_eq!(lists.covered(), covered);
            assert_eq!(lists.uncover(covered.to_owned(), 0..text.len()), text);
        }
    }
}
