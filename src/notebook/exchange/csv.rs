//! Separated values: written so that no spreadsheet takes a text for a formula, and read with the places of its cells.

use csv_core::{ReadFieldResult, ReaderBuilder};
use std::fmt;

/// A cell that begins with one of these can be run as a formula by a spreadsheet (OWASP, "CSV Injection", from memory). They
/// get an apostrophe before them, and so does an apostrophe, so that it can be taken away again.
const GUARDED: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\''];
/// What some programs write before the first letter.
const BYTE_ORDER_MARK: &str = "\u{feff}";

/// Something wrong in a cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrongCell {
    /// The file.
    pub file: String,
    /// The row as spreadsheets number it: the headings are row 1.
    pub row: usize,
    /// The column's heading, where it is about one.
    pub column: Option<String>,
    /// What was found and what is allowed.
    pub why: String,
}

impl fmt::Display for WrongCell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, row {}", self.file, self.row)?;
        if let Some(column) = &self.column {
            write!(f, ", column `{column}`")?;
        }
        write!(f, ": {}", self.why)
    }
}

/// A text as a cell: nothing where there is none.
pub fn guarded(text: Option<&str>) -> String {
    match text {
        None => String::new(),
        Some("") => "'".to_owned(),
        Some(text) if text.starts_with(GUARDED) => format!("'{text}"),
        Some(text) => text.to_owned(),
    }
}

/// The text of a cell.
pub fn unguarded(cell: &str) -> Option<String> {
    if cell.is_empty() { None } else { Some(cell.strip_prefix('\'').unwrap_or(cell).to_owned()) }
}

/// Adds a row.
pub fn write_row<T: AsRef<str>>(table: &mut String, cells: &[T]) {
    for (index, cell) in cells.iter().map(AsRef::as_ref).enumerate() {
        if index > 0 {
            table.push(',');
        }
        let plain = |c: char| !matches!(c, ',' | ';' | '"' | '\n' | '\r' | '\t');
        if cell.chars().all(plain) && cell.trim() == cell && !(cell.is_empty() && cells.len() == 1) {
            table.push_str(cell);
        } else {
            table.push('"');
            table.push_str(&cell.replace('"', "\"\""));
            table.push('"');
        }
    }
    table.push_str("\r\n");
}

/// The rows of a table, whatever separates its values.
pub fn rows(text: &str) -> Vec<Vec<String>> {
    let text = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
    let stated = text.split_once('\n').and_then(|(line, rest)| {
        match line.trim().trim_matches('"').strip_prefix("sep=").map(str::as_bytes) {
            Some([sign @ (b';' | b',' | b'\t')]) => Some((*sign, rest)),
            _ => None,
        }
    });
    // What stands between quotes separates nothing.
    let head = text.lines().next().unwrap_or_default();
    let count = |sign: u8| head.split('"').step_by(2).flat_map(str::bytes).filter(|byte| *byte == sign).count();
    // Of equals the last is taken.
    let likely = [b'\t', b';', b','].into_iter().max_by_key(|sign| count(*sign)).unwrap_or(b',');
    let (separator, text) = stated.unwrap_or((likely, text));
    let mut reader = ReaderBuilder::new().delimiter(separator).build();
    let (mut rows, mut row) = (Vec::new(), Vec::new());
    // No cell is longer without its quotes than the text is.
    let mut unquoted = vec![0; text.len()];
    let (mut at, mut length) = (0, 0);
    while let (Some(rest), Some(room)) = (text.as_bytes().get(at..), unquoted.get_mut(length..)) {
        let (result, read, written) = reader.read_field(rest, room);
        at += read;
        length += written;
        match result {
            // The last cell ends where the text does: the reader asks for more once, and is given nothing.
            ReadFieldResult::InputEmpty => {}
            ReadFieldResult::Field { record_end } => {
                let value = unquoted.get(..length).map(String::from_utf8_lossy).unwrap_or_default();
                row.push(value.into_owned());
                length = 0;
                if record_end {
                    rows.push(std::mem::take(&mut row));
                }
            }
            ReadFieldResult::OutputFull | ReadFieldResult::End => break,
        }
    }
    rows
}

