//! A roster as a table: from separated values to the nodes that the same roster has in YAML, so that one reader reads both.
//!
//! The first row names the columns. A cell keeps its place in the text; an empty cell says nothing.

use super::limits::{MOST, OF_A_SWIMMER, too_many};
use crate::diag::{Code, Diagnostic, SourceId, Span, Spanned, crop, nearest};
use crate::script::tree::Problems;
use crate::script::yaml::{LARGEST, Node, NodeKind};
use csv_core::ReadFieldResult;

/// What some programs write before the first letter.
const BYTE_ORDER_MARK: &str = "\u{feff}";
/// The columns beside those that are keys of a swimmer. `pace` and `player` are maps, and `stroke` a list: a table has none.
const COLUMNS: [&str; 22] = [
    "name", "profile", "pool", "hundred", "tempo", "time", "count", "tempo 2", "time 2", "count 2", "usual", "wall",
    "glide", "critical", "drill", "kick", "side", "voice", "focus", "lane", "swims", "distance",
];
/// Columns that need the pool in which they were swum.
const OF_A_POOL: [&str; 3] = ["hundred", "tempo", "time"];

/// What a column holds.
struct Column {
    name: &'static str,
    /// The unit of its bare numbers: the heading `tempo (s)` spares it in every cell.
    unit: Option<String>,
}

/// A cell as it was written.
struct Cell {
    text: String,
    span: Span,
}

/// The rows of a table as maps; `None` where its head cannot be used.
pub(super) fn read(source: SourceId, text: &str, problems: &mut Problems) -> Option<Vec<Node>> {
    if text.len() > LARGEST {
        let message = format!("the roster has {} bytes; at most {LARGEST}", text.len());
        problems.push(Diagnostic::at(Code::OutOfRange, Span::new(source, 0, 0), message));
        return None;
    }
    let body = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
    let (body, stated) = stated_separator(body);
    let begins = text.len() - body.len();
    let separator = stated.unwrap_or_else(|| separator(body));
    let place = |start, end| Span::new(source, narrow(begins + start), narrow(begins + end));
    let mut records = records(body, separator, place).into_iter();
    let columns = columns(&records.next()?, problems)?;
    let rows: Vec<Node> = records.filter_map(|cells| row(&columns, cells, problems)).collect();
    match rows.get(MOST) {
        Some(beyond) => {
            problems.push(too_many(beyond.span, rows.len()));
            None
        }
        None => Some(rows),
    }
}

/// Some spreadsheets say in a line before the table what separates its values: `sep=;`.
fn stated_separator(text: &str) -> (&str, Option<u8>) {
    let Some((line, rest)) = text.split_once('\n') else { return (text, None) };
    match line.trim().trim_matches('"').strip_prefix("sep=").map(str::as_bytes) {
        Some([sign @ (b';' | b',' | b'\t')]) => (rest, Some(*sign)),
        _ => (text, None),
    }
}

/// What separates values in the first line: spreadsheets write `;` where a comma is the decimal sign.
fn separator(text: &str) -> u8 {
    let head = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let count = |sign: u8| head.bytes().filter(|byte| *byte == sign).count();
    // Of equals the last is taken: a comma where there is only one column.
    [b'\t', b';', b','].into_iter().max_by_key(|sign| count(*sign)).unwrap_or(b',')
}

/// The cells of a table by rows, each with its place in the text. Empty lines are not rows.
fn records(text: &str, separator: u8, place: impl Fn(usize, usize) -> Span) -> Vec<Vec<Cell>> {
    let mut reader = csv_core::ReaderBuilder::new().delimiter(separator).build();
    let (mut records, mut record) = (Vec::new(), Vec::new());
    // No cell is longer without its quotes than the text is.
    let mut unquoted = vec![0; text.len()];
    let (mut start, mut at, mut length) = (0, 0, 0);
    while let (Some(rest), Some(room)) = (text.as_bytes().get(at..), unquoted.get_mut(length..)) {
        let (result, read, written) = reader.read_field(rest, room);
        at += read;
        length += written;
        match result {
            // The last cell ends where the text does: the reader asks for more once, and is given nothing.
            ReadFieldResult::InputEmpty => {}
            ReadFieldResult::Field { record_end } => {
                let value = unquoted.get(..length).map(String::from_utf8_lossy).unwrap_or_default();
                // Nothing left to read means that no sign ended the cell.
                let raw = text.get(start..at).unwrap_or_default();
                let raw = if rest.is_empty() { raw } else { raw.strip_suffix(char::from(separator)).unwrap_or(raw) };
                record.push(cell(raw, start, &value, &place));
                (start, length) = (at, 0);
                if record_end {
                    records.push(std::mem::take(&mut record));
                }
            }
            ReadFieldResult::OutputFull | ReadFieldResult::End => break,
        }
    }
    records
}

