//! A sheet to fill in, on a phone or by a squad: a row for each swimmer, the questions as columns. Its places are in words,
//! which no spreadsheet takes for days.

use super::answers::Answers;
use super::entry::{ValueSource, is_name};
use super::exchange::csv::{CsvRow, CsvTable, WrongCell, guarded, unguarded, write_row};
use super::outline::{AskedLength, AskedSwim, Outline};
use super::place::{self, WrittenPlace, WrongAnswer};
use super::questions::{worth_counting, worth_timing};
use super::written;
use crate::units::calendar::Day;
use std::collections::BTreeSet;

/// Columns before those of counts and times, and behind them.
const BEFORE: [&str; 3] = ["swimmer", "day", "left out"];
const BEHIND: [&str; 9] =
    ["fell apart", "feel 1-5", "effort 0-10", "minutes", "pain", "note", "counted by", "script", "script sha256"];
/// The beginnings of the headings of counts and times.
const STROKES: &str = "strokes ";
const TIME: &str = "time ";
/// What the name in the row that explains the columns begins with.
const EXPLAINS: char = '(';

/// Makes a sheet for swimmers with what is planned for each. `sha256` is that of the script's text.
pub fn write(planned: &[Outline], script: &str, sha256: &str) -> String {
    let (mut counts, mut times) = (BTreeSet::new(), BTreeSet::new());
    for outline in planned {
        counts.extend(worth_counting(&outline.practice, &outline.counts));
        times.extend(worth_timing(&outline.practice, &outline.times));
    }
    let mut sheet = String::new();
    let heading = |asked: &AskedLength| {
        let alone = counts.iter().filter(|other| other.swim == asked.swim).count() == 1;
        let length =
            if alone && is_last(planned, *asked) { String::new() } else { format!(" length {}", asked.length) };
        format!("{STROKES}{}{length}", in_words(asked.swim))
    };
    let own = counts.iter().map(heading).chain(times.iter().map(|swim| format!("{TIME}{}", in_words(*swim))));
    let own: Vec<String> = own.collect();
    let row = |before: [&str; 3], own: Vec<String>, behind: [&str; 9]| -> Vec<String> {
        before
            .iter()
            .map(|cell| (*cell).to_owned())
            .chain(own)
            .chain(behind.iter().map(|cell| (*cell).to_owned()))
            .collect()
    };
    write_row(&mut sheet, &row(BEFORE, own.clone(), BEHIND));
    let explained = own.iter().map(|heading| {
        if heading.starts_with(STROKES) { "19; 19? is a guess; 19 at 1.15" } else { "5:52 or 58.4; 5:52? is a guess" }
            .to_owned()
    });
    write_row(
        &mut sheet,
        &row(
            [
                "(how to fill it in; an empty cell says nothing)",
                "2026-11-28",
                "no; set 3 repeat 2; set 5; from set 4 repeat 3",
            ],
            explained.collect(),
            [
                "no; set 3 repeat 5",
                "1 nothing worked, 3 as usual, 5 it flowed",
                "2 easy, 5 hard, 7 very hard, 10 all you had",
                "42",
                "where; no",
                "anything else",
                "coach, where a coach counted and timed",
                "stays as it is",
                "stays as it is",
            ],
        ),
    );
    for outline in planned {
        let practice = &outline.practice;
        let (name, day) = (guarded(Some(&practice.swimmer)), practice.day.to_string());
        let script = guarded(Some(script));
        let cells =
            row([&name, &day, ""], vec![String::new(); own.len()], ["", "", "", "", "", "", "", &script, sha256]);
        write_row(&mut sheet, &cells);
    }
    sheet
}

/// Whether a length is the last of its repeat for everybody who swims it.
fn is_last(planned: &[Outline], asked: AskedLength) -> bool {
    let lengths = planned.iter().filter_map(|outline| place::repeat(&outline.practice, asked.swim).ok());
    lengths.map(|repeat| repeat.lengths.max(1)).all(|lengths| lengths == asked.length)
}

fn in_words(swim: AskedSwim) -> String {
    format!("set {} repeat {}", swim.set, swim.repeat)
}

/// A sheet that was filled in.
#[derive(Debug)]
pub struct Sheet {
    table: CsvTable,
    /// The script's name, as it was given when the sheet was made.
    pub script: String,
    /// SHA-256 of its text then.
    pub sha256: String,
}

/// A row of it.
#[derive(Debug)]
pub struct SheetRow<'a> {
    row: CsvRow<'a>,
    /// Who.
    pub swimmer: String,
    /// When.
    pub day: Day,
}

impl SheetRow<'_> {
    /// Something wrong in the row.
    pub fn wrong(&self, column: &str, why: String) -> WrongCell {
        self.row.wrong(Some(column), why)
    }
}

