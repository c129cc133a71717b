//! The screen of tapping as a picture: a pure function of what was tapped, the size, and what the terminal can show. Tempo and
//! count are as large as they fit: they are read in a glance from where the swimmer is seen.

use super::keys::TAP_KEYS;
use crate::display::big::{Big, LEAST_ROWS};
use crate::display::look::Look;
use crate::display::page::Canvas;
use crate::tapping::{TappedLength, TappedSwim, words};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// The rows of what is read from near.
const LINES: u16 = 5;

/// Draws into all of `buffer`; `asks` whether it is to end.
pub(super) fn view(title: &str, swim: &TappedSwim, asks: bool, look: Look, buffer: &mut Buffer) {
    let area = buffer.area;
    let mut page = Canvas { buffer, look, left: area };
    let current = swim.lengths.last().filter(|length| !length.closed);
    let number = swim.lengths.len() + usize::from(current.is_none());
    page.ends(title, &format!("length {number}"), look.faint());
    foot(&mut page, asks, area.height);
    // Between two lengths the one that is over is looked at.
    let shown = current.or(swim.lengths.last());
    if page.left.height > LINES + 2 {
        let rows = page.left.height - LINES;
        let place = page.take(rows);
        large(&mut page, place, shown);
    }
    let Some(length) = shown else {
        let row = page.take(1);
        page.put(row, 1, "tap at each hand that goes in; enter at the walls", Style::new());
        return;
    };
    for (index, line) in lines(length, swim).iter().enumerate() {
        let row = page.take(1);
        let style = if index == 0 { page.look.strong() } else { Style::new() };
        page.put(row, 1, line, style);
    }
}

fn foot(page: &mut Canvas<'_>, asks: bool, height: u16) {
    if asks {
        let row = page.take_last();
        page.put(row, 1, "End here? q ends, any hand goes on.", page.look.warning());
        return;
    }
    let keys = TAP_KEYS.iter().map(|row| format!("{} {}", row.shown, row.short));
    page.flow(keys, if height >= 12 { 2 } else { 1 });
}

/// The tempo and the count, side by side.
fn large(page: &mut Canvas<'_>, place: Rect, length: Option<&TappedLength>) {
    let half = place.width / 2;
    let tempo = length.and_then(|length| length.tempo).map_or("-".into(), |tempo| format!("{:.2}", tempo.seconds));
    let count = length.map_or("0".into(), |length| length.tapped.to_string());
    let fitting = |text: &str| Big::fitting(text, half.saturating_sub(3), place.height.saturating_sub(1));
    // Of one size, which stays: every tempo is as wide as this.
    let rows = fitting("0.88").zip(fitting(&count)).map_or(0, |(tempo, count)| tempo.rows.min(count.rows));
    for (left, text, label) in [(0, tempo, "seconds a stroke"), (half, count, "hands tapped")] {
        let place = Rect { x: place.x + left, width: half, ..place };
        page.put(Rect { height: 1.min(place.height), ..place }, 1, label, page.look.faint());
        let below = Rect { y: place.y + 1, height: place.height.saturating_sub(1), ..place };
        match Big::new(&text, rows).filter(|_| rows >= LEAST_ROWS) {
            Some(big) => {
                let area = Rect { x: below.x + 1, width: below.width.saturating_sub(1), height: rows, ..below };
                big.draw(area, page.buffer, page.look.unicode, page.look.focus());
            }
            None => {
                page.put(Rect { height: 1.min(below.height), ..below }, 1, &text, page.look.focus());
            }
        }
    }
}

/// What is read from near, the most needed first.
fn lines(length: &TappedLength, swim: &TappedSwim) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(tempo) = &length.tempo {
        let last = length.last.map_or(String::new(), |last| format!(" · last five {last:.2} s"));
        lines.push(format!("{} · {}{last}", words::tempo(tempo), words::rate(tempo.seconds)));
    }
    if length.count.is_none() {
        let place = length.doubts.last().map_or(String::new(), |last| format!(" ({})", words::doubt(last)));
        lines.push(format!("{}{place}", words::count(length)));
    }
    lines.extend(length.drift.as_ref().map(words::drift));
    lines.extend(words::breaths(&length.breaths));
    let odd = length.tempo.and_then(|tempo| words::odd_tempo(tempo.seconds));
    lines.extend(odd);
    let before = swim.lengths.iter().rev().skip(usize::from(!length.closed)).take(3);
    let before: Vec<String> = before
        .filter_map(|length| Some(format!("{} at {:.2} s", words::count(length), length.tempo?.seconds)))
        .collect();
    if !before.is_empty() {
        lines.push(format!("lengths before: {}", before.join("; ")));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::display::page::kept::{is_as_kept, text};
    use crate::tapping::{Tapping, parse};

    fn picture(taps: &str, asks: bool, (width, height): (u16, u16)) -> Buffer {
        let mut tapping = Tapping::new(1.0);
        for tap in parse(taps).unwrap() {
            tapping.hear(tap);
        }
        let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
        view("Ida Berg", &tapping.swim(), asks, Look { color: false, unicode: true }, &mut buffer);
        buffer
    }

    /// A length and some of the next: a hand was missed in it.
    fn taps() -> String {
        let first =
            (0..18).map(|stroke| format!("{:.2} {}\n", f64::from(stroke) * 1.1, ["", "", "l"][stroke as usize % 3]));
        let next =
            (0..12).filter(|stroke| *stroke != 6).map(|stroke| format!("{:.2}\n", 26.0 + f64::from(stroke) * 1.08));
        first.chain(["21.0 wall\n".to_owned()]).chain(next).collect()
    }

    #[test]
    fn pictures_are_those_that_were_kept() {
        is_as_kept("tap-80x24", &picture(&taps(), false, (80, 24)));
        is_as_kept("tap-40x10", &picture(&taps(), true, (40, 10)));
        is_as_kept("tap-begin-80x24", &picture("", false, (80, 24)));
    }

    #[test]
    fn no_size_is_too_small_and_the_tempo_goes_last() {
        for width in [0, 1, 7, 20, 200] {
            for height in [0, 1, 2, 5, 9, 60] {
                picture(&taps(), false, (width, height));
            }
        }
        let small = text(&picture(&taps(), false, (60, 4)));
        assert!(small.contains("1.08 s ± 0.0") && small.contains("11 tapped, or 12 with one missed tap"), "{small}");
    }
}
