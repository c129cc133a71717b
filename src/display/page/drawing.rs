//! A screen as an SVG picture for the README, drawn from the very cells that a terminal gets. Blocks and lines are rectangles,
//! so that no font leaves seams between them. Tests only.

use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};
use std::fmt::Write;

/// A cell in the units of the picture: about the shape of a terminal's.
const WIDE: usize = 9;
const HIGH: usize = 18;
const PAPER: &str = "#101418";
const INK: &str = "#e8e8e0";

fn ink(cell: &Cell) -> &'static str {
    match cell.fg {
        Color::Cyan => "#67d7e5",
        Color::Yellow => "#f0d060",
        _ if cell.modifier.contains(Modifier::DIM) => "#9aa0a0",
        _ => INK,
    }
}

/// What a block or a line fills of its cell: left, top, width, height.
fn filled(symbol: &str) -> Option<(usize, usize, usize, usize)> {
    Some(match symbol {
        "█" => (0, 0, WIDE, HIGH),
        "▀" => (0, 0, WIDE, HIGH / 2),
        "▄" => (0, HIGH / 2, WIDE, HIGH / 2),
        "━" => (0, 7, WIDE, 4),
        "─" => (0, 8, WIDE, 1),
        "┃" => (3, 0, 3, HIGH),
        _ => return None,
    })
}

/// The picture, with words for those who cannot see it.
pub(super) fn svg(about: &str, buffer: &Buffer) -> String {
    let columns = usize::from(buffer.area.width.max(1));
    let (width, height) = (columns * WIDE, usize::from(buffer.area.height) * HIGH);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" role=\"img\" \
         font-family=\"monospace\" font-size=\"15\">\n<title>{about}</title>\n<rect width=\"100%\" height=\"100%\" \
         fill=\"{PAPER}\"/>\n"
    );
    for (y, row) in buffer.content.chunks(columns).enumerate() {
        for run in row.iter().enumerate().collect::<Vec<_>>().chunk_by(|(_, one), (_, next)| like(one, next)) {
            let (x, cell) = run[0];
            let fill = ink(cell);
            if let Some((left, top, wide, high)) = filled(cell.symbol()) {
                let wide = if wide == WIDE { run.len() * WIDE } else { wide };
                let (left, top) = (x * WIDE + left, y * HIGH + top);
                writeln!(out, "<path d=\"M{left} {top}h{wide}v{high}h-{wide}z\" fill=\"{fill}\"/>").unwrap();
                continue;
            }
            let text: String = run.iter().map(|(_, cell)| cell.symbol()).collect();
            let blank = text.len() - text.trim_start().len();
            let (text, left, base) = (text.trim(), (x + blank) * WIDE, y * HIGH + 14);
            if text.is_empty() {
                continue;
            }
            let long = usize::from(super::width(text)) * WIDE;
            let weight = if cell.modifier.contains(Modifier::BOLD) { " font-weight=\"bold\"" } else { "" };
            let text = text.replace('&', "&amp;").replace('<', "&lt;");
            let place = format!("x=\"{left}\" y=\"{base}\" textLength=\"{long}\"");
            writeln!(out, "<text {place} fill=\"{fill}\"{weight} xml:space=\"preserve\">{text}</text>").unwrap();
        }
    }
    out + "</svg>\n"
}

/// Whether two cells stand in one element: text of one look, or the same block.
fn like(one: &Cell, next: &Cell) -> bool {
    let look = (ink(one), one.modifier) == (ink(next), next.modifier);
    look && match (filled(one.symbol()), filled(next.symbol())) {
        (None, None) => true,
        _ => one.symbol() == next.symbol() && one.symbol() != "┃",
    }
}
