//! Text in large characters made of blocks, at any size. Where it stands is the layout's job.

mod glyphs;
mod small;

use glyphs::{HEIGHT, glyph};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use small::small;

/// The fewest rows that are easy to read.
pub const LEAST_ROWS: u16 = 4;
/// The fewest rows in which every character can be told from the others.
pub const SMALLEST_ROWS: u16 = 3;

/// Steps across per step down: narrow characters can be larger.
const NARROW: (u32, u32) = (4, 5);

/// Text as dots, two in each row of the terminal, so that a dot is about as wide as high. The last half row stays free, so
/// that lines of letters do not run into each other.
#[derive(Debug, PartialEq, Eq)]
pub struct Big {
    /// Columns.
    pub width: u16,
    /// Rows of the terminal.
    pub rows: u16,
    /// Row by row of dots, `width` in each.
    dots: Vec<bool>,
}

impl Big {
    /// The columns that a text takes in so many rows; none where a character has no drawing.
    pub fn width_of(text: &str, rows: u16) -> Option<u16> {
        if rows == SMALLEST_ROWS {
            let each = |character| Some(small(character)?.first()?.len() + 1);
            let all = text.chars().map(each).sum::<Option<usize>>()?;
            return u16::try_from(all.saturating_sub(1)).ok();
        }
        let (height, pen) = (height(rows), pen(rows));
        let each = |character| Some(across(glyph(character)?.0, height, pen) + 2 * pen);
        let all = text.chars().map(each).sum::<Option<u32>>()?;
        u16::try_from(all.saturating_sub(pen)).ok()
    }

    /// Text in `rows` rows. None where a character has no drawing, or below [`SMALLEST_ROWS`].
    pub fn new(text: &str, rows: u16) -> Option<Self> {
        if rows < SMALLEST_ROWS {
            return None;
        }
        let width = Self::width_of(text, rows)?;
        let dots = vec![false; usize::from(width) * usize::from(rows) * 2];
        let mut big = Self { width, rows, dots };
        if rows == SMALLEST_ROWS {
            big.put_small(text);
            return Some(big);
        }
        let (height, pen) = (height(rows), pen(rows));
        let across = |steps: u32| across(steps, height, pen);
        let mut left = 0;
        for (steps, strokes) in text.chars().filter_map(glyph) {
            for stroke in strokes {
                let points: Vec<_> = stroke.iter().map(|(x, y)| (left + across(*x), scaled(*y, height, pen))).collect();
                if let [dot] = points.as_slice() {
                    big.line(*dot, *dot, pen);
                }
                for pair in points.windows(2) {
                    if let [from, to] = pair {
                        big.line(*from, *to, pen);
                    }
                }
            }
            left += across(steps) + 2 * pen;
        }
        Some(big)
    }

    fn put_small(&mut self, text: &str) {
        let mut left = 0;
        for rows in text.chars().filter_map(small) {
            for (y, row) in rows.iter().enumerate() {
                for (x, _) in row.bytes().enumerate().filter(|(_, dot)| *dot == b'#') {
                    if let Some(dot) = self.dots.get_mut(y * usize::from(self.width) + left + x) {
                        *dot = true;
                    }
                }
            }
            left += rows.first().map_or(0, |row| row.len()) + 1;
        }
    }

    /// The largest that fits.
    pub fn fitting(text: &str, width: u16, rows: u16) -> Option<Self> {
        // Widths first, for drawing what does not fit would be most of the work.
        let fits = |rows: &u16| Self::width_of(text, *rows).is_some_and(|all| all <= width);
        Self::new(text, (LEAST_ROWS..=rows).rev().find(fits)?)
    }

    /// Marks the dots within half a pen of a line. In halves of dots, so that all is whole: the pen's middle is at
    /// `2 × point + pen`, a dot's at `2 × dot + 1`.
    fn line(&mut self, from: (u32, u32), to: (u32, u32), pen: u32) {
        let middle = |(x, y): (u32, u32)| (i64::from(2 * x + pen), i64::from(2 * y + pen));
        let ((ax, ay), (bx, by)) = (middle(from), middle(to));
        let (dx, dy) = (bx - ax, by - ay);
        let square = dx * dx + dy * dy;
        let (pen, width) = (i64::from(pen), i64::from(self.width));
        let rows = i64::from(self.rows) * 2;
        // The dots whose middle can be near enough: all others are most of them.
        let among = |a: i64, b: i64, all: i64| {
            let (low, high) = ((a.min(b) - pen - 1).div_euclid(2), (a.max(b) + pen + 1).div_euclid(2));
            low.clamp(0, all)..(high + 1).clamp(0, all)
        };
        for y in among(ay, by, rows) {
            let across = among(ax, bx, width);
            let row = usize::try_from(y * width + across.start).unwrap_or(usize::MAX);
            for (x, dot) in across.zip(self.dots.iter_mut().skip(row)) {
                let (px, py) = (2 * x + 1 - ax, 2 * y + 1 - ay);
                // The nearest point of the line is `along / square` of the way; distances are times `square`, to stay whole.
                let along = (px * dx + py * dy).clamp(0, square);
                let (qx, qy) = (px * square - along * dx, py * square - along * dy);
                let near = if square == 0 { px * px + py * py } else { (qx * qx + qy * qy) / square / square };
                *dot |= near <= pen * pen;
            }
        }
    }

