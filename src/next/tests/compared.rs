//! Two phrases that take turns until something can be said of them.

use super::super::verdict::{JudgedPair, MOST, PairVerdict};
use super::swimmers::{INVENTED, Invented, season};
use crate::cases::amount;
use crate::next::order::NextPractice;

/// What is said in a season in which the second phrase costs so many strokes a length, and the foci from then on.
fn judged(of: &Invented, more: f64, later: usize) -> (JudgedPair, Vec<String>) {
    let pair =
        if of.pack == "first-lengths" { ("reach-forward", "shoulder-wide") } else { ("stay-long", "same-count") };
    let of = Invented { compared: Some((pair.0, pair.1, more)), away: None, sore: None, ..*of };
    let mut found: Option<JudgedPair> = None;
    let mut foci = Vec::new();
    let focus = |next: &NextPractice| next.choices.focus.as_ref().map(|chosen| chosen.focus.phrase.clone());
    season(&of, MOST + 10, |_, next, _, _| {
        found = found.clone().or_else(|| next.choices.judged.clone());
        if found.is_some() {
            foci.extend(focus(next));
        }
        found.is_none() || foci.len() < later
    });
    (found.unwrap_or_else(|| panic!("{}: nothing was said", of.name)), foci)
}

#[test]
fn a_phrase_that_costs_a_stroke_is_dropped() {
    for of in INVENTED.iter().take(amount(1, 3)) {
        let (JudgedPair { verdict, after, .. }, foci) = judged(of, 1.0, 8);
        println!("{}, a stroke: {verdict:?} after {after} practices", of.name);
        let PairVerdict::Lower { phrase, by } = verdict else { panic!("{verdict:?}") };
        assert!(["reach-forward", "stay-long"].contains(&&*phrase) && by.0 > 0.0, "{phrase} {by:?}");
        assert!(after <= MOST, "{after}");
        // It goes on for the practices of a focus, and the other one never comes again.
        assert!(foci.iter().take(3).all(|focus| *focus == phrase), "{foci:?}");
        assert!(foci.iter().all(|focus| !["shoulder-wide", "same-count"].contains(&&**focus)), "{foci:?}");
        assert!(foci.iter().any(|focus| *focus != phrase), "{foci:?}");
    }
}

#[test]
fn no_difference_is_claimed_where_there_is_none() {
    for of in INVENTED.iter().take(amount(1, 3)) {
        let (JudgedPair { verdict, after, .. }, _) = judged(of, 0.0, 1);
        println!("{}, none: {verdict:?} after {after} practices", of.name);
        assert!(!matches!(verdict, PairVerdict::Lower { .. }) && after <= MOST, "{verdict:?} {after}");
    }
}
