//! Diagnostics as text, with an excerpt of the source and the place marked.
//!
//! Where the text goes, and whether a terminal wants colour, is the caller's job. This file is the only one
//! that names the crate that draws excerpts.

use super::shown::{Shown, printable};
use crate::diag::{Diagnostic, Severity, SourceId, Sources, Span};
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::ops::Range;
use unicode_width::UnicodeWidthChar;

/// The most problems that are drawn; the rest is counted.
pub const MOST_SHOWN: usize = 20;
/// The widest excerpt, in columns.
pub const WIDEST: usize = 120;
/// The narrowest, below which nothing could be read.
const NARROWEST: usize = 40;
/// The most columns that line numbers and their rule take: a text has under 10,000,000 lines.
const GUTTER: usize = 10;
/// The most characters of a message, a hint or a label: what quotes a script's own text is as long as that text.
const LONGEST: usize = 500;
/// The most labels of one problem that are drawn.
const MOST_LABELS: usize = 6;

/// The problems as a person reads them, each with its place, in the order given; at most [`MOST_SHOWN`].
///
/// `width` is the terminal's, in columns; excerpts keep within it and within [`WIDEST`]. Escape sequences are
/// written only with `color`.
pub fn render(diagnostics: &[Diagnostic], sources: &Sources, color: bool, width: usize) -> Shown {
    let renderer = if color { Renderer::styled() } else { Renderer::plain() };
    let width = width.clamp(NARROWEST, WIDEST);
    let renderer = renderer.term_width(width);
    let draw = |diagnostic| renderer.render(&[group(diagnostic, sources, width)]) + "\n";
    let mut drawn: Vec<_> = diagnostics.iter().take(MOST_SHOWN).map(draw).collect();
    if let Some(more) = diagnostics.len().checked_sub(MOST_SHOWN).filter(|more| *more > 0) {
        drawn.push(format!("{more} more\n"));
    }
    Shown::drawn(&drawn.join("\n"))
}

fn group<'a>(diagnostic: &'a Diagnostic, sources: &'a Sources, width: usize) -> Group<'a> {
    let level = match diagnostic.severity() {
        Severity::Error => Level::ERROR,
        Severity::Caution => Level::WARNING.with_name("caution"),
    };
    let code = diagnostic.code.word();
    // The words before the message, as in `error[unit-missing]: `; its further lines stand under its first.
    let before = diagnostic.severity().word().len() + code.len() + "[]: ".len();
    let title = level.primary_title(wrap(&diagnostic.message, width.saturating_sub(before))).id(code);
    let mut group = Group::with_title(title);
    for (source, marks) in excerpts(diagnostic, sources, width) {
        group = group.element(excerpt(source, &marks, sources, width));
    }
    match &diagnostic.hint {
        Some(hint) => group.element(Level::HELP.message(wrap(hint, width.saturating_sub(GUTTER + "= help: ".len())))),
        None => group,
    }
}

/// A text in lines of at most `width` columns, broken at blanks, at most [`LONGEST`] characters of it.
fn wrap(text: &str, width: usize) -> String {
    /// Under this, lines would be of single words.
    const NARROW: usize = 20;
    let width = width.max(NARROW);
    let cropped: String = text.chars().take(LONGEST).collect();
    let dots = if cropped.len() < text.len() { "…" } else { "" };
    let safe = Shown::from(cropped + dots).text(false);
    let (mut lines, mut line, mut columns) = (Vec::new(), String::new(), 0);
    for word in safe.split_whitespace() {
        let wide = columns_of(word);
        if columns > 0 && columns + 1 + wide > width {
            lines.push(std::mem::take(&mut line));
            columns = 0;
        }
        if columns > 0 {
            line.push(' ');
            columns += 1;
        }
        for letter in word.chars() {
            let wide = letter.width().unwrap_or(0);
            // A word wider than a line is broken where it must be.
            if columns + wide > width {
                lines.push(std::mem::take(&mut line));
                columns = 0;
            }
            line.push(letter);
            columns += wide;
        }
    }
    lines.push(line);
    lines.join("\n")
}

