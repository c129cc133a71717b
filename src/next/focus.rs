//! The focus: one for three practices, then the one that has waited longest; and one more that is kept alive in the easy swims.

use super::past;
use crate::notebook::entry::LoggedPractice;
use crate::units::calendar::Day;

/// So many practices have one focus. Our choice: long enough to come back to it, short enough not to tire of it.
pub const PRACTICES: usize = 3;
/// So many days untouched are too many: such a focus goes before those that are new. Our choice.
pub const UNTOUCHED: i32 = 14;
/// So many foci of a pack are gone around. Our choice: with one of them kept alive in each practice's easy swims, none waits much
/// longer than [`UNTOUCHED`] days where somebody swims three times a week.
pub const AROUND: usize = 6;

/// A focus and the drill that goes with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FocusWithDrill {
    /// The phrase's id.
    pub phrase: String,
    /// The drill's id, if one is for it.
    pub drill: Option<String>,
}

/// Why it is this focus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhyFocus {
    /// There was none before.
    First,
    /// It is the focus of which the third practice has not been; which practice it is now, from 2.
    GoesOn(usize),
    /// Three practices are over; this one has lain untouched for so many days, which is too long.
    Untouched(i32),
    /// Three practices are over, and this one has never had its own.
    New,
    /// Three practices are over; those of this one lie back furthest, so many days.
    LongAgo(i32),
    /// Another change goes first.
    Waits,
    /// Two phrases are compared, and chance has chosen this one.
    Compared,
    /// Two phrases were compared, and this one goes on; which practice with it since, from 1.
    Won(usize),
}

/// The focus of a practice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FocusChoice {
    /// Which.
    pub focus: FocusWithDrill,
    /// Why.
    pub why: WhyFocus,
    /// The phrase of the easy swims, if there is another one.
    pub kept: Option<String>,
}

/// The focus of the practices before, and for how many it has been so without a break; those without a focus do not break it.
pub fn present(practices: &[LoggedPractice]) -> Option<(&str, usize)> {
    let mut foci = practices.iter().rev().filter_map(past::focus);
    let focus = foci.next()?;
    Some((focus, 1 + foci.take_while(|other| *other == focus).count()))
}

/// The one of these that is due, but for `not`: one that has lain untouched for too long, then new ones in their order, then the
/// one whose own practices lie back furthest.
pub fn due<'f>(
    practices: &[LoggedPractice],
    around: &'f [FocusWithDrill],
    not: Option<&str>,
    today: Day,
) -> Option<(&'f FocusWithDrill, WhyFocus)> {
    let others = || around.iter().filter(|one| Some(one.phrase.as_str()) != not);
    let longest = |since: &dyn Fn(&str) -> Option<Day>| {
        let days = others().filter_map(|one| Some((one, today.days_since(since(&one.phrase)?))));
        days.rev().max_by_key(|(_, days)| *days)
    };
    let untouched = longest(&|phrase| past::last_touched(practices, phrase)).filter(|(_, days)| *days >= UNTOUCHED);
    let own = |phrase: &str| practices.iter().rev().find(|one| past::focus(one) == Some(phrase)).map(|one| one.day);
    let new = || others().find(|one| own(&one.phrase).is_none()).map(|one| (one, WhyFocus::New));
    let since = || longest(&own).map(|(one, days)| (one, WhyFocus::LongAgo(days)));
    untouched.map(|(one, days)| (one, WhyFocus::Untouched(days))).or_else(new).or_else(since)
}

/// The phrase of the easy swims: of those that have been touched the one that waits longest, so that what was begun stays.
pub fn kept(practices: &[LoggedPractice], around: &[FocusWithDrill], not: &str, today: Day) -> Option<String> {
    let others = around.iter().filter(|one| one.phrase != not);
    let waited = others.filter_map(|one| Some((one, today.days_since(past::last_touched(practices, &one.phrase)?))));
    waited.rev().max_by_key(|(_, days)| *days).map(|(one, _)| one.phrase.clone())
}

/// The focus that the rule asks for, whatever else changes; none where a pack has no focus with a drill.
pub fn wanted(
    practices: &[LoggedPractice],
    around: &[FocusWithDrill],
    today: Day,
) -> Option<(FocusWithDrill, WhyFocus)> {
    let before = present(practices);
    if let Some((focus, times)) = before
        && times < PRACTICES
        && let Some(same) = around.iter().find(|one| one.phrase == focus)
    {
        return Some((same.clone(), WhyFocus::GoesOn(times + 1)));
    }
    let (next, why) = due(practices, around, before.map(|(focus, _)| focus), today)?;
    Some((next.clone(), if before.is_none() { WhyFocus::First } else { why }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next::tests::{SwumPractice, day};

    fn around() -> Vec<FocusWithDrill> {
        ["long", "soft", "still"].map(|phrase| FocusWithDrill { phrase: phrase.into(), drill: None }).to_vec()
    }

    fn wanted_after(practices: &[LoggedPractice], today: u8) -> (String, WhyFocus) {
        let (focus, why) = wanted(practices, &around(), day(today)).unwrap();
        (focus.phrase, why)
    }

    #[test]
    fn one_focus_for_three_practices() {
        let on = |on: u8, phrase: &str| SwumPractice::on(on).rehearsed(phrase, 100).rehearsed("other", 40).done();
        assert_eq!(wanted_after(&[], 1), ("long".into(), WhyFocus::First));
        let mut practices = vec![on(1, "soft")];
        assert_eq!(wanted_after(&practices, 3), ("soft".into(), WhyFocus::GoesOn(2)));
        practices.push(on(3, "soft"));
        // A practice without a focus breaks nothing.
        practices.push(SwumPractice::on(4).done());
        assert_eq!(wanted_after(&practices, 5), ("soft".into(), WhyFocus::GoesOn(3)));
        practices.push(on(5, "soft"));
        assert_eq!(wanted_after(&practices, 8), ("long".into(), WhyFocus::New));
        // One that the coach wrote in and no drill is for gives way at once.
        assert_eq!(wanted_after(&[on(1, "else")], 3).0, "long");
    }

    #[test]
    fn the_one_that_waits_longest_comes_next() {
        let on = |on: u8, phrase: &str| SwumPractice::on(on).rehearsed(phrase, 100).done();
        let mut practices = vec![on(1, "still"), on(3, "long")];
        practices.extend([5, 8, 10].map(|day| on(day, "soft")));
        assert_eq!(wanted_after(&practices, 12), ("still".into(), WhyFocus::LongAgo(11)));
        // Untouched for 14 days: before what is new.
        let practices: Vec<_> = [on(1, "long")].into_iter().chain([12, 13, 14].map(|day| on(day, "soft"))).collect();
        assert_eq!(wanted_after(&practices, 14), ("still".into(), WhyFocus::New));
        assert_eq!(wanted_after(&practices, 15), ("long".into(), WhyFocus::Untouched(14)));
        assert_eq!(kept(&practices, &around(), "soft", day(15)), Some("long".into()));
        assert_eq!(kept(&[], &around(), "soft", day(15)), None);
    }
}
