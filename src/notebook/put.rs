//! Writes practices and swimmers.

use super::entry::{LoggedPractice, LoggedRepeat, LoggedSet, NotedSwimmer, Observation, ScriptCopy, folded};
use super::fault::NotebookFault;
use super::hash::sha256;
use super::store::Notebook;
use rusqlite::{Transaction, params};

/// The number of a practice in its notebook.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PracticeId(i64);

impl PracticeId {
    /// The practice of a number, if there is one.
    pub const fn new(id: i64) -> Self {
        Self(id)
    }

    /// The number.
    pub const fn number(self) -> i64 {
        self.0
    }
}

impl Notebook {
    /// Writes practices, all or none, as one change that can be taken back. Swimmers who are new come into being.
    ///
    /// # Errors
    /// Where a value is out of its range, a session record was taken over before, or the disk refuses.
    pub fn add(
        &mut self,
        moment: &str,
        what: &str,
        practices: &[LoggedPractice],
    ) -> Result<Vec<PracticeId>, NotebookFault> {
        self.change(moment, what, |change| practices.iter().map(|practice| write(change, None, practice)).collect())
    }

    /// Takes a practice out. It can be taken back.
    ///
    /// # Errors
    /// Where the disk refuses.
    pub fn remove(&mut self, moment: &str, what: &str, id: PracticeId) -> Result<(), NotebookFault> {
        self.change(moment, what, |change| remove(change, id))
    }

    /// Writes a swimmer, or the profile of one who is there.
    ///
    /// # Errors
    /// Where the name is empty or longer than 60 letters, or the disk refuses.
    pub fn put_swimmer(&mut self, moment: &str, what: &str, swimmer: &NotedSwimmer) -> Result<(), NotebookFault> {
        self.change(moment, what, |change| self::swimmer(change, swimmer, true))
    }
}

/// Writes a swimmer, and their profile if that is to be.
pub(super) fn swimmer(change: &Transaction<'_>, swimmer: &NotedSwimmer, profile: bool) -> rusqlite::Result<()> {
    let id = swimmer_id(change, &swimmer.name)?;
    if profile {
        change.execute("UPDATE swimmer SET profile = ?2 WHERE id = ?1", params![id, swimmer.profile])?;
    }
    Ok(())
}

/// Takes a practice out.
pub(super) fn remove(change: &Transaction<'_>, id: PracticeId) -> rusqlite::Result<()> {
    change.execute("DELETE FROM practice WHERE id = ?1", [id.0]).map(drop)
}

/// The number of a swimmer, who comes into being where the name is new.
pub(super) fn swimmer_id(change: &Transaction<'_>, name: &str) -> rusqlite::Result<i64> {
    let folded = folded(name);
    change
        .prepare_cached("INSERT INTO swimmer (name, folded) VALUES (?1, ?2) ON CONFLICT DO NOTHING")?
        .execute([name, &folded])?;
    change.prepare_cached("SELECT id FROM swimmer WHERE folded = ?1")?.query_row([folded], |row| row.get(0))
}

/// Keeps a script's text once; its key is the hash of the text.
fn script_key(change: &Transaction<'_>, script: &ScriptCopy) -> rusqlite::Result<String> {
    let key = sha256(script.text.as_bytes());
    change
        .prepare_cached("INSERT INTO script (sha256, name, text) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING")?
        .execute(params![key, script.name, script.text])?;
    Ok(key)
}

/// Writes a practice, under a number that is free or a new one.
pub(super) fn write(
    change: &Transaction<'_>,
    id: Option<PracticeId>,
    practice: &LoggedPractice,
) -> rusqlite::Result<PracticeId> {
    let swimmer = swimmer_id(change, &practice.swimmer)?;
    let script = practice.script.as_ref().map(|script| script_key(change, script)).transpose()?;
    let said = &practice.said;
    change
        .prepare_cached(
            "INSERT INTO practice (id, swimmer, script, title, day, begun, pool, minutes, feel, effort, pain, note, record,
                                   held)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
        )?
        .execute(params![
            id.map(|id| id.0),
            swimmer,
            script,
            practice.title,
            practice.day.to_string(),
            practice.begun.map(|begun| begun.to_string()),
            practice.pool,
            practice.minutes,
            said.feel,
            said.effort,
            said.pain,
            said.note,
            practice.record,
            said.held,
        ])?;
    let id = change.last_insert_rowid();
    practice.sets.iter().try_for_each(|set| write_set(change, id, set))?;
    Ok(PracticeId(id))
}

fn write_set(change: &Transaction<'_>, practice: i64, set: &LoggedSet) -> rusqlite::Result<()> {
    change
        .prepare_cached("INSERT INTO swum_set (practice, number, title, apart) VALUES (?1, ?2, ?3, ?4)")?
        .execute(params![practice, set.number, set.title, set.apart])?;
    let id = change.last_insert_rowid();
    set.repeats.iter().try_for_each(|repeat| write_repeat(change, id, repeat))
}

fn write_repeat(change: &Transaction<'_>, set: i64, repeat: &LoggedRepeat) -> rusqlite::Result<()> {
    change
        .prepare_cached(
            "INSERT INTO repeat (swum_set, number, round, metres, lengths, swim, plain, test, tempo, predicted,
                                 left_breaths, right_breaths, state)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
        )?
        .execute(params![
            set,
            repeat.number,
            repeat.round,
            repeat.metres,
            repeat.lengths,
            repeat.swim,
            repeat.plain.to_string(),
            repeat.test,
            repeat.tempo,
            repeat.predicted,
            repeat.breaths.0,
            repeat.breaths.1,
            repeat.state.word(),
        ])?;
    let id = change.last_insert_rowid();
    repeat.observations.iter().try_for_each(|observed| write_observation(change, id, observed))?;
    for (phrase, strokes) in &repeat.rehearsed {
        change
            .prepare_cached("INSERT INTO rehearsed (repeat, phrase, strokes) VALUES (?1, ?2, ?3)")?
            .execute(params![id, phrase, strokes])?;
    }
    Ok(())
}

fn write_observation(change: &Transaction<'_>, repeat: i64, observed: &Observation) -> rusqlite::Result<()> {
    change
        .prepare_cached("INSERT INTO observation (repeat, measure, length, value, source) VALUES (?1, ?2, ?3, ?4, ?5)")?
        .execute(params![repeat, observed.measure.word(), observed.length, observed.value, observed.source.word()])
        .map(drop)
}
