//! Goes through the tokens of a board one by one: what stands ahead, words, times and distances, and the problems met.

use crate::diag::{Code, Diagnostic, SourceId, Span, crop, nearest};
use crate::script::quantity::time;
use crate::units::swim::{Distance, PoolUnit};
use crate::units::time::Seconds;
use crate::whiteboard::context::BoardContext;
use crate::whiteboard::lex::{Token, TokenKind};
use crate::whiteboard::words;

/// How long a rest may be.
const REST: std::ops::RangeInclusive<Seconds> = Seconds::ZERO..=Seconds::from_secs(3600);

/// A time as it stands on a board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct BoardTime {
    /// As a script writes it.
    pub text: String,
    /// How long.
    pub seconds: Seconds,
    /// Where.
    pub span: Span,
}

/// Where a board has been read to, and what was found so far.
pub(super) struct BoardReader<'k> {
    tokens: Vec<Token>,
    pub(super) at: usize,
    source: SourceId,
    pub(super) known: &'k BoardContext,
    pub(super) problems: Vec<Diagnostic>,
    pub(super) drills: Vec<String>,
    pub(super) phrases: Vec<String>,
}

impl<'k> BoardReader<'k> {
    /// Begins at the first token.
    pub(super) const fn new(tokens: Vec<Token>, source: SourceId, known: &'k BoardContext) -> Self {
        Self { tokens, at: 0, source, known, problems: Vec::new(), drills: Vec::new(), phrases: Vec::new() }
    }

    /// The kind of a token some places ahead.
    pub(super) fn ahead(&self, by: usize) -> Option<&TokenKind> {
        self.tokens.get(self.at + by).map(|token| &token.kind)
    }

    /// Where the next token stands; at the end, the end.
    pub(super) fn here(&self) -> Span {
        let end = || self.tokens.last().map_or(0, |last| last.span.end);
        self.tokens.get(self.at).map_or_else(|| Span::new(self.source, end(), end()), |token| token.span)
    }

    /// Where a token some places ahead stands.
    pub(super) fn tokens_span(&self, by: usize) -> Span {
        self.tokens.get(self.at + by).map_or_else(|| self.here(), |token| token.span)
    }

    /// From a place to the token taken last.
    pub(super) fn since(&self, start: Span) -> Span {
        self.at.checked_sub(1).and_then(|last| self.tokens.get(last)).map_or(start, |last| start.to(last.span))
    }

    /// The word some places ahead.
    pub(super) fn word_at(&self, by: usize) -> Option<&str> {
        match self.ahead(by) {
            Some(TokenKind::Word(word)) => Some(word),
            _ => None,
        }
    }

    pub(super) fn is_word(&self, by: usize, any: &[&str]) -> bool {
        self.word_at(by).is_some_and(|word| any.contains(&word))
    }

    /// Takes a word if it is one of some.
    pub(super) fn take_word(&mut self, any: &[&str]) -> bool {
        let taken = self.is_word(0, any);
        self.at += usize::from(taken);
        taken
    }

    /// The word taken last.
    pub(super) fn word_before(&self) -> Option<&str> {
        match self.at.checked_sub(1).and_then(|at| self.tokens.get(at)).map(|token| &token.kind) {
            Some(TokenKind::Word(word)) => Some(word),
            _ => None,
        }
    }

    /// The words from here on, up to what is not a word.
    pub(super) fn words(&self) -> Vec<&str> {
        (0..).map_while(|by| self.word_at(by)).take(8).collect()
    }

    /// A whole number some places ahead.
    pub(super) fn whole_at(&self, by: usize) -> Option<u32> {
        match self.ahead(by) {
            Some(TokenKind::Number(text)) => text.parse().ok(),
            _ => None,
        }
    }

    pub(super) fn fault(&mut self, span: Span, message: impl Into<String>, hint: impl Into<String>) {
        self.problems.push(Diagnostic::at(Code::BadValue, span, message).hint(hint));
    }

