//! Which repeats of a swim some words are for: `odds`, `1-4`, `#3`, `every 4th`, `last 2`, `others`. What the words come to
//! is in [`by_repeat`](super::by_repeat).

use crate::diag::Span;
use crate::whiteboard::draft::{Chosen, Draft, Stage};
use crate::whiteboard::lex::TokenKind;
use crate::whiteboard::reader::BoardReader;
use crate::whiteboard::{names, words};

/// The letters behind a number that make it an ordinal.
const ORDINAL: [&str; 4] = ["st", "nd", "rd", "th"];
/// Ordinals in words, from the first.
const NAMED: [&str; 8] = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];
/// Words for the number of a repeat.
const NUMBER: [&str; 5] = ["number", "numbers", "no", "nos", "nr"];
/// Words that may follow and say that repeats are meant.
const REPEATS: [&str; 7] = ["one", "ones", "number", "numbers", "repeat", "repeats", "reps"];
/// Words that say that lengths are meant, not repeats.
const LENGTHS: [&str; 6] = ["length", "lengths", "len", "lap", "laps", "m"];

/// What stands ahead where repeats may be chosen.
enum RepeatChoice {
    /// So many tokens choose repeats.
    Of(Chosen, usize),
    /// So many tokens look like it, but mean something else, or one of two things: why, and what to write.
    Unclear(usize, &'static str, &'static str),
}

const BY_LENGTH: &str = "goes by length, not by repeat";
const WRITE_LENGTHS: &str = "write what each length is: `4x100 (75 easy / 25 fast)`";

