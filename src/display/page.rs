//! A picture drawn row by row, from the top and from the bottom, into what is still free. What is in the rows is for others.

use super::look::Look;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

/// What is drawn on, and what of it is free.
pub(super) struct Canvas<'b> {
    pub buffer: &'b mut Buffer,
    pub look: Look,
    pub left: Rect,
}

impl Canvas<'_> {
    /// Takes rows off the top of what is free.
    pub fn take(&mut self, rows: u16) -> Rect {
        let rows = rows.min(self.left.height);
        let taken = Rect { height: rows, ..self.left };
        self.left.y += rows;
        self.left.height -= rows;
        taken
    }

    /// Takes a row off the bottom of what is free.
    pub fn take_last(&mut self) -> Rect {
        let rows = self.left.height.min(1);
        self.left.height -= rows;
        Rect { y: self.left.y + self.left.height, height: rows, ..self.left }
    }

    /// Text from a column of a row on, cut at the row's end; returns the column behind it.
    pub fn put(&mut self, row: Rect, column: u16, text: &str, style: Style) -> u16 {
        let outside = row.intersection(self.buffer.area).is_empty();
        if outside || column >= row.width {
            return column;
        }
        let text = self.look.text(text);
        let room = usize::from(row.width - column);
        let (end, _) = self.buffer.set_stringn(row.x + column, row.y, &text, room, style);
        end - row.x
    }

    /// A row with one text at each end; where both do not fit, the left one is cut.
    pub fn ends(&mut self, left: &str, right: &str, style: Style) {
        let row = self.take(1);
        let start = row.width.saturating_sub(width(&self.look.text(right)) + 1);
        let room = Rect { width: start.saturating_sub(1), ..row };
        self.put(room, 1, left, style);
        self.put(row, start, right, style);
    }

    /// Texts one after another in so many rows at the bottom, each whole; those without room are left out.
    pub fn flow(&mut self, texts: impl Iterator<Item = String>, rows: u16) {
        let taken: Vec<Rect> = (0..rows).map(|_| self.take_last()).collect();
        let mut free = taken.into_iter().rev();
        let Some(mut row) = free.next() else { return };
        let mut column = 1;
        for text in texts {
            if column > 1 && column + width(&text) > row.width {
                let Some(next) = free.next() else { return };
                (row, column) = (next, 1);
            }
            column = self.put(row, column, &text, Style::new()) + 3;
        }
    }
}

/// The columns that a text takes; of one that no screen holds, the most there are.
pub(super) fn width(text: &str) -> u16 {
    u16::try_from(text.width()).unwrap_or(u16::MAX)
}

#[cfg(test)]
mod drawing;

/// Pictures as text, and held against those that were kept.
#[cfg(test)]
pub(super) mod kept {
    use ratatui::buffer::Buffer;
    use std::path::Path;

    /// The characters of a picture, blanks at the ends of lines left out.
    pub fn text(buffer: &Buffer) -> String {
        let rows = buffer.content.chunks(usize::from(buffer.area.width.max(1)));
        rows.map(|row| row.iter().map(|cell| cell.symbol()).collect::<String>().trim_end().to_owned() + "\n").collect()
    }

    /// Fails where a picture is another than the one kept under this name, unless it is to be kept again.
    pub fn is_as_kept(name: &str, picture: &Buffer) {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/golden/screen/{name}.txt"));
        let found = text(picture);
        if std::env::var_os("LENGTHWISE_BLESS").is_some() {
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(&file, &found).unwrap();
        }
        let kept = std::fs::read_to_string(&file).unwrap_or_default();
        assert_eq!(found, kept, "{name} has changed:\n{found}");
    }

    /// Fails where a picture for the README is another than the one kept there, unless it is to be kept again.
    pub fn is_as_drawn(name: &str, about: &str, picture: &Buffer) {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("cue-packs/pictures/{name}.svg"));
        let found = super::drawing::svg(about, picture);
        if std::env::var_os("LENGTHWISE_BLESS").is_some() {
            std::fs::write(&file, &found).unwrap();
        }
        let kept = std::fs::read_to_string(&file).unwrap_or_default();
        assert!(found == kept, "{name}.svg has changed: LENGTHWISE_BLESS=1 draws it again");
    }
}
