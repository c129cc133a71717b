//! Two phrases for one focus that are compared over practices.

use super::entry::folded;
use super::fault::NotebookFault;
use super::store::Notebook;
use crate::units::calendar::Day;
use rusqlite::{Connection, OptionalExtension, Transaction, params};

/// Two phrases that take turns from a day on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhrasePair {
    /// The one, by its id.
    pub first: String,
    /// The other.
    pub second: String,
    /// The day on which it began.
    pub begun: Day,
}

/// A comparison that is under way or over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptComparison {
    /// Whose.
    pub swimmer: String,
    /// Of what, and since when.
    pub pair: PhrasePair,
    /// The day on which it ended.
    pub ended: Option<Day>,
}

/// All comparisons, the oldest first.
pub(super) fn all(connection: &Connection) -> rusqlite::Result<Vec<KeptComparison>> {
    let mut statement = connection.prepare(
        "SELECT name, first, second, begun, ended FROM phrase_pair JOIN swimmer ON swimmer.id = phrase_pair.swimmer
         ORDER BY phrase_pair.id",
    )?;
    let rows = statement.query_map([], |row| {
        let texts: [String; 4] = [row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?];
        Ok((texts, row.get::<_, Option<String>>(4)?))
    })?;
    let rows: Vec<([String; 4], Option<String>)> = rows.collect::<rusqlite::Result<_>>()?;
    let kept = |([swimmer, first, second, begun], ended): ([String; 4], Option<String>)| {
        let pair = PhrasePair { first, second, begun: Day::parse(&begun)? };
        Some(KeptComparison { swimmer, pair, ended: ended.and_then(|ended| Day::parse(&ended)) })
    };
    Ok(rows.into_iter().filter_map(kept).collect())
}

/// Writes a comparison.
pub(super) fn write(change: &Transaction<'_>, swimmer: i64, kept: &KeptComparison) -> rusqlite::Result<()> {
    let KeptComparison { pair: PhrasePair { first, second, begun }, ended, .. } = kept;
    let ended = ended.map(|ended| ended.to_string());
    let sql = "INSERT INTO phrase_pair (swimmer, first, second, begun, ended) VALUES (?1, ?2, ?3, ?4, ?5)";
    change.execute(sql, params![swimmer, first, second, begun.to_string(), ended]).map(drop)
}

/// Takes out what a comparison that comes in stands for: the same one, or one under way where it is under way itself.
pub(super) fn give_way(change: &Transaction<'_>, swimmer: i64, new: &KeptComparison) -> rusqlite::Result<()> {
    let PhrasePair { first, second, begun } = &new.pair;
    let sql = "DELETE FROM phrase_pair
               WHERE swimmer = ?1 AND (first = ?2 AND second = ?3 AND begun = ?4 OR ended IS NULL AND ?5)";
    change.execute(sql, params![swimmer, first, second, begun.to_string(), new.ended.is_none()]).map(drop)
}

impl Notebook {
    /// All comparisons, the oldest first.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn comparisons(&self) -> Result<Vec<KeptComparison>, NotebookFault> {
        all(self.connection()).map_err(|error| self.fault(&error))
    }

    /// The phrases that a swimmer compares at present.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn compared(&self, swimmer: &str) -> Result<Option<PhrasePair>, NotebookFault> {
        let found = self.connection().query_row(
            "SELECT first, second, begun FROM phrase_pair JOIN swimmer ON swimmer.id = phrase_pair.swimmer
             WHERE folded = ?1 AND ended IS NULL",
            [folded(swimmer)],
            |row| Ok((row.get(0)?, row.get(1)?, row.get::<_, String>(2)?)),
        );
        let found: Option<(String, String, String)> = found.optional().map_err(|error| self.fault(&error))?;
        Ok(found.and_then(|(first, second, begun)| Some(PhrasePair { first, second, begun: Day::parse(&begun)? })))
    }

    /// Begins to compare two phrases; what was compared before ends. With `None` it only ends.
    ///
    /// # Errors
    /// Where the phrases are one, the swimmer is not known, or the disk refuses.
    pub fn compare(
        &mut self,
        moment: &str,
        swimmer: &str,
        today: Day,
        pair: Option<(&str, &str)>,
    ) -> Result<(), NotebookFault> {
        let what = pair.map_or_else(|| "the comparison ended".to_owned(), |(a, b)| format!("{a} and {b} compared"));
        let today = today.to_string();
        self.change(moment, &what, |change| {
            change.execute(
                "UPDATE phrase_pair SET ended = ?2
                 WHERE ended IS NULL AND swimmer = (SELECT id FROM swimmer WHERE folded = ?1)",
                params![folded(swimmer), today],
            )?;
            if let Some((first, second)) = pair {
                change.execute(
                    "INSERT INTO phrase_pair (swimmer, first, second, begun)
                     VALUES ((SELECT id FROM swimmer WHERE folded = ?1), ?2, ?3, ?4)",
                    params![folded(swimmer), first, second, today],
                )?;
            }
            Ok(())
        })
    }
}