/// A cell from what was read for it, `raw` from the byte `start` on, and from its value.
fn cell(raw: &str, start: usize, value: &str, place: impl Fn(usize, usize) -> Span) -> Cell {
    // The lines left empty before a record are read with its first cell, what ends the record with its last.
    let written = raw.trim_start_matches(['\r', '\n']);
    let start = start + (raw.len() - written.len());
    let (quote, inner) = written.strip_prefix('"').map_or((0, written), |inner| (1, inner));
    let written = if quote == 1 { written } else { written.trim_end_matches(['\r', '\n']) };
    let text = value.trim();
    // Only where no quote in it is written twice, and nothing follows the closing one, does the value stand there.
    let span = if inner.strip_prefix(value).is_some_and(|rest| quote == 0 || rest.is_empty() || rest.starts_with('"')) {
        let start = start + quote + (value.len() - value.trim_start().len());
        place(start, start + text.len())
    } else {
        place(start, start + written.trim_end_matches(['\r', '\n']).len())
    };
    Cell { text: text.to_owned(), span }
}

/// The columns, by the cells of the first row; `None` stands for one that is not read.
fn columns(head: &[Cell], problems: &mut Problems) -> Option<Vec<Option<Column>>> {
    let mut columns: Vec<Option<Column>> = Vec::with_capacity(head.len());
    let before = problems.len();
    for cell in head {
        let (name, unit) = match cell.text.split_once('(') {
            Some((name, unit)) => (name, Some(unit.trim_end_matches(')').trim().to_owned())),
            None => (cell.text.as_str(), None),
        };
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        let name = match name.as_str() {
            "" => {
                columns.push(None);
                continue;
            }
            "tempo 1" => "tempo",
            "count 1" => "count",
            "time 1" => "time",
            "tempo2" => "tempo 2",
            "time2" => "time 2",
            "count2" => "count 2",
            name => name,
        };
        let Some(known) = COLUMNS.into_iter().find(|known| *known == name) else {
            problems.push(unknown(cell, name));
            columns.push(None);
            continue;
        };
        if columns.iter().flatten().any(|column| column.name == known) {
            let message = format!("there are two columns `{known}`");
            problems.push(Diagnostic::at(Code::DuplicateKey, cell.span, message).hint("keep one of them"));
        }
        // The second point is written as the first one is.
        let of_first = || {
            let first = known.strip_suffix(" 2")?;
            columns.iter().flatten().find(|column| column.name == first)?.unit.clone()
        };
        let unit = unit.or_else(of_first);
        columns.push(Some(Column { name: known, unit }));
    }
    if problems.len() == before && !columns.iter().flatten().any(|column| column.name == "name") {
        let span = head.first().map(|cell| cell.span)?;
        let message = "the first line names the columns, and one of them is `name`";
        let hint = "for example `name,pool,tempo,count` or `name;profile;focus`";
        problems.push(Diagnostic::at(Code::MissingKey, span, message).hint(hint));
    }
    let place = |name: &str| columns.iter().position(|column| column.as_ref().is_some_and(|c| c.name == name));
    let swum = OF_A_POOL.iter().find_map(|name| head.get(place(name)?));
    if let (Some(swum), None) = (swum, place("pool")) {
        // Told once here, not for every swimmer.
        let message =
            "with times and strokes there must be the pool in which they were swum: there is no column `pool`";
        let hint = "add a column `pool`, such as `25 m` in every row";
        problems.push(Diagnostic::at(Code::MissingKey, swum.span, message).hint(hint));
    }
    (problems.len() == before).then_some(columns)
}

