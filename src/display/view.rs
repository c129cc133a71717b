//! The live screen as a picture: a pure function of a snapshot, the size, and what the terminal can show. What is read from
//! afar gets the room that is left when every line that is read from near has its own; with little room, lines go, the
//! count stays.

use super::big::Big;
use super::keys::KEYS;
use super::look::Look;
use super::page::{Canvas, width};
use super::words;
use crate::conductor::situation::Activity;
use crate::session::snapshot::Snapshot;
use crate::units::time::Seconds;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// What is asked or said over the rest.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Over {
    /// Nothing.
    #[default]
    Nothing,
    /// All keys.
    Keys,
    /// Whether to stop.
    Stop,
    /// Whether a touch so early is meant; asked at this moment of the practice.
    Touch(Seconds),
}

/// Draws a snapshot into all of `buffer`.
pub fn view(snapshot: &Snapshot, over: Over, look: Look, buffer: &mut Buffer) {
    let area = buffer.area;
    let mut page = Canvas { buffer, look, left: area };
    let height = area.height;
    let (count, label) = words::count(snapshot);
    if over == Over::Keys && height < ROOMY {
        page.ends(&format!("{} {count}", words::phase(snapshot).to_uppercase()), label, look.strong());
        return page.keys(snapshot);
    }
    let of = format!("{} of {}", words::clock(snapshot.elapsed), words::clock(snapshot.total));
    page.ends(&snapshot.title, &of, look.faint());
    if height >= 5 {
        let ((set, sets), (repeat, repeats)) = (snapshot.set_of, snapshot.repeat_of);
        let sets = if sets > 0 { format!("set {set} of {sets}: {}", snapshot.set_title) } else { String::new() };
        let repeats = if repeats > 0 { format!("repeat {repeat} of {repeats}") } else { String::new() };
        page.ends(&sets, &repeats, look.strong());
    }
    if height >= 12 {
        page.ends(&snapshot.now, &words::length(snapshot).unwrap_or_default(), Style::new());
    }
    if height >= 14 {
        page.rope(snapshot);
    }
    if over == Over::Keys {
        let rows = page.left.height.saturating_sub(KEYS_ROWS);
        let middle = page.take(rows);
        page.count(snapshot, middle);
        return page.keys(snapshot);
    }
    page.foot(snapshot, over, height);
    page.middle(snapshot);
}

/// From this height on the keys leave room for the count.
const ROOMY: u16 = 20;
/// Rows of the table of keys there: two columns and a line between.
const KEYS_ROWS: u16 = 10;

