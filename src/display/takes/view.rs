//! The screen of a recording as a picture: a pure function of a snapshot, the size, and what the terminal can show. The words to
//! say get the room that is left, as large as they fit, for they are read from where the microphone stands.

use crate::display::big::{Big, LEAST_ROWS};
use crate::display::lettering::broken;
use crate::display::look::Look;
use crate::display::page::{Canvas, width};
use crate::recording::answer::ROWS;
use crate::recording::snapshot::{RecordingSnapshot, State};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// The level at the left end of the meter, in dBFS; full scale is at the right end.
const LOWEST: f64 = -60.0;
/// Peaks from here on are close to being cut off, in dBFS.
const HOT: f64 = -3.0;

/// Draws a snapshot into all of `buffer`; `asks` whether the take that waits may be lost.
pub fn view(snapshot: &RecordingSnapshot, asks: bool, look: Look, buffer: &mut Buffer) {
    let area = buffer.area;
    let mut page = Canvas { buffer, look, left: area };
    let height = area.height;
    let (at, of) = snapshot.of;
    page.ends(
        &format!("{} · {}", snapshot.title, snapshot.voice),
        &format!("{at} of {of} · {} kept", snapshot.kept),
        look.faint(),
    );
    if height >= 6 {
        let microphone = if snapshot.microphone.is_empty() { "no microphone" } else { &snapshot.microphone };
        page.ends(&snapshot.name, microphone, Style::new());
    }
    foot(&mut page, snapshot, asks, height);
    middle(&mut page, snapshot);
}

/// What is read from near, from the bottom up.
fn foot(page: &mut Canvas<'_>, snapshot: &RecordingSnapshot, asks: bool, height: u16) {
    let row = page.take_last();
    if asks {
        let ask = "Stop here? The take that waits goes, what is kept stays: q stops, any other key goes on.";
        page.put(row, 1, ask, page.look.warning());
    } else {
        keys(page, row, snapshot.state);
    }
    if height >= 4 {
        meter(page, snapshot);
    }
    if height < 8 {
        return;
    }
    let row = page.take_last();
    if let Some(last) = &snapshot.last {
        page.put(row, 1, last, page.look.strong());
    }
    let Some((line, faults)) = &snapshot.take else { return };
    // From the bottom up, so the worst, which is the first, is put last and stands on top.
    let room = usize::from(height.saturating_sub(10) / 2).clamp(1, 6);
    for (fault, advice) in faults.iter().take(room.div_ceil(2)).rev() {
        if room > 1 {
            let row = page.take_last();
            page.put(row, 3, advice, Style::new());
        }
        let row = page.take_last();
        page.put(row, 1, &format!(" {fault} "), page.look.warning());
    }
    let row = page.take_last();
    page.put(row, 1, line, Style::new());
}

/// The answers that have a sense now, and those that always have.
fn keys(page: &mut Canvas<'_>, row: Rect, state: State) {
    use crate::recording::answer::Answer::{Again, Begin, Done, Keep, Play};
    let fits = |row: &&crate::recording::answer::AnswerRow| match row.answer {
        Begin => state == State::Ready,
        Done => matches!(state, State::Recording(_)),
        Keep | Play => matches!(state, State::Decision(_)),
        Again => matches!(state, State::Decision(_) | State::Recording(_) | State::Count(_)),
        _ => state != State::Over,
    };
    let mut column = 1;
    if let Some(natural) = state.natural() {
        column = page.put(row, column, &format!("space {natural}"), page.look.strong()) + 2;
    }
    for key in ROWS.iter().filter(fits).filter(|row| Some(row.answer) != state.natural()) {
        column = page.put(row, column, &format!("{} {}", key.key, key.line), page.look.faint()) + 2;
    }
}

