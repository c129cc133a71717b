//! What is read from the edge of the pool: what is swum, which repeat, the time, the next go and the focus, in letters as
//! large as the room allows, the lane between them. With little room, lines go, the time stays.
//!
//! All letters are of one size, the largest in which everything has its place; then the time and the focus grow into what
//! is left.

use super::big::{Big, SMALLEST_ROWS};
use super::front::Front;
use super::lettering::lettered;
use super::look::Look;
use super::page::{Canvas, width};
use super::strip;
use super::words::{self, Wide};
use crate::conductor::situation::Activity;
use crate::session::snapshot::Snapshot;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// What is given up where the room is small, one after another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Frugal {
    /// Nothing.
    Nothing,
    /// Large letters for the focus.
    Focus,
    /// The lane: what its lengths are is told in a line.
    Lane,
    /// Large letters for what went wrong.
    Alarm,
    /// Large letters for what a line below the time tells too: the reading of the pace clock in a rest, what is the last one.
    On,
    /// Large letters for which repeat it is.
    Which,
    /// Large letters for all but the time and the next go.
    Names,
    /// Large letters for all but the time.
    Go,
    /// All large letters.
    Letters,
}

const FRUGAL: [Frugal; 9] = [
    Frugal::Nothing,
    Frugal::Focus,
    Frugal::Lane,
    Frugal::Alarm,
    Frugal::On,
    Frugal::Which,
    Frugal::Names,
    Frugal::Go,
    Frugal::Letters,
];
/// Columns between what stands side by side.
const APART: u16 = 3;
/// Lines of large letters at most, for names, for names where there is no other way, and for the focus.
const NAME_LINES: usize = 2;
const LONG_NAME_LINES: usize = 3;
const FOCUS_LINES: usize = 3;

/// A part of the board.
#[derive(Debug)]
enum Part {
    /// Lines of letters of so many rows; between bars where they must not be overlooked.
    Letters { words: Vec<String>, lines: Vec<String>, rows: u16, style: Style, plate: bool, grows: bool },
    /// The time at one end, the next go at the other.
    Beside { time: Wide, go: Wide, rows: u16, plate: bool },
    /// Ordinary text.
    Line { text: String, style: Style, plate: bool },
    /// The lane, and what its lengths are.
    Lane,
    /// Who shares the lane, in so many rows.
    Strip(u16),
}

impl Part {
    /// Rows of the terminal that it takes.
    fn rows(&self) -> u16 {
        match self {
            // Between large letters lies a row, between small ones there is none to spare.
            Self::Letters { lines, rows, .. } => (lines.len() as u16) * (rows + line_gap(*rows)) - line_gap(*rows),
            Self::Beside { rows, .. } => *rows,
            Self::Line { .. } => 1,
            Self::Lane => 2,
            Self::Strip(rows) => *rows,
        }
    }
}

/// Columns of a bar beside letters of so many rows that must not be overlooked, and between it and them.
const fn bar(rows: u16) -> (u16, u16) {
    if rows < 6 { (2, 1) } else { (rows / 2, rows / 3) }
}

/// Columns of both bars, with what is inside of them.
const fn bars(rows: u16) -> u16 {
    let (bar, inside) = bar(rows);
    2 * (bar + inside)
}

const fn line_gap(rows: u16) -> u16 {
    if rows > 4 { 1 } else { 0 }
}

/// Fills what is left of a page.
pub(super) fn board(page: &mut Canvas<'_>, snapshot: &Snapshot, front: Front) {
    let room = page.left;
    let (width, height) = (room.width.saturating_sub(2), page.buffer.area.height);
    let arrangement = Arrangement { snapshot, front, look: page.look, width, height };
    let mut parts = arrangement.best(room.height);
    let mut free = room.height.saturating_sub(parts.iter().map(Part::rows).sum());
    for part in &mut parts {
        free -= arrangement.grow(part, free);
    }
    // What is still free goes between the parts, from the top.
    let mut gaps = parts.len().saturating_sub(1) as u16;
    for part in &parts {
        page.part(part, snapshot);
        if gaps > 0 && free > 0 {
            let gap = free.div_ceil(gaps).min(2);
            page.take(gap);
            free -= gap;
        }
        gaps = gaps.saturating_sub(1);
    }
}

struct Arrangement<'p> {
    snapshot: &'p Snapshot,
    front: Front,
    look: Look,
    width: u16,
    /// Of the whole terminal.
    height: u16,
}