fn columns_of(text: &str) -> usize {
    text.chars().map(|letter| letter.width().unwrap_or(0)).sum()
}

/// A place with its word; the first of all is the problem itself.
type Mark<'a> = (Span, Option<&'a str>);

/// The marks that one excerpt can show, that of the problem first. A mark on a line that must be cropped has an
/// excerpt of its own: the crop is around one mark.
fn excerpts<'a>(diagnostic: &'a Diagnostic, sources: &Sources, width: usize) -> Vec<(SourceId, Vec<Mark<'a>>)> {
    let primary = diagnostic.span.map(|span| (span, None));
    let labels = diagnostic.labels.iter().take(MOST_LABELS).map(|(span, text)| (*span, Some(text.as_str())));
    let mut excerpts: Vec<(SourceId, bool, Vec<Mark<'_>>)> = Vec::new();
    for mark in primary.into_iter().chain(labels) {
        let source = mark.0.source;
        let long = lines(sources.text(source), &shorten(sources.text(source), mark.0, width)).len() + GUTTER > width;
        match excerpts.iter_mut().find(|(other, alone, _)| *other == source && !alone && !long) {
            Some((.., marks)) => marks.push(mark),
            None => excerpts.push((source, long, vec![mark])),
        }
    }
    excerpts.into_iter().map(|(source, _, marks)| (source, marks)).collect()
}

/// The bytes of the lines that some bytes lie on, without the last line's end.
fn lines(text: &str, range: &Range<usize>) -> Range<usize> {
    let start = text.get(..range.start).and_then(|before| before.rfind('\n')).map_or(0, |newline| newline + 1);
    let after = text.get(range.end..).unwrap_or("");
    let end = range.end + after.find('\n').unwrap_or(after.len());
    let line = text.get(start..end).unwrap_or("");
    start..start + line.strip_suffix('\r').unwrap_or(line).len().max(range.end - start)
}

/// The lines from the first mark to the last. Only these are given on, so that a problem costs no more in a large
/// text than in a small one.
fn excerpt<'a>(
    source: SourceId,
    marks: &[Mark<'a>],
    sources: &'a Sources,
    width: usize,
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let text = sources.text(source);
    let ranges: Vec<_> = marks.iter().map(|(span, _)| shorten(text, *span, width)).collect();
    let first = ranges.iter().map(|range| range.start).min().unwrap_or(0);
    let last = ranges.iter().map(|range| range.end).max().unwrap_or(0);
    let Range { start, end } = lines(text, &(first..last));
    let line = text.get(..start).unwrap_or("").matches('\n').count() + 1;
    let annotations = marks.iter().zip(ranges).map(|((_, label), range)| {
        let kind = if label.is_none() { AnnotationKind::Primary } else { AnnotationKind::Context };
        kind.span(range.start - start..range.end - start).label(*label)
    });
    Snippet::source(text.get(start..end).unwrap_or(""))
        .line_start(line)
        .path(printable(sources.name(source)))
        .annotations(annotations)
}

/// The bytes to mark: within the text, on character boundaries, on one line, not too many.
fn shorten(text: &str, span: Span, width: usize) -> Range<usize> {
    let boundary = |at: u32| {
        let at = (at as usize).min(text.len());
        (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
    };
    let (start, end) = (boundary(span.start), boundary(span.end.max(span.start)));
    let marked = text.get(start..end).unwrap_or("");
    let line = marked.lines().next().unwrap_or("").trim_end();
    // Half the columns, since a character may take two; the dots of a crop take the rest.
    let longest = width.saturating_sub(GUTTER + 6) / 2;
    let len = line.char_indices().nth(longest).map_or(line.len(), |(at, _)| at);
    start..start + len
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::Code;

    /// The problems without or with colour, as text.
    fn as_text(diagnostics: &[Diagnostic], sources: &Sources, color: bool, width: usize) -> String {
        render(diagnostics, sources, color, width).text(color)
    }

    /// A text with the bytes between `«` and `»` marked.
    fn marked(text: &str) -> (Sources, Span) {
        let start = text.find('«').unwrap();
        let end = text.find('»').unwrap() - '«'.len_utf8();
        let mut sources = Sources::new();
        let id = sources.add("test.yaml", text.replace(['«', '»'], ""));
        (sources, Span::new(id, start as u32, end as u32))
    }

    fn one(text: &str, width: usize) -> String {
        let (sources, span) = marked(text);
        let problem = Diagnostic::at(Code::UnitMissing, span, "a tempo needs a unit").hint("`1.20 s`?");
        as_text(&[problem], &sources, false, width)
    }

    #[test]
    fn marks_stand_under_their_characters() {
        // Columns of a terminal: a CJK character or an emoji takes two, a combining accent none, a tab four here.
        let cases = [
            ("a: b\ntempo: «1.2»\n", "2:8", "2 | tempo: 1.2", "  |        ^^^"),
            ("t: äöü «1.2» x\n", "1:8", "1 | t: äöü 1.2 x", "  |        ^^^"),
            ("t: 游泳 «1.2» x\n", "1:7", "1 | t: 游泳 1.2 x", "  |         ^^^"),
            ("t: 🏊🏊 «1.2» x\n", "1:7", "1 | t: 🏊🏊 1.2 x", "  |         ^^^"),
            ("t: e\u{301} «1.2» x\n", "1:7", "1 | t: e\u{301} 1.2 x", "  |      ^^^"),
            ("\tt:\t«1.2» x\n", "1:5", "1 |     t:    1.2 x", "  |           ^^^"),
            ("t: «泳泳» x\n", "1:4", "1 | t: 泳泳 x", "  |    ^^^^"),
            ("tempo:«»\n", "1:7", "1 | tempo:", "  |       ^"),
            ("a: b\r\nt: «1.2»\r\nc: d\r\n", "2:4", "2 | t: 1.2", "  |    ^^^"),
            ("a: «[\n  b,\n]»\n", "1:4", "1 | a: [", "  |    ^"),
        ];
        for (text, place, line, carets) in cases {
            let expected = format!(
                "error[unit-missing]: a tempo needs a unit\n --> test.yaml:{place}\n  |\n{line}\n{carets}\n  |\n  = help: `1.20 s`?\n"
            );
            assert_eq!(one(text, 80), expected, "{text}");
            let (sources, span) = marked(text);
            let (row, column) = sources.place(span);
            assert_eq!(format!("{row}:{column}"), place, "both ways to a place agree");
        }
    }

    #[test]
    fn long_lines_are_cropped() {
        let before = format!("{}«1.2»{}", "title: ".repeat(1000), " abc".repeat(1000));
        let all = format!("a: «{}»", "abcdefg ".repeat(1250));
        for (text, width) in [(&before, 120), (&before, 60), (&before, 500), (&before, 0), (&all, 120), (&all, 60)] {
            let drawn = one(text, width);
            // The first line is the message, which no one cuts.
            let widest = drawn.lines().skip(1).map(|line| line.chars().count()).max().unwrap();
            assert!(widest <= width.clamp(NARROWEST, WIDEST), "{widest} columns of {width}:\n{drawn}");
            let lines: Vec<_> = drawn.lines().collect();
            let carets = lines.iter().position(|line| line.contains('^')).unwrap();
            let at = lines[carets].find('^').unwrap();
            assert!(lines[carets - 1][at..].starts_with(if text == &all { "abcdefg" } else { "1.2 abc" }), "{drawn}");
        }
    }

    #[test]
    fn labels_and_other_texts_are_drawn() {
        let (mut sources, span) = marked("rest: 1 s\n\n\n\n\n\n«rest»: 2 s\n");
        let first = Span::new(span.source, 0, 4);
        let other = sources.add("pack.yaml", "x: y\n");
        let problem = Diagnostic::at(Code::LittleRest, span, "given twice")
            .label(first, "first here")
            .label(Span::new(other, 3, 4), "and there");
        let drawn = as_text(&[problem], &sources, false, 80);
        assert!(drawn.starts_with("caution[little-rest]: given twice\n --> test.yaml:7:1\n"), "{drawn}");
        for part in
            ["1 | rest: 1 s\n  | ---- first here\n", "7 | rest: 2 s\n  | ^^^^\n", "::: pack.yaml:1:4", "- and there"]
        {
            assert!(drawn.contains(part), "{part}:\n{drawn}");
        }
        assert_eq!(
            as_text(&[Diagnostic::whole(Code::Empty, "nothing")], &sources, false, 80),
            "error[empty]: nothing\n"
        );
    }

    #[test]
    fn long_messages_and_hints_keep_to_the_width() {
        let (sources, span) = marked("a: «b»\n");
        let (message, hint) = ("found and allowed ".repeat(12), "a way to mend it ".repeat(12));
        let problem = Diagnostic::at(Code::UnitMissing, span, message.trim()).hint(hint.trim());
        for width in [40, 60, 80, 120] {
            let drawn = as_text(std::slice::from_ref(&problem), &sources, false, width);
            let widest = drawn.lines().map(columns_of).max().unwrap();
            assert!(widest <= width && widest > width - 20, "{widest} columns of {width}:\n{drawn}");
            // Further lines stand under the first, and no word is lost.
            assert!(drawn.contains(&format!("\n{}", " ".repeat("error[unit-missing]: ".len()))), "{drawn}");
            assert_eq!(drawn.matches("allowed").count(), 12, "{drawn}");
            assert_eq!(drawn.matches("mend").count(), 12, "{drawn}");
        }
    }

    #[test]
    fn texts_are_broken_at_blanks_and_cropped() {
        assert_eq!(wrap("one two three four five six", 20), "one two three four\nfive six");
        assert_eq!(wrap(&"x".repeat(45), 20), format!("{0}\n{0}\nxxxxx", "x".repeat(20)));
        // Each of these takes two columns.
        assert_eq!(wrap(&"泳".repeat(12), 20), format!("{}\n泳泳", "泳".repeat(10)));
        assert_eq!(wrap("", 20), "");
        let long = wrap(&"word ".repeat(1000), 70);
        assert!(long.ends_with('…') && long.chars().count() <= LONGEST + 1, "{long}");
        assert!(!wrap("red \u{1b}[31m", 40).contains('\u{1b}'));
    }

    #[test]
    fn marks_far_apart_on_one_line_are_cropped_too() {
        let (sources, span) = marked(&format!("first{}«1.2»{}", " abc".repeat(2000), " abc".repeat(1000)));
        let problem =
            Diagnostic::at(Code::DuplicateKey, span, "twice").label(Span::new(span.source, 0, 5), "first here");
        let drawn = as_text(&[problem], &sources, false, 100);
        let widest = drawn.lines().map(|line| line.chars().count()).max().unwrap();
        assert!(widest <= 100, "{widest} columns");
        assert!(drawn.contains("^^^"), "{drawn}");
    }

    #[test]
    fn colour_and_count() {
        let (sources, span) = marked("«a»: \u{1b}[31m\n");
        let problems =
            vec![Diagnostic::at(Code::BadValue, span, "red \u{1b}[31m").hint("not \u{1b}[31m"); MOST_SHOWN + 5];
        let plain = as_text(&problems, &sources, false, 80);
        assert!(!plain.contains('\u{1b}'), "a text cannot send escapes to the terminal");
        assert_eq!(plain.matches("error[").count(), MOST_SHOWN);
        assert!(plain.ends_with("\n\n5 more\n"));
        assert!(!as_text(&problems[..MOST_SHOWN], &sources, false, 80).contains("more"));
        assert!(as_text(&problems, &sources, true, 80).contains("\u{1b}["));
        assert_eq!(as_text(&[], &sources, false, 80), "");
    }

    #[test]
    fn strange_spans_do_no_harm() {
        let mut sources = Sources::new();
        let id = sources.add("test.yaml", "äb\n");
        for (start, end) in [(1, 2), (0, 1), (3, 1), (900, 901), (4, 4), (0, u32::MAX)] {
            let problem = Diagnostic::at(Code::BadValue, Span::new(id, start, end), "x");
            assert!(as_text(&[problem], &sources, false, 80).contains("test.yaml"), "{start}..{end}");
        }
    }
}