    /// A word that means nothing here.
    pub(super) fn strange_word(&mut self) {
        let span = self.here();
        let word = self.word_at(0).unwrap_or("").to_owned();
        self.at += 1;
        if let Some((why, hint)) = words::refused(&word) {
            // What follows means nothing without the word: one question is enough.
            self.skip(false);
            return self.fault(span, format!("`{}` {why}", crop(&word)), hint);
        }
        let known = self.known;
        let names = known.drills.iter().map(|name| name.id.as_str());
        let near = nearest(&word, words::all().chain(names)).map(str::to_owned);
        let message = format!("`{}` is not understood", crop(&word));
        let problem = Diagnostic::at(Code::UnknownName, span, message);
        self.problems.push(match near {
            Some(near) => problem.hint(format!("did you mean `{near}`?")),
            None => problem.hint("write it in other words, or leave it out and add it to the script"),
        });
    }

    /// A time that must stand here. A bare number is seconds where `bare` says so, as in `r15`.
    pub(super) fn time(&mut self, what: &str, bare: bool) -> Option<BoardTime> {
        let start = self.here();
        let text = match self.ahead(0).cloned() {
            Some(TokenKind::Clock(text)) => {
                self.at += 1;
                text
            }
            Some(TokenKind::Number(number)) => {
                self.at += 1;
                if self.take_word(words::SECONDS) || (bare && !number.contains('.') && !self.is_word(0, words::MINUTES))
                {
                    format!("{number} s")
                } else if self.take_word(words::MINUTES) {
                    match (self.ahead(0).cloned(), self.is_word(1, words::SECONDS)) {
                        (Some(TokenKind::Number(seconds)), true) => {
                            self.at += 2;
                            format!("{number} min {seconds} s")
                        }
                        _ => format!("{number} min"),
                    }
                } else {
                    let readings = match number.parse::<i64>() {
                        Ok(whole @ 1..=5999) => format!("`{}`, or `{whole} s`?", Seconds::from_secs(whole)),
                        _ => "for example `1:30`".to_owned(),
                    };
                    let problem =
                        Diagnostic::at(Code::UnitMissing, start, format!("{what} needs a unit; found `{number}`"));
                    self.problems.push(problem.hint(readings));
                    return None;
                }
            }
            _ => {
                self.fault(start, format!("{what} is a time"), "for example `1:30` or `45 s`");
                return None;
            }
        };
        let span = self.since(start);
        match time::duration(&text, what, Seconds::ZERO..=Seconds::from_secs(6 * 3600)) {
            Ok(seconds) => Some(BoardTime { text: short(seconds).unwrap_or(text), seconds, span }),
            Err(fault) => {
                let problem = Diagnostic::at(fault.code, span, fault.message);
                self.problems.push(match fault.hint {
                    Some(hint) => problem.hint(hint),
                    None => problem,
                });
                None
            }
        }
    }

    /// A time of rest in its range.
    pub(super) fn rest_time(&mut self, what: &str) -> Option<BoardTime> {
        let time = self.time(what, true)?;
        if REST.contains(&time.seconds) {
            return Some(time);
        }
        let message = format!("{what} of {}; up to an hour is allowed", time.text);
        self.problems.push(Diagnostic::at(Code::OutOfRange, time.span, message));
        None
    }

    /// Whether a word for rest stands there that belongs to a time before it: in `50 r 10` it belongs to the 10.
    pub(super) fn rest_after(&self, by: usize) -> bool {
        let next = matches!(self.ahead(by + 1), Some(TokenKind::Clock(_) | TokenKind::Colon))
            || self.whole_at(by + 1).is_some();
        self.is_word(by, words::REST) && !next
    }

    /// Whether a swim begins so many tokens ahead.
    pub(super) fn swim_begins(&self, by: usize) -> bool {
        if self.ahead(by) == Some(&TokenKind::Open) {
            return true;
        }
        if self.whole_at(by).is_none() {
            return false;
        }
        let unit = |word: &str| {
            let after = [words::SECONDS, words::MINUTES, &["spm", "strokes", "per", "between"]];
            after.iter().any(|words| words.contains(&word))
        };
        match self.ahead(by + 1) {
            Some(TokenKind::Word(word)) => !unit(word) && !self.rest_after(by + 1),
            Some(TokenKind::Slash) => !self.is_word(by + 2, words::MINUTES),
            Some(TokenKind::Strange(_)) => false,
            _ => true,
        }
    }

