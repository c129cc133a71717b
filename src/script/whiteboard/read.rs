//! From a board's text to what is done: pieces, headings, rounds, rests at the wall. One swim is read in
//! the file `swim`.

use crate::diag::{Code, Diagnostic, SourceId, Sources, Span, nearest};
use crate::script::Phase;
use crate::script::quantity::time;
use crate::script::whiteboard::lex::{Kind, Token, lex};
use crate::script::whiteboard::manner::Draft;
use crate::script::whiteboard::{Board, Key, Known, Piece, Swim, What, words};
use crate::units::time::Seconds;

/// How long a rest may be.
const REST: std::ops::RangeInclusive<Seconds> = Seconds::ZERO..=Seconds::from_secs(3600);
/// The most rounds.
const MOST_ROUNDS: u32 = 100;
/// The shortest rest at the wall.
const SHORTEST_STANDING: Seconds = Seconds::from_secs(1);

/// Understands a board. With any problem there is no board; problems are in the order of the text.
pub fn read(source: SourceId, sources: &Sources, known: &Known) -> (Option<Board>, Vec<Diagnostic>) {
    let (tokens, problems) = lex(source, sources.text(source));
    let mut reader = Reader { tokens, at: 0, source, known, problems, drills: Vec::new(), phrases: Vec::new() };
    let mut pieces = reader.pieces();
    if reader.problems.is_empty() && !pieces.iter().any(|piece| !matches!(piece.what, What::Rest(_))) {
        let problem = Diagnostic::at(Code::Empty, Span::new(source, 0, 0), "there is no swim on the board");
        reader.problems.push(problem.hint("for example `200 easy; 8x50 on 1:20; 100 easy`"));
    }
    guess_phases(&mut pieces);
    reader.problems.sort_by_key(|problem| problem.span);
    reader.problems.dedup();
    let board = Board { pieces, drills: reader.drills, phrases: reader.phrases };
    (reader.problems.is_empty().then_some(board), reader.problems)
}

/// On a board without headings an easy first swim warms up, and an easy last one cools down.
fn guess_phases(pieces: &mut [Piece]) {
    if pieces.len() < 2 || pieces.iter().any(|piece| piece.phase.is_some()) {
        return;
    }
    let easy = |piece: &&mut Piece| matches!(&piece.what, What::Swim(swim) if swim.key("effort").is_some_and(|effort| effort.value == "easy"));
    if let Some(piece) = pieces.first_mut().filter(easy) {
        (piece.phase, piece.guessed) = (Some(Phase::WarmUp), true);
    }
    if let Some(piece) = pieces.last_mut().filter(easy) {
        (piece.phase, piece.guessed) = (Some(Phase::CoolDown), true);
    }
}

/// A time as it stands on a board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Time {
    /// As a script writes it.
    pub text: String,
    /// How long.
    pub seconds: Seconds,
    /// Where.
    pub span: Span,
}

pub(super) struct Reader<'k> {
    tokens: Vec<Token>,
    pub(super) at: usize,
    source: SourceId,
    pub(super) known: &'k Known,
    pub(super) problems: Vec<Diagnostic>,
    pub(super) drills: Vec<String>,
    pub(super) phrases: Vec<String>,
}