/// The level of the moment, the largest of the last seconds, and the room.
fn meter(page: &mut Canvas<'_>, snapshot: &RecordingSnapshot) {
    let row = page.take_last();
    let (Some(level), Some(peak)) = (snapshot.level, snapshot.peak) else {
        let text = format!(" {:<1$}", "no microphone: plug it in, it goes on then", usize::from(row.width));
        page.put(row, 0, &text, page.look.warning());
        return;
    };
    let room = snapshot.room.map_or(String::new(), |room| format!("  room {room:.0}"));
    // Without this a level just below 0 would read -0.
    let (level, peak) = (libm::round(level) + 0.0, libm::round(peak) + 0.0);
    let text = format!(" {level:>4.0} dBFS  peak {peak:>4.0}{room}");
    let cells = row.width.saturating_sub(width(&text) + 3).min(60);
    let cell = |level: f64| ((level - LOWEST) / -LOWEST * f64::from(cells)).clamp(0.0, f64::from(cells)) as u16;
    let (filled, held) = (cell(level), cell(peak).saturating_sub(1));
    let (full, empty, mark) = if page.look.unicode { ("█", "░", "┃") } else { ("#", ".", "|") };
    for at in 0..cells {
        let hot = f64::from(at + 1) / f64::from(cells) * -LOWEST + LOWEST > HOT;
        let (symbol, style) = match (at < filled, at == held && peak > LOWEST) {
            (true, _) if hot => (full, page.look.warning()),
            (true, _) => (full, Style::new()),
            (false, true) => (mark, page.look.strong()),
            (false, false) => (empty, page.look.faint()),
        };
        page.put(row, 1 + at, symbol, style);
    }
    let style = if peak > HOT { page.look.warning() } else { Style::new() };
    page.put(row, 1 + cells, &text, style);
}

/// The words to say, and what to do now.
fn middle(page: &mut Canvas<'_>, snapshot: &RecordingSnapshot) {
    let height = page.left.height;
    let (word, count) = match snapshot.state {
        State::Ready => ("press space", None),
        State::Count(left) => ("get ready", Some(left.to_string())),
        State::Recording(false) => ("SPEAK", None),
        State::Recording(true) => ("SPEAK ...", None),
        State::Decision(true) => ("playing", None),
        State::Decision(false) => ("keep it?", None),
        State::Deaf => ("no microphone", None),
        State::Over => ("the end", None),
    };
    let shown = count.unwrap_or_else(|| word.to_owned());
    // What to do stands below the words; large where that leaves them enough, not at all where it would take their only row.
    let rows = match height {
        0..=1 => 0,
        2..16 => 1,
        _ => LEAST_ROWS + 2,
    };
    let below = Rect { y: page.left.y + height - rows, height: rows, ..page.left };
    page.left.height -= rows;
    let style = if matches!(snapshot.state, State::Recording(_)) { page.look.focus() } else { page.look.strong() };
    let big = Big::fitting(&shown, below.width.saturating_sub(4), rows.saturating_sub(1));
    match big.filter(|_| rows > LEAST_ROWS) {
        Some(big) => {
            let area = Rect { x: below.x + 2, y: below.y + 1, width: below.width.saturating_sub(2), height: big.rows };
            big.draw(area, page.buffer, page.look.unicode, style);
        }
        None => {
            page.put(Rect { height: 1.min(rows), ..below }, 1, &shown, style);
        }
    }
    words(page, &snapshot.text);
}

/// The words, in the largest letters in which all of them fit, on one line or several.
fn words(page: &mut Canvas<'_>, text: &str) {
    let area = page.left;
    let words: Vec<&str> = text.split_whitespace().collect();
    let room = area.width.saturating_sub(4);
    let drawn = (1..=words.len().min(4)).filter_map(|count| {
        let lines = broken(&words, count);
        let each = (area.height / count as u16).checked_sub(1)?;
        let rows = lines.iter().map(|line| Some(Big::fitting(line, room, each)?.rows)).collect::<Option<Vec<_>>>()?;
        let rows = rows.into_iter().min()?;
        let lines: Option<Vec<Big>> = lines.iter().map(|line| Big::new(line, rows)).collect();
        Some((rows, lines?))
    });
    if let Some((rows, lines)) = drawn.max_by_key(|(rows, lines)| (*rows, std::cmp::Reverse(lines.len()))) {
        let all = lines.len() as u16 * (rows + 1);
        let mut y = area.y + (area.height.saturating_sub(all) / 2);
        for line in lines {
            let place = Rect { x: area.x + 2, y, width: area.width.saturating_sub(2), height: rows };
            line.draw(place, page.buffer, page.look.unicode, page.look.focus());
            y += rows + 1;
        }
        return;
    }
    // In ordinary letters, as many lines as it takes.
    let mut row = page.take(1);
    let mut column = 1;
    for word in words {
        if column > 1 && column + width(word) > row.width {
            (row, column) = (page.take(1), 1);
        }
        column = page.put(row, column, word, page.look.focus()) + 1;
    }
}

#[cfg(test)]
mod tests;
