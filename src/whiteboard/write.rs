//! A board as a cue script with comments, and the way back from a place in the script to the board's words.

use crate::diag::shown::{is_harmful, printable};
use crate::diag::{Diagnostic, SourceId, Sources, Span};
use crate::script::Phase;
use crate::whiteboard::board::{Board, BoardEntry, BoardItem, BoardKey, BoardSwim, Reach, sorted};
use crate::whiteboard::context::BoardContext;
use crate::whiteboard::explain::{far, phase_word, quoted};
use std::ops::Range;

/// The columns of a comment on the board's words.
const WIDEST: usize = 100;

/// What the script says of itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Heading<'t> {
    /// `title`
    pub title: &'t str,
    /// `pack`
    pub pack: &'t str,
}

/// A script, and where its bytes come from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoardScript {
    /// The script.
    pub text: String,
    marks: Vec<(Range<u32>, Span)>,
}

impl BoardScript {
    /// A problem of the script, marked on the board. Places in other texts than the script's stay; a place that no words
    /// of the board led to is dropped.
    #[must_use]
    pub fn back(&self, mut problem: Diagnostic, script: SourceId) -> Diagnostic {
        let place = |span: Span| if span.source == script { self.origin(span) } else { Some(span) };
        problem.span = problem.span.and_then(place);
        problem.labels = problem.labels.into_iter().filter_map(|(span, text)| Some((place(span)?, text))).collect();
        problem
    }

    /// The script with problems as comments above the lines that they are in.
    pub fn marked(&self, problems: &[Diagnostic], script: SourceId) -> String {
        let mut text = self.text.clone();
        let mut places: Vec<(usize, &Diagnostic)> = problems
            .iter()
            .filter_map(|problem| Some((problem.span.filter(|span| span.source == script)?.start as usize, problem)))
            .collect();
        places.sort_by_key(|(at, _)| *at);
        // From the end, so that the places before it stay.
        for (at, problem) in places.into_iter().rev() {
            let line = text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
            let indent: String = text.get(line..).unwrap_or("").chars().take_while(|c| *c == ' ').collect();
            text.insert_str(line, &format!("{indent}# {}\n", printable(&in_a_line(problem))));
        }
        text
    }

    /// The board's words for a place, by the narrowest mark around it.
    fn origin(&self, span: Span) -> Option<Span> {
        let around = |range: &Range<u32>| range.start <= span.start && span.start < range.end;
        let marks = self.marks.iter().filter(|(range, _)| around(range));
        marks.min_by_key(|(range, _)| range.end - range.start).map(|(_, span)| *span)
    }
}

/// A problem with its way out.
fn in_a_line(problem: &Diagnostic) -> String {
    let hint = problem.hint.as_ref().map_or_else(String::new, |hint| format!("; {hint}"));
    format!("{}{hint}", problem.message)
}

/// Why an entry is left out.
fn left_out(problem: &Diagnostic) -> String {
    format!("Left out: {}", in_a_line(problem))
}

/// Makes a script of a board.
pub fn write(board: &Board, known: &BoardContext, heading: Heading<'_>, sources: &Sources) -> BoardScript {
    let mut writer = Writer { text: String::new(), marks: Vec::new(), known };
    writer.line(
        0,
        "# Written by `lengthwise new` from a whiteboard. The board's words stand above each set; what was not on",
    );
    writer.line(0, "# the board is marked as assumed: change what does not fit, then run `lengthwise check`.");
    writer.line(0, "lengthwise: 1");
    writer.line(0, &format!("title: {}", double_quoted(heading.title)));
    writer.line(0, &format!("pool: {}", known.water.text));
    writer.line(0, &format!("pack: {}", heading.pack));
    writer.line(0, "practice:");
    for entry in &board.entries {
        writer.entry(entry, sources);
    }
    BoardScript { text: writer.text, marks: writer.marks }
}

/// A text that YAML reads as it is, whatever is in it.
fn double_quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            _ if is_harmful(c) && u32::from(c) > 0xffff => quoted.push_str(&format!("\\U{:08x}", u32::from(c))),
            _ if is_harmful(c) => quoted.push_str(&format!("\\u{:04x}", u32::from(c))),
            _ => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

struct Writer<'k> {
    text: String,
    marks: Vec<(Range<u32>, Span)>,
    known: &'k BoardContext,
}

