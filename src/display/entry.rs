//! A tempo that is being typed on the live screen, digit by digit.

use crate::session::input::{Input, parse};
use ratatui::crossterm::event::KeyCode;

/// No tempo has more signs: `1.085` is one too many already, and is told so.
const MOST: usize = 5;

/// What has been typed so far. Only digits and one point come in, so that it is always text.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TypedTempo {
    signs: [u8; MOST],
    len: usize,
    /// Whether it was entered and cannot be.
    refused: bool,
}

/// What a key did to it.
#[derive(Debug, PartialEq)]
pub(super) enum Typed {
    /// It goes on.
    More(TypedTempo),
    /// It is done: this is asked for.
    Done(Input),
    /// It is left, by the key that says so.
    Left,
    /// The key is none of its keys: it is left, and the key means what it always does.
    Other,
}

impl TypedTempo {
    /// Begun with a digit.
    pub(super) fn begun(digit: char) -> Self {
        Self::default().with(digit)
    }

    /// What stands there.
    pub fn text(&self) -> &str {
        self.signs.get(..self.len).and_then(|signs| std::str::from_utf8(signs).ok()).unwrap_or_default()
    }

    /// Whether it was entered and cannot be a tempo.
    pub const fn is_refused(&self) -> bool {
        self.refused
    }

    fn with(mut self, sign: char) -> Self {
        self.refused = false;
        let sign = if sign == ',' { '.' } else { sign };
        let fits = sign.is_ascii_digit() || sign == '.' && !self.text().contains('.');
        if let Some(place) = self.signs.get_mut(self.len).filter(|_| fits) {
            *place = sign as u8;
            self.len += 1;
        }
        self
    }

    /// Takes a key.
    pub(super) fn press(mut self, code: KeyCode) -> Typed {
        match code {
            KeyCode::Char(sign) if sign.is_ascii_digit() || matches!(sign, '.' | ',') => Typed::More(self.with(sign)),
            KeyCode::Backspace if self.len > 1 => {
                self.len -= 1;
                self.refused = false;
                Typed::More(self)
            }
            KeyCode::Backspace | KeyCode::Esc => Typed::Left,
            KeyCode::Enter => match parse(&format!("tempo {}", self.text())) {
                Ok(input) => Typed::Done(input),
                Err(_) => Typed::More(Self { refused: true, ..self }),
            },
            _ => Typed::Other,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What comes of signs typed one after another, `<` for a step back.
    fn typed(signs: &str) -> Typed {
        let mut entry = TypedTempo::default();
        let mut last = Typed::Left;
        for sign in signs.chars() {
            let code = match sign {
                '<' => KeyCode::Backspace,
                '!' => KeyCode::Enter,
                sign => KeyCode::Char(sign),
            };
            last = entry.press(code);
            if let Typed::More(more) = last {
                entry = more;
            }
        }
        last
    }

    #[test]
    fn a_tempo_is_typed_as_a_line_would_have_it() {
        for (signs, line) in
            [("1.08!", "tempo 1.08"), ("1,1!", "tempo 1.1"), ("2!", "tempo 2"), ("1.9<08!", "tempo 1.08")]
        {
            assert_eq!(typed(signs), Typed::Done(parse(line).unwrap()), "{signs}");
        }
        let stands = |signs: &str| match typed(signs) {
            Typed::More(entry) => (entry.text().to_owned(), entry.is_refused()),
            other => panic!("{signs}: {other:?}"),
        };
        // What no swimmer can keep is refused, and can be mended.
        for signs in ["3!", "0.39!", "1.085!", "108!"] {
            assert!(stands(signs).1, "{signs}");
        }
        assert_eq!(stands("13!<.08"), ("1.08".to_owned(), false));
        assert_eq!(stands("1.2.3456"), ("1.234".to_owned(), false));
        assert_eq!((typed("1<"), typed("1t")), (Typed::Left, Typed::Other));
    }
}
