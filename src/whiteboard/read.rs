//! From a board's text to its entries: headings, swims, rounds, rests at the wall. A swim is read in `swim`,
//! rounds in `rounds`.

use crate::diag::{Code, Diagnostic, SourceId, Sources, Span};
use crate::script::Phase;
use crate::units::time::Seconds;
use crate::whiteboard::board::{Board, BoardEntry, BoardItem, BoardKey};
use crate::whiteboard::context::BoardContext;
use crate::whiteboard::lex::{TokenKind, lex};
use crate::whiteboard::reader::BoardReader;
use crate::whiteboard::words;

/// The shortest rest at the wall.
const SHORTEST_STANDING: Seconds = Seconds::from_secs(1);

/// Understands a board. Entries with a problem are left out; where nothing is left to swim, there is no board. Problems are in
/// the order of the text.
pub fn read(source: SourceId, sources: &Sources, known: &BoardContext) -> (Option<Board>, Vec<Diagnostic>) {
    let (tokens, cut) = lex(source, sources.text(source));
    let mut reader = BoardReader::new(tokens, source, known);
    let entries = reader.entries();
    let mut board = Board { entries, drills: reader.drills, phrases: reader.phrases };
    let mut problems = cut;
    for problem in &problems {
        board.leave_out(problem);
    }
    problems.append(&mut reader.problems);
    if problems.is_empty() && !board.has_swims() {
        let problem = Diagnostic::at(Code::Empty, Span::new(source, 0, 0), "there is no swim on the board");
        problems.push(problem.hint("for example `200 easy; 8x50 on 1:20; 100 easy`"));
    }
    guess_phases(&mut board.entries);
    problems.sort_by_key(|problem| problem.span);
    problems.dedup();
    (board.has_swims().then_some(board), problems)
}

/// On a board without headings an easy first swim warms up, and an easy last one cools down.
fn guess_phases(entries: &mut [BoardEntry]) {
    if entries.len() < 2 || entries.iter().any(|entry| entry.phase.is_some()) {
        return;
    }
    let easy = |entry: &&mut BoardEntry| matches!(&entry.item, BoardItem::Swim(swim) if swim.key("effort").is_some_and(|effort| effort.value == "easy"));
    if let Some(entry) = entries.first_mut().filter(easy) {
        (entry.phase, entry.guessed) = (Some(Phase::WarmUp), true);
    }
    if let Some(entry) = entries.last_mut().filter(easy) {
        (entry.phase, entry.guessed) = (Some(Phase::CoolDown), true);
    }
}

/// What came before on a line of the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum LineSoFar {
    /// Nothing.
    New,
    /// An entry that was read.
    Read,
    /// An entry that is left out.
    Torn,
}

impl BoardReader<'_> {
    fn entries(&mut self) -> Vec<BoardEntry> {
        let (mut entries, mut heading, mut line) = (Vec::new(), None, LineSoFar::New);
        while let Some(next) = self.ahead(0).cloned() {
            let (start, before) = (self.here(), self.problems.len());
            match next {
                TokenKind::Stop { .. } => {
                    (self.at, line) = (self.at + 1, LineSoFar::New);
                    continue;
                }
                TokenKind::Comma | TokenKind::Plus => {
                    self.at += 1;
                    continue;
                }
                TokenKind::Close => {
                    self.fault(start, "this bracket closes none", "remove it, or open one before");
                    self.at += 1;
                    // It may have been meant to close something of the entry before.
                    line = if line == LineSoFar::New { LineSoFar::New } else { LineSoFar::Torn };
                    line = self.add(&mut entries, line, (start, before), None, None);
                    continue;
                }
                _ => {}
            }
            let label = words::label(&self.words());
            if let Some((count, phase)) = label {
                self.at += count;
                let colon = self.ahead(0) == Some(&TokenKind::Colon) || self.ahead(0) == Some(&TokenKind::Dash);
                self.at += usize::from(colon);
                if matches!(self.ahead(0), None | Some(TokenKind::Stop { line: true })) {
                    // On a line of its own it heads all that follows.
                    heading = Some(phase);
                    continue;
                }
            }
            let item = self.entry();
            let phase = label.map(|(_, phase)| phase).or(heading);
            line = self.add(&mut entries, line, (start, before), item, phase);
        }
        entries
    }

    /// Adds what was read since a place, or leaves it out for the problems since then. What stands on one line behind
    /// something that is left out may belong to it, and goes with it.
    fn add(
        &self,
        entries: &mut Vec<BoardEntry>,
        line: LineSoFar,
        (start, before): (Span, usize),
        item: Option<BoardItem>,
        phase: Option<Phase>,
    ) -> LineSoFar {
        let span = self.since(start);
        let found = self.problems.get(before..).unwrap_or_default();
        match (line, item, entries.last_mut()) {
            (LineSoFar::Torn, _, Some(last)) => {
                last.span = last.span.to(span);
                found.iter().for_each(|problem| last.leave_out(problem.clone()));
                return LineSoFar::Torn;
            }
            (_, Some(item), _) if found.is_empty() => {
                let phase = phase.filter(|_| !matches!(item, BoardItem::Rest(_)));
                entries.push(BoardEntry { span, phase, guessed: false, item });
                return LineSoFar::Read;
            }
            _ => {}
        }
        let item = BoardItem::LeftOut(found.to_vec());
        entries.push(BoardEntry { span, phase: None, guessed: false, item });
        LineSoFar::Torn
    }

    fn entry(&mut self) -> Option<BoardItem> {
        if self.standing_begins() {
            return self.standing().map(BoardItem::Rest);
        }
        if self.rounds_begin() {
            return self.rounds();
        }
        self.swim(false)
    }

    /// Whether a rest as an entry of its own comes now: `rest 1:00`, `1:00 rest`.
    fn standing_begins(&self) -> bool {
        let unit = |by| self.is_word(by, words::SECONDS) || self.is_word(by, words::MINUTES);
        match self.ahead(0) {
            Some(TokenKind::Clock(_)) => self.rest_after(1),
            // `60 r`, `60 s rest`, `1 min 30 s rest`
            Some(TokenKind::Number(_)) => {
                self.rest_after(1) || (unit(1) && (self.rest_after(2) || (unit(3) && self.rest_after(4))))
            }
            _ => self.is_word(0, words::REST),
        }
    }

    /// A rest as an entry of its own; nothing where it cannot be read.
    fn standing(&mut self) -> Option<BoardKey> {
        let start = self.here();
        let first = self.is_word(0, words::REST);
        self.take_word(words::REST);
        if self.ahead(0) == Some(&TokenKind::Colon) {
            self.at += 1;
        }
        let time = self.rest_time("a rest");
        if !first {
            self.take_word(words::REST);
        }
        let Some(time) = time else {
            self.skip(false);
            return None;
        };
        if !matches!(self.ahead(0), None | Some(TokenKind::Stop { .. } | TokenKind::Plus | TokenKind::Comma)) {
            let span = self.here();
            self.fault(span, "a rest at the wall stands alone", "put `;` behind it");
            self.skip(false);
            return None;
        }
        if time.seconds < SHORTEST_STANDING {
            self.fault(time.span, "a rest at the wall of no time", "remove it");
            return None;
        }
        let words = format!("rest at the wall for {}", time.text);
        Some(BoardKey { name: "rest", value: time.text, words, span: self.since(start), assumed: false })
    }
}
