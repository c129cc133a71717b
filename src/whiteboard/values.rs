//! Words of a board that have a value: rest, pace, tempo, breathing and the like. Which word means which is in
//! [`manner`](super::manner).

use crate::diag::{Diagnostic, Span};
use crate::script::quantity::{Read, breath, time};
use crate::whiteboard::draft::{Draft, Stage, key};
use crate::whiteboard::lex::TokenKind;
use crate::whiteboard::reader::BoardReader;
use crate::whiteboard::words;

impl BoardReader<'_> {
    /// A rest; its word stands before (taken already) or `after` the time.
    pub(super) fn rest(&mut self, draft: &mut Draft, start: Span, after: bool) {
        let Some(time) = self.rest_time("a rest") else { return };
        if after {
            self.take_word(words::REST);
        }
        if self.take_word(&["per"]) {
            let place = self.here();
            let Some(TokenKind::Number(number)) = self.ahead(0).cloned() else {
                return self.fault(place, "a rest per what distance?", "for example `10 s per 50`");
            };
            self.at += 1;
            let Some(distance) = self.distance(&number, place) else { return };
            self.take_word(words::REST);
            let each = format!("{distance} {}", self.known.water.unit.sign());
            let found = key(
                "rest",
                format!("{} per {each}", time.text),
                format!("rest {} for each {each}", time.text),
                self.since(start),
            );
            return draft.put(self, found);
        }
        if self.take_word(&["between"]) {
            self.take_word(&["rounds", "sets"]);
            return self.between_rounds(draft, start, time.text);
        }
        let span = self.since(start);
        // Where each swim has its own, it can only lie between the rounds.
        if (draft.stage == Stage::BehindRounds { timed: true }) {
            return self.between_rounds(draft, start, time.text);
        }
        if draft.is_rounds() {
            let hint = format!("write `{} between rounds`, or the rest behind each swim in the brackets", time.text);
            return self.fault(span, "a rest behind rounds: between the rounds, or after each swim?", hint);
        }
        let words = format!("rest {}", time.text);
        draft.put(self, key("rest", time.text, words, span));
    }

    /// `between rounds 1:00`
    pub(super) fn between(&mut self, draft: &mut Draft, start: Span) {
        self.at += 1;
        self.take_word(&["rounds"]);
        self.take_word(words::REST);
        if let Some(time) = self.rest_time("a rest between rounds") {
            self.between_rounds(draft, start, time.text);
        }
    }

    fn between_rounds(&mut self, draft: &mut Draft, start: Span, text: String) {
        let span = self.since(start);
        if draft.is_rounds() {
            let words = format!("{text} between rounds");
            draft.put(self, key("between-rounds", text, words, span));
        } else {
            self.fault(span, "a rest between rounds belongs to rounds", "put it behind the closing bracket");
        }
    }

    pub(super) fn pace(&mut self, draft: &mut Draft, start: Span) {
        let Some(from) = self.time("a pace", false) else { return };
        let to = if self.ahead(0) == Some(&TokenKind::Dash) || self.is_word(0, &["to"]) {
            self.at += 1;
            let Some(to) = self.time("a pace", false) else { return };
            Some(to)
        } else {
            None
        };
        if self.ahead(0) == Some(&TokenKind::Slash) && self.whole_at(1) == Some(100) {
            self.at += 2;
        }
        for time in [Some(&from), to.as_ref()].into_iter().flatten() {
            self.accepted(time::pace(&time.text), time.span);
        }
        let span = self.since(start);
        let per = format!("per 100 {}", self.known.water.unit.sign());
        draft.put(
            self,
            match to {
                Some(to) => key(
                    "pace",
                    format!("{{ from: {}, to: {} }}", from.text, to.text),
                    format!("pace {} to {} {per}", from.text, to.text),
                    span,
                ),
                None => key("pace", from.text.clone(), format!("pace {} {per}", from.text), span),
            },
        );
    }

    /// A tempo or a range; the number comes next.
    pub(super) fn tempo(&mut self, draft: &mut Draft, start: Span) {
        let first_at = self.here();
        let Some(TokenKind::Number(first)) = self.ahead(0).cloned() else {
            return self.fault(first_at, "a tempo is a number", "`1.30` seconds a stroke, or `52/min`");
        };
        let rate_word = self.word_before() == Some("rate");
        self.at += 1;
        self.take_word(words::SECONDS);
        let mut second = None;
        if (self.ahead(0) == Some(&TokenKind::Dash) || self.is_word(0, &["to"]))
            && let Some(TokenKind::Number(number)) = self.ahead(1).cloned()
        {
            self.at += 2;
            self.take_word(words::SECONDS);
            second = Some(number);
        }
        let per_minute = self.per_minute() || rate_word;
        let span = self.since(start);
        let unit = if per_minute { "/min" } else { "s" };
        for number in [Some(&first), second.as_ref()].into_iter().flatten() {
            self.accepted(time::tempo(&format!("{number} {unit}")), span);
        }
        let said = if per_minute { "strokes a minute" } else { "s a stroke" };
        draft.put(
            self,
            match second {
                Some(second) => key(
                    "tempo",
                    format!("{{ from: {first} {unit}, to: {second} {unit} }}"),
                    format!("tempo {first} to {second} {said}"),
                    span,
                ),
                None => key("tempo", format!("{first} {unit}"), format!("tempo {first} {said}"), span),
            },
        );
    }

    /// `/min`, `spm`, `strokes a minute`, `per min`
    fn per_minute(&mut self) -> bool {
        if self.take_word(&["spm"]) {
            return true;
        }
        let strokes = usize::from(self.is_word(0, &["strokes"]));
        let per = self.ahead(strokes) == Some(&TokenKind::Slash) || self.is_word(strokes, &["per", "a"]);
        let found = per && self.is_word(strokes + 1, words::MINUTES);
        self.at += if found { strokes + 2 } else { 0 };
        found
    }

    /// A value that the language's own reader refuses is reported at its place.
    fn accepted<T>(&mut self, read: Read<T>, span: Span) {
        if let Err(fault) = read {
            let problem = Diagnostic::at(fault.code, span, fault.message);
            self.problems.push(match fault.hint {
                Some(hint) => problem.hint(hint),
                None => problem,
            });
        }
    }

    /// `breathe 3`, `breathe every 3 right`, `b3`
    pub(super) fn breathe(&mut self, draft: &mut Draft, start: Span) {
        self.take_word(&["every"]);
        let Some(number) = self.whole_at(0) else {
            let span = self.here();
            return self.fault(span, "breathe every how many strokes?", "for example `breathe 3`");
        };
        self.at += 1;
        if self.ahead(0) == Some(&TokenKind::Slash) && self.whole_at(1).is_some() {
            let span = self.since(start);
            self.skip(draft.bracket);
            return self.fault(
                span,
                "a swim has one way to breathe",
                "write each as a swim: `200 breathe 3; 200 breathe 2`",
            );
        }
        self.take_word(&["strokes", "stroke"]);
        let side = match self.word_at(0) {
            Some("right") => " right",
            Some("left") => " left",
            _ => "",
        };
        self.at += usize::from(!side.is_empty());
        let value = format!("every {number}{side}");
        let span = self.since(start);
        self.accepted(breath::breathe(&value), span);
        draft.put(self, key("breathe", value.clone(), format!("breathe {value}"), span));
    }

    /// `sight every 8`, `call every 100`
    pub(super) fn every(&mut self, draft: &mut Draft, start: Span) {
        let (name, words) =
            if self.is_word(0, &["sight"]) { ("sight", "look ahead") } else { ("call", "count called") };
        self.at += 1;
        self.take_word(&["every"]);
        let Some(number) = self.whole_at(0) else {
            let span = self.here();
            return self.fault(
                span,
                format!("{name} every how many strokes?"),
                format!("for example `{name} every 20`"),
            );
        };
        self.at += 1;
        self.take_word(&["strokes", "stroke"]);
        let value = format!("every {number} strokes");
        let words = format!("{words} {value}");
        draft.put(self, key(name, value, words, self.since(start)));
    }

    pub(super) fn at_most(&mut self, draft: &mut Draft, start: Span) {
        let Some(number) = self.whole_at(0) else {
            let span = self.here();
            return self.fault(span, "at most how many strokes in a length?", "for example `at most 19 strokes`");
        };
        self.at += 1;
        self.take_word(&["strokes"]);
        let words = format!("at most {number} strokes in a length");
        draft.put(self, key("strokes", format!("{{ at-most: {number} }}"), words, self.since(start)));
    }

    /// `second half 2 s faster`
    pub(super) fn second_half(&mut self, draft: &mut Draft, start: Span) {
        let Some(time) = self.time("the difference of the second half", true) else { return };
        let way = match self.word_at(0) {
            Some("slower") => "slower",
            Some("faster") => "faster",
            _ => {
                let span = self.here();
                return self.fault(
                    span,
                    "`faster` or `slower`?",
                    format!("for example `second half {} faster`", time.text),
                );
            }
        };
        self.at += 1;
        let value = format!("{} {way}", time.text);
        draft.put(self, key("second-half", value.clone(), format!("second half {value}"), self.since(start)));
    }
}
