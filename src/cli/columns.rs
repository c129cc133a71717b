//! Tables of plain text.

use unicode_width::UnicodeWidthStr;

/// Rows with their cells below each other, the last one as long as it is.
pub(super) fn columns<const N: usize>(rows: &[[String; N]]) -> Vec<String> {
    let mut widths = [0; N];
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell.width());
        }
    }
    let line = |row: &[String; N]| {
        let mut line = String::new();
        for (cell, width) in row.iter().zip(widths) {
            line.push_str(cell);
            line.push_str(&" ".repeat(width.saturating_sub(cell.width()) + 2));
        }
        line.trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}