fn unknown(cell: &Cell, name: &str) -> Diagnostic {
    let problem = Diagnostic::at(Code::UnknownKey, cell.span, format!("a roster has no column `{}`", crop(name)));
    if OF_A_SWIMMER.contains(&name) {
        return problem.hint("this fits no cell: write it into a profile, or the roster as YAML");
    }
    match nearest(name, COLUMNS) {
        Some(near) => problem.hint(format!("did you mean `{near}`?")),
        None => problem.hint(format!("known: {}", COLUMNS.join(", "))),
    }
}

/// A row as a map, unless it is empty.
fn row(columns: &[Option<Column>], cells: Vec<Cell>, problems: &mut Problems) -> Option<Node> {
    let span = match (cells.iter().find(|cell| !cell.text.is_empty()), cells.last()) {
        (Some(_), Some(last)) => cells.first()?.span.to(last.span),
        _ => return None,
    };
    if let Some(beyond) = cells.iter().skip(columns.len()).find(|cell| !cell.text.is_empty()) {
        let message = format!("a cell without a column; the first line names {}", columns.len());
        let hint = "a value that holds the sign between values stands in double quotes";
        problems.push(Diagnostic::at(Code::WrongShape, beyond.span, message).hint(hint));
    }
    let mut pairs: Vec<(Spanned<String>, Node)> = Vec::new();
    let mut points: [Vec<(Spanned<String>, Node)>; 2] = Default::default();
    let mut stroke = None;
    for (column, cell) in columns.iter().zip(cells) {
        let Some(column) = column.as_ref().filter(|_| !cell.text.is_empty()) else { continue };
        let key = |name: &str| Spanned::new(name.to_owned(), cell.span);
        let value = Node::written(with_unit(&cell.text, column.unit.as_deref()), cell.span);
        let [first, second] = &mut points;
        let (point, part) = match column.name {
            "tempo" => (first, "tempo"),
            "time" => (first, "time"),
            "count" => (first, "count"),
            "tempo 2" => (second, "tempo"),
            "time 2" => (second, "time"),
            "count 2" => (second, "count"),
            "focus" => {
                pairs.push((key("focus"), phrases(&cell)));
                continue;
            }
            name => {
                pairs.push((key(name), value));
                continue;
            }
        };
        stroke = stroke.map_or(Some(cell.span), |span: Span| Some(span.to(cell.span)));
        point.push((key(part), value));
    }
    if let Some(span) = stroke {
        let point = |pairs: Vec<(Spanned<String>, Node)>| {
            let span = pairs.first()?.0.span.to(pairs.last()?.0.span);
            Some(Node { span, kind: NodeKind::Map(pairs), cut: false })
        };
        let points = points.into_iter().filter_map(point).collect();
        let key = Spanned::new("stroke".to_owned(), span);
        pairs.push((key, Node { span, kind: NodeKind::List(points), cut: false }));
    }
    Some(Node { span, kind: NodeKind::Map(pairs), cut: false })
}

/// A bare number with the unit of its column.
fn with_unit(text: &str, unit: Option<&str>) -> String {
    match unit {
        Some(unit) if text.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b',')) => {
            format!("{text} {unit}")
        }
        _ => text.to_owned(),
    }
}

/// Ids with blanks or `/` between them.
fn phrases(cell: &Cell) -> Node {
    let whole = (cell.span.end - cell.span.start) as usize == cell.text.len();
    let mut ids = Vec::new();
    let mut at = 0;
    for piece in cell.text.split([' ', '/', '\t', '\n']) {
        if !piece.is_empty() {
            let start = cell.span.start + narrow(at);
            let span = if whole { Span::new(cell.span.source, start, start + narrow(piece.len())) } else { cell.span };
            ids.push(Node::written(piece.to_owned(), span));
        }
        at += piece.len() + 1;
    }
    Node { span: cell.span, kind: NodeKind::List(ids), cut: false }
}

#[expect(clippy::expect_used, reason = "no text above `LARGEST` is read")]
fn narrow(offset: usize) -> u32 {
    u32::try_from(offset).expect("an offset in a text of a few MiB")
}