impl Sheet {
    /// Reads a sheet.
    ///
    /// # Errors
    /// All that is wrong with its headings, and whether it names one script.
    pub fn read(file: &str, text: &str) -> Result<Self, Vec<WrongCell>> {
        let columns: Vec<&str> = BEFORE.into_iter().chain(BEHIND).collect();
        let own = |heading: &str| {
            let rest = heading.strip_prefix(STROKES).or_else(|| heading.strip_prefix(TIME));
            rest.is_some_and(|place| WrittenPlace::parse(place).is_ok_and(|place| place.repeat.is_some()))
        };
        let table = CsvTable::read(file, text, &columns, own)?;
        let mut wrong = Vec::new();
        let mut scripts = BTreeSet::new();
        for row in table.rows().filter(|row| !explains(row)) {
            let name = unguarded(row.cell("script")).unwrap_or_default();
            let hash = row.cell("script sha256").trim().to_lowercase();
            if name.is_empty() || hash.is_empty() {
                wrong.push(row.wrong(Some("script"), "the script and its sha256 must stay as the sheet was made"));
            } else if scripts.insert((name, hash)) && scripts.len() > 1 {
                wrong.push(
                    row.wrong(Some("script"), "another script than in the rows above: a sheet is of one practice"),
                );
            }
        }
        match scripts.into_iter().next() {
            Some((script, sha256)) if wrong.is_empty() => Ok(Self { table, script, sha256 }),
            None if wrong.is_empty() => Err(vec![WrongCell {
                file: file.to_owned(),
                row: 2,
                column: None,
                why: "nobody is in the sheet".to_owned(),
            }]),
            _ => Err(wrong),
        }
    }

    /// The rows in which something was filled in, and how many there are without.
    ///
    /// # Errors
    /// Rows without a name or a day.
    pub fn rows(&self) -> Result<(Vec<SheetRow<'_>>, usize), Vec<WrongCell>> {
        let (mut rows, mut empty, mut wrong) = (Vec::new(), 0, Vec::new());
        for row in self.table.rows().filter(|row| !explains(row)) {
            let given = ["swimmer", "day", "script", "script sha256"];
            let asked = self.table.headings().iter().filter(|heading| !given.contains(&heading.as_str()));
            if asked.into_iter().all(|heading| row.cell(heading).trim().is_empty()) {
                empty += 1;
                continue;
            }
            let swimmer =
                unguarded(row.cell("swimmer")).map(|name| name.trim().to_owned()).filter(|name| is_name(name));
            if swimmer.is_none() {
                wrong.push(row.wrong(Some("swimmer"), "a name of 1 to 60 letters that can be seen is allowed"));
            }
            let day = row.need("day", "a day such as 2026-11-28 is allowed", &mut wrong, Day::parse);
            if let (Some(swimmer), Some(day)) = (swimmer, day) {
                rows.push(SheetRow { row, swimmer, day });
            }
        }
        if wrong.is_empty() { Ok((rows, empty)) } else { Err(wrong) }
    }

    /// What a row says of a practice as it was planned for its swimmer.
    ///
    /// # Errors
    /// All that is wrong in the row.
    pub fn answers(&self, row: &SheetRow<'_>, outline: &Outline) -> Result<Answers, Vec<WrongCell>> {
        let row = row.row;
        let mut wrong = Vec::new();
        let mut answers = Answers::default();
        let coach = match row.cell("counted by").trim().to_lowercase().as_str() {
            "" => false,
            "coach" => true,
            other => {
                wrong.push(row.wrong(Some("counted by"), format!("`{other}`: `coach` or nothing is allowed")));
                false
            }
        };
        let (counted, clock) =
            if coach { (ValueSource::Coach, ValueSource::Coach) } else { (ValueSource::Counted, ValueSource::Clock) };
        for heading in self.table.headings() {
            let cell = unguarded(row.cell(heading)).unwrap_or_default();
            let cell = cell.trim();
            if cell.is_empty() {
                continue;
            }
            let mut taken = |done: Result<(), WrongAnswer>| {
                wrong.extend(done.err().map(|why| row.wrong(Some(heading), why.to_string())));
            };
            if let Some(place) = heading.strip_prefix(STROKES) {
                let found = written::count(&format!("{place}={cell}"), outline, counted);
                taken(found.map(|values| answers.values.extend(values)));
                continue;
            }
            if let Some(place) = heading.strip_prefix(TIME) {
                let found = written::time(&format!("{place}={cell}"), outline, clock);
                taken(found.map(|value| answers.values.push(value)));
                continue;
            }
            match heading.as_str() {
                "left out" => taken(written::missed(cell, outline).map(|missed| answers.missed = Some(missed))),
                "fell apart" => taken(written::apart(cell, outline).map(|apart| answers.apart = Some(apart))),
                "feel 1-5" => taken(written::feel(cell).map(|feel| answers.feel = Some(feel))),
                "effort 0-10" => taken(written::effort(cell).map(|effort| answers.effort = Some(effort))),
                "minutes" => taken(written::minutes(cell).map(|minutes| answers.minutes = Some(minutes))),
                "pain" => taken(written::pain(cell).map(|pain| answers.pain = Some(pain))),
                "note" => taken(written::text(cell).map(|note| answers.note = Some(note))),
                _ => {}
            }
        }
        if wrong.is_empty() {
            let tried = answers.clone().apply(&mut outline.practice.clone());
            wrong.extend(tried.err().map(|why| row.wrong(Some("left out"), why.to_string())));
        }
        if wrong.is_empty() { Ok(answers) } else { Err(wrong) }
    }
}

fn explains(row: &CsvRow<'_>) -> bool {
    row.cell("swimmer").trim_start().starts_with(EXPLAINS)
}
