//! Texts that somebody else wrote, and how the page's own numbers are written around them.
//!
//! A title or a name may run from right to left, and may have numbers in it. So each is kept apart from what stands around
//! it: in `bdi`, or where no element can stand (a drawing's labels, titles under the pointer) between Unicode's marks of an
//! isolate. What is not kept apart is the page's own.

use crate::diag::shown::printable;
use maud::{Markup, html};

/// First strong isolate (Unicode Standard Annex 9): what follows has its own direction.
const ISOLATE: char = '\u{2068}';
/// Pop directional isolate: it ends here.
const END: char = '\u{2069}';

/// A text as somebody typed it, apart from what stands around it.
pub fn typed(text: &str) -> Markup {
    html! { bdi { (printable(text)) } }
}

/// The same where no element can stand.
pub fn isolated(text: &str) -> String {
    // The text cannot end its isolate itself: a mark of its own is shown by its number.
    format!("{ISOLATE}{}{END}", printable(text))
}

/// What stands between whole units and tenths in a page's own numbers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DecimalMark {
    /// As a cue script has it.
    #[default]
    Point,
    /// As most of Europe and South America write.
    Comma,
}

impl DecimalMark {
    /// Commas where that is wished.
    pub const fn comma(wished: bool) -> Self {
        if wished { Self::Comma } else { Self::Point }
    }

    /// What is shown, with the page's own numbers so written; what is typed and what stands in attributes stays.
    pub fn written(self, shown: String) -> String {
        match self {
            Self::Point => shown,
            Self::Comma => with_commas(&shown),
        }
    }
}

/// Whose text it is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Inside<'p> {
    /// The page's own.
    Own,
    /// What ends with this.
    Until(&'p str),
}

fn with_commas(shown: &str) -> String {
    let mut written = String::with_capacity(shown.len());
    let (mut inside, mut digit) = (Inside::Own, false);
    let mut rest = shown;
    while let Some(c) = rest.chars().next() {
        let begun = match inside {
            Inside::Until(end) if rest.starts_with(end) => Inside::Own,
            Inside::Own => match c {
                '<' if rest.starts_with("<bdi>") => Inside::Until("</bdi>"),
                '<' => Inside::Until(">"),
                ISOLATE => Inside::Until("\u{2069}"),
                _ => Inside::Own,
            },
            until @ Inside::Until(_) => until,
        };
        let behind = &rest[c.len_utf8()..];
        let between = digit && c == '.' && behind.starts_with(|next: char| next.is_ascii_digit());
        written.push(if between && inside == Inside::Own { ',' } else { c });
        (inside, digit) = (begun, c.is_ascii_digit());
        rest = behind;
    }
    written
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pages_own_numbers_have_commas_and_nothing_else() {
        let page = html! {
            p data-at="1.5" { "1.30 s, 1:02.5. Then 3.4 to 6 in v." (typed("set 1.2 <b>3.4</b>")) " 9.25" }
            svg { title { (isolated("5.5 \u{2069}6.6")) " 7.75" } path d="M1.5 2.5" {} }
        };
        let written = DecimalMark::Comma.written(page.clone().into_string());
        let wanted = page.into_string().replace("1.30 s, 1:02.5. Then 3.4", "1,30 s, 1:02,5. Then 3,4");
        assert_eq!(written, wanted.replace(" 9.25", " 9,25").replace(" 7.75", " 7,75"));
        assert!(written.contains("5.5 \\u{2069}6.6"), "{written}");
    }
}
