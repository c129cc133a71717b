//! The live screen as a picture: a pure function of a snapshot, the size, and what the terminal can show. What is read from
//! afar (`board`) gets the room that is left when every line that is read from near has its own.

use super::board::board;
use super::front::{Front, Over};
use super::keys::table;
use super::look::Look;
use super::page::{Canvas, width};
use super::words;
use crate::session::snapshot::Snapshot;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Draws a snapshot into all of `buffer`.
pub fn view(snapshot: &Snapshot, front: Front, look: Look, buffer: &mut Buffer) {
    let area = buffer.area;
    let mut page = Canvas { buffer, look, left: area };
    let height = area.height;
    if front.over == Over::Keys {
        return page.keys_over(snapshot, front);
    }
    if height >= 8 && snapshot.swum.is_some() {
        page.head(snapshot, front);
    }
    page.foot(snapshot, height);
    board(&mut page, snapshot, front);
}

/// From this height on the keys leave room for the board.
const ROOMY: u16 = 24;

impl Canvas<'_> {
    /// Whose practice, which set, and the clock that go times are read by.
    fn head(&mut self, snapshot: &Snapshot, front: Front) {
        let set = snapshot
            .swum
            .as_ref()
            .map_or_else(String::new, |swum| format!("{} · set {} of {}", swum.title, swum.set.number, swum.set.of));
        let pool = front.top.map(|_| format!("pool {} · ", words::reading(snapshot, front, snapshot.elapsed)));
        let (now, all) = (words::clock(snapshot.elapsed), words::clock(snapshot.total));
        let clock = format!("{}{now} of {all}", pool.unwrap_or_default());
        let row = self.left;
        let apart = width(&self.look.text(&snapshot.title)) + width(&self.look.text(&set)) + width(&clock) + 6;
        let left = if apart > row.width { set } else { format!("{} · {set}", snapshot.title) };
        self.ends(&left, &clock, self.look.strong());
    }

    /// What is read from near, from the bottom up.
    fn foot(&mut self, snapshot: &Snapshot, height: u16) {
        if height < 3 {
            return;
        }
        if height >= 14 {
            let row = self.take_last();
            self.key_line(row, 1, snapshot);
            self.last(snapshot, "");
        } else {
            self.last(snapshot, "? keys");
        }
        let rows = match height {
            0..22 => 0,
            22..36 => 1,
            36..50 => 2,
            _ => 3,
        };
        self.flow(words::facts(snapshot).into_iter(), rows);
    }

    /// What came of the last key; at the other end the level and the device, or a hint where there is no room for them.
    fn last(&mut self, snapshot: &Snapshot, hint: &str) {
        let row = self.take_last();
        let (device, sounds) = words::device(snapshot);
        let (level, share) = words::level(snapshot.level);
        let missed = words::missed(snapshot);
        let end = match (hint, missed.as_deref(), sounds) {
            ("", Some(missed), _) => missed.to_owned(),
            ("", None, true) => format!("{device}  {level:>7}"),
            (hint, ..) => hint.to_owned(),
        };
        let cells = if hint.is_empty() && sounds && missed.is_none() { (row.width / 10).min(16) } else { 0 };
        let most = row.width.saturating_sub(cells + 3);
        let start = row.width.saturating_sub(width(&self.look.text(&end)).min(most * 3 / 5) + cells + 2);
        let last = snapshot.last.as_deref().unwrap_or_default();
        // What somebody has just asked for is more than the name of the device.
        let needed = width(&self.look.text(last)) + 3;
        let start = if hint.is_empty() { start.max(needed.min(row.width)) } else { start };
        self.put(Rect { width: start.saturating_sub(1), ..row }, 1, last, self.look.strong());
        // Blocks that were late and cost no time are nothing to look up for.
        let lost = snapshot.behind.is_some() || snapshot.missed_cues > 0;
        let style = if lost { self.look.warning() } else { self.look.faint() };
        let mut column = self.put(row, start, &end, style) + 1;
        let filled = (share * f64::from(cells)).round() as u16;
        let (full, empty) = if self.look.unicode { ("█", "░") } else { ("#", ".") };
        for cell in 0..cells {
            let (symbol, style) = if cell < filled { (full, Style::new()) } else { (empty, self.look.faint()) };
            column = self.put(row, column, symbol, style);
        }
    }

    /// As many keys as there is room for, the last two always.
    fn key_line(&mut self, row: Rect, from: u16, snapshot: &Snapshot) {
        let text = |row: &super::key_tables::KeyRow| format!("{} {}", row.first(), row.short_now(snapshot));
        let keys = table(snapshot);
        let (first, last) = keys.split_at(keys.len().saturating_sub(2));
        let last: Vec<_> = last.iter().map(text).collect();
        let end = last.iter().map(|text| width(text) + 2).sum::<u16>();
        let mut column = from;
        for key in first.iter().map(text) {
            if column + width(&key) + 2 + end > row.width {
                break;
            }
            column = self.put(row, column, &key, self.look.faint()) + 2;
        }
        let mut column = column.max(from).min(row.width.saturating_sub(end).max(from));
        for key in last {
            column = self.put(row, column, &key, self.look.faint()) + 2;
        }
    }

    /// All keys, and what goes on in what they leave.
    fn keys_over(&mut self, snapshot: &Snapshot, front: Front) {
        let height = self.left.height;
        let needed = (table(snapshot).len() as u16).div_ceil(2) + 1;
        if height < ROOMY {
            let go = words::go(snapshot, front).into_iter().next().map_or_else(String::new, |go| go.text);
            self.ends(&words::time(snapshot).text, &go, self.look.strong());
        } else {
            let below = Rect { y: self.left.y + height - needed, height: needed, ..self.left };
            self.left.height -= needed;
            board(self, snapshot, front);
            self.left = below;
            self.take(1);
        }
        self.keys(snapshot);
    }

    /// The whole table of keys in what is left, in as many columns as it takes.
    fn keys(&mut self, snapshot: &Snapshot) {
        let (rows, keys) = (self.left.height.max(1), table(snapshot));
        let columns = (keys.len() as u16).div_ceil(rows).max(1);
        let each = self.left.width / columns;
        let long = keys.iter().map(|row| width(row.words)).max().unwrap_or(0) + 10 <= each;
        for (index, key) in (0_u16..).zip(keys) {
            let (column, row) = (index / rows * each, index % rows);
            let area =
                Rect { y: self.left.y + row, height: 1, width: (column + each).min(self.left.width), ..self.left };
            let (keys, words, at) =
                if long { (key.shown, key.words, 10) } else { (key.first(), key.short_now(snapshot), 7) };
            self.put(area, column + 1, keys, self.look.strong());
            self.put(area, column + at, words, Style::new());
        }
    }
}

#[cfg(test)]
mod tests;
