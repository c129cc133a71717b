//! Reads practices and swimmers back.

use super::entry::{
    Impressions, LoggedPractice, LoggedRepeat, LoggedSet, Measure, NotedSwimmer, Observation, ScriptCopy, SwimState,
    ValueSource, folded,
};
use super::fault::NotebookFault;
use super::lengths::LengthRuns;
use super::put::PracticeId;
use super::store::Notebook;
use crate::units::calendar::{Day, TimeOfDay};
use rusqlite::types::{FromSqlError, Type};
use rusqlite::{Connection, OptionalExtension, Row, params};
use std::collections::HashMap;

/// Which practices are wanted.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wanted {
    /// Of one swimmer alone, by name.
    pub swimmer: Option<String>,
    /// From this day on.
    pub since: Option<Day>,
    /// So many of the last.
    pub last: Option<u32>,
}

/// A practice with its number.
pub type KeptPractice = (PracticeId, LoggedPractice);

impl Notebook {
    /// The swimmers, by name.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn swimmers(&self) -> Result<Vec<NotedSwimmer>, NotebookFault> {
        swimmers(self.connection()).map_err(|error| self.fault(&error))
    }

    /// The practices that are wanted, the oldest first.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn practices(&self, wanted: &Wanted) -> Result<Vec<KeptPractice>, NotebookFault> {
        let since = wanted.since.map(|day| day.to_string());
        // SQLite's -1 is no limit.
        let last = wanted.last.map_or(-1, i64::from);
        let all = |snapshot: &Connection| {
            let sql = "INSERT INTO wanted SELECT practice.id FROM practice JOIN swimmer ON swimmer.id = practice.swimmer
                 WHERE (?1 IS NULL OR folded = ?1) AND (?2 IS NULL OR day >= ?2) ORDER BY day DESC, practice.id DESC LIMIT ?3";
            snapshot.execute(sql, params![wanted.swimmer.as_deref().map(folded), since, last]).map(drop)
        };
        self.read_practices(all)
    }

    /// One practice, if there is one of that number.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn practice(&self, id: PracticeId) -> Result<Option<LoggedPractice>, NotebookFault> {
        let snapshot = self.connection().unchecked_transaction().map_err(|error| self.fault(&error))?;
        one(&snapshot, id).map_err(|error| self.fault(&error))
    }

    /// Whether a session record was taken over for a swimmer, by its SHA-256.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn has_record(&self, swimmer: &str, record: &str) -> Result<bool, NotebookFault> {
        let found = self.connection().query_row(
            "SELECT 1 FROM practice JOIN swimmer ON swimmer.id = practice.swimmer WHERE folded = ?1 AND record = ?2",
            params![folded(swimmer), record],
            |_| Ok(()),
        );
        found.optional().map(|found| found.is_some()).map_err(|error| self.fault(&error))
    }

    fn read_practices(
        &self,
        choose: impl FnOnce(&Connection) -> rusqlite::Result<()>,
    ) -> Result<Vec<KeptPractice>, NotebookFault> {
        // One reading of the whole: another program may write between two statements.
        let snapshot = self.connection().unchecked_transaction().map_err(|error| self.fault(&error))?;
        read(&snapshot, choose).map_err(|error| self.fault(&error))
    }
}

/// The swimmers, by name.
pub(super) fn swimmers(connection: &Connection) -> rusqlite::Result<Vec<NotedSwimmer>> {
    let mut statement = connection.prepare_cached("SELECT name, profile FROM swimmer ORDER BY name")?;
    let rows = statement.query_map([], |row| Ok(NotedSwimmer { name: row.get(0)?, profile: row.get(1)? }))?;
    rows.collect()
}

/// One practice, within a transaction.
pub(super) fn one(snapshot: &Connection, id: PracticeId) -> rusqlite::Result<Option<LoggedPractice>> {
    let one = |snapshot: &Connection| {
        snapshot.execute("INSERT INTO wanted SELECT id FROM practice WHERE id = ?1", [id.number()]).map(drop)
    };
    Ok(read(snapshot, one)?.into_iter().next().map(|(_, practice)| practice))
}

/// All practices, within a transaction.
pub(super) fn all(snapshot: &Connection) -> rusqlite::Result<Vec<KeptPractice>> {
    read(snapshot, |snapshot| snapshot.execute("INSERT INTO wanted SELECT id FROM practice", []).map(drop))
}