impl Arrangement<'_> {
    /// The parts in the largest letters in which they fit so many rows, with as little given up as can be.
    fn best(&self, height: u16) -> Vec<Part> {
        let fits = |parts: &Vec<Part>| parts.iter().map(Part::rows).sum::<u16>() <= height;
        let most = (height / 3).max(SMALLEST_ROWS);
        // A tenth of the terminal, if only something else is given up for it; half a row of letters is empty.
        for least in [((self.height + 5).div_ceil(10)).max(SMALLEST_ROWS), SMALLEST_ROWS] {
            for frugal in FRUGAL.into_iter().filter(|frugal| least == SMALLEST_ROWS || *frugal < Frugal::Which) {
                let sizes = (least..=most).rev();
                if let Some(parts) = sizes.filter_map(|rows| self.parts(frugal, rows)).find(fits) {
                    return parts;
                }
            }
        }
        // Less than a line for everything: what matters most comes first.
        let mut parts = self.parts(Frugal::Letters, SMALLEST_ROWS).unwrap_or_default();
        while parts.iter().map(Part::rows).sum::<u16>() > height && parts.pop().is_some() {}
        parts
    }

    /// The parts in letters of so many rows; none where one of them does not fit the width.
    fn parts(&self, frugal: Frugal, rows: u16) -> Option<Vec<Part>> {
        let Self { snapshot, front, look, .. } = *self;
        let mut parts = Vec::new();
        if let Some(alarm) = words::alarm(snapshot, front) {
            let large = frugal < Frugal::Alarm;
            let most = if large { 2 } else { 1 };
            let more = alarm.lines.len().saturating_sub(most);
            for (index, text) in alarm.lines.into_iter().take(most).enumerate() {
                let text = if more > 0 && index + 1 == most { format!("{text}, and {more} more") } else { text };
                parts.push(Part::Line { text, style: look.warning(), plate: true });
            }
            // Below the sentences, since half a row below letters is empty.
            if large {
                // It is short, and as large as it may be on one line.
                let fits = |rows: &u16| {
                    Big::width_of(&alarm.short, *rows).is_some_and(|wide| wide + bars(*rows) <= self.width)
                };
                let rows = (SMALLEST_ROWS..=rows).rev().find(fits)?;
                let lines = vec![alarm.short.clone()];
                parts.push(Part::Letters {
                    words: lines.clone(),
                    lines,
                    rows,
                    style: look.alert(),
                    plate: true,
                    grows: false,
                });
            }
        }
        let letters = |words: Vec<String>, most: usize, style: Style, grows: bool| {
            let lines = lettered(&words, self.width, rows, most)?;
            Some(Part::Letters { words, lines, rows, style, plate: false, grows })
        };
        let line = |words: &[String], style: Style| Part::Line { text: words.join(" "), style, plate: false };
        let (what, which) = (words::what(snapshot), words::which(snapshot));
        if frugal >= Frugal::Letters {
            parts.push(self.time_in_a_line());
        }
        let names: Vec<(Vec<String>, Style)> =
            [(what, look.strong()), (which, Style::new())].into_iter().filter(|(words, _)| !words.is_empty()).collect();
        if frugal < Frugal::Names {
            for (index, (words, style)) in names.into_iter().enumerate() {
                if frugal >= Frugal::Which && index > 0 {
                    parts.push(line(&words, style));
                    continue;
                }
                let most = if frugal < Frugal::Alarm { NAME_LINES } else { LONG_NAME_LINES };
                parts.push(letters(words, most, style, false)?);
            }
        } else if !names.is_empty() {
            let text: Vec<String> = names.iter().map(|(words, _)| words.join(" ")).collect();
            parts.push(Part::Line { text: text.join(" · "), style: look.strong(), plate: false });
        }
        if !snapshot.situation.lane.is_empty() {
            parts.push(if frugal < Frugal::Letters {
                Part::Strip(strip::rows(snapshot, self.width))
            } else {
                Part::Line { text: strip::line(snapshot), style: look.strong(), plate: false }
            });
        } else if snapshot.swum.is_none() {
            // Nothing is known yet.
        } else if frugal < Frugal::Lane {
            parts.push(Part::Lane);
        } else if frugal < Frugal::Alarm
            && let Some(text) = words::lengths(snapshot)
        {
            parts.push(Part::Line { text, style: Style::new(), plate: false });
        }
        if frugal < Frugal::Letters {
            parts.extend(self.time(frugal, rows)?);
        }
        if frugal < Frugal::Letters
            && let Some(text) = words::coming(snapshot, front)
        {
            parts.push(Part::Line { text, style: Style::new(), plate: false });
        }
        let focus = snapshot.situation.focus.clone().filter(|_| snapshot.situation.phase != Activity::Over);
        let focus: Vec<String> = focus.iter().flat_map(|focus| focus.split_whitespace()).map(str::to_owned).collect();
        if !focus.is_empty() {
            let plain = || line(&focus, look.focus());
            let large = frugal < Frugal::Focus;
            parts.push(if large { letters(focus.clone(), FOCUS_LINES, look.focus(), true)? } else { plain() });
        }
        Some(parts)
    }

    /// The time and the next go, side by side where both fit, else one below the other.
    fn time(&self, frugal: Frugal, rows: u16) -> Option<Vec<Part>> {
        let (time, look) = (words::time(self.snapshot), self.look);
        let plate = words::waits(self.snapshot);
        let gos = words::go(self.snapshot, self.front);
        let wide = |text: &Wide| Big::width_of(&text.widest, rows);
        let own = wide(&time).filter(|own| *own <= self.width)?;
        if gos.is_empty() {
            let go = Wide { text: String::new(), widest: String::new() };
            return Some(vec![Part::Beside { time, go, rows, plate }]);
        }
        let beside = if plate { bars(rows) } else { 0 };
        let fits = |go: &&Wide| wide(go).is_some_and(|go| own + APART + go + beside <= self.width);
        if let Some(go) = gos.iter().find(fits).cloned() {
            return Some(vec![Part::Beside { time, go, rows, plate }]);
        }
        let situation = &self.snapshot.situation;
        let told = situation.phase != Activity::Swim || situation.next_go.is_none();
        if frugal >= Frugal::On && told && !plate {
            let go = Wide { text: String::new(), widest: String::new() };
            return Some(vec![Part::Beside { time, go, rows, plate }]);
        }
        if frugal >= Frugal::Go {
            let none = Wide { text: String::new(), widest: String::new() };
            let style = if plate { look.warning() } else { look.strong() };
            // Where it has a time it is told with what comes.
            let told = self.snapshot.situation.next_go.is_some() && !plate;
            let text = gos.into_iter().next().filter(|_| !told).map(|go| go.text);
            let line = text.map(|text| Part::Line { text, style, plate });
            let time = Part::Beside { time, go: none, rows, plate: false };
            return Some(std::iter::once(time).chain(line).collect());
        }
        let go = gos.into_iter().find(|go| wide(go).is_some_and(|go| go + beside <= self.width))?;
        let letters = |text: String, plate: bool| {
            let (words, style) = (vec![text], if plate { look.alert() } else { look.strong() });
            Part::Letters { lines: words.clone(), words, rows, style, plate, grows: false }
        };
        Some(vec![letters(time.text, false), letters(go.text, plate)])
    }

    fn time_in_a_line(&self) -> Part {
        let go = words::go(self.snapshot, self.front).into_iter().next();
        let texts: Vec<String> = std::iter::once(words::time(self.snapshot)).chain(go).map(|wide| wide.text).collect();
        let plate = words::waits(self.snapshot);
        let style = if plate { self.look.warning() } else { self.look.strong() };
        Part::Line { text: texts.join(" · ").to_uppercase(), style, plate }
    }

    /// Lets the time, or the focus, grow by at most so many rows; by how many it did.
    fn grow(&self, part: &mut Part, free: u16) -> u16 {
        let before = part.rows();
        match part {
            Part::Beside { time, go, rows, plate } => {
                let fits = |rows: &u16| {
                    let beside = if *plate { bars(*rows) } else { 0 };
                    let gap = if go.text.is_empty() { 0 } else { APART + beside };
                    let both = Big::width_of(&time.widest, *rows).zip(Big::width_of(&go.widest, *rows));
                    both.is_some_and(|(time, go)| time + gap + go <= self.width)
                };
                let most = (*rows + free).min(2 * *rows);
                *rows = (*rows..=most).rev().find(fits).unwrap_or(*rows);
            }
            // The focus is the last one, so all that is left is its.
            Part::Letters { words, lines, rows, grows: true, .. } => {
                let most = (before + free).min(2 * *rows);
                for larger in (*rows + 1..=most).rev() {
                    let fits = |lines: &Vec<String>| {
                        lines.len() as u16 * (larger + line_gap(larger)) - line_gap(larger) <= before + free
                    };
                    if let Some(found) = lettered(words, self.width, larger, FOCUS_LINES).filter(fits) {
                        (*lines, *rows) = (found, larger);
                        break;
                    }
                }
            }
            Part::Letters { .. } | Part::Line { .. } | Part::Lane | Part::Strip(_) => {}
        }
        part.rows().saturating_sub(before)
    }
}

