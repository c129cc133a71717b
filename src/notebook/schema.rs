//! The tables, how an older notebook becomes a newer one, and what makes each change one that can be taken back.
//!
//! Taking back is the way that SQLite's own documentation describes ("Automatic Undo/Redo Using SQLite"): triggers write
//! down, for each row that changes, the statement that brings it back.

use super::entry::{LONGEST_NAME, folded};
use rusqlite::{Connection, Transaction, params};
use std::collections::BTreeSet;

/// Marks the file as a notebook: `Lwnb`.
pub(super) const APPLICATION: i32 = 0x4c77_6e62;

/// What makes each version of the one before; the first makes the tables. How many there are is the newest version.
const VERSIONS: [&str; 4] = [
    include_str!("schema.sql"),
    include_str!("schema-2.sql"),
    include_str!("schema-3.sql"),
    include_str!("schema-4.sql"),
];

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
    fold_names(change)?;
    change.execute_batch(UNDO)?;
    for table in TABLES {
        change.execute_batch(&triggers(table, &columns(change, table)?))?;
    }
    change.pragma_update(None, "user_version", NEWEST as i64)
}

/// Gives every name its folded form. Before version 4 `ÉVA` and `éva` were two swimmers. They stay two, since nobody knows whether
/// they are: the later one gets a number behind the name.
fn fold_names(change: &Transaction<'_>) -> rusqlite::Result<()> {
    let mut statement = change.prepare("SELECT id, name FROM swimmer WHERE folded IS NULL ORDER BY id")?;
    let swimmers: Vec<(i64, String)> =
        statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<rusqlite::Result<_>>()?;
    let mut taken: BTreeSet<String> = swimmers.iter().map(|(_, name)| folded(name)).collect();
    let mut kept = BTreeSet::new();
    for (id, mut name) in swimmers {
        if !kept.insert(folded(&name)) {
            let free = (2..).map(|number: u32| {
                let sign = format!(" ({number})");
                name.chars().take(LONGEST_NAME - sign.chars().count()).collect::<String>() + &sign
            });
            let free = { free }.find(|name| taken.insert(folded(name)));
            name = free.unwrap_or(name);
        }
        change.execute("UPDATE swimmer SET name = ?2, folded = ?3 WHERE id = ?1", params![id, name, folded(&name)])?;
    }
    Ok(())
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