/// The practices whose numbers `choose` puts into the table `wanted`.
fn read(
    snapshot: &Connection,
    choose: impl FnOnce(&Connection) -> rusqlite::Result<()>,
) -> rusqlite::Result<Vec<KeptPractice>> {
    snapshot.execute("DROP TABLE IF EXISTS temp.wanted", [])?;
    snapshot.execute("CREATE TEMP TABLE wanted (id INTEGER PRIMARY KEY)", [])?;
    choose(snapshot)?;
    let mut observed: HashMap<i64, Vec<Observation>> = HashMap::new();
    let mut statement = snapshot.prepare_cached(
        "SELECT repeat, measure, length, value, source FROM wanted
         CROSS JOIN swum_set ON swum_set.practice = wanted.id CROSS JOIN repeat ON repeat.swum_set = swum_set.id
         CROSS JOIN observation ON observation.repeat = repeat.id ORDER BY observation.id",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        observed.entry(row.get(0)?).or_default().push(observation(row)?);
    }
    let mut rehearsed: HashMap<i64, Vec<(String, u32)>> = HashMap::new();
    let mut statement = snapshot.prepare_cached(
        "SELECT repeat, phrase, strokes FROM wanted
         CROSS JOIN swum_set ON swum_set.practice = wanted.id CROSS JOIN repeat ON repeat.swum_set = swum_set.id
         CROSS JOIN rehearsed ON rehearsed.repeat = repeat.id",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        rehearsed.entry(row.get(0)?).or_default().push((row.get(1)?, row.get(2)?));
    }
    let mut repeats: HashMap<i64, Vec<LoggedRepeat>> = HashMap::new();
    let mut statement = snapshot.prepare_cached(
        "SELECT repeat.id, swum_set, repeat.number, round, metres, lengths, swim, plain, test, tempo, predicted,
                left_breaths, right_breaths, state FROM wanted
         CROSS JOIN swum_set ON swum_set.practice = wanted.id CROSS JOIN repeat ON repeat.swum_set = swum_set.id
         ORDER BY repeat.number",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let id: i64 = row.get(0)?;
        let mut repeat = repeat(row)?;
        repeat.observations = observed.remove(&id).unwrap_or_default();
        repeat.rehearsed = rehearsed.remove(&id).unwrap_or_default();
        repeats.entry(row.get(1)?).or_default().push(repeat);
    }
    let mut sets: HashMap<i64, Vec<LoggedSet>> = HashMap::new();
    let mut statement = snapshot.prepare_cached(
        "SELECT swum_set.id, practice, number, title, apart FROM wanted
         CROSS JOIN swum_set ON swum_set.practice = wanted.id ORDER BY number",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let repeats = repeats.remove(&row.get(0)?).unwrap_or_default();
        let set = LoggedSet { number: row.get(2)?, title: row.get(3)?, apart: row.get(4)?, repeats };
        sets.entry(row.get(1)?).or_default().push(set);
    }
    let mut statement = snapshot.prepare_cached(
        "SELECT practice.id, swimmer.name, title, day, begun, pool, minutes, feel, effort, pain, note, record,
                script.name, script.text, held FROM wanted
         JOIN practice ON practice.id = wanted.id JOIN swimmer ON swimmer.id = practice.swimmer
         LEFT JOIN script ON script.sha256 = practice.script ORDER BY day, practice.id",
    )?;
    let kept = statement.query_map([], |row| {
        let id: i64 = row.get(0)?;
        Ok((PracticeId::new(id), practice(row, sets.remove(&id).unwrap_or_default())?))
    })?;
    kept.collect()
}

fn practice(row: &Row<'_>, sets: Vec<LoggedSet>) -> rusqlite::Result<LoggedPractice> {
    let script: Option<(String, String)> = row.get::<_, Option<String>>(12)?.zip(row.get(13)?);
    Ok(LoggedPractice {
        swimmer: row.get(1)?,
        script: script.map(|(name, text)| ScriptCopy { name, text }),
        title: row.get(2)?,
        day: parsed(row, 3, Day::parse)?.ok_or_else(|| unreadable(3))?,
        begun: parsed(row, 4, TimeOfDay::parse)?,
        pool: row.get(5)?,
        minutes: row.get(6)?,
        said: Impressions {
            feel: row.get(7)?,
            effort: row.get(8)?,
            pain: row.get(9)?,
            note: row.get(10)?,
            held: row.get(14)?,
        },
        record: row.get(11)?,
        sets,
    })
}

fn repeat(row: &Row<'_>) -> rusqlite::Result<LoggedRepeat> {
    Ok(LoggedRepeat {
        number: row.get(2)?,
        round: row.get(3)?,
        metres: row.get(4)?,
        lengths: row.get(5)?,
        swim: row.get(6)?,
        plain: parsed(row, 7, LengthRuns::parse)?.ok_or_else(|| unreadable(7))?,
        test: row.get(8)?,
        tempo: row.get(9)?,
        predicted: row.get(10)?,
        breaths: (row.get(11)?, row.get(12)?),
        state: parsed(row, 13, SwimState::of)?.ok_or_else(|| unreadable(13))?,
        observations: Vec::new(),
        rehearsed: Vec::new(),
    })
}

fn observation(row: &Row<'_>) -> rusqlite::Result<Observation> {
    Ok(Observation {
        measure: parsed(row, 1, Measure::of)?.ok_or_else(|| unreadable(1))?,
        length: row.get(2)?,
        value: row.get(3)?,
        source: parsed(row, 4, ValueSource::of)?.ok_or_else(|| unreadable(4))?,
    })
}

/// A value that is kept as its text.
fn parsed<T>(row: &Row<'_>, column: usize, parse: impl Fn(&str) -> Option<T>) -> rusqlite::Result<Option<T>> {
    let text: Option<String> = row.get(column)?;
    text.map(|text| parse(&text).ok_or_else(|| unreadable(column))).transpose()
}

fn unreadable(column: usize) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(column, Type::Text, Box::new(FromSqlError::InvalidType))
}
