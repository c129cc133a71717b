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

/// Understands a board. With any problem there is no board; problems are in the order of the text.
pub fn read(source: SourceId, sources: &Sources, known: &BoardContext) -> (Option<Board>, Vec<Diagnostic>) {
    let (tokens, problems) = lex(source, sources.text(source));
    let mut reader = BoardReader::new(tokens, source, known, problems);
    let mut entries = reader.entries();
    if reader.problems.is_empty() && !entries.iter().any(|entry| !matches!(entry.item, BoardItem::Rest(_))) {
        let problem = Diagnostic::at(Code::Empty, Span::new(source, 0, 0), "there is no swim on the board");
        reader.problems.push(problem.hint("for example `200 easy; 8x50 on 1:20; 100 easy`"));
    }
    guess_phases(&mut entries);
    reader.problems.sort_by_key(|problem| problem.span);
    reader.problems.dedup();
    let board = Board { entries, drills: reader.drills, phrases: reader.phrases };
    (reader.problems.is_empty().then_some(board), reader.problems)
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

impl BoardReader<'_> {
    fn entries(&mut self) -> Vec<BoardEntry> {
        let (mut entries, mut heading) = (Vec::new(), None);
        while let Some(next) = self.ahead(0).cloned() {
            let start = self.here();
            match next {
                TokenKind::Stop { .. } | TokenKind::Comma | TokenKind::Plus => {
                    self.at += 1;
                    continue;
                }
                TokenKind::Close => {
                    self.fault(start, "this bracket closes none", "remove it, or open one before");
                    self.at += 1;
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
            let Some(item) = self.entry() else { continue };
            let phase =
                if matches!(item, BoardItem::Rest(_)) { None } else { label.map(|(_, phase)| phase).or(heading) };
            entries.push(BoardEntry { span: self.since(start), phase, guessed: false, item });
        }
        entries
    }

    fn entry(&mut self) -> Option<BoardItem> {
        if self.standing_begins() {
            return self.standing().map(BoardItem::Rest);
        }
        if self.rounds_begin() {
            return self.rounds();
        }
        self.swim(false).map(BoardItem::Swim)
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
