//! A board cut into numbers, clock times, words and signs. What they mean together is not known here.

use crate::diag::{Code, Diagnostic, SourceId, Span};
use crate::whiteboard::words;

/// The largest board, in bytes: some hundred lines.
pub const LARGEST: usize = 32_768;
/// The most digits of a number, decimals and all.
const MOST_DIGITS: usize = 9;

/// A piece of a board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    /// What.
    pub kind: TokenKind,
    /// Where.
    pub span: Span,
}

/// The kinds of pieces.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TokenKind {
    /// A number without a sign, such as `50`, `1.30`; `.95` is `0.95`.
    Number(String),
    /// `1:30`; `:45` is `0:45`.
    Clock(String),
    /// Letters, small, with hyphens inside.
    Word(String),
    /// `;` or the end of a line: a swim ends.
    Stop {
        /// The end of a line.
        line: bool,
    },
    /// `,`
    Comma,
    /// `+`
    Plus,
    /// `/`
    Slash,
    /// `-` and the longer ones.
    Dash,
    /// `:` that belongs to no time.
    Colon,
    /// `(`, `[` or `{`
    Open,
    /// `)`, `]` or `}`
    Close,
    /// `@`
    At,
    /// Something that no board needs.
    Strange(char),
}

/// Words written as two letters with a stroke between them: warm up, warm down, cool down, negative split.
const SPLIT: [(&str, u8, &str); 4] =
    [("w", b'u', "wu"), ("w", b'd', "wd"), ("c", b'd', "cd"), ("n", b's', "negative-split")];

struct Lexer<'t> {
    text: &'t str,
    at: usize,
    source: SourceId,
    tokens: Vec<Token>,
    problems: Vec<Diagnostic>,
}

/// Cuts a board up. Numbers too long to be any are problems.
pub fn lex(source: SourceId, text: &str) -> (Vec<Token>, Vec<Diagnostic>) {
    let mut lexer = Lexer { text, at: 0, source, tokens: Vec::new(), problems: Vec::new() };
    if text.len() > LARGEST {
        let message = format!("the board has {} bytes; at most {LARGEST} are read", text.len());
        return (Vec::new(), vec![Diagnostic::at(Code::OutOfRange, Span::new(source, 0, 0), message)]);
    }
    while let Some(next) = lexer.peek() {
        lexer.one(next);
    }
    (lexer.tokens, lexer.problems)
}

/// A heading such as `main`.
fn is_label(kind: &TokenKind) -> bool {
    matches!(kind, TokenKind::Word(word) if words::label(&[word]).is_some())
}