impl Canvas<'_> {
    fn part(&mut self, part: &Part, snapshot: &Snapshot) {
        match part {
            Part::Letters { lines, rows, style, plate, .. } => {
                for (index, text) in lines.iter().enumerate() {
                    if index > 0 {
                        self.take(line_gap(*rows));
                    }
                    let row = self.take(*rows);
                    let Some(big) = Big::new(text, *rows) else { continue };
                    let from = if *plate { self.bars(row, 0, row.width, big.width) } else { 1 };
                    big.draw(Rect { x: row.x + from, ..row }, self.buffer, self.look.unicode, *style);
                }
            }
            Part::Beside { time, go, rows, plate } => {
                let row = self.take(*rows);
                if let Some(time) = Big::new(&time.text, *rows) {
                    let place = Rect { x: row.x + 1, ..row };
                    time.draw(place, self.buffer, self.look.unicode, self.look.strong());
                }
                let Some(go) = Big::new(&go.text, *rows).filter(|_| !go.text.is_empty()) else { return };
                let (both, style) = if *plate { (bars(*rows), self.look.alert()) } else { (0, self.look.strong()) };
                let start = row.width.saturating_sub(go.width + 1 + both);
                let from = if *plate { self.bars(row, start, row.width - 1, go.width) } else { start };
                go.draw(Rect { x: row.x + from, ..row }, self.buffer, self.look.unicode, style);
            }
            Part::Line { text, style, plate } => {
                let row = self.take(1);
                // Across the whole width, so that it is seen from afar that something is wrong.
                let text = if *plate { format!("{text:<0$}", usize::from(row.width)) } else { text.clone() };
                let from = if *plate { self.put(row, 0, " ", *style) } else { 1 };
                self.put(row, from, &text, *style);
            }
            Part::Lane => self.lane(snapshot),
            Part::Strip(_) => self.strip(snapshot),
        }
    }

    /// Bars from a column to another, with a window for something so wide; the column where that begins.
    fn bars(&mut self, rows: Rect, from: u16, to: u16, wide: u16) -> u16 {
        let (bar, inside) = bar(rows.height);
        let begins = from + bar + inside;
        for (left, right) in [(from, from + bar), (begins + wide + inside, to)] {
            let bar = Rect { x: rows.x + left, width: right.saturating_sub(left), ..rows };
            self.buffer.set_style(bar.intersection(self.buffer.area), self.look.warning());
        }
        begins
    }

    /// The swim from wall to wall, a part for each length, filled as it is swum, with what each length is below it; in a rest
    /// it empties until the go.
    fn lane(&mut self, snapshot: &Snapshot) {
        let (row, below) = (self.take(1), self.take(1));
        let Some(inner) = row.width.checked_sub(4).filter(|inner| *inner >= 10) else { return };
        let (wall, full, empty, part) =
            if self.look.unicode { ("┃", "━", "─", "┼") } else { ("|", "=", "-", "+") };
        let share = words::share(snapshot).unwrap_or(0.0);
        let filled = (share * f64::from(inner)) as u16;
        let lengths = u64::from(snapshot.situation.length.map_or(1, |(_, all)| all.max(1)));
        let length = |column: u16| u64::from(column) * lengths / u64::from(inner);
        for column in 0..inner {
            // A mark where a length ends, if they are not too close.
            let mark = lengths * 3 < u64::from(inner) && column > 0 && length(column) != length(column - 1);
            let (symbol, style) = match (column < filled, mark) {
                (_, true) => (part, Style::new()),
                (true, false) => (full, self.look.strong()),
                (false, false) => (empty, self.look.faint()),
            };
            self.put(row, 2 + column, symbol, style);
        }
        self.put(row, 1, wall, self.look.strong());
        self.put(row, 2 + inner, wall, self.look.strong());
        let names = snapshot.swum.as_ref().map_or(&[][..], |swum| &swum.lengths);
        let each = u64::from(inner) / lengths;
        let fit = names.iter().all(|name| u64::from(width(name)) + 2 <= each);
        if names.len() as u64 != lengths || !fit {
            self.put(below, 1, &words::lengths(snapshot).unwrap_or_default(), Style::new());
            return;
        }
        let swims = snapshot.situation.phase == Activity::Swim;
        let now = snapshot.situation.length.filter(|_| swims).map(|(now, _)| now as usize);
        for (index, name) in names.iter().enumerate() {
            let style = match now {
                Some(now) if now == index => self.look.strong(),
                Some(_) => self.look.faint(),
                None => Style::new(),
            };
            let column = (index as u64 * u64::from(inner)).div_ceil(lengths) as u16;
            self.put(below, 2 + column, name, style);
        }
    }
}
