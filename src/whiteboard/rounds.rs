//! Rounds of a board: `3x(50 kick + 50 swim)`, with what stands behind the bracket for all of them.

use crate::diag::{Code, Diagnostic, Span};
use crate::whiteboard::board::{BoardItem, BoardSwim};
use crate::whiteboard::draft::{Draft, Stage, TIMES};
use crate::whiteboard::lex::TokenKind;
use crate::whiteboard::reader::BoardReader;

/// The most rounds.
const MOST_ROUNDS: u32 = 100;

impl BoardReader<'_> {
    /// Goes on behind the next pair of brackets.
    fn skip_brackets(&mut self) {
        let mut depth = 0_usize;
        while let Some(next) = self.ahead(0) {
            match next {
                TokenKind::Open => depth += 1,
                TokenKind::Close => depth = depth.saturating_sub(1),
                _ => {}
            }
            let closed = *next == TokenKind::Close && depth == 0;
            self.at += 1;
            if closed {
                break;
            }
        }
    }

    /// `3x(`, `3 rounds of (`, or a bracket.
    pub(super) fn rounds_begin(&self) -> bool {
        let by = match (self.whole_at(0), self.word_at(1)) {
            (Some(_), Some("x")) => 2,
            (Some(_), Some("rounds" | "round")) => return true,
            _ => 0,
        };
        self.ahead(by) == Some(&TokenKind::Open)
    }

    pub(super) fn rounds(&mut self) -> Option<BoardItem> {
        let start = self.here();
        let mut count = self.whole_at(0).map(|count| (count, start));
        if count.is_some() {
            self.at += 2;
            self.take_word(&["of"]);
            if self.ahead(0) == Some(&TokenKind::Colon) {
                self.at += 1;
            }
            if self.ahead(0) != Some(&TokenKind::Open) {
                let span = self.since(start);
                self.fault(
                    span,
                    "which swims belong to the rounds is not marked",
                    "put them into brackets: `3x(50 kick + 50 swim)`",
                );
                self.skip(false);
                return None;
            }
        }
        let (open, before) = (self.here(), self.problems.len());
        self.at += 1;
        let swims = self.round_swims(open)?;
        if self.is_word(0, &["x"]) {
            let place = self.here();
            self.at += 1;
            match (self.whole_at(0), count) {
                (Some(times), None) => {
                    count = Some((times, place.to(self.here())));
                    self.at += 1;
                }
                _ => {
                    self.fault(place, "how many rounds is said once, as a number", "`3x(...)` or `(...) x 3`");
                    self.skip(false);
                    return None;
                }
            }
        }
        let (count, place) = count.unwrap_or((1, open));
        if !(1..=MOST_ROUNDS).contains(&count) {
            let message = format!("{count} rounds; 1 to {MOST_ROUNDS} are allowed");
            self.problems.push(Diagnostic::at(Code::OutOfRange, place, message));
        }
        let timed = |swim: &BoardSwim| swim.keys.iter().any(|key| TIMES.contains(&key.name) && !key.assumed);
        let mut draft = Draft::new(Stage::BehindRounds { timed: !swims.is_empty() && swims.iter().all(timed) });
        self.manner(&mut draft);
        let (shared, between) = draft.into_shared(self, count);
        if swims.is_empty() {
            if self.problems.len() > before {
                return None;
            }
            self.fault(open, "a round with nothing to swim", "`3x(50 kick + 50 swim)`");
            return None;
        }
        Some(BoardItem::Rounds { count, between, shared, swims, whole: None })
    }

    /// The swims up to the bracket that closes.
    fn round_swims(&mut self, open: Span) -> Option<Vec<BoardSwim>> {
        let mut swims = Vec::new();
        loop {
            match self.ahead(0) {
                None => {
                    self.fault(open, "this bracket is never closed", "put `)` behind the last swim of the round");
                    return None;
                }
                Some(TokenKind::Close) => {
                    self.at += 1;
                    return Some(swims);
                }
                Some(TokenKind::Stop { .. } | TokenKind::Comma | TokenKind::Plus) => self.at += 1,
                _ if self.rounds_begin() => {
                    let span = self.here();
                    self.fault(span, "rounds within rounds", "write the inner ones out, or as a set of their own");
                    self.skip_brackets();
                }
                _ => match self.swim(true) {
                    Some(BoardItem::Swim(swim)) => swims.push(swim),
                    Some(BoardItem::Rounds { count, shared, swims: turns, .. }) => {
                        swims.extend((0..count).flat_map(|_| turns.iter().map(|swim| swim.with(&shared))));
                    }
                    Some(BoardItem::Rest(_) | BoardItem::LeftOut(_)) | None => {}
                },
            }
        }
    }
}