impl BoardReader<'_> {
    /// Whether words for some of the repeats begin so many tokens ahead.
    pub(super) fn chooses(&self, draft: &Draft, by: usize) -> bool {
        self.choice(draft, by).is_some()
    }

    /// Takes the words for some of the repeats, if they come. Where they are unclear, the rest of the swim is left out.
    pub(super) fn take_choice(&mut self, draft: &mut Draft) -> bool {
        let start = self.here();
        match self.choice(draft, 0) {
            None => false,
            Some(RepeatChoice::Of(chosen, tokens)) => {
                self.at += tokens;
                self.take_word(&REPEATS);
                draft.choose(chosen, self.since(start));
                while let Some(Chosen::From(first, last)) = self.another(chosen) {
                    draft.choose(Chosen::From(first, last), self.since(start));
                }
                if self.ahead(0) == Some(&TokenKind::Dash) && self.whole_at(1).is_some() {
                    let span = start.to(self.tokens_span(1));
                    draft.groups.pop();
                    self.unclear(draft, span, "these repeats have two readings", "write them as `#2, 4, 6` or `2-6`");
                    return true;
                }
                if self.ahead(0) == Some(&TokenKind::Colon) {
                    self.at += 1;
                }
                true
            }
            Some(RepeatChoice::Unclear(tokens, why, hint)) => {
                let span = start.to(self.tokens_span(tokens - 1));
                self.unclear(draft, span, why, hint);
                true
            }
        }
    }

    /// `, 3` or `and 7-9` behind numbers of repeats: more of them.
    fn another(&mut self, before: Chosen) -> Option<Chosen> {
        let joined = self.ahead(0) == Some(&TokenKind::Comma) || self.is_word(0, &["and"]);
        let first = self.whole_at(1).filter(|first| *first > 0 && self.is_short(*first))?;
        let named = matches!(self.ahead(2), Some(TokenKind::Comma | TokenKind::Dash | TokenKind::Colon))
            || self.is_word(2, &["and"])
            || self.is_manner(2);
        if !(joined && named && matches!(before, Chosen::From(..))) {
            return None;
        }
        let RepeatChoice::Of(chosen, tokens) = self.numbered(first, 1, 1) else { return None };
        self.at += tokens;
        Some(chosen)
    }

    /// Whether a word so many tokens ahead says how to swim.
    fn is_manner(&self, by: usize) -> bool {
        let words: Vec<_> = (by..).map_while(|by| self.word_at(by)).take(8).collect();
        words::manner(&words).is_some()
            || words.first().is_some_and(|word| ["drill", "focus"].contains(word))
            || names::find(&words, &self.known.drills).is_some()
    }

    fn unclear(&mut self, draft: &Draft, span: Span, why: &str, hint: &str) {
        self.skip(draft.bracket);
        self.fault(span, why, hint);
    }

    fn choice(&self, draft: &Draft, by: usize) -> Option<RepeatChoice> {
        let Stage::BehindDistance { repeats: 2.. } = draft.stage else { return None };
        let numbered = self.ahead(by) == Some(&TokenKind::Strange('#')) || self.is_word(by, &NUMBER);
        if numbered && let Some(first) = self.whole_at(by + 1) {
            return Some(self.numbered(first, by + 1, 1));
        }
        match self.ahead(by)? {
            TokenKind::Number(_) => self.counted_choice(by),
            TokenKind::Word(word) => match word.as_str() {
                "odds" | "odd" => Some(RepeatChoice::Of(Chosen::Odd, 1)),
                "evens" | "even" => Some(RepeatChoice::Of(Chosen::Even, 1)),
                "others" => Some(RepeatChoice::Of(Chosen::Others, 1)),
                "every" => Some(self.every_choice(by)),
                "first" | "last" => self.end_choice(word == "first", by),
                named => {
                    let number = NAMED.iter().position(|name| *name == named)?;
                    // `second half` is no repeat.
                    (!self.is_word(by + 1, &["half"])).then(|| self.numbered(number as u32 + 1, by, 0))
                }
            },
            _ => None,
        }
    }

    /// `1-4`, `3rd`, `3 easy`; a number that could be a distance is none.
    fn counted_choice(&self, by: usize) -> Option<RepeatChoice> {
        let first = self.whole_at(by)?;
        if self.is_word(by + 1, &ORDINAL) {
            return if self.by_length(by + 2) {
                Some(RepeatChoice::Unclear(2, BY_LENGTH, WRITE_LENGTHS))
            } else if first == 1 && self.whole_at(by + 2).is_some_and(|count| self.is_short(count)) {
                self.whole_at(by + 2).map(|count| RepeatChoice::Of(Chosen::From(1, count), 3))
            } else {
                Some(RepeatChoice::Of(Chosen::From(first, first), 2))
            };
        }
        if first > 0 && self.is_short(first) && self.is_manner(by + 1) {
            return Some(RepeatChoice::Of(Chosen::Count(first), 1));
        }
        let last = self.whole_at(by + 2).filter(|_| self.ahead(by + 1) == Some(&TokenKind::Dash))?;
        // `40-45/min` is a tempo.
        let unit = [words::SECONDS, words::MINUTES, &["spm", "strokes", "per"]].concat();
        if self.is_word(by + 3, &unit)
            || (self.ahead(by + 3) == Some(&TokenKind::Slash) && self.is_word(by + 4, words::MINUTES))
        {
            return None;
        }
        (first != last && self.is_short(first) && self.is_short(last)).then(|| self.numbered(first, by, 0))
    }

    /// A number, perhaps with another one behind a dash; `before` tokens stand before it.
    fn numbered(&self, first: u32, at: usize, before: usize) -> RepeatChoice {
        let last = self.whole_at(at + 2).filter(|_| self.ahead(at + 1) == Some(&TokenKind::Dash));
        match last {
            Some(last) if last < first => {
                RepeatChoice::Unclear(before + 3, "these repeats run backwards", "the lower number stands first: `1-4`")
            }
            Some(last) => RepeatChoice::Of(Chosen::From(first, last), before + 3),
            None if self.by_length(at + 1) => RepeatChoice::Unclear(before + 1, BY_LENGTH, WRITE_LENGTHS),
            None => RepeatChoice::Of(Chosen::From(first, first), before + 1),
        }
    }

    /// `every 4th`, `every third`.
    fn every_choice(&self, by: usize) -> RepeatChoice {
        let named = self.word_at(by + 1).and_then(|word| NAMED.iter().position(|name| *name == word));
        let (number, tokens) = match (self.whole_at(by + 1), named) {
            (Some(number), _) if self.is_word(by + 2, &ORDINAL) => (number, 3),
            (_, Some(index)) => (index as u32 + 1, 2),
            _ if self.is_word(by + 1, &["other"]) => {
                let hint = "write `odds ...`, or `evens ...`";
                return RepeatChoice::Unclear(2, "`every other` leaves open which: the odd or the even ones", hint);
            }
            _ => {
                return RepeatChoice::Unclear(
                    1,
                    "every how many?",
                    "for example `every 4th fast`, or `odds easy evens fast`",
                );
            }
        };
        if self.by_length(by + tokens) {
            return RepeatChoice::Unclear(tokens + 1, BY_LENGTH, WRITE_LENGTHS);
        }
        if number < 2 {
            return RepeatChoice::Unclear(tokens, "every repeat is all of them", "leave `every 1st` out");
        }
        RepeatChoice::Of(Chosen::Every(number), tokens)
    }

    /// `first 4`, `last`, `last one`, `last 2`; `last 25` are metres.
    fn end_choice(&self, first: bool, by: usize) -> Option<RepeatChoice> {
        let words = ["one", "two", "three", "four", "five", "six"];
        let named = self.word_at(by + 1).and_then(|word| words.iter().position(|name| *name == word));
        let (count, tokens) = match (self.whole_at(by + 1), named) {
            (Some(count), _) => (count, 2),
            (_, Some(index)) => (index as u32 + 1, 2),
            _ => (1, 1),
        };
        if count == 0 || !self.is_short(count) || self.by_length(by + tokens) {
            return Some(RepeatChoice::Unclear(tokens, BY_LENGTH, WRITE_LENGTHS));
        }
        let chosen = if first { Chosen::From(1, count) } else { Chosen::Last(count) };
        Some(RepeatChoice::Of(chosen, tokens))
    }

    /// Whether a number is too small for a distance of this water.
    fn is_short(&self, number: u32) -> bool {
        self.known.water.length.is_none_or(|length| number < length)
    }

    /// Whether lengths or a distance follow.
    fn by_length(&self, by: usize) -> bool {
        self.is_word(by, &LENGTHS) || self.whole_at(by).is_some_and(|number| !self.is_short(number))
    }
}