/// A table with its headings.
#[derive(Debug)]
pub struct CsvTable {
    file: String,
    headings: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl CsvTable {
    /// Reads a table that has all `wanted` columns, in any order, and none that is not `allowed`.
    ///
    /// # Errors
    /// Everything that is wrong with its headings.
    pub fn read(
        file: &str,
        text: &str,
        wanted: &[&str],
        allowed: impl Fn(&str) -> bool,
    ) -> Result<Self, Vec<WrongCell>> {
        let mut rows = rows(text);
        let wrong = |column: Option<&str>, why: String| WrongCell {
            file: file.to_owned(),
            row: 1,
            column: column.map(str::to_owned),
            why,
        };
        if rows.is_empty() {
            return Err(vec![wrong(
                None,
                format!("it is empty; the first row names the columns: {}", wanted.join(", ")),
            )]);
        }
        let tidy = |cell: &String| cell.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        let headings: Vec<String> = rows.remove(0).iter().map(tidy).collect();
        let mut all = Vec::new();
        for column in wanted.iter().filter(|column| !headings.iter().any(|heading| heading == *column)) {
            all.push(wrong(None, format!("there is no column `{column}`; allowed: {}", wanted.join(", "))));
        }
        for (index, heading) in headings.iter().enumerate().filter(|(_, heading)| !heading.is_empty()) {
            if headings.iter().take(index).any(|other| other == heading) {
                all.push(wrong(Some(heading), "there are two columns of this name".to_owned()));
            } else if !wanted.contains(&heading.as_str()) && !allowed(heading) {
                all.push(wrong(Some(heading), format!("unknown; allowed: {}", wanted.join(", "))));
            }
        }
        if all.is_empty() { Ok(Self { file: file.to_owned(), headings, rows }) } else { Err(all) }
    }

    /// The headings.
    pub fn headings(&self) -> &[String] {
        &self.headings
    }

    /// Its rows but for those without any cell filled in.
    pub fn rows(&self) -> impl Iterator<Item = CsvRow<'_>> {
        let rows = self.rows.iter().enumerate().filter(|(_, cells)| cells.iter().any(|cell| !cell.trim().is_empty()));
        rows.map(|(index, cells)| CsvRow { table: self, row: index + 2, cells })
    }
}

/// A row of a table.
#[derive(Clone, Copy, Debug)]
pub struct CsvRow<'a> {
    table: &'a CsvTable,
    row: usize,
    cells: &'a [String],
}

impl<'a> CsvRow<'a> {
    /// The cell of a column, as it is written; empty where there is none.
    pub fn cell(&self, column: &str) -> &'a str {
        let at = self.table.headings.iter().position(|heading| heading == column);
        at.and_then(|at| self.cells.get(at)).map_or("", String::as_str)
    }

    /// Something wrong with a cell of this row.
    pub fn wrong(&self, column: Option<&str>, why: impl Into<String>) -> WrongCell {
        let file = self.table.file.clone();
        WrongCell { file, row: self.row, column: column.map(str::to_owned), why: why.into() }
    }

    /// What `parse` makes of a cell, nothing where it is empty; `allowed` says what would do.
    pub fn maybe<T>(
        &self,
        column: &str,
        allowed: &str,
        wrong: &mut Vec<WrongCell>,
        parse: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        let cell = self.cell(column).trim();
        if cell.is_empty() {
            return None;
        }
        let parsed = parse(cell);
        if parsed.is_none() {
            let shown: String = cell.chars().take(60).collect();
            wrong.push(self.wrong(Some(column), format!("`{shown}`: {allowed}")));
        }
        parsed
    }

    /// The same for a cell that must be filled in.
    pub fn need<T>(
        &self,
        column: &str,
        allowed: &str,
        wrong: &mut Vec<WrongCell>,
        parse: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        if self.cell(column).trim().is_empty() {
            wrong.push(self.wrong(Some(column), format!("it is empty: {allowed}")));
            return None;
        }
        self.maybe(column, allowed, wrong, parse)
    }
}

/// A number as spreadsheets write it, with a decimal point or comma.
pub fn number(cell: &str) -> Option<f64> {
    cell.replace(',', ".").parse().ok().filter(|number: &f64| number.is_finite())
}