    /// Draws it with its upper left corner at that of `area`, cut where the area ends.
    pub fn draw(&self, area: Rect, buffer: &mut Buffer, unicode: bool, style: Style) {
        let area = area.intersection(buffer.area);
        let dot = |x: u16, y: u16| {
            let index = usize::from(y) * usize::from(self.width) + usize::from(x);
            self.dots.get(index).copied().unwrap_or(false)
        };
        for row in 0..self.rows.min(area.height) {
            for column in 0..self.width.min(area.width) {
                let symbol = match (dot(column, 2 * row), dot(column, 2 * row + 1), unicode) {
                    (false, false, _) => continue,
                    (true, true, true) => "█",
                    (true, false, true) => "▀",
                    (false, true, true) => "▄",
                    (true, true, false) => "#",
                    (true, false, false) => "\"",
                    (false, true, false) => "_",
                };
                if let Some(cell) = buffer.cell_mut((area.x + column, area.y + row)) {
                    cell.set_symbol(symbol).set_style(style);
                }
            }
        }
    }
}

/// Dots from the top of a letter to its foot.
const fn height(rows: u16) -> u32 {
    rows as u32 * 2 - 1
}

/// How thick the pen is, in dots: about a seventh of the height; at the least sizes one. Characters stand as far apart.
const fn pen(rows: u16) -> u32 {
    (height(rows) + 4) / 7
}

/// Steps across as dots; at the sizes where a step is a dot there is nothing to take away.
const fn across(steps: u32, height: u32, pen: u32) -> u32 {
    if height - pen <= HEIGHT {
        return steps;
    }
    (NARROW.0 * steps * (height - pen) * 2 + NARROW.1 * HEIGHT) / (NARROW.1 * HEIGHT * 2)
}

/// Steps of the grid as dots, rounded to whole ones, so that stems stay sharp at every size.
const fn scaled(steps: u32, height: u32, pen: u32) -> u32 {
    (2 * steps * (height - pen) + HEIGHT) / (2 * HEIGHT)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: &str = "0123456789:.-+',?!/ABCDEFGHIJKLMNPQRSTUVWXYZ";

    #[test]
    fn every_character_differs_at_every_size() {
        for rows in [SMALLEST_ROWS, LEAST_ROWS, 5, 6, 9, 16, 30] {
            let drawn: Vec<_> = ALL.chars().map(|c| (c, Big::new(&c.to_string(), rows).unwrap())).collect();
            for (index, (character, big)) in drawn.iter().enumerate() {
                assert!(big.dots.contains(&true), "{character} is empty at {rows}");
                for (other, same) in &drawn[..index] {
                    assert!(big != same, "{character} looks like {other} in {rows} rows");
                }
            }
        }
    }

    #[test]
    fn the_largest_that_fits_is_taken() {
        let big = Big::fitting("1:05", 46, 9).unwrap();
        assert!(big.rows == 9 && big.width <= 46, "{} x {}", big.width, big.rows);
        assert!(Big::fitting("reach forward", 76, 9).unwrap().rows >= LEAST_ROWS);
        assert!(Big::fitting("reach forward", 30, 9).is_none() && Big::fitting("", 10, 3).is_none());
        assert!(Big::width_of("1:05", 9) == Some(Big::new("1:05", 9).unwrap().width));
        assert!(Big::new("ß", 5).is_none(), "what has no drawing is left to ordinary letters");
    }

    #[test]
    fn drawing_stays_within_the_area() {
        let mut buffer = Buffer::empty(Rect::new(0, 0, 9, 5));
        Big::new("88", 9).unwrap().draw(Rect::new(3, 1, 40, 40), &mut buffer, true, Style::new());
        Big::new("88", 9).unwrap().draw(Rect::new(30, 40, 4, 4), &mut buffer, true, Style::new());
        assert_eq!(buffer.cell((0, 0)).unwrap().symbol(), " ");
    }
}
