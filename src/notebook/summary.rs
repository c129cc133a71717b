//! A line for each practice, without reading what is in it.

use super::entry::folded;
use super::fault::NotebookFault;
use super::history::Wanted;
use super::put::PracticeId;
use super::store::Notebook;
use rusqlite::params;

/// A practice in a list.
#[derive(Clone, Debug, PartialEq)]
pub struct PracticeSummary {
    /// Its number.
    pub id: PracticeId,
    /// The day, as ISO 8601.
    pub day: String,
    /// Who swam.
    pub swimmer: String,
    /// The title.
    pub title: String,
    /// How far, without what was left out.
    pub metres: f64,
    /// How long it took, where somebody said.
    pub minutes: Option<f64>,
    /// 1 to 5.
    pub feel: Option<u8>,
    /// Session RPE, 0 to 10.
    pub effort: Option<u8>,
    /// Where it hurt; an empty text where nothing did.
    pub pain: Option<String>,
    /// How many counts of strokes are in it.
    pub counts: u32,
    /// How many times.
    pub times: u32,
}

impl Notebook {
    /// The practices that are wanted in short, the oldest first.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn summaries(&self, wanted: &Wanted) -> Result<Vec<PracticeSummary>, NotebookFault> {
        let since = wanted.since.map(|day| day.to_string());
        let last = wanted.last.map_or(-1, i64::from);
        let read = || {
            // Those that are wanted are chosen before anything is added up.
            let mut statement = self.connection().prepare_cached(
                "SELECT id, day, name, title, minutes, feel, effort, pain,
                        (SELECT total(metres) FROM swum_set JOIN repeat ON repeat.swum_set = swum_set.id
                         WHERE swum_set.practice = chosen.id AND state IN ('unknown', 'swum')),
                        (SELECT count(*) FROM swum_set JOIN repeat ON repeat.swum_set = swum_set.id
                         JOIN observation ON observation.repeat = repeat.id
                         WHERE swum_set.practice = chosen.id AND measure = 'count'),
                        (SELECT count(*) FROM swum_set JOIN repeat ON repeat.swum_set = swum_set.id
                         JOIN observation ON observation.repeat = repeat.id
                         WHERE swum_set.practice = chosen.id AND measure = 'time')
                 FROM (SELECT practice.*, name FROM practice JOIN swimmer ON swimmer.id = practice.swimmer
                       WHERE (?1 IS NULL OR folded = ?1) AND (?2 IS NULL OR day >= ?2)
                       ORDER BY day DESC, practice.id DESC LIMIT ?3) AS chosen
                 ORDER BY day, id",
            )?;
            let rows = statement.query_map(params![wanted.swimmer.as_deref().map(folded), since, last], |row| {
                Ok(PracticeSummary {
                    id: PracticeId::new(row.get(0)?),
                    day: row.get(1)?,
                    swimmer: row.get(2)?,
                    title: row.get(3)?,
                    minutes: row.get(4)?,
                    feel: row.get(5)?,
                    effort: row.get(6)?,
                    pain: row.get(7)?,
                    metres: row.get(8)?,
                    counts: row.get(9)?,
                    times: row.get(10)?,
                })
            })?;
            rows.collect::<rusqlite::Result<_>>()
        };
        read().map_err(|error| self.fault(&error))
    }
}