impl Reader<'_> {
    /// The kind of a token some places ahead.
    pub(super) fn ahead(&self, by: usize) -> Option<&Kind> {
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
            Some(Kind::Word(word)) => Some(word),
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
            Some(Kind::Word(word)) => Some(word),
            _ => None,
        }
    }

    /// The words from here on, up to what is no word.
    pub(super) fn words(&self) -> Vec<&str> {
        (0..).map_while(|by| self.word_at(by)).take(8).collect()
    }

    /// A whole number some places ahead.
    pub(super) fn whole_at(&self, by: usize) -> Option<u32> {
        match self.ahead(by) {
            Some(Kind::Number(text)) => text.parse().ok(),
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
            let word = crate::script::yaml::crop(&word);
            // `descend 1-4`: the numbers mean nothing without the word.
            if self.ahead(1) == Some(&Kind::Dash) && self.whole_at(0).is_some() && self.whole_at(2).is_some() {
                self.at += 3;
            }
            return self.fault(span, format!("`{word}` {why}"), hint);
        }
        let known = self.known;
        let names = known.drills.iter().map(|name| name.id.as_str());
        let near = nearest(&word, words::all().chain(names)).map(str::to_owned);
        let message = format!("`{}` is not understood", crate::script::yaml::crop(&word));
        let problem = Diagnostic::at(Code::UnknownName, span, message);
        self.problems.push(match near {
            Some(near) => problem.hint(format!("did you mean `{near}`?")),
            None => problem.hint("write it in other words, or leave it out and add it to the script"),
        });
    }

    /// A time that must stand here. A bare number is seconds where `bare` says so, as in `r15`.
    pub(super) fn time(&mut self, what: &str, bare: bool) -> Option<Time> {
        let start = self.here();
        let text = match self.ahead(0).cloned() {
            Some(Kind::Clock(text)) => {
                self.at += 1;
                text
            }
            Some(Kind::Number(number)) => {
                self.at += 1;
                if self.take_word(words::SECONDS) || (bare && !number.contains('.') && !self.is_word(0, words::MINUTES))
                {
                    format!("{number} s")
                } else if self.take_word(words::MINUTES) {
                    match (self.ahead(0).cloned(), self.is_word(1, words::SECONDS)) {
                        (Some(Kind::Number(seconds)), true) => {
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
            Ok(seconds) => Some(Time { text: short(seconds).unwrap_or(text), seconds, span }),
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
    pub(super) fn rest_time(&mut self, what: &str) -> Option<Time> {
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
        let next = matches!(self.ahead(by + 1), Some(Kind::Clock(_) | Kind::Colon)) || self.whole_at(by + 1).is_some();
        self.is_word(by, words::REST) && !next
    }

    /// Whether a swim begins so many tokens ahead.
    pub(super) fn swim_begins(&self, by: usize) -> bool {
        if self.ahead(by) == Some(&Kind::Open) {
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
            Some(Kind::Word(word)) => !unit(word) && !self.rest_after(by + 1),
            Some(Kind::Slash) => !self.is_word(by + 2, words::MINUTES),
            Some(Kind::Strange(_)) => false,
            _ => true,
        }
    }

    fn pieces(&mut self) -> Vec<Piece> {
        let (mut pieces, mut heading) = (Vec::new(), None);
        while let Some(next) = self.ahead(0).cloned() {
            let start = self.here();
            match next {
                Kind::Stop { .. } | Kind::Comma | Kind::Plus => {
                    self.at += 1;
                    continue;
                }
                Kind::Close => {
                    self.fault(start, "this bracket closes none", "remove it, or open one before");
                    self.at += 1;
                    continue;
                }
                _ => {}
            }
            let label = words::label(&self.words());
            if let Some((count, phase)) = label {
                self.at += count;
                let colon = self.ahead(0) == Some(&Kind::Colon) || self.ahead(0) == Some(&Kind::Dash);
                self.at += usize::from(colon);
                if matches!(self.ahead(0), None | Some(Kind::Stop { line: true })) {
                    // On a line of its own it heads all that follows.
                    heading = Some(phase);
                    continue;
                }
            }
            let Some(what) = self.piece() else { continue };
            let phase = if matches!(what, What::Rest(_)) { None } else { label.map(|(_, phase)| phase).or(heading) };
            pieces.push(Piece { span: self.since(start), phase, guessed: false, what });
        }
        pieces
    }

    fn piece(&mut self) -> Option<What> {
        if let Some(rest) = self.standing() {
            return rest.map(What::Rest);
        }
        if self.rounds_begin() {
            return self.rounds();
        }
        self.swim(false).map(What::Swim)
    }

    /// A rest as an entry of its own: `rest 1:00`, `1:00 rest`. `Some(None)` where it cannot be read.
    fn standing(&mut self) -> Option<Option<Key>> {
        let start = self.here();
        let first = self.is_word(0, words::REST);
        let unit = |by| self.is_word(by, words::SECONDS) || self.is_word(by, words::MINUTES);
        let after = match self.ahead(0) {
            Some(Kind::Clock(_)) => self.rest_after(1),
            // `60 r`, `60 s rest`, `1 min 30 s rest`
            Some(Kind::Number(_)) => {
                self.rest_after(1) || (unit(1) && (self.rest_after(2) || (unit(3) && self.rest_after(4))))
            }
            _ => false,
        };
        if !first && !after {
            return None;
        }
        self.take_word(words::REST);
        if self.ahead(0) == Some(&Kind::Colon) {
            self.at += 1;
        }
        let time = self.rest_time("a rest");
        if !first {
            self.take_word(words::REST);
        }
        let Some(time) = time else {
            self.skip_piece();
            return Some(None);
        };
        if !matches!(self.ahead(0), None | Some(Kind::Stop { .. } | Kind::Plus | Kind::Comma)) {
            let span = self.here();
            self.fault(span, "a rest at the wall stands alone", "put `;` behind it");
            self.skip_piece();
            return Some(None);
        }
        if time.seconds < SHORTEST_STANDING {
            self.fault(time.span, "a rest at the wall of no time", "remove it");
            return Some(None);
        }
        let words = format!("rest at the wall for {}", time.text);
        Some(Some(Key { name: "rest", value: time.text, words, span: self.since(start), assumed: false }))
    }

    /// Goes on to where the piece ends.
    pub(super) fn skip_piece(&mut self) {
        while !matches!(self.ahead(0), None | Some(Kind::Stop { .. })) {
            self.at += 1;
        }
    }

    /// Goes on behind the next pair of brackets.
    fn skip_brackets(&mut self) {
        let mut depth = 0_usize;
        while let Some(next) = self.ahead(0) {
            match next {
                Kind::Open => depth += 1,
                Kind::Close => depth = depth.saturating_sub(1),
                _ => {}
            }
            let closed = *next == Kind::Close && depth == 0;
            self.at += 1;
            if closed {
                break;
            }
        }
    }

    /// `3x(`, `3 rounds of (`, or a bracket.
    fn rounds_begin(&self) -> bool {
        let by = match (self.whole_at(0), self.word_at(1)) {
            (Some(_), Some("x")) => 2,
            (Some(_), Some("rounds" | "round")) => return true,
            _ => 0,
        };
        self.ahead(by) == Some(&Kind::Open)
    }

    fn rounds(&mut self) -> Option<What> {
        let start = self.here();
        let mut count = self.whole_at(0).map(|count| (count, start));
        if count.is_some() {
            self.at += 2;
            self.take_word(&["of"]);
            if self.ahead(0) == Some(&Kind::Colon) {
                self.at += 1;
            }
            if self.ahead(0) != Some(&Kind::Open) {
                let span = self.since(start);
                self.fault(
                    span,
                    "which swims belong to the rounds is not marked",
                    "put them into brackets: `3x(50 kick + 50 swim)`",
                );
                self.skip_piece();
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
                    self.skip_piece();
                    return None;
                }
            }
        }
        let (count, place) = count.unwrap_or((1, open));
        if !(1..=MOST_ROUNDS).contains(&count) {
            let message = format!("{count} rounds; 1 to {MOST_ROUNDS} are allowed");
            self.problems.push(Diagnostic::at(Code::OutOfRange, place, message));
        }
        let mut draft = Draft::of_rounds();
        self.manner(&mut draft);
        let (shared, between) = draft.into_shared(self, count);
        if swims.is_empty() {
            if self.problems.len() > before {
                return None;
            }
            self.fault(open, "a round with nothing to swim", "`3x(50 kick + 50 swim)`");
            return None;
        }
        Some(What::Rounds { count, between, shared, swims })
    }

    /// The swims up to the bracket that closes.
    fn round_swims(&mut self, open: Span) -> Option<Vec<Swim>> {
        let mut swims = Vec::new();
        loop {
            match self.ahead(0) {
                None => {
                    self.fault(open, "this bracket is never closed", "put `)` behind the last swim of the round");
                    return None;
                }
                Some(Kind::Close) => {
                    self.at += 1;
                    return Some(swims);
                }
                Some(Kind::Stop { .. } | Kind::Comma | Kind::Plus) => self.at += 1,
                _ if self.rounds_begin() => {
                    let span = self.here();
                    self.fault(span, "rounds within rounds", "write the inner ones out, or as a set of their own");
                    self.skip_brackets();
                }
                _ => swims.extend(self.swim(true)),
            }
        }
    }
}

/// A whole number of seconds as a script writes it.
fn short(time: Seconds) -> Option<String> {
    let nanos = time.nanos();
    (nanos % 1_000_000_000 == 0)
        .then(|| if nanos < 60_000_000_000 { format!("{} s", nanos / 1_000_000_000) } else { time.to_string() })
}
