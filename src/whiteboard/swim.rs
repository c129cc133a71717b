//! One swim of a board: how many, how far, and its rest where the board gives none.

use crate::diag::{Code, Diagnostic, Span};
use crate::whiteboard::board::{BoardItem, BoardSwim, Reach};
use crate::whiteboard::by_repeat::Differing;
use crate::whiteboard::draft::{Draft, Stage, TIMES, assumed_rest};
use crate::whiteboard::lex::TokenKind;
use crate::whiteboard::reader::BoardReader;
use crate::whiteboard::words;

/// The most repeats of a swim.
const MOST_REPEATS: u32 = 1_000_000;
/// The most distances of a list.
const MOST_LISTED: usize = 64;

impl BoardReader<'_> {
    /// A swim, or the rounds that it comes to. Inside rounds it needs a rest even if it is swum once.
    pub(super) fn swim(&mut self, in_rounds: bool) -> Option<BoardItem> {
        let (start, first, before) = (self.here(), self.at, self.problems.len());
        let mut draft = Draft::new(Stage::BeforeDistance);
        // "kick 4x50" as well as "4x50 kick".
        while self.word_at(0).is_some() {
            self.manner_word(&mut draft);
            while matches!(self.ahead(0), Some(TokenKind::Colon | TokenKind::Comma | TokenKind::Dash)) {
                self.at += 1;
            }
        }
        if self.problems.len() > before && matches!(self.ahead(0), None | Some(TokenKind::Stop { .. })) {
            // What was asked back took the rest of the swim with it.
            return None;
        }
        let Some((repeats, reach)) = self.reach() else {
            // What is not a swim has been reported; going on behind it, at least by one token, finds the next problem.
            self.at = self.at.max(first + 1);
            self.skip(false);
            return None;
        };
        let count = if let Reach::Distances(each) = &reach { repeats.max(each.len() as u32) } else { repeats };
        draft.stage = Stage::BehindDistance { repeats: count };
        self.manner(&mut draft);
        let span = self.since(start);
        let groups = std::mem::take(&mut draft.groups);
        let (mut keys, lengths, each_length) = draft.into_swim(self, (repeats, &reach), span);
        if !groups.is_empty() {
            let differing = Differing { keys, lengths, each_length, groups };
            return self.by_repeat(differing, (repeats, &reach), span);
        }
        if !keys.iter().any(|key| TIMES.contains(&key.name)) && (count > 1 || in_rounds) {
            keys.push(assumed_rest(&reach, span));
        }
        Some(BoardItem::Swim(BoardSwim { span, repeats, reach, keys, lengths, each_length }))
    }

    /// `8x50`, `200 m`, `50-100-50`, `10 min`.
    fn reach(&mut self) -> Option<(u32, Reach)> {
        let start = self.here();
        let Some(TokenKind::Number(first)) = self.ahead(0).cloned() else {
            match self.ahead(0) {
                Some(TokenKind::At) => self.at_sign(),
                Some(TokenKind::Clock(text)) => {
                    let text = text.clone();
                    let hint = "a rest is `rest 1:00`, a swim by time `10 min`";
                    self.fault(start, format!("a swim begins with a distance; found `{text}`"), hint);
                }
                _ => self.fault(start, "a swim needs a distance", "for example `200 easy` or `4x50 kick`"),
            }
            return None;
        };
        self.at += 1;
        if !self.is_word(0, &["x"]) {
            return self.far(&first, start).map(|reach| (1, reach));
        }
        self.at += 1;
        let repeats = first.parse().ok().filter(|count| (1..=MOST_REPEATS).contains(count));
        if repeats.is_none() {
            let message = format!("{first} repeats; 1 to {MOST_REPEATS} are allowed");
            self.problems.push(Diagnostic::at(Code::OutOfRange, start, message));
        }
        let place = self.here();
        let Some(TokenKind::Number(far)) = self.ahead(0).cloned() else {
            self.fault(place, "how far each is missing", "for example `4x50`");
            return None;
        };
        self.at += 1;
        if self.is_word(0, &["x"]) {
            self.fault(self.since(start), "how many times is said twice", "rounds are written `2x(4x50)`");
            return None;
        }
        let reach = self.far(&far, place)?;
        if matches!(&reach, Reach::Distances(each) if each.len() > 1) {
            self.fault(
                self.since(start),
                "a list of distances cannot be repeated",
                "rounds are written `2x(50-100-50)`",
            );
            return None;
        }
        Some((repeats?, reach))
    }

    /// A distance, a list of them, or minutes; the first number is taken.
    fn far(&mut self, first: &str, place: Span) -> Option<Reach> {
        if self.take_word(words::MINUTES) {
            let minutes = first.parse().ok().filter(|minutes| (1..=600).contains(minutes));
            if minutes.is_none() {
                let message = format!("a swim of {first} min; 1 to 600 whole minutes are allowed");
                self.problems.push(Diagnostic::at(Code::OutOfRange, place, message));
            }
            return minutes.map(Reach::Minutes);
        }
        let mut each = vec![self.distance(first, place)?];
        let listed = self.list_goes_on(0);
        while let Some(joint) = self.joint(0).filter(|_| listed) {
            self.at += usize::from(joint != Joint::Blank);
            let place = self.here();
            let Some(TokenKind::Number(next)) = self.ahead(0).cloned() else { break };
            self.at += 1;
            each.push(self.distance(&next, place)?);
        }
        if let (Some(TokenKind::Number(last)), Some(TokenKind::Number(step)), [from]) =
            (self.ahead(2).cloned(), self.ahead(4).cloned(), each.as_slice())
            && self.is_word(0, &["up"])
            && self.is_word(1, &["to"])
            && self.is_word(3, &["by"])
        {
            let (from, place) = (*from, self.tokens_span(2));
            self.at += 5;
            let (last, step) = (self.distance(&last, place)?, self.distance(&step, place)?);
            let steps = last.saturating_sub(from) / step;
            if from + steps * step != last || steps == 0 {
                self.fault(place, "these steps do not come to the last distance", "for example `100 up to 400 by 100`");
                return None;
            }
            each.extend((1..=steps).map(|index| from + index * step));
        }
        if each.len() > MOST_LISTED {
            self.fault(
                place,
                format!("a list of {} distances; at most {MOST_LISTED} are allowed", each.len()),
                "split it",
            );
            return None;
        }
        Some(Reach::Distances(each))
    }
}

/// What joins the distances of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Joint {
    Dash,
    Blank,
    Slash,
    Comma,
}

impl BoardReader<'_> {
    /// What joins the distance before so many tokens ahead to another one behind it; nothing where no list goes on there.
    fn joint(&self, by: usize) -> Option<Joint> {
        let joint = match self.ahead(by)? {
            TokenKind::Dash => Joint::Dash,
            TokenKind::Slash => Joint::Slash,
            TokenKind::Comma => Joint::Comma,
            TokenKind::Number(_) => Joint::Blank,
            _ => return None,
        };
        let next = by + usize::from(joint != Joint::Blank);
        (self.swim_begins(next) && !self.is_word(next + 1, &["x"])).then_some(joint)
    }

    /// Whether a list of distances begins so many tokens ahead. Dashes make one of two, other signs of three.
    pub(super) fn is_list(&self, by: usize) -> bool {
        self.whole_at(by).is_some() && self.list_goes_on(by + 1)
    }

    fn list_goes_on(&self, by: usize) -> bool {
        self.joint(by).is_some_and(|joint| {
            let next = by + usize::from(joint != Joint::Blank);
            joint == Joint::Dash || self.joint(next + 1) == Some(joint)
        })
    }
}
