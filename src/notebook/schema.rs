//! The tables, how an older notebook becomes a newer one, and what makes each change one that can be taken back.
//!
//! Taking back is the way that SQLite's own documentation describes ("Automatic Undo/Redo Using SQLite"): triggers write
//! down, for each row that changes, the statement that brings it back.

use rusqlite::{Connection, Transaction};

/// Marks the file as a notebook: `Lwnb`.
pub(super) const APPLICATION: i32 = 0x4c77_6e62;

/// What makes each version of the one before; the first makes the tables. How many there are is the newest version.
const VERSIONS: [&str; 3] = [include_str!("schema.sql"), include_str!("schema-2.sql"), include_str!("schema-3.sql")];

/// The newest version, which this program writes.
pub(super) const NEWEST: usize = VERSIONS.len();

/// The tables whose changes can be taken back.
pub(super) const TABLES: [&str; 8] =
    ["swimmer", "script", "practice", "swum_set", "repeat", "observation", "rehearsed", "phrase_pair"];

/// The changes that can be taken back, the statements that do it, and for which of them triggers are writing now.
const UNDO: &str = "
    CREATE TABLE IF NOT EXISTS change (
        step    INTEGER PRIMARY KEY,
        moment  TEXT NOT NULL,
        what    TEXT NOT NULL
    ) STRICT;
    CREATE TABLE IF NOT EXISTS way_back (
        id      INTEGER PRIMARY KEY,
        step    INTEGER NOT NULL REFERENCES change ON DELETE CASCADE,
        sql     TEXT NOT NULL
    ) STRICT;
    CREATE INDEX IF NOT EXISTS way_back_of_step ON way_back (step);
    CREATE TABLE IF NOT EXISTS under_way (step INTEGER) STRICT;
";

/// The version of a file; 0 where it is empty.
pub(super) fn version(connection: &Connection) -> rusqlite::Result<usize> {
    let version: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
    Ok(usize::try_from(version).unwrap_or(usize::MAX))
}

/// Brings the tables to the newest version.
pub(super) fn migrate(change: &Transaction<'_>) -> rusqlite::Result<()> {
    let version = version(change)?;
    if version == 0 {
        change.pragma_update(None, "application_id", APPLICATION)?;
    }
    for step in VERSIONS.iter().skip(version) {
        change.execute_batch(step)?;
    }
    change.execute_batch(UNDO)?;
    for table in TABLES {
        change.execute_batch(&triggers(table, &columns(change, table)?))?;
    }
    change.pragma_update(None, "user_version", NEWEST as i64)
}

/// A table's columns, and whether each is part of its key.
fn columns(connection: &Connection, table: &str) -> rusqlite::Result<Vec<(String, bool)>> {
    let mut statement = connection.prepare("SELECT name, pk > 0 FROM pragma_table_info(?1)")?;
    statement.query_map([table], |row| Ok((row.get(0)?, row.get(1)?)))?.collect()
}

/// The triggers of a table; those of an older version give way.
fn triggers(table: &str, columns: &[(String, bool)]) -> String {
    let each = |form: &dyn Fn(&str) -> String, with: &str, keys: bool| {
        let wanted = columns.iter().filter(|(_, key)| *key || !keys);
        wanted.map(|(name, _)| form(name)).collect::<Vec<_>>().join(with)
    };
    // Within the text of a statement: what stands between the quotes is reckoned when a row changes.
    let this_row = each(&|name| format!("{name} = '||quote(NEW.{name})||'"), " AND ", true);
    let names = each(&str::to_owned, ", ", false);
    let values = each(&|name| format!("'||quote(OLD.{name})||'"), ", ", false);
    let as_it_was = each(&|name| format!("{name} = '||quote(OLD.{name})||'"), ", ", false);
    let trigger = |when: &str, way_back: &str| {
        format!(
            "DROP TRIGGER IF EXISTS {table}_{when};
             CREATE TRIGGER {table}_{when} AFTER {when} ON {table} BEGIN
                 INSERT INTO way_back (step, sql) SELECT step, '{way_back}' FROM under_way;
             END;"
        )
    };
    [
        trigger("insert", &format!("DELETE FROM {table} WHERE {this_row}")),
        trigger("update", &format!("UPDATE {table} SET {as_it_was} WHERE {this_row}")),
        trigger("delete", &format!("INSERT INTO {table} ({names}) VALUES ({values})")),
    ]
    .concat()
}
