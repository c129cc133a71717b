//! What goes before every other rule: something hurts, a long time away, two hard days running, nothing known.

use crate::notebook::entry::LoggedPractice;
use crate::units::calendar::Day;

/// So many days without a practice are a time away. Our choice.
pub const AWAY: i32 = 14;
/// Such an effort, session RPE, is too hard to come twice running. Our choice: 9 and 10 are "near to all I have".
pub const HARD: u8 = 9;
/// Such a feel is as bad as can be said.
pub const WORST_FEEL: u8 = 1;
/// So many of them running ask for an easier day. Our choice.
pub const RUNNING: usize = 2;

/// What kind of practice is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PracticeKind {
    /// The first: what can this swimmer do?
    Baseline,
    /// Something hurts.
    Sore,
    /// After a time away.
    Return,
    /// After two hard days.
    Easier,
    /// As ever.
    Ordinary,
}

impl PracticeKind {
    /// Its word, for programs.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Baseline => "baseline",
            Self::Sore => "sore",
            Self::Return => "return",
            Self::Easier => "easier",
            Self::Ordinary => "ordinary",
        }
    }
}

/// The kind that is due on a day.
pub fn kind(practices: &[LoggedPractice], today: Day) -> PracticeKind {
    let Some(last) = practices.last() else { return PracticeKind::Baseline };
    if pain(practices).is_some() {
        PracticeKind::Sore
    } else if today.days_since(last.day) >= AWAY {
        PracticeKind::Return
    } else if is_spent(practices) {
        PracticeKind::Easier
    } else {
        PracticeKind::Ordinary
    }
}

/// What hurts: it does until it is logged that nothing does.
pub fn pain(practices: &[LoggedPractice]) -> Option<&str> {
    let said = practices.iter().rev().find_map(|practice| practice.said.pain.as_deref());
    said.map(str::trim).filter(|pain| !pain.is_empty())
}

/// Whether the last practices were each as hard, or felt as bad, as can be.
fn is_spent(practices: &[LoggedPractice]) -> bool {
    let hard = |practice: &&LoggedPractice| {
        practice.said.effort.is_some_and(|effort| effort >= HARD) || practice.said.feel == Some(WORST_FEEL)
    };
    practices.iter().rev().take(RUNNING).take_while(hard).count() == RUNNING
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next::tests::{SwumPractice, day};

    #[test]
    fn pain_lasts_until_it_is_gone() {
        let said = |on: u8, pain: Option<&str>| SwumPractice::on(on).pain(pain).done();
        let on = |practices: &[LoggedPractice]| kind(practices, day(9));
        assert_eq!(on(&[]), PracticeKind::Baseline);
        let mut practices = vec![said(1, Some("")), said(3, Some("left shoulder"))];
        assert_eq!((on(&practices), pain(&practices)), (PracticeKind::Sore, Some("left shoulder")));
        practices.push(said(5, None));
        assert_eq!(on(&practices), PracticeKind::Sore, "nobody said that it is gone");
        assert_eq!(kind(&practices, day(28)), PracticeKind::Sore, "time alone does not say so either");
        practices.push(said(7, Some("")));
        assert_eq!(on(&practices), PracticeKind::Ordinary);
    }

    #[test]
    fn two_hard_days_running_ask_for_an_easier_one() {
        let said = |on: u8, effort: u8, feel: u8| SwumPractice::on(on).said(effort, feel).done();
        let on = |practices: &[LoggedPractice]| kind(practices, day(9));
        assert_eq!(on(&[said(1, 9, 3), said(3, 10, 3)]), PracticeKind::Easier);
        assert_eq!(on(&[said(1, 9, 3), said(3, 5, 1)]), PracticeKind::Easier);
        assert_eq!(on(&[said(1, 9, 3), said(3, 8, 2), said(5, 9, 3)]), PracticeKind::Ordinary);
        assert_eq!(on(&[said(3, 10, 1)]), PracticeKind::Ordinary);
    }

    #[test]
    fn two_weeks_are_a_time_away() {
        let practices = [SwumPractice::on(1).done()];
        assert_eq!(kind(&practices, day(14)), PracticeKind::Ordinary);
        assert_eq!(kind(&practices, day(15)), PracticeKind::Return);
    }
}