impl Lexer<'_> {
    fn rest(&self) -> &str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    /// How many bytes from `from` on are digits.
    fn digits(&self, from: usize) -> usize {
        self.text.as_bytes().iter().skip(from).take_while(|byte| byte.is_ascii_digit()).count()
    }

    fn take(&mut self, len: usize, kind: TokenKind) {
        let span = Span::new(self.source, self.at as u32, (self.at + len) as u32);
        self.at += len;
        self.tokens.push(Token { kind, span });
    }

    fn one(&mut self, next: char) {
        let len = next.len_utf8();
        match next {
            '\n' => self.take(len, TokenKind::Stop { line: true }),
            ';' => self.take(len, TokenKind::Stop { line: false }),
            _ if next.is_whitespace() => self.at += len,
            ',' => self.take(len, TokenKind::Comma),
            '+' => self.take(len, TokenKind::Plus),
            '/' => self.take(len, TokenKind::Slash),
            '-' | '–' | '—' | '→' | '−' => self.take(len, TokenKind::Dash),
            '(' | '[' | '{' => self.take(len, TokenKind::Open),
            ')' | ']' | '}' => self.take(len, TokenKind::Close),
            '@' => self.take(len, TokenKind::At),
            '&' => self.take(len, TokenKind::Word("and".into())),
            '×' | '*' => self.take(len, TokenKind::Word("x".into())),
            '"' | '″' | '”' => self.take(len, TokenKind::Word("s".into())),
            // Whole minutes: 2'.
            '\'' | '’' | '′' if matches!(self.touching(), Some(TokenKind::Number(_))) => {
                self.take(len, TokenKind::Word("min".into()))
            }
            // `main:50 easy` has no time in it.
            ':' if self.digits(self.at + 1) == 2 && !self.touching().is_some_and(is_label) => self.clock(0),
            ':' => self.take(len, TokenKind::Colon),
            '.' if self.digits(self.at + 1) > 0 => self.number(0),
            _ if next.is_ascii_digit() => self.number(self.digits(self.at)),
            _ if next.is_alphabetic() => self.word(),
            _ => self.take(len, TokenKind::Strange(next)),
        }
    }

    /// The piece right before, where nothing lies between.
    fn touching(&self) -> Option<&TokenKind> {
        self.tokens.last().filter(|token| token.span.end as usize == self.at).map(|token| &token.kind)
    }

    /// A number whose whole part has so many digits, or a clock time that begins with it.
    fn number(&mut self, whole: usize) {
        let after = self.at + whole;
        let tail = self.text.get(after..).unwrap_or("");
        if whole > 0 && tail.starts_with(':') && self.digits(after + 1) > 0 {
            return self.clock(whole);
        }
        // Minutes and seconds as the marks of feet and inches: 1'30".
        if let Some(mark) = tail.chars().next().filter(|mark| ['\'', '’', '′'].contains(mark))
            && self.digits(after + mark.len_utf8()) == 2
        {
            let seconds = after + mark.len_utf8();
            let text = format!("{}:{}", self.slice(self.at, after), self.slice(seconds, seconds + 2));
            let end = self.text.get(seconds + 2..).unwrap_or("");
            let quote = end.chars().next().filter(|next| ['"', '″', '”'].contains(next)).map_or(0, char::len_utf8);
            return self.timed(seconds + 2 + quote - self.at, text);
        }
        let decimals = if tail.starts_with('.') { self.digits(after + 1) } else { 0 };
        let len = whole + if decimals > 0 { decimals + 1 } else { 0 };
        let written = self.slice(self.at, self.at + len);
        let text = if whole == 0 { format!("0{written}") } else { written };
        if whole + decimals > MOST_DIGITS {
            self.too_long(len);
        }
        self.take(len, TokenKind::Number(text));
    }

    fn slice(&self, from: usize, to: usize) -> String {
        self.text.get(from..to).unwrap_or("").to_owned()
    }

    /// A clock time: so many digits, then parts of a colon and digits, then decimals.
    fn clock(&mut self, leading: usize) {
        let mut end = self.at + leading;
        while self.text.as_bytes().get(end) == Some(&b':') && self.digits(end + 1) > 0 {
            end += 1 + self.digits(end + 1);
        }
        if self.text.as_bytes().get(end) == Some(&b'.') {
            let decimals = self.digits(end + 1);
            end += if decimals > 0 { 1 + decimals } else { 0 };
        }
        let written = self.slice(self.at, end);
        let text = if leading == 0 { format!("0{written}") } else { written };
        self.timed(end - self.at, text);
    }

    fn timed(&mut self, len: usize, text: String) {
        if len > 2 * MOST_DIGITS {
            self.too_long(len);
        }
        self.take(len, TokenKind::Clock(text));
    }

    fn too_long(&mut self, len: usize) {
        let span = Span::new(self.source, self.at as u32, (self.at + len) as u32);
        let message = format!("a number has at most {MOST_DIGITS} digits");
        self.problems.push(Diagnostic::at(Code::OutOfRange, span, message));
    }

    fn word(&mut self) {
        let mut len = 0;
        let mut chars = self.rest().chars().peekable();
        while let Some(next) = chars.next() {
            let joins = matches!(next, '-' | '\'' | '’') && chars.peek().is_some_and(|after| after.is_alphabetic());
            if !next.is_alphabetic() && !joins {
                break;
            }
            len += next.len_utf8();
        }
        let text = self.rest().get(..len).unwrap_or("").to_lowercase();
        let next = self.text.as_bytes().get(self.at + len).copied();
        let digit = self.digits(self.at + len + 1) > 0;
        // Two letters with a stroke between them are one word of the deck.
        let letter = |at: usize| self.text.as_bytes().get(at).filter(|byte| byte.is_ascii_alphabetic()).copied();
        if next == Some(b'/') && letter(self.at + len + 2).is_none() {
            let second = letter(self.at + len + 1).map(|byte| byte.to_ascii_lowercase());
            let known = SPLIT.iter().find(|(first, last, _)| *first == text && second == Some(*last));
            if let Some((.., word)) = known {
                return self.take(len + 2, TokenKind::Word((*word).into()));
            }
        }
        // "w/" is "with", and the point of an abbreviation belongs to it.
        if text == "w" && next == Some(b'/') {
            return self.take(len + 1, TokenKind::Word("with".into()));
        }
        self.take(len, TokenKind::Word(text));
        self.at += usize::from(next == Some(b'.') && !digit);
    }
}