    /// Goes on to where the swim ends: at the end of the entry, or at the bracket that closes its rounds. `bracket` is whether
    /// one of its own is open.
    pub(super) fn skip(&mut self, bracket: bool) {
        let mut depth = usize::from(bracket);
        loop {
            match self.ahead(0) {
                None | Some(TokenKind::Stop { .. }) => break,
                Some(TokenKind::Open) => depth += 1,
                Some(TokenKind::Close) if depth == 0 => break,
                Some(TokenKind::Close) => depth -= 1,
                _ => {}
            }
            self.at += 1;
        }
    }

    /// A number of metres or yards with its unit, if one is written; `1.5k` is 1500.
    pub(super) fn distance(&mut self, number: &str, place: Span) -> Option<u32> {
        let (unit, sign) = (self.known.water.unit, self.known.water.unit.sign());
        if let Some(length) = self.known.water.length
            && self.take_word(&["length", "lengths", "len"])
        {
            return self.counted(number, length, place);
        }
        let thousands = self.take_word(&["k", "km"]);
        let (metres, yards) = (self.take_word(words::METRES), self.take_word(words::YARDS));
        let span = self.since(place);
        if (metres && unit == PoolUnit::Yard) || (yards && unit == PoolUnit::Metre) {
            let hint = if yards {
                "`--pool \"25 yd\"` reads the board in yards"
            } else {
                "`--pool \"25 m\"` reads the board in metres"
            };
            let water = self.known.water.text.clone();
            self.fault(span, format!("the distance is not in the unit of the water (`{water}`)"), hint);
            return None;
        }
        let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
        let zeros = if thousands { 3_usize } else { 0 };
        let count = decimals.len().checked_sub(zeros).map_or_else(
            || format!("{whole}{decimals}{}", "0".repeat(zeros - decimals.len())).parse::<u32>().ok(),
            |too_fine| (too_fine == 0).then(|| format!("{whole}{decimals}").parse::<u32>().ok()).flatten(),
        );
        let Some(count) = count.filter(|count| Distance::new(*count, unit).is_some()) else {
            let message = format!("a distance of {number}; 1 to 100000 whole {sign} are allowed");
            self.problems.push(Diagnostic::at(Code::OutOfRange, span, message));
            return None;
        };
        if let Some(length) = self.known.water.length
            && !count.is_multiple_of(length)
        {
            let (below, above) = (count / length * length, (count / length + 1) * length);
            let near = if below == 0 { format!("`{above}`?") } else { format!("`{below}` or `{above}`?") };
            let message = format!("{count} {sign} is no whole number of lengths of {length} {sign}");
            self.problems.push(Diagnostic::at(Code::NotWholeLengths, span, message).hint(near));
            return None;
        }
        Some(count)
    }

    /// So many lengths of the pool.
    fn counted(&mut self, number: &str, length: u32, place: Span) -> Option<u32> {
        let count = number.parse::<u32>().ok().and_then(|lengths| lengths.checked_mul(length));
        let count = count.filter(|count| Distance::new(*count, self.known.water.unit).is_some());
        if count.is_none() {
            let message = format!("{number} lengths; 1 to {} whole ones are allowed", 100_000 / length);
            self.problems.push(Diagnostic::at(Code::OutOfRange, self.since(place), message));
        }
        count
    }

    /// `@` asks back.
    pub(super) fn at_sign(&mut self) {
        let span = self.here();
        self.at += 1;
        let time = match self.ahead(0) {
            Some(TokenKind::Clock(text)) => text.clone(),
            Some(TokenKind::Number(number)) => number
                .parse()
                .ok()
                .and_then(|seconds| short(Seconds::from_secs(seconds)))
                .unwrap_or_else(|| "1:30".to_owned()),
            _ => "1:30".to_owned(),
        };
        if matches!(self.ahead(0), Some(TokenKind::Clock(_) | TokenKind::Number(_))) {
            self.at += 1;
        }
        let hint = format!("write `on {time}` for the send-off, or `pace {time}`");
        self.fault(span, "`@` has two meanings: send-off or pace?", hint);
    }
}

/// A whole number of seconds as a script writes it.
fn short(time: Seconds) -> Option<String> {
    let nanos = time.nanos();
    (nanos % 1_000_000_000 == 0)
        .then(|| if nanos < 60_000_000_000 { format!("{} s", nanos / 1_000_000_000) } else { time.to_string() })
}