impl Writer<'_> {
    #[expect(clippy::expect_used, reason = "a board of at most 1 MiB makes a script of a few more")]
    fn here(&self) -> u32 {
        u32::try_from(self.text.len()).expect("a text that fits spans")
    }

    fn line(&mut self, indent: usize, text: &str) {
        self.text.push_str(&" ".repeat(indent));
        self.text.push_str(text);
        self.text.push('\n');
    }

    /// A line that some words of the board led to.
    fn marked(&mut self, indent: usize, text: &str, span: Span) {
        let start = self.here();
        self.line(indent, text);
        self.marks.push((start..self.here(), span));
    }

    fn key(&mut self, indent: usize, key: &BoardKey) {
        let value = if key.name == "gear" { format!("[{}]", key.value) } else { key.value.clone() };
        let note = if key.assumed { "   # assumed" } else { "" };
        self.marked(indent, &format!("{}: {value}{note}", key.name), key.span);
    }

    fn entry(&mut self, entry: &BoardEntry, sources: &Sources) {
        self.text.push('\n');
        self.comment(&quoted(entry.span, sources));
        let start = self.here();
        match &entry.item {
            BoardItem::LeftOut(problems) => problems.iter().for_each(|problem| self.comment(&left_out(problem))),
            BoardItem::Rest(rest) => self.marked(2, &format!("- rest: {}", rest.value), rest.span),
            BoardItem::Swim(swim) => {
                self.line(2, &format!("- set: {}", self.title(entry, swim)));
                self.phase(entry);
                self.swim(4, swim);
            }
            BoardItem::Rounds { count, between, shared, swims, whole } => {
                let title = match whole {
                    Some((repeats, reach)) => far(*repeats, reach, &self.known.water),
                    None if *count > 1 => format!("{count} rounds"),
                    None => "One after another".to_owned(),
                };
                self.line(2, &format!("- set: {title}"));
                self.phase(entry);
                self.marked(4, &format!("rounds: {count}"), entry.span);
                for key in between.iter().chain(sorted(shared)) {
                    self.key(4, key);
                }
                self.line(4, "do:");
                for swim in swims {
                    let start = self.here();
                    self.swim(8, swim);
                    // The first line of an entry carries its dash.
                    self.text.replace_range(start as usize + 6..start as usize + 7, "-");
                }
            }
        }
        self.marks.push((start..self.here(), entry.span));
    }

    fn comment(&mut self, text: &str) {
        for line in wrapped(&printable(text)) {
            self.line(2, &format!("# {line}"));
        }
    }

    fn phase(&mut self, entry: &BoardEntry) {
        if let Some(phase) = entry.phase {
            let note = match (entry.guessed, phase) {
                (false, _) => "",
                (true, Phase::WarmUp) => "   # assumed: first and easy",
                (true, _) => "   # assumed: last and easy",
            };
            self.marked(4, &format!("phase: {}{note}", phase_word(phase)), entry.span);
        }
    }

    fn title(&self, entry: &BoardEntry, swim: &BoardSwim) -> String {
        match (entry.phase, swim.key("effort").map(|effort| effort.value.as_str())) {
            (Some(Phase::WarmUp), Some("easy")) => return "Easy start".into(),
            (Some(Phase::CoolDown), Some("easy")) => return "Easy end".into(),
            _ => {}
        }
        let far = far(swim.repeats, &swim.reach, &self.known.water);
        let what = ["drill", "part", "stroke", "effort"].into_iter().find_map(|name| swim.key(name));
        what.map_or_else(|| far.clone(), |what| format!("{far} {}", what.words))
    }

    fn swim(&mut self, indent: usize, swim: &BoardSwim) {
        let start = self.here();
        let far = match &swim.reach {
            Reach::Distances(each) if each.len() > 1 => {
                let sign = self.known.water.unit.sign();
                let each: Vec<_> = each.iter().map(|count| format!("{count} {sign}")).collect();
                format!("[{}]", each.join(", "))
            }
            _ => far(swim.repeats, &swim.reach, &self.known.water),
        };
        self.marked(indent, &format!("swim: {far}"), swim.span);
        for key in sorted(&swim.keys) {
            self.key(indent, key);
        }
        if !swim.lengths.is_empty() {
            let each: Vec<_> = swim.lengths.iter().map(|keys| length(keys)).collect();
            let note = if swim.each_length { "   # assumed: one length each" } else { "" };
            if each.len() <= 4 {
                self.marked(indent, &format!("lengths: [{}]{note}", each.join(", ")), swim.span);
            } else {
                self.marked(indent, &format!("lengths:{note}"), swim.span);
                each.iter().for_each(|each| self.line(indent + 2, &format!("- {each}")));
            }
        }
        self.marks.push((start..self.here(), swim.span));
    }
}

fn length(keys: &[BoardKey]) -> String {
    let keys: Vec<_> = sorted(keys).into_iter().map(|key| format!("{}: {}", key.name, key.value)).collect();
    format!("{{ {} }}", keys.join(", "))
}

/// A text in lines short enough for a comment.
fn wrapped(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if line.len() + word.len() < WIDEST => *line = format!("{line} {word}"),
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
