//! What a terminal can show: colour, blocks and lines beyond ASCII. Read from the environment once; nothing is asked of
//! the terminal.

use crate::diag::shown::printable;
use ratatui::style::{Color, Modifier, Style};

/// How it may look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Whether colour may be used; weight and place carry the sense without it.
    pub color: bool,
    /// Whether characters beyond ASCII reach the eye as they are.
    pub unicode: bool,
}

impl Look {
    /// What the environment's variables allow; `color` has been decided by who knows the options.
    pub fn of(color: bool, variable: impl Fn(&str) -> Option<String>) -> Self {
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"].iter().filter_map(|name| variable(name)).find(|v| !v.is_empty());
        let utf8 = locale.is_some_and(|locale| {
            let locale = locale.to_ascii_lowercase();
            locale.contains("utf-8") || locale.contains("utf8")
        });
        Self { color, unicode: utf8 || cfg!(not(target_os = "linux")) }
    }

    /// Whether a terminal can be written to at any place at all.
    pub fn can_place(variable: impl Fn(&str) -> Option<String>) -> bool {
        cfg!(windows) || variable("TERM").is_some_and(|term| !term.is_empty() && term != "dumb")
    }

    /// What is read from afar.
    pub const fn strong(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }

    /// What the swimmer attends to.
    pub const fn focus(self) -> Style {
        let style = self.strong();
        if self.color { style.fg(Color::Cyan) } else { style }
    }

    /// What is there for who looks for it.
    pub const fn faint(self) -> Style {
        Style::new().add_modifier(Modifier::DIM)
    }

    /// What somebody must see.
    pub const fn warning(self) -> Style {
        let style = Style::new().add_modifier(Modifier::BOLD).add_modifier(Modifier::REVERSED);
        if self.color { style.fg(Color::Yellow) } else { style }
    }

    /// The same in large letters, which stand between bars that are [`warning`](Self::warning).
    pub const fn alert(self) -> Style {
        let style = self.strong();
        if self.color { style.fg(Color::Yellow) } else { style }
    }

    /// Text of one line as the terminal can show it: nothing in it moves the cursor or turns the order of letters.
    pub fn text(self, text: &str) -> String {
        let text = printable(text);
        if self.unicode || text.is_ascii() {
            return text.into_owned();
        }
        let plain = |character: char| match character {
            '×' => "x".to_owned(),
            '–' | '—' | '−' => "-".to_owned(),
            '’' | '‘' => "'".to_owned(),
            '“' | '”' => "\"".to_owned(),
            '→' => "right".to_owned(),
            '←' => "left".to_owned(),
            '·' => "-".to_owned(),
            '…' => "...".to_owned(),
            ascii if ascii.is_ascii() => ascii.to_string(),
            _ => "?".to_owned(),
        };
        text.chars().map(plain).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_locale_that_says_something_counts() {
        let look = |set: &'static [(&str, &str)]| {
            Look::of(true, move |name| set.iter().find(|(key, _)| *key == name).map(|(_, value)| (*value).to_owned()))
        };
        for (set, unicode) in [
            (&[("LANG", "de_DE.UTF-8")] as &[_], true),
            (&[("LANG", "C.utf8")], true),
            (&[("LC_ALL", "C"), ("LANG", "de_DE.UTF-8")], cfg!(not(target_os = "linux"))),
            (&[("LC_ALL", ""), ("LC_CTYPE", "en_GB.UTF-8"), ("LANG", "C")], true),
            (&[], cfg!(not(target_os = "linux"))),
        ] {
            assert_eq!(look(set).unicode, unicode, "{set:?}");
        }
        assert!(!Look::can_place(|_| Some("dumb".into())) && Look::can_place(|_| Some("xterm".into())));
    }

    #[test]
    fn what_cannot_be_shown_is_not_sent() {
        let plain = Look { color: false, unicode: false };
        assert_eq!(plain.text("4 × 50 – “Ärmel”…"), "4 x 50 - \"?rmel\"...");
    }
}
