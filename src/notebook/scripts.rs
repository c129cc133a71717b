//! The scripts that the notebook keeps: each text once, as it was when it was swum.

use super::entry::ScriptCopy;
use super::fault::NotebookFault;
use super::store::Notebook;
use rusqlite::OptionalExtension;
use std::path::Path;

impl Notebook {
    /// Scripts of a file's name, the one that was swum last first: a script that was changed is several.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn scripts_called(&self, name: &str) -> Result<Vec<ScriptCopy>, NotebookFault> {
        let all = || -> rusqlite::Result<Vec<ScriptCopy>> {
            let sql = "SELECT name, text FROM script LEFT JOIN practice ON practice.script = sha256
                       GROUP BY sha256 ORDER BY max(day) DESC, max(practice.id) DESC";
            let mut statement = self.connection().prepare(sql)?;
            let rows = statement.query_map([], |row| Ok(ScriptCopy { name: row.get(0)?, text: row.get(1)? }))?;
            rows.collect()
        };
        let mut found = all().map_err(|error| self.fault(&error))?;
        found.retain(|script| Path::new(&script.name).file_name().is_some_and(|own| own == name));
        Ok(found)
    }

    /// The script of a hash, if it was ever swum.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn script(&self, sha256: &str) -> Result<Option<ScriptCopy>, NotebookFault> {
        let found = self.connection().query_row("SELECT name, text FROM script WHERE sha256 = ?1", [sha256], |row| {
            Ok(ScriptCopy { name: row.get(0)?, text: row.get(1)? })
        });
        found.optional().map_err(|error| self.fault(&error))
    }
}
