//! Two phrases for one focus that are compared over practices.

use super::fault::NotebookFault;
use super::store::Notebook;
use crate::units::calendar::Day;
use rusqlite::{OptionalExtension, params};

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

impl Notebook {
    /// The phrases that a swimmer compares at present.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn compared(&self, swimmer: &str) -> Result<Option<PhrasePair>, NotebookFault> {
        let found = self.connection().query_row(
            "SELECT first, second, begun FROM phrase_pair JOIN swimmer ON swimmer.id = phrase_pair.swimmer
             WHERE name = ?1 AND ended IS NULL",
            [swimmer],
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
                 WHERE ended IS NULL AND swimmer = (SELECT id FROM swimmer WHERE name = ?1)",
                params![swimmer, today],
            )?;
            if let Some((first, second)) = pair {
                change.execute(
                    "INSERT INTO phrase_pair (swimmer, first, second, begun)
                     VALUES ((SELECT id FROM swimmer WHERE name = ?1), ?2, ?3, ?4)",
                    params![swimmer, first, second, today],
                )?;
            }
            Ok(())
        })
    }
}
