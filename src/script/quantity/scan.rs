//! Numbers and words of a quantity, read from left to right.
//!
//! Numbers stay exact: digits and the count of decimals, never a float.

use crate::diag::{Code, crop};
use crate::script::quantity::{Misread, Read};
use std::ops::Range;

/// The most decimals a number may have.
pub const MOST_DECIMALS: u32 = 10;
/// The most digits before the decimals, so that all digits fit 64 bits.
const MOST_DIGITS: usize = 9;

/// A number as written: `digits / 10^decimals`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Number {
    /// All digits, the point left out.
    pub digits: u64,
    /// How many of them are decimals, at most [`MOST_DECIMALS`].
    pub decimals: u32,
    /// How many characters stand before the point.
    pub leading: usize,
    /// Its bytes.
    pub range: Range<usize>,
}

impl Number {
    /// The denominator: ten for each decimal.
    pub const fn den(&self) -> u64 {
        10_u64.pow(self.decimals)
    }

    /// As a float, for levels and for readings in hints.
    pub fn as_f64(&self) -> f64 {
        self.digits as f64 / self.den() as f64
    }

    /// The whole number, if it was written as one.
    pub fn whole(&self) -> Option<u64> {
        (self.decimals == 0).then_some(self.digits)
    }

    /// This many units of `per` in units of one, exactly, if that is a whole number; at most `u64::MAX`.
    pub fn times(&self, per: u64) -> Option<u64> {
        let product = u128::from(self.digits) * u128::from(per);
        let den = u128::from(self.den());
        (product % den == 0).then(|| u64::try_from(product / den).unwrap_or(u64::MAX))
    }
}

/// A place in a text.
#[derive(Clone)]
pub struct Scan<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Scan<'t> {
    /// The start of a text, blanks skipped.
    pub fn new(text: &'t str) -> Self {
        let mut scan = Self { text, at: 0 };
        scan.blanks();
        scan
    }

    /// The byte that comes next.
    pub const fn at(&self) -> usize {
        self.at
    }

    /// The text still to read.
    pub fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or("")
    }

    /// The bytes from a place to the last character that is not a blank.
    pub fn range_from(&self, start: usize) -> Range<usize> {
        start..self.text.trim_end().len().max(start)
    }

    /// A part of the text, short enough for a message.
    pub fn shown(&self, range: Range<usize>) -> String {
        crop(self.text.get(range).unwrap_or(""))
    }

    /// Whether all is read.
    pub fn done(&self) -> bool {
        self.rest().is_empty()
    }

    /// Goes on from a byte, the blanks after it skipped.
    pub fn skip_to(&mut self, at: usize) {
        self.at = at;
        self.blanks();
    }

    fn blanks(&mut self) {
        self.at = self.text.len() - self.rest().trim_start().len();
    }

    /// Takes one of some characters, if it comes next, and the blanks after it.
    pub fn sign(&mut self, any: &[char]) -> Option<char> {
        let found = self.rest().chars().next().filter(|next| any.contains(next))?;
        self.at += found.len_utf8();
        self.blanks();
        Some(found)
    }

    /// Takes a word of letters if it is one of some (small letters; any case is read), and the blanks after it.
    pub fn word(&mut self, any: &[&str]) -> Option<Range<usize>> {
        let range = self.peek_word();
        let found = self.text.get(range.clone())?.to_lowercase();
        any.contains(&found.as_str()).then(|| {
            self.at = range.end;
            self.blanks();
            range
        })
    }

    /// The bytes of the letters that come next.
    pub fn peek_word(&self) -> Range<usize> {
        let rest = self.rest();
        let len = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
        self.at..self.at + len
    }

    /// The bytes up to the next blank.
    pub fn peek_chunk(&self) -> Range<usize> {
        let rest = self.rest();
        self.at..self.at + rest.find(char::is_whitespace).unwrap_or(rest.len())
    }

    /// Takes a number without a sign, and the blanks after it. `None` where none stands here.
    pub fn number(&mut self) -> Option<Read<Number>> {
        let rest = self.rest();
        let span = |from: usize| {
            let tail = rest.get(from..).unwrap_or("");
            tail.find(|c: char| !c.is_ascii_digit()).unwrap_or(tail.len())
        };
        let leading = span(0);
        let decimals =
            if rest.get(leading..).is_some_and(|tail| tail.starts_with(['.', ','])) { span(leading + 1) } else { 0 };
        if leading == 0 && decimals == 0 {
            return None;
        }
        let len = leading + if decimals > 0 { 1 + decimals } else { 0 };
        let range = self.at..self.at + len;
        let written = rest.get(..len).unwrap_or("");
        self.at += len;
        self.blanks();
        if leading > MOST_DIGITS || decimals > MOST_DECIMALS as usize {
            let message = format!(
                "`{}` has {leading} digits and {decimals} decimals; at most {MOST_DIGITS} and {MOST_DECIMALS} are read",
                crop(written)
            );
            return Some(Err(Misread::within(Code::OutOfRange, range, message)));
        }
        let digits =
            written.bytes().filter(u8::is_ascii_digit).fold(0, |sum: u64, digit| sum * 10 + u64::from(digit - b'0'));
        Some(Ok(Number { digits, decimals: decimals as u32, leading, range }))
    }

    /// Takes a number that must stand here. `what` and `example` word the fault.
    pub fn need(&mut self, what: &str, example: &str) -> Read<Number> {
        let start = self.at;
        self.number().unwrap_or_else(|| {
            let range = self.range_from(start);
            let message = format!("{what} begins with a number; found `{}`", self.shown(range.clone()));
            Err(Misread::within(Code::BadValue, range, message).hint(format!("for example `{example}`")))
        })
    }

    /// A fault of what comes next, as no unit that is known here.
    pub fn strange(&self, what: &str, units: &str) -> Misread {
        let range = self.range_from(self.at);
        let found = self.shown(range.clone());
        Misread::within(Code::BadValue, range, format!("{what} is written with {units}; found `{found}`"))
    }

    /// Everything must be read by now.
    pub fn end(&self, what: &str) -> Read<()> {
        if self.done() {
            return Ok(());
        }
        let range = self.range_from(self.at);
        let found = self.shown(range.clone());
        let fault = Misread::within(Code::BadValue, range, format!("`{found}` does not belong to {what}"));
        Err(if found.starts_with('#') { fault.hint("a comment needs a blank before its `#`") } else { fault })
    }
}