impl Canvas<'_> {
    /// The swim from wall to wall, a part for each length, filled as it is swum; in a rest it empties until the go.
    fn rope(&mut self, snapshot: &Snapshot) {
        let row = self.take(1);
        let Some(inner) = row.width.checked_sub(4).filter(|inner| *inner >= 10) else { return };
        let (wall, full, empty, part) =
            if self.look.unicode { ("┃", "━", "─", "┼") } else { ("|", "=", "-", "+") };
        let share = words::share(snapshot).unwrap_or(0.0);
        let filled = (share * f64::from(inner)) as u16;
        let lengths = u64::from(snapshot.situation.length.map_or(1, |(_, all)| all.max(1)));
        for column in 0..inner {
            // A mark where a length ends, if they are not too close.
            let ends = |column: u16| u64::from(column) * lengths / u64::from(inner);
            let mark = lengths * 3 < u64::from(inner) && column > 0 && ends(column) != ends(column - 1);
            let (symbol, style) = match (column < filled, mark) {
                (_, true) => (part, Style::new()),
                (true, false) => (full, self.look.strong()),
                (false, false) => (empty, self.look.faint()),
            };
            self.put(row, 2 + column, symbol, style);
        }
        self.put(row, 1, wall, self.look.strong());
        self.put(row, 2 + inner, wall, self.look.strong());
    }

    /// What is read from near, from the bottom up.
    fn foot(&mut self, snapshot: &Snapshot, over: Over, height: u16) {
        if height < 3 {
            return;
        }
        let row = self.take_last();
        let last = snapshot.last.as_deref().unwrap_or_default();
        if over == Over::Stop {
            let ask = "Stop here? q or y stops; what was swum is kept. Any other key plays on.";
            self.put(row, 1, ask, self.look.warning());
        } else if let (Over::Touch(_), Some(go)) = (over, snapshot.situation.go) {
            let ask = format!("Touch at {}? t again takes it.", words::clock(snapshot.elapsed - go));
            self.put(row, 1, &ask, self.look.warning());
        } else if height >= 14 {
            self.key_line(row, 1, snapshot);
            let row = self.take_last();
            self.put(row, 1, last, self.look.strong());
        } else {
            let help = "? keys";
            if last.is_empty() {
                self.key_line(row, 1, snapshot);
            } else {
                let start = row.width.saturating_sub(width(help) + 1);
                self.put(Rect { width: start.saturating_sub(1), ..row }, 1, last, self.look.strong());
                self.put(row, start, help, self.look.faint());
            }
        }
        if height >= 4 {
            self.device(snapshot);
        }
        if height >= 12 {
            let row = self.take_last();
            let next = snapshot.next.as_deref().map_or_else(String::new, |next| format!("then {next}"));
            self.put(row, 1, &next, Style::new());
        }
        let rows = match height {
            0..10 => 0,
            10..16 => 1,
            16..40 => 2,
            _ => 4,
        };
        let facts = [words::touch(snapshot), words::tempo(snapshot), words::faders(snapshot)];
        let splits = words::splits(snapshot).into_iter().skip(usize::from(snapshot.situation.touched.is_some()));
        let facts = facts.into_iter().flatten().chain(splits);
        self.flow(facts, rows);
    }

    /// The level, the device, and what was missed.
    fn device(&mut self, snapshot: &Snapshot) {
        let row = self.take_last();
        let (device, sounds) = words::device(snapshot);
        let mut column = 1;
        if sounds {
            let (text, share) = words::level(snapshot.level);
            let cells = (row.width / 5).min(40);
            let filled = (share * f64::from(cells)).round() as u16;
            let (full, empty) = if self.look.unicode { ("█", "░") } else { ("#", ".") };
            for cell in 0..cells {
                let (symbol, style) = if cell < filled { (full, Style::new()) } else { (empty, self.look.faint()) };
                column = self.put(row, column, symbol, style);
            }
            column = self.put(row, column + 1, &format!("{text:<8}"), Style::new()) + 1;
        }
        if let Some(missed) = words::missed(snapshot) {
            column = self.put(row, column, &format!(" {missed} "), self.look.warning()) + 2;
        }
        let style = if sounds { self.look.faint() } else { self.look.warning() };
        // Across the whole width, so that it is seen from afar that something is wrong.
        let text = if sounds { device } else { format!(" {device:<0$}", usize::from(row.width)) };
        self.put(row, column, &text, style);
    }

    /// As many keys as there is room for, the last two always.
    fn key_line(&mut self, row: Rect, from: u16, snapshot: &Snapshot) {
        let text = |row: &super::keys::KeyRow| format!("{} {}", row.first(), row.short_now(snapshot));
        let (first, last) = KEYS.split_at(KEYS.len().saturating_sub(2));
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

    /// The whole table of keys in what is left, in as many columns as it takes.
    fn keys(&mut self, snapshot: &Snapshot) {
        let rows = self.left.height.max(1);
        let columns = (KEYS.len() as u16).div_ceil(rows).max(1);
        let each = self.left.width / columns;
        let long = KEYS.iter().map(|row| width(row.words)).max().unwrap_or(0) + 12 <= each;
        for (index, key) in (0_u16..).zip(KEYS) {
            let (column, row) = (index / rows * each, index % rows);
            let area =
                Rect { y: self.left.y + row, height: 1, width: (column + each).min(self.left.width), ..self.left };
            let (keys, words, at) =
                if long { (key.shown, key.words, 12) } else { (key.first(), key.short_now(snapshot), 7) };
            self.put(area, column + 1, keys, self.look.strong());
            self.put(area, column + at, words, Style::new());
        }
    }

    /// What is read from afar.
    fn middle(&mut self, snapshot: &Snapshot) {
        let height = self.left.height;
        let focus = snapshot.situation.focus.clone().filter(|_| snapshot.situation.phase != Activity::Over);
        let focus = focus.unwrap_or_default();
        // In a rest it is what comes; the words say so, for the place is the same.
        let coming = snapshot.situation.phase != Activity::Swim && !focus.is_empty();
        if height >= 11 {
            let rows = height * 3 / 5;
            let area = self.take(rows);
            self.count(snapshot, area);
            let room = self.left.height.saturating_sub(2);
            if let Some(big) = Big::fitting(&focus, self.left.width.saturating_sub(3), room) {
                let label = self.take(1);
                self.put(label, 1, if coming { "to come" } else { "" }, self.look.faint());
                let area = self.take(room);
                let area = Rect {
                    x: area.x + 2,
                    y: area.y + (room - big.rows) / 2,
                    width: area.width.saturating_sub(2),
                    ..area
                };
                return big.draw(area, self.buffer, self.look.unicode, self.look.focus());
            }
            self.take(1);
        } else {
            let rows = if focus.is_empty() { height } else { height.saturating_sub(1).max(1) };
            let area = self.take(rows);
            self.count(snapshot, area);
        }
        let row = self.take(1);
        let column = if coming { self.put(row, 1, "to come:", self.look.faint()) + 1 } else { 1 };
        self.put(row, column, &focus, self.look.focus());
    }

    /// What is happening, and the time that matters, as large as there is room.
    fn count(&mut self, snapshot: &Snapshot, area: Rect) {
        let (count, label) = words::count(snapshot);
        let word = words::phase(snapshot).to_uppercase();
        let style = if snapshot.paused { self.look.warning() } else { self.look.strong() };
        let ink = if snapshot.paused { self.look.faint() } else { self.look.strong() };
        let line = |row: u16| Rect { y: area.y + row.min(area.height), height: u16::from(row < area.height), ..area };
        let side = (area.width * 2 / 5).max(16);
        let room = area.width.saturating_sub(side + 2);
        // The size goes by how many digits there are, not by which: it must not change every second.
        let shape: String = count.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect();
        let rows = Big::fitting(&shape, room, area.height).map(|big| big.rows);
        let Some(big) = rows.and_then(|rows| Big::new(&count, rows)) else {
            let column = self.put(line(0), 1, &word, style) + 2;
            let column = self.put(line(0), column, &count, self.look.strong()) + 1;
            self.put(line(0), column, label, Style::new());
            return;
        };
        let right = Rect {
            x: area.x + area.width.saturating_sub(big.width + 1),
            y: area.y + (area.height - big.rows) / 2,
            width: big.width,
            height: big.rows,
        };
        big.draw(right, self.buffer, self.look.unicode, ink);
        let small = area.height.saturating_sub(3).min(big.rows);
        let below = match Big::fitting(&word, side.saturating_sub(1), small) {
            Some(word) => {
                let top = (area.height - word.rows - 2) / 2;
                let place = Rect { x: area.x + 2, y: area.y + top, width: side, height: word.rows };
                word.draw(place, self.buffer, self.look.unicode, self.look.strong());
                top + word.rows + 1
            }
            None => {
                let top = area.height.saturating_sub(3) / 2;
                let text = if snapshot.paused { format!(" {word} ") } else { word };
                self.put(line(top), 1, &text, style);
                top + 1
            }
        };
        self.put(Rect { width: side, ..line(below) }, 1, label, Style::new());
    }
}

#[cfg(test)]
mod tests;
