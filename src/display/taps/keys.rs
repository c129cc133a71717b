//! The keys of tapping: one table from which the screen's own line, `--help` and LIVE.md are made.

use crate::tapping::TapKey;
use crate::units::swim::Side;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// One row of the table.
#[derive(Debug)]
pub struct TapKeyRow {
    /// The keys as a person writes them.
    pub shown: &'static str,
    /// What it means, in a word or two.
    pub short: &'static str,
    /// What it means.
    pub words: &'static str,
    keys: &'static [KeyCode],
    asks: TapAsked,
}

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TapAsked {
    /// Something was seen.
    Tap(TapKey),
    /// The end.
    End,
    /// The end, as an interrupt asks for it.
    Interrupt,
    /// Everything drawn again.
    Redraw,
    /// Nothing.
    Nothing,
}

/// Every key with a meaning of its own; every other one that writes a character is a hand.
pub const TAP_KEYS: &[TapKeyRow] = &[
    row("space", "hand", "a hand goes in; so is every key that is not below", &[KeyCode::Char(' ')], TapKey::Stroke),
    row("b", "breath", "a hand goes in, with a breath", &[KeyCode::Char('b')], TapKey::Breath(None)),
    row("←", "left", "a hand goes in, with a breath to the left", &[KeyCode::Left], TapKey::Breath(Some(Side::Left))),
    row(
        "→",
        "right",
        "a hand goes in, with a breath to the right",
        &[KeyCode::Right],
        TapKey::Breath(Some(Side::Right)),
    ),
    row("enter", "wall", "the wall: the push-off, a turn, the touch", &[KeyCode::Enter], TapKey::Wall),
    row("n", "anew", "this length anew: its taps go", &[KeyCode::Char('n')], TapKey::Anew),
    row("backspace", "undo", "take the last key back", &[KeyCode::Backspace, KeyCode::Delete], TapKey::Undo),
    TapKeyRow {
        shown: "q",
        short: "end",
        words: "end; asks once",
        keys: &[KeyCode::Char('q'), KeyCode::Esc],
        asks: TapAsked::End,
    },
];

const fn row(
    shown: &'static str,
    short: &'static str,
    words: &'static str,
    keys: &'static [KeyCode],
    key: TapKey,
) -> TapKeyRow {
    TapKeyRow { shown, short, words, keys, asks: TapAsked::Tap(key) }
}

/// What a key asks for, whatever its case. A key that is held down counts once where the terminal tells.
pub fn tap_asked(key: &KeyEvent) -> TapAsked {
    if key.kind != KeyEventKind::Press {
        return TapAsked::Nothing;
    }
    if key.modifiers.contains(KeyModifiers::CONTROL) {
        return match key.code {
            KeyCode::Char('c' | 'd') => TapAsked::Interrupt,
            KeyCode::Char('l') => TapAsked::Redraw,
            _ => TapAsked::Nothing,
        };
    }
    let code = match key.code {
        KeyCode::Char(character) => KeyCode::Char(character.to_ascii_lowercase()),
        other => other,
    };
    match TAP_KEYS.iter().find(|row| row.keys.contains(&code)) {
        Some(row) => row.asks,
        None if matches!(code, KeyCode::Char(_) | KeyCode::Up | KeyCode::Down) => TapAsked::Tap(TapKey::Stroke),
        None => TapAsked::Nothing,
    }
}

/// The table for `--help`, a key a line. Arrows are words here: manual pages are typeset where there are none.
pub fn help() -> String {
    let word = |row: &TapKeyRow| row.shown.replace('→', "right").replace('←', "left");
    TAP_KEYS.iter().map(|row| format!("  {:<10} {}", word(row), row.words)).collect::<Vec<_>>().join("\n")
}

/// The table as LIVE.md has it.
pub fn markdown() -> String {
    let rows = TAP_KEYS.iter().map(|row| format!("| `{}` | {} |\n", row.shown, row.words));
    format!("| key | what was seen |\n| --- | --- |\n{}", rows.collect::<String>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn most_keys_are_hands() {
        let ask = |code, modifiers| tap_asked(&KeyEvent::new(code, modifiers));
        let plain = |code| ask(code, KeyModifiers::NONE);
        for code in [KeyCode::Char(' '), KeyCode::Char('j'), KeyCode::Char('5'), KeyCode::Up] {
            assert_eq!(plain(code), TapAsked::Tap(TapKey::Stroke), "{code:?}");
        }
        assert_eq!(ask(KeyCode::Char('B'), KeyModifiers::SHIFT), TapAsked::Tap(TapKey::Breath(None)));
        assert_eq!(plain(KeyCode::Left), TapAsked::Tap(TapKey::Breath(Some(Side::Left))));
        assert_eq!(plain(KeyCode::Esc), TapAsked::End);
        assert_eq!(plain(KeyCode::F(1)), TapAsked::Nothing);
        assert_eq!(ask(KeyCode::Char('c'), KeyModifiers::CONTROL), TapAsked::Interrupt);
        let mut held = KeyEvent::new(KeyCode::Char(' '), KeyModifiers::NONE);
        held.kind = KeyEventKind::Repeat;
        assert_eq!(tap_asked(&held), TapAsked::Nothing);
        for row in TAP_KEYS {
            assert!(help().contains(row.words) && markdown().contains(row.words), "{row:?}");
        }
    }
}
