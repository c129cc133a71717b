//! How much each focus phrase was rehearsed, and when last.

use crate::notebook::entry::LoggedPractice;
use crate::units::calendar::Day;

/// So many days untouched are named. Our choice; design of practice in the field says nothing as exact.
pub const UNTOUCHED: i32 = 14;

/// A phrase and how it was rehearsed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FocusRow {
    /// Its id.
    pub phrase: String,
    /// Counted strokes in each week asked for, the latest last.
    pub weeks: Vec<u64>,
    /// In how many practices.
    pub practices: usize,
    /// The last day.
    pub last: Day,
    /// Days since.
    pub days: i32,
}

impl FocusRow {
    /// Whether it has lain untouched for long.
    pub const fn is_untouched(&self) -> bool {
        self.days >= UNTOUCHED
    }
}

/// All phrases of the practices, those rehearsed last first; strokes by week for the last `weeks`.
pub fn focus(practices: &[LoggedPractice], today: Day, weeks: usize) -> Vec<FocusRow> {
    let mut rows: Vec<FocusRow> = Vec::new();
    for practice in practices {
        let mut seen: Vec<&str> = Vec::new();
        let back = usize::try_from(today.monday().days_since(practice.day.monday()) / 7).ok();
        for (phrase, strokes) in practice.swum().flat_map(|repeat| &repeat.rehearsed) {
            let row = match rows.iter_mut().position(|row| row.phrase == *phrase) {
                Some(at) => &mut rows[at],
                None => {
                    let new = FocusRow {
                        phrase: phrase.clone(),
                        weeks: vec![0; weeks],
                        practices: 0,
                        last: practice.day,
                        days: 0,
                    };
                    rows.push(new);
                    let at = rows.len() - 1;
                    &mut rows[at]
                }
            };
            if !seen.contains(&phrase.as_str()) {
                seen.push(phrase);
                row.practices += 1;
            }
            row.last = row.last.max(practice.day);
            if let Some(week) = back.and_then(|back| weeks.checked_sub(back + 1)) {
                row.weeks[week] += u64::from(*strokes);
            }
        }
    }
    rows.iter_mut().for_each(|row| row.days = today.days_since(row.last));
    rows.sort_by(|a, b| b.last.cmp(&a.last).then_with(|| a.phrase.cmp(&b.phrase)));
    rows
}
